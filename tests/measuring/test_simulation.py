"""Following the suggestions reaches the final states sooner than measuring at random or the widest first."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
import measuring

OTHERS = ["random", "relevant", "widest"]
RECIPES = ["camera-slider", "drawer-rails", "lab-supply"]


@pytest.fixture(scope="module")
def found() -> list[dict[str, tuple[int, float]]]:
    return list(measuring.results(3, seed=11, recipes=RECIPES, rules=["suggested", *OTHERS]))


@pytest.mark.slow
@pytest.mark.parametrize("other", OTHERS)
def test_suggestions_need_clearly_fewer_measurements(
    found: list[dict[str, tuple[int, float]]], other: str
) -> None:
    """At most half, over seeded draws of the true values; ``relevant`` knows already what matters at all."""
    assert len(found) >= 3
    ours, theirs = (sum(each[rule][0] for each in found) for rule in ("suggested", other))
    assert 2 * ours < theirs
    assert 2 * sum(each["suggested"][1] for each in found) < sum(each[other][1] for each in found)


def test_suggestions_go_on_until_all_states_are_final() -> None:
    """They end when nothing is worth measuring any more, whether that makes a project ready or not."""
    lots = measuring.load_stock(measuring.SHED).lots
    for number in (0, 4):
        bench = measuring.Bench(lots, RECIPES, 11000 + number)
        order = measuring.suggested(bench)
        assert bench.is_final(frozenset((o.lot.id, o.field) for o in order))
        assert len(order) < 20
