"""What the server's watchman is told."""

import pytest
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder

from shop.web import health

ADDRESS = "/healthz"


@pytest.fixture(autouse=True)
def _one_migration_applied(db, monkeypatch):
    """The default test database is made without migrations; expect one and note it as applied."""
    monkeypatch.setattr(health, "_expected", lambda: {("shop", "0001_initial")})
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE TABLE IF NOT EXISTS django_migrations (id integer PRIMARY KEY,"
            " app varchar(255), name varchar(255), applied timestamp)"
        )
    recorder = MigrationRecorder(connection)
    if ("shop", "0001_initial") not in recorder.applied_migrations():
        recorder.record_applied("shop", "0001_initial")


def test_a_site_that_can_work_says_so_without_a_sign_in(client):
    answer = client.get(ADDRESS)
    assert answer.status_code == 200
    assert answer.json() == {"database": True, "migrations": True, "media": True}
    assert "no-store" in answer["Cache-Control"]


def test_it_costs_one_query(client, django_assert_num_queries):
    with django_assert_num_queries(1):
        client.get(ADDRESS)


def test_a_migration_that_waits_is_told(client):
    MigrationRecorder(connection).record_unapplied("shop", "0001_initial")
    answer = client.get(ADDRESS)
    assert answer.status_code == 503
    assert answer.json() == {"database": True, "migrations": False, "media": True}


def test_a_folder_for_media_that_is_gone_is_told(client, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "gone"
    answer = client.get(ADDRESS)
    assert answer.status_code == 503
    assert answer.json() == {"database": True, "migrations": True, "media": False}


def test_a_database_that_does_not_answer_is_told_without_saying_why(client, monkeypatch):
    def refuse():
        raise OperationalError("connection to postgresql://sweepbook:hunter2@db failed")

    monkeypatch.setattr(health, "_migrations_are_applied", refuse)
    answer = client.get(ADDRESS)
    assert answer.status_code == 503
    assert answer.json() == {"database": False, "migrations": False, "media": True}


def test_it_is_only_to_be_read(client):
    assert client.post(ADDRESS).status_code == 405


def test_it_answers_where_everything_else_is_sent_to_tls(client, settings):
    settings.SECURE_SSL_REDIRECT = True
    assert client.get("/sign-in/").status_code == 301
    assert client.get(ADDRESS).status_code == 200
