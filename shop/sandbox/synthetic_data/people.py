"""The fleet's firms, shops and people."""

from decimal import Decimal

from django.contrib.auth.hashers import make_password

from shop.billing.models import Rate, TaxCategory
from shop.people.models import Firm, Membership, Role, Shop, User
from shop.sandbox.demo.billing import RATES, TAX, TERMS
from shop.sandbox.demo.people import PASSWORD

EVERYWHERE = "everywhere"
ZONES = ("America/Chicago", "Europe/Zurich", "UTC")
FIRST_PARTS = ("Alder", "Birk", "Corm", "Dunn", "Esker", "Fenn", "Garth", "Holm", "Ings", "Kell")
SECOND_PARTS = ("bridge", "croft", "dale", "ford", "gate", "ham", "lea", "mere", "stead", "wick")
TRADES = ("Turned Parts", "Screw Works", "Precision", "Spindle Shop", "Bar Works")


def introduce(fleet, batch):
    """A firm with its contractor and prices, its shops, and an owner and an operator of each."""
    secret = make_password(PASSWORD)
    batch.firm = Firm(
        name=f"Fleet Service {batch.number}", address=f"{batch.number} Weighbridge Yard", **TERMS
    )
    fleet.add([batch.firm])
    _set_prices(fleet, batch.firm)
    batch.shops = fleet.add(_shops(fleet, batch))
    people = [User(username=f"fleet-contractor-{batch.number}", password=secret)]
    for shop in batch.shops:
        unit = shop.length_unit
        people.append(User(username=f"owner-{shop.pk}", password=secret, length_unit=unit))
        people.append(User(username=f"operator-{shop.pk}", password=secret, length_unit=unit))
    if fleet.everywhere is None:
        fleet.everywhere = User(username=EVERYWHERE, password=secret)
        people.append(fleet.everywhere)
    people = fleet.add(people)
    batch.contractor = people[0]
    fleet.add(_memberships(fleet, batch, people))


def _shops(fleet, batch):
    for place in range(len(batch.sizes)):
        count = fleet.rows["Shop"] + place
        name = fleet.rng.choice(FIRST_PARTS) + fleet.rng.choice(SECOND_PARTS)
        yield Shop(
            name=f"{name} {fleet.rng.choice(TRADES)} {count + 1}",
            address=f"{fleet.rng.randrange(1, 200)} Kiln Road\n{name}",
            time_zone=ZONES[count % len(ZONES)],
            length_unit="in" if count % 3 == 0 else "mm",
        )


def _memberships(fleet, batch, people):
    for place, shop in enumerate(batch.shops):
        owner, operator = people[1 + 2 * place : 3 + 2 * place]
        batch.owners[shop.pk], batch.operators[shop.pk] = owner, operator
        yield Membership(user=owner, shop=shop, role=Role.OWNER)
        yield Membership(user=operator, shop=shop, role=Role.OPERATOR)
        for contractor in (batch.contractor, fleet.everywhere):
            yield Membership(user=contractor, shop=shop, role=Role.CONTRACTOR, firm=batch.firm)


def _set_prices(fleet, firm):
    (tax,) = fleet.add([TaxCategory(firm=firm, **TAX)])
    fleet.add(
        Rate(firm=firm, kind=kind, name=name, unit=unit, price=Decimal(price), tax=tax)
        for kind, name, unit, price in RATES
    )
