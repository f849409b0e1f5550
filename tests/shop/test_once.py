"""What a page asks for again and again it asks once; a request that changes records, each time."""

import pytest
from django.http import HttpResponse

from shop.people.access import role_at
from shop.people.memberships import change_role
from shop.people.models import Role
from shop.web.request_memo import RequestMemo
from tests import factories

pytestmark = pytest.mark.django_db


def answering(view):
    def answer(request):
        view()
        return HttpResponse()

    return RequestMemo(answer)


def test_a_page_asks_once_what_somebody_may_do_at_a_shop(
    rf, owner, shop, django_assert_num_queries
):
    def page():
        assert [role_at(owner, shop) for _ in range(4)] == [Role.OWNER] * 4

    with django_assert_num_queries(1):
        answering(page)(rf.get("/"))


def test_what_is_no_member_is_asked_once_too(rf, shop, django_assert_num_queries):
    stranger = factories.UserFactory()

    def page():
        assert [role_at(stranger, shop) for _ in range(3)] == [None] * 3

    with django_assert_num_queries(1):
        answering(page)(rf.get("/"))


def test_each_shop_and_each_person_is_asked_of(rf, owner, operator, shop):
    elsewhere = factories.ShopFactory()

    def page():
        assert role_at(owner, shop) == Role.OWNER
        assert role_at(operator, shop) == Role.OPERATOR
        assert role_at(owner, elsewhere) is None

    answering(page)(rf.get("/"))


def test_a_change_of_place_shows_within_the_request_that_makes_it(rf, operator, shop):
    def act():
        assert role_at(operator, shop) == Role.OPERATOR
        change_role(operator.memberships.current().get(shop=shop), Role.OWNER)
        assert role_at(operator, shop) == Role.OWNER

    answering(act)(rf.post("/"))


def test_the_next_page_asks_anew(rf, operator, shop):
    seen = []
    page = answering(lambda: seen.append(role_at(operator, shop)))
    page(rf.get("/"))
    change_role(operator.memberships.current().get(shop=shop), Role.OWNER)
    page(rf.get("/"))
    assert seen == [Role.OPERATOR, Role.OWNER]
