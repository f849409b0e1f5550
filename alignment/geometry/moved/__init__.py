"""What a crash moved: a belief over all combinations of stations, and what to sweep next."""
