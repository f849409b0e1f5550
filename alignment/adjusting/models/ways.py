"""The ways a station can be adjusted, as data of its machine."""

from django.core.exceptions import ValidationError
from django.db import models

from machines.register.models import Station
from shop.record import Record


class AdjustingWay(models.Model):
    """One way to adjust a station: what kind, and the figures the plan of a move needs.

    `settings` holds what `alignment.adjusting.ways` reads for that kind: nothing for a free shift;
    circle, angles and pitch for screws; feet and stock for shims; axes and signs for control
    offsets.
    """

    record_rules = Record()

    class Kind(models.TextChoices):
        SHIFT = "shift", "free shift of a bolted casting"
        SCREWS = "screws", "jack or levelling screws on a bolt circle"
        SHIMS = "shims", "shims under feet"
        CONTROL = "control", "offset entered at the control"

    station = models.ForeignKey(Station, on_delete=models.CASCADE, related_name="ways")
    kind = models.CharField(max_length=7, choices=Kind)
    settings = models.JSONField(default=dict, blank=True)
    note = models.CharField(
        max_length=200, blank=True, help_text="What to loosen first, what to tighten after."
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["station", "kind"],
                name="each_way_once_per_station",
                violation_error_message="This station has that way of adjusting already.",
            )
        ]

    def __str__(self):
        return self.get_kind_display()

    def words(self):
        """(setting, value) pairs as they stand on the page."""
        from alignment.adjusting.ways import setting_words

        return setting_words(self.settings)

    def clean(self):
        """Refuse settings from which no move could be planned, with what is wrong with them."""
        from alignment.adjusting.ways import planned, way_of

        try:
            planned(way_of(self), front_um=1.0, up_um=1.0)
        except ValueError as error:
            raise ValidationError({"settings": str(error)}) from error
