"""The apps import one another in one direction only, and the project is consistent with itself."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parent.parent
CONTRACTS = 2


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
    """A small copy of the packages' outline, with one module that does `broken`."""
    for package in (
        "shop",
        "shop/begin",
        "machines",
        "alignment",
        "alignment/geometry",
        "machines/engineering",
    ):
        (tmp_path / package).mkdir()
        (tmp_path / package / "__init__.py").write_text("")
    pure = ("hours", "lengths", "money", "strokes", "regions", "zones")
    for module in (*pure, "begin/certificate", "begin/serving"):
        (tmp_path / "shop" / f"{module}.py").write_text("")
    (tmp_path / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    module, statement = broken
    (tmp_path / module).write_text(statement + "\n")
    return tmp_path


def test_no_app_imports_upward_and_the_pure_core_knows_nothing_of_django():
    code, output = lint_imports(ROOT)
    assert code == 0, output
    assert f"Contracts: {CONTRACTS} kept, 0 broken" in output


@pytest.mark.parametrize(
    "broken",
    [
        ("shop/views.py", "import machines"),
        ("shop/views.py", "import alignment"),
        ("machines/views.py", "import alignment"),
        ("machines/views.py", "def late():\n    from alignment import geometry"),
        ("alignment/geometry/sweep.py", "from django.conf import settings"),
        ("machines/engineering/belts.py", "import django"),
        ("shop/lengths.py", "from django.db import models"),
        ("shop/money.py", "from django.conf import settings"),
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
