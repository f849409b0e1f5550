"""The trail: who changed what, when, from what to what; and the chain that shows a later edit.

Database triggers write it, on SQLite and PostgreSQL alike, so that the admin, a shell, a bulk
write and plain SQL are in it as well as the services. `actor` says who is at work, `tables` what is
trailed and how, `sqlite` and `postgres` are the triggers, `install` notes what they did not see,
`words` tells a change in words, `verifying` holds trail, chain, rows and files against each other.
"""
