"""Checks, the sweeps and readings they rest on, and adjustments."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from alignment.geometry.measure.quantity import SIGNED, TILTS
from alignment.sheets.models import AcceptanceItem, in_order, view_of
from machines.drive.models import Thresholds
from machines.register.models import Machine, Station, VisitRelatedQuerySet, corrections_index
from shop.record import WITH_ITS_VISIT, Frozen, Record, Signed, visit_signed
from shop.visits.models import (
    InForceManager,
    Visit,
    Withdrawable,
    WithdrawableCorrection,
    withdrawn_whole,
)
from shop.web.models import Entry

from .indicators import Indicator


def stored_sign(view, item):
    """What a stored figure of an item is multiplied with to be told of the station.

    view: whose signs were stored, "dial" or "frame". Of a dial's, the item's machine is asked.
    """
    return 1 if view == Check.View.FRAME or item.quantity not in SIGNED else int(item.sign)


class CheckQuerySet(VisitRelatedQuerySet):
    def visible_to(self, user):
        return self.filter(item__sheet__machine__in=Machine.objects.visible_to(user))

    def of_machine(self, machine):
        return self.filter(item__station__machine=machine)

    def of_offsets(self):
        """Those that say where an axis sits from its datum: swept round the clock, and no tilt."""
        return self.filter(
            item__surface__in=["bore", "boss"], item__measured_from__isnull=True
        ).exclude(item__quantity__in=TILTS)

    def of_tilts(self):
        """Those that say how an axis leans: a bore or a boss swept near and far."""
        return self.filter(
            item__surface__in=["bore", "boss"],
            item__quantity__in=TILTS,
            item__measured_from__isnull=True,
        )

    def of_loops(self):
        """Offsets measured from another station than the datum."""
        return self.filter(
            item__surface__in=["bore", "boss"], item__measured_from__isnull=False
        ).exclude(item__quantity__in=TILTS)


class Check(WithdrawableCorrection, Entry):
    """An acceptance item measured at a visit, with the limits that were in force then.

    The figures are computed from the readings when the check is saved; they stand here so that
    lists and histories need not compute them again, and so that a signed check keeps them.
    """

    record_rules = Record(
        belongs_to=("item",),
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Check, machine {0.item.station.machine.number}: {0}",
            rows=("sweeps", "sweeps__readings"),
            select=("item__station__machine",),
        ),
        has_page=True,
        chained=True,
    )

    class Phase(models.TextChoices):
        AS_FOUND = "as found", "as found"
        AS_LEFT = "as left", "as left"

    class View(models.TextChoices):
        DIAL = "dial", "of the swept surface, in the dial's view"
        FRAME = "frame", "of the station, in the machine's frame"

    class Verdict(models.TextChoices):
        WITHIN = "within", "within"
        OUTSIDE = "outside", "outside"
        NOT_PROVEN = "not proven", "not proven"
        NO_LIMIT = "no limit on record", "no limit on record"

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="checks")
    item = models.ForeignKey(AcceptanceItem, on_delete=models.PROTECT, related_name="checks")
    phase = models.CharField(max_length=8, choices=Phase)
    upper_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    lower_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    factory_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    per_mm = models.DecimalField(max_digits=9, decimal_places=4, default=100)
    at_mm = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    nominal_um = models.DecimalField(max_digits=14, decimal_places=4, default=0)
    right_um = models.FloatField(help_text="Of the swept surface, in the dial's view.")
    up_um = models.FloatField(help_text="Of the swept surface, in the dial's view.")
    value_um = models.FloatField(help_text="The figure held against the limits.")
    view = models.CharField(
        max_length=5,
        choices=View,
        default=View.FRAME,
        editable=False,
        help_text="What the signs of the figure held against the limits, and of these, are.",
    )
    u_um = models.FloatField("standard uncertainty", null=True, blank=True)
    coverage = models.FloatField("coverage factor")
    rule = models.CharField(
        "decision rule",
        max_length=12,
        choices=Thresholds.Rule,
        default=Thresholds.Rule.ONE_SIDED,
        help_text="The shop's when the check was saved.",
    )
    guard_um = models.FloatField(
        "guard band", null=True, blank=True, help_text="What the verdict kept from each limit."
    )
    verdict = models.CharField(max_length=18, choices=Verdict)
    note = models.CharField(max_length=200, blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    typed_with = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="answered",
        help_text="The check whose readings answered this line of the sheet, too.",
    )

    objects = InForceManager.from_queryset(CheckQuerySet)()
    everything = CheckQuerySet.as_manager()
    on_withdrawing = "alignment.sweeps.withdrawing.OF_A_CHECK"

    class Meta:
        ordering = ["made_at", "pk"]
        indexes = [corrections_index("checks_corrected")]
        constraints = [withdrawn_whole("checks")]

    def __str__(self):
        return f"{self.item}, {self.phase}"

    def get_absolute_url(self):
        return reverse("alignment:check", args=[self.pk])

    @property
    def stands_um(self):
        """(front, up) of the station from its datum by it, of a tilt its lean."""
        sideways, up = self.item.signs
        return sideways * self.right_um + 0.0, up * self.up_um + 0.0

    @property
    def sign(self):
        """What figure and limits are multiplied with to be told of the station; see `view`."""
        return stored_sign(self.view, self.item)

    @property
    def told_um(self):
        """The figure held against the limits, told of the station."""
        return self.sign * self.value_um + 0.0

    @property
    def limits_um(self):
        """(lower, upper) told of the station, of which one may be None."""
        return in_order(self.sign, self.lower_um, self.upper_um)

    @property
    def own_um(self):
        """The factory's own figure, told of the station."""
        return None if self.factory_um is None else self.sign * self.factory_um

    @property
    def expanded_um(self):
        """The expanded uncertainty U = k·u, None where it is not known."""
        return None if self.u_um is None else self.coverage * self.u_um

    @property
    def is_tilt(self):
        """Whether its figures are per stated length."""
        return self.item.is_tilt


class SweepQuerySet(models.QuerySet):
    def of_checks(self, checks):
        """Those that the checks of a queryset rest on."""
        return self.filter(check_record__in=checks)


class Sweep(models.Model):
    """An indicator swept round one surface, along a bar or over a flat, with what was set on it.

    A check holds several: planes at different `z_mm`, repeats of a plane, both sides of a bar.
    What it used of its indicator stands here, so that a signed check keeps it.
    """

    record_rules = Record(
        frozen=Frozen(
            visit_signed("(SELECT c.visit_id FROM alignment_check c WHERE c.id = {row}.check_id)")
        ),
        chained=True,
    )

    class Side(models.TextChoices):
        TOP = "top", "on top"
        FRONT = "front", "at the front"
        REAR = "rear", "at the rear"
        # As the dial's view has them; what was entered before the frame was told.
        RIGHT = "right", "on the right"
        LEFT = "left", "on the left"

    check_record = models.ForeignKey(
        Check, on_delete=models.PROTECT, related_name="sweeps", db_column="check_id"
    )
    surface = models.CharField(max_length=4, choices=AcceptanceItem.Surface)
    z_mm = models.DecimalField(
        max_digits=9,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="Where the plane stands, growing away from the indicator's spindle.",
    )
    radius_mm = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    side = models.CharField(max_length=5, choices=Side, blank=True)
    turned = models.BooleanField(default=False, help_text="The bar was turned by half a turn.")
    bar_error_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    bar_error_typed = models.CharField(max_length=40, blank=True)
    diameter_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    diameter_typed = models.CharField(max_length=40, blank=True)
    indicator = models.ForeignKey(
        Indicator, on_delete=models.PROTECT, null=True, blank=True, related_name="sweeps"
    )
    indicator_name = models.CharField(max_length=110, blank=True)
    error_um = models.DecimalField(max_digits=14, decimal_places=4, default=0)
    error_travel_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    resolution_um = models.DecimalField(max_digits=14, decimal_places=4, default=0)
    calibration_due = models.DateField(null=True, blank=True)
    unit = models.CharField(max_length=2, choices=[("in", "in"), ("mm", "mm"), ("um", "µm")])
    sag_um = models.DecimalField(max_digits=14, decimal_places=4, default=0)
    sag_typed = models.CharField(max_length=40, blank=True)
    sag_u_um = models.DecimalField(max_digits=14, decimal_places=4, default=0)
    sag_u_typed = models.CharField(max_length=40, blank=True)
    lever_deg = models.FloatField(default=0)
    lever_error_deg = models.FloatField(default=0)
    temperature_k = models.FloatField(default=0)
    length_mm = models.FloatField(default=0)
    form_um = models.DecimalField(
        "out-of-round",
        max_digits=14,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="Of the swept surface, peak to valley, as stated or assumed.",
    )
    form_typed = models.CharField(max_length=40, blank=True)
    reading_u_um = models.DecimalField(max_digits=14, decimal_places=4, default=0)
    reading_u_typed = models.CharField(max_length=40, blank=True)

    objects = SweepQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(reading_u_um__gte=0), name="uncertainty_of_a_reading_is_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(lever_deg__gte=0, lever_deg__lt=90),
                name="the_lever_stands_under_ninety_degrees",
            ),
        ]

    def __str__(self):
        return f"sweep of {self.check_record}"


class Reading(models.Model):
    """One reading, exactly as typed, and what it comes to."""

    record_rules = Record(
        # One key looked up in the other: PostgreSQL keeps a trigger's plan, and that of a join made
        # while the tables were empty reads all of them for every row.
        frozen=Frozen(
            visit_signed(
                "(SELECT c.visit_id FROM alignment_check c WHERE c.id ="
                " (SELECT s.check_id FROM alignment_sweep s WHERE s.id = {row}.sweep_id))"
            )
        ),
        chained=True,
    )

    sweep = models.ForeignKey(Sweep, on_delete=models.PROTECT, related_name="readings")
    angle_deg = models.FloatField(help_text="Clockwise from the top, seen from the indicator.")
    place = models.PositiveSmallIntegerField(
        default=0, help_text="Its place along a bar or a flat; 0 in a sweep round the clock."
    )
    z_mm = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    typed = models.CharField(max_length=40)
    unit = models.CharField(max_length=2)
    value_um = models.DecimalField(max_digits=14, decimal_places=4)

    class Meta:
        ordering = ["place", "angle_deg"]
        constraints = [
            models.UniqueConstraint(
                fields=["sweep", "angle_deg", "place"],
                name="one_reading_per_sweep_angle_and_place",
            ),
            models.CheckConstraint(
                condition=Q(angle_deg__gte=0, angle_deg__lt=360), name="angles_go_once_round"
            ),
        ]

    def __str__(self):
        return f"{self.typed} at {self.angle_deg:g}°"


PLANNED_WRONG = (
    "Planned before it was put right how the indicator sits and looks, so it may have gone the "
    "wrong way: sweep the station again and plan the move anew."
)


class Adjustment(Withdrawable, Entry):
    """A station that was moved at a visit; it and what is measured from it are stale from then."""

    record_rules = Record(
        belongs_to=("station",),
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Adjustment, machine {0.station.machine.number}: {0}", select=("station__machine",)
        ),
        chained=True,
    )

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="adjustments")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="adjustments")
    what = models.CharField("what was done", max_length=200)
    front_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    up_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    right_um = models.DecimalField(
        max_digits=14,
        decimal_places=4,
        null=True,
        blank=True,
        editable=False,
        help_text="In place of front, as entered before the frame was told: the indicator's view.",
    )
    by_way = models.CharField(
        max_length=60, blank=True, help_text="The way of adjusting it was planned by, in words."
    )
    planned_from = models.ForeignKey(
        Check,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="moves_planned",
        help_text="The check whose figures the move was planned from.",
    )
    foretold_front_um = models.FloatField(null=True, blank=True)
    foretold_right_um = models.FloatField(
        null=True, blank=True, editable=False, help_text="In place of front, as above."
    )
    foretold_up_um = models.FloatField(null=True, blank=True)
    overtaken_at = models.DateTimeField(
        null=True,
        blank=True,
        editable=False,
        help_text="When the view of the check it was planned from was put right.",
    )

    objects = InForceManager()
    everything = models.Manager()
    on_withdrawing = "alignment.sweeps.withdrawing.OF_AN_ADJUSTMENT"

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            withdrawn_whole("adjustments"),
            models.CheckConstraint(
                condition=Q(
                    planned_from__isnull=True,
                    foretold_front_um__isnull=True,
                    foretold_right_um__isnull=True,
                    foretold_up_um__isnull=True,
                )
                | Q(
                    Q(foretold_front_um__isnull=False, foretold_right_um__isnull=True)
                    | Q(foretold_front_um__isnull=True, foretold_right_um__isnull=False),
                    planned_from__isnull=False,
                    foretold_up_um__isnull=False,
                ),
                name="a_planned_move_foretells_where_the_station_stands",
            ),
        ]

    def __str__(self):
        return f"{self.station} adjusted"

    @property
    def what_now(self):
        """What to do of a move that was planned in a view which was put right since; "" else."""
        return PLANNED_WRONG if self.overtaken_at else ""

    @property
    def moved_um(self):
        """(front, up) as it was moved, each None where that was not entered."""
        return self._front(self.front_um, self.right_um), self.up_um

    @property
    def foretold_um(self):
        """(front, up) where it was foretold to stand from its datum; None where nothing was."""
        if self.planned_from_id is None:
            return None
        return self._front(self.foretold_front_um, self.foretold_right_um), self.foretold_up_um

    def _front(self, front_um, right_um):
        if front_um is not None or right_um is None:
            return front_um
        return int(view_of(self.station).hand) * right_um
