"""Settings that steer effort (table sizes, order, grouping) must change no answer.

Coarse tables, split messages and checks judged on partial assignments are bounds; the first sets and
their scores are the same as with everything tabulated (definition of an exact search).
"""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from fitter.projects import bind
from fitter.shed import Shed
from fitter.solve import elimination, limits, model, opened, ranked, sweeps, tables
from fitter.solve.variants import Limit, ranked_builds

SHED = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
RECIPES = ("camera-slider", "lab-supply", "pen-plotter")
EFFORTS = {
    "no order for scarce pieces": [(ranked, "CONTENDED", 0)],
    "coarse groups": [(tables, "LARGEST_TABLE", 3_000), (sweeps, "FEW", 2)],
    "no check treated as a sum": [(tables, "FEWEST_SUMMED", 100)],
    "a coarse first look": [(model, "MANY", 0)],
    "a close look at every role": [
        (model, "MANY", 0),
        (opened, "FEW_LEFT", 0),
        (tables, "LARGEST_TABLE", 3_000),
    ],
    "sets sought among few": [(opened, "PROMISING", (3,)), (limits, "AT_ONCE", 5)],
    "split messages": [(elimination, "LARGEST_TABLE", 3_000)],
    "no exclusion tables": [(ranked, "LARGEST_EXCLUSION", 0)],
}


def first_scores(recipe: str) -> list[float]:
    shed = Shed.open(SHED)
    found = ranked_builds(bind(shed.recipe(recipe)), shed.tables(), Limit(seconds=60))
    return [f.score for f in itertools.islice(found, 6)]


@pytest.fixture(scope="module")
def usual() -> dict[str, list[float]]:
    return {r: first_scores(r) for r in RECIPES}


CASES = [(r, e) for r in RECIPES for e in EFFORTS if (r, e) != ("pen-plotter", "no exclusion tables")]


@pytest.mark.parametrize(("recipe", "effort"), CASES)
def test_effort_changes_no_answer(
    monkeypatch: pytest.MonkeyPatch, usual: dict[str, list[float]], recipe: str, effort: str
) -> None:
    for module, name, value in EFFORTS[effort]:
        monkeypatch.setattr(module, name, value)
    assert first_scores(recipe) == usual[recipe]
