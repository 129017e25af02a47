"""The search over all variants against all products, judged and sorted (definition of the answer)."""

from __future__ import annotations

import itertools
import random
from pathlib import Path

import pytest
from exhaustive import Shelf, TooManyError, every_build, fixing_one, random_shelf

from fitter.projects import Project, bind
from fitter.recipes import load_recipes, read_recipe
from fitter.solve.builds import judge
from fitter.solve.variants import Limit, ranked_builds

FIRST = 10
RECIPES = load_recipes() | {"stamp": read_recipe(Path(__file__).with_name("stamp.yaml"))}
GUIDES = ("rod", "bushing", "linear bearing", "drawer slide")
KINDS = {
    "camera-slider": (
        "stepper motor", "stepper driver", "unipolar driver", "pulley", "timing belt", "lead screw",
        "coupler", "gear", "rack", *GUIDES, "limit switch", "photo interrupter", "switch-mode supply",
        "adapter", "battery pack", "controller board",
    ),
    "lab-supply": (
        "transformer", "bridge rectifier", "capacitor", "linear regulator", "pass transistor", "heat sink",
        "switch-mode supply", "adapter",
    ),
    "drawer-rails": ("drawer slide", "drawer slide", "drawer slide"),
    "stamp": (
        "servo", "solenoid", "transistor switch", "controller board", "transformer", "transformer",
        "bridge rectifier", "bridge rectifier", "capacitor", "capacitor", "switch-mode supply",
        "switch-mode supply", "adapter",
    ),
}  # fmt: skip
SETTINGS = {
    "camera-slider": (
        {},
        {"payload": "0.3 kg", "travel": "200 mm"},
        {"incline": "40 deg", "speed": "10 mm/s"},
    ),
    "lab-supply": ({}, {"voltage": "9 V", "current": "0.5 A"}, {"current": "1 A", "ripple": "20 mV"}),
    "drawer-rails": ({}, {"load": "20 kg"}, {"extension": "200 mm", "max_play": "2 mm"}),
    "stamp": ({}, {"force": "0.5 N"}, {"force": "8 N"}),
}


def first_ten(project: Project, shelf: Shelf) -> list[tuple[float, frozenset[tuple[str, str]]]]:
    """What the search gives, each build judged in full on the way."""
    tables, limit = shelf.tables(), Limit()
    found = []
    for each in itertools.islice(ranked_builds(project, tables, limit), FIRST):
        judge(each, tables)
        found.append((each.score, frozenset((r, c.id) for r, c in each.parts.items())))
    assert not limit.reached
    return found


def assert_first_ten(project: Project, shelf: Shelf) -> list[tuple[float, frozenset[tuple[str, str]]]]:
    """Same scores in the same order, and the very sets of those scores."""
    truth = every_build(project, shelf)
    found = first_ten(project, shelf)
    assert [score for score, _ in found] == [score for score, _ in truth[:FIRST]]
    assert len(set(found)) == len(found)
    assert set(found) <= set(truth)
    last = found[-1][0] if found else 0.0
    assert {f for f in found if f[0] < last} == {t for t in truth if t[0] < last}
    return truth


SEEN: list[int] = []


@pytest.mark.parametrize("recipe", sorted(KINDS))
@pytest.mark.parametrize("seed", range(24))
def test_first_ten_equal_product_and_sort(recipe: str, seed: int) -> None:
    rng = random.Random(f"{recipe} {seed}")
    project = bind(RECIPES[recipe], rng.choice(SETTINGS[recipe]))
    shelf = random_shelf(KINDS[recipe], rng)
    if rng.random() < 0.25:
        shelf = fixing_one(shelf, project, rng)
    try:
        truth = assert_first_ten(project, shelf)
    except TooManyError:
        return
    SEEN.append(len(truth))


def test_draws_are_varied() -> None:
    """The test above means little unless some draws have no set, some few and some many."""
    if len(SEEN) < 30:
        pytest.skip("only with the whole file")
    assert sum(n == 0 for n in SEEN) >= 3
    assert sum(0 < n < FIRST for n in SEEN) >= 3
    assert sum(n > 100 for n in SEEN) >= 5
