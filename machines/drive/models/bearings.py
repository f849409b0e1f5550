"""The drive train beyond its belts: bearings, the guide bushing housing and the jack shaft."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from machines.engineering.bearings import LIFE_EXPONENTS, defect_frequencies, rating_life
from machines.register.models import Machine, VisitRelatedQuerySet
from shop.record import WITH_ITS_VISIT, Record, Signed
from shop.visits.models import Visit
from shop.web.models import Entry

from .belts import Part

BEARING_KINDS = [(kind, f"{kind} bearing") for kind in LIFE_EXPONENTS]


class OfMachineQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(machine__in=Machine.objects.visible_to(user))


class Assembly(models.Model):
    """A part of the drive train that is taken apart and put together: housing or jack shaft."""

    record_rules = Record(has_page=True)

    class Kind(models.TextChoices):
        HOUSING = "guide bushing housing", "guide bushing housing"
        JACK_SHAFT = "jack shaft", "jack shaft"

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="assemblies")
    kind = models.CharField("what it is", max_length=21, choices=Kind)
    preload = models.CharField(max_length=80, blank=True, help_text="How the bearings are loaded.")
    renew_after_h = models.PositiveIntegerField(
        "guide bushing is renewed after, in spindle hours",
        null=True,
        blank=True,
        help_text="A guide bushing is a consumable; empty when it is renewed by feel alone.",
    )
    note = models.TextField(blank=True)

    objects = OfMachineQuerySet.as_manager()

    class Meta:
        ordering = ["kind"]
        verbose_name_plural = "assemblies"
        constraints = [
            models.UniqueConstraint(
                fields=["machine", "kind"],
                name="one_housing_and_one_jack_shaft_per_machine",
                violation_error_message="This machine has one on record already.",
            ),
            models.CheckConstraint(
                condition=Q(renew_after_h__isnull=True)
                | Q(renew_after_h__gt=0, kind="guide bushing housing"),
                name="only_a_guide_bushing_is_renewed_by_hours",
                violation_error_message="Only a guide bushing is renewed after hours above zero.",
            ),
        ]

    def __str__(self):
        return self.kind

    def get_absolute_url(self):
        return reverse("machines:assembly", args=[self.pk])


class RebuildQuerySet(VisitRelatedQuerySet):
    def visible_to(self, user):
        return self.filter(assembly__machine__in=Machine.objects.visible_to(user))


class Rebuild(Entry):
    """One time an assembly was taken apart: who, what was fitted, how it felt before and after."""

    record_rules = Record(
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Rebuild of the {0.assembly}, machine {0.assembly.machine.number}",
            select=("assembly__machine",),
        ),
    )

    assembly = models.ForeignKey(Assembly, on_delete=models.PROTECT, related_name="rebuilds")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="rebuilds"
    )
    rebuilt_on = models.DateField("day")
    who = models.CharField("by whom", max_length=120)
    fitted = models.TextField("what was fitted")
    new_bushing = models.BooleanField("with a new guide bushing", default=False)
    feel_before = models.CharField(max_length=80)
    feel_after = models.CharField(max_length=80)

    objects = RebuildQuerySet.as_manager()

    class Meta:
        ordering = ["-rebuilt_on", "-pk"]

    def __str__(self):
        return f"{self.assembly} rebuilt on {self.rebuilt_on}"

    def get_absolute_url(self):
        return self.assembly.get_absolute_url()


class Bearing(models.Model):
    """A rolling bearing, where it sits, its geometry and its ratings."""

    record_rules = Record(has_page=True)

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="bearings")
    assembly = models.ForeignKey(
        Assembly,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="bearings",
        verbose_name="inside",
    )
    name = models.CharField(
        "where it sits", max_length=80, help_text="Such as: guide bushing housing, front."
    )
    designation = models.CharField(
        "designation", max_length=40, blank=True, help_text="As marked on it."
    )
    kind = models.CharField(max_length=6, choices=BEARING_KINDS, default="ball")
    bore_mm = models.DecimalField(
        "bore in mm", max_digits=7, decimal_places=3, null=True, blank=True
    )
    balls = models.PositiveSmallIntegerField("balls or rollers", null=True, blank=True)
    ball_mm = models.DecimalField(
        "ball or roller diameter in mm", max_digits=7, decimal_places=4, null=True, blank=True
    )
    pitch_mm = models.DecimalField(
        "pitch diameter in mm", max_digits=7, decimal_places=4, null=True, blank=True
    )
    contact_deg = models.DecimalField(
        "contact angle in °", max_digits=4, decimal_places=1, default=0
    )
    c_n = models.DecimalField(
        "dynamic rating C in N", max_digits=9, decimal_places=0, null=True, blank=True
    )
    c0_n = models.DecimalField(
        "static rating C0 in N", max_digits=9, decimal_places=0, null=True, blank=True
    )
    speed_rpm = models.DecimalField(
        "typical speed in rpm", max_digits=7, decimal_places=1, null=True, blank=True
    )
    load_n = models.DecimalField(
        "typical equivalent load in N", max_digits=9, decimal_places=1, null=True, blank=True
    )
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="bearings"
    )
    fitted_on = models.DateField(
        "the present one was fitted", null=True, blank=True, help_text="Empty when not known."
    )

    objects = OfMachineQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["machine", "name"],
                name="one_bearing_per_machine_and_place",
                violation_error_message="This machine has a bearing on record there already.",
            ),
            models.CheckConstraint(
                condition=Q(balls__isnull=True, ball_mm__isnull=True, pitch_mm__isnull=True)
                | Q(
                    balls__isnull=False,
                    ball_mm__isnull=False,
                    pitch_mm__isnull=False,
                    balls__gte=3,
                    ball_mm__gt=0,
                    pitch_mm__gt=F("ball_mm"),
                ),
                name="three_balls_at_least_and_room_for_them",
                violation_error_message="Give balls (three at least), their diameter and the "
                "larger pitch diameter, or none of them.",
            ),
            models.CheckConstraint(
                condition=(Q(c_n__isnull=True) | Q(c_n__gt=0))
                & (Q(c0_n__isnull=True) | Q(c0_n__gt=0))
                & (Q(bore_mm__isnull=True) | Q(bore_mm__gt=0))
                & (Q(speed_rpm__isnull=True) | Q(speed_rpm__gt=0))
                & (Q(load_n__isnull=True) | Q(load_n__gt=0)),
                name="bearing_figures_are_above_zero",
                violation_error_message="Bore, ratings, speed and load must be more than zero.",
            ),
        ]

    def __str__(self):
        return f"{self.name} bearing"

    def get_absolute_url(self):
        return reverse("machines:bearing", args=[self.pk])

    def clean(self):
        if self.assembly_id and self.assembly.machine_id != self.machine_id:
            raise ValidationError({"assembly": "That is another machine's."})
        if None in (self.balls, self.ball_mm, self.pitch_mm, self.contact_deg):
            return
        try:
            self.frequencies_at(60)
        except ValueError as error:
            raise ValidationError(str(error)) from error

    @property
    def knows_its_geometry(self):
        return self.balls is not None

    def frequencies_at(self, speed_rpm):
        """The `DefectFrequencies` at a speed; None while the geometry is not on record."""
        if not self.knows_its_geometry:
            return None
        return defect_frequencies(
            self.balls,
            float(self.ball_mm),
            float(self.pitch_mm),
            float(speed_rpm),
            float(self.contact_deg),
        )

    @property
    def rating(self):
        """The `RatingLife` at typical speed and load, None while one of them is not on record."""
        if None in (self.c_n, self.load_n, self.speed_rpm):
            return None
        return rating_life(float(self.c_n), float(self.load_n), float(self.speed_rpm), self.kind)
