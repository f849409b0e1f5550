"""Chromium finds nothing on the main pages that the content security policy refuses."""

import pytest

from tests.access.world import World

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def world(transactional_db, settings):
    settings.BEFORE_SIGNING = []
    return World("Alder")


def pages_of(world):
    visit, machine = world.visit.pk, world.machine.pk
    return [
        "/",
        f"/machines/{machine}/",
        f"/machines/{machine}/drive/",
        f"/machines/{machine}/incidents/new/",
        f"/belts/{world.belt.pk}/inspect/",
        f"/belt-inspections/{world.inspection.pk}/",
        f"/visits/{visit}/",
        f"/visits/{visit}/items/{world.item.pk}/sweep/",
        f"/visits/{visit}/sign/",
        f"/checks/{world.check.pk}/",
        f"/items/{world.item.pk}/",
        f"/incidents/{world.incident.pk}/",
        f"/statements/{world.statement.pk}/",
        f"/shops/{world.shop.pk}/people/",
        f"/firms/{world.firm.pk}/people/",
        "/due/",
        "/calendar/",
        "/lives/",
        "/my-settings/second-factor/",
    ]


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_no_page_holds_anything_the_policy_refuses(window, world, theme):
    from .walker import Walker

    page = window(color_scheme=theme)
    refused = []
    page.on(
        "console",
        lambda said: refused.append(said.text) if "Content Security Policy" in said.text else None,
    )
    Walker(page, world.contractor).sign_in()
    for path in pages_of(world):
        response = page.goto(path)
        page.wait_for_load_state("load")
        assert (path, response.status) == (path, 200)
        assert "frame-ancestors 'none'" in response.headers["content-security-policy"]
    assert refused == []


def test_a_script_that_got_into_a_page_does_not_run(window, world):
    """The policy is in force: what is written into the page stays without effect."""
    page = window()
    page.goto("/sign-in/")
    page.evaluate(
        """() => { const made = document.createElement("script");
        made.textContent = "window.ran = true"; document.body.append(made); }"""
    )
    assert page.evaluate("() => window.ran") is None
