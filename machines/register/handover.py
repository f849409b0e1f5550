"""Handing a machine over: its record in one file, and into the shop that has it from then on.

What was signed goes: chain, sheets, checks, inspections, incidents, drive train. Authors come along
by name. Money, issued documents and plans stay with the shop it leaves.
"""

from collections import defaultdict
from functools import cache

from django.conf import settings
from django.utils import timezone

from shop.audit.archive_rules import FORMAT, Scope
from shop.people.models import Firm, Shop, User
from shop.records.archive.origin import Origin
from shop.records.archive.reading import read
from shop.records.archive.taking_in import Intake, all_or_nothing
from shop.records.archive.taking_out import take_out
from shop.records.packing import Limits, opened
from shop.visits.models import SignedRecord, Visit
from shop.web.errors import Refused
from shop.web.site_key import proof_of
from shop.web.wording import day_text

from .models import Machine

# Far more than a machine's record comes to in twenty years of monthly visits.
LIMITS = Limits(
    total_bytes=settings.MAX_HANDOVER_BYTES,
    record_bytes=64 * 1024 * 1024,
    rows=60_000,
    entries=20_000,
)


@cache
def one_machine():
    """The archive of one machine."""
    return Scope(
        "sweepbook machine archive", FORMAT, "machines.Machine", never=("entry_id",), whole=False
    )


def hand_over(machine, file):
    """Write the record of a machine into an open file; raises Refused while a visit is under way.

    Returns {table's label: how many rows}.
    """
    under_way = Visit.objects.filter(visited__machine=machine, state=Visit.State.ON_SITE).first()
    if under_way:
        raise Refused(
            f"{under_way} is under way at this machine; sign it first, so that it goes along whole."
        )
    digests = _signed_digests(machine)
    return take_out(
        machine, file, scope=one_machine(), left=machine.shop.name, signed_digests=digests
    )


def _signed_digests(machine):
    """{number of a signed visit: the digests of all that was signed at it}: what was signed there
    of other machines stays, its digests tell nothing of it."""
    of_visit = defaultdict(list)
    found = SignedRecord.objects.filter(visit__visited__machine=machine).order_by("position")
    for number, digest in found.values_list("visit__number", "digest"):
        of_visit[number].append(digest)
    return of_visit


def take_over(file, *, shop, number="", key=""):
    """Take the record of a machine into a shop and return the machine; raises Refused.

    key: the public key of the site it comes from, as it was had from there.
    number: what the machine is called here; empty for what it was called there. Everybody who
    wrote in its record comes as a name that nobody can sign in with.
    """
    scope = one_machine()
    with opened(file, kind=scope.kind, version=scope.version, limits=LIMITS) as package:
        rows = read(package, scope)
        left = str(package.facts.get("left", ""))[:120]
        row = _the_machine(rows, shop, number)
        _rename_people(rows, left)
        _rename_firms(rows, left)
        today = day_text(shop.today)
        proof = proof_of(package.facts, key)
        proved = "proved" if proof.proved else f"not proved, {proof.why}"
        came_from = left or "another shop"
        note = f"Taken over from {came_from} on {today}, with its record until then ({proved})."
        row.values["note"] = f"{row.values['note']}\n{note}".strip()
        intake = Intake(scope, package, rows, standing_in={Shop: shop.pk}, keep_numbers=False)
        with all_or_nothing(intake):
            intake.put_in(Origin(came_from, signed_for=came_from, proof=proof))
            User.objects.filter(pk__in=intake.places[User].values()).update(is_active=False)
    return Machine.objects.get(pk=intake.places[Machine][row.number])


def _the_machine(rows, shop, number):
    """The one machine in it, under the number it gets here."""
    if len(rows[Machine]) != 1:
        raise Refused("The file must hold one machine.")
    (row,) = rows[Machine]
    row.values["number"] = number or row.values["number"]
    if shop.machines.filter(number=row.values["number"]).exists():
        raise Refused(
            f"{shop} has a machine {row.values['number']} already; give this one another number."
        )
    return row


def _rename_people(rows, left):
    """Keep of each person the name and where they wrote: nobody here is taken for them."""
    for row in rows[User]:
        said = row.values
        if not said["first_name"] and not said["last_name"]:
            said["last_name"] = said["username"]
        said["last_name"] = f"{said['last_name'][:80]} (at {left[:60]})".strip()
        said["username"] = f"by-name-{timezone.now():%Y%m%d%H%M%S}-{row.number}"


def _rename_firms(rows, left):
    """Say with each firm where it worked: a firm of that name here has its own numbers."""
    for row in rows[Firm]:
        name, count = f"{row.values['name'][:60]} (at {left[:40]})", 1
        wanted = name
        while Firm.objects.filter(name=name).exists():
            count += 1
            name = f"{wanted} {count}"
        row.values["name"] = name
