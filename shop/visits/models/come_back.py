"""What becomes of what a visit left to come back for: the day it is kept for, and how it ended."""

from django.db import models
from django.db.models import Q

from shop.record import FROM_THE_BEGINNING, Record
from shop.web.models import Entry

from .visits import Visit


class ComeBackStep(Entry):
    """One step of what was left undone at a visit; steps are added, never changed."""

    record_rules = Record(frozen=FROM_THE_BEGINNING)

    class State(models.TextChoices):
        DAY = "day", "kept for a day"
        DONE = "done", "done"
        DROPPED = "dropped", "dropped"

    SETTLED = (State.DONE, State.DROPPED)

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="come_back_steps")
    state = models.CharField(max_length=7, choices=State)
    day = models.DateField(null=True, blank=True)
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="day", day__isnull=False)
                | (~Q(state="day") & Q(day__isnull=True)),
                name="what_is_kept_for_a_day_has_one",
            ),
            models.CheckConstraint(
                condition=~Q(state="dropped") | ~Q(why=""), name="what_is_dropped_says_why"
            ),
            models.UniqueConstraint(
                fields=["visit"],
                condition=Q(state__in=("done", "dropped")),
                name="what_to_come_back_for_ends_once",
            ),
        ]

    def __str__(self):
        return f"{self.visit}: {self.get_state_display()}"
