"""Pages of sweeps, indicators and the blank check sheet."""
