"""The demo and made-up data, out of the way of the product's own code."""
