"""Machines, their axes, and which of them were worked on at a visit."""

import secrets

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.functional import cached_property

from shop.people.models import Shop
from shop.record import WITH_ITS_VISIT, Frozen, Goes, Record, Signed, visit_signed
from shop.visits.models import Visit

# What a hand can copy off a smeared label: nothing that looks like something else.
CODE_LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"
CODE_LENGTH = 6


WITH_ITS_FINDINGS = Frozen(
    visit_signed("(SELECT m.visit_id FROM machines_visitedmachine m WHERE m.id = {row}.visited_id)")
)


def new_code():
    """A machine's short name in its label's address; not to be guessed from another's."""
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))


class MachineQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The machines of the shops where `user` is a member today."""
        return self.filter(shop__in=Shop.objects.visible_to(user))

    def in_service(self, day):
        """Those not taken out of service by `day`."""
        return self.filter(
            Q(out_of_service_on__isnull=True) | Q(out_of_service_on__gt=day),
            Q(shop__closed_on__isnull=True) | Q(shop__closed_on__gt=day),
        )

    def with_stop_state(self):
        """Annotate `stopped_since` (None while it may run), so that lists need no further query."""
        from .standstills import Standstill

        open_stop = Standstill.objects.filter(machine=OuterRef("pk"), ended_at__isnull=True)
        return self.annotate(
            stopped=Exists(open_stop), stopped_at=models.Subquery(open_stop.values("began_at")[:1])
        )

    def with_last_visit(self):
        """Annotate `last_visit_at` and `last_visit_id` of the newest visit that has begun."""
        begun = VisitedMachine.objects.filter(
            machine=OuterRef("pk"), visit__arrived_at__isnull=False
        ).order_by("-visit__arrived_at")
        return self.annotate(
            last_visit_at=models.Subquery(begun.values("visit__arrived_at")[:1]),
            last_visit_id=models.Subquery(begun.values("visit")[:1]),
        )


# What was signed says front and rear by the side its headstock stands on: all checks but the height
# of a flat, and adjustments entered in a dial's view.
TELLS_A_SIDE = (
    "EXISTS (SELECT 1 FROM alignment_station s JOIN alignment_acceptanceitem i"
    " ON i.station_id = s.id JOIN alignment_check c ON c.item_id = i.id"
    " JOIN shop_visit v ON v.id = c.visit_id WHERE s.machine_id = {row}.id"
    " AND v.state = 'signed' AND NOT (i.surface = 'flat' AND i.quantity = 'up'))"
    " OR EXISTS (SELECT 1 FROM alignment_station s JOIN alignment_adjustment a"
    " ON a.station_id = s.id JOIN shop_visit v ON v.id = a.visit_id"
    " WHERE s.machine_id = {row}.id AND v.state = 'signed' AND a.right_um IS NOT NULL)"
)


class Machine(models.Model):
    """A sliding-headstock turning machine of one shop."""

    record_rules = Record(
        # Its label's code and whether it is in service are for the shop that has it.
        handover=Goes("pk", without=("code", "out_of_service_on")),
        frozen=Frozen(TELLS_A_SIDE, columns=("headstock_side",), inserts=False),
        has_page=True,
    )

    class HeadstockSide(models.TextChoices):
        LEFT = "left", "on the left"
        RIGHT = "right", "on the right"

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="machines")
    number = models.CharField(max_length=20, help_text="As it is called on the floor.")
    name = models.CharField(max_length=80)
    model_name = models.CharField("model", max_length=80, blank=True)
    serial = models.CharField("serial number", max_length=40, blank=True)
    built = models.PositiveSmallIntegerField("year built", null=True, blank=True)
    headstock_side = models.CharField(
        "the headstock stands",
        max_length=5,
        choices=HeadstockSide,
        default=HeadstockSide.LEFT,
        help_text="Of the operator, who stands at the front and faces the machine.",
    )
    note = models.TextField(blank=True)
    code = models.CharField(max_length=12, unique=True, default=new_code, editable=False)
    out_of_service_on = models.DateField(
        "taken out of service on",
        null=True,
        blank=True,
        editable=False,
        help_text="Sold, scrapped or mothballed: nothing is planned for it from that day on.",
    )

    objects = MachineQuerySet.as_manager()

    class Meta:
        ordering = ["shop__name", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["shop", "number"],
                name="one_machine_per_shop_and_number",
                violation_error_message="This shop already has a machine of that number.",
            )
        ]

    def __str__(self):
        return f"{self.number} {self.name}"

    def get_absolute_url(self):
        return reverse("machines:machine", args=[self.pk])

    @cached_property
    def stopped_since(self):
        """When the machine was stopped, None while it may run; runs SQL unless annotated."""
        if "stopped_at" in self.__dict__:
            return self.__dict__["stopped_at"]
        stop = self.standstills.filter(ended_at__isnull=True).first()
        return stop.began_at if stop else None

    @property
    def is_stopped(self):
        return self.stopped_since is not None

    @property
    def is_out_of_service(self):
        """Whether it was taken out of service by today in its shop's zone."""
        out = self.out_of_service_on
        return out is not None and out <= self.shop.today


class AxisQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The axes of the machines a person may see."""
        return self.filter(machine__in=Machine.objects.visible_to(user))


class Axis(models.Model):
    """One of the machine's axes, and which way what it moves goes towards plus, as somebody who
    stands at the front of the machine points."""

    record_rules = Record()

    class Plus(models.TextChoices):
        FRONT = "front", "to the front"
        REAR = "rear", "to the rear"
        UP = "up", "up"
        DOWN = "down", "down"
        TOWARDS = "towards", "towards the headstock"
        AWAY = "away", "away from the headstock"
        NONE = "none", "not said"

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="axes")
    name = models.CharField(max_length=6)
    moves = models.CharField(
        "what it moves, in words",
        max_length=80,
        blank=True,
        help_text="Which stations it moves is said at each station.",
    )
    plus = models.CharField(
        "plus moves it",
        max_length=7,
        choices=Plus,
        default=Plus.NONE,
        help_text="Front is the operator's side. Of an axis that is not level, the nearer of both.",
    )

    objects = AxisQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "axes"
        constraints = [
            models.UniqueConstraint(
                fields=["machine", "name"], name="one_axis_per_machine_and_name"
            )
        ]

    def __str__(self):
        return self.name


class VisitedMachineQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(machine__in=Machine.objects.visible_to(user))


class VisitedMachine(models.Model):
    """A machine worked on at a visit, and the incident that called for it."""

    record_rules = Record(
        belongs_to=("machine",),
        frozen=WITH_ITS_VISIT,
        signed=Signed(
            "Findings and check list, machine {0.machine.number}",
            rows=("photos", "check_lines"),
            select=("machine",),
        ),
    )

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="visited")
    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="visited")
    incident = models.ForeignKey(
        "machines.Incident", on_delete=models.PROTECT, null=True, blank=True, related_name="visited"
    )
    findings = models.TextField(blank=True, help_text="What was found, in words.")

    objects = VisitedMachineQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["visit", "machine"], name="a_machine_once_per_visit")
        ]

    def __str__(self):
        return f"{self.machine} at {self.visit}"
