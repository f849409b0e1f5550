"""The crash log with the stations that were hit, and what triage needs of chain and sheet."""
