"""The files that one reading passes from its box to the verdict, by following a sweep through."""

import os
import sys
from pathlib import Path
from types import SimpleNamespace

import django

from tests.structure.measuring import APPS, ROOT

SENT = {
    "unit": "mm",
    "layout": "4",
    "phase": "as found",
    "surface": "bore",
    "sag_on": "bore",
    "reading_u": "0.0005",
    "readings-TOTAL_FORMS": "4",
    "readings-INITIAL_FORMS": "0",
    **{f"readings-{n}-reading": text for n, text in enumerate(("0", ".01", "0", "-.01"))},
}


def files_passed():
    """The product's files in which something ran, in the order in which they were reached."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    django.setup()
    from alignment.sheets.models import AcceptanceItem
    from alignment.sweeps.forms.sweep import SweepEntry
    from alignment.sweeps.measuring import work_out
    from alignment.sweeps.models import Indicator
    from machines.register.models import Machine, Station

    station = Station(machine=Machine(), indicator_in="datum", look="from the headstock")
    item = AcceptanceItem(station=station, quantity="offset", surface="bore", upper_um=20)
    asked = SimpleNamespace(item=item, at_mm=None, per_mm=100, limits_um=(None, 20), rule="k 2")
    entry = SweepEntry(SENT, unit="mm", item=item, indicators=Indicator.objects.none(), whole=False)
    passed = {}

    def note(frame, event, _arg):
        path = Path(frame.f_code.co_filename)
        if event == "call" and path.is_relative_to(ROOT):
            inside = path.relative_to(ROOT)
            if inside.parts[0] in APPS:
                passed[str(inside)] = None

    sys.setprofile(note)
    try:
        assert entry.is_right_so_far, entry.form.errors
        verdict = work_out(asked, *entry.sweeps()).judgement
    finally:
        sys.setprofile(None)
    assert verdict is not None
    return list(passed)
