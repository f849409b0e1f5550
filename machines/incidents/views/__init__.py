"""Pages of an incident."""
