"""Demo and made-up data of chains, sheets, sweeps and moves."""
