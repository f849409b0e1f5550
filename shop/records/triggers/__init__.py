"""The database triggers that freeze, trail and count, kept in step with their rules.

`catalogue` reads and writes them, `wanted` gathers what should be there, `syncing` brings the one
to the other after migrations, and `migrating` keeps tables closed while migrations change them.
"""
