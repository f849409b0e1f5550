"""Pages of the drive train and of advice."""
