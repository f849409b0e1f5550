"""What the code looks like from outside: lines by room, chains of imports, names that stand twice.

Everything is read from the files; nothing of the project is run.
"""

import ast
from collections import Counter
from functools import cache
from pathlib import Path

import grimp

ROOT = Path(__file__).resolve().parents[2]
APPS = ("shop", "machines", "alignment")
MODEL_TABLES = "models"


def sources():
    """Every module of the product but its migrations, as (path, text)."""
    for app in APPS:
        for path in sorted((ROOT / app).rglob("*.py")):
            if "migrations" not in path.parts:
                yield path, path.read_text()


def lines_by_room():
    """{room: (files, lines)}; a room is a package right below an app, or the app's own root."""
    files, lines = Counter(), Counter()
    for path, text in sources():
        app, *inside = path.relative_to(ROOT).parts
        room = f"{app}/{inside[0]}/" if len(inside) > 1 else f"{app}/"
        files[room] += 1
        lines[room] += text.count("\n")
    return {room: (files[room], lines[room]) for room in sorted(files)}


@cache
def graph():
    return grimp.build_graph(*APPS, cache_dir=None)


def longest_chain():
    """The longest chain of modules of which each imports the next; what imports in a circle within
    a room's own models counts once."""
    seen, on_the_way = {}, set()

    def chain_from(module):
        if module in seen:
            return seen[module]
        if module in on_the_way:
            return []
        on_the_way.add(module)
        imported = sorted(graph().find_modules_directly_imported_by(module))
        below = (chain_from(one) for one in imported)
        seen[module] = [module, *max(below, key=len, default=[])]
        on_the_way.discard(module)
        return seen[module]

    return max((chain_from(module) for module in sorted(graph().modules)), key=len)


def names_that_stand_twice():
    """{class name: the modules that define it}, for those that more than one does."""
    places = {}
    for path, text in sources():
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        for node in ast.parse(text).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places.setdefault(node.name, []).append(module)
    return {name: where for name, where in sorted(places.items()) if len(where) > 1}


def classes_that_meet():
    """(class name, module) for each module that imports, or defines and imports, two of a name."""
    return [
        (name, module)
        for name, places in names_that_stand_twice().items()
        for module in sorted(graph().modules)
        if len({module, *graph().find_modules_directly_imported_by(module)} & set(places)) > 1
    ]


def hook_entries():
    """{name of a list of hooks in the settings: how many dotted paths it holds}."""
    tree = ast.parse((ROOT / "shop/settings.py").read_text())
    return {
        node.targets[0].id: count
        for node in tree.body
        if isinstance(node, ast.Assign) and (count := _paths_in(node.value))
    }


def _paths_in(value):
    texts = (one.value for one in ast.walk(value) if isinstance(one, ast.Constant))
    return sum(
        isinstance(text, str) and text.split(".")[0] in APPS and text.count(".") >= 2
        for text in texts
    )
