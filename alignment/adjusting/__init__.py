"""Moving what is off: procedure cards, ways of adjusting, the plan of a move, positions of
stations.

Decides by how much a station is to be moved.
"""
