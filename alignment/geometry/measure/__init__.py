"""From readings to a figure with its uncertainty and verdict."""
