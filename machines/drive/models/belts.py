"""Parts and the belts of a machine."""

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.functional import cached_property

from machines.engineering.belt_drives import drive_geometry
from machines.register.models import Machine
from shop.people.models import Firm, Shop
from shop.record import Named, Record


class PartQuerySet(models.QuerySet):
    def visible_to(self, user):
        """Parts of the person's shops, and of the firm a contractor comes from."""
        current = user.memberships.current()
        return self.filter(Q(shop__in=current.values("shop")) | Q(firm__in=current.values("firm")))


class Part(models.Model):
    """A part that can be fitted, kept by a shop or by a service firm."""

    record_rules = Record(
        # The shop's own, and those of a firm that were fitted or recommended here.
        archive=Named(by=(("shop", "firm", "number"),), way="shop"),
        # Prices and stock stay; the new owner's part of the same number is used.
        handover=Named(
            by=(("shop", "number"),), carries=("shop", "number", "description", "maker")
        ),
        has_page=True,
    )

    shop = models.ForeignKey(
        Shop, on_delete=models.PROTECT, null=True, blank=True, related_name="parts"
    )
    firm = models.ForeignKey(
        Firm, on_delete=models.PROTECT, null=True, blank=True, related_name="parts"
    )
    number = models.CharField("part number", max_length=40)
    description = models.CharField(max_length=120)
    maker = models.CharField(max_length=80, blank=True)
    price = models.DecimalField(
        "price of one", max_digits=10, decimal_places=2, null=True, blank=True
    )
    lead_time_days = models.PositiveSmallIntegerField(
        "days from order to delivery", null=True, blank=True
    )
    minimum = models.PositiveSmallIntegerField("keep at least", default=0)
    on_shelf = models.PositiveSmallIntegerField("on the shelf", default=0)
    in_van = models.PositiveSmallIntegerField("in the van", default=0)
    fitting_h = models.DecimalField(
        "hours to fit one",
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(0)],
        help_text="What quotes reckon with.",
    )

    objects = PartQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(shop__isnull=False, firm__isnull=True)
                | Q(shop__isnull=True, firm__isnull=False),
                name="a_part_is_kept_by_a_shop_or_a_firm",
            ),
            models.UniqueConstraint(fields=["shop", "number"], name="one_part_per_shop_and_number"),
            models.UniqueConstraint(fields=["firm", "number"], name="one_part_per_firm_and_number"),
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0),
                name="a_part_costs_nothing_or_more",
                violation_error_message="A price is zero or more.",
            ),
            models.CheckConstraint(
                condition=Q(fitting_h__isnull=True) | Q(fitting_h__gte=0),
                name="fitting_a_part_takes_no_less_than_nothing",
                violation_error_message="Hours are not negative.",
            ),
        ]

    def __str__(self):
        return f"{self.number} {self.description}"

    def get_absolute_url(self):
        return reverse("machines:part", args=[self.pk])

    @property
    def in_stock(self):
        return self.on_shelf + self.in_van

    @property
    def is_short(self):
        """Whether fewer are left than should be kept."""
        return self.in_stock < self.minimum


class BeltQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(machine__in=Machine.objects.visible_to(user))


class Belt(models.Model):
    """A synchronous belt of the drive train, as fitted.

    Behind a closed cover only its name and its pulleys are known; profile, teeth and width come at
    the first look at it.
    """

    record_rules = Record(has_page=True)

    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="belts")
    name = models.CharField(max_length=80, help_text="Such as: guide bushing belt.")
    drives = models.CharField(max_length=120, help_text="Such as: main spindle to jack shaft.")
    profile = models.CharField(
        max_length=12, blank=True, help_text="Tooth profile code, such as 5M or XL."
    )
    pitch_mm = models.DecimalField(
        "pitch in mm", max_digits=7, decimal_places=3, null=True, blank=True
    )
    teeth = models.PositiveSmallIntegerField(null=True, blank=True)
    width_mm = models.DecimalField(
        "width in mm", max_digits=8, decimal_places=4, null=True, blank=True
    )
    driving_teeth = models.PositiveSmallIntegerField(
        "teeth of the driving pulley", null=True, blank=True
    )
    driven_teeth = models.PositiveSmallIntegerField(
        "teeth of the driven pulley", null=True, blank=True
    )
    place_in_path = models.PositiveSmallIntegerField(
        "place between main spindle and guide bushing",
        null=True,
        blank=True,
        help_text="1 for the belt from the main spindle, 2 for the next; empty for a belt that "
        "is not on that way.",
    )
    span_mm = models.DecimalField(
        "free span in mm",
        max_digits=9,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="Where it is plucked or pressed. Empty: worked out from the pulleys.",
    )
    mass_kg_per_m = models.DecimalField(
        "mass in kg per metre", max_digits=7, decimal_places=4, null=True, blank=True
    )
    tension_low_n = models.DecimalField(
        "tension wanted, from, in N", max_digits=7, decimal_places=1, null=True, blank=True
    )
    tension_high_n = models.DecimalField(
        "to, in N", max_digits=7, decimal_places=1, null=True, blank=True
    )
    partner = models.ForeignKey(
        "self",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="partners",
        verbose_name="replaced together with",
    )
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="belts"
    )
    fitted_on = models.DateField(
        "the present one was fitted", null=True, blank=True, help_text="Empty when not known."
    )

    objects = BeltQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["machine", "name"], name="one_belt_per_machine_and_name"
            ),
            models.CheckConstraint(
                condition=Q(teeth__gte=10),
                name="a_belt_has_at_least_ten_teeth",
                violation_error_message="A synchronous belt has at least ten teeth.",
            ),
            models.CheckConstraint(
                condition=Q(pitch_mm__gt=0) & Q(width_mm__gt=0),
                name="belt_pitch_and_width_are_positive",
                violation_error_message="Pitch and width must be more than zero.",
            ),
            models.CheckConstraint(
                condition=Q(driving_teeth__isnull=True, driven_teeth__isnull=True)
                | Q(
                    driving_teeth__isnull=False,
                    driven_teeth__isnull=False,
                    driving_teeth__gte=6,
                    driven_teeth__gte=6,
                ),
                name="both_pulleys_or_neither",
                violation_error_message="Give the teeth of both pulleys, six at least each, or of "
                "neither.",
            ),
            models.CheckConstraint(
                condition=Q(span_mm__isnull=True) | Q(span_mm__gt=0),
                name="a_span_is_longer_than_zero",
                violation_error_message="The free span must be more than zero.",
            ),
            models.CheckConstraint(
                condition=Q(mass_kg_per_m__isnull=True) | Q(mass_kg_per_m__gt=0),
                name="a_belt_weighs_something",
                violation_error_message="The mass per metre must be more than zero.",
            ),
            models.CheckConstraint(
                condition=Q(tension_low_n__isnull=True, tension_high_n__isnull=True)
                | Q(
                    tension_low_n__isnull=False,
                    tension_high_n__isnull=False,
                    tension_low_n__gt=0,
                    tension_high_n__gte=F("tension_low_n"),
                ),
                name="a_band_of_tension_has_two_ends",
                violation_error_message="The wanted tension needs both ends, above zero, the "
                "lower first.",
            ),
            models.UniqueConstraint(
                fields=["machine", "place_in_path"],
                name="one_belt_per_place_between_the_spindles",
                violation_error_message="Another belt has that place between the spindles.",
            ),
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("machines:belt", args=[self.pk])

    def clean(self):
        """A belt on record keeps the teeth its inspections speak of, and fits its pulleys."""
        if self.partner_id and self.partner_id == self.pk:
            raise ValidationError({"partner": "A belt is not its own partner."})
        self._check_pulleys()
        found = self.inspections.aggregate(models.Max("findings__tooth")) if self.pk else {}
        highest = found.get("findings__tooth__max") or 0
        if self.teeth is not None and self.teeth < highest:
            raise ValidationError(
                {"teeth": f"An inspection names tooth {highest}; fewer teeth would lose it."}
            )

    def _check_pulleys(self):
        if None in (self.driving_teeth, self.driven_teeth, self.teeth, self.pitch_mm):
            return
        try:
            _ = self.geometry
        except ValueError as error:
            raise ValidationError(str(error)) from error

    @cached_property
    def geometry(self):
        """The drive's `DriveGeometry`, None while its pulleys, teeth or pitch are not on record."""
        if None in (self.driving_teeth, self.driven_teeth, self.teeth, self.pitch_mm):
            return None
        return drive_geometry(
            self.teeth, (self.driving_teeth, self.driven_teeth), float(self.pitch_mm)
        )

    @property
    def span(self):
        """The free span in mm, as typed, else from the pulleys; None while neither is known."""
        if self.span_mm is not None:
            return float(self.span_mm)
        return self.geometry.span_length_mm if self.geometry else None

    @property
    def unknown(self):
        """The names of the fields that the next look at it should tell."""
        return [name for name in ("profile", "teeth", "width_mm") if not getattr(self, name)]

    @property
    def told(self):
        """Teeth, profile and pulleys in one phrase, as far as they are known."""
        teeth = f"{self.teeth} teeth" if self.teeth else "teeth not counted yet"
        return ", ".join(part for part in (teeth, self.profile, self.drives) if part)

    @property
    def wants_tension(self):
        return self.tension_low_n is not None
