"""Demo and made-up data of machines, belts and plans."""
