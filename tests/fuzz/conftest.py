"""The furnished shop and what its people find in it, made once for each module."""

import os
from dataclasses import dataclass

import pytest
from django.db import transaction

from shop.people.models import Role
from tests.fuzz.pages import crawl
from tests.fuzz.scene import furnish
from tests.fuzz.sending import Sender

# How many inputs are tried: few in the default suite, and the same each time; 10,000 in CI.
FULL = int(os.environ.get("SWEEPBOOK_FUZZ", "0"))
NEW = bool(os.environ.get("SWEEPBOOK_FUZZ_NEW"))


@dataclass
class Site:
    """People at their browsers, and the pages and forms each of them found."""

    senders: dict
    pages: list
    forms: list


@pytest.fixture(scope="module")
def site(django_db_setup, django_db_blocker):
    """The shop as everybody in it sees it; taken out of the database afterwards."""
    with django_db_blocker.unblock(), transaction.atomic():
        people = furnish()
        roles = Role if FULL else (Role.OWNER, Role.CONTRACTOR)
        found = Site({role: Sender(people[role]) for role in roles}, [], [])
        for role, sender in found.senders.items():
            for address, page in crawl(sender.client, per_view=2 if FULL else 1).items():
                found.pages.append((role, address))
                found.forms += [(role, form) for form in page.forms if _is_work(form)]
        yield found
        transaction.set_rollback(True)


def _is_work(form):
    return form.method == "post" and form.names and form.view != "shop:sign_out"
