"""What to do next for a person who sees nothing on the first page yet."""

from dataclasses import dataclass

from django.urls import NoReverseMatch, reverse

from shop.people.models import Role


@dataclass(frozen=True)
class FirstStep:
    """One thing to do next: what it is, why, and where."""

    title: str
    text: str
    url: str = ""
    action: str = ""


def first_steps(person, today):
    """The `FirstStep`s of a person, of what `shop.visits.views.visits` gathered for the first page.

    Nothing once a machine is on record; else at most two queries.
    """
    if today["has_machines"]:
        return []
    places = list(person.memberships.current().select_related("shop"))
    if not places:
        return [_customer_or_invitation(person)]
    roles = {place.role for place in places}
    if roles == {Role.OPERATOR}:
        return [FirstStep("No machine is on record yet", "The shop's owner or contractor adds it.")]
    steps = [_machine(places[0].shop)]
    owned = [place.shop for place in places if place.role == Role.OWNER]
    if owned:
        steps.append(_invite(owned[0]))
    return steps


def _customer_or_invitation(person):
    place = person.firm_memberships.current().select_related("firm").first()
    if place is not None:
        return FirstStep(
            "Add your first customer",
            "A customer is a shop whose machines you look after. It needs no account of its own. "
            "Then add its machines, and log a crash or plan a visit.",
            reverse("shop:new_customer", args=[place.firm_id]),
            "Add a customer",
        )
    if person.is_staff:
        return FirstStep(
            "You keep this site",
            "Firms and shops begin by themselves; the admin is for what nobody else can mend.",
            reverse("admin:index"),
            "Open the admin",
        )
    return FirstStep(
        "You belong to no shop and no firm",
        "Ask the owner of your shop, or your service firm, for an invitation; its link adds the "
        "place to this account.",
    )


def _machine(shop):
    text = "Begin from a kind of machine, then type the limits from the machine's own sheet."
    try:
        url = f"{reverse('alignment:new_machine')}?shop={shop.pk}"
    except NoReverseMatch:
        return FirstStep(f"No machine of {shop} is on record yet", "")
    return FirstStep(f"Add the first machine of {shop}", text, url, "Add a machine")


def _invite(shop):
    return FirstStep(
        "Invite your people",
        "Operators log what happens; your service contractor measures and reports.",
        reverse("shop:people", args=[shop.pk]),
        "Invite somebody",
    )
