"""Every figure of a sweep, a move or a drift, free of Django: readings in µm, angles in degrees.

The uncertainty of a sweep is composed by `measure.outcome.sweep_outcome`, a verdict comes from
`measure.verdict.decide`, and what makes a check stale is decided by `adjust.state.check_state`.
"""
