"""What every page shares: form fields, lists, words for days and times, headers, what is asked
once a page.

Decides nothing of the trade; nothing here knows a shop, a machine or a visit.
"""
