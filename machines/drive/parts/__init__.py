"""The parts register: what can be fitted, what it costs, where it lies, and what to bring."""
