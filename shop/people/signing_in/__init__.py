"""Signing in: the password, the second factor, and where a person is signed in."""
