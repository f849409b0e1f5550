"""Readings to figures to verdicts: sweeps as typed, checks as saved, the chain as it stands.

Decides the value, uncertainty and verdict of a check (`measuring`) and whether it still counts.
"""
