"""Incidents, their photos, and the time a machine stood still."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from machines.register.models import Machine
from shop.record import Frozen, Record
from shop.web.hashed_images import HashedImageField, sha256_field
from shop.web.models import Entry


def incident_signed(incident_id):
    """SQL that is true when a signed visit names the incident `incident_id` (SQL with `{row}`)."""
    return (
        "EXISTS (SELECT 1 FROM machines_visitedmachine m JOIN shop_visit v ON v.id = m.visit_id"
        f" WHERE m.incident_id = {incident_id} AND v.state = 'signed')"
    )


class IncidentQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(machine__in=Machine.objects.visible_to(user))

    def open(self):
        return self.exclude(state=Incident.State.CLOSED)

    def each_once(self):
        """Without those that were logged a second time."""
        return self.filter(same_as=None)


class Incident(Entry):
    """What happened at the machine, as the person who was there tells it."""

    record_rules = Record(
        # The account that a signed report repeats stays as it was; its state goes on.
        frozen=Frozen(
            incident_signed("{row}.id"),
            columns=(
                "machine_id",
                "happened_at",
                "kind",
                "place",
                "axis",
                "direction",
                "what_hit",
                "hit_what",
                "severity",
                "offset_seen_um",
                "offset_seen_typed",
                "broken",
                "note",
                "may_run",
                "made_by_id",
            ),
            inserts=False,
        ),
        has_page=True,
    )

    class State(models.TextChoices):
        LOGGED = "logged", "logged"
        LOOKED_AT = "looked at", "looked at"
        CLOSED = "closed", "closed"

    class Kind(models.TextChoices):
        HIT = "hit", "crash"
        TOOL_BROKEN = "tool broken", "a tool broke"
        NOISE = "noise", "a noise"
        LEAK = "leak", "a leak"
        BELT_SLIPPED = "belt slipped", "a belt slipped"
        DRIFTING_SIZE = "drifting size", "the size drifts"
        OTHER = "other", "something else"

    class Direction(models.TextChoices):
        PLUS = "plus", "plus"
        MINUS = "minus", "minus"

    class Severity(models.TextChoices):
        TOUCH = "touch", "touched: a scrape, the machine kept going"
        KNOCK = "knock", "knocked: a bang, the axis alarm came on"
        HARD = "hard", "hard: something bent, broke or shifted"

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="incidents")
    happened_at = models.DateTimeField("when it happened")
    kind = models.CharField("what happened", max_length=13, choices=Kind, default=Kind.HIT)
    place = models.CharField(
        "where", max_length=200, blank=True, help_text="The stations, by the names they had then."
    )
    axis = models.CharField("axis that moved", max_length=6, blank=True)
    direction = models.CharField("towards", max_length=5, choices=Direction, blank=True)
    what_hit = models.CharField(
        "what hit", max_length=80, blank=True, help_text="Such as: gang tool holder."
    )
    hit_what = models.CharField(
        "what it hit", max_length=80, blank=True, help_text="Such as: sub-spindle nose."
    )
    severity = models.CharField("how hard", max_length=6, choices=Severity, blank=True)
    offset_seen_um = models.DecimalField(max_digits=14, decimal_places=4, null=True, blank=True)
    offset_seen_typed = models.CharField(max_length=40, blank=True)
    broken = models.CharField("what was broken", max_length=200, blank=True)
    note = models.TextField("anything else", blank=True)
    may_run = models.BooleanField()
    state = models.CharField(max_length=9, choices=State, default=State.LOGGED)
    same_as = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="logged_again",
        help_text="The incident logged before that this one is another account of.",
    )
    told_apart = models.BooleanField(
        default=False, help_text="Somebody said that it is not the one logged before."
    )

    objects = IncidentQuerySet.as_manager()

    class Meta:
        ordering = ["-happened_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(direction="") | ~Q(axis=""),
                name="a_direction_belongs_to_an_axis",
                violation_error_message="Say which axis moved that way.",
            ),
            models.CheckConstraint(
                condition=Q(same_as=None) | ~Q(same_as=models.F("pk")),
                name="an_incident_is_not_its_own_second_account",
            ),
        ]

    def __str__(self):
        if self.what_hit and self.hit_what:
            return f"{self.what_hit} hit {self.hit_what}"
        return f"{self.get_kind_display()}{f' at the {self.place}' if self.place else ''}"

    @property
    def movement(self):
        """The axis that moved and which way, such as 'X1 plus'; empty where it was not said."""
        return f"{self.axis} {self.direction}".strip()

    def get_absolute_url(self):
        return reverse("machines:incident", args=[self.pk])


class IncidentPhotoQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(incident__in=Incident.objects.visible_to(user))


class IncidentPhoto(models.Model):
    """A photo of an incident, stored shrunk and without the camera's data."""

    record_rules = Record(frozen=Frozen(incident_signed("{row}.incident_id"), inserts=False))

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="photos")
    image = HashedImageField(upload_to="incidents/%Y/")
    sha256 = sha256_field()

    objects = IncidentPhotoQuerySet.as_manager()

    def __str__(self):
        return f"photo of {self.incident}"

    def get_absolute_url(self):
        return reverse("machines:photo", args=[self.pk])
