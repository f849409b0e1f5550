"""Mail on its way: put into a table with what it tells of, and sent after that by one sender.

`post` belongs into the transaction that makes a mail necessary: both are kept, or neither. Nobody
who uses a page waits for a mail server.
"""
