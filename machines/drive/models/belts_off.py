"""What is noted at a machine during a visit: photos of what was found, belts taken off."""

from django.db import models
from django.db.models import Exists, OuterRef

from shop.record import WITH_ITS_VISIT, Record
from shop.visits.models import Visit
from shop.web.models import Entry

from .belts import Belt
from .inspections import BeltInspection


class BeltOffQuerySet(models.QuerySet):
    def not_looked_at(self):
        """Those of a belt that nobody inspected at the visit it is off at."""
        looks = BeltInspection.objects.filter(belt=OuterRef("belt"), visit=OuterRef("visit"))
        return self.exclude(Exists(looks))


class BeltOff(Entry):
    """A belt that was taken off at a visit; whoever has it in hand looks at its teeth."""

    record_rules = Record(belongs_to=("belt",), frozen=WITH_ITS_VISIT)

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="belts_off")
    belt = models.ForeignKey(Belt, on_delete=models.PROTECT, related_name="times_off")

    objects = BeltOffQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "belts off"
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "belt"], name="a_belt_is_noted_off_once_a_visit"
            )
        ]

    def __str__(self):
        return f"{self.belt} off at {self.visit}"
