"""Who rang, what about, and what was promised."""
