"""The clock of a visit: who travelled or worked from when until when."""

from django.db import models
from django.db.models import F, Q

from shop.people.models import Shop, User
from shop.record import WITH_ITS_VISIT, Record, Signed
from shop.web.models import Entry
from shop.web.wording import time_text

from .visits import Visit


class SpellQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(visit__shop__in=Shop.objects.visible_to(user))

    def running(self):
        return self.filter(ended_at__isnull=True)

    def work(self):
        return self.filter(kind=WorkSpell.Kind.WORK)


class WorkSpell(Entry):
    """A stretch of one person's time at a visit; it runs until it has an end."""

    record_rules = Record(
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Time: {0.in_words}", select=("who", "visit__shop"), order=("began_at", "pk")
        ),
    )

    class Kind(models.TextChoices):
        TRAVEL = "travel", "travel"
        WORK = "work", "work"

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="spells")
    who = models.ForeignKey(User, on_delete=models.PROTECT, related_name="spells")
    kind = models.CharField("what", max_length=6, choices=Kind, default=Kind.WORK)
    began_at = models.DateTimeField("from")
    ended_at = models.DateTimeField("until", null=True, blank=True)
    distance = models.DecimalField(
        "distance travelled", max_digits=7, decimal_places=1, null=True, blank=True
    )

    objects = SpellQuerySet.as_manager()

    class Meta:
        ordering = ["began_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "who"],
                condition=Q(ended_at__isnull=True),
                name="one_running_clock_per_visit_and_person",
                violation_error_message="This person's clock is running already.",
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("began_at")),
                name="a_spell_does_not_end_before_it_began",
                violation_error_message="It cannot end before it began.",
            ),
            models.CheckConstraint(
                condition=Q(distance__isnull=True) | Q(distance__gte=0, kind="travel"),
                name="only_travel_has_a_distance_and_never_a_negative_one",
                violation_error_message="Only travel has a distance, and never a negative one.",
            ),
        ]

    def __str__(self):
        return f"{self.kind} of {self.who.name}"

    @property
    def in_words(self):
        """What it was, whose and since when, in the shop's zone."""
        since = time_text(self.began_at, self.visit.shop.zone)
        return f"{self.get_kind_display()} of {self.who.name} from {since}"
