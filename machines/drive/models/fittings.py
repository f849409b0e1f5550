"""What was fitted where, and when and why it came out again: the life of each belt and bearing."""

from django.db import models
from django.db.models import Q

from machines.register.models import Machine
from shop.record import WITH_ITS_VISIT, Frozen, Goes, Record, Signed
from shop.visits.models import InForceManager, Visit, Withdrawable, withdrawn_whole
from shop.web.models import Entry

from .bearings import Bearing
from .belts import Belt, Part


class FittingQuerySet(models.QuerySet):
    def visible_to(self, user):
        machines = Machine.objects.visible_to(user)
        return self.filter(Q(belt__machine__in=machines) | Q(bearing__machine__in=machines))

    def of_machine(self, machine):
        # Not by an OR over the joined tables: no index serves that.
        fittings = Fitting.objects.order_by().values("pk")
        of_belts = fittings.filter(belt__machine=machine)
        of_bearings = fittings.filter(bearing__machine=machine)
        return self.filter(pk__in=of_belts.union(of_bearings, all=True))

    def in_place(self):
        """Those that have not come out again."""
        return self.filter(removal__isnull=True)


class Fitting(Withdrawable, Entry):
    """One belt or bearing in its place, from the moment it was fitted."""

    record_rules = Record(
        belongs_to=("belt", "bearing"),
        handover=Goes(without=("unit_price",)),
        # The life that a signed visit closed stays as it was told, whenever it began.
        frozen=Frozen(
            f"({WITH_ITS_VISIT.signed_when}) OR EXISTS (SELECT 1 FROM machines_removal m"
            " JOIN shop_visit v ON v.id = m.visit_id"
            " WHERE m.fitting_id = {row}.id AND v.state = 'signed')"
        ),
        signed=Signed(
            "Fitted: {0.place}, machine {0.place.machine.number}",
            select=("belt__machine", "bearing__machine"),
        ),
    )

    belt = models.ForeignKey(
        Belt, on_delete=models.PROTECT, null=True, blank=True, related_name="fittings"
    )
    bearing = models.ForeignKey(
        Bearing, on_delete=models.PROTECT, null=True, blank=True, related_name="fittings"
    )
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="fittings"
    )
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="fittings"
    )
    serial = models.CharField("serial or lot number", max_length=60, blank=True)
    fitted_at = models.DateTimeField("when it was fitted")
    from_the_start = models.BooleanField(
        default=False, help_text="It was there before the record began."
    )
    quantity = models.PositiveSmallIntegerField(default=1)
    unit_price = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)

    taken_from = models.CharField(
        "taken from", max_length=8, blank=True, editable=False, help_text="The stock it came from."
    )
    withdrawn_old_why = models.CharField(
        "why the old one came out",
        max_length=7,
        blank=True,
        editable=False,
        help_text="Kept while the fitting is withdrawn and the old one is in its place.",
    )

    objects = InForceManager.from_queryset(FittingQuerySet)()
    everything = FittingQuerySet.as_manager()
    on_withdrawing = "machines.drive.withdrawing.OF_A_FITTING"

    class Meta:
        ordering = ["-fitted_at", "-pk"]
        constraints = [
            withdrawn_whole("fittings"),
            models.CheckConstraint(
                condition=Q(belt__isnull=False, bearing__isnull=True)
                | Q(belt__isnull=True, bearing__isnull=False),
                name="fitted_is_a_belt_or_a_bearing",
            ),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="at_least_one_is_fitted"),
        ]

    def __str__(self):
        return f"{self.place}, fitted {self.fitted_at:%Y-%m-%d}"

    def get_absolute_url(self):
        return self.place.get_absolute_url()

    @property
    def place(self):
        """The belt or bearing whose place in the machine it has."""
        return self.belt or self.bearing


class Removal(Entry):
    """That a belt or bearing came out, and why; with it its life is closed."""

    record_rules = Record(frozen=WITH_ITS_VISIT)

    class Why(models.TextChoices):
        BROKE = "broke", "it failed in use"
        WORN = "worn", "it was worn past use"
        CRASH = "crash", "a crash damaged it"
        PLANNED = "planned", "it was still good, replaced as planned"

    # What counts as the end of a life; the others came out while they would have gone on.
    ENDS_A_LIFE = (Why.BROKE, Why.WORN)

    fitting = models.OneToOneField(Fitting, on_delete=models.PROTECT, related_name="removal")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="removals"
    )
    removed_at = models.DateTimeField("when it came out")
    why = models.CharField("why it came out", max_length=7, choices=Why)

    def __str__(self):
        return f"{self.fitting.place} out {self.removed_at:%Y-%m-%d}: {self.get_why_display()}"
