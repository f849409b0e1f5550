"""Pages of the machines app, by what they are about."""
