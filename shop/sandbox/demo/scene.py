"""What the demo's steps share, and when there is something to make at all."""

from dataclasses import dataclass, field
from datetime import datetime, time, timedelta

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from shop.hooks import from_above
from shop.paper.models import Document
from shop.people.models import Firm, Shop, User
from shop.web.errors import Refused

from .people import FIRM, PASSWORD, PEOPLE, SHOPS


@dataclass
class Scene:
    """The demo as far as it was made; `now` is the moment up to which it is told."""

    now: datetime
    firm: Firm | None = None
    shops: dict[str, Shop] = field(default_factory=dict)
    people: dict[str, User] = field(default_factory=dict)
    machines: dict = field(default_factory=dict)

    def moment(self, shop, days_ago, clock):
        """A clock time such as "08:05" at a shop, on the working day that was `days_ago`.

        A Saturday or Sunday becomes the Friday before.
        """
        day = self.now.astimezone(shop.zone).date() - timedelta(days=days_ago)
        day -= timedelta(days=max(0, day.weekday() - 4))
        return datetime.combine(day, time.fromisoformat(clock), tzinfo=shop.zone)

    def moment_at(self, number, days_ago, clock):
        """The same at the shop where the machine of that number stands."""
        return self.moment(self.machines[number].shop, days_ago, clock)


@dataclass(frozen=True)
class SignIn:
    """A name and password to try the demo with, and what for."""

    who: str
    username: str
    password: str


def sign_ins():
    """The three people to try the demo as."""
    return [
        SignIn(f"{person.name}, {person.what}", person.username, PASSWORD)
        for person in PEOPLE
        if person.signs_in
    ]


def make_demo(now=None):
    """Make the demo unless it is there already; returns whether it was made.

    Raises Refused, and changes nothing, when the database holds shops or people of its own.
    """
    names = set(Shop.objects.values_list("name", flat=True))
    if names == {shop.name for shop in SHOPS.values()}:
        return False
    _refuse_what_is_not_ours(names)
    scene = Scene(now or timezone.now())
    with transaction.atomic():
        for step in from_above("demo"):
            step(scene)
    return True


def _refuse_what_is_not_ours(names):
    if names:
        raise Refused(
            f"This database holds other shops ({', '.join(sorted(names))}), so the demo leaves it "
            "alone. Point DATABASE_URL or SWEEPBOOK_DATA at an empty place for it."
        )
    taken = User.objects.filter(username__in=[person.username for person in PEOPLE])
    if taken or Firm.objects.filter(name=FIRM["name"]).exists():
        raise Refused(
            "This database holds people or a firm named like the demo's, so the demo leaves it "
            "alone. Point DATABASE_URL or SWEEPBOOK_DATA at an empty place for it."
        )


def write_report():
    """Write the newest service report beside the database; returns where it is."""
    newest = Document.objects.filter(kind="service report").first()
    path = settings.LOCAL_DIR / f"{newest.number}.pdf"
    with newest.file.open() as stored:
        path.write_bytes(stored.read())
    return path
