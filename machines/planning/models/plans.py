"""Plans, what became of each time they fell due, and what is wanted at a visit."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse

from machines.engineering.due import Interval
from machines.register.models import Machine
from shop.calendar.models import Proposal
from shop.people.models import Shop
from shop.record import WITH_ITS_VISIT, Frozen, Record, Signed, visit_signed
from shop.visits.models import Visit
from shop.web.models import Entry


class PlanQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(shop__in=Shop.objects.visible_to(user))

    def running(self):
        """Those nobody has ended."""
        return self.filter(ended_at__isnull=True)

    def for_machine(self, machine):
        """Those that say something of one machine: its own and its model's."""
        own = Q(machine=machine)
        if machine.model_name:
            own |= Q(shop=machine.shop_id, model_name=machine.model_name)
        return self.filter(own)


class Plan(Entry):
    """What is done again and again at one machine, or at every machine of one model in a shop."""

    record_rules = Record(has_page=True)

    class Kind(models.TextChoices):
        ALIGNMENT = "alignment check", "alignment check"
        BELT = "belt", "belt inspection"
        BEARING = "bearing", "bearing"
        LUBRICATION = "lubrication", "lubrication"
        OTHER = "other", "something else"

    class CountsFrom(models.TextChoices):
        DONE = "day done", "the day it was done"
        DUE = "day due", "the day it was due"

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="plans")
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="plans"
    )
    model_name = models.CharField("every machine of the model", max_length=80, blank=True)
    kind = models.CharField("what kind of work", max_length=15, choices=Kind)
    what = models.CharField("what is done", max_length=120)
    steps = models.TextField("steps", blank=True, help_text="One a line, in the order they go.")
    years = models.PositiveSmallIntegerField(default=0)
    months = models.PositiveSmallIntegerField(default=0)
    weeks = models.PositiveSmallIntegerField(default=0)
    days = models.PositiveSmallIntegerField(default=0)
    spindle_hours = models.PositiveIntegerField(null=True, blank=True)
    parts = models.PositiveIntegerField("parts made", null=True, blank=True)
    after_incident = models.BooleanField("after every incident", default=False)
    at_risk_percent = models.PositiveSmallIntegerField(
        "when the risk of drift reaches, in %", null=True, blank=True
    )
    counts_from = models.CharField(
        "the next counts from", max_length=8, choices=CountsFrom, default=CountsFrom.DONE
    )
    starts_on = models.DateField(
        "counts from", help_text="The day it was last done, or from which the first time counts."
    )
    cost = models.DecimalField(
        "expected cost each time", max_digits=10, decimal_places=2, null=True, blank=True
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = PlanQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(machine__isnull=False, model_name="")
                | (Q(machine__isnull=True) & ~Q(model_name="")),
                name="a_plan_is_for_a_machine_or_a_model",
                violation_error_message="A plan is for one machine or for one model.",
            ),
            models.CheckConstraint(
                condition=Q(years__gt=0)
                | Q(months__gt=0)
                | Q(weeks__gt=0)
                | Q(days__gt=0)
                | Q(spindle_hours__gt=0)
                | Q(parts__gt=0)
                | Q(after_incident=True)
                | Q(at_risk_percent__gt=0),
                name="a_plan_says_when",
                violation_error_message="A plan needs an interval above zero.",
            ),
            models.CheckConstraint(
                condition=(Q(spindle_hours__isnull=True) | Q(spindle_hours__gt=0))
                & (Q(parts__isnull=True) | Q(parts__gt=0)),
                name="use_between_two_times_is_above_zero",
                violation_error_message="Hours and parts between two times must be above zero.",
            ),
            models.CheckConstraint(
                condition=Q(at_risk_percent__isnull=True)
                | Q(at_risk_percent__gte=1, at_risk_percent__lte=99),
                name="a_risk_lies_between_0_and_100_percent",
                violation_error_message="A risk lies between 1 and 99 %.",
            ),
            models.CheckConstraint(
                condition=Q(cost__isnull=True) | Q(cost__gte=0),
                name="work_does_not_cost_less_than_nothing",
                violation_error_message="A cost is not below zero.",
            ),
        ]

    def __str__(self):
        return self.what

    def get_absolute_url(self):
        return reverse("machines:plan", args=[self.pk])

    def clean(self):
        """Refuse an interval that is none, in the words of the pure core."""
        try:
            _ = self.interval
        except ValueError as error:
            raise ValidationError(str(error)) from error

    @property
    def interval(self):
        """How often, for the arithmetic of `machines.engineering.due`."""
        return Interval(
            years=self.years,
            months=self.months,
            weeks=self.weeks,
            days=self.days,
            spindle_hours=self.spindle_hours,
            parts=self.parts,
            after_incident=self.after_incident,
            at_risk=self.at_risk_percent is not None,
        )

    @property
    def how_often(self):
        """The interval in words: 'every 6 months or 2,000 spindle hours, after every incident'."""
        interval = self.interval
        counted = [
            interval.in_words if interval.calendar else "",
            f"every {self.spindle_hours:,} spindle hours" if self.spindle_hours else "",
            f"every {self.parts:,} parts" if self.parts else "",
            "after every incident" if self.after_incident else "",
            f"when the risk of drift reaches {self.at_risk_percent} %"
            if self.at_risk_percent
            else "",
        ]
        return ", or ".join(words for words in counted if words)

    @property
    def step_lines(self):
        return [line.strip() for line in self.steps.splitlines() if line.strip()]

    @property
    def whose(self):
        """What it is for: a machine by its number, or a model."""
        return f"machine {self.machine.number}" if self.machine else f"model {self.model_name}"


class PlanSubject(models.Model):
    """A station or belt that a plan is about, by the name it has on the machine."""

    record_rules = Record()

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="subjects")
    name = models.CharField(max_length=80)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "name"], name="a_subject_once_per_plan")
        ]

    def __str__(self):
        return self.name


class PlanClosingQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(machine__in=Machine.objects.visible_to(user))

    def in_effect(self):
        return self.filter(taken_back_at__isnull=True)

    def newest(self):
        """Of each plan and machine the newest that stands."""
        newer = PlanClosing.objects.in_effect().filter(
            plan=OuterRef("plan"), machine=OuterRef("machine"), pk__gt=OuterRef("pk")
        )
        return self.in_effect().filter(~Exists(newer))


class PlanClosing(Entry):
    """One time that a plan was done or skipped; the next counts from `counted_from`."""

    record_rules = Record(
        # Plans are closed by signing, so adding is allowed; taking back what was signed is not.
        frozen=Frozen(visit_signed("{row}.visit_id"), inserts=False),
        signed=Signed(
            "Planned work, machine {0.machine.number}: {0.plan}", select=("machine", "plan")
        ),
    )

    class Outcome(models.TextChoices):
        DONE = "done", "done"
        SKIPPED = "skipped", "skipped"

    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="closings")
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="plan_closings")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="plan_closings"
    )
    outcome = models.CharField(max_length=7, choices=Outcome)
    counted_from = models.DateTimeField()
    due_on = models.DateField(null=True, blank=True)
    why_due = models.CharField(max_length=160, blank=True)
    note = models.CharField(max_length=200, blank=True)
    taken_back_at = models.DateTimeField("undone at", null=True, blank=True)
    taken_back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        verbose_name="undone by",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    objects = PlanClosingQuerySet.as_manager()

    class Meta:
        ordering = ["-counted_from", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(outcome="skipped") | ~Q(note=""),
                name="skipping_needs_a_reason",
                violation_error_message="Say why it is skipped.",
            ),
        ]

    def __str__(self):
        return f"{self.plan} {self.outcome}"

    @property
    def on_time(self):
        """Whether it was done by the day it was due; None where no day was."""
        if self.due_on is None:
            return None
        return self.counted_from.astimezone(self.machine.shop.zone).date() <= self.due_on


class WantedWork(models.Model):
    """A due item somebody wants done: asked for with a proposal, taken up at a visit."""

    record_rules = Record(frozen=WITH_ITS_VISIT)

    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="wanted")
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="wanted")
    proposal = models.ForeignKey(
        Proposal, on_delete=models.PROTECT, null=True, blank=True, related_name="wanted"
    )
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="wanted"
    )

    class Meta:
        ordering = ["machine__number", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(proposal__isnull=False) | Q(visit__isnull=False),
                name="wanted_work_belongs_to_a_proposal_or_a_visit",
            ),
            models.UniqueConstraint(
                fields=["visit", "plan", "machine"], name="wanted_once_per_visit"
            ),
            models.UniqueConstraint(
                fields=["proposal", "plan", "machine"], name="wanted_once_per_proposal"
            ),
        ]

    def __str__(self):
        return f"{self.plan} at machine {self.machine.number}"
