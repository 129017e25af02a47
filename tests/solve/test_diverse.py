"""Diverse sets against all products, sorted: the first of each signature (definition of the answer)."""

from __future__ import annotations

import itertools
import random

import pytest
from exhaustive import Shelf, TooManyError, every_build, random_shelf
from test_variants import KINDS, RECIPES, SETTINGS

from fitter.advice.data import shop
from fitter.projects import Project, bind
from fitter.solve import diverse
from fitter.solve.builds import judge
from fitter.solve.diverse import diverse_builds, signature, telling_roles
from fitter.solve.limits import Limit
from fitter.solve.variants import ranked_builds

FIRST = 6
# roles that matter, written down by hand: motor, driver, supply, and what sets the ratio between them
MATTER = {
    "camera-slider": {
        "slide.motor", "slide.driver", "slide.pulley", "slide.screw", "slide.gear", "power.supply",
        "power.transformer",
    },
    "lab-supply": {"output.supply", "output.transformer", "output.regulator", "output.pass"},
    "drawer-rails": {"rails.slides"},
    "stamp": {
        "pen.servo", "pen.solenoid", "power.supply", "power.transformer", "logic.supply", "logic.transformer",
    },
}  # fmt: skip
SOLD = {lot.id: lot.kind for lots in shop().values() for lot in lots}


def signature_by_hand(recipe: str, parts: frozenset[tuple[str, str]]) -> frozenset[tuple[str, str]]:
    """Lots in the roles that matter; of what is bought only the kind."""
    owned = {r: c.partition(" / ")[0] for r, c in parts if r in MATTER[recipe]}
    return frozenset((r, f"buy {SOLD[lot]}" if lot in SOLD else lot) for r, lot in owned.items())


def expected(recipe: str, truth: list[tuple[float, frozenset[tuple[str, str]]]]) -> dict:
    """The best score of each signature, best first."""
    best: dict[frozenset[tuple[str, str]], float] = {}
    for score, parts in truth:
        best.setdefault(signature_by_hand(recipe, parts), score)
    return best


def first_few(project: Project, shelf: Shelf) -> list[tuple[float, frozenset[tuple[str, str]]]]:
    tables, limit, found = shelf.tables(), Limit(), []
    for each in itertools.islice(diverse_builds(project, tables, limit), FIRST):
        judge(each, tables)
        found.append((each.score, frozenset((r, c.id) for r, c in each.parts.items())))
    assert not limit.reached
    return found


SEEN: list[int] = []


@pytest.mark.parametrize("patience", [0, 100])
@pytest.mark.parametrize("recipe", sorted(KINDS))
@pytest.mark.parametrize("seed", range(7))
def test_first_of_each_signature(
    recipe: str, seed: int, patience: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether the search goes on or parts off what was shown, the answer is the same."""
    monkeypatch.setattr(diverse, "PATIENCE", patience)
    rng = random.Random(f"diverse {recipe} {seed}")
    project = bind(RECIPES[recipe], rng.choice(SETTINGS[recipe]))
    shelf = random_shelf(KINDS[recipe] * 2 if recipe == "lab-supply" else KINDS[recipe], rng)
    try:
        best = expected(recipe, every_build(project, shelf))
    except TooManyError:
        pytest.skip("more combinations than are worth trying")
    found = first_few(project, shelf)
    assert [score for score, _ in found] == list(best.values())[:FIRST]
    signatures = [signature_by_hand(recipe, parts) for _, parts in found]
    assert len(set(signatures)) == len(signatures)
    assert [best[s] for s in signatures] == [score for score, _ in found]
    SEEN.append(len(best))


def test_draws_are_varied() -> None:
    """The test above means little unless some draws have several signatures and some run out of them."""
    if len(SEEN) < 30:
        pytest.skip("only with the whole file")
    assert sum(n > FIRST for n in SEEN) >= 10
    assert sum(1 < n < FIRST for n in SEEN) >= 2


@pytest.mark.parametrize("recipe", sorted(MATTER))
def test_roles_that_matter_are_read_off_the_links(recipe: str) -> None:
    """In every set shown the roles that matter are those written down above that it has."""
    shelf = random_shelf(KINDS[recipe], random.Random(f"roles {recipe}"))
    for found in itertools.islice(ranked_builds(bind(RECIPES[recipe]), shelf.tables()), 30):
        assert set(telling_roles(found.model.graph)) == MATTER[recipe] & set(found.parts)
        assert {role for role, _ in signature(found)} == MATTER[recipe] & set(found.parts)


def test_a_limit_ends_it_and_is_noted() -> None:
    shelves = (random_shelf(KINDS["drawer-rails"], random.Random(seed)) for seed in itertools.count(3))
    project = bind(RECIPES["drawer-rails"])
    shelf = next(s for s in shelves if next(diverse_builds(project, s.tables()), None))
    limit = Limit(nodes=0)
    assert list(diverse_builds(bind(RECIPES["drawer-rails"]), shelf.tables(), limit)) == []
    assert limit.stopped_by == "nodes"
