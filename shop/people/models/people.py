"""People, the shops they belong to and the firms that serve them."""

import zoneinfo

from babel.numbers import get_currency_precision, list_currencies
from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from shop.record import Goes, Named, Record, Stays
from shop.web.hashed_images import HashedImageField, sha256_field

LENGTH_UNITS = [("in", "inch"), ("mm", "millimetre")]


def validate_zone(name):
    """Refuse a time zone the system does not know."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError(f"'{name}' is not a time zone; expected one such as Europe/Zurich.")


def validate_currency(code):
    """Refuse a currency nobody knows, and one that is not counted in hundredths.

    Amounts are rounded to two decimals, as EN 16931 asks (BR-DEC).
    """
    if code not in list_currencies():
        raise ValidationError(f"'{code}' is not a currency; expected its ISO 4217 code, like EUR.")
    if get_currency_precision(code) != 2:
        raise ValidationError(f"{code} is not counted in hundredths; amounts here are.")


class PaperSize(models.TextChoices):
    A4 = "A4", "A4 (210 × 297 mm)"
    LETTER = "Letter", "Letter (8.5 × 11 in)"


class DateForm(models.TextChoices):
    DAY_FIRST = "dmy", "30 Nov 2026"
    MONTH_FIRST = "mdy", "Nov 30, 2026"
    YEAR_FIRST = "ymd", "2026-11-30"


WEEK_STARTS = [(1, "Monday"), (6, "Saturday"), (7, "Sunday")]


class Regional(models.Model):
    """Where somebody is, and how things are written there; the country sets the rest at first
    (`shop.web.regions`), and each can be changed."""

    # The names of countries come and go; a form offers those that `shop.web.regions` knows.
    country = models.CharField(
        max_length=2,
        blank=True,
        validators=[RegexValidator(r"^[A-Z]{2}$", "Expected two letters, such as US.")],
    )
    paper_size = models.CharField(max_length=6, choices=PaperSize, default=PaperSize.A4)
    date_form = models.CharField(
        "dates on paper", max_length=3, choices=DateForm, default=DateForm.DAY_FIRST
    )
    week_starts_on = models.PositiveSmallIntegerField(
        "the week starts on", choices=WEEK_STARTS, default=1
    )

    class Meta:
        abstract = True

    @property
    def zone(self):
        return zoneinfo.ZoneInfo(self.time_zone)

    @property
    def today(self):
        """The day it is there; what is about one shop goes by its own, a firm's own papers by the
        firm's."""
        return timezone.localdate(timezone=self.zone)


class Role(models.TextChoices):
    OWNER = "owner", "shop owner"
    OPERATOR = "operator", "operator"
    CONTRACTOR = "contractor", "service contractor"


class User(AbstractUser):
    """A person who signs in; `length_unit` is what a bare number means to them."""

    record_rules = Record(
        # Of a person only what names them and how they read lengths; never a password.
        archive=Named(
            by=(("email",), ("username",)),
            carries=(
                "username",
                "first_name",
                "last_name",
                "email",
                "is_active",
                "date_joined",
                "length_unit",
                "wants_reminders",
            ),
        ),
        # Whoever wrote in a machine's record comes along with it by name only.
        handover=Named(carries=("username", "first_name", "last_name")),
        links="rights on the admin site are the site's to give",
        left_out={
            "password": "a secret, though hashed",
            "last_login": "signing in changes nothing",
        },
        has_page=True,
    )

    length_unit = models.CharField("lengths in", max_length=2, choices=LENGTH_UNITS, default="mm")
    wants_reminders = models.BooleanField(
        "mail me what is due",
        default=True,
        help_text="One mail when something new is due soon, overdue or waits for you.",
    )

    @property
    def name(self):
        return self.get_full_name() or self.username


class FirmQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The firms `user` belongs to today, or works for at some shop."""
        return self.filter(
            Q(pk__in=user.memberships.current().values("firm"))
            | Q(pk__in=user.firm_memberships.current().values("firm"))
        )


class Firm(Regional):
    """A service contractor's business, as it stands on the letterhead.

    Its unit and time zone are what its new customers begin with.
    """

    record_rules = Record(
        # Two firms may bear one name; they are one firm where it is at one address.
        archive=Named(by=(("name", "address", "email"),)),
        handover=Named(carries=("name",)),
        has_page=True,
    )

    # Not unique: refusing a name would tell a stranger that there is a firm called so.
    name = models.CharField(max_length=120)
    address = models.TextField()
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    logo = HashedImageField(
        upload_to="logos/",
        blank=True,
        help_text="JPEG, PNG or WebP; it stands on every document.",
        sha256_field="logo_sha256",
    )
    logo_sha256 = sha256_field()
    tax_number = models.CharField(
        "tax registration number", max_length=40, blank=True, help_text="Printed on statements."
    )
    currency = models.CharField(
        max_length=3,
        default="EUR",
        validators=[validate_currency],
        help_text="The code of three letters, such as EUR.",
    )
    payment_days = models.PositiveSmallIntegerField(
        "days to pay", default=30, validators=[MaxValueValidator(365)]
    )
    payment_note = models.TextField(
        "how to pay", blank=True, help_text="Account and reference, as printed on statements."
    )
    parts_markup_percent = models.DecimalField(
        "mark-up on parts, %",
        max_digits=5,
        decimal_places=2,
        default=0,
        validators=[MinValueValidator(0)],
    )
    normal_day_h = models.DecimalField(
        "normal hours of a day",
        max_digits=4,
        decimal_places=2,
        default=8,
        validators=[MinValueValidator(0), MaxValueValidator(24)],
        help_text="What a person works beyond them on a day is overtime.",
    )
    time_zone = models.CharField(max_length=60, default="UTC", validators=[validate_zone])
    length_unit = models.CharField("lengths in", max_length=2, choices=LENGTH_UNITS, default="mm")
    report_text = models.TextField("at the end of service reports", blank=True, max_length=2000)
    quote_text = models.TextField("at the end of quotes", blank=True, max_length=2000)
    statement_text = models.TextField("at the end of statements", blank=True, max_length=2000)

    objects = FirmQuerySet.as_manager()

    def __str__(self):
        return self.name


class ShopQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The shops where `user` is a member today; everybody else's do not exist for them."""
        return self.filter(pk__in=user.memberships.current().values("shop"))


class Shop(Regional):
    """A shop whose machines are kept true.

    kept_by: the firm that made it, until an owner accepts an invitation; meanwhile its people at
    the shop do what an owner does. closed_on: that firm works there no more, and nothing falls due.
    """

    record_rules = Record(archive=Goes("pk"), has_page=True)

    name = models.CharField(max_length=120)
    address = models.TextField()
    contact = models.CharField("whom to ask for", max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField("mail address", blank=True)
    tax_number = models.CharField(
        "tax registration number", max_length=40, blank=True, help_text="Printed on statements."
    )
    currency = models.CharField(
        max_length=3,
        blank=True,
        validators=[validate_currency],
        help_text="What the shop reckons its own costs in; empty: as its service firm does.",
    )
    kept_by = models.ForeignKey(
        Firm,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="kept_shops",
        editable=False,
    )
    closed_on = models.DateField(null=True, blank=True, editable=False)
    closed_why = models.CharField(max_length=200, blank=True, editable=False)
    time_zone = models.CharField(max_length=60, default="UTC", validators=[validate_zone])
    length_unit = models.CharField(
        "lengths in reports", max_length=2, choices=LENGTH_UNITS, default="mm"
    )

    closed_weekdays = models.CharField(
        max_length=7,
        blank=True,
        default="67",
        validators=[RegexValidator(r"^[1-7]*$", "Expected digits from 1 (Monday) to 7 (Sunday).")],
        help_text="Days of the week without work, 1 for Monday to 7 for Sunday.",
    )

    objects = ShopQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["name"],
                condition=Q(kept_by__isnull=True),
                name="one_shop_with_owners_per_name",
                violation_error_message="Another shop is called so; add the town to the name.",
            ),
            models.UniqueConstraint(
                fields=["kept_by", "name"],
                name="one_customer_of_a_firm_per_name",
                violation_error_message="Another customer is called so; add the town to the name.",
            ),
            models.CheckConstraint(
                condition=Q(closed_on__isnull=True, closed_why="")
                | Q(closed_on__isnull=False, kept_by__isnull=False),
                name="only_a_firm_s_customer_is_closed",
            ),
        ]

    def __str__(self):
        return self.name


class EndedNotDeleted(models.QuerySet):
    def current(self):
        return self.filter(ended_at__isnull=True)


class MembershipQuerySet(EndedNotDeleted):
    def visible_to(self, user):
        """Who belongs to the person's shops today, and where the firm they look after serves."""
        leads = user.firm_memberships.current().filter(is_admin=True)
        return self.current().filter(
            Q(shop__in=Shop.objects.visible_to(user)) | Q(firm__in=leads.values("firm"))
        )


class Membership(models.Model):
    """What a person may do at one shop; ended, never deleted, so that authorship stays."""

    record_rules = Record()

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="memberships")
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role)
    firm = models.ForeignKey(
        Firm, on_delete=models.PROTECT, null=True, blank=True, related_name="memberships"
    )
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "shop"],
                condition=Q(ended_at__isnull=True),
                name="one_current_role_per_person_and_shop",
                violation_error_message="This person already has a role at this shop.",
            ),
            models.CheckConstraint(
                condition=Q(role="contractor", firm__isnull=False)
                | Q(role__in=["owner", "operator"], firm__isnull=True),
                name="contractors_and_only_they_come_from_a_firm",
                violation_error_message="A contractor comes from a firm; nobody else does.",
            ),
        ]

    def __str__(self):
        return f"{self.user.name}, {self.get_role_display()} at {self.shop}"

    def acts_as_owner_of(self, shop):
        """Whether this place, which is at `shop`, lets its person do what owners do."""
        kept = shop.kept_by_id is not None and shop.kept_by_id == self.firm_id
        return self.role == Role.OWNER or kept


class FirmMembership(models.Model):
    """Who belongs to a firm, and who of them looks after its people (`is_admin`)."""

    record_rules = Record(
        archive=Stays("who belongs to a firm and looks after it is for the firm to say")
    )

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="firm_memberships")
    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="people")
    is_admin = models.BooleanField("looks after the firm's people", default=False)
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = EndedNotDeleted.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "firm"],
                condition=Q(ended_at__isnull=True),
                name="once_in_a_firm_at_a_time",
                violation_error_message="This person belongs to the firm already.",
            )
        ]

    def __str__(self):
        return f"{self.user.name} of {self.firm}"
