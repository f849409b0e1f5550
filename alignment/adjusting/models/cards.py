"""Steps of a procedure card that were ticked at a visit."""

from django.db import models
from django.db.models import Q

from machines.register.models import Station
from shop.record import WITH_ITS_VISIT, Record, Signed
from shop.visits.models import InForceManager, Visit, Withdrawable, withdrawn_whole
from shop.web.models import Entry


class StepTick(Withdrawable, Entry):
    """One step of a station's card, done at a visit, with its words as they stood then."""

    record_rules = Record(
        belongs_to=("station",),
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Step at the {0.station}, machine {0.station.machine.number}: {0.words}",
            select=("station__machine",),
        ),
    )

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="ticks")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="ticks")
    step = models.SlugField(max_length=40)
    words = models.CharField(max_length=200)

    objects = InForceManager()
    everything = models.Manager()
    on_withdrawing = "alignment.adjusting.ticking.OF_A_TICK"

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "station", "step"],
                condition=Q(withdrawn_at__isnull=True),
                name="a_step_is_ticked_once_per_visit",
            ),
            withdrawn_whole("ticks"),
        ]

    def __str__(self):
        return f"{self.station}: {self.words}"
