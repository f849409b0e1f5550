"""`manage.py verify` tells what was edited after the fact, whoever edited it, and where.

The tests take the triggers off first, as somebody with the database in hand could.
"""

import io
import json
import re
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone
from pypdf import PdfReader

from machines.drive.models import Part
from machines.drive.recommending import take_step
from machines.drive.services import advise_by_hand
from machines.register.meter_records import leave_out
from machines.visit_work.services import read_meter
from shop.audit.head import Head, head
from shop.audit.models import ChainHead, ChainLink, Change
from shop.audit.sqlite import digest
from shop.audit.tables import key_of
from shop.records.signatures import signed_troubles
from shop.records.triggers.migrating import closing_tables
from shop.records.triggers.syncing import create_triggers, drop_triggers
from shop.records.verifying import chain_troubles, verify
from shop.visits.clock import enter_spell
from shop.visits.models import Signature
from shop.visits.services import note_come_back, sign_and_issue, sign_visit
from tests.factories import VisitFactory

pytestmark = pytest.mark.django_db

WHEN = "%Y-%m-%d %H:%M:%S.%f"


PARTIES = {"contractor": ("Cy", "contractor"), "customer": ("Ada", "owner")}


@pytest.fixture
def signed(visit, contractor):
    """A visit signed for both parties, with an hour of work among what was signed."""
    began = timezone.now() - timedelta(hours=2)
    enter_spell(
        visit=visit,
        who=contractor,
        kind="work",
        began_at=began,
        ended_at=began + timedelta(hours=1),
        distance=None,
        made_by=contractor,
    )
    note_come_back(visit, "nothing was looked at")
    sign_visit(visit, **PARTIES)
    connection.check_constraints()
    return visit


@pytest.fixture
def document(visit):
    """The report of a signed visit as it was issued."""
    note_come_back(visit, "nothing was looked at")
    sign_and_issue(visit, **PARTIES)
    connection.check_constraints()
    return visit.documents.get()


def past_the_triggers(sql, *params):
    drop_triggers(using="default", kinds=("frozen", "trail"))
    with connection.cursor() as cursor:
        cursor.execute(sql, params)


def by_migrating(sql, *params):
    connection.check_constraints()
    with closing_tables(connection), connection.cursor() as cursor:
        cursor.execute(sql, params)
    create_triggers(using="default")


def troubles(*kept):
    return list(verify(kept))


def test_a_signed_visit_is_as_the_trail_says(signed):
    assert ChainLink.objects.count() >= 3
    assert troubles() == []


def test_a_change_made_at_a_whole_second_fits_its_link(shop):
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO shop_change (at, via, request_id, record, within, kind, after, chained)"
            " VALUES ('2026-01-01 10:00:00.000000', '-', '', 'shop_gone:1', '', 'found', '{}', %s)",
            [True],
        )
    connection.check_constraints()

    assert list(chain_troubles()) == []


def test_a_changed_row_is_told_with_its_old_and_new_value(shop):
    part = Part.objects.create(shop=shop, number="B-1", description="belt", on_shelf=3)

    past_the_triggers("UPDATE machines_part SET on_shelf = 7 WHERE id = %s", part.pk)

    assert troubles() == [f"Part no. {part.pk}: On the shelf is '7', but the trail last said '3'."]


def test_a_removed_row_is_told(signed):
    signature = Signature.objects.filter(visit=signed).first()

    past_the_triggers("DELETE FROM shop_signature WHERE id = %s", signature.pk)

    assert troubles() == [f"Signature no. {signature.pk}: the row was removed past the trail."]


def test_a_row_put_in_past_the_trail_is_told(shop):
    past_the_triggers("SELECT 1")
    part = Part.objects.create(shop=shop, number="B-1", description="belt")

    assert troubles() == [f"Part no. {part.pk}: the row was put in past the trail."]


def test_an_edited_change_no_longer_fits_its_link(signed):
    change = Change.objects.filter(chained=True, record__startswith="shop_signature:").first()
    edited = json.dumps(json.loads(change.after) | {"name": "Somebody Else"})

    past_the_triggers("UPDATE shop_change SET after = %s WHERE id = %s", edited, change.pk)

    assert any(f"does not fit change {change.pk}" in one for one in troubles())


def test_row_and_change_edited_alike_are_told_by_the_chain(signed):
    change = Change.objects.filter(chained=True, record__startswith="shop_signature:").first()
    row = change.record.rsplit(":", 1)[1]
    edited = change.after.replace("Cy", "Di").replace("Ada", "Di")
    past_the_triggers("UPDATE shop_change SET after = %s WHERE id = %s", edited, change.pk)
    past_the_triggers("UPDATE shop_signature SET name = 'Di' WHERE id = %s", row)

    (trouble,) = troubles()

    assert f"does not fit change {change.pk}" in trouble


def test_a_change_whose_hour_was_edited_is_told(signed):
    change = Change.objects.filter(chained=True).first()

    past_the_triggers(
        "UPDATE shop_change SET at = %s WHERE id = %s",
        connection.ops.adapt_datetimefield_value(timezone.now()),
        change.pk,
    )

    assert any(f"does not fit change {change.pk}" in one for one in troubles())


def test_a_change_that_was_removed_is_told(signed):
    link = ChainLink.objects.order_by("seq").first()

    past_the_triggers("DELETE FROM shop_change WHERE id = %s", link.change_id)

    assert (
        f"The chain: change {link.change_id}, which link {link.seq} stands for, was removed."
        in troubles()
    )


def test_a_link_removed_from_the_middle_is_told(signed):
    past_the_triggers("DELETE FROM shop_chainlink WHERE seq = 2")

    assert "The chain: link 2 was removed." in troubles()


def test_the_last_links_removed_are_told_by_the_head(signed):
    last = ChainLink.objects.order_by("-seq").first().seq

    past_the_triggers("DELETE FROM shop_chainlink WHERE seq > %s", last - 2)

    assert f"The chain: its end is missing; links {last - 1} to {last} were removed." in troubles()


def cut_off(last):
    """Cut the last link off with its change and its row, and set the head back."""
    link = ChainLink.objects.order_by("-seq").first()
    table, row = link.change.record.split(":")
    before = ChainLink.objects.get(seq=last - 1)
    past_the_triggers(f"DELETE FROM {table} WHERE id = %s", row)
    past_the_triggers("DELETE FROM shop_change WHERE id = %s", link.change_id)
    past_the_triggers("DELETE FROM shop_chainlink WHERE seq = %s", link.seq)
    past_the_triggers("UPDATE shop_chainhead SET seq = %s, sha256 = %s", before.seq, before.sha256)


def test_a_chain_cut_off_with_its_head_is_told_by_a_head_kept_elsewhere(visit):
    Signature.objects.create(visit=visit, party="customer", name="Ada", role="-", signed_at=now())
    Signature.objects.create(visit=visit, party="contractor", name="Cy", role="-", signed_at=now())
    connection.check_constraints()
    kept = head()

    cut_off(kept.seq)

    assert troubles() == []
    assert troubles(kept) == [f"The chain: link {kept.seq}, kept elsewhere, is no longer there."]


def now():
    return timezone.now()


def test_a_chain_made_anew_is_told_by_a_head_kept_elsewhere(visit):
    Signature.objects.create(visit=visit, party="customer", name="Ada", role="-", signed_at=now())
    connection.check_constraints()
    kept = head()
    edit_and_make_anew("Ada", "Eve")

    assert troubles() == []
    assert troubles(kept) == [f"The chain: link {kept.seq} is not the one that was kept elsewhere."]


def edit_and_make_anew(old, new):
    """Forge row, trail, links and head, all of them in agreement."""
    past_the_triggers("UPDATE shop_signature SET name = %s WHERE name = %s", new, old)
    past_the_triggers(
        "UPDATE shop_change SET after = replace(after, %s, %s) WHERE chained", old, new
    )
    before = "0" * 64
    for link in ChainLink.objects.order_by("seq").select_related("change"):
        c = link.change
        said = (c.who_id, c.via, c.request_id, c.record, c.within, c.kind, c.before, c.after)
        before = digest(before, link.seq, c.pk, c.at.strftime(WHEN), *said)
        ChainLink.objects.filter(pk=link.pk).update(sha256=before)
    ChainHead.objects.update(sha256=before)


def test_a_change_written_by_hand_into_no_link_is_told(shop):
    past_the_triggers("SELECT 1")
    change = Change.objects.create(
        at=now(), record=key_of(shop), kind="migrated", after=None, chained=True
    )

    assert f"The chain: change {change.pk} (Shop no. {shop.pk}) is in no link." in troubles()


def test_a_document_s_file_that_was_edited_is_told(document):
    with document.file.storage.open(document.file.name, "ab") as file:
        file.write(b"%")

    assert troubles() == [
        f"Document no. {document.pk}: the file {document.file.name} is not the one that was "
        "stored; its SHA-256 differs."
    ]


def test_a_document_s_file_that_is_gone_is_told(document):
    document.file.storage.delete(document.file.name)

    assert troubles() == [f"Document no. {document.pk}: the file {document.file.name} is gone."]


def run(*arguments):
    out = io.StringIO()
    call_command("verify", *arguments, stdout=out)
    return out.getvalue()


def test_the_command_says_that_all_is_well_and_where_the_chain_ends(signed):
    told = run()

    assert "Nothing was edited after the fact." in told
    assert str(head()) in told
    assert run("--head").strip() == str(head())


def test_the_command_ends_with_1_and_says_how_much_was_edited(shop):
    Part.objects.create(shop=shop, number="B-1", description="belt")
    past_the_triggers("UPDATE machines_part SET description = 'strap'")

    with pytest.raises(CommandError, match="1 thing edited after the fact") as ended:
        run()

    assert ended.value.returncode == 1


def test_the_command_refuses_what_is_no_head(db):
    with pytest.raises(CommandError, match="is no head; expected such as"):
        run("--against", "12:abc")


def test_a_head_is_read_as_it_is_printed(signed):
    assert Head.read(str(head())) == head()
    assert troubles(Head.read(head().short)) == []


def test_the_head_printed_on_a_report_shows_a_chain_made_anew(visit):
    earlier = VisitFactory(shop=visit.shop, firm=visit.firm, contractor=visit.contractor)
    Signature.objects.create(visit=earlier, party="customer", name="Ada", role="-", signed_at=now())
    connection.check_constraints()
    note_come_back(visit, "nothing was looked at")
    sign_and_issue(visit, contractor=("Cy", "contractor"), customer=("Bo", "owner"))
    connection.check_constraints()
    printed = re.search(r"issued: (\d+:[0-9a-f]{16})", text_of(visit.documents.get()))
    kept = Head.read(printed.group(1))
    assert kept.seq > 0
    assert troubles(kept) == []

    edit_and_make_anew("Ada", "Eve")

    assert any("is not the one that was kept elsewhere" in one for one in troubles(kept))


def text_of(document):
    with document.file.open() as file:
        return "".join(page.extract_text() for page in PdfReader(file).pages)


def test_what_a_migration_changed_is_noted_when_the_trail_is_put_on_again(shop):
    part = Part.objects.create(shop=shop, number="B-1", description="belt")
    by_migrating("UPDATE machines_part SET description = 'strap'")

    change = Change.objects.filter(record=key_of(part)).first()
    assert change.kind == "migrated"
    assert json.loads(change.after)["description"] == "strap"
    assert troubles() == []


def test_rows_older_than_the_trail_are_on_it_from_the_day_it_began(shop):
    part = Part.objects.create(shop=shop, number="B-1", description="belt")
    past_the_triggers("DELETE FROM shop_change WHERE record = %s", key_of(part))

    create_triggers(using="default")

    change = Change.objects.get(record=key_of(part))
    assert change.kind == "found"
    assert json.loads(change.after)["number"] == "B-1"
    assert troubles() == []


def test_a_signed_hour_that_was_edited_is_told_though_the_trail_was_edited_alike(signed):
    spell = signed.spells.get()
    by_migrating("UPDATE shop_workspell SET kind = 'travel' WHERE id = %s", spell.pk)

    (trouble,) = troubles()

    assert trouble.startswith(f"{signed}, signed as 'Time: ")
    assert f"Work spell no. {spell.pk}: What is 'travel', but 'work' was signed." in trouble


def test_a_signed_row_that_is_gone_is_told(signed):
    spell = signed.spells.get()
    past_the_triggers("DELETE FROM shop_workspell WHERE id = %s", spell.pk)

    assert any(one.endswith(f"Work spell no. {spell.pk} is gone.") for one in signed_troubles())


def test_what_was_signed_edited_by_itself_no_longer_fits_its_digest(signed):
    past_the_triggers("UPDATE shop_signedrecord SET said = replace(said, 'work', 'travel')")

    assert any("its digest is of something else" in one for one in signed_troubles())


@pytest.mark.parametrize(
    "said", ["{", "7", "[7]", '[{"table": "shop_workspell", "id": 99999999999999999999}]']
)
def test_what_was_signed_edited_into_nonsense_stops_nothing(signed, said):
    past_the_triggers("UPDATE shop_signedrecord SET said = %s", said)

    assert any("cannot be read" in one for one in signed_troubles())


def test_what_a_signature_leaves_open_goes_on(visit, machine, contractor, owner):
    reading = read_meter(
        machine=machine, visit=visit, value=100, read_at=timezone.now(), made_by=contractor
    )
    advice = advise_by_hand(machine=machine, visit=visit, made_by=contractor, what="belt")
    note_come_back(visit, "nothing was looked at")
    sign_visit(visit, **PARTIES)

    leave_out(reading, by=owner, why="read off the wrong meter")
    take_step(advice, "approved", made_by=owner)

    assert list(signed_troubles()) == []
