"""From what was reported at the machine to what to look at, in what order, and whether to stop.

It advises; the person at the machine decides. The tables are in ``triage_rules``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from . import triage_rules as rules
from .datum_chain import Station, check_chain, datums_first, way_back
from .inputs import not_negative, positive

INSIDE = "inside tolerance"
SEVERAL_TIMES = "several times the tolerance"
FAR_BEYOND = "far beyond the tolerance"


@dataclass(frozen=True)
class Belt:
    """A belt and the kinds of station it turns; empty where that is not recorded."""

    name: str
    turns: tuple[str, ...] = ()


@dataclass(frozen=True)
class IncidentFacts:
    """What was reported. ``stations`` are the whole chain in the order of checking; ``where``
    names those hit or pointed at; ``offset_um`` is the size of the offset seen, if any.
    """

    what: str
    stations: tuple[Station, ...]
    where: tuple[str, ...] = ()
    axis: str = ""
    direction: str = ""
    severity: str | None = None
    offset_um: float | None = None
    may_run: bool | None = None
    belts: tuple[Belt, ...] = ()


@dataclass(frozen=True)
class Conclusion:
    """A station or part, and why it is named."""

    subject: str
    reason: str


@dataclass(frozen=True)
class Triage:
    """The advice. ``cautions`` come before anything else is done. ``grade`` is None without an
    offset, or without anything to hold it against; ``grade_reason`` says which.
    """

    cautions: tuple[str, ...]
    stop: bool
    stop_reasons: tuple[str, ...]
    grade: str | None
    grade_reason: str
    suspects: tuple[Conclusion, ...]
    parts: tuple[Conclusion, ...]
    order: tuple[Conclusion, ...]


def triage(facts: IncidentFacts) -> Triage:
    """Work out what a report from the machine calls for.

    ValueError for an event, severity, kind or place that does not exist, a negative offset, or a
    chain that does not lead back to one first station.
    """
    _check(facts)
    hit = [station for station in facts.stations if station.name in facts.where]
    grade, grade_reason = _grade(facts, hit)
    stop_reasons = tuple(_stop_reasons(facts, hit, grade, grade_reason))
    suspects = tuple(_suspects(facts, hit))
    parts = _once(_parts(facts, hit))
    return Triage(
        cautions=_cautions(facts, hit, parts),
        stop=bool(stop_reasons),
        stop_reasons=stop_reasons,
        grade=grade,
        grade_reason=grade_reason,
        suspects=suspects,
        parts=parts,
        order=tuple(_order(facts, suspects)),
    )


def _grade(facts: IncidentFacts, hit: list[Station]) -> tuple[str | None, str]:
    if facts.offset_um is None:
        return None, "No offset was measured."
    offset = float(facts.offset_um)
    known = [s for s in hit or facts.stations if s.tolerance_um is not None]
    if not known:
        return _grade_without_tolerance(offset)
    tightest = min(known, key=lambda s: s.tolerance_um)
    times = offset / float(tightest.tolerance_um)
    limit = f"the {float(tightest.tolerance_um):g} µm allowed at the {tightest.name}"
    if times <= 1:
        return INSIDE, f"{offset:g} µm is within {limit}."
    grade = SEVERAL_TIMES if times <= rules.FAR_BEYOND_TIMES else FAR_BEYOND
    shown = f"{times:.1f}" if times < rules.FAR_BEYOND_TIMES else f"{times:,.0f}"
    return grade, f"{offset:g} µm is {shown} times {limit}."


def _grade_without_tolerance(offset: float) -> tuple[str | None, str]:
    if offset >= rules.FAR_BEYOND_UM:
        return FAR_BEYOND, f"{offset:g} µm is far beyond what any such machine is accepted with."
    return None, f"No tolerance is on record to hold {offset:g} µm against."


def _stop_reasons(
    facts: IncidentFacts, hit: list[Station], grade: str | None, grade_reason: str
) -> Iterator[str]:
    if facts.may_run is False:
        yield "The person at the machine says it may not run."
    if grade == FAR_BEYOND:
        yield f"Never run on: {grade_reason}"
    elif grade == SEVERAL_TIMES:
        yield f"Out of tolerance: {grade_reason}"
    if facts.severity == "hard":
        yield "Something bent, broke or shifted."
    if facts.severity == "knock":
        yield from _knocked(hit)
    if facts.what in rules.STOPPING_EVENTS:
        yield rules.STOPPING_EVENTS[facts.what]


def _knocked(hit: list[Station]) -> Iterator[str]:
    if not hit:
        yield "It took a knock, and where is not said."
    for station in hit:
        if station.kind in rules.SPINDLE_KINDS:
            yield f"The {station.name} took a knock and is not measured yet."


def _suspects(facts: IncidentFacts, hit: list[Station]) -> Iterator[Conclusion]:
    if not hit and facts.what in ("hit", "drifting size"):
        for station in facts.stations:
            yield Conclusion(station.name, "Where it happened is not said, so it may be here.")
    elif facts.what == "hit":
        yield from _moved_by_a_hit(facts, hit)
    elif facts.what == "drifting size":
        yield from _behind_a_drift(facts, hit)


def _moved_by_a_hit(facts: IncidentFacts, hit: list[Station]) -> Iterator[Conclusion]:
    names = {station.name for station in hit}
    for station in facts.stations:
        if station.name in names:
            yield Conclusion(station.name, _hit_reason(station))
        elif facts.severity != "touch":
            # A mere touch throws nothing else out unless the station hit turns out to have moved.
            above = next((n for n in way_back(station, facts.stations) if n in names), None)
            if above:
                yield Conclusion(station.name, f"It is measured from the {above}, which was hit.")


def _hit_reason(station: Station) -> str:
    if station.kind == "headstock":
        return "It was hit; a headstock rarely moves, but everything is measured from it."
    if station.kind == "guide bushing":
        return "It was hit, and its housing is bolted on separately, so it can shift."
    return "It was hit."


def _behind_a_drift(facts: IncidentFacts, hit: list[Station]) -> Iterator[Conclusion]:
    drifting = {station.name for station in hit}
    behind = {name: s.name for s in hit for name in way_back(s, facts.stations)}
    for station in facts.stations:
        if station.name in drifting:
            yield Conclusion(station.name, "The size drifts here.")
        elif station.name in behind and station.datum is not None:
            yield Conclusion(
                station.name, f"It stands in the chain before the {behind[station.name]}."
            )


def _order(facts: IncidentFacts, suspects: Sequence[Conclusion]) -> Iterator[Conclusion]:
    if not suspects:
        return
    reasons = {suspect.subject: suspect.reason for suspect in suspects}
    needed = {}
    for station in facts.stations:
        if station.name in reasons:
            for name in way_back(station, facts.stations):
                needed.setdefault(name, station.name)
    for station in datums_first(facts.stations):
        if station.datum is None:
            yield Conclusion(
                station.name,
                "First: everything is measured from it, and a crash is least likely to have "
                "moved it.",
            )
        elif station.name in reasons:
            yield Conclusion(station.name, reasons[station.name])
        elif station.name in needed:
            yield Conclusion(
                station.name, f"It stands in the chain before the {needed[station.name]}."
            )


def _parts(facts: IncidentFacts, hit: list[Station]) -> Iterator[Conclusion]:
    if facts.what == "hit":
        for station in hit:
            for part, reason in rules.PARTS_AFTER_A_HIT[station.kind]:
                yield Conclusion(part, _sentence(reason))
        if facts.axis:
            towards = f" {facts.direction}" if facts.direction else ""
            yield Conclusion(
                f"ball screw, nut and coupling of {facts.axis}",
                f"The push went through {facts.axis}{towards}.",
            )
    for part, reason in rules.PARTS_BY_EVENT.get(facts.what, ()):
        yield Conclusion(part, _sentence(reason))
    yield from _belts(facts, {station.kind for station in hit})


def _belts(facts: IncidentFacts, kinds: set[str]) -> Iterator[Conclusion]:
    for belt in facts.belts:
        if facts.what in rules.BELTS_BY_EVENT:
            yield Conclusion(belt.name, _sentence(rules.BELTS_BY_EVENT[facts.what]))
        elif facts.what == "hit" and not belt.turns and kinds & rules.SPINDLE_KINDS:
            yield Conclusion(belt.name, "What it turns is not recorded, so look at its teeth.")
        elif facts.what == "hit" and (shared := sorted(kinds.intersection(belt.turns))):
            yield Conclusion(
                belt.name,
                f"It turns the {' and the '.join(shared)} and carried the shock: look at every "
                "tooth.",
            )


def _cautions(
    facts: IncidentFacts, hit: list[Station], parts: Sequence[Conclusion]
) -> tuple[str, ...]:
    cautions = [*rules.FIRST_CAUTIONS, *rules.CAUTIONS_BY_EVENT.get(facts.what, ())]
    for station in hit:
        cautions += rules.CAUTIONS_BY_KIND.get(station.kind, ())
    drives = {"jack shaft", *(belt.name for belt in facts.belts)}
    if drives.intersection(part.subject for part in parts):
        cautions.append(rules.CAUTION_DRIVES)
    return tuple(dict.fromkeys(cautions))


def _sentence(reason: str) -> str:
    return f"{reason[0].upper()}{reason[1:]}."


def _once(conclusions: Iterator[Conclusion]) -> tuple[Conclusion, ...]:
    """Each subject once, with the first reason given for it."""
    first: dict[str, Conclusion] = {}
    for conclusion in conclusions:
        first.setdefault(conclusion.subject, conclusion)
    return tuple(first.values())


def _check(facts: IncidentFacts) -> None:
    _one_of(facts.what, rules.EVENTS, "What happened")
    if facts.severity is not None:
        _one_of(facts.severity, rules.SEVERITIES, "How hard it was")
    if facts.offset_um is not None:
        not_negative(facts.offset_um, "The offset seen", "µm")
    check_chain(facts.stations)
    for station in facts.stations:
        _one_of(station.kind, rules.STATION_KINDS, f"The kind of the {station.name}")
        if station.tolerance_um is not None:
            positive(station.tolerance_um, f"The tolerance of the {station.name}", "µm")
    for name in facts.where:
        _one_of(name, [station.name for station in facts.stations], "Where it happened")


def _one_of(value: str, allowed: Sequence[str], what: str) -> None:
    if value not in allowed:
        raise ValueError(f"{what} is “{value}”; expected one of {', '.join(allowed)}.")
