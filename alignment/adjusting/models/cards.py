"""Steps of a procedure card that were ticked at a visit."""

from django.db import models

from machines.register.models import Station
from shop.record import WITH_ITS_VISIT, Record
from shop.visits.models import Visit
from shop.web.models import Entry


class StepTick(Entry):
    """One step of a station's card, done at a visit, with its words as they stood then."""

    record_rules = Record(belongs_to=("station",), frozen=WITH_ITS_VISIT)

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="ticks")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="ticks")
    step = models.SlugField(max_length=40)
    words = models.CharField(max_length=200)

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "station", "step"], name="a_step_is_ticked_once_per_visit"
            )
        ]

    def __str__(self):
        return f"{self.station}: {self.words}"
