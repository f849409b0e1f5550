"""Archives that were made up, changed, or come from a newer site: refused, and nothing is left."""

import hashlib
import io
import json
import re
import zipfile

import pytest
from django.core.management import CommandError, call_command

from machines.register.models import FindingPhoto
from shop.people.models import Shop
from shop.web.errors import Refused
from tests import factories

from .conftest import (
    KIND,
    VERSION,
    empty_the_site,
    entries_of,
    into_site,
    out_of,
    packed,
    tables_of_the_site,
)

VISITS = "records/shop.visit.jsonl"
PEOPLE = "records/shop.user.jsonl"
READINGS = "records/alignment.reading.jsonl"


def rows_there():
    return sum(model._base_manager.count() for model in tables_of_the_site())


@pytest.fixture
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    return settings.MEDIA_ROOT


@pytest.fixture(scope="module")
def made():
    """Where the good archive is kept: to make its shop takes longer than to refuse it."""
    return {}


@pytest.fixture
def entries(db, made, request):
    """What is in a good archive; the site is empty and its media in a new folder."""
    if not made:
        made.update(entries_of(out_of(request.getfixturevalue("told_shop"))))
        empty_the_site()
    request.getfixturevalue("media")
    return dict(made)


def changed(entries, name, change):
    """The entries with the first row of one table changed by a function of its dict."""
    first, *others = entries[name].splitlines(keepends=True)
    row = json.loads(first)
    change(row)
    return entries | {name: json.dumps(row).encode() + b"\n" + b"".join(others)}


def refused(file, media, match):
    """It is refused, with a reason; no row and no file is left of it."""
    with pytest.raises(Refused, match=match):
        into_site(file)
    assert rows_there() == 0
    assert not [path for path in media.rglob("*") if path.is_file()]


def test_the_archive_these_tests_spoil_is_good(entries):
    into_site(packed(entries))
    assert Shop.objects.count() == 1


SPOILT = {
    "an unknown field": (VISITS, lambda row: row.update(colour="red"), "the field 'colour'"),
    "no id": (VISITS, lambda row: row.pop("id"), "expected an object with its 'id'"),
    "an id that is none": (VISITS, lambda row: row.update(id="1"), "with its 'id'"),
    "a field left out": (VISITS, lambda row: row.pop("number"), "'number' is missing"),
    "a choice that is none": (VISITS, lambda row: row.update(state="burnt"), "'state' cannot be"),
    "a day that is none": (VISITS, lambda row: row.update(planned_for="2025-02-30"), "planned_for"),
    "a text too long": (VISITS, lambda row: row.update(number="9" * 21), "longer than 20"),
    "a number for a text": (VISITS, lambda row: row.update(purpose=7), "expected a text"),
    "a NUL": (VISITS, lambda row: row.update(purpose="a\x00b"), "a NUL in it"),
    "half a character": (VISITS, lambda row: row.update(purpose="\ud83d"), "half a character"),
    "nothing where something must be": (VISITS, lambda row: row.update(purpose=None), "missing"),
    "a row that is nowhere": (VISITS, lambda row: row.update(firm=987654), "not in the archive"),
    "a reference that is a text": (VISITS, lambda row: row.update(firm="1"), "id of another row"),
    "a password": (PEOPLE, lambda row: row.update(password="x"), "the field 'password'"),
    "rights on the site": (PEOPLE, lambda row: row.update(is_superuser=True), "is_superuser"),
    "a decimal that is none": (READINGS, lambda row: row.update(value_um="a lot"), "value_um"),
    "no number": (READINGS, lambda row: row.update(angle_deg="nan"), "angle_deg"),
    "a number without end": (READINGS, lambda row: row.update(value_um="9" * 40), "value_um"),
    "an angle past once round": (READINGS, lambda row: row.update(angle_deg=360.0), "does not fit"),
    "a table that stays": (
        "records/machines.evidence.jsonl",
        lambda row: row.update(content_type="auth.user"),
        "not in the archive|does not know",
    ),
}


@pytest.mark.parametrize(("name", "change", "match"), SPOILT.values(), ids=SPOILT)
def test_a_row_that_cannot_be_is_refused(entries, media, name, change, match):
    refused(packed(changed(entries, name, change)), media, match)


LINES = {
    "cut": b"{",
    "a list": b"[]",
    "a number": b"7",
    "a text": b'"x"',
    "NaN": b'{"id": NaN}',
    "nested deep": b"[" * 50_000,
    "no UTF-8": b"\xff\xfe",
    "a long number": b'{"id": 1' + b"9" * 5000,
}


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_a_line_that_is_no_row_is_refused(entries, media, line):
    spoilt = entries | {VISITS: line + b"\n"}
    refused(packed(spoilt), media, re.escape(f"{VISITS}, line 1"))


def test_a_line_without_end_is_refused(entries, media):
    refused(packed(entries | {VISITS: b'{"id": 1'}), media, "middle of a line")


def test_a_row_that_is_in_it_twice_is_refused(entries, media):
    refused(packed(entries | {VISITS: entries[VISITS] * 2}), media, "is in it twice")


def test_a_table_this_site_does_not_know_is_refused(entries, media):
    more = entries | {"records/shop.coffee.jsonl": b""}
    refused(packed(more), media, "does not know the table 'shop.coffee'")


@pytest.mark.parametrize("table", ["shop.rate", "sessions.session", "shop.feedaddress"])
def test_a_table_that_never_leaves_is_refused(entries, media, table):
    refused(packed(entries | {f"records/{table}.jsonl": b""}), media, "does not know the table")


def test_what_has_no_place_in_an_archive_is_refused(entries, media):
    refused(packed(entries | {"program.py": b"x"}), media, "has no place in an archive")


def test_a_file_that_nothing_names_is_refused(entries, media):
    refused(packed(entries | {"files/more.pdf": b"x"}), media, "nothing names it")


def test_a_file_that_is_named_but_not_there_is_refused(entries, media):
    file = next(name for name in entries if name.startswith("files/"))
    less = {name: content for name, content in entries.items() if name != file}
    refused(packed(less), media, "is named but not there")


def test_an_archive_of_no_shop_is_refused(entries, media):
    refused(packed({}), media, "holds one shop")


def test_one_of_an_older_format_whose_lines_name_no_station_is_refused(entries, media):
    def elsewhere(row):
        row["station"] = 10**6

    spoilt = changed(entries, "records/alignment.acceptanceitem.jsonl", elsewhere)
    refused(packed(spoilt, version=1), media, "names what is not in it")


def test_an_archive_of_a_newer_site_is_refused(entries, media):
    refused(packed(entries, version=VERSION + 1), media, "Bring the site up to date first")


def test_a_backup_is_no_archive(entries, media):
    refused(packed(entries, kind="sweepbook backup"), media, f"not a {KIND}")


def test_a_file_changed_in_an_archive_is_refused(entries, media):
    changed_file = io.BytesIO()
    with zipfile.ZipFile(packed(entries)) as old, zipfile.ZipFile(changed_file, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b"realign after a crash", b"nothing"))
    refused(changed_file, media, "is not what it was")


def test_what_fails_at_the_very_end_leaves_nothing(entries, media, monkeypatch):
    def fail(rows):
        raise RuntimeError("power cut")

    monkeypatch.setattr("shop.records.archive.taking_in._move_sequences", fail)
    with pytest.raises(RuntimeError, match="power cut"):
        into_site(packed(entries))
    assert rows_there() == 0
    assert not [path for path in media.rglob("*") if path.is_file()]


def test_the_commands_take_a_shop_out_and_in(told_shop, settings, tmp_path, capsys):
    file = tmp_path / "shop.zip"
    call_command("take_out", told_shop.name, file)
    assert file.stat().st_mode & 0o077 == 0
    empty_the_site()
    call_command("take_in", file)
    said = capsys.readouterr().out
    assert "Alder Screw Works is here" in said
    assert "made without a password: owner" in said


def test_the_commands_refuse_in_a_sentence(told_shop, tmp_path):
    file = tmp_path / "shop.zip"
    with pytest.raises(CommandError, match="There is no shop called Nowhere"):
        call_command("take_out", "Nowhere", file)
    with pytest.raises(CommandError, match="There is no file"):
        call_command("take_in", file)
    file.write_bytes(b"not a zip")
    with pytest.raises(CommandError, match="is there already"):
        call_command("take_out", told_shop.name, file)
    with pytest.raises(CommandError, match="cannot be opened as a zip file"):
        call_command("take_in", file)
    assert file.read_bytes() == b"not a zip"


def with_another_photo(entries):
    (photo,) = [name for name in entries if name.startswith("files/findings/")]
    return entries | {photo: factories.photo_file("red").read()}


def test_a_file_that_is_not_the_one_on_record_is_refused(entries, media):
    refused(packed(with_another_photo(entries)), media, "is not the one on record")


def test_a_file_from_before_hashes_were_kept_gets_its_own(entries, media):
    photos = "records/machines.findingphoto.jsonl"
    older = changed(with_another_photo(entries), photos, lambda row: row.pop("sha256"))
    into_site(packed(older))
    kept = FindingPhoto.objects.get()
    assert kept.sha256 == hashlib.sha256(kept.image.read()).hexdigest()


HIDDEN = [
    b"<script>alert(1)</script>",
    b"%PDF-1.4 in a picture's place",
    b"GIF89a" + bytes(20),
    b"\xff\xd8\xff cut off",
]


@pytest.mark.parametrize("content", HIDDEN)
def test_what_is_no_picture_that_an_upload_takes_is_refused(entries, media, content):
    photos = "records/machines.findingphoto.jsonl"
    digest = hashlib.sha256(content).hexdigest()
    (photo,) = [name for name in entries if name.startswith("files/findings/")]
    told = changed(entries | {photo: content}, photos, lambda row: row.update(sha256=digest))
    refused(packed(told), media, "is neither a PDF nor a picture that is taken")


def test_a_picture_is_made_anew_without_what_hides_in_it(entries, media):
    photos = "records/machines.findingphoto.jsonl"
    (photo,) = [name for name in entries if name.startswith("files/findings/")]
    content = entries[photo] + b"<script>alert(1)</script>"
    digest = hashlib.sha256(content).hexdigest()
    told = changed(entries | {photo: content}, photos, lambda row: row.update(sha256=digest))
    into_site(packed(told))
    kept = FindingPhoto.objects.get()
    stored = kept.image.read()
    assert b"script" not in stored
    assert kept.sha256 == hashlib.sha256(stored).hexdigest()
