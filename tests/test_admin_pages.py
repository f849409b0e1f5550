"""Every page of the admin site opens for a superuser, with records in its lists."""

import pytest
from django.contrib import admin
from django.urls import reverse

from shop.people.models import User
from shop.sandbox.synthetic_data import Asked, make_fleet
from tests.fleet.conftest import NOW

REGISTERED = sorted(admin.site._registry, key=lambda model: model._meta.label_lower)


@pytest.fixture
def superuser(db, client):
    make_fleet(Asked(machines=2, years=1), NOW)
    user = User.objects.create_superuser("root", password="not-used-here")
    client.force_login(user)
    return user


def test_every_list_every_form_and_the_front_page_open(superuser, client, rf):
    request = rf.get("/")
    request.user = superuser
    assert client.get(reverse("admin:index")).status_code == 200
    for model, site in admin.site._registry.items():
        name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
        lists = client.get(reverse(f"{name}_changelist"))
        assert lists.status_code == 200, name
        may_add = site.has_add_permission(request)
        assert client.get(reverse(f"{name}_add")).status_code == (200 if may_add else 403), name
        if (first := model._default_manager.first()) is not None:
            changed = client.get(reverse(f"{name}_change", args=[first.pk]))
            assert changed.status_code == 200, f"{name} {first.pk}"
            assert client.get(reverse(f"{name}_history", args=[first.pk])).status_code == 200


@pytest.mark.parametrize("query", ["?q=x%00y", "?p=99999999999", "?o=1.2.-3", "?e=1", "?all="])
def test_lists_bear_odd_addresses(superuser, client, query):
    for model in REGISTERED:
        name = f"admin:{model._meta.app_label}_{model._meta.model_name}_changelist"
        assert client.get(reverse(name) + query).status_code < 500, name
