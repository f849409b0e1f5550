"""What the machines' records have to search."""
