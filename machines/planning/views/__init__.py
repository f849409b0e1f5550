"""Pages of plans, of what is due and of visits ahead."""
