"""Every row of the standing proof. To add one: a `Row` in the list of its subject's module."""

from tests.claims import drift_rows, incident_rows, life_rows, moved_rows, sweep_rows, use_rows

ROWS = (
    *sweep_rows.ROWS,
    *drift_rows.ROWS,
    *life_rows.ROWS,
    *use_rows.ROWS,
    *incident_rows.ROWS,
    *moved_rows.ROWS,
)
