"""What became of an incident: who looked at it, who closed it, and what there is to look at."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from machines.register.models import WITH_ITS_FINDINGS, Machine, VisitedMachine
from shop.record import Frozen, Record
from shop.visits.models import Withdrawable, withdrawn_whole
from shop.web.models import Entry

from .incidents import Incident, incident_signed


class IncidentStep(Entry):
    """One step of an incident after it was logged: who, when, and what was found."""

    record_rules = Record(frozen=Frozen(incident_signed("{row}.incident_id"), inserts=False))

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="steps")
    state = models.CharField(max_length=9, choices=Incident.State)
    found = models.TextField("what was found", blank=True)

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="logged"), name="an_incident_is_logged_only_once"
            ),
            models.CheckConstraint(
                condition=~Q(state="closed") | ~Q(found=""),
                name="an_incident_is_closed_with_what_was_found",
                violation_error_message="Say what was found before the incident is closed.",
            ),
        ]

    def __str__(self):
        return f"{self.incident}: {self.state}"


class CheckLineQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(visited__machine__in=Machine.objects.visible_to(user))


class CheckLine(Withdrawable):
    """One line of the check list that a visit carries from its incident."""

    record_rules = Record(frozen=WITH_ITS_FINDINGS)

    class What(models.TextChoices):
        STATION = "station", "station"
        PART = "part", "part"

    visited = models.ForeignKey(
        VisitedMachine, on_delete=models.PROTECT, related_name="check_lines"
    )
    position = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=7, choices=What)
    subject = models.CharField(max_length=120)
    reason = models.CharField(max_length=300)
    found = models.CharField("what was found", max_length=200, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    # A line stays on its list whose tick was withdrawn.
    objects = CheckLineQuerySet.as_manager()
    visit_path = "visited__visit"
    on_withdrawing = "machines.incidents.follow_up.OF_A_LINE"

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["visited", "position"], name="one_check_line_per_place"
            ),
            models.CheckConstraint(
                condition=Q(done_at__isnull=True, done_by__isnull=True)
                | Q(done_at__isnull=False, done_by__isnull=False),
                name="a_check_line_is_done_by_somebody",
            ),
            withdrawn_whole("check_lines"),
        ]

    def __str__(self):
        return self.subject

    @property
    def is_ticked(self):
        """Whether somebody ticked it as looked at, and nobody withdrew that."""
        return self.done_at is not None and not self.is_withdrawn

    @property
    def visit(self):
        return self.visited.visit
