"""Pages of a visit, its clock, and the first page."""
