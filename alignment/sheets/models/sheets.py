"""A machine's datum chain and the sheet its figures are held against."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone

from alignment.geometry.frame import View
from alignment.geometry.measure.quantity import (
    BOW_FRONT,
    BOW_UP,
    RUNOUT_FAR,
    RUNOUT_NEAR,
    SIDEWAYS,
    TILTS,
    UPWARDS,
)
from machines.drive.models import Thresholds
from machines.register.models import (
    Machine,
    Station,
    not_behind_the_headstock,
)
from shop.record import Frozen, Record

# In one order, since it goes into the migrations.
BARS = [BOW_FRONT, BOW_UP, RUNOUT_FAR, RUNOUT_NEAR]


def figure_sign(quantity, signs):
    """The sign of one figure by those of both directions; a size has none."""
    if quantity in SIDEWAYS:
        return signs[0]
    return signs[1] if quantity in UPWARDS else 1.0


def view_of(station):
    """How the dial of a station's sweep lies in the frame."""
    return View(station.indicator_in, station.look, station.machine.headstock_side)


class AcceptanceSheetQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The sheets of the machines a person may see."""
        return self.filter(machine__in=Machine.objects.visible_to(user))


class AcceptanceSheet(models.Model):
    """The sheet of inspection figures a machine is held against.

    A machine may have several, such as the factory's and one made after a rebuild; one is in
    force. `entry_id` is the id of the form a sheet was entered with.
    """

    record_rules = Record(has_page=True)

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="sheets")
    name = models.CharField(max_length=80, help_text="Such as: factory sheet, after rebuild.")
    dated = models.DateField(null=True, blank=True)
    is_current = models.BooleanField("in force", default=True)
    entry_id = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
        verbose_name="entered by",
    )
    made_at = models.DateTimeField("entered", default=timezone.now, editable=False)

    objects = AcceptanceSheetQuerySet.as_manager()

    class Meta:
        ordering = ["-is_current", "-dated"]
        constraints = [
            models.UniqueConstraint(
                fields=["machine"],
                condition=Q(is_current=True),
                name="one_sheet_in_force_per_machine",
                violation_error_message="Another sheet of this machine is in force.",
            )
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("alignment:one_sheet", args=[self.pk])


class AcceptanceItemQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The items of the machines a person may see."""
        return self.filter(sheet__machine__in=Machine.objects.visible_to(user))

    def in_force(self):
        """The lines a machine is held against today: of the sheet in force, at stations that
        are there."""
        return self.filter(sheet__is_current=True, station__ended_on__isnull=True).filter(
            Q(measured_from__isnull=True) | Q(measured_from__ended_on__isnull=True)
        )

    def with_limit(self):
        """Those that a figure can be held against."""
        return self.filter(Q(upper_um__isnull=False) | Q(lower_um__isnull=False))


class AcceptanceItem(models.Model):
    """One line of a sheet: what is measured at a station, between what limits, and what the
    factory itself found.

    A line without limits is swept for the record: nothing can be held against it.
    """

    record_rules = Record(
        # A line that a signed check was held against stays as it was; a new sheet replaces it.
        frozen=Frozen(
            "EXISTS (SELECT 1 FROM alignment_check c JOIN shop_visit v ON v.id = c.visit_id"
            " WHERE c.item_id = {row}.id AND v.state = 'signed')",
            inserts=False,
        )
    )

    class Quantity(models.TextChoices):
        OFFSET = "offset", "offset of the axis"
        TIR = "tir", "total indicator reading"
        FRONT = "front", "offset to the front"
        UP = "up", "offset upwards"
        TILT = "tilt", "tilt, whatever its direction"
        TILT_FRONT = "tilt front", "tilt to the front"
        TILT_UP = "tilt up", "tilt upwards"
        RUNOUT_NEAR = "out near", "run-out of the bar, near end"
        RUNOUT_FAR = "out far", "run-out of the bar, far end"
        BOW_FRONT = "bow front", "straightness to the front and rear"
        BOW_UP = "bow up", "straightness in height"

    class Surface(models.TextChoices):
        BORE = "bore", "in a bore"
        BOSS = "boss", "on a boss or bar"
        FACE = "face", "on a face"
        BAR = "bar", "along a test bar"
        FLAT = "flat", "on a flat, against a bar"

    sheet = models.ForeignKey(AcceptanceSheet, on_delete=models.PROTECT, related_name="items")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="items")
    position = models.PositiveSmallIntegerField()
    name = models.CharField("what is measured", max_length=120)
    quantity = models.CharField(max_length=10, choices=Quantity, default=Quantity.OFFSET)
    surface = models.CharField(max_length=4, choices=Surface, default=Surface.BORE)
    upper_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    lower_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    factory_um = models.DecimalField(
        "factory's own figure", max_digits=14, decimal_places=4, null=True, blank=True
    )
    per_mm = models.DecimalField(
        "limits of a tilt are per, mm",
        max_digits=9,
        decimal_places=4,
        default=100,
        help_text="The length the sheet states a tilt for, such as 0.01 per 100 mm.",
    )
    at_mm = models.DecimalField(
        "an offset is asked for at, mm",
        max_digits=9,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="Only where several planes are swept: where along the axis the offset counts. "
        "Left empty, in the middle of the planes.",
    )
    nominal_um = models.DecimalField(
        "flat stands from the axis by",
        max_digits=14,
        decimal_places=4,
        default=0,
        help_text="Only on a flat: how far above or beside the axis it should stand.",
    )
    measured_from = models.ForeignKey(
        Station,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="measured_directly",
        help_text="Only to close the loop: another station than its datum.",
    )
    indicator_in = models.CharField(
        "the indicator sits", max_length=7, choices=Station.Holder, blank=True
    )
    look = models.CharField("the indicator looks", max_length=18, choices=Station.Look, blank=True)
    plane_mm = models.FloatField(
        "swept plane in mm", null=True, blank=True, validators=[not_behind_the_headstock]
    )
    turned = models.BooleanField(
        "limits turned",
        default=False,
        editable=False,
        help_text="Entered in the indicator's view; turned to tell them of the station.",
    )

    objects = AcceptanceItemQuerySet.as_manager()

    class Meta:
        ordering = ["station__position", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["sheet", "position"], name="one_item_per_sheet_and_position"
            ),
            models.CheckConstraint(
                condition=Q(upper_um__isnull=True)
                | Q(lower_um__isnull=True)
                | Q(upper_um__gt=F("lower_um")),
                name="the_upper_limit_is_above_the_lower",
                violation_error_message="The upper limit must be above the lower one.",
            ),
            models.CheckConstraint(
                condition=Q(quantity__in=["front", "up", "tilt front", "tilt up"])
                | Q(upper_um__isnull=True, lower_um__isnull=True)
                | Q(upper_um__isnull=False, upper_um__gt=0, lower_um__isnull=True),
                name="sizes_have_a_positive_upper_limit_only",
                violation_error_message="The tolerance of an offset, a TIR or a tilt must be above "
                "zero.",
            ),
            models.CheckConstraint(
                condition=Q(per_mm__gt=0),
                name="a_tilt_is_stated_for_a_length",
                violation_error_message="The length a tilt is stated for must be above zero.",
            ),
            models.CheckConstraint(
                condition=(Q(surface__in=["bore", "boss"]) & ~Q(quantity__in=BARS))
                | Q(surface__in=["face", "bar"], quantity__in=["tilt", "tilt front", "tilt up"])
                | Q(surface="bar", quantity__in=BARS)
                | Q(surface="flat", quantity__in=["front", "up"]),
                name="each_surface_gives_figures_of_its_own",
                violation_error_message="A face and a travel along a bar give a tilt, the latter "
                "run-out and straightness too; a flat gives an offset to the front or upwards.",
            ),
        ]

    def __str__(self):
        return f"{self.station}: {self.name}"

    def get_absolute_url(self):
        return reverse("alignment:item", args=[self.pk])

    @property
    def is_in_force(self):
        """What `AcceptanceItemQuerySet.in_force` finds."""
        ends = [self.station] if self.measured_from is None else [self.station, self.measured_from]
        return self.sheet.is_current and all(one.ended_on is None for one in ends)

    @property
    def has_limit(self):
        """Whether a figure can be held against it."""
        return self.upper_um is not None or self.lower_um is not None

    @property
    def datum(self):
        """The station it is measured from."""
        return self.measured_from or self.station.datum

    @property
    def closes_a_loop(self):
        """Whether it is measured from another station than the datum of its own."""
        return self.measured_from_id is not None

    @property
    def view(self):
        """How its dial lies in the frame: the station's, unless it closes a loop."""
        holder = self.indicator_in or self.station.indicator_in
        look = self.look or self.station.look
        return View(holder, look, self.station.machine.headstock_side)

    @property
    def signs(self):
        """(sideways, up) signs between the figures of its dial and those of the frame."""
        return self.view.figure_signs(self.surface, tilt=self.is_tilt)

    @property
    def swept_plane_mm(self):
        """How far the swept plane stands from the headstock's nose."""
        return self.station.plane_mm if self.plane_mm is None else self.plane_mm

    @property
    def sign(self):
        """The sign between the one figure its dial gives and the one that is told."""
        return figure_sign(self.quantity, self.signs)

    @property
    def limits_um(self):
        """(lower, upper), of which one may be None."""
        return self.lower_um, self.upper_um

    @property
    def own_um(self):
        """The factory's own figure."""
        return self.factory_um

    @property
    def is_tilt(self):
        """Whether its figures are per stated length."""
        return self.quantity in TILTS

    @property
    def rule(self):
        """The decision rule that its shop has chosen; runs SQL."""
        return Thresholds.of(self.station.machine.shop).decision_rule

    @property
    def needs_planes(self):
        """Whether it takes sweeps in two planes or more."""
        return self.is_tilt and self.surface in (self.Surface.BORE, self.Surface.BOSS)


def in_order(sign, lower_um, upper_um):
    """Limits multiplied with a sign, the lower one first again."""
    if sign > 0:
        return lower_um, upper_um
    return tuple(None if um is None else -um for um in (upper_um, lower_um))
