"""What the demo's machines are held against, where their stations really sit, and two years of
visits at which that was measured."""
