"""What the machines app shows on the pages of machines, on those of visits and on the first page.

Each panel runs a fixed number of queries however long the records are.
"""

from dataclasses import replace

from django.db.models import Prefetch

from machines.register.models import Machine
from machines.register.visited_machines import machines_at
from shop.hooks import Panel
from shop.people.access import DESK, may_enter, role_at
from shop.snapshots.pages import cached_panel

from .bearing_looks import last_bearing_looks
from .belt_looks import bad_teeth, last_looks
from .describe import turns_in_step
from .models import Assembly, Bearing, Belt, RecommendationStep

STEPS = Prefetch("steps", RecommendationStep.objects.with_told())


def has_machines(user):
    """Whether any machine of the person's shops is on record; one query."""
    return Machine.objects.visible_to(user).exists()


@cached_panel
def drive_train(machine, request):
    """The belts, each with what its last inspection says, and the bearings."""
    looks = last_looks(machine.belts.select_related("part"), present_only=True)
    unit = request.user.length_unit
    bearings = last_bearing_looks(machine.bearings.all(), unit, present_only=True)
    return Panel(
        "machines/panels/drive_train.html",
        {
            "machine": machine,
            "looks": looks,
            "ratio": turns_in_step([look.belt for look in looks]),
            "bearings": bearings,
        },
        title="Belts and bearings",
        summary=_drive_summary(looks, bearings),
    )


def _drive_summary(looks, bearings):
    """A line on belts and bearings: which belts have bad teeth, how many nobody looked at."""
    teeth = [(look.belt, bad_teeth(look)) for look in looks]
    told = [f"{belt}: {bad} bad {'tooth' if bad == 1 else 'teeth'}" for belt, bad in teeth if bad]
    unseen = sum(bad is None for _belt, bad in teeth)
    told += [f"{unseen} of {len(looks)} belts not inspected"] * bool(unseen)
    if looks and not told:
        told = ["belts sound"]
    return " · ".join([*told, *[f"{len(bearings)} bearings"] * bool(bearings)])


@cached_panel
def recommendations(machine, request):
    """What should be replaced and is not settled yet, the most urgent first."""
    advice = machine.recommendations.open().prefetch_related("evidence__record", STEPS)
    declined = machine.recommendations.declined_but_safety_relevant()
    return Panel(
        "machines/panels/recommendations.html",
        {
            "machine": machine,
            "recommendations": list(advice.most_urgent_first()),
            "declined": list(declined.prefetch_related(STEPS)),
            "may_recommend": role_at(request.user, machine.shop) in DESK,
        },
    )


@cached_panel
def visit_belts(visit, request):
    """The belts of the machines visited, each inspected at this visit or not yet."""
    belts = Belt.objects.filter(machine__visited__visit=visit).select_related("machine", "part")
    looks = last_looks(belts.order_by("machine__number", "pk"), visit=visit)
    if not looks:
        return None
    if visit.corrects_id:
        looks = _beside_signed(looks, last_looks(belts, visit=visit.corrects_id))
    return Panel(
        "machines/panels/visit_belts.html",
        {
            "visit": visit,
            "looks": looks,
            "told": looked_at_words([look.replaces for look in looks]),
            "off": set(visit.belts_off.values_list("belt", flat=True)),
            "may_work": may_enter(request.user, visit),
        },
    )


@cached_panel
def visit_bearings(visit, request):
    """The bearings of the machines visited, each looked at during this visit or not, and the
    housings and jack shafts, whose rebuilds are noted here."""
    machines = Machine.objects.filter(visited__visit=visit)
    bearings = Bearing.objects.filter(machine__in=machines).select_related("machine")
    looks = last_bearing_looks(
        bearings.order_by("machine__number", "pk"), request.user.length_unit, visit=visit
    )
    assemblies = list(
        Assembly.objects.filter(machine__in=machines)
        .select_related("machine")
        .prefetch_related(Prefetch("rebuilds", visit.rebuilds.all(), to_attr="here"))
    )
    if not looks and not assemblies:
        return None
    return Panel(
        "machines/panels/visit_bearings.html",
        {
            "visit": visit,
            "looks": looks,
            "told": looked_at_words([look.inspection for look in looks]),
            "assemblies": assemblies,
            "may_work": may_enter(request.user, visit),
        },
    )


def looked_at_words(looks):
    """How many places of a list were looked at, in words; a look is None where nobody did."""
    done = sum(look is not None for look in looks)
    if not looks:
        return ""
    if done == len(looks):
        return "all looked at" if done > 1 else "looked at"
    return f"{done} of {len(looks)} looked at" if done else "not looked at"


def _beside_signed(looks, signed):
    """Looks at a correction beside those at the visit it corrects."""
    of_belt = {look.belt.pk: look.inspection for look in signed}
    return [replace(look, signed=of_belt.get(look.belt.pk)) for look in looks]


@cached_panel
def visit_recommendations(visit, request):
    """What was recommended at this visit, and what became of it."""
    advice = list(
        visit.recommendations.select_related("machine")
        .prefetch_related(
            "evidence__record",
            STEPS,
        )
        .most_urgent_first()
    )
    if not advice and not machines_at(visit):
        return None
    told = (
        advice[0].what if len(advice) == 1 else f"{len(advice)} lines" if advice else "nothing yet"
    )
    return Panel(
        "machines/panels/visit_recommendations.html",
        {
            "visit": visit,
            "recommendations": advice,
            "fitted": list(visit.fittings.select_related("belt", "bearing", "part")),
            "told": told,
            "may_work": may_enter(request.user, visit),
        },
    )
