"""The whole site in one file and back: its database and its media."""
