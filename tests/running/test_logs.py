"""The log: one line a record whatever people type, found by its request, without secrets."""

import io
import json
import logging
import sys

import pytest

from shop.web.logs import JsonLines, mask, request_id

SECRET = "q7Zr0mB2xKc5vN8sT1wYdF4hJ6lPaEuG3oRiXnWbLtk"


@pytest.fixture
def log():
    """What the whole site logs during a test, through the formatter the server uses."""
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    level = root.level
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    yield lambda: [json.loads(line) for line in stream.getvalue().splitlines()]
    root.removeHandler(handler)
    root.setLevel(level)


def asked(log):
    return [line for line in log() if line["from"] == "sweepbook.requests"]


def test_a_request_is_one_line_with_its_name_and_answer(client, contractor, log):
    client.force_login(contractor)
    answer = client.get("/visits/?q=private")
    (line,) = asked(log)
    assert line["path"] == "/visits/"
    assert line["status"] == 200
    assert line["person"] == contractor.pk
    assert line["request"] == answer["X-Request-ID"]
    assert "private" not in json.dumps(log())


def test_the_name_a_proxy_gave_is_kept(client, db, log):
    assert client.get("/sign-in/", headers={"X-Request-ID": "front-0001"})["X-Request-ID"] == (
        "front-0001"
    )
    assert asked(log)[0]["request"] == "front-0001"


@pytest.mark.parametrize("name", ["short", "x" * 65, "a b c d e f", 'quote"quote"', "ünïcödé-ünïc"])
def test_a_name_that_is_none_is_replaced(client, db, name):
    assert client.get("/sign-in/", headers={"X-Request-ID": name})["X-Request-ID"] != name


def test_two_requests_have_two_names(client, db):
    first, second = (client.get("/sign-in/")["X-Request-ID"] for _ in range(2))
    assert first != second
    assert request_id.get() is None


def test_what_is_said_of_a_missing_page_carries_the_request_too(client, contractor, log):
    client.force_login(contractor)
    answer = client.get("/visits/999999/")
    (line,) = [line for line in log() if line["from"] == "django.request"]
    assert line["request"] == answer["X-Request-ID"]


@pytest.mark.parametrize(
    "path",
    [
        '/visits/%0A{"level": "info", "says": "all is well"}/',
        "/visits/%0D%0Afake/",
        "/%1B[2Jcleared/",
        "/%E2%80%A8line/",
        "/visits/%00/",
    ],
    ids=["line break and a line of its own", "CR LF", "terminal escape", "U+2028", "NUL"],
)
def test_a_path_cannot_add_a_line_to_the_log(client, contractor, log, path):
    client.force_login(contractor)
    client.get(path)
    assert len(asked(log)) == 1


def test_a_username_cannot_add_a_line_to_the_log(client, db, log):
    forged = 'x\n{"level": "error", "from": "sweepbook.requests", "says": "forged"}'
    client.post("/sign-in/", {"username": forged, "password": "wrong"})
    assert [line["says"] for line in asked(log)] == ["POST /sign-in/"]
    assert not [line for line in log() if line["says"] == "forged"]


def test_a_password_typed_is_not_in_the_log(client, db, log):
    client.post("/sign-in/", {"username": "pat", "password": "hunter2-hunter2"})
    assert "hunter2" not in json.dumps(log())


def test_the_secret_of_a_calendar_is_not_in_the_log(client, db, log):
    client.get(f"/calendar/{SECRET}.ics")
    assert SECRET not in json.dumps(log())
    assert asked(log)[0]["path"] == "/calendar/***.ics"


@pytest.mark.parametrize(
    ("said", "logged"),
    [
        ("password=hunter2 given", "password=*** given"),
        ("{'password': 'hunter 2', 'name': 'Pat'}", "{'password': ***, 'name': 'Pat'}"),
        ("csrfmiddlewaretoken=abc&next=/", "csrfmiddlewaretoken=***&next=/"),
        ("Authorization: Bearer abc.def", "Authorization: ***"),
        ("sessionid=abc; theme=dark", "sessionid=***; theme=dark"),
        ("postgresql://sweepbook:hunter2@db/x", "postgresql://sweepbook:***@db/x"),
        (f"Not Found: /reset/MQ/{SECRET}/", "Not Found: /reset/MQ/***/"),
        ("GET /machines/12/history/", "GET /machines/12/history/"),
        ("no secrets here, 3 of 4", "no secrets here, 3 of 4"),
    ],
)
def test_secrets_are_masked_and_the_rest_is_left_alone(said, logged):
    assert mask(said) == logged


def test_an_error_is_one_line_with_its_trace_masked():
    try:
        raise ValueError(f"bad token={SECRET}\nsecond line")
    except ValueError:
        record = logging.getLogger("x").makeRecord(
            "x", logging.ERROR, __file__, 1, "it broke", (), sys.exc_info()
        )
    line = JsonLines().format(record)
    assert "\n" not in line
    assert SECRET not in line
    assert "second line" in json.loads(line)["trace"]
