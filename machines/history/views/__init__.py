"""Pages of a machine's past."""
