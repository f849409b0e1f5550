"""A shop whose every kind of record has something in it, and a site emptied of everything."""

import hashlib
import io
import json
import uuid
import zipfile
from datetime import date, time

import pytest
from django.apps import apps
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.utils import timezone

from alignment.adjusting.models import AdjustingWay
from alignment.sheets.models import SheetScan
from alignment.sweeps.models import Indicator, SweepDraft
from machines.calls.models import Call
from machines.drive.models import Thresholds
from shop.audit.archive_rules import whole_shop
from shop.audit.models import ChainHead, ChainLink, Change
from shop.calendar.models import ClosedDays, Proposal, ProposalStep, ProposedDay
from shop.people.models import FeedAddress, User
from shop.records.archive.taking_in import take_in
from shop.records.archive.taking_out import take_out
from shop.records.packing import Limits, Packer
from shop.records.triggers.syncing import create_triggers, drop_triggers
from shop.snapshots.models import ChangeCounter
from shop.visits.models import Visit
from tests import factories
from tests.shop.test_freezing import issued, signed, worked

__all__ = ["issued", "signed", "worked"]

LIMITS = Limits(total_bytes=100_000_000)
SCAN = b"%PDF of the scan"
KIND, VERSION = whole_shop().kind, whole_shop().version
SECRET = "pbkdf2-secret-of-the-owner"


def out_of(shop):
    """The archive of a shop, as a file to read from."""
    file = io.BytesIO()
    take_out(shop, file)
    file.seek(0)
    return file


def into_site(file):
    file.seek(0)
    return take_in(file, limits=LIMITS)


def entries_of(file):
    """What is in an archive besides its manifest, by name."""
    with zipfile.ZipFile(file) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name != "manifest.json"}


def packed(entries, **facts):
    """An archive of our own with right hashes, whatever is in it."""
    file = io.BytesIO()
    packer = Packer(file)
    for name, content in entries.items():
        packer.add(name, [content])
    packer.finish(**{"kind": KIND, "version": VERSION} | facts)
    return file


def rows_in(file, label):
    return [json.loads(line) for line in entries_of(file)[f"records/{label}.jsonl"].splitlines()]


def tables_of_the_site():
    """The models of the site's own tables, without its trail, which is only ever added to."""
    trail = {Change, ChainLink, ChainHead, ChangeCounter}
    return [
        model
        for label in ("shop", "machines", "alignment")
        for model in apps.get_app_config(label).get_models(include_auto_created=True)
        if model not in trail
    ]


def empty_the_site():
    """Take every row of the site's own tables out, past the triggers."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            # What waits to be checked would keep the triggers from being dropped.
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        drop_triggers(using="default", kinds=("frozen",))
        for model in tables_of_the_site():
            cursor.execute(f'DELETE FROM "{model._meta.db_table}"')
        if connection.vendor == "postgresql":
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")
    create_triggers(using="default")
    assert not User.objects.exists()


@pytest.fixture
def told_shop(shop, owner, contractor, machine, issued):
    """A shop after a crash: a signed visit with a record of every kind, its report and its
    statement; and what was planned, closed, half typed and measured with besides."""
    owner.email, owner.password = "owner@alder.example", SECRET
    owner.save()
    visit = Visit.objects.get(state="signed")
    by = {"made_by": owner}
    ClosedDays.objects.create(
        shop=shop, first=date(2025, 8, 4), last=date(2025, 8, 8), why="x", **by
    )
    proposal = Proposal.objects.create(shop=shop, firm=visit.firm, purpose="next check", **by)
    ProposedDay.objects.create(proposal=proposal, day=date(2025, 9, 1), time_from=time(8))
    ProposalStep.objects.create(proposal=proposal, state="with contractor", **by)
    Call.objects.create(shop=shop, firm=visit.firm, machine=machine, who="Ned", says="x", **by)
    Thresholds.objects.create(shop=shop)
    digest = hashlib.sha256(SCAN).hexdigest()
    scan = {"file": _stored("scan.pdf"), "sha256": digest}
    SheetScan.objects.create(sheet=machine.sheets.get(), **scan, **by)
    AdjustingWay.objects.create(
        station=machine.stations.last(), kind="screws", settings={"a": [1.5]}
    )
    open_visit = factories.VisitFactory(shop=shop, firm=visit.firm, contractor=contractor)
    SweepDraft.objects.create(
        person=contractor, visit=open_visit, item=factories.item_of(machine, "sub-spindle"),
        phase="as found", entry_id=uuid.uuid4(), data={"r0": "½ thou"}, kept_at=timezone.now(),
    )  # fmt: skip
    Indicator.objects.create(
        firm=visit.firm, name="not used here", serial="0", resolution_um=1, error_um=1, unit="um"
    )
    firms = {"shop": None, "firm": visit.firm}
    machine.belts.update(part=factories.PartFactory(number="F-1", **firms))
    factories.PartFactory(number="F-2 of the firm alone", **firms)
    factories.RateFactory(firm=visit.firm, tax=visit.firm.tax_categories.get())
    FeedAddress.objects.create(user=owner, secret_sha256="f" * 64, made_at=timezone.now())
    return shop


def _stored(name):
    return default_storage.save(f"tests/{name}", ContentFile(SCAN))
