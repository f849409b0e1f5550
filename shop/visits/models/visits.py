"""Visits and what was signed at them."""

from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Subquery
from django.urls import reverse

from shop.people.models import Firm, Role, Shop, User
from shop.record import WITH_ITS_VISIT, Frozen, Goes, Named, Record
from shop.web.models import Entry


class NumberSeries(models.Model):
    """The last number given out in one series of one firm in one year."""

    record_rules = Record(
        archive=Named(by=(("firm", "kind", "year"),), way="firm__visits__shop", higher=("last",))
    )

    firm = models.ForeignKey(Firm, on_delete=models.PROTECT)
    kind = models.CharField(max_length=20)
    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["firm", "kind", "year"], name="one_series_per_firm_kind_and_year"
            )
        ]

    def __str__(self):
        return f"{self.kind} {self.year} of {self.firm}: {self.last}"


class VisitQuerySet(models.QuerySet):
    def visible_to(self, user):
        """Visits to the shops where `user` is a member today."""
        return self.filter(shop__in=Shop.objects.visible_to(user))

    def unsigned(self):
        """Those still to be signed; what was called off is not."""
        return self.exclude(state__in=[Visit.State.SIGNED, Visit.State.CALLED_OFF])

    def to_come_back_to(self):
        """Signed ones that left something undone which nobody has called done or dropped; each with
        `back_on`, the day it is kept for, None without one."""
        steps = self.model._meta.get_field("come_back_steps").related_model.objects
        steps = steps.filter(visit=OuterRef("pk"))
        kept = steps.filter(state="day").order_by("-made_at", "-pk")
        left = self.filter(state=Visit.State.SIGNED).exclude(come_back_for="")
        left = left.exclude(Exists(steps.filter(state__in=("done", "dropped"))))
        return left.annotate(back_on=Subquery(kept.values("day")[:1]))

    def worked_by(self, user):
        """Those of a firm that `user` comes from at the visit's shop today."""
        places = user.memberships.current().filter(role=Role.CONTRACTOR)
        return self.filter(
            Exists(places.filter(shop=OuterRef("shop"), firm=OuterRef("firm")).order_by())
        )


class Visit(Entry):
    """A contractor's stay at one shop; nothing of it changes once it is signed."""

    record_rules = Record(
        archive=Goes(held={"state": "on site", "signed_at": None}),
        # With a machine goes what was signed.
        handover=Goes(
            "visited__machine",
            only={"state": "signed"},
            held={"state": "on site", "signed_at": None},
        ),
        frozen=Frozen("{row}.state = 'signed'", inserts=False),
        has_page=True,
    )

    class State(models.TextChoices):
        PLANNED = "planned", "planned"
        ON_SITE = "on site", "on site"
        SIGNED = "signed", "signed"
        CALLED_OFF = "called off", "called off"

    number = models.CharField(max_length=20)
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="visits")
    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="visits")
    contractor = models.ForeignKey(
        User, on_delete=models.PROTECT, related_name="visits", help_text="Who does the work."
    )
    purpose = models.CharField(max_length=200)
    state = models.CharField(max_length=10, choices=State, default=State.PLANNED)
    planned_for = models.DateField(null=True, blank=True)
    planned_from = models.TimeField(null=True, blank=True)
    planned_until = models.TimeField(null=True, blank=True)
    changes = models.PositiveSmallIntegerField(
        "times moved or called off", default=0, editable=False
    )
    changed_at = models.DateTimeField(null=True, blank=True, editable=False)
    changed_why = models.CharField("why it was moved or called off", max_length=200, blank=True)
    arrived_at = models.DateTimeField(null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True)
    signed_at = models.DateTimeField(null=True, blank=True)
    come_back_for = models.TextField(
        "to come back for", blank=True, help_text="What was left undone, and why."
    )
    corrects = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrections"
    )

    quote = models.ForeignKey(
        "shop.Quote",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="visits",
        help_text="The quote whose accepted work it was planned for.",
    )

    day_told = models.ForeignKey(
        "shop.ToldAnswer",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="visits",
        verbose_name="day agreed",
    )

    # Names as they were when it was signed; empty where that was before they were kept.
    signed_for = models.CharField("shop then", max_length=120, blank=True, editable=False)
    signed_by = models.CharField("firm then", max_length=120, blank=True, editable=False)
    # Of what was brought in: from where, and whether it is as it was given out there.
    came_from = models.CharField(max_length=120, blank=True, editable=False)
    proved = models.BooleanField(null=True, editable=False)
    not_proved_why = models.CharField(max_length=120, blank=True, editable=False)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["firm", "number"], name="one_visit_per_firm_and_number"
            ),
            models.CheckConstraint(
                condition=Q(state="signed", signed_at__isnull=False)
                | (~Q(state="signed") & Q(signed_at__isnull=True)),
                name="signed_visits_and_only_they_have_a_signing_time",
            ),
            models.CheckConstraint(
                condition=Q(left_at__isnull=True) | Q(left_at__gte=F("arrived_at")),
                name="nobody_leaves_before_arriving",
                violation_error_message="The visit cannot end before it began.",
            ),
            models.CheckConstraint(
                condition=Q(planned_from__isnull=True, planned_until__isnull=True)
                | Q(planned_for__isnull=False, planned_until__gt=F("planned_from")),
                name="a_planned_time_has_a_day_and_ends_after_it_begins",
                violation_error_message="The visit cannot end before it starts.",
            ),
            models.CheckConstraint(
                condition=Q(corrects__isnull=True) | ~Q(corrects=F("pk")),
                name="a_visit_does_not_correct_itself",
            ),
        ]

    def __str__(self):
        return f"Visit {self.number}"

    def get_absolute_url(self):
        return reverse("shop:visit", args=[self.pk])

    @property
    def is_signed(self):
        return self.state == self.State.SIGNED

    @property
    def is_called_off(self):
        return self.state == self.State.CALLED_OFF

    @property
    def shop_then(self):
        """The shop it was signed for by its name then, with what it is called or whose the record
        is now, where that differs."""
        return _then(
            self.signed_for, self.shop, "its record is now at" if self.came_from else "now"
        )

    @property
    def firm_then(self):
        """The firm by its name then and now; of what was brought in only the first, since here the
        firm is a name."""
        if self.came_from and self.signed_by:
            return self.signed_by
        return _then(self.signed_by, self.firm, "now")

    @property
    def origin(self):
        """Where the record of it was brought in from and whether that is proved, in a sentence;
        "" for what was written here."""
        if not self.came_from:
            return ""
        said = f"Signed for {self.signed_for or self.came_from}; brought in from {self.came_from}"
        if self.proved:
            return f"{said}: proved to be as it was given out there."
        return f"{said}: not proved{f' ({self.not_proved_why})' if self.not_proved_why else ''}."

    @property
    def day(self):
        """The day of the visit in the shop's own zone: arrival, else the plan, else the entry."""
        if self.arrived_at is None and self.planned_for:
            return self.planned_for
        return (self.arrived_at or self.made_at).astimezone(self.shop.zone).date()


def _then(name, record, now):
    return f"{name} ({now} {record})" if name and name != str(record) else str(record)


class Signature(models.Model):
    """One party's name under a visit."""

    record_rules = Record(
        handover=Goes("visit__visited__machine", only={"visit__state": "signed"}),
        frozen=WITH_ITS_VISIT,
        chained=True,
    )

    class Party(models.TextChoices):
        CONTRACTOR = "contractor", "for the service firm"
        CUSTOMER = "customer", "for the shop"

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="signatures")
    party = models.CharField(max_length=10, choices=Party)
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=80)
    signed_at = models.DateTimeField()
    strokes = models.JSONField(
        default=list,
        blank=True,
        help_text="The lines drawn, each a list of [x, y], y counting downwards.",
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "party"], name="one_signature_per_visit_and_party"
            )
        ]

    def __str__(self):
        return f"{self.name}, {self.role}"


class SignedRecord(models.Model):
    """One record as it was when the visit was signed: its name, and what it said with its digest.

    What was signed before its words were kept has the digest alone.
    """

    record_rules = Record(
        frozen=WITH_ITS_VISIT,
        left_out={"said": "long, and held against the digest, which is on the trail"},
        chained=True,
    )

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="signed_records")
    position = models.PositiveIntegerField()
    name = models.CharField(max_length=200)
    digest = models.CharField(max_length=64, help_text="SHA-256 of the record's fields.")
    said = models.TextField(
        blank=True, default="", help_text="The fields that the digest is of, as JSON."
    )
    numbers = models.JSONField(
        default=dict,
        blank=True,
        help_text="By table, the numbers that rows were signed under and have here.",
    )

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "position"], name="one_signed_record_per_visit_and_position"
            )
        ]

    def __str__(self):
        return self.name
