"""A visit from planned to signed: its times, signatures, report and what it still lacks.

Decides when work may be entered and what signing does.
"""
