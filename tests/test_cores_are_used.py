"""The pure cores hold nothing that only tests hold up."""

import ast
import re
from itertools import chain
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(settings.BASE_DIR)
CORES = ("alignment/geometry", "machines/engineering")
APPS = ("alignment", "machines", "shop")


def names_used(path):
    """What a module reads by name or as an attribute, and plain names in strings, as templates
    and `getattr` are given them; a definition or an import alone is no use."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield from node.value.split(".") if node.value.isprintable() else ()


def words_of_templates():
    for path in (ROOT / "templates").rglob("*.*"):
        yield from re.findall(r"\w+", path.read_text())


@pytest.fixture(scope="module")
def used():
    modules = chain.from_iterable((ROOT / app).rglob("*.py") for app in APPS)
    return set(words_of_templates()).union(*map(names_used, modules))


def public_definitions(path):
    """(name, qualified name) of a module's functions, classes, constants and methods."""
    for node in ast.parse(path.read_text()).body:
        targets = getattr(node, "targets", [])
        for name in [getattr(node, "name", ""), *(getattr(t, "id", "") for t in targets)]:
            yield name, name
        for member in getattr(node, "body", []) if isinstance(node, ast.ClassDef) else ():
            if isinstance(member, ast.FunctionDef):
                yield member.name, f"{node.name}.{member.name}"


@pytest.mark.parametrize("core", CORES)
def test_every_public_name_of_a_core_is_used_by_the_product(core, used):
    unused = [
        f"{path.relative_to(ROOT)}: {qualified}"
        for path in sorted((ROOT / core).rglob("*.py"))
        for name, qualified in public_definitions(path)
        if name and not name.startswith("_") and name not in used
    ]
    assert not unused


def test_a_definition_alone_is_no_use(tmp_path):
    module = tmp_path / "module.py"
    module.write_text(
        "LIMIT = 3\n\ndef half(x):\n    return x / 2\n\nclass Dial:\n    def read(self): ...\n"
    )
    assert not {"LIMIT", "half", "Dial", "read"} & set(names_used(module))
    assert {name for name, _ in public_definitions(module) if name} == {
        "LIMIT",
        "half",
        "Dial",
        "read",
    }
