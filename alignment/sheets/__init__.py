"""Acceptance sheets: read from a list, typed, put in force, and their scans."""
