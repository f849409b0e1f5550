"""What the fleet's steps share, and the order in which it is written."""

import random
import uuid
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta

from django.db import transaction
from django.utils import timezone

from shop.hooks import from_above
from shop.people.models import Firm, Shop, User
from shop.web.errors import Refused

USUAL_MACHINES_PER_SHOP = 25
# A firm looks after so many shops; what one firm looks after is written in one transaction.
SHOPS_PER_FIRM = 40
FIRST_NAME_OF_A_FIRM = "Fleet Service 1"
DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class Asked:
    """How large a fleet is wanted. `shops` 0: as many as that many machines usually need."""

    machines: int
    years: float = 2
    seed: int = 0
    shops: int = 0
    visits_a_year: float = 2

    @property
    def shop_count(self):
        usual = -(-self.machines // USUAL_MACHINES_PER_SHOP)
        return min(self.shops or usual, self.machines)


@dataclass
class Batch:
    """One firm with its shops, people, machines and visits, as the steps fill it in.

    sizes: how many machines each shop has. stands:
    `machines.sandbox.synthetic_data.register.Stand`s.
    days: `machines.sandbox.synthetic_data.visits.Day`s. lives:
    `machines.sandbox.synthetic_data.wear.BeltLife`s.
    """

    number: int
    sizes: list[int]
    firm: Firm | None = None
    contractor: User | None = None
    shops: list[Shop] = field(default_factory=list)
    owners: dict[int, User] = field(default_factory=dict)
    operators: dict[int, User] = field(default_factory=dict)
    stands: list = field(default_factory=list)
    days: list = field(default_factory=list)
    lives: list = field(default_factory=list)


@dataclass
class Fleet:
    """The fleet being written. `truth` holds what nobody at the machines can know but by
    measuring; `rows` how many rows each table got."""

    asked: Asked
    now: datetime
    rng: random.Random
    everywhere: User | None = None
    truth: dict = field(default_factory=dict)
    rows: Counter = field(default_factory=Counter)
    numbers: Counter = field(default_factory=Counter)

    @property
    def began(self):
        """When the record begins."""
        return self.now - timedelta(days=self.asked.years * DAYS_PER_YEAR)

    def add(self, rows):
        """Write rows of one model in bulk; returns them with their keys."""
        rows = list(rows)
        if rows:
            type(rows[0]).objects.bulk_create(rows)
            self.rows[type(rows[0]).__name__] += len(rows)
        return rows

    def entered(self, by, at):
        """The fields of an `Entry`, its id drawn from the seed."""
        key = uuid.UUID(int=self.rng.getrandbits(128), version=4)
        return {"entry_id": key, "made_by_id": by.pk, "made_at": at}

    def next_number(self, firm, kind, year):
        """The next number of a series, such as 2025-017."""
        self.numbers[firm.pk, kind, year] += 1
        return f"{year}-{self.numbers[firm.pk, kind, year]:03d}"

    def working_morning(self, shop, moment):
        """Eight in the morning at a shop on the day of `moment`, or on the Monday after."""
        day = moment.astimezone(shop.zone).date()
        day += timedelta(days=7 - day.weekday() if day.weekday() > 4 else 0)
        return datetime.combine(day, time(8), tzinfo=shop.zone)


def make_fleet(asked, now=None):
    """Write a fleet and return it with its truth; the same seed and `now` make the same one.

    Raises Refused for less than one machine, no years, or when there is a fleet already.
    """
    if asked.machines < 1 or asked.years <= 0 or asked.visits_a_year <= 0:
        raise Refused("A fleet has one machine at least, and more than no years and no visits.")
    if Firm.objects.filter(name=FIRST_NAME_OF_A_FIRM).exists():
        raise Refused("There is a fleet in this database already; use an empty one.")
    fleet = Fleet(asked, now or timezone.now(), random.Random(asked.seed))
    for batch in _batches(asked):
        with transaction.atomic():
            for step in from_above("fleet"):
                step(fleet, batch)
    return fleet


def _batches(asked):
    whole, more = divmod(asked.machines, asked.shop_count)
    sizes = [whole + (place < more) for place in range(asked.shop_count)]
    for number, first in enumerate(range(0, len(sizes), SHOPS_PER_FIRM), start=1):
        yield Batch(number, sizes[first : first + SHOPS_PER_FIRM])
