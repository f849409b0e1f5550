"""Pages of positions, adjustments, cards and saved checks."""
