"""Pages of drift and of an item over the visits."""
