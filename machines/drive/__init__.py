"""The drive train: what it is made of, how long its parts last, and what they are like today."""
