"""The shops that a firm serves: made, changed and closed by its people until an owner comes."""
