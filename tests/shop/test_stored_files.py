"""Every file people hand in is on record with its SHA-256, and `verify` holds it against that."""

import hashlib
from importlib import import_module

import pytest
from django.apps import apps
from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from machines.drive.inspecting import inspect_belt
from machines.drive.services import pin_photo
from machines.incidents.models import IncidentPhoto
from machines.incidents.services import log_incident
from machines.visit_work.services import add_photo
from shop.audit.models import Change
from shop.audit.rows import file_fields
from shop.audit.tables import key_of, trailed
from shop.people.models import Firm
from shop.records.triggers.migrating import closing_tables
from shop.records.triggers.syncing import create_triggers
from shop.records.verifying import verify
from tests import factories, hostile

pytestmark = pytest.mark.django_db

PHOTO = hostile.picture()


def a_photo():
    return ContentFile(PHOTO, name="photo.jpg")


def sha256(content):
    return hashlib.sha256(content).hexdigest()


@pytest.fixture
def incident_photo(machine, operator):
    incident = log_incident(
        machine=machine,
        made_by=operator,
        photos=[a_photo()],
        happened_at=timezone.now(),
        what_hit="gang tool holder",
        hit_what="sub-spindle nose",
        severity="knock",
        may_run=True,
    )
    return incident.photos.get()


def test_a_photo_of_an_incident_is_on_record_with_its_hash(incident_photo):
    assert incident_photo.sha256 == sha256(PHOTO)
    assert incident_photo.image.read() == PHOTO


def test_a_photo_of_what_was_found_is_too(visit, machine, contractor):
    here = factories.VisitedMachineFactory(visit=visit, machine=machine)

    photo = add_photo(visited=here, image=a_photo(), caption="the collet", made_by=contractor)

    photo.refresh_from_db()
    assert photo.sha256 == sha256(PHOTO)


def test_a_photo_of_a_tooth_is_too(machine, contractor):
    belt = factories.BeltFactory(machine=machine)
    inspection = inspect_belt(belt=belt, visit=None, teeth={3: "worn"}, made_by=contractor)

    photo = pin_photo(inspection, tooth=3, photo=a_photo())

    photo.refresh_from_db()
    assert photo.sha256 == sha256(PHOTO)


def hand_in_logo(client, firm, **more):
    address = reverse("shop:firm_form", args=[firm.pk, "letterhead"])
    page = client.get(address)
    form = page.context["form"]
    typed = {name: form[name].value() for name in form.fields if name != "logo"}
    client.post(address, typed | more)
    firm.refresh_from_db()


def test_a_firm_s_logo_is_too_until_it_is_taken_away(client, contractor, firm):
    client.force_login(contractor)

    hand_in_logo(client, firm, logo=ContentFile(hostile.picture("PNG"), name="logo.png"))
    assert firm.logo_sha256 == sha256(firm.logo.read())

    hand_in_logo(client, firm, **{"logo-clear": "on"})
    assert not firm.logo
    assert firm.logo_sha256 == ""


def test_a_photo_that_was_swapped_on_the_disk_is_told(incident_photo):
    assert list(verify()) == []

    with default_storage.open(incident_photo.image.name, "wb") as file:
        file.write(hostile.picture(size=(9, 9)))

    assert list(verify()) == [
        f"Incident photo no. {incident_photo.pk}: the file {incident_photo.image.name} is not the "
        "one that was stored; its SHA-256 differs."
    ]


def test_every_file_there_is_has_a_place_for_its_hash():
    hashed = {
        f"{table.model._meta.label}.{name}": sha256_name
        for table in trailed().values()
        for name, sha256_name in file_fields(table)
    }

    assert len(hashed) >= 6
    for label, name in hashed.items():
        model = apps.get_model(label.rpartition(".")[0])
        assert model._meta.get_field(name).max_length == 64, label


def migrated(app, ending):
    """Run the function by which a migration hashes what is there, as migrating does."""
    (found,) = (settings.BASE_DIR / app / "migrations").glob(f"*_{ending}.py")
    connection.check_constraints()
    with closing_tables(connection):
        import_module(f"{app}.migrations.{found.stem}").hash_what_is_there(apps, None)
    create_triggers(using="default")


def test_files_older_than_their_hashes_get_them_by_migrating(incident_photo, firm):
    firm.logo.save("logo.png", ContentFile(PHOTO))
    IncidentPhoto.objects.update(sha256="")
    Firm.objects.update(logo_sha256="")

    migrated("machines", "photo_hashes")
    migrated("shop", "logo_hash")

    incident_photo.refresh_from_db()
    firm.refresh_from_db()
    assert incident_photo.sha256 == firm.logo_sha256 == sha256(PHOTO)
    assert Change.objects.filter(record=key_of(incident_photo)).first().kind == "migrated"
    assert list(verify()) == []


def test_a_file_that_is_gone_stops_no_migration_and_is_told(incident_photo):
    IncidentPhoto.objects.update(sha256="")
    default_storage.delete(incident_photo.image.name)

    migrated("machines", "photo_hashes")

    incident_photo.refresh_from_db()
    assert incident_photo.sha256 == ""
    assert [one.endswith("is gone.") for one in verify()] == [True]
