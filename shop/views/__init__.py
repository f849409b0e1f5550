"""Pages of the ground app, one module for each thing they are about."""
