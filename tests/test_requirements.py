"""What is installed: each range of pyproject.toml is pinned within it, each file by its hash."""

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())
RUNNING = PROJECT["project"]["dependencies"]
TESTING = PROJECT["dependency-groups"]["testing"]


def pinned(path):
    """Name to pinned versions (one for each of the Pythons where they differ), from a lock file."""
    versions = {}
    for name, version in re.findall(r"^([\w.-]+)==(\S+)", (ROOT / path).read_text(), re.MULTILINE):
        versions.setdefault(name, []).append(version)
    return versions


@pytest.mark.parametrize(
    ("ranges", "path"), [(RUNNING, "requirements.txt"), (TESTING, "tests/requirements.txt")]
)
def test_what_is_asked_for_is_pinned_within_its_range(ranges, path):
    pins = pinned(path)
    parted = [
        asked
        for asked in map(Requirement, ranges)
        if not all(
            asked.specifier.contains(version) for version in pins.get(asked.name.lower(), [""])
        )
    ]
    assert not parted, f"{path} has parted from pyproject.toml; run .ci/lock"


@pytest.mark.parametrize("path", ["requirements.txt", "tests/requirements.txt"])
def test_every_pinned_file_has_its_hash(path):
    blocks = re.split(r"^(?=[\w.-]+==)", (ROOT / path).read_text(), flags=re.MULTILINE)[1:]
    assert blocks
    assert [block.split("==")[0] for block in blocks if "--hash=sha256:" not in block] == []


def test_a_server_carries_no_testing_tool():
    assert not {Requirement(asked).name.lower() for asked in TESTING} & set(
        pinned("requirements.txt")
    )


def test_each_dependency_says_why_it_is_there():
    lines = (ROOT / "pyproject.toml").read_text().splitlines()
    for asked in [*RUNNING, *TESTING]:
        above = lines[next(i for i, line in enumerate(lines) if f'"{asked}"' in line) - 1]
        assert above.strip().startswith("# "), f"say in a line above it why {asked} is needed"


def test_both_files_pin_what_they_share_alike():
    running, testing = pinned("requirements.txt"), pinned("tests/requirements.txt")
    shared = running.keys() & testing.keys()
    assert shared
    assert {name: running[name] for name in shared} == {name: testing[name] for name in shared}


def test_the_licence_of_all_that_is_pinned_is_listed():
    section = (ROOT / "DEVELOPERS.md").read_text().split("## What it rests on")[1].split("\n## ")[0]
    listed = {
        name
        for row in re.findall(r"\| (.+) \|$", section, re.MULTILINE)
        for name in re.findall(r"[\w-]+", row)
    }
    pins = pinned("requirements.txt").keys() | pinned("tests/requirements.txt").keys()
    assert pins - listed == set()
