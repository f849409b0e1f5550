"""Making machines on pages of the site: of a kind, as a copy, as a list; and how much is typed."""

from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.register.blueprint import of_kind, of_machine
from alignment.register.kinds import keep_as_kind
from alignment.register.machine_list import MOST_LINES, read_machines, template
from alignment.register.making import make_machines
from alignment.sheets.models import AcceptanceItem, AcceptanceSheet
from machines.kinds.catalogue import kinds_for, our_kinds
from machines.kinds.models import FirmKind
from machines.planning.plans import make_plan
from machines.register.models import Machine
from shop.web.errors import Refused
from tests import factories
from tests.fuzz.pages import Page

USUAL = "gang-slide-with-guide-bushing"
NEW = reverse("alignment:new_machine")
LIST_IN = reverse("alignment:list_in")


@pytest.fixture
def desk(client, owner):
    client.force_login(owner)
    return client


def made(shop, person, slug=USUAL, **said):
    """A machine of a kind."""
    (machine,) = make_machines(
        shop, [({"number": "7", **said}, of_kind(our_kinds()[slug]))], made_by=person
    )
    return machine


def filled_in(client, address, typed, button=None):
    """(answer, how many boxes a person filled in) of a page's form, sent as a browser would."""
    page = Page(address, client.get(address).text)
    form = next(one for one in page.forms if set(typed) <= set(one.names))
    ticked = {one.name: "on" for one in form.fields if one.kind == "checkbox" and one.choices}
    sent = form.filled_in() | ticked | typed | ({button: "yes"} if button else {})
    return client.post(form.action, sent), len(typed)


# ---------- of a kind


def test_a_five_station_three_belt_machine_takes_one_page_and_two_boxes(desk, shop):
    answer, boxes = filled_in(desk, NEW, {"number": "7", "kind": USUAL})
    machine = Machine.objects.get(number="7")
    assert (answer.url, boxes) == (machine.get_absolute_url(), 2)
    assert (machine.stations.count(), machine.belts.count()) == (5, 3)
    assert machine.name == our_kinds()[USUAL].name


def test_its_sheet_of_seven_lines_takes_one_page_and_seven_boxes(desk, shop, owner):
    """A ± limit is both limits of a signed figure, so each line takes one box."""
    machine = made(shop, owner)
    limits = ["0.005", "0.010", "0.015", "0.005", "0.020", "±0.020", "±0.015"]
    typed = {f"lines-{number}-upper": limit for number, limit in enumerate(limits)}
    address = reverse("alignment:new_sheet", args=[machine.pk])
    answer, boxes = filled_in(desk, address, typed)
    sheet = AcceptanceSheet.objects.get(machine=machine, is_current=True)
    assert (answer.url, boxes) == (sheet.get_absolute_url(), 7)
    assert [(one.lower_um, one.upper_um) for one in sheet.items.order_by("position")][-2:] == [
        (Decimal("-20"), Decimal("20")),
        (Decimal("-15"), Decimal("15")),
    ]


def test_the_kind_gives_the_chain_with_holder_look_and_ways(shop, owner):
    machine = made(shop, owner)
    chain = {one.name: one for one in machine.stations.select_related("datum")}
    sub = chain["sub-spindle"]
    assert (sub.datum.name, sub.indicator_in) == ("guide bushing housing", "station")
    assert sub.look == "to the headstock"
    assert chain["headstock spindle"].datum is None
    (way,) = chain["gang tool slide"].ways.all()
    assert way.settings["up"]["letter"] == "X1"
    assert way.settings["front"]["letter"] == "Y1"
    way.clean()


@pytest.mark.parametrize("slug", our_kinds())
def test_every_kind_makes_a_machine_that_its_own_rules_let_pass(shop, owner, slug):
    machine = made(shop, owner, slug)
    kind = our_kinds()[slug]
    records = [
        *machine.stations.all(), *machine.axes.all(), *machine.belts.all(),
        *machine.bearings.all(), *machine.assemblies.all(),
        *AcceptanceItem.objects.filter(sheet__machine=machine),
        *(way for station in machine.stations.all() for way in station.ways.all()),
    ]  # fmt: skip
    for record in records:
        record.full_clean()
    assert machine.stations.count() == len(kind.stations)
    assert not AcceptanceItem.objects.filter(sheet__machine=machine).with_limit().exists()


def test_a_second_machine_of_one_number_is_refused_and_what_was_typed_stays(desk, shop, owner):
    made(shop, owner, number="7")
    answer, _ = filled_in(desk, NEW, {"number": "7", "kind": USUAL, "serial": "S-77"})
    assert "already has a machine of that number" in answer.text
    assert 'value="S-77"' in answer.text
    assert shop.machines.count() == 1


def test_a_kind_that_was_removed_meanwhile_is_told(client, contractor, shop, firm, machine):
    client.force_login(contractor)
    kept = keep_as_kind(machine, firm=firm, made_by=contractor)
    page = Page(NEW, client.get(NEW).text)
    sent = next(one for one in page.forms if "kind" in one.names).filled_in()
    kept.delete()
    answer = client.post(NEW, sent | {"number": "8", "kind": kept.slug})
    assert "That kind is no longer there; choose another one." in answer.text


def test_a_form_sent_twice_makes_one_machine(desk, shop):
    page = Page(NEW, desk.get(NEW).text)
    sent = next(one for one in page.forms if "kind" in one.names).filled_in()
    for _ in range(2):
        desk.post(NEW, sent | {"number": "7", "kind": USUAL})
    assert shop.machines.count() == 1


def test_who_has_several_shops_chooses_one_and_none_of_another(client, contractor, firm, shop):
    second = factories.ShopFactory(name="Birch Works")
    factories.MembershipFactory(user=contractor, shop=second, role="contractor", firm=firm)
    strange = factories.ShopFactory(name="Elm Works")
    client.force_login(contractor)
    page = client.get(NEW).text
    assert "Birch Works" in page
    assert "Elm Works" not in page
    sent = {"number": "7", "kind": USUAL, "shop": strange.pk}
    assert client.post(NEW, sent).status_code == 200
    assert not Machine.objects.exists()
    assert client.get(f"{NEW}?shop={strange.pk}").status_code == 404


def test_an_operator_makes_none(client, operator):
    client.force_login(operator)
    assert client.get(NEW).status_code == 403


# ---------- a copy


def test_a_second_identical_machine_takes_one_page_and_three_boxes(desk, machine):
    address = reverse("alignment:copy_machine", args=[machine.pk])
    typed = {"number": "M2", "name": "slider left", "serial": "S-2"}
    answer, boxes = filled_in(desk, address, typed)
    copied = Machine.objects.get(number="M2")
    assert (answer.url, boxes) == (copied.get_absolute_url(), 3)


@pytest.fixture
def copied(machine, owner):
    (copy,) = make_machines(machine.shop, [({"number": "M2"}, of_machine(machine))], made_by=owner)
    return copy


def test_a_copy_has_everything_but_serial_number_and_history(machine, copied):
    for name in ("stations", "axes", "belts"):
        assert names_of(copied, name) == names_of(machine, name)
    assert (copied.model_name, copied.built) == (machine.model_name, machine.built)
    assert copied.serial == ""
    assert copied.code != machine.code
    belt = copied.belts.get(name="guide bushing belt")
    assert (belt.teeth, belt.part.number, belt.fitted_on) == (60, "GB-60", None)


def names_of(machine, what):
    return sorted(f"{one}" for one in getattr(machine, what).all())


def test_a_copy_is_held_to_the_same_limits_but_has_no_figures_of_the_factory(machine, copied):
    """They were measured on the first machine."""
    limits = ("name", "lower_um", "upper_um", "quantity", "surface")
    first, second = (
        list(AcceptanceItem.objects.filter(sheet__machine=one).values_list(*limits))
        for one in (machine, copied)
    )
    assert first == second
    assert not AcceptanceItem.objects.filter(sheet__machine=copied).exclude(factory_um=None)


def test_a_copys_datums_are_its_own_stations(machine, copied):
    datums = {one.datum.machine_id for one in copied.stations.exclude(datum=None)}
    assert datums == {copied.pk}


def test_plans_of_the_machine_begin_anew_on_the_copy(machine, owner):
    make_plan(
        shop=machine.shop, machine=machine, made_by=owner, what="way oil", kind="lubrication",
        weeks=2, starts_on=factories.at(1).date(), subjects=["guide bushing belt"],
    )  # fmt: skip
    (copy,) = make_machines(machine.shop, [({"number": "M2"}, of_machine(machine))], made_by=owner)
    plan = copy.plans.get()
    assert (plan.what, plan.weeks) == ("way oil", 2)
    assert [one.name for one in plan.subjects.all()] == ["guide bushing belt"]
    assert plan.starts_on > factories.at(1).date()


# ---------- kinds of a firm


def test_one_tap_keeps_a_machine_as_a_kind_of_the_firm(client, contractor, machine, shop):
    client.force_login(contractor)
    answer = client.post(reverse("alignment:keep_as_kind", args=[machine.pk]))
    kept = FirmKind.objects.get()
    assert answer.url == kept.get_absolute_url()
    made_of_it = made_of(shop, contractor, kept)
    for name in ("stations", "axes", "belts"):
        assert names_of(made_of_it, name) == names_of(machine, name)
    assert not AcceptanceItem.objects.filter(sheet__machine=made_of_it).with_limit().exists()


def made_of(shop, person, kept):
    (machine,) = make_machines(shop, [({"number": "K1"}, of_kind(kept.kind))], made_by=person)
    return machine


def test_a_second_kind_of_one_name_gets_a_number_behind(machine, firm, contractor):
    names = [keep_as_kind(machine, firm=firm, made_by=contractor).name for _ in range(2)]
    assert names == ["20-5", "20-5 2"]


def test_another_firm_sees_nothing_of_it(client, machine, firm, contractor, shop):
    kept = keep_as_kind(machine, firm=firm, made_by=contractor)
    rival = factories.MembershipFactory(shop=shop, role="contractor").user
    client.force_login(rival)
    assert client.get(kept.get_absolute_url()).status_code == 404
    assert kept.name not in client.get(reverse("machines:kinds")).text


def test_a_machine_made_of_a_kind_stays_when_the_kind_is_removed(client, machine, firm, contractor):
    kept = keep_as_kind(machine, firm=firm, made_by=contractor)
    machine_of_it = made_of(machine.shop, contractor, kept)
    client.force_login(contractor)
    client.post(reverse("machines:drop_kind", args=[kept.pk]))
    assert not FirmKind.objects.exists()
    assert machine_of_it.stations.count() == 5


# ---------- a list


def listed(lines, head="number,kind,like machine,serial number"):
    return "\n".join([head, *lines])


def test_forty_machines_come_in_one_file(desk, shop):
    lines = [f'1,"{our_kinds()[USUAL].name}",,S-1', *(f"{n},,1,S-{n}" for n in range(2, 41))]
    shown = desk.post(LIST_IN, {"text": listed(lines)})
    assert "Nothing is saved yet" in shown.text
    assert not Machine.objects.exists()
    form = next(one for one in Page(LIST_IN, shown.text).forms if "list_in" in one.names)
    desk.post(form.action, form.filled_in() | {"list_in": "yes"})
    assert shop.machines.count() == 40
    assert {one.stations.count() for one in shop.machines.all()} == {5}
    assert {one.serial for one in shop.machines.all()} == {f"S-{n}" for n in range(1, 41)}


def test_making_forty_asks_the_database_no_more_often_than_making_four(
    shop, owner, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    plan, counts = of_kind(our_kinds()[USUAL]), []
    for first, count in ((100, 4), (200, 40)):
        wanted = [({"number": f"{first + n}"}, plan) for n in range(count)]
        with CaptureQueriesContext(
            connection,
        ) as asked:
            make_machines(shop, wanted, made_by=owner)
        counts.append(len(asked))
    # A bulk insert is cut where a statement would hold too many values.
    assert counts[1] <= counts[0] + 10


@pytest.fixture
def rows(shop, owner):
    return lambda *lines, **more: read_machines(listed(lines, **more), shop, kinds_for(owner))


WRONG_LINES = [
    (",gang,,", "It has no number."),
    ("7,no such kind,,", "There is no kind 'no such kind'"),
    ("7,,99,", "There is no machine '99'"),
    ("7,,,", "Give either its kind or"),
    (f"7,{USUAL},1,", "Give either its kind or"),
    (f"M1,{USUAL},,", "has a machine M1 already"),
    (f"7,{USUAL},,=1+1", "begins like a formula"),
    (f"7,{USUAL},,{'S' * 41}", "longer than 40"),
]


@pytest.mark.parametrize(("line", "reason"), WRONG_LINES)
def test_a_line_says_what_is_wrong_with_it(rows, machine, line, reason):
    (row,) = rows(line)
    assert reason in " ".join(row.wrong)


def test_a_number_given_twice_names_the_line_that_has_it(rows):
    one, other = rows(f"7,{USUAL},,", f"7,{USUAL},,")
    assert (one.wrong, other.wrong) == ([], ["Line 2 has machine 7 already."])


def test_ten_thousand_lines_with_one_wrong_change_nothing_and_name_the_line(desk, shop):
    lines = [f"{n},{USUAL},," for n in range(1, MOST_LINES + 1)]
    lines[7418] = "7419,lathe,,"
    answer = desk.post(LIST_IN, {"text": listed(lines), "list_in": "yes"})
    assert "1 of 10000 lines cannot be taken" in answer.text
    assert '<td data-label="Line">7420</td>' in answer.text
    assert answer.text.count("<tr>") == 2
    assert not Machine.objects.exists()


def test_a_machine_made_meanwhile_stops_the_whole_list(shop, owner):
    plan = of_kind(our_kinds()[USUAL])
    with pytest.raises(Refused, match="has a machine 7 already"):
        make_machines(
            shop, [({"number": "6"}, plan), ({"number": "7"}, plan), ({"number": "7"}, plan)],
            made_by=owner,
        )  # fmt: skip
    assert not shop.machines.exists()


def test_the_list_to_fill_in_reads_back(shop, owner):
    kinds = kinds_for(owner)
    first, second = read_machines(template(kinds), shop, kinds)
    assert (first.wrong, second.wrong) == ([], [])
    assert second.blueprint is first.blueprint


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "Choose a file, or type the lines below."),
        ("kind\nlathe", "lacks the column number"),
        ("number,number\n1,2", "given twice"),
        ("number\n", "The list is empty"),
    ],
)
def test_a_list_that_cannot_be_read_says_why(desk, text, reason):
    assert reason in desk.post(LIST_IN, {"text": text}).text


def test_a_file_in_another_coding_is_told(desk):
    from django.core.files.uploadedfile import SimpleUploadedFile

    file = SimpleUploadedFile("machines.csv", "number\nä".encode("latin-1"))
    assert "no text file in UTF-8" in desk.post(LIST_IN, {"file": file}).text


# ---------- changed


def test_a_machines_facts_are_changed_on_its_page(desk, machine):
    address = reverse("alignment:change_machine", args=[machine.pk])
    answer, _ = filled_in(desk, address, {"name": "slider 32 mm", "built": "2016"})
    machine.refresh_from_db()
    assert answer.url == machine.get_absolute_url()
    assert (machine.name, machine.built) == ("slider 32 mm", 2016)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [({"number": ""}, "required"), ({"built": "20145"}, "no year"), ({"number": "M9"}, "already")],
)
def test_what_a_machine_cannot_be_is_refused_at_the_box(desk, machine, typed, reason):
    factories.MachineFactory(shop=machine.shop, number="M9")
    answer, _ = filled_in(desk, reverse("alignment:change_machine", args=[machine.pk]), typed)
    assert reason in answer.text
