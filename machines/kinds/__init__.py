"""Kinds of machine to start from: one file for each of ours, and those that a firm keeps."""
