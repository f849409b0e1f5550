"""What is entered at a machine during a visit, whatever it concerns.

Decides when a machine joins a visit.
"""
