"""Belt inspections, tooth by tooth."""

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse

from machines.engineering.bearing_condition import ZoneLimits, vibration_zone
from machines.engineering.belt_tension import tension_verdict
from machines.register.models import Machine, VisitRelatedQuerySet, corrections_index
from shop.record import WITH_ITS_VISIT, Frozen, Record, Signed, visit_signed
from shop.visits.models import InForceManager, Visit, WithdrawableCorrection, withdrawn_whole
from shop.web.hashed_images import HashedImageField, sha256_field
from shop.web.models import Entry

from .bearings import Bearing
from .belts import Belt
from .fittings import Fitting

WITH_ITS_INSPECTION = Frozen(
    visit_signed(
        "(SELECT b.visit_id FROM machines_beltinspection b WHERE b.id = {row}.inspection_id)"
    )
)


class ToothCondition(models.TextChoices):
    SOUND = "sound", "sound"
    MARKED = "marked", "damaged"
    WORN = "worn", "worn"
    CRACKED = "cracked", "cracked"
    MISSING = "missing", "missing"


class BeltInspectionQuerySet(VisitRelatedQuerySet):
    def visible_to(self, user):
        return self.filter(belt__machine__in=Machine.objects.visible_to(user))

    def of_present_belts(self):
        """Without those of a belt that was replaced since."""
        later = Fitting.objects.filter(belt=OuterRef("belt"), fitted_at__gt=OuterRef("measured_at"))
        return self.with_measured_at().exclude(Exists(later))


class BeltInspection(WithdrawableCorrection, Entry):
    """One look at one belt; the teeth not named are sound."""

    record_rules = Record(
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Inspection of the {0.belt}, machine {0.belt.machine.number}",
            rows=("findings", "photos", "tension"),
            select=("belt__machine",),
        ),
        has_page=True,
    )

    belt = models.ForeignKey(Belt, on_delete=models.PROTECT, related_name="inspections")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="belt_inspections"
    )
    note = models.TextField(blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    objects = InForceManager.from_queryset(BeltInspectionQuerySet)()
    everything = BeltInspectionQuerySet.as_manager()
    on_withdrawing = "machines.drive.withdrawing.OF_A_BELT"

    class Meta:
        ordering = ["-made_at", "-pk"]
        indexes = [corrections_index("looks_at_belts_corrected")]
        constraints = [withdrawn_whole("looks_at_belts")]

    def __str__(self):
        return f"{self.belt} inspected {self.made_at:%Y-%m-%d}"

    def get_absolute_url(self):
        return reverse("machines:inspection", args=[self.pk])

    def conditions(self):
        """Tooth number to condition, of the teeth that are not sound; runs SQL once."""
        return {finding.tooth: finding.condition for finding in self.findings.all()}


class ToothFinding(models.Model):
    """The condition of one tooth, counted from the belt's mark in its running direction."""

    record_rules = Record(frozen=WITH_ITS_INSPECTION)

    inspection = models.ForeignKey(
        BeltInspection, on_delete=models.CASCADE, related_name="findings"
    )
    tooth = models.PositiveSmallIntegerField()
    condition = models.CharField(max_length=8, choices=ToothCondition)

    class Meta:
        ordering = ["tooth"]
        constraints = [
            models.UniqueConstraint(
                fields=["inspection", "tooth"], name="one_condition_per_inspection_and_tooth"
            ),
            models.CheckConstraint(condition=Q(tooth__gte=1), name="teeth_are_counted_from_one"),
            models.CheckConstraint(
                condition=~Q(condition=ToothCondition.SOUND), name="sound_teeth_are_not_listed"
            ),
        ]

    def __str__(self):
        return f"tooth {self.tooth} {self.get_condition_display()}"


class BeltTension(models.Model):
    """The tension measured at an inspection, with the span and mass it was worked out with."""

    record_rules = Record(frozen=WITH_ITS_INSPECTION)

    class Method(models.TextChoices):
        FREQUENCY = "frequency", "by the note of the plucked span"
        DEFLECTION = "deflection", "by force and deflection"

    inspection = models.OneToOneField(
        BeltInspection, on_delete=models.CASCADE, related_name="tension"
    )
    method = models.CharField(max_length=10, choices=Method)
    frequency_hz = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    force_n = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    deflection_mm = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    span_mm = models.DecimalField(max_digits=8, decimal_places=3)
    mass_kg_per_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    tension_n = models.DecimalField(max_digits=9, decimal_places=2)
    low_n = models.DecimalField(max_digits=7, decimal_places=1, null=True, blank=True)
    high_n = models.DecimalField(max_digits=7, decimal_places=1, null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(tension_n__gt=0, span_mm__gt=0), name="a_tension_is_above_zero"
            )
        ]

    def __str__(self):
        return self.sentence

    @property
    def held_to_the_band(self):
        """The `TensionVerdict` against the band wanted at that time, None without one."""
        if self.low_n is None or self.high_n is None:
            return None
        return tension_verdict(float(self.tension_n), float(self.low_n), float(self.high_n))

    @property
    def sentence(self):
        held = self.held_to_the_band
        return held.sentence if held else f"{self.tension_n:.0f} N; no wanted band is on record."

    @property
    def measured(self):
        """What was measured, in words."""
        if self.method == self.Method.FREQUENCY:
            return (
                f"{self.frequency_hz.normalize():f} Hz on {self.span_mm.normalize():f} mm at "
                f"{self.mass_kg_per_m.normalize():f} kg/m"
            )
        return (
            f"{self.force_n.normalize():f} N pressed {self.deflection_mm.normalize():f} mm on "
            f"{self.span_mm.normalize():f} mm"
        )


class ToothPhotoQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(inspection__in=BeltInspection.objects.visible_to(user))


class ToothPhoto(models.Model):
    """A photo pinned to a tooth, stored shrunk and without the camera's data."""

    record_rules = Record(frozen=WITH_ITS_INSPECTION)

    inspection = models.ForeignKey(BeltInspection, on_delete=models.CASCADE, related_name="photos")
    tooth = models.PositiveSmallIntegerField()
    image = HashedImageField(upload_to="teeth/%Y/")
    sha256 = sha256_field()

    objects = ToothPhotoQuerySet.as_manager()

    class Meta:
        ordering = ["tooth", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(tooth__gte=1), name="photos_are_of_teeth")
        ]

    def __str__(self):
        return f"photo of tooth {self.tooth}"

    def get_absolute_url(self):
        return reverse("machines:tooth_photo", args=[self.pk])


class BearingInspectionQuerySet(VisitRelatedQuerySet):
    def visible_to(self, user):
        return self.filter(bearing__machine__in=Machine.objects.visible_to(user))

    def of_present_bearings(self):
        """Without those of a bearing that was replaced since."""
        later = Fitting.objects.filter(
            bearing=OuterRef("bearing"), fitted_at__gt=OuterRef("measured_at")
        )
        return self.with_measured_at().exclude(Exists(later))


class BearingInspection(WithdrawableCorrection, Entry):
    """One look at one bearing: how it feels and sounds, and what was measured."""

    record_rules = Record(
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Look at the {0.bearing}, machine {0.bearing.machine.number}",
            select=("bearing__machine",),
        ),
        has_page=True,
    )

    class Feel(models.TextChoices):
        SMOOTH = "smooth", "smooth"
        STIFF = "stiff", "stiff"
        GRITTY = "gritty", "gritty"
        NOTCHY = "notchy", "notchy: it catches at the same places"
        LOOSE = "loose", "loose: it can be rocked"

    class Noise(models.TextChoices):
        QUIET = "quiet", "quiet"
        HUM = "hum", "an even hum"
        WHINE = "whine", "a whine"
        RUMBLE = "rumble", "a rumble"
        KNOCK = "knock", "a regular knock"

    ROUGH = (Feel.GRITTY, Feel.NOTCHY, Feel.LOOSE)

    bearing = models.ForeignKey(Bearing, on_delete=models.PROTECT, related_name="inspections")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="bearing_inspections"
    )
    feel = models.CharField("turned by hand it feels", max_length=6, choices=Feel, blank=True)
    noise = models.CharField("it sounds", max_length=6, choices=Noise, blank=True)
    temperature_rise_k = models.DecimalField(
        "warmer than the room, in °C", max_digits=4, decimal_places=1, null=True, blank=True
    )
    runout_um = models.DecimalField(
        "run-out", max_digits=14, decimal_places=4, null=True, blank=True
    )
    runout_typed = models.CharField(max_length=40, blank=True)
    velocity_mm_s = models.DecimalField(
        "vibration velocity in mm/s rms", max_digits=6, decimal_places=2, null=True, blank=True
    )
    speed_rpm = models.DecimalField(
        "speed while measured, in rpm", max_digits=7, decimal_places=1, null=True, blank=True
    )
    peaks_hz = models.JSONField(default=list, blank=True)
    zone_limits = models.JSONField(default=dict, blank=True)
    note = models.TextField(blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    objects = InForceManager.from_queryset(BearingInspectionQuerySet)()
    everything = BearingInspectionQuerySet.as_manager()
    on_withdrawing = "machines.drive.withdrawing.OF_A_BEARING"

    class Meta:
        ordering = ["-made_at", "-pk"]
        indexes = [corrections_index("looks_at_bearings_corrected")]
        constraints = [
            withdrawn_whole("looks_at_bearings"),
            models.CheckConstraint(
                condition=(Q(runout_um__isnull=True) | Q(runout_um__gte=0))
                & (Q(velocity_mm_s__isnull=True) | Q(velocity_mm_s__gte=0)),
                name="run_out_and_vibration_are_zero_or_more",
            ),
            models.CheckConstraint(
                condition=Q(speed_rpm__isnull=True) | Q(speed_rpm__gt=0),
                name="a_bearing_is_measured_while_it_turns",
            ),
        ]

    def __str__(self):
        return f"{self.bearing} inspected {self.made_at:%Y-%m-%d}"

    def get_absolute_url(self):
        return reverse("machines:bearing_inspection", args=[self.pk])

    @property
    def zone(self):
        """The `ZoneReading` by the limits in force when it was measured, None without a value."""
        if self.velocity_mm_s is None:
            return None
        return vibration_zone(float(self.velocity_mm_s), ZoneLimits(**self.zone_limits))
