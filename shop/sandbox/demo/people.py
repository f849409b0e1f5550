"""The demo's shops, firm and people, all invented."""

from dataclasses import asdict, dataclass

from shop.people.models import Firm, FirmMembership, Membership, Role, Shop, User

PASSWORD = "brass-drift"
ZONE = "America/Chicago"
PLACE = {
    "country": "US",
    "time_zone": ZONE,
    "paper_size": "Letter",
    "date_form": "mdy",
    "week_starts_on": 7,
}
FIRM = {
    "name": "Tresk & Orrin Spindle Service",
    "address": "4 Weighbridge Yard\nFallowmere",
    "phone": "555 0142",
    "email": "desk@tresk-orrin.example",
    **PLACE,
}


@dataclass(frozen=True)
class DemoShop:
    """A shop as it is entered."""

    name: str
    address: str
    length_unit: str
    contact: str
    phone: str


@dataclass(frozen=True)
class Person:
    """Somebody of the demo; one that signs in has a password."""

    username: str
    first_name: str
    last_name: str
    role: str
    shops: tuple[str, ...]
    length_unit: str
    what: str = ""
    signs_in: bool = True

    @property
    def name(self):
        return f"{self.first_name} {self.last_name}"


SHOPS = {
    "quarlow": DemoShop(
        "Quarlow Turned Parts", "17 Kiln Road\nFallowmere", "mm", "Bea Sorrel", "555 0117"
    ),
    "pintlow": DemoShop(
        "Pintlow Screw Works", "2 Sluice Lane\nNether Quay", "in", "Ulla Fenn", "555 0166"
    ),
}
PEOPLE = [
    Person(
        "contractor", "Ida", "Tresk", Role.CONTRACTOR, ("quarlow", "pintlow"), "mm",
        "service contractor to both shops",
    ),
    Person(
        "owner", "Tomas", "Quarlow", Role.OWNER, ("quarlow",), "mm", "owner of Quarlow Turned Parts"
    ),
    Person(
        "operator", "Bea", "Sorrel", Role.OPERATOR, ("quarlow",), "mm",
        "operator at Quarlow Turned Parts",
    ),
    Person("ned", "Ned", "Pintlow", Role.OWNER, ("pintlow",), "in", signs_in=False),
    Person("ulla", "Ulla", "Fenn", Role.OPERATOR, ("pintlow",), "in", signs_in=False),
]  # fmt: skip


def introduce(scene):
    """Enter the firm, the shops, the people and what each may do where."""
    scene.firm = Firm.objects.create(**FIRM)
    for key, shop in SHOPS.items():
        scene.shops[key] = Shop.objects.create(**asdict(shop), **PLACE)
    for person in PEOPLE:
        scene.people[person.username] = _person(scene, person)


def _person(scene, person):
    user = User(
        username=person.username,
        first_name=person.first_name,
        last_name=person.last_name,
        length_unit=person.length_unit,
    )
    user.set_password(PASSWORD if person.signs_in else None)
    user.save()
    for key in person.shops:
        Membership.objects.create(
            user=user,
            shop=scene.shops[key],
            role=person.role,
            firm=scene.firm if person.role == Role.CONTRACTOR else None,
        )
    if person.role == Role.CONTRACTOR:
        FirmMembership.objects.create(user=user, firm=scene.firm, is_admin=True)
    return user
