"""A machine's past: what the timeline shows of it, what changed between visits, its standstills."""
