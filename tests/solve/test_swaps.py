"""Substitutes against all products: the sets that differ from a given one in just one role."""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping

import pytest
from exhaustive import Shelf, TooManyError, every_build, random_shelf
from test_variants import KINDS, RECIPES, SETTINGS

from fitter.advice.data import shop
from fitter.projects import bind
from fitter.solve.builds import Build, judge
from fitter.solve.diverse import diverse_builds
from fitter.solve.swaps import closest, substitutes

SOLD = {lot.id for lots in shop().values() for lot in lots}
BUY, MINUTE = 1e12, 1e7  # purchases and open minutes in the words of the score
Truth = Mapping[frozenset[tuple[str, str]], float]


def swapped(parts: Mapping[str, str], role: str, to: str) -> frozenset[tuple[str, str]]:
    return frozenset({**parts, role: to}.items())


def kinds_of(shelf: Shelf) -> dict[str, str]:
    """The kind of each candidate, by id."""
    every = [lot for lots in shop().values() for lot in lots] + list(shelf.pool.lots)
    return {f"{lot.id} / {o.key}" if o.key else lot.id: lot.kind for lot in every for o in lot.offers()}


def by_lot(build: Build, truth: Truth, role: str, kinds: Mapping[str, str]) -> dict[str, float]:
    """Best score with each other lot in a role, all else as it is; none where a check then fails."""
    parts = {r: c.id for r, c in build.parts.items()}
    found: dict[str, float] = {}
    for others, score in truth.items():
        name = dict(others).get(role, "")
        if others == swapped(parts, role, name) and kinds[name] in build.roles[role].kinds:
            lot = name.partition(" / ")[0]
            found[lot] = min(score, found.get(lot, score))
    found.pop(build.parts[role].lot.id, None)
    proven = build.score % BUY < MINUTE
    return {lot: s for lot, s in found.items() if not proven or s % BUY < MINUTE}


def scores_by_hand(build: Build, truth: Truth, role: str, kinds: Mapping[str, str]) -> list[float]:
    """The best three from stock; where there is none, the best from a shop."""
    found = by_lot(build, truth, role, kinds)
    stock = sorted(s for lot, s in found.items() if lot not in SOLD)
    if stock or build.parts[role].bought:
        return stock[:3]
    return sorted(found.values())[:1]


SEEN: list[int] = []


@pytest.mark.parametrize("recipe", sorted(KINDS))
@pytest.mark.parametrize("seed", range(8))
def test_substitutes_are_the_sets_that_differ_in_one_role(recipe: str, seed: int) -> None:
    rng = random.Random(f"swaps {recipe} {seed}")
    project = bind(RECIPES[recipe], rng.choice(SETTINGS[recipe]))
    shelf = random_shelf(KINDS[recipe] * 2 if recipe == "lab-supply" else KINDS[recipe], rng)
    try:
        truth = {parts: score for score, parts in every_build(project, shelf)}
    except TooManyError:
        pytest.skip("more combinations than are worth trying")
    tables, kinds = shelf.tables(), kinds_of(shelf)
    for found in itertools.islice(diverse_builds(project, tables), 3):
        build = judge(found, tables)
        parts = {r: c.id for r, c in build.parts.items()}
        for role in build.parts:
            named = substitutes(build, tables, role)
            scores = [truth[swapped(parts, role, c.id)] for c in named]
            assert scores == scores_by_hand(build, truth, role, kinds)
            assert len({c.lot.id for c in named}) == len(named)
            SEEN.append(len(named))


def test_draws_are_varied() -> None:
    """The test above means little unless some roles have several substitutes, some one and some none."""
    if len(SEEN) < 100:
        pytest.skip("only with the whole file")
    assert {0, 1, 2, 3} <= set(SEEN)


@pytest.mark.parametrize("recipe", ["camera-slider", "lab-supply", "stamp"])
@pytest.mark.parametrize("seed", range(4))
def test_what_comes_closest_never_makes_a_set(recipe: str, seed: int) -> None:
    """Where something must be bought, no part in stock would do with the others as they are."""
    rng = random.Random(f"closest {recipe} {seed}")
    project, shelf = bind(RECIPES[recipe]), random_shelf(KINDS[recipe], rng)
    try:
        truth = {parts: score for score, parts in every_build(project, shelf)}
    except TooManyError:
        pytest.skip("more combinations than are worth trying")
    tables = shelf.tables()
    for found in itertools.islice(diverse_builds(project, tables), 3):
        build = judge(found, tables)
        parts = {r: c.id for r, c in build.parts.items()}
        for role, candidate in build.parts.items():
            near = closest(build, tables, role) if candidate.bought else None
            if near is not None:
                assert not near.bought
                assert swapped(parts, role, near.id) not in truth
                assert not substitutes(build, tables, role)
