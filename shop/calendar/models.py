"""When people come: proposals of a visit, the days a shop is closed, and private feeds."""

from collections import defaultdict
from datetime import timedelta

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.people.models import Firm, Shop
from shop.record import Frozen, Record, Stays, visit_signed
from shop.visits.models import Visit
from shop.web.models import Entry

WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]


class ClosedDaysQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(shop__in=Shop.objects.visible_to(user))

    def within(self, first, last):
        return self.filter(first__lte=last, last__gte=first)

    def days_by_shop(self):
        """The days of each shop, by its key; one query."""
        days = defaultdict(set)
        for shop, first, last in self.values_list("shop", "first", "last"):
            days[shop].update(first + timedelta(days=n) for n in range((last - first).days + 1))
        return days


class ClosedDays(Entry):
    """One or more days in a row on which nobody lets a visitor into the shop."""

    record_rules = Record()

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="closed_days")
    first = models.DateField("first day closed")
    last = models.DateField("last day closed")
    why = models.CharField("why", max_length=80, help_text="Such as: works holiday.")

    objects = ClosedDaysQuerySet.as_manager()

    class Meta:
        ordering = ["first"]
        verbose_name_plural = "closed days"
        constraints = [
            models.CheckConstraint(
                condition=Q(last__gte=F("first")),
                name="closed_days_end_after_they_begin",
                violation_error_message="The last day closed cannot come before the first.",
            )
        ]

    def __str__(self):
        return self.why


class ProposalQuerySet(models.QuerySet):
    def visible_to(self, user):
        """Proposals of the person's shops; a contractor sees those to the own firm."""
        current = user.memberships.current()
        return self.filter(
            Q(shop__in=current.exclude(role="contractor").values("shop"))
            | Q(shop__in=current.values("shop"), firm__in=current.values("firm"))
        )

    def open(self):
        return self.filter(state__in=Proposal.OPEN)


class Proposal(Entry):
    """A visit the owner would like: on which days, and what for."""

    record_rules = Record(
        # What was agreed on before the visit stays as it was.
        frozen=Frozen(visit_signed("{row}.visit_id"), inserts=False),
        has_page=True,
    )

    class State(models.TextChoices):
        WITH_CONTRACTOR = "with contractor", "waiting for the contractor"
        WITH_OWNER = "with owner", "waiting for the owner"
        AGREED = "agreed", "agreed"
        DECLINED = "declined", "declined"
        WITHDRAWN = "withdrawn", "withdrawn"

    OPEN = [State.WITH_CONTRACTOR, State.WITH_OWNER]

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="proposals")
    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="proposals")
    purpose = models.CharField("what the visit is for", max_length=200)
    state = models.CharField(max_length=15, choices=State, default=State.WITH_CONTRACTOR)
    visit = models.OneToOneField(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="proposal"
    )

    objects = ProposalQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="agreed", visit__isnull=False)
                | (~Q(state="agreed") & Q(visit__isnull=True)),
                name="what_is_agreed_and_only_that_has_a_visit",
            )
        ]

    def __str__(self):
        return self.purpose

    def get_absolute_url(self):
        return reverse("machines:proposal", args=[self.pk])

    @property
    def is_open(self):
        return self.state in self.OPEN


class ProposedDay(models.Model):
    """A day that suits, and between what times; `by_contractor` marks the one moved to."""

    record_rules = Record()

    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="days")
    day = models.DateField()
    time_from = models.TimeField("from", null=True, blank=True)
    time_until = models.TimeField("until", null=True, blank=True)
    by_contractor = models.BooleanField(default=False)

    class Meta:
        ordering = ["day", "time_from"]
        constraints = [
            models.CheckConstraint(
                condition=Q(time_from__isnull=True, time_until__isnull=True)
                | Q(time_until__gt=F("time_from")),
                name="a_proposed_time_ends_after_it_begins",
                violation_error_message="The visit cannot end before it starts.",
            )
        ]

    def __str__(self):
        return f"{self.day:%Y-%m-%d}"


class ProposalStep(Entry):
    """What somebody answered to a proposal; steps are added, never changed."""

    record_rules = Record()

    proposal = models.ForeignKey(Proposal, on_delete=models.PROTECT, related_name="steps")
    state = models.CharField(max_length=15, choices=Proposal.State)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["made_at", "pk"]

    def __str__(self):
        return f"{self.proposal}: {self.state}"


class ReminderSent(models.Model):
    """One thing one person was reminded of; `sent_at` is when the mail was put into the outbox."""

    record_rules = Record(archive=Stays("what this site mailed to a person, over all their shops"))

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="reminders"
    )
    key = models.CharField(max_length=120)
    sent_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "key"], name="nobody_is_reminded_twice_of_one_thing"
            )
        ]

    def __str__(self):
        return f"{self.key} to {self.user}"
