"""Replacement rules: small functions of a machine's records that return advice with evidence.

Each takes the machine and the visit, None outside one, and yields `machines.drive.advice.Advice`.
From when on a finding leads to advice is the shop's to say (`machines.models.Thresholds`).
"""
