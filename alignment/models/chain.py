"""A machine's datum chain and the sheet its figures are held against."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from machines.models import Incident, Machine


class StationQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The stations of the machines a person may see."""
        return self.filter(machine__in=Machine.objects.visible_to(user))


class Station(models.Model):
    """A place that is measured; each but the first names the station that is its datum."""

    class Kind(models.TextChoices):
        HEADSTOCK = "headstock", "headstock spindle"
        GUIDE_BUSHING = "guide bushing", "guide bushing housing"
        SUB_SPINDLE = "sub-spindle", "sub-spindle"
        BACK_TOOLS = "back tools", "back tool station"
        GANG_TOOLS = "gang tools", "gang tool slide"
        TURRET = "turret", "turret"
        OTHER = "other", "other"

    class Holder(models.TextChoices):
        DATUM = "datum", "in the datum, sweeping this station"
        STATION = "station", "in this station, sweeping the datum"

    class Look(models.TextChoices):
        FROM_HEADSTOCK = "from the headstock", "away from the headstock"
        TO_HEADSTOCK = "to the headstock", "towards the headstock"

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="stations")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=14, choices=Kind)
    position = models.PositiveSmallIntegerField(help_text="Its place in the order of checking.")
    datum = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="measured_from_it"
    )
    how = models.TextField(
        "how it is measured", blank=True, help_text="Where the indicator sits and what it sweeps."
    )
    indicator_in = models.CharField(
        "the indicator sits", max_length=7, choices=Holder, default=Holder.DATUM
    )
    look = models.CharField(
        "the indicator looks", max_length=18, choices=Look, default=Look.FROM_HEADSTOCK
    )
    plane_mm = models.FloatField(
        "swept plane in mm",
        default=0,
        help_text="How far the swept surface lies from the headstock spindle's nose.",
    )

    objects = StationQuerySet.as_manager()

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["machine", "position"], name="one_station_per_machine_and_position"
            ),
            models.UniqueConstraint(
                fields=["machine", "name"], name="one_station_per_machine_and_name"
            ),
            models.UniqueConstraint(
                fields=["machine"],
                condition=Q(datum__isnull=True),
                name="one_station_is_the_datum_of_all",
                violation_error_message="Only the first station has no datum.",
            ),
            models.CheckConstraint(
                condition=Q(datum__isnull=True) | ~Q(datum=F("pk")),
                name="a_station_is_not_its_own_datum",
                violation_error_message="A station cannot be its own datum.",
            ),
        ]

    def __str__(self):
        return self.name


class IncidentStation(models.Model):
    """A station that was hit in an incident."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="stations_hit")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="hits")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["incident", "station"], name="a_station_once_per_incident"
            )
        ]

    def __str__(self):
        return f"{self.station} in {self.incident}"


class AcceptanceSheet(models.Model):
    """The sheet of inspection figures a machine is held against."""

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="sheets")
    name = models.CharField(max_length=80, help_text="Such as: factory sheet, after rebuild.")
    dated = models.DateField(null=True, blank=True)
    is_current = models.BooleanField("in force", default=True)

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


class AcceptanceItemQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The items of the machines a person may see."""
        return self.filter(sheet__machine__in=Machine.objects.visible_to(user))


class AcceptanceItem(models.Model):
    """One line of a sheet: what is measured at a station, between what limits, and what the
    factory itself found."""

    class Quantity(models.TextChoices):
        OFFSET = "offset", "offset of the axis"
        TIR = "tir", "total indicator reading"
        RIGHT = "right", "offset to the right"
        UP = "up", "offset upwards"

    class Surface(models.TextChoices):
        BORE = "bore", "in a bore"
        BOSS = "boss", "on a boss or bar"

    sheet = models.ForeignKey(AcceptanceSheet, on_delete=models.PROTECT, related_name="items")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="items")
    position = models.PositiveSmallIntegerField()
    name = models.CharField("what is measured", max_length=120)
    quantity = models.CharField(max_length=6, choices=Quantity, default=Quantity.OFFSET)
    surface = models.CharField(max_length=4, choices=Surface, default=Surface.BORE)
    upper_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    lower_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    factory_um = models.DecimalField(
        "factory's own figure", max_digits=14, decimal_places=4, null=True, blank=True
    )

    objects = AcceptanceItemQuerySet.as_manager()

    class Meta:
        ordering = ["station__position", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["sheet", "position"], name="one_item_per_sheet_and_position"
            ),
            models.CheckConstraint(
                condition=Q(upper_um__isnull=False) | Q(lower_um__isnull=False),
                name="an_item_has_at_least_one_limit",
                violation_error_message="Give an upper or a lower limit.",
            ),
            models.CheckConstraint(
                condition=Q(upper_um__isnull=True)
                | Q(lower_um__isnull=True)
                | Q(upper_um__gt=F("lower_um")),
                name="the_upper_limit_is_above_the_lower",
                violation_error_message="The upper limit must be above the lower one.",
            ),
            models.CheckConstraint(
                condition=Q(quantity__in=["right", "up"])
                | (Q(upper_um__gt=0) & Q(lower_um__isnull=True)),
                name="sizes_have_a_positive_upper_limit_only",
                violation_error_message="The tolerance of an offset or a TIR must be above zero.",
            ),
        ]

    def __str__(self):
        return f"{self.station}: {self.name}"

    def get_absolute_url(self):
        return reverse("alignment:item", args=[self.pk])
