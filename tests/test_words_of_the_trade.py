"""Labels and pages say what the trade says; words that had to be read twice do not come back."""

import re
from pathlib import Path

from django.apps import apps
from django.utils.functional import Promise

# Each with what stands in its place.
READ_TWICE = {
    "something hit something": "crash",
    "datum of all": "master datum",
    "what became of": "status",
    "what becomes of it": "your decision",
    "condemn": "replace",
    "damaged anew": "newly damaged",
    "from what to what": "such as: …",
    "take back": "credit, revoke or withdraw",
    "taken back": "credited, revoked or withdrawn",
    "bring in": "import",
    "was brought in": "imported",
    "put it on record": "save",
    "lived to their end": "failed",
    "if any)": "optional",
    "foretold and got": "planned and measured",
    "outside today": "chance out of tolerance",
    "to run true": "to bring it true",
}


def templates():
    for path in sorted(Path("templates").rglob("*.html")):
        text = path.read_text()
        if "{% comment %}" in text:
            before, rest = text.split("{% comment %}", 1)
            text = before + rest.split("{% endcomment %}", 1)[1]
        yield str(path), " ".join(re.sub(r"{%.*?%}|{{.*?}}", " ", text, flags=re.DOTALL).split())


def labels():
    for model in apps.get_models():
        if model._meta.app_label not in ("alignment", "machines", "shop"):
            continue
        for field in model._meta.local_fields:
            said = [field.verbose_name, field.help_text, *(word for _, word in field.choices or ())]
            yield (
                str(field),
                " | ".join(str(one) for one in said if isinstance(one, (str, Promise))),
            )


def test_no_page_and_no_label_says_what_has_to_be_read_twice():
    assert not [
        f"{where} says '{words}'; expected such as '{rather}'"
        for where, text in [*templates(), *labels()]
        for words, rather in READ_TWICE.items()
        if words in text.casefold()
    ]
