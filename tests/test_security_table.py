"""The table against OWASP ASVS 5.0.0 has its 17 chapters, and what it points to is there."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SECTION = "## Against the security standard"


def table():
    return (ROOT / "DEVELOPERS.md").read_text().split(SECTION)[1].split("\n## ")[0]


def test_every_chapter_has_a_row():
    assert re.findall(r"^\| V(\d+) ", table(), re.MULTILINE) == [str(one) for one in range(1, 18)]


def test_every_file_it_names_is_there():
    named = re.findall(r"`((?:shop|tests)/[^`]+)`", table())
    assert len(named) > 20
    assert [one for one in named if not (ROOT / one).exists()] == []
