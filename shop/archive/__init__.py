"""A whole shop in one file of our own plain format, and back into a site."""

KIND = "sweepbook shop archive"
VERSION = 1
RECORDS = "records/"
FILES = "files/"
