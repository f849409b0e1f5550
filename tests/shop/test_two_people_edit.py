"""Two people who edit one record: the second is told what the first changed and keeps what they
typed."""

import re
from decimal import Decimal
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from alignment.sweeps.models import Indicator
from machines.drive.models import Part, Thresholds
from machines.planning.models import Plan
from machines.planning.plans import change_plan, make_plan
from shop.audit.actor import acting
from shop.billing.services import add_charge
from shop.billing.views.firms import PARTS
from shop.people.models import Shop
from shop.record import our_apps
from shop.visits.clock import enter_spell
from shop.visits.models import Visit
from tests import factories

pytestmark = pytest.mark.django_db

VERSION = re.compile(r'name="version" value="(\d+)"')


@pytest.fixture
def part(shop):
    return Part.objects.create(shop=shop, number="B-1", description="belt", on_shelf=3)


def version_on(page):
    return VERSION.search(page.text).group(1)


def typed(page, **changed):
    return {"number": "B-1", "description": "belt", "minimum": 0, "on_shelf": 3, "in_van": 0} | {
        "version": version_on(page),
        **changed,
    }


@pytest.fixture
def edit(client, owner, part):
    client.force_login(owner)
    return reverse("machines:edit_part", args=[part.pk])


def changed_by(person, part, **fields):
    with acting(who=person.pk):
        Part.objects.filter(pk=part.pk).update(**fields)


def test_the_second_is_told_who_changed_what_and_nothing_is_saved(client, edit, part, contractor):
    page = client.get(edit)
    changed_by(contractor, part, on_shelf=2)

    told = client.post(edit, typed(page, on_shelf=5))

    part.refresh_from_db()
    assert part.on_shelf == 2
    assert told.status_code == 200
    assert f"{contractor.name} changed this: on the shelf from 3 to 2" in told.text


def test_what_the_second_typed_is_kept_and_saved_when_sent_again(client, edit, part, contractor):
    page = client.get(edit)
    changed_by(contractor, part, on_shelf=2)
    told = client.post(edit, typed(page, on_shelf=5, description="belt, wide"))

    assert 'value="belt, wide"' in told.text
    client.post(edit, typed(told, on_shelf=5, description="belt, wide"))

    part.refresh_from_db()
    assert (part.on_shelf, part.description) == (5, "belt, wide")


def test_a_change_of_what_the_form_does_not_show_is_in_nobody_s_way(client, visit, contractor):
    client.force_login(contractor)
    address = reverse("shop:come_back", args=[visit.pk])
    page = client.get(address)
    Visit.objects.filter(pk=visit.pk).update(purpose="another")

    client.post(address, {"come_back_for": "the belt", "version": version_on(page)})

    visit.refresh_from_db()
    assert visit.come_back_for == "the belt"


def test_a_form_sent_by_one_person_alone_is_simply_saved(client, edit, part):
    answer = client.post(edit, typed(client.get(edit), on_shelf=9))

    part.refresh_from_db()
    assert answer.status_code == 302
    assert part.on_shelf == 9


def test_the_subjects_of_a_plan_count_as_the_plan(client, machine, owner):
    plan = make_plan(
        shop=machine.shop,
        machine=machine,
        made_by=owner,
        what="Look at belts",
        kind=Plan.Kind.BELT,
        weeks=26,
        starts_on=factories.today(),
        subjects=["belt A"],
    )
    client.force_login(owner)
    page = client.get(reverse("machines:change_plan", args=[plan.pk]))
    before = version_on(page)

    change_plan(plan, subjects=["belt B"])

    assert int(version_on(client.get(reverse("machines:change_plan", args=[plan.pk])))) > int(
        before
    )


def test_two_who_set_thresholds_for_the_first_time_do_not_collide(client, shop, owner, contractor):
    client.force_login(owner)
    address = reverse("machines:thresholds", args=[shop.pk])
    page = client.get(address)
    with acting(who=contractor.pk):
        Thresholds.objects.create(shop=shop, damaged_teeth=4)
    shown = page.context["form"]
    sent = _sent(shown) | {"damaged_teeth": 3}

    told = client.post(address, sent)

    assert told.status_code == 200
    assert f"{contractor.name} changed this" in told.text
    assert Thresholds.objects.get(shop=shop).damaged_teeth == 4


def _sent(form):
    values = {name: form[name].value() for name in form.fields}
    return {name: "" if value is None else value for name, value in values.items()}


def edit_pages(shop, firm, machine, visit, contractor):
    """The address of every page on which a record that is there is edited in a form."""
    tax = factories.TaxCategoryFactory(firm=firm)
    rate = factories.RateFactory(firm=firm, tax=tax)
    charge = add_charge(visit, made_by=contractor, text="Travel", price=Decimal(5), tax=tax)
    spell = enter_spell(
        visit=visit,
        who=contractor,
        kind="work",
        began_at=timezone.now(),
        ended_at=None,
        distance=None,
        made_by=contractor,
    )
    indicator = Indicator.objects.create(
        firm=firm,
        name="Lever",
        unit="mm",
        resolution_um=Decimal(1),
        resolution_typed="0.001",
        error_um=Decimal(1),
        error_typed="0.001",
    )
    belt = factories.BeltFactory(machine=machine)
    bearing = factories.BearingFactory(machine=machine)
    assembly = factories.AssemblyFactory(machine=machine)
    part = factories.PartFactory(firm=firm, shop=None)
    visited = factories.VisitedMachineFactory(visit=visit, machine=machine)
    return {
        "shop:edit_shop": shop,
        "shop:rate": rate,
        "shop:tax": tax,
        "shop:charge": charge,
        "shop:spell": spell,
        "shop:come_back": visit,
        "shop:move_visit": visit,
        "machines:edit_belt": belt,
        "machines:edit_bearing": bearing,
        "machines:edit_assembly": assembly,
        "machines:edit_part": part,
        "machines:findings": visited,
        "machines:thresholds": shop,
        "alignment:indicator": indicator,
    }


def test_every_form_that_edits_a_record_carries_its_version(
    client, shop, firm, machine, visit, contractor
):
    client.force_login(contractor)
    pages = edit_pages(shop, firm, machine, visit, contractor)
    Shop.objects.update(kept_by=firm)  # whose people do what its owner will

    without = [
        name
        for name, record in pages.items()
        if not VERSION.search(client.get(reverse(name, args=[record.pk])).text)
    ]

    assert without == []
    for part in PARTS:
        assert VERSION.search(client.get(reverse("shop:firm_form", args=[firm.pk, part])).text)
    assert VERSION.search(client.get(reverse("shop:my_settings")).text)


def test_no_view_gives_a_form_a_record_without_stamping_it():
    folders = [settings.BASE_DIR / app for app in our_apps()]
    views = [path for folder in folders for path in folder.rglob("*views*/*.py")]
    views += [path for folder in folders for path in folder.rglob("views.py")]

    assert len(views) > 20
    for path in map(Path, views):
        text = path.read_text()
        assert text.count("instance=") <= len(re.findall(r"\bstamped\(", text)), path
