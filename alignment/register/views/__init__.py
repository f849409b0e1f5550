"""Pages that make and change machines, their stations and sheets."""
