"""Keeping what was seen of a belt, tooth by tooth."""

from decimal import Decimal

from django.core.exceptions import ValidationError
from django.utils import timezone

from machines.engineering.belts import PROFILES, summarise_teeth
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import for_work
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .models import (
    Belt,
    BeltInspection,
    ToothCondition,
    ToothFinding,
)
from .recommending import recommend
from .tension import worked_out


def _learn(belt, learnt):
    """The belt with what a look told of it besides its teeth's condition; a known profile tells the
    pitch too."""
    belt = Belt.objects.select_for_update().select_related("machine").get(pk=belt.pk)
    told = {name: value for name, value in learnt.items() if name in belt.unknown}
    for name, value in told.items():
        setattr(belt, name, value)
    profile = PROFILES.get(belt.profile)
    if belt.pitch_mm is None and profile:
        belt.pitch_mm = Decimal(str(profile.pitch_mm))
    try:
        belt.clean()
    except ValidationError as error:
        raise Refused(" ".join(error.messages)) from error
    belt.save()
    return belt


@entered_once(BeltInspection)
def inspect_belt(
    *,
    belt,
    made_by,
    teeth,
    visit=None,
    note="",
    measured=None,
    corrects=None,
    learnt=None,
    entry_id=None,
    made_at=None,
):
    """Record one look at a belt and bring the recommendations up to date.

    teeth: tooth number to condition; teeth left out are sound. measured: a
    `machines.drive.tension.Measured` when its tension was measured. learnt: what was not known of
    the belt, by the names of its fields; what is known by now stays.
    Raises Refused for a tooth the belt does not have, a tension that cannot be worked out, a visit
    that was signed or is another shop's, and a correction of another belt's inspection or of one
    that was corrected before.
    """
    if visit is not None:
        visit = for_work(visit)
        add_machine_to_visit(visit, belt.machine)
    if corrects is not None and corrects.belt_id != belt.pk:
        raise Refused("That inspection is another belt's.")
    refuse_second_correction(corrects)
    if learnt:
        belt = _learn(belt, learnt)
    if belt.teeth is None:
        raise Refused("Nobody has counted this belt's teeth yet; say how many it has.")
    try:
        summarise_teeth(belt.teeth, teeth)
    except ValueError as error:
        raise Refused(str(error)) from error
    tension = worked_out(belt, measured) if measured else None
    inspection = BeltInspection.objects.create(
        belt=belt,
        visit=visit,
        made_by=made_by,
        note=note,
        corrects=corrects,
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )
    ToothFinding.objects.bulk_create(
        ToothFinding(inspection=inspection, tooth=tooth, condition=condition)
        for tooth, condition in sorted(teeth.items())
        if condition != ToothCondition.SOUND
    )
    if tension is not None:
        tension.inspection = inspection
        tension.save()
    recommend(belt.machine, visit=visit, made_by=made_by, made_at=inspection.made_at)
    return inspection


def refuse_second_correction(record):
    """A record is corrected once; whoever finds the correction wrong corrects the correction."""
    if record is not None and hasattr(record, "corrected_by"):
        raise Refused(
            "That record was corrected already; correct the newer one, which stands in its place."
        )
