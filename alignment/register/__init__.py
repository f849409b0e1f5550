"""Machines and their stations as they are made, copied, listed in and changed."""
