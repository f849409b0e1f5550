"""The fleet's machines: what stands where, what happens to it, and what is done at visits."""
