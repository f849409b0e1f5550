"""A form sent twice makes one record, whatever it makes."""

import pytest
from django.urls import reverse

from alignment.sweeps.models import Indicator
from machines.drive.models import Assembly, Bearing, Belt, Part
from shop.billing.models import Rate, TaxCategory
from shop.record import our_models
from shop.web.models import SentForm
from tests import factories

pytestmark = pytest.mark.django_db

# Records that are entered in a form of their own, but keep no id of it: their page keeps it
# (`shop.web.idempotency`).
BY_THE_PAGE = {
    "Rate",
    "TaxCategory",
    "Part",
    "Belt",
    "Bearing",
    "Assembly",
    "Indicator",
    "ToothPhoto",
}
# Records no form makes by itself.
MADE_WITH_ANOTHER = {
    "AcceptanceItem": "lines of a sheet, which has an id",
    "BeltTension": "of a belt inspection, which has an id",
    "CheckLine": "of an incident taken up at a visit, once for each",
    "Document": "one for each visit, statement and quote",
    "Evidence": "of a recommendation",
    "IncidentPhoto": "of an incident, which has an id",
    "IncidentStation": "of an incident, which has an id",
    "NumberSeries": "counted up by what takes a number",
    "PlanSubject": "of a plan, which has an id",
    "ProposedDay": "of a proposal, which has an id",
    "QuoteItem": "of a quote, which has an id",
    "QuoteLine": "of a quote, which has an id",
    "Reading": "of a sweep",
    "SentForm": "it is the id of a form",
    "Signature": "one of each party for each visit",
    "SignedRecord": "written by signing, once for each visit",
    "StatementLine": "of a statement, which has an id",
    "StatementTax": "of a statement, which has an id",
    "Standstill": "one at a time for each machine",
    "Sweep": "of a check, which has an id",
    "ToothFinding": "of a belt inspection, which has an id",
    "VisitedMachine": "a machine once for each visit",
    "WantedWork": "one of each plan and machine for each visit or proposal",
}
SET_NOT_ADDED = {
    "Customer": "a firm's notes on a shop, one for each, made with the shop",
    "FirmMembership": "once in a firm at a time",
    "Pin": "one for each person",
    "PinTries": "one count for each device and person",
    "SignIn": "one for each session",
    "Tally": "one count for each thing",
    "AdjustingWay": "takes the place of the one of its kind",
    "StationMover": "one for each station and axis",
    "FeedAddress": "one for each person; a new one takes its place",
    "ReminderSent": "one of each key for each person",
    "OutgoingMail": "one of each key; it is made with what it tells of",
    "WaitingPhoto": "made with its incident, which has an id of its own",
    "Thresholds": "one for each shop",
}
# Entered by whoever runs the site, in the admin.
IN_THE_ADMIN = {
    "Axis",
    "Firm",
    "Machine",
    "Membership",
    "Shop",
    "Station",
    "User",
    "User_groups",
    "User_user_permissions",
}
WRITTEN_BY_THE_SITE = {
    "Change",
    "ChainLink",
    "ChainHead",
    "ChangeCounter",
    "RefreshState",
    "DueTime",
    "MachineRisk",
}


def test_every_record_that_a_form_makes_is_made_once():
    known = {*BY_THE_PAGE, *MADE_WITH_ANOTHER, *SET_NOT_ADDED, *IN_THE_ADMIN, *WRITTEN_BY_THE_SITE}
    unknown = [
        model.__name__
        for model in our_models()
        if model.__name__ not in known
        and "entry_id" not in {field.name for field in model._meta.fields}
    ]

    assert unknown == [], (
        "give it an entry_id, or its page @sent_once, or say here why it needs none"
    )


@pytest.fixture
def parent(firm, machine):
    return {"firm": firm.pk, "machine": machine.pk}


@pytest.fixture
def tax(firm):
    return factories.TaxCategoryFactory(firm=firm)


FORMS = {
    "shop:add_rate": ("firm", Rate, {"kind": "fixed", "name": "Oil", "unit": "pc", "price": "5"}),
    "shop:add_tax": ("firm", TaxCategory, {"name": "Reduced", "code": "S", "percent": "7"}),
    "machines:new_belt": (
        "machine",
        Belt,
        {"name": "belt X", "drives": "a to b", "profile": "5M", "pitch_mm": "5", "teeth": "80"}
        | {"width_mm": "15"},
    ),
    "machines:new_bearing": (
        "machine",
        Bearing,
        {"name": "front", "kind": "ball", "contact_deg": "0"},
    ),
    "machines:new_assembly": ("machine", Assembly, {"kind": "jack shaft"}),
    "machines:new_part": (
        None,
        Part,
        {"number": "B-1", "description": "belt", "minimum": 0, "on_shelf": 0, "in_van": 0},
    ),
    "alignment:new_indicator": (
        None,
        Indicator,
        {"name": "lever", "serial": "L-9", "unit": "mm", "resolution": "0.001", "error": "0.003"},
    ),
}


@pytest.mark.parametrize("name", FORMS)
def test_a_form_sent_twice_makes_one_and_leads_where_the_first_led(
    client, contractor, parent, tax, name
):
    of, model, typed = FORMS[name]
    address = reverse(name, args=[parent[of]] if of else [])
    client.force_login(contractor)
    form = client.get(address).context["form"]
    sent = {key: form[key].value() for key in form.fields}
    sent = {key: "" if value is None else value for key, value in sent.items()} | typed
    if "tax" in sent:
        sent["tax"] = tax.pk
    if name == "machines:new_part":
        sent["keeper"] = client.get(address).context["keeper_form"].fields["keeper"].choices[0][0]
    before = model.objects.count()

    first = client.post(address, sent)
    second = client.post(address, sent)

    assert first.status_code == 302, first.context["form"].errors
    assert model.objects.count() == before + 1
    assert (second.status_code, second.url) == (302, first.url)


def test_a_form_that_was_refused_can_be_sent_again(client, contractor, firm):
    client.force_login(contractor)
    address = reverse("machines:new_part")
    page = client.get(address)
    typed = {"description": "belt", "minimum": 0, "on_shelf": 0, "in_van": 0}
    typed |= {
        "entry_id": page.context["form"]["entry_id"].value(),
        "keeper": page.context["keeper_form"].fields["keeper"].choices[0][0],
    }

    assert client.post(address, typed | {"number": ""}).status_code == 200
    assert SentForm.objects.count() == 0
    assert client.post(address, typed | {"number": "B-9"}).status_code == 302
    assert Part.objects.get().number == "B-9"


def test_another_person_s_form_is_not_taken_for_one_s_own(client, contractor, shop, firm):
    entry_id = "6f9619ff-8b86-4d01-b42d-00cf4fc964ff"
    other = factories.UserFactory(username="another")
    SentForm.objects.create(entry_id=entry_id, sent_by=other, led_to="/")
    client.force_login(contractor)
    keeper = client.get(reverse("machines:new_part")).context["keeper_form"].fields["keeper"]

    client.post(
        reverse("machines:new_part"),
        {"number": "B-1", "description": "belt", "minimum": 0, "on_shelf": 0, "in_van": 0}
        | {"entry_id": entry_id, "keeper": keeper.choices[0][0]},
    )

    assert Part.objects.count() == 1
