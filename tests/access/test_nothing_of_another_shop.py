"""No page, list, file, choice or mail of a shop shows anything of another one.

Every name at the foreign shop holds its mark, so that a page that shows any of them can be told.
"""

import pytest
from django import forms
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from shop.calendar.feed import calendar_of
from shop.calendar.reminders import reminders_of

from .rules import ALL, CONTRACTOR, OPERATOR, OWNER, RULES

MEMBERS = [OWNER, OPERATOR, CONTRACTOR]


def opened(client, world, role, query=None):
    """(name, address, response) of every address with records that the role may open."""
    client.force_login(world.people[role])
    for name, rule in RULES.items():
        if rule.status("get", role) == "in" and not rule.public:
            address = reverse(name, args=world.args(rule.records))
            yield name, address, client.get(address, query)


def content_of(response):
    return response.getvalue() if response.streaming else response.content


@pytest.mark.parametrize("role", MEMBERS)
@pytest.mark.parametrize("query", [None, {"_export": "csv"}], ids=["page", "csv"])
def test_no_page_or_list_names_another_shop(client, world, foreign, role, query):
    mark = foreign.mark.encode()
    pages = list(opened(client, world, role, query))
    assert [name for name, _, response in pages if mark in content_of(response)] == []
    assert any(world.mark.encode() in content_of(response) for _, _, response in pages)


@pytest.mark.parametrize("role", MEMBERS)
def test_naming_another_shop_s_record_in_a_query_shows_nothing_of_it(client, world, foreign, role):
    numbers = {
        "visit": foreign.visit.pk,
        "corrects": foreign.check.pk,
        "incident": foreign.incident.pk,
        "from": foreign.sheet.pk,
        "shop": foreign.shop.pk,
        "machine": foreign.machine.pk,
        "recommendation": foreign.recommendation.pk,
    }
    mark = foreign.mark.encode()
    for name, address, response in opened(client, world, role, numbers):
        assert response.status_code in {200, 302, 400, 404}, (name, address)
        assert mark not in content_of(response), (name, address)


@pytest.mark.parametrize("role", MEMBERS)
def test_feed_and_reminders_tell_of_the_own_shop_only(world, foreign, role):
    person = world.people[role]
    told = str(reminders_of(person, timezone.now())) + calendar_of(person, base="/").decode()
    assert foreign.mark not in told


def forms_of(response):
    """Every form that a page was drawn with."""
    seen = {}
    for context in response.context or ():
        for value in context.flatten().values() if hasattr(context, "flatten") else ():
            for one in value.forms if isinstance(value, forms.BaseFormSet) else (value,):
                if isinstance(one, forms.BaseForm):
                    seen[id(one)] = one
    return seen.values()


def record_choices(form):
    """(name, field) of the boxes of a form in which a record is chosen."""
    return [
        (form.add_prefix(name), field)
        for name, field in form.fields.items()
        if isinstance(field, forms.ModelChoiceField)
    ]


@pytest.mark.parametrize("role", [OWNER, CONTRACTOR])
def test_no_form_offers_or_takes_a_record_of_another_shop(client, world, foreign, role):
    tried = 0
    for name, address, response in opened(client, world, role):
        for form in forms_of(response):
            for box, field in record_choices(form):
                strange = record_of(foreign, field.queryset.model)
                with pytest.raises(forms.ValidationError):
                    field.clean([strange.pk] if is_several(field) else strange.pk)
                if RULES[name].status("post", role) == "in":
                    with transaction.atomic():
                        sent = client.post(address, {box: strange.pk})
                        transaction.set_rollback(True)
                    assert sent.status_code == 200, (name, box)
                    assert foreign.mark.encode() not in sent.content, (name, box)
                tried += 1
    assert tried > 10


def is_several(field):
    return isinstance(field, forms.ModelMultipleChoiceField)


def record_of(world, model):
    """The world's record of a model."""
    records = [one for one in vars(world).values() if isinstance(one, model)]
    return records[0] if records else world.people[OPERATOR]


def test_the_cast_covers_every_role_at_a_shop(world):
    assert set(world.people) >= ALL
