"""Meters, plans, what is due, and who comes when."""
