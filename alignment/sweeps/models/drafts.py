"""Half-typed sweeps, kept until they are saved."""

from django.conf import settings
from django.db import models

from alignment.sheets.models import AcceptanceItem
from shop.record import Record
from shop.visits.models import Visit

from .checks import Check


class SweepDraft(models.Model):
    """What a person has typed of a sweep so far, as the browser sends it."""

    record_rules = Record(
        untrailed="half typed, nobody's record yet; it is forgotten once it is saved"
    )

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="sweep_drafts")
    item = models.ForeignKey(AcceptanceItem, on_delete=models.CASCADE, related_name="+")
    phase = models.CharField(max_length=8, choices=Check.Phase)
    entry_id = models.UUIDField()
    data = models.JSONField()
    kept_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "visit", "item", "phase"],
                name="one_draft_per_person_visit_item_and_phase",
            )
        ]

    def __str__(self):
        return f"half-typed {self.phase}: {self.item}"
