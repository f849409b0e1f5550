"""Pages that enter work at a visit."""
