"""A machine's file is altered and taken in as signed: it stands as not proved, and prints nothing.

Ed25519 itself is held against the first test vector of RFC 8032, 7.1.
"""

import hashlib
import io
import json
import zipfile

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.urls import reverse

from machines.register.handover import hand_over, take_over
from shop.records.packing import MANIFEST
from shop.visits.models import Visit
from shop.visits.services import arrive, issue_report, sign_and_issue
from shop.web import site_key
from shop.web.errors import Refused
from shop.web.site_key import in_groups, proof_of, public_key, typed_key
from tests import factories

pytestmark = pytest.mark.django_db
PARTIES = {"contractor": ("Ned Oake", "contractor"), "customer": ("Ada Alder", "owner")}
# RFC 8032, 7.1, TEST 1: secret key, public key, and the signature of nothing; from memory.
SECRET = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
PUBLIC = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
SIGNATURE = (
    "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
    "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
)


def test_the_signatures_are_those_of_the_standard():
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(SECRET))
    assert key.public_key().public_bytes_raw().hex() == PUBLIC
    assert key.sign(b"").hex() == SIGNATURE


@pytest.fixture
def buyer(db):
    return factories.ShopFactory(name="Brook Turning")


@pytest.fixture
def given_out(at_visit, machine, contractor, nothing_missing):
    """The record of a machine with a signed visit, as its shop gave it out."""
    from alignment.sweeps.services import save_check

    save_check(
        visit=at_visit,
        item=factories.item_of(machine, "guide bushing"),
        phase="as found",
        sweep=factories.typed_sweep(40, 0),
        made_by=contractor,
    )
    at_visit.refresh_from_db()
    arrive(at_visit)
    at_visit.refresh_from_db()
    sign_and_issue(at_visit, **PARTIES)
    file = io.BytesIO()
    hand_over(machine, file)
    return file.getvalue()


@pytest.fixture
def elsewhere(monkeypatch):
    """Lets this site be another one, with a key of its own."""

    def become_another():
        another = Ed25519PrivateKey.generate()
        monkeypatch.setattr(site_key, "_own_key", lambda _folder: another)

    return become_another


def altered(content, change):
    """The file with the lines of one table changed, and its manifest made to agree."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        entries = {name: archive.read(name) for name in archive.namelist()}
    facts = json.loads(entries.pop(MANIFEST))
    change(entries, facts)
    for name, said in facts["entries"].items():
        said |= {"bytes": len(entries[name]), "sha256": hashlib.sha256(entries[name]).hexdigest()}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
        archive.writestr(MANIFEST, json.dumps(facts))
    return out.getvalue()


def other_purpose(entries, _facts):
    name = "records/shop.visit.jsonl"
    row = json.loads(entries[name].splitlines()[0])
    entries[name] = json.dumps(row | {"purpose": "all of it within limits"}).encode() + b"\n"


def other_reading(entries, _facts):
    checks = "records/alignment.check.jsonl"
    entries[checks] = entries[checks].replace(b"as found", b"as left")


def other_digest(_entries, facts):
    for digests in facts["signed_digests"].values():
        digests[0] = "0" * 64


def taken(content, shop, **more):
    """The signed visit as it stands at the shop that took the machine over."""
    machine = take_over(io.BytesIO(content), shop=shop, **more)
    return machine, Visit.objects.get(visited__machine=machine)


def test_the_file_carries_the_digests_of_what_was_signed(given_out):
    with zipfile.ZipFile(io.BytesIO(given_out)) as archive:
        facts = json.loads(archive.read(MANIFEST))
    (visit,) = Visit.objects.filter(state="signed")
    told = list(visit.signed_records.values_list("digest", flat=True))
    assert facts["signed_digests"] == {visit.number: told}
    assert told


def test_within_one_site_it_is_proved(given_out, buyer):
    _machine, visit = taken(given_out, buyer)
    assert visit.origin == (
        "Signed for Alder Screw Works; brought in from Alder Screw Works: proved to be as it was "
        "given out there."
    )


def test_from_another_site_it_is_proved_by_the_key_that_was_told(given_out, buyer, elsewhere):
    theirs = public_key()
    elsewhere()
    machine, visit = taken(given_out, buyer, key=typed_key(in_groups(theirs).upper()))
    assert visit.proved is True
    assert "(proved)" in machine.note


@pytest.mark.parametrize("key", ["", "ab" * 32])
def test_without_its_key_it_is_not_proved(given_out, buyer, elsewhere, key):
    elsewhere()
    machine, visit = taken(given_out, buyer, key=key)
    assert visit.proved is False
    assert "not proved" in machine.note
    assert "not proved" in visit.origin


@pytest.mark.parametrize("change", [other_purpose, other_reading, other_digest])
def test_what_was_altered_is_not_proved(given_out, buyer, change):
    _machine, visit = taken(altered(given_out, change), buyer)
    assert visit.proved is False
    assert "its signature is not of what is in it" in visit.origin


def test_a_signature_taken_off_is_missed(given_out, buyer):
    content = altered(given_out, lambda entries, facts: facts.pop("signed"))
    assert "it bears no site's signature" in taken(content, buyer)[1].origin


def test_a_signature_by_a_key_of_ones_own_is_not_that_of_the_site(given_out, buyer, elsewhere):
    facts = {"kind": "x", "entries": {}}
    forged = site_key.signed_by_this_site(facts)
    theirs = public_key()
    elsewhere()
    assert proof_of(forged).proved is False
    assert proof_of(forged, theirs).proved is True
    assert proof_of(forged | {"kind": "y"}, theirs).why == "its signature is not of what is in it"


def test_once_not_proved_it_stays_so_from_hand_to_hand(given_out, buyer):
    machine, _visit = taken(altered(given_out, other_purpose), buyer)
    file = io.BytesIO()
    hand_over(machine, file)
    _machine, visit = taken(file.getvalue(), factories.ShopFactory(name="Cole Works"))
    assert visit.proved is False
    assert "Signed for Alder Screw Works; brought in from Brook Turning: not proved" in visit.origin


class TestWhatWasBroughtIn:
    @pytest.fixture
    def brought_in(self, given_out, buyer):
        return taken(given_out, buyer)[1]

    @pytest.fixture
    def page(self, client, buyer):
        factories.MembershipFactory(shop=buyer, role="owner", user__username="buyer")
        client.force_login(buyer.memberships.get().user)
        return lambda name, *args: client.get(reverse(name, args=args))

    def test_it_prints_no_report_but_says_why(self, page, brought_in):
        answer = page("shop:report", brought_in.pk)
        assert answer.status_code == 422
        assert "prints no report here" in answer.content.decode()
        with pytest.raises(Refused, match="prints no report here"):
            issue_report(brought_in)

    def test_its_page_names_the_shop_it_was_signed_for(self, page, brought_in):
        shown = page("shop:visit", brought_in.pk).content.decode()
        assert "Signed for Alder Screw Works" in shown
        assert "Alder Screw Works (its record is now at Brook Turning)" in shown
        assert "Service report (PDF)" not in shown

    def test_a_check_of_it_says_so_too(self, page, brought_in):
        shown = page("alignment:check", brought_in.checks.get().pk).content.decode()
        assert "<strong>Proved.</strong>" in shown


def test_a_signed_visit_keeps_the_names_of_then(client, owner, given_out, shop, firm):
    visit = Visit.objects.get(state="signed")
    shop.name, firm.name = "Alder & Daughter", "Oldbridge Service"
    shop.save()
    firm.save()
    client.force_login(owner)
    shown = client.get(visit.get_absolute_url()).content.decode()
    assert "Alder Screw Works (now Alder &amp; Daughter)" in shown
    assert "Oldbridge Spindle Service (now Oldbridge Service)" in shown


def test_the_site_s_key_stands_on_its_check_page(client, given_out):
    code = Visit.objects.get(state="signed").documents.get().code
    assert in_groups(public_key()) in client.get(f"/check/{code}/").content.decode()
