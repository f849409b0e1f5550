"""Kinds of records of machines, as `shop.search.searched` takes them."""

from django.utils.text import capfirst

from machines.calls.models import Call
from machines.drive.models import (
    Bearing,
    BearingInspection,
    Belt,
    BeltInspection,
    Fitting,
    Part,
    Rebuild,
    Recommendation,
)
from machines.incidents.models import Incident, IncidentStep
from machines.planning.models import Plan
from machines.register.models import FindingPhoto, Machine, VisitedMachine
from shop.search.searched import Searched


def _at(record, machine):
    return f"{capfirst(str(record))}, machine {machine.number}"


MACHINES = Searched(
    "machine",
    "Machines",
    lambda user: Machine.objects.visible_to(user).select_related("shop"),
    ("number", "name", "serial", "model_name", "note"),
    names=("number", "name", "serial", "model_name"),
)
INCIDENTS = Searched(
    "incident",
    "Incidents",
    lambda user: Incident.objects.visible_to(user).select_related("machine__shop"),
    ("what_hit", "hit_what", "place", "broken", "note"),
    title=lambda one: _at(one, one.machine),
    day="happened_at",
    names=("what_hit", "hit_what"),
    shop="machine.shop",
)
FOUND_AFTER = Searched(
    "found-after",
    "Findings at incidents",
    lambda user: IncidentStep.objects.filter(
        incident__in=Incident.objects.visible_to(user)
    ).select_related("incident__machine__shop"),
    ("found",),
    title=lambda step: _at(step.incident, step.incident.machine),
    url=lambda step: step.incident.get_absolute_url(),
    day="made_at",
    shop="incident.machine.shop",
)
FINDINGS = Searched(
    "finding",
    "Findings",
    lambda user: VisitedMachine.objects.filter(
        machine__in=Machine.objects.visible_to(user)
    ).select_related("machine__shop", "visit"),
    ("findings",),
    url=lambda visited: visited.visit.get_absolute_url(),
    day="visit.made_at",
    shop="machine.shop",
)
PHOTOS = Searched(
    "photo",
    "Photos",
    lambda user: FindingPhoto.objects.visible_to(user).select_related("visited__machine__shop"),
    ("caption",),
    title=lambda photo: _at(photo, photo.visited.machine),
    day="made_at",
    shop="visited.machine.shop",
)
ADVICE = Searched(
    "advice",
    "Advice",
    lambda user: Recommendation.objects.visible_to(user).select_related("machine__shop"),
    ("what", "subject", "reason"),
    title=lambda advice: _at(advice, advice.machine),
    day="made_at",
    shop="machine.shop",
)
BELTS = Searched(
    "belt",
    "Belts",
    lambda user: Belt.objects.visible_to(user).select_related("machine__shop", "part"),
    ("name", "drives", "profile", "part__number"),
    title=lambda belt: _at(belt.name, belt.machine),
    names=("name",),
    shop="machine.shop",
)
BEARINGS = Searched(
    "bearing",
    "Bearings",
    lambda user: Bearing.objects.visible_to(user).select_related("machine__shop", "part"),
    ("name", "part__number"),
    title=lambda bearing: _at(bearing.name, bearing.machine),
    names=("name",),
    shop="machine.shop",
)
PARTS = Searched(
    "part",
    "Parts",
    lambda user: Part.objects.visible_to(user).select_related("shop"),
    ("number", "description", "maker"),
    names=("number", "description"),
)
FITTED = Searched(
    "fitted",
    "Fitted, by serial or lot",
    lambda user: Fitting.objects.visible_to(user).select_related(
        "belt__machine__shop", "bearing__machine__shop", "part"
    ),
    ("serial", "part__number"),
    title=lambda fitting: _at(fitting.place.name, fitting.place.machine),
    day="fitted_at",
    shop="place.machine.shop",
)
BELT_LOOKS = Searched(
    "belt-look",
    "Looks at belts",
    lambda user: BeltInspection.objects.visible_to(user).select_related("belt__machine__shop"),
    ("note",),
    title=lambda look: _at(look.belt.name, look.belt.machine),
    day="made_at",
    shop="belt.machine.shop",
)
BEARING_LOOKS = Searched(
    "bearing-look",
    "Looks at bearings",
    lambda user: BearingInspection.objects.visible_to(user).select_related(
        "bearing__machine__shop"
    ),
    ("note",),
    title=lambda look: _at(look.bearing.name, look.bearing.machine),
    day="made_at",
    shop="bearing.machine.shop",
)
REBUILDS = Searched(
    "rebuild",
    "Rebuilds",
    lambda user: Rebuild.objects.visible_to(user).select_related("assembly__machine__shop"),
    ("fitted", "who"),
    title=lambda rebuild: _at(rebuild.assembly, rebuild.assembly.machine),
    day="made_at",
    shop="assembly.machine.shop",
)
PLANS = Searched(
    "plan",
    "Plans",
    lambda user: Plan.objects.visible_to(user).select_related("shop"),
    ("what", "steps"),
    names=("what",),
)
CALLS = Searched(
    "call",
    "Calls",
    lambda user: Call.objects.visible_to(user).select_related("shop"),
    ("who", "says", "promised", "settled_how", "phone"),
    day="rang_at",
)
REGISTER = [MACHINES, BELTS, BEARINGS, PARTS]
WHAT_HAPPENED = [CALLS, INCIDENTS, FOUND_AFTER, FINDINGS, ADVICE, FITTED, REBUILDS, BELT_LOOKS]
WHAT_HAPPENED += [BEARING_LOOKS, PHOTOS, PLANS]
