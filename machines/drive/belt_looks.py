"""Looks at belts: the newest of each, the one before, and their figure."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import OuterRef, Subquery

from machines.engineering.belts import CONDITION_WORDS, summarise_teeth

from .figures import BeltFigure
from .models import Belt, BeltInspection, Fitting
from .tooth_lists import summary_sentence


@dataclass(frozen=True)
class BeltLook:
    """A belt with the inspection shown for it, None where there is none, and what that says.

    `signed` is, at a correction, what the corrected visit says of the belt.
    """

    belt: Belt
    inspection: BeltInspection | None
    signed: BeltInspection | None = None

    @property
    def sentence(self):
        return self._says(self.inspection)

    @property
    def signed_sentence(self):
        return self._says(self.signed)

    @property
    def replaces(self):
        """The inspection that a new one at this visit would correct."""
        return self.inspection or self.signed

    def _says(self, inspection):
        if inspection is None:
            return ""
        return summary_sentence(self.belt.teeth, inspection.conditions())


def last_looks(belts, *, present_only=False, **where):
    """`belts` with the newest standing inspection of each that fits `where`; three queries.

    present_only: leave out looks at a belt that was replaced since.
    """
    looks = BeltInspection.objects.not_superseded()
    if present_only:
        looks = looks.of_present_belts()
    newest = looks.filter(belt=OuterRef("pk"), **where).newest_first().values("pk")[:1]
    belts = list(belts.annotate(newest_id=Subquery(newest)))
    found = (
        BeltInspection.objects.select_related("visit", "made_by", "belt", "corrects", "tension")
        .prefetch_related("findings")
        .in_bulk([belt.newest_id for belt in belts if belt.newest_id])
    )
    return [BeltLook(belt, found.get(belt.newest_id)) for belt in belts]


def bad_teeth(look):
    """How many teeth of a `BeltLook` are not sound; None where nobody has looked."""
    if look.inspection is None:
        return None
    return len(summarise_teeth(look.belt.teeth, look.inspection.conditions()).damaged)


def look_before(inspection):
    """The standing look at the same belt before this one, None for the first; runs SQL."""
    return looks_before([inspection]).get(inspection.pk)


def looks_before(inspections):
    """Inspection pk to the standing look at the same belt before it, first looks left out; four
    queries.

    A correction speaks of the time of what it corrects. A belt that was replaced in between is
    another one.
    """
    looks = BeltInspection.objects.not_superseded().with_measured_at()
    earlier = looks.filter(belt=OuterRef("belt"), measured_at__lt=OuterRef("measured_at"))
    asked = list(
        BeltInspection.objects.filter(pk__in=[one.pk for one in inspections])
        .with_measured_at()
        .annotate(before_id=Subquery(earlier.newest_first().values("pk")[:1]))
        .values_list("pk", "belt", "measured_at", "before_id")
    )
    found = (
        BeltInspection.objects.with_measured_at()
        .prefetch_related("findings")
        .in_bulk([before for *_, before in asked if before])
    )
    fitted = defaultdict(list)
    belts = [belt for _, belt, _, before in asked if before]
    for belt, at in Fitting.objects.filter(belt__in=belts).values_list("belt", "fitted_at"):
        fitted[belt].append(at)
    looks = {}
    for pk, belt, until, before_id in asked:
        before = found.get(before_id)
        if before and not any(before.measured_at < at <= until for at in fitted[belt]):
            looks[pk] = before
    return looks


def what_changed(inspection, before):
    """What a look shows that the one before did not: a sentence for each tooth, none without one.

    A tooth that looks better comes last: a belt does not mend.
    """
    if before is None:
        return []
    teeth = inspection.belt.teeth
    summary = summarise_teeth(teeth, inspection.conditions(), before.conditions())
    grew = [
        f"Tooth {change.tooth} was {CONDITION_WORDS[change.before]} and is "
        f"{CONDITION_WORDS[change.now]}."
        for change in sorted((*summary.new, *summary.worsened), key=lambda change: change.tooth)
    ]
    return grew + [
        f"Tooth {change.tooth} was {CONDITION_WORDS[change.before]} and looks "
        f"{CONDITION_WORDS[change.now]}: "
        "another belt, or counted from another tooth."
        for change in summary.better
    ]


def belt_figure(inspection, before=None):
    """The figure of an inspection, beside the one before it if there was one."""
    return BeltFigure(
        belt=inspection.belt.name,
        teeth_count=inspection.belt.teeth,
        conditions=inspection.conditions(),
        previous=before.conditions() if before else None,
    )
