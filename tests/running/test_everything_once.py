"""Every command and every form once in the running site, as nobody but a user runs them.

A test's own transaction hides what a transaction may not do in its middle, and what the site's
process does around it. Here nothing stands around anything.
"""

import io
import zipfile

import pytest
from django.core.management import get_commands

from shop.people.models import Role
from shop.sandbox.demo.people import PASSWORD
from tests.fuzz.pages import crawl, view_of

from .sites import Browser, Client, new_site

pytestmark = pytest.mark.server

OURS = ("shop", "machines", "alignment")
# Serves until it is stopped, with a database of its own: `test_begin.py` runs it. Draws the
# README's pictures from the demo, into the clone.
ELSEWHERE = {"begin", "pictures"}
# What ends what the others need.
LAST = ("shop:sign_out", "shop:end_sign_in", "shop:end_other_sign_ins")


def test_every_command_runs_once(furnished, blank, tmp_path):
    site, known = furnished
    backup, shop_file = tmp_path / "backups", tmp_path / "shop.zip"
    runs = {
        "backup": ["--to", backup],
        "demo": ["--no-serve"],
        "fleet": ["--machines", "2", "--years", "0.5", "--shops", "1"],
        "remind": [],
        "send_mail": [],
        "take_in": [shop_file],
        "take_out": [known["name"], shop_file],
        "tidy": [],
        "verify": [],
        "work_out": [],
    }
    theirs = {name for name, app in get_commands().items() if app in OURS}
    assert theirs - ELSEWHERE - {"restore"} == set(runs)
    for name in ("backup", "remind", "send_mail", "take_out", "tidy", "verify", "work_out"):
        site.manage(name, *runs[name])
    (made,) = backup.iterdir()
    with new_site(tmp_path / "other", like=blank) as other:
        other.manage("take_in", *runs["take_in"])
        assert other.ask("SELECT name FROM shop_shop") == [(known["name"],)]
    with new_site(tmp_path / "fleet", like=blank) as fleet:
        fleet.manage("fleet", *runs["fleet"])
        fleet.manage("restore", made, "--replace")
    with new_site(tmp_path / "demo", like=blank) as demo:
        demo.manage("demo", *runs["demo"])


def errors_in(site):
    """What the site's server said of its errors."""
    lines = (site.folder / "log").read_text().splitlines()
    return [line[-1500:] for line in lines if '"level": "error"' in line]


@pytest.mark.parametrize("role", list(Role))
def test_every_form_that_a_person_finds_can_be_sent(furnished, role):
    """As it stands there, nothing typed: it is taken or refused, and breaks nothing."""
    site, known = furnished
    with site.served():
        browser = Browser(site, known["people"][role], PASSWORD)
        forms = [
            form
            for page in crawl(browser, per_view=1, leave_out=LAST).values()
            for form in page.forms
            if form.method == "post" and form.view not in LAST
        ]
        answers = {form.action: browser.send(form) for form in forms}
    broken = {action: status for action, status in answers.items() if status >= 500}
    assert broken == {}, errors_in(site)
    if role != Role.OPERATOR:
        assert len({view_of(form.action) for form in forms}) > 30


def test_a_machine_and_a_shop_are_taken_out_by_their_pages(furnished):
    site, known = furnished
    with site.served():
        browser = Client(site)
        browser.sign_in(known["people"][Role.OWNER], PASSWORD)
        for page in (f"/machines/{known['idle']}/hand-over/", f"/shops/{known['shop']}/take-out/"):
            answer = browser.post(page, {})
            assert answer.status == 200
            assert zipfile.ZipFile(io.BytesIO(answer.body)).testzip() is None
