"""An issued report read back: each check's figures, verdict, limits and readings are its page's."""

import random

import pytest

from shop.visits.reporting import build_report
from tests.pages import opened
from tests.papers import words_of

NBSP = "\N{NO-BREAK SPACE}"


def plain(text):
    return " ".join(str(text).replace(NBSP, " ").split())


@pytest.fixture
def drawn_visit(machine, sweep_of, moved, taken_up):
    """Sweeps of a machine's lines as a seed draws them, some measured again after a move."""

    def draw(seed):
        chance = random.Random(seed)
        lines = list(machine.sheets.get().items.select_related("station").order_by("position"))
        checks = [
            sweep_of(line, chance.uniform(-25, 25), chance.uniform(-25, 25)) for line in lines
        ]
        for kind in chance.sample(sorted({line.station.kind for line in lines[1:]}), 2):
            moved(kind)
            checks += [
                sweep_of(line, chance.uniform(-3, 3), chance.uniform(-3, 3), "as left")
                for line in lines
                if line.station.kind == kind
            ]
        return checks

    return draw


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_each_check_is_told_alike_on_paper_and_on_its_page(
    seed, drawn_visit, taken_up, client, contractor
):
    checks = drawn_visit(seed)
    paper = plain(words_of(build_report(taken_up)))
    assert len(checks) > 5
    for check in checks:
        page = opened(client, contractor, check).context
        main = next(figure for figure in page["figures"] if figure.main)
        guard = next(figure for figure in page["figures"] if figure.label == "Guard band")
        expanded = main.note.split(" (U")[0]
        told = plain(f"{main.value} {expanded} guard {guard.value}")
        ends = f", {check.verdict}" if check.phase == "as found" else ""
        assert f"{told}{ends}" in paper
        assert plain(page["limits"]) in paper
        readings = [
            f"{row['place']}: {row['typed']} {row['unit']}" for row in page["sets"][0]["rows"]
        ]
        assert plain(", ".join(readings)) in paper
