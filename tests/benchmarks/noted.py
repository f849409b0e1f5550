"""What browser tests note while they walk, when a command asks them to."""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NOTES = "SWEEPBOOK_NOTES"


def asked_for():
    return NOTES in os.environ


def note(**what):
    """One more note, where they are asked for."""
    if asked_for():
        with Path(os.environ[NOTES]).open("a") as file:
            file.write(json.dumps(what) + "\n")


def notes_of(test):
    """What a file of browser tests noted, one dict each; ends with pytest's exit code where one
    failed."""
    with tempfile.TemporaryDirectory() as folder:
        notes = Path(folder) / "notes"
        command = [sys.executable, "-m", "pytest", "-n", "0", "-m", "browser", test]
        done = subprocess.run(command, cwd=ROOT, check=False, env=os.environ | {NOTES: str(notes)})
        if done.returncode:
            sys.exit(done.returncode)
        return [json.loads(line) for line in notes.read_text().splitlines()]
