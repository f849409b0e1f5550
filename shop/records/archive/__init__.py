"""A whole shop or one machine in one file of our own plain format, and back into a site."""

RECORDS = "records/"
FILES = "files/"
