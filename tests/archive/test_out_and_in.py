"""A whole shop taken out and taken into an empty site: the same rows, values and files."""

import json
import zipfile

import pytest
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.db import IntegrityError, transaction

from alignment.sweeps.models import Reading
from machines.register.models import FindingPhoto, Machine
from shop.billing.models import Statement
from shop.paper.models import Document
from shop.people.models import Membership, Shop
from shop.records.signatures import signed_troubles
from shop.records.verifying import file_troubles
from shop.visits.models import NumberSeries, SignedRecord, Visit
from shop.web.errors import Refused
from tests import factories

from .conftest import (
    SECRET,
    empty_the_site,
    entries_of,
    into_site,
    out_of,
    packed,
    rows_in,
    tables_of_the_site,
)


def counts():
    return {model._meta.label: model._base_manager.count() for model in tables_of_the_site()}


@pytest.fixture
def archive(told_shop):
    return out_of(told_shop)


def test_the_shop_of_these_tests_has_rows_in_nearly_every_table(archive):
    with zipfile.ZipFile(archive) as file:
        rows = json.loads(file.read("manifest.json"))["rows"]
    assert sum(1 for count in rows.values() if count) >= 60
    assert rows["shop.visit"] == 2


# A visit says where it was brought in from, and pictures are made anew.
SAID_OF_COMING = ("came_from", "proved", "not_proved_why", "signed_for", "sha256")


def test_taken_into_an_empty_site_every_row_and_file_is_what_it_was(archive, settings, tmp_path):
    def without(entries):
        rows = {name: content for name, content in entries.items() if name.endswith(".jsonl")}
        return {
            name: [
                {field: value for field, value in row.items() if field not in SAID_OF_COMING}
                for row in map(json.loads, content.splitlines())
            ]
            for name, content in rows.items()
        }

    settings.MEDIA_ROOT = tmp_path
    empty_the_site()
    came = into_site(archive)
    again = entries_of(out_of(came.shop))
    before = entries_of(archive)
    assert without(again) == without(before)
    assert set(again) == set(before)
    papers = [name for name in before if before[name].startswith(b"%PDF")]
    assert papers
    assert all(again[name] == before[name] for name in papers)


def test_taken_into_a_site_in_use_every_row_comes_under_a_new_number(archive):
    with zipfile.ZipFile(archive) as file:
        rows = json.loads(file.read("manifest.json"))["rows"]
    empty_the_site()
    other = factories.five_station_machine(number="M1")
    factories.UserFactory.create_batch(3)
    before = counts()
    came = into_site(archive)
    after = counts()
    gone = {label.lower(): after[label] - before[label] for label in after}
    assert {label: n for label, n in gone.items() if n} == {lb: n for lb, n in rows.items() if n}
    assert (
        rows_in(out_of(came.shop), "shop.visit")[0]["number"]
        == (rows_in(archive, "shop.visit")[0]["number"])
    )
    assert Machine.objects.filter(shop=other.shop).count() == 1


def test_under_new_numbers_every_reading_is_at_its_check_and_machine(archive, told_shop):
    def readings():
        of_shop = Reading.objects.filter(sweep__check_record__visit__shop__name=told_shop.name)
        return sorted(
            of_shop.values_list(
                "typed", "angle_deg", "value_um", "sweep__check_record__item__name",
                "sweep__check_record__visit__number", "sweep__check_record__made_by__username",
                "sweep__check_record__item__station__machine__number",
            )
        )  # fmt: skip

    before = readings()
    empty_the_site()
    factories.five_station_machine(number="M1")
    into_site(archive)
    assert readings() == before != []


def test_files_whose_names_are_taken_come_under_another(archive, told_shop):
    before = {name for name in entries_of(archive) if name.startswith("files/")}
    assert before
    empty_the_site()
    came = into_site(archive)
    document = Document.objects.filter(shop=came.shop, kind="statement").get()
    assert default_storage.exists(document.file.name)
    assert f"files/{document.file.name}" not in before
    assert document.file.read()[:4] == b"%PDF"


def test_what_was_signed_and_issued_is_frozen_where_it_was_taken_in(archive):
    empty_the_site()
    came = into_site(archive)
    signed = Visit.objects.get(shop=came.shop, state="signed")
    refused = pytest.raises(IntegrityError, match="signed records do not change")
    with refused, transaction.atomic():
        Visit.objects.filter(pk=signed.pk).update(purpose="another")
    assert Statement.objects.get(shop=came.shop).sealed


def test_people_come_without_a_password(archive):
    empty_the_site()
    came = into_site(archive)
    assert {person.username for person in came.made} == {"owner", "operator", "contractor"}
    assert not any(person.has_usable_password() for person in came.made)
    assert came.known == ()


def test_somebody_known_by_mail_is_used_as_they_are_here(archive):
    empty_the_site()
    here = factories.UserFactory(username="kim", email="owner@alder.example", last_name="Here")
    came = into_site(archive)
    assert came.known == (here,)
    assert Membership.objects.get(shop=came.shop, user=here).role == "owner"
    here.refresh_from_db()
    assert (here.username, here.last_name) == ("kim", "Here")


def test_somebody_known_by_user_name_alone_is_used_too(archive):
    empty_the_site()
    here = factories.UserFactory(username="operator")
    assert into_site(archive).known == (here,)


def test_one_user_name_with_two_mail_addresses_is_two_people(archive):
    empty_the_site()
    stranger = factories.UserFactory(username="owner", email="stranger@elsewhere.example")
    came = into_site(archive)
    assert stranger not in came.known
    assert "owner-2" in {person.username for person in came.made}
    assert not stranger.memberships.exists()


def test_a_firm_known_here_stays_as_it_is_and_gives_out_higher_numbers_only(archive, told_shop):
    series = NumberSeries.objects.order_by("-last").first()
    firm_name, kind, year, last = series.firm.name, series.kind, series.year, series.last
    empty_the_site()
    firm = factories.FirmFactory(name=firm_name, phone="as it is here")
    NumberSeries.objects.create(firm=firm, kind=kind, year=year, last=0)
    into_site(archive)
    firm.refresh_from_db()
    assert firm.phone == "as it is here"
    assert NumberSeries.objects.get(firm=firm, kind=kind, year=year).last == last > 0


def test_a_shop_that_is_here_already_is_refused(archive, told_shop):
    before = counts()
    with pytest.raises(Refused, match=f"There is a shop called {told_shop.name} here already"):
        into_site(archive)
    assert counts() == before


def test_records_that_are_here_already_under_another_shop_are_refused(archive, told_shop):
    Shop.objects.filter(pk=told_shop.pk).update(name="Renamed")
    before = counts()
    with pytest.raises(Refused, match="does not fit into this site"):
        into_site(archive)
    assert counts() == before


def test_no_secret_leaves(archive):
    said = b"".join(entries_of(archive).values()).decode(errors="replace")
    for secret in (SECRET, "f" * 64, "pbkdf2", "password"):
        assert secret not in said


def test_nothing_of_another_shop_or_of_the_firm_s_own_leaves(told_shop, stranger):
    other = factories.five_station_machine(number="OTHER-1")
    factories.MembershipFactory(shop=other.shop, user=stranger)
    file = out_of(told_shop)
    assert {row["number"] for row in rows_in(file, "machines.machine")} == {"M1"}
    assert "stranger" not in {row["username"] for row in rows_in(file, "shop.user")}
    firms = {row["number"] for row in rows_in(file, "machines.part") if row["firm"]}
    assert "F-2 of the firm alone" not in firms
    assert [row["name"] for row in rows_in(file, "shop.shop")] == [told_shop.name]
    assert "shop.rate" not in {name.split("/")[-1] for name in entries_of(file)}


def test_a_file_that_is_gone_is_said_and_no_archive_is_made(told_shop):
    document = Document.objects.filter(shop=told_shop).first()
    default_storage.delete(document.file.name)
    with pytest.raises(Refused, match="is on record but is gone"):
        out_of(told_shop)


def test_a_file_that_was_swapped_is_said_and_no_archive_is_made(told_shop):
    document = Document.objects.filter(shop=told_shop).first()
    with default_storage.open(document.file.name, "wb") as file:
        file.write(b"another")
    with pytest.raises(Refused, match="is not the one that was stored"):
        out_of(told_shop)


def test_what_was_taken_in_is_found_right_file_by_file(archive):
    empty_the_site()
    came = into_site(archive)
    assert FindingPhoto.objects.filter(visited__visit__shop=came.shop).exclude(sha256="").exists()
    assert list(file_troubles()) == []


def signed_checks():
    """What the digests of the signed checks are of, and the numbers their rows have here."""
    found = SignedRecord.objects.filter(name__startswith="Check").order_by("pk")
    return [(one.digest, one.said, one.numbers) for one in found]


def into_site_under_new_numbers(file):
    """Take an archive into an emptied site that has given one of its numbers to somebody else."""
    taken = rows_in(file, "shop.user")[0]["id"]
    empty_the_site()
    factories.UserFactory(pk=taken)
    came = into_site(file)
    assert came.shop.pk != rows_in(file, "shop.shop")[0]["id"]
    return came


def test_under_new_numbers_what_was_signed_still_fits_its_digests(archive):
    (before,) = signed_checks()

    into_site_under_new_numbers(archive)

    (after,) = signed_checks()
    assert after[:2] == before[:2]
    assert before[2] == {}
    assert after[2]["alignment_reading"]
    assert list(signed_troubles()) == []


def test_taken_in_a_second_time_it_still_does(archive):
    again = out_of(into_site_under_new_numbers(archive).shop)
    into_site_under_new_numbers(again)

    assert Reading.objects.exists()
    assert list(signed_troubles()) == []


def with_first_row(file, label, **edited):
    """The archive with a few values of the first row of a table edited, its hashes right."""
    name, entries = f"records/{label}.jsonl", entries_of(file)
    first, *others = entries[name].splitlines(keepends=True)
    row = json.dumps(json.loads(first) | edited).encode()
    return packed(entries | {name: row + b"\n" + b"".join(others)})


def test_a_reading_edited_on_the_way_no_longer_fits_what_was_signed(archive):
    into_site_under_new_numbers(with_first_row(archive, "alignment.reading", value_um="99.0000"))

    reading = Reading.objects.get(value_um=99)
    (trouble,) = signed_troubles()
    assert f"Reading no. {reading.pk}: Value is '0.099 mm', but" in trouble


@pytest.mark.parametrize(
    "said", ["{", "[1]", '[{"id": 1}]', '[{"table": "shop_visit", "id": "1"}]', "7", "null",
             '[{"table": "shop_workspell", "id": 1, "who_id": [1]}]']
)  # fmt: skip
def test_what_cannot_have_been_signed_is_refused(archive, said):
    file = with_first_row(archive, "shop.signedrecord", said=said)
    empty_the_site()
    with pytest.raises(Refused, match=r"What was signed as .* cannot be read"):
        into_site(file)


def test_the_command_says_what_is_not_as_it_was_signed(archive, tmp_path, capsys):
    file = tmp_path / "shop.zip"
    edited = with_first_row(archive, "alignment.reading", value_um="99.0000")
    file.write_bytes(edited.getvalue())
    empty_the_site()

    call_command("take_in", file)

    assert "not as it was signed: Visit" in capsys.readouterr().out
