"""What the device works out while there is no server, held against the Python core.

The same sweeps, drawn with a fixed seed, are worked out by both: the script in Node where there is
one, and in Chromium by `tests/browser/test_fit_in_the_browser.py`. Lengths are read by both, too.
"""

import json
import math
import shutil
import subprocess
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from django.contrib.staticfiles import finders
from scipy import special

from alignment.geometry.measure.conditions import Conditions
from alignment.geometry.measure.judging import judge
from alignment.geometry.measure.outcome import face_outcome, sweep_outcome
from alignment.geometry.measure.quantity import SIGNED, in_dial
from alignment.geometry.measure.sweep import fit_sweep
from alignment.geometry.measure.verdict import Rule, coverage_factor
from alignment.sheets.directions import (
    SHORT,
    direction_words,
    figure_shown,
    plus_of,
    short_way,
)
from shop.lengths import COUNTS, LONGEST_UM, TypedLength, format_length, read_length
from shop.rounding import rounded

CLOSE = 1e-9
SWEEPS = 2500
FIT, LENGTHS = "alignment/fit.js", "shop/lengths.js"
WORDS = "alignment/sweep_words.js"
DIVISION = TypedLength(Decimal("12.7"), "in", "0.0005 in")  # of an inch dial
NODE = shutil.which("node")
needs_node = pytest.mark.skipif(NODE is None, reason="no node on the PATH; Chromium does it")

# Work for the page or for Node: both scripts are there, `given` is what was asked.
EACH = """given.map(([asked, known]) => {
    const found = fit.workOut(asked, known);
    const isShown = (um) => /[1-9]/.test(lengths.show(um, "mm"));
    return found && { ...found, words: fit.directionWords(found.frontUm, found.upUm, isShown) };
})"""


def in_node(expression, asked):
    fit, lengths, words = (
        json.dumps(str(Path(finders.find(name)))) for name in (FIT, LENGTHS, WORDS)
    )
    script = (
        f"const fit = require({fit}), lengths = require({lengths});"
        f"const words = require({words});"
        "const given = JSON.parse(require('fs').readFileSync(0, 'utf8'));"
        f"process.stdout.write(JSON.stringify({expression}));"
    )
    run = subprocess.run(
        [NODE, "-e", script], input=json.dumps(asked), capture_output=True, text=True, check=True
    )
    return json.loads(run.stdout)


def drawn(rng):
    """(asked, known) as the script takes them: a setting somebody may meet at a machine."""
    surface = str(rng.choice(["bore", "boss", "face"], p=[0.45, 0.4, 0.15]))
    planes = 1 if surface == "face" else int(rng.choice([1, 2], p=[0.75, 0.25]))
    tilts = ["tilt", "tilt front", "tilt up"]
    quantities = ["offset", "front", "up", *(["tir"] if planes == 1 else tilts)]
    quantity = str(rng.choice(tilts if surface == "face" else quantities))
    limits = sorted(rng.uniform(-30, 30, 2)) if quantity in SIGNED else [None, rng.uniform(1, 40)]
    if quantity in SIGNED and rng.random() < 0.3:
        limits[int(rng.integers(2))] = None
    if rng.random() < 0.1:
        limits = [None, None]
    asked = {
        "quantity": quantity,
        "surface": surface,
        "signs": [int(one) for one in rng.choice([-1, 1], 2)],
        "sign": int(rng.choice([-1, 1])) if quantity in SIGNED else 1,
        "lowerUm": limits[0],
        "upperUm": limits[1],
        "rule": str(rng.choice([rule.value for rule in Rule])),
        "perMm": float(rng.choice([100, 300, 25.4])),
        "atMm": None if rng.random() < 0.5 else float(rng.uniform(0, 200)),
        "radiusMm": float(rng.uniform(10, 80)),
        "planes": [_plane(rng, surface, 40.0 * at) for at in range(planes)],
    }
    return asked, _known(rng)


def _plane(rng, surface, z_mm):
    spots = int(rng.choice([3, 4, 4, 5, 6, 8, 8, 12]))
    even = np.arange(spots) * 360 / spots
    angles = even if rng.random() < 0.7 else (even + rng.uniform(-20, 20, spots)) % 360
    right, up = rng.normal(0, 15, 2)
    oval = rng.choice([0.0, 10.0])
    noise = float(rng.choice([0.3, 2.0]))
    sweeps = []
    for _ in range(int(rng.choice([1, 1, 1, 2, 3]))):
        theta = np.radians(angles)
        wave = right * np.sin(theta) + up * np.cos(theta) + 0.2 * oval * np.cos(2 * theta)
        readings = (-wave if surface == "bore" else wave) + rng.normal(0, noise, spots)
        readings = np.round(readings - readings[0], 1)  # as a dial is read
        sweeps.append({"angles": angles.tolist(), "readings": readings.tolist()})
    return {"zMm": z_mm, "sweeps": sweeps}


def _known(rng):
    some = lambda most, chance=0.5: float(rng.uniform(0, most)) if rng.random() < chance else 0.0  # noqa: E731
    error = some(4)
    return {
        "errorUm": error,
        "errorTravelUm": float(rng.choice([100, 200])) if error and rng.random() < 0.4 else None,
        "resolutionUm": some(2),
        "typedUm": some(2, 0.3),
        "sagUm": some(8, 0.4),
        "sagUUm": some(1, 0.3),
        "leverDeg": some(40, 0.3),
        "leverErrorDeg": some(5, 0.3),
        "temperatureK": some(3, 0.3),
        "lengthMm": some(200, 0.5),
        "formUm": some(6) if rng.random() < 0.6 else None,
    }


def by_the_core(asked, known):
    """The same by the functions that the server works it out with."""

    def error_over(sweeps):
        if known["errorTravelUm"] is None:
            return known["errorUm"]
        values = [0.0, *(reading for sweep in sweeps for reading in sweep["readings"])]
        return known["errorUm"] * (max(values) - min(values)) / known["errorTravelUm"]

    conditions = Conditions(
        resolution_um=known["resolutionUm"],
        typed_u_um=known["typedUm"],
        sag_u_um=known["sagUUm"],
        lever_deg=known["leverDeg"],
        lever_error_deg=known["leverErrorDeg"],
        temperature_k=known["temperatureK"],
        length_mm=known["lengthMm"],
        form_um=known["formUm"],
    )
    planes = [
        [
            fit_sweep(
                sweep["angles"],
                sweep["readings"],
                surface="boss" if asked["surface"] == "face" else asked["surface"],
                sag_um=known["sagUm"],
                lever_deg=known["leverDeg"],
                reading_u_um=replace(conditions, error_um=error_over([sweep])).reading_u_um,
            )
            for sweep in plane["sweeps"]
        ]
        for plane in asked["planes"]
    ]
    every = [sweep for plane in asked["planes"] for sweep in plane["sweeps"]]
    conditions = replace(conditions, error_um=error_over(every))
    quantity = in_dial(asked["quantity"])
    if asked["surface"] == "face":
        outcome = face_outcome(planes[0], quantity, conditions, asked["radiusMm"], asked["perMm"])
    else:
        z_mm = [plane["zMm"] for plane in asked["planes"]] if len(planes) > 1 else None
        where = {"z_mm": z_mm, "at_mm": asked["atMm"], "per_mm": asked["perMm"]}
        outcome = sweep_outcome(planes, quantity, conditions, **where)
    limits = asked["upperUm"], asked["lowerUm"]
    judged = judge(outcome, asked["quantity"], *limits, Rule(asked["rule"]), sign=asked["sign"])
    return planes, outcome, judged


def expected(asked, known):
    planes, outcome, judged = by_the_core(asked, known)
    fits = [fit for plane in planes for fit in plane]
    front, up = asked["signs"][0] * outcome.right_um, asked["signs"][1] * outcome.up_um
    is_known = math.isfinite(outcome.budget.expanded)
    numbers = {
        "valueUm": asked["sign"] * outcome.value_um,
        "frontUm": front,
        "upUm": up,
        "uUm": outcome.budget.u if is_known else None,
        "expandedUm": outcome.budget.expanded if is_known else None,
        "guardUm": judged.guard_um,
        "formUm": max(fit.form_um for fit in fits),
        "tirUm": max(fit.tir_um for fit in fits),
    }
    return numbers, str(judged.verdict), direction_words(front, up, "mm")


def is_close(found, wanted):
    if found is None or wanted is None:
        return found is wanted
    return abs(found - wanted) <= CLOSE * max(1.0, abs(wanted))


def differences(cases, answers):
    """What the device says otherwise than the core, case by case; both should say nothing else."""
    wrong = []
    for (asked, known), found in zip(cases, answers, strict=True):
        numbers, verdict, words = expected(asked, known)
        off = [name for name, wanted in numbers.items() if not is_close(found[name], wanted)]
        if off or found["verdict"] != verdict or found["words"] != words:
            wrong.append((off, found, numbers, verdict, words, asked, known))
    return wrong


@needs_node
def test_the_device_says_of_thousands_of_sweeps_what_the_core_says():
    rng = np.random.default_rng(18)
    cases = [drawn(rng) for _ in range(SWEEPS)]
    answers = in_node(EACH, cases)
    assert differences(cases, answers)[:1] == []
    said = {found["verdict"] for found in answers}
    assert said == {"within", "outside", "not proven", "no limit on record"}


@needs_node
def test_the_coverage_factors_are_students():
    degrees = [*range(1, 40), 99, 100, 299, 300, 301, 302, 1000, 12345, 10**7]
    both = "[fit.coverage(dof, 0.95, fit.Z_95), fit.chiSquared95(dof % 40 + 1)]"
    found = in_node(f"given.map((dof) => {both})", degrees)
    for dof, (factor, squares) in zip(degrees, found, strict=True):
        assert factor == pytest.approx(coverage_factor(dof, 0.9), rel=1e-12)
        assert squares == pytest.approx(special.chdtri(dof % 40 + 1, 0.05), rel=1e-12)


@needs_node
@pytest.mark.parametrize(
    ("angles", "why"),
    [
        ([0, 90], "two readings"),
        ([0, 90, 360], "one angle twice"),
        ([0, 0.01, 0.02], "one place"),
    ],
)
def test_what_cannot_carry_a_fit_is_left_to_the_server(angles, why):
    asked, known = drawn(np.random.default_rng(1))
    sweep = {"angles": angles, "readings": [1.0] * len(angles)}
    asked |= {"quantity": "offset", "surface": "bore", "planes": [{"zMm": 0, "sweeps": [sweep]}]}
    assert in_node(EACH, [(asked, known)]) == [None], why


# A division of the dial in hand is `DIVISION`.
READ = "given.map(([text, count]) => lengths.readUm(text, count, { divisionUm: 12.7 }))"
TYPED = [
    ".0005", "5 tenths", "-1.2 thou", "12 µm", "12 μm", "0.012 mm", '0.0005"', "−.019", "+3",
    "0,012 mm", "0.0005in.", "1,234", "1.2.3", "5 mils",
    "1e3", "", "mm", "7 tenths mm", "0.00000001", "½",
    "3-", "3- thou", "3 thou-", "-3-", "1/2 thou", "1 1/2 thou", "1/2", "1/3 mm", "1/0 thou",
    "12 mic", "12.5 µ", "2 hundredths", "2 hundredths of a mm", "5 tenths of a mm", "3 div",
    "3 div of 0.01 mm", "2 divisions of a tenth", "1 of a mm",
]  # fmt: skip


def read_by_the_core(text, unit):
    try:
        read = read_length(text, unit, longest_um=LONGEST_UM, division=DIVISION)
        return float(read.value_um)
    except ValueError:
        return None


@needs_node
def test_the_device_reads_lengths_as_the_core_does():
    """What it cannot read it leaves to the server, which may know more ways of writing a length."""
    asked = [(text, unit) for text in TYPED for unit in COUNTS]
    found = in_node(READ, asked)
    read = 0
    for (text, unit), um in zip(asked, found, strict=True):
        assert um is None or is_close(um, read_by_the_core(text, unit)), (text, unit)
        read += um is not None
    assert read >= 20 * len(COUNTS)


@needs_node
def test_no_length_is_read_otherwise_than_by_the_core():
    """Thousands of texts put together from what lengths are made of, right and wrong ones."""
    rng = np.random.default_rng(5)
    units = ["", "in", '"', " thou", " tenths", "mm", " µm", " um", "in.", " mil", " mm mm", "x"]
    units += ["-", " mic", " hundredths", " div", "/2", "/4 thou", " 1/2 tenths", " thou-"]
    asked = [
        (
            rng.choice(["", "", "+", "-", "−"])
            + "".join(rng.choice(list("0123456789.,"), rng.integers(1, 8)))
            + rng.choice(units),
            str(rng.choice(list(COUNTS))),
        )
        for _ in range(5000)
    ]
    found = in_node(READ, asked)
    for (text, unit), um in zip(asked, found, strict=True):
        assert um is None or is_close(um, read_by_the_core(text, unit)), (text, unit)
    assert sum(um is not None for um in found) > 1000


@needs_node
def test_a_computed_length_is_written_as_on_the_page():
    rng = np.random.default_rng(7)
    asked = [(float(um), unit) for um in rng.normal(0, 300, 300) for unit in ("in", "mm", "um")]
    found = in_node("given.map(([um, unit]) => lengths.show(um, unit, { signed: true }))", asked)
    assert found == [format_length(um, unit, signed=True, with_unit=True) for um, unit in asked]


ROUNDED = (
    "given.map(([um, unit, uUm, toleranceUm]) => lengths.rounded(um, unit, { uUm, toleranceUm }))"
)


def sizes(rng):
    """(figure, its uncertainty, its tolerance) in µm; each of the last two may not be known."""
    um, u, tolerance = (float(one) for one in rng.normal(0, 1, 3) * 10.0 ** rng.integers(-3, 4, 3))
    known = rng.random(2) < 0.8
    return um, abs(u) if known[0] else None, abs(tolerance) if known[1] else None


@needs_node
def test_a_figure_is_rounded_as_on_the_page():
    rng = np.random.default_rng(11)
    stated = [10.16, 10.0, 2.54, 25.4, 5.0, 1.0, 0.1]  # 0.0004 in, 0.01 mm and such
    drawn_sizes = [sizes(rng) for _ in range(700)]
    drawn_sizes += [(one * 0.7, one / 7, one) for one in stated] + [(None, 1.0, 1.0)]
    asked = [
        (um, unit, u, tolerance) for um, u, tolerance in drawn_sizes for unit in ("in", "mm", "um")
    ]
    wanted = [rounded(um, unit, u_um=u, tolerance_um=held) for um, unit, u, held in asked]
    assert in_node(ROUNDED, asked) == wanted


SAID = """given.map(([frontUm, upUm, quantity, plus, unit, uUm, toleranceUm, short]) => {
    const facts = { quantity, plus, short, isTilt: false, movers: { rear: "X2−", up: "Y2+" } };
    const write = (um) => lengths.rounded(um, unit, { uUm, toleranceUm });
    const found = { frontUm, upUm };
    return [words.figureOf(frontUm, facts, write, short), words.moveOf(found, facts, write),
        words.directionsOf(found, facts, write)];
})"""


@needs_node
def test_what_is_said_in_the_dial_is_said_in_the_words_of_the_page():
    rng = np.random.default_rng(12)
    asked, wanted = [], []
    for _ in range(300):
        (front, u, held), (up, *_), unit = sizes(rng), sizes(rng), str(rng.choice(["in", "mm"]))
        quantity = str(rng.choice(["offset", "front", "up"]))
        asked.append([front, up, quantity, plus_of(quantity), unit, u, held, SHORT])

        def show(um, unit=unit, u=u, held=held):
            return rounded(um, unit, u_um=u, tolerance_um=held)

        move = short_way(-front, -up, show, {"rear": "X2−", "up": "Y2+"})
        told = [
            " ".join(reversed(one.split(" "))) for one in short_way(front, up, show).split(", ")
        ]
        ways = told if quantity == "offset" and told != [""] else []
        wanted.append([figure_shown(front, quantity, show, words=SHORT), move, ways])
    assert in_node(SAID, asked) == wanted
