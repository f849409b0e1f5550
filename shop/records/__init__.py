"""A shop or the whole site in one file and back, and the check that nothing was altered.

Decides what an archive holds and what `verify` calls wrong.
"""
