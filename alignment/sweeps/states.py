"""What each check is worth today or at a signed visit, and the words for it."""

from collections import defaultdict
from dataclasses import dataclass, field

from django.db.models import Max, Q
from django.utils import timezone

from alignment.geometry.adjust.state import (
    BEFORE_A_CRASH,
    NOT_MEASURED,
    STALE,
    CheckState,
    Knock,
    check_state,
)
from alignment.sheets.same_lines import lines_of
from machines.incidents.models import Incident
from machines.register.models import Station, first_lines
from shop.web.wording import day_text

from .by_sheet import verdicts_by_sheet
from .models import Check

# What may shift a casting; a noise, a leak, a slipped belt or a size that drifts does not.
KNOCKS = (Incident.Kind.HIT, Incident.Kind.TOOL_BROKEN, Incident.Kind.OTHER)
AGAIN = ": measure again"
NAMES_OF_KNOCKS = {Incident.Kind.HIT: "crash", Incident.Kind.TOOL_BROKEN: "tool that broke"}


@dataclass(frozen=True)
class ShownState:
    """The state of an item by its newest check, in words.

    `word` is the verdict, "stale", "before the crash" or "not measured"; `words` says the same in
    full, with what to do; `verdict` is what the check came to, whether it counts or not.
    """

    word: str
    words: str
    counts: bool
    verdict: str = ""
    moved: tuple = ()
    incident: Incident | None = None

    @property
    def is_stale(self):
        return self.word == STALE

    @property
    def is_before_a_crash(self):
        return self.word == BEFORE_A_CRASH

    @property
    def was_measured(self):
        return self.word != NOT_MEASURED


UNMEASURED = ShownState(NOT_MEASURED, NOT_MEASURED, counts=False)


@dataclass(frozen=True)
class Happenings:
    """What happened to the stations of some machines by a moment.

    A station whose line was begun anew is one thing all along, so that all goes by `line_of`:
    station pk to the pk of its first line. adjusted: line to when it was last adjusted; knocks:
    machine pk to its `Knock`s, by lines; names: line to the station as it is; zones: machine pk to
    its shop's.
    """

    line_of: dict
    datum_of: dict
    adjusted: dict
    knocks: dict
    names: dict = field(repr=False)
    zones: dict = field(repr=False)

    def link_of(self, station, item=None):
        """(line of its datum, its own line); the datum None for the master datum.

        item: what is measured there, which goes by a datum of its own where it closes a loop.
        """
        datum = (item and item.measured_from_id) or self.datum_of[station.pk]
        return self.line_of.get(datum), self.line_of[station.pk]

    def state_of(self, item, measured_at, verdict) -> CheckState:
        """The state of an item by its newest check; measured_at None for none."""
        datum, line = self.link_of(item.station, item)
        return check_state(
            line,
            datum,
            measured_at=measured_at,
            verdict=verdict,
            adjusted=self.adjusted,
            knocks=self.knocks.get(item.station.machine_id, ()),
        )

    def shown(self, item, check, verdict="") -> ShownState:
        """The `ShownState` of an item by its newest check (with `measured_at`), None for none.

        verdict: where it is another than the check was saved with, as of `by_sheet`.
        """
        if check is None:
            return UNMEASURED
        return self.shown_by(item, check.measured_at, verdict or check.verdict)

    def shown_by(self, item, measured_at, verdict) -> ShownState:
        """The same by when its newest check was measured and what it came to."""
        state = self.state_of(item, measured_at, verdict)
        zone = self.zones[item.station.machine_id]
        moved = tuple(self.names[line] for line in state.moved)
        incident = state.knock and state.knock.record
        words = words_of(state, moved, zone)
        return ShownState(state.word, words, state.counts, verdict, moved, incident)


def words_of(state, moved, zone):
    """A `CheckState` in full; moved: the stations of its `moved`. Nothing else words it."""
    if state.word == BEFORE_A_CRASH:
        return f"before {knock_words(state.knock.record, zone)}{AGAIN}"
    if state.word == STALE:
        names = " and ".join(f"the {station}" for station in moved)
        return f"stale since {names} {'was' if len(moved) == 1 else 'were'} adjusted{AGAIN}"
    return state.word


def knock_words(incident, zone):
    """An incident as what a figure was measured before: "the crash of 27 Nov 2026"."""
    name = NAMES_OF_KNOCKS.get(incident.kind, "incident")
    return f"the {name} of {day_text(incident.happened_at.astimezone(zone))}"


def adjusted_by(until):
    """Which adjustments of a station count by a moment: those that were made, and not withdrawn."""
    return Q(adjustments__made_at__lte=until, adjustments__withdrawn_at__isnull=True)


def happenings(machines, until):
    """The `Happenings` of machines (or their pks) by a moment; three queries."""
    stations = list(
        Station.objects.filter(machine__in=machines)
        .select_related("machine__shop")
        .annotate(last_adjusted=Max("adjustments__made_at", filter=adjusted_by(until)))
        .order_by("machine_id", "position", "pk")
    )
    return happenings_to(stations, machines, until)


def happenings_to(stations, machines, until):
    """The same of stations at hand, ended lines among them, with `last_adjusted`; two queries."""
    follows = {station.pk: station.follows_id for station in stations}
    line_of = first_lines(follows)
    adjusted, names = {}, {}
    for station in stations:
        line, at = line_of[station.pk], station.last_adjusted
        if at is not None and (adjusted.get(line) is None or adjusted[line] < at):
            adjusted[line] = at
        if line not in names or station.ended_on is None:
            names[line] = station
    datum_of = {station.pk: station.datum_id for station in stations}
    zones = {station.machine_id: station.machine.shop.zone for station in stations}
    return Happenings(line_of, datum_of, adjusted, _knocks(machines, line_of, until), names, zones)


def _knocks(machines, line_of, until):
    """Machine pk to its `Knock`s, oldest first; two queries. What was logged later counts not."""
    found = defaultdict(list)
    incidents = Incident.objects.filter(
        machine__in=machines, kind__in=KNOCKS, happened_at__lte=until, made_at__lte=until
    )
    for one in incidents.prefetch_related("stations_hit").order_by("happened_at", "pk"):
        hit = frozenset(line_of[place.station_id] for place in one.stations_hit.all())
        found[one.machine_id].append(Knock(one.happened_at, hit, one))
    return found


def state_of_item(item, until=None):
    """(newest check, its `ShownState`) of an item as of now, whatever sheet it was entered under;
    six queries, and three more where that was another."""
    in_force, lines = lines_of(item)
    standing = Check.objects.filter(item__in=lines).not_superseded().with_measured_at()
    check = standing.order_by("measured_at", "pk").last()
    if check is None:
        return None, UNMEASURED
    happened = happenings([item.station.machine_id], until or timezone.now())
    verdicts = verdicts_by_sheet([(check.pk, check.item_id, in_force)])
    return check, happened.shown(item, check, verdicts.get(check.pk, ""))


def why_no_plan_from(check):
    """Why no move is planned from a check, with what to sweep first; "" where it counts."""
    newest, state = state_of_item(check.item)
    sweep = f"Sweep the {check.item.station} first: {check.item.name}."
    if newest is None or newest.pk != check.pk:
        return f"A newer check took the place of the one at this visit. {sweep}"
    return "" if state.counts else f"The last check is {state.words.removesuffix(AGAIN)}. {sweep}"
