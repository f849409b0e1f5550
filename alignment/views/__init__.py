"""Pages of the alignment app."""
