"""The drive train: what it is made of, how long its parts last, and what they are like today.

When two damaged teeth mean replace is decided by `rules.belts.damaged_or_worn_teeth`.
"""
