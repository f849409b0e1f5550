"""Drift of the machines on record: from their checks to rates, forecasts, sentences and pictures.

`lenders` says who lends to whom, `records` loads, `shaping` and `estimates` ask the pure core in
`alignment.geometry`, `words` and `pictures` tell it, `risk` ranks machines and tells plans the day
a risk is reached.
"""

from .estimates import drift_of, drift_of_item, drifts
from .items import ItemDrift

__all__ = ["ItemDrift", "drift_of", "drift_of_item", "drifts"]
