"""One box over everything a person may see."""
