"""People read templates too: no line too long to see whole, no block tags nested too deep."""

import re
from pathlib import Path

import pytest
from django.conf import settings

TEMPLATES = Path(settings.BASE_DIR) / "templates"
LONGEST_LINE, DEEPEST = 120, 4
NESTING = re.compile(r"{%\s*(end)?(?:if|for|with)\b")


def depth_of(text):
    """How deep if, for and with stand in each other at the deepest."""
    depth = deepest = 0
    for ends in NESTING.findall(text):
        depth += -1 if ends else 1
        deepest = max(depth, deepest)
    return deepest


def texts():
    for path in sorted(TEMPLATES.rglob("*.*")):
        yield path.relative_to(TEMPLATES), path.read_text()


def test_no_line_of_a_template_is_too_long():
    assert not [
        f"{name}:{number}"
        for name, text in texts()
        for number, line in enumerate(text.splitlines(), start=1)
        if len(line) > LONGEST_LINE
    ]


def test_no_template_nests_too_deep():
    assert not [str(name) for name, text in texts() if depth_of(text) > DEEPEST]


@pytest.mark.parametrize(
    ("text", "depth"),
    [
        ("plain", 0),
        ("{% if a %}{% for b in c %}{% endfor %}{% endif %}", 2),
        ("{% if a %}{% endif %}{% if b %}{% else %}{% endif %}", 1),
        ("{% ifchanged %}{% url 'x' %}{% endifchanged %}", 0),
    ],
)
def test_depth_counts_what_stands_within(text, depth):
    assert depth_of(text) == depth
