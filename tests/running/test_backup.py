"""Backups: whole, sound and made while people work; restored into another site to equality."""

import hashlib
import json
import zipfile

import pytest

from shop.records.packing import Packer

pytestmark = pytest.mark.server

TABLES = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'",
    "postgresql": "SELECT tablename FROM pg_tables WHERE schemaname = 'public'",
}
# Sign-ins are not restored: whoever was signed out since must not be signed in again. Nor is how
# often something changed, so that nothing worked out before stands for what was put back.
SIGN_INS = {"django_session", "shop_signin"}
STANDING = {"shop_stir", "shop_workedout"}
WHOLE = """
SELECT i.what_hit,
  (SELECT count(*) FROM alignment_incidentstation s WHERE s.incident_id = i.id),
  (SELECT count(*) FROM machines_incidentphoto p WHERE p.incident_id = i.id)
FROM machines_incident i
"""


def rows_of(site):
    """Every row of every table."""
    tables = site.ask(TABLES[site.url.partition(":")[0]])
    return {
        table: sorted(map(repr, site.ask(f'SELECT * FROM "{table}"')))
        for (table,) in tables
        if table not in SIGN_INS | STANDING
    }


def files_of(site):
    """The SHA-256 of every media file, by its name."""
    return {
        path.relative_to(site.media).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in site.media.rglob("*")
        if path.is_file()
    }


def the_backup(site):
    (path,) = (site.folder / "backups").glob("*.zip")
    return path


@pytest.fixture
def busy(site, crowd):
    """The site after five incidents with a photo each."""
    with site.served():
        crowd.start(each=2)
        crowd.finish()
    return site


def test_a_backup_restored_elsewhere_has_the_same_rows_and_files(busy, empty_site):
    said = busy.manage("backup")
    assert "Read back and found right" in said
    said = empty_site.manage("restore", the_backup(busy))
    assert "every table counted" in said
    assert rows_of(empty_site) == rows_of(busy)
    assert files_of(empty_site) == files_of(busy)
    photos = {name for (name,) in busy.ask("SELECT image FROM machines_incidentphoto")}
    assert files_of(busy).keys() == photos
    assert len(photos) == 8


def test_after_a_restore_everybody_signs_in_anew(busy, empty_site):
    busy.manage("backup")
    empty_site.manage("restore", the_backup(busy))
    assert busy.ask("SELECT count(*) FROM django_session")[0][0] > 0
    for table in sorted(SIGN_INS):
        assert empty_site.ask(f"SELECT count(*) FROM {table}") == [(0,)]


def test_a_backup_made_while_people_write_is_of_one_moment(site, crowd, empty_site):
    with site.served():
        crowd.start(each=5000)
        crowd.wait_for(20)
        before = set(crowd.answered)
        site.manage("backup")
        crowd.wait_for(len(crowd.answered) + 4)
        crowd.stop()
    empty_site.manage("restore", the_backup(site))
    found = empty_site.ask(WHOLE)
    assert {what for what, *_rest in found} >= {f"holder {one}" for one in before}
    assert len(before) <= len(found) < len(site.ask(WHOLE))
    assert {(stations, photos) for _what, stations, photos in found} == {(2, 1)}
    names = {name for (name,) in empty_site.ask("SELECT image FROM machines_incidentphoto")}
    assert names <= files_of(empty_site).keys()
    assert files_of(empty_site).items() <= files_of(site).items()
    with zipfile.ZipFile(the_backup(site)) as backup:
        told = json.loads(backup.read("manifest.json"))
    assert told["rows"]["machines_incident"] == len(found)
    assert told["missing_files"] == []


def test_a_site_in_use_is_not_overwritten_unasked(busy):
    busy.manage("backup")
    before = rows_of(busy)
    assert "holds records or files already" in busy.manage("restore", the_backup(busy), fails=True)
    assert rows_of(busy) == before


def test_a_site_in_use_is_overwritten_when_told_so_and_its_media_are_kept(busy, site):
    busy.manage("backup")
    before, files = rows_of(busy), files_of(busy)
    (busy.media / "later.txt").write_text("written after the backup")
    busy.python("from shop.models import Shop; Shop.objects.create(name='Later', address='x')")
    busy.manage("restore", the_backup(busy), "--replace")
    assert rows_of(busy) == before
    now = files_of(busy)
    assert {name: sha for name, sha in now.items() if not name.startswith(".before")} == files
    assert any(name.endswith("/later.txt") for name in now)


def test_what_a_newer_version_added_to_the_database_is_in_no_backup_s_way(busy, empty_site):
    busy.manage("backup")
    before = rows_of(busy)
    with empty_site.connection() as database:
        database.execute(
            "CREATE TABLE shop_newer (id integer PRIMARY KEY, who bigint REFERENCES shop_user (id))"
        )
    assert "every table counted" in empty_site.manage("restore", the_backup(busy))
    assert rows_of(empty_site) == before


def test_a_database_that_breaks_off_in_the_backup_leaves_the_one_there_is(busy, site, tmp_path):
    busy.manage("backup")
    broken = tmp_path / "broken.zip"
    with zipfile.ZipFile(the_backup(busy)) as whole, broken.open("wb") as file:
        packer, told = Packer(file), json.loads(whole.read("manifest.json"))
        for name in told.pop("entries"):
            content = whole.read(name)
            packer.add(name, [content[: len(content) * 9 // 10]], shrink=False)
        packer.finish(**told)
    before, files = rows_of(busy), files_of(busy)

    busy.manage("restore", broken, "--replace", fails=True)

    assert rows_of(busy) == before
    assert files_of(busy) == files


def test_what_was_signed_is_frozen_in_the_restored_site_too(busy, empty_site):
    busy.manage("backup")
    empty_site.manage("restore", the_backup(busy))
    count = {
        "sqlite": "SELECT count(*) FROM sqlite_master WHERE name LIKE 'frozen%' AND type='trigger'",
        "postgresql": "SELECT count(*) FROM pg_trigger WHERE tgname LIKE 'frozen%'",
    }[busy.url.partition(":")[0]]
    assert empty_site.ask(count) == busy.ask(count)
    assert empty_site.ask(count)[0][0] > 50


def test_a_backup_that_was_changed_is_refused_and_nothing_is_restored(busy, empty_site, tmp_path):
    busy.manage("backup")
    changed = tmp_path / "changed.zip"
    with zipfile.ZipFile(the_backup(busy)) as old, zipfile.ZipFile(changed, "w") as new:
        photo = next(name for name in old.namelist() if name.startswith("media/"))
        for name in old.namelist():
            new.writestr(name, b"another photo" if name == photo else old.read(name))
    assert "is not what it was" in empty_site.manage("restore", changed, fails=True)
    assert empty_site.ask("SELECT count(*) FROM shop_shop") == [(0,)]
    assert files_of(empty_site) == {}


def test_a_photo_that_was_swapped_before_the_backup_is_told_when_restoring(busy, empty_site):
    (name,) = busy.ask("SELECT image FROM machines_incidentphoto ORDER BY id LIMIT 1")[0]
    (busy.media / name).write_bytes(b"another")
    busy.manage("backup")
    said = empty_site.manage("restore", the_backup(busy))
    assert f"In the backup already: Incident photo no. 1: the file {name} is not the one" in said


def test_only_so_many_backups_are_kept(site):
    for _ in range(3):
        site.manage("backup", "--keep", "2")
    assert len(list((site.folder / "backups").iterdir())) == 2


def test_nobody_else_on_the_machine_may_read_a_backup(site):
    site.manage("backup")
    assert the_backup(site).stat().st_mode & 0o077 == 0


def test_the_password_of_the_database_is_in_no_backup_s_manifest(site):
    site.manage("backup")
    with zipfile.ZipFile(the_backup(site)) as backup:
        told = backup.read("manifest.json").decode()
    assert "postgresql://" not in told
    assert "SECRET" not in told
