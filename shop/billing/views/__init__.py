"""Pages of billing."""
