"""Who belongs where and may see what: people, shops, firms, their memberships, sign-in, shared
devices.

Decides every right: `access` is asked by all views.
"""
