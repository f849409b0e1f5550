"""Belt inspections, tooth by tooth."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import Entry, Visit

from .register import Belt, Machine, VisitRelatedQuerySet


class ToothCondition(models.TextChoices):
    SOUND = "sound", "sound"
    MARKED = "marked", "marked"
    WORN = "worn", "worn"
    CRACKED = "cracked", "cracked"
    MISSING = "missing", "missing"


class BeltInspectionQuerySet(VisitRelatedQuerySet):
    def visible_to(self, user):
        return self.filter(belt__machine__in=Machine.objects.visible_to(user))


class BeltInspection(Entry):
    """One look at one belt; the teeth not named are sound."""

    belt = models.ForeignKey(Belt, on_delete=models.PROTECT, related_name="inspections")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="belt_inspections"
    )
    note = models.TextField(blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    objects = BeltInspectionQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self):
        return f"{self.belt} inspected {self.made_at:%Y-%m-%d}"

    def get_absolute_url(self):
        return reverse("machines:inspection", args=[self.pk])

    def conditions(self):
        """Tooth number to condition, of the teeth that are not sound; runs SQL once."""
        return {finding.tooth: finding.condition for finding in self.findings.all()}


class ToothFinding(models.Model):
    """The condition of one tooth, counted from the belt's mark in its running direction."""

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
        return f"tooth {self.tooth} {self.condition}"
