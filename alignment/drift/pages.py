"""What the page of an item says of its drift, and the same as rows of a CSV file."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse

from alignment.geometry.frame import FRONT, UP
from alignment.geometry.measure.quantity import TIR
from alignment.sheets.directions import plus_of, with_sign
from alignment.sheets.formatting import quantity_words
from shop.web.wording import day_text

from . import words
from .pictures import ahead
from .words import plus_of_parts


@dataclass(frozen=True)
class Told:
    """A drift in the person's unit, for the page."""

    drift: object
    unit: str

    @property
    def outlook(self):
        return words.outlook_words(self.drift)

    @property
    def change(self):
        return words.change_words(self.drift, self.unit)

    @property
    def chance(self):
        """The chance today; after a knock or a move the forecast is the least it can be."""
        return words.chance_or_more(self.drift.chance, loose=not self.drift.position_known)

    @property
    def risk(self):
        return words.risk_words(self.drift.risk)

    @property
    def next_check(self):
        return words.next_check_words(self.drift)

    @property
    def speed(self):
        return words.speed_words(self.drift, self.unit)

    @property
    def rates(self):
        return words.rate_rows(self.drift, self.unit)

    @property
    def notes(self):
        return words.notes(self.drift, self.unit)

    @property
    def moves(self):
        """The moves as rows of text, the newest first, each end with its check."""
        drift = self.drift
        per = drift.series.clock.per
        return [
            {
                "before": _end(move.before, move.before.standing),
                "after": _end(move.after, _found(move.after)),
                "elapsed": words.elapsed_words(move, per),
                "moved": words.vector(move.um, self.unit, drift.item),
                "knocks": move.knocks,
                "step": words.step_words(move, self.unit, drift.item),
            }
            for move in reversed(drift.moves)
        ]

    @property
    def forecast_rows(self):
        """The forecast as rows of text under `FORECAST_HEADINGS`."""
        item = self.drift.item
        return [
            [
                day_text(one.day),
                *(
                    words.figure(um, self.unit, item)
                    for um in (
                        one.middle_um, one.low50_um, one.high50_um, one.low95_um, one.high95_um,
                    )
                ),
            ]
            for one in ahead(self.drift)
        ]  # fmt: skip

    @property
    def track_rows(self):
        """Where each visit found and left the axis, under `track_headings`."""
        item = self.drift.item
        judged = item.quantity == TIR
        return [
            [
                f"{visit.number}",
                day_text(visit.day),
                phase,
                *words.vector_parts(one.vector_um, self.unit, item),
                words.size(one.vector_um, self.unit, item),
                *([words.figure(one.value_um, self.unit, item)] if judged else []),
            ]
            for visit in self.drift.series.visits
            for phase, one in (("as found", visit.found), ("as left", visit.left))
            if one is not None
        ]


FORECAST_HEADINGS = ["Day", "Middle", "50 % from", "to", "95 % from", "to"]
TRACK_HEADINGS = ["Visit", "Day", "Phase", "To the front or rear", "Up or down", "Off by"]


def track_headings(item):
    """The columns of the way of an axis. A run-out is judged by more than how far off it is."""
    return [*TRACK_HEADINGS, quantity_words(item)] if item.quantity == TIR else TRACK_HEADINGS


def _found(visit):
    """What says where a visit found the item."""
    return visit.left if visit.is_one_measurement and visit.found is None else visit.found


def _end(visit, check):
    return {
        "number": visit.number,
        "visit": visit.visit_number,
        "day": day_text(visit.day),
        "phase": check.phase if check else "",
        "url": reverse("alignment:check", args=[check.pk]) if check else "",
    }


BOTH_ENDS = ("visit from", "check from", "visit to", "check to", "elapsed", "per")
ENDS_AHEAD = ("middle", "50 % from", "50 % to", "95 % from", "95 % to")


def _heads(name):
    """Those of what `_columns` fills."""
    return with_sign(name, FRONT), with_sign(name, UP), f"{name}, more (+) / less (-), µm"


def move_rows(drift):
    """The heading and then a row for each move, oldest first, for CSV."""
    yield (*BOTH_ENDS, *_heads("moved"), "incidents", *_heads("step"))
    per = drift.series.clock.per
    for move in drift.moves:
        found = _found(move.after)
        yield (
            move.before.visit_number,
            move.before.standing.pk if move.before.standing else "",
            move.after.visit_number,
            found.pk if found else "",
            move.elapsed,
            per.value,
            *_columns(move.um, drift.item),
            "; ".join(map(str, move.knocks)),
            *_columns(move.step_um, drift.item),
        )


def _columns(um, item):
    """Each part of a vector, or a figure, in the column of its direction; a size in the third."""
    if um is None:
        return ("", "", "")
    told = dict(zip(plus_of_parts(um, item), um, strict=True))
    return tuple(told.get(plus, "") for plus in (FRONT, UP, None))


def ahead_rows(drift):
    """The heading and then a row for each day of the forecast, for CSV."""
    plus = plus_of(drift.item.quantity)
    yield ("day", *(with_sign(name, plus) for name in ENDS_AHEAD))
    for one in ahead(drift):
        yield (
            one.day.isoformat(), one.middle_um, one.low50_um, one.high50_um, one.low95_um,
            one.high95_um,
        )  # fmt: skip
