"""Every table is in a shop's archive, reached from the shop, or stays for a reason."""

import pytest
from django.apps import apps
from django.core.exceptions import FieldError

from shop.audit.archive_rules import label_of, whole_shop
from shop.people.models import Shop, User
from shop.record import Goes, Named, Stays

SCOPE = whole_shop()
ALL = sorted(apps.get_models(include_auto_created=True), key=label_of)
each = pytest.mark.parametrize("model", ALL, ids=label_of)
# Words in a field's name that promise a secret.
SECRETS = ("password", "secret", "token", "pin", "totp", "recovery", "session_key")


@each
def test_a_table_goes_or_stays_for_a_reason(model):
    rule = SCOPE.rules.get(model)
    assert isinstance(rule, Goes | Named | Stays), (
        f"{model._meta.label} has no rule: say what becomes of it"
    )
    if isinstance(rule, Stays):
        assert len(rule.why) > 10


@each
def test_the_way_from_a_row_to_its_shop_is_one(model, db):
    if isinstance(SCOPE.rules[model], Stays):
        return
    try:
        SCOPE.rows_of(model, Shop(pk=1)).count()
    except FieldError as error:
        pytest.fail(str(error))


@each
def test_what_goes_names_only_rows_that_go(model):
    """A reference that must be there leads to a table that goes: else no row could be put back."""
    if isinstance(SCOPE.rules[model], Stays):
        return
    loose = {one.ct_field for one in model._meta.private_fields if hasattr(one, "ct_field")}
    left = [
        field.name
        for field in SCOPE.fields_of(model)
        if field.is_relation
        and not field.null
        and field not in SCOPE.references_of(model)
        and field.name not in loose
    ]
    assert left == []


@each
def test_no_field_that_goes_holds_a_secret(model):
    if isinstance(SCOPE.rules[model], Stays):
        return
    names = [field.name for field in SCOPE.fields_of(model)]
    assert [name for name in names if any(word in name.split("_") for word in SECRETS)] == []


def test_of_a_person_no_rights_and_no_password_leave():
    names = {field.name for field in SCOPE.fields_of(User)}
    assert not names & {"password", "is_staff", "is_superuser", "last_login"}


def test_no_rule_is_for_a_table_that_is_gone():
    assert set(SCOPE.rules) == set(ALL)
