"""Every row of the standing proof. To add one: a `Row` in the list of its subject's module."""

from tests.claims import drift_rows, machine_rows, sweep_rows

ROWS = (*sweep_rows.ROWS, *drift_rows.ROWS, *machine_rows.ROWS)
