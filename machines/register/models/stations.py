"""The stations of a machine, each with the one that is its datum."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from shop.record import Frozen, Record

from .machines import Axis, Machine


def not_behind_the_headstock(plane_mm):
    """Refuse a swept plane where no indicator reaches."""
    if plane_mm < 0:
        raise ValidationError(
            f"{plane_mm:g} mm lies behind the headstock's nose; expected how far the swept plane "
            "stands away from it."
        )


class StationQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The stations of the machines a person may see."""
        return self.filter(machine__in=Machine.objects.visible_to(user))

    def current(self):
        """Those that were not ended."""
        return self.filter(ended_on__isnull=True)


def first_lines(follows):
    """Each station (pk) to the first line of what it is.

    follows: every station of some machines to the one it follows, None for none.
    """
    return {pk: _first_line(pk, follows) for pk in follows}


def _first_line(pk, follows):
    while follows.get(pk) is not None:
        pk = follows[pk]
    return pk


class Station(models.Model):
    """A place that is measured; each but the first names the station that is its datum.

    What was measured means what it does by where the indicator sat, which way it looked and how
    far out it swept. Where a signed check rests on that, another such setting begins a new line:
    a station of its own that `follows` the old one, which keeps its history and is ended. A station
    that is no longer there is ended once it was measured, never deleted.
    """

    record_rules = Record(
        # What a signed check means goes by how its station was set up; else a new line is begun.
        frozen=Frozen(
            "EXISTS (SELECT 1 FROM alignment_acceptanceitem i"
            " JOIN alignment_check c ON c.item_id = i.id JOIN shop_visit v ON v.id = c.visit_id"
            " WHERE i.station_id = {row}.id AND v.state = 'signed')",
            columns=("machine_id", "datum_id", "indicator_in", "look", "plane_mm"),
            inserts=False,
            # The same datum, its line begun anew.
            but={
                "datum_id": "NEW.datum_id IN (SELECT d.id FROM alignment_station d"
                " WHERE d.follows_id = OLD.datum_id)"
            },
        )
    )

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
        validators=[not_behind_the_headstock],
        help_text="How far the swept surface lies from the headstock spindle's nose.",
    )
    follows = models.OneToOneField(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="followed_by",
        help_text="The line of the same station that this one took the place of.",
    )
    begun_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="When it took that line's place."
    )
    ended_on = models.DateField("ended on", null=True, blank=True, editable=False)

    objects = StationQuerySet.as_manager()

    class Meta:
        # Named before stations belonged to this app; the trail knows rows by their table.
        db_table = "alignment_station"
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["machine", "position"],
                condition=Q(ended_on__isnull=True),
                name="one_station_per_machine_and_position",
                violation_error_message="Another station of this machine has that place.",
            ),
            models.UniqueConstraint(
                fields=["machine", "name"],
                condition=Q(ended_on__isnull=True),
                name="one_station_per_machine_and_name",
                violation_error_message="This machine has a station of that name.",
            ),
            models.UniqueConstraint(
                fields=["machine"],
                condition=Q(datum__isnull=True, ended_on__isnull=True),
                name="one_station_is_the_datum_of_all",
                violation_error_message="Only the first station has no datum.",
            ),
            models.CheckConstraint(
                condition=Q(datum__isnull=True) | ~Q(datum=F("pk")),
                name="a_station_is_not_its_own_datum",
                violation_error_message="A station cannot be its own datum.",
            ),
            models.CheckConstraint(
                condition=Q(follows__isnull=True, begun_at__isnull=True)
                | Q(follows__isnull=False, begun_at__isnull=False),
                name="a_line_that_follows_another_began_at_a_moment",
            ),
            models.CheckConstraint(
                condition=Q(plane_mm__gte=0),
                name="a_swept_plane_is_not_behind_the_headstock",
                violation_error_message="The swept plane cannot lie behind the headstock.",
            ),
        ]

    def __str__(self):
        return self.name


class StationMover(models.Model):
    """An axis of the machine that moves a station against its datum."""

    record_rules = Record()

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="movers")
    axis = models.ForeignKey(
        Axis, on_delete=models.CASCADE, related_name="stations", verbose_name="axis that moves it"
    )

    class Meta:
        db_table = "alignment_stationmover"
        ordering = ["axis__name"]
        constraints = [
            models.UniqueConstraint(
                fields=["station", "axis"],
                name="an_axis_once_per_station",
                violation_error_message="This axis is named for the station already.",
            )
        ]

    def __str__(self):
        return f"{self.axis} moves the {self.station}"
