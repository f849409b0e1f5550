"""The apps import one another in one direction only, and the project is consistent with itself."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parent.parent
CONTRACTS = 5
APPS = ("shop", "machines", "alignment")


def lint_imports(folder):
    """Run the contracts of `folder`'s pyproject.toml on its packages; returns (code, output)."""
    command = "from importlinter.cli import lint_imports_command as lint; lint()"
    config = str(folder / "pyproject.toml")
    run = subprocess.run(
        [sys.executable, "-c", command, "--config", config, "--no-cache"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )
    return run.returncode, run.stdout + run.stderr


def toy(tmp_path, broken):
    """A small copy of the outline that the contracts name, with one module that does `broken`."""
    text = (ROOT / "pyproject.toml").read_text()
    contracts = tomllib.loads(text)["tool"]["importlinter"]["contracts"]
    for contract in contracts:
        for container in contract.get("containers", ()):
            for layer in " | ".join(contract["layers"]).split(" | "):
                _package(tmp_path / container / layer)
    for pure in next(one["source_modules"] for one in contracts if "source_modules" in one):
        path = tmp_path.joinpath(*pure.split("."))
        _package(path.parent)
        if not path.is_dir():
            path.with_suffix(".py").write_text("")
    (tmp_path / "pyproject.toml").write_text(text)
    module, statement = broken
    _package((tmp_path / module).parent)
    (tmp_path / module).write_text(statement + "\n")
    return tmp_path


def _package(folder):
    """A package of that name, and those it lies in."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "__init__.py").touch()
    if folder.name not in APPS:
        _package(folder.parent)


def test_no_app_imports_upward_and_the_pure_core_knows_nothing_of_django():
    code, output = lint_imports(ROOT)
    assert code == 0, output
    assert f"Contracts: {CONTRACTS} kept, 0 broken" in output


@pytest.mark.parametrize(
    "broken",
    [
        ("shop/views.py", "import machines"),
        ("shop/people/access.py", "from shop.billing import money"),
        ("machines/register/meters.py", "from machines.drive import lives"),
        ("alignment/sheets/layouts.py", "from alignment.sweeps import measuring"),
        ("shop/views.py", "import alignment"),
        ("machines/views.py", "import alignment"),
        ("machines/views.py", "def late():\n    from alignment import geometry"),
        ("alignment/geometry/measure/sweep.py", "from django.conf import settings"),
        ("machines/engineering/belts.py", "import django"),
        ("shop/lengths.py", "from django.db import models"),
        ("shop/billing/money.py", "from django.conf import settings"),
    ],
    ids=lambda broken: f"{broken[0]}: {broken[1].splitlines()[-1].strip()}",
)
def test_the_contracts_catch(tmp_path, broken):
    code, output = lint_imports(toy(tmp_path, broken))
    assert code == 1, output
    assert "1 broken" in output


def test_the_contracts_let_a_clean_outline_pass(tmp_path):
    code, output = lint_imports(toy(tmp_path, ("alignment/views.py", "import machines, shop")))
    assert code == 0, output


@pytest.mark.django_db
def test_every_model_change_has_its_migration():
    call_command("makemigrations", check=True, dry_run=True)


def test_the_project_passes_the_framework_s_own_checks():
    call_command("check", fail_level="WARNING")
