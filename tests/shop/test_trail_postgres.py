"""On PostgreSQL the site's database user can be denied the right to change the trail at all."""

import pytest
from django.db import ProgrammingError, connection, transaction

from machines.drive.models import Part
from shop.audit.models import ChainLink, Change
from shop.records.verifying import chain_troubles
from tests.shop.test_trail import signature_of

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no users"),
]

TRAIL = ("shop_change", "shop_chainlink", "shop_chainhead")


@pytest.fixture
def as_the_site(shop, visit):
    """The rest of the test runs as a user with the rights that DEVELOPERS.md gives the site's."""
    with connection.cursor() as cursor:
        cursor.execute("CREATE ROLE site")
        cursor.execute(
            "GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO site"
        )
        cursor.execute("GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO site")
        cursor.execute(f"REVOKE UPDATE, DELETE, TRUNCATE ON {', '.join(TRAIL)} FROM site")
        cursor.execute("SET LOCAL ROLE site")


@pytest.mark.parametrize("table", TRAIL)
@pytest.mark.parametrize("sql", ["DELETE FROM {}", "UPDATE {} SET {}", "TRUNCATE {}"])
def test_the_site_s_user_may_not_change_the_trail(as_the_site, table, sql):
    column = "record = ''" if table == "shop_change" else "sha256 = ''"

    with (
        pytest.raises(ProgrammingError, match=r"permission denied|must be owner"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql.format(table, column))


def test_what_the_site_s_user_changes_is_trailed_and_linked(as_the_site, shop, visit):
    part = Part.objects.create(shop=shop, number="B-1", description="belt")
    before = ChainLink.objects.count()
    signature_of(visit)
    connection.check_constraints()

    assert Change.objects.filter(record=f"machines_part:{part.pk}").exists()
    assert ChainLink.objects.count() == before + 1
    assert list(chain_troubles()) == []


def test_no_trailed_table_is_emptied_at_one_stroke(shop):
    with (
        pytest.raises(Exception, match="the trail of changes is only added to"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("TRUNCATE shop_membership")
