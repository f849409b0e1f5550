"""Crashes: the log, what to look at first, stopping, looking at and closing.

Decides which stations an incident puts in doubt.
"""
