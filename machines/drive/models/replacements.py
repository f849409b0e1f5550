"""Recommended replacements: what, why, how urgent, on what evidence, and what became of them."""

from django.contrib.contenttypes.fields import GenericForeignKey
from django.contrib.contenttypes.models import ContentType
from django.db import models
from django.db.models import Exists, OuterRef, Q, Subquery
from django.urls import reverse

from machines.register.models import Machine
from shop.people.models import TOLD, ToldAnswer
from shop.record import WITH_ITS_VISIT, Frozen, Goes, Record, Signed, visit_signed
from shop.visits.models import Visit
from shop.web.models import Entry
from shop.web.wording import day_text

from .bearings import Bearing
from .belts import Belt, Part
from .fittings import Fitting

ITS_RECOMMENDATION_SIGNED = visit_signed(
    "(SELECT r.visit_id FROM machines_recommendation r WHERE r.id = {row}.recommendation_id)"
)


class RecommendationQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(machine__in=Machine.objects.visible_to(user))

    def most_urgent_first(self):
        rank = {urgency: place for place, urgency in enumerate(Recommendation.Urgency)}
        order = models.Case(
            *[models.When(urgency=urgency, then=place) for urgency, place in rank.items()],
            output_field=models.IntegerField(),
        )
        return self.order_by(order, "made_at", "pk")

    def open(self):
        """Those nobody has settled: no step says fitted, declined or withdrawn."""
        return self.exclude(Exists(RecommendationStep.objects.settling(OuterRef("pk"))))

    def standing_at(self, state):
        """Those whose last step is `state`, with `stood_since`, when that step was taken."""
        steps = RecommendationStep.objects.filter(recommendation=OuterRef("pk"))
        last = steps.order_by("-made_at", "-pk")
        return self.annotate(
            stands_at=Subquery(last.values("state")[:1]),
            stood_since=Subquery(last.values("made_at")[:1]),
        ).filter(stands_at=state)

    def declined_but_safety_relevant(self):
        """Those somebody declined though somebody may get hurt, until the thing is replaced."""
        replaced_since = Fitting.objects.filter(fitted_at__gte=OuterRef("made_at")).filter(
            Q(belt=OuterRef("belt")) | Q(bearing=OuterRef("bearing"))
        )
        declined = RecommendationStep.objects.filter(
            recommendation=OuterRef("pk"), state=RecommendationStep.State.DECLINED
        )
        withdrawn = RecommendationStep.objects.filter(
            recommendation=OuterRef("pk"), state=RecommendationStep.State.WITHDRAWN
        )
        return self.filter(Exists(declined), ~Exists(withdrawn), safety_relevant=True).exclude(
            Exists(replaced_since)
        )


class Recommendation(Entry):
    """One thing to replace; what happens to it stands in its steps."""

    record_rules = Record(
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Recommendation, machine {0.machine.number}: {0.what}",
            rows=("evidence", "steps"),
            select=("machine",),
        ),
        has_page=True,
    )

    class Urgency(models.TextChoices):
        BEFORE_RUN = "before it runs again", "before it runs again"
        THIS_VISIT = "this visit", "this visit"
        BY_DATE = "by a date", "by a date"
        WATCH = "watch", "watch"

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="recommendations")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="recommendations"
    )
    rule = models.CharField(max_length=80, blank=True, help_text="Empty when a person wrote it.")
    subject = models.CharField(max_length=120, help_text="What it is about, such as one belt.")
    belt = models.ForeignKey(
        Belt, on_delete=models.PROTECT, null=True, blank=True, related_name="recommendations"
    )
    bearing = models.ForeignKey(
        Bearing, on_delete=models.PROTECT, null=True, blank=True, related_name="recommendations"
    )
    what = models.CharField("what to replace", max_length=160)
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="recommendations"
    )
    quantity = models.PositiveSmallIntegerField(default=1)
    urgency = models.CharField(max_length=20, choices=Urgency)
    by_date = models.DateField("by", null=True, blank=True)
    reason = models.TextField()
    safety_relevant = models.BooleanField(
        "somebody may get hurt if it is left",
        default=False,
        help_text="It stays visible on the machine and in later reports even when declined.",
    )

    objects = RecommendationQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(urgency="by a date", by_date__isnull=False)
                | (~Q(urgency="by a date") & Q(by_date__isnull=True)),
                name="a_date_with_by_a_date_and_only_then",
                violation_error_message="Give a date with 'by a date', and only then.",
            ),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="at_least_one_is_replaced"),
        ]

    def __str__(self):
        return self.what

    def get_absolute_url(self):
        return reverse("machines:recommendation", args=[self.pk])

    @property
    def place(self):
        """The belt or bearing that is replaced; None where it is something else."""
        return self.belt or self.bearing

    @property
    def urgency_words(self):
        """The urgency in words, with the day itself where it is 'by a date'."""
        return f"by {day_text(self.by_date)}" if self.by_date else self.get_urgency_display()


class Evidence(models.Model):
    """A record that a recommendation rests on, with what it says in one sentence."""

    record_rules = Record(frozen=Frozen(ITS_RECOMMENDATION_SIGNED))

    recommendation = models.ForeignKey(
        Recommendation, on_delete=models.CASCADE, related_name="evidence"
    )
    content_type = models.ForeignKey(ContentType, on_delete=models.PROTECT)
    object_id = models.PositiveBigIntegerField()
    record = GenericForeignKey()
    sentence = models.CharField(max_length=300)

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "evidence"

    def __str__(self):
        return self.sentence


class StepManager(models.Manager):
    """Steps without those that say what was fitted and was withdrawn: it was not fitted."""

    def get_queryset(self):
        return super().get_queryset().exclude(fitting__withdrawn_at__isnull=False)


class StepQuerySet(models.QuerySet):
    def settling(self, recommendation):
        """Those of a recommendation after which nothing more becomes of it."""
        return self.filter(recommendation=recommendation, state__in=RecommendationStep.SETTLED)

    def with_told(self):
        """With who entered it, and how it came where the owner told it."""
        return self.select_related("made_by", *(f"told__{name}" for name in TOLD))


class RecommendationStep(Entry):
    """What became of a recommendation; steps are added, never changed."""

    record_rules = Record(
        handover=Goes(without=("unit_price",)),
        # Steps go on being added to what was signed, but those taken stay as they are.
        frozen=Frozen(ITS_RECOMMENDATION_SIGNED, inserts=False),
    )

    class State(models.TextChoices):
        APPROVED = "approved", "approved"
        DEFERRED = "deferred", "deferred"
        DECLINED = "declined", "declined"
        ORDERED = "ordered", "ordered"
        ARRIVED = "arrived", "arrived"
        FITTED = "fitted", "fitted"
        DONE = "done", "done"
        WITHDRAWN = "withdrawn", "withdrawn"

    SETTLED = [State.DECLINED, State.FITTED, State.DONE, State.WITHDRAWN]

    recommendation = models.ForeignKey(
        Recommendation, on_delete=models.PROTECT, related_name="steps"
    )
    state = models.CharField(max_length=9, choices=State)
    note = models.CharField(max_length=200, blank=True)
    unit_price = models.DecimalField(
        "price of one when approved", max_digits=10, decimal_places=2, null=True, blank=True
    )
    fitting = models.OneToOneField(
        Fitting, on_delete=models.PROTECT, null=True, blank=True, related_name="step"
    )
    told = models.ForeignKey(
        ToldAnswer,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="recommendation_steps",
    )

    objects = StepManager.from_queryset(StepQuerySet)()
    everything = StepQuerySet.as_manager()

    class Meta:
        ordering = ["made_at", "pk"]

    def __str__(self):
        return f"{self.recommendation}: {self.state}"

    @property
    def told_words(self):
        """', told by ...' where the owner did not enter it, else nothing."""
        return f", {self.told.in_words}" if self.told else ""
