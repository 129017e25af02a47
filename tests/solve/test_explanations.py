"""Clashes and least changes against every subset and a grid of demands, judged by the exhaustive search."""

from __future__ import annotations

import functools
import itertools
import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from exhaustive import Shelf, TooManyError, every_build, random_shelf

from fitter.explain.case import Case, Requirement, Sort
from fitter.explain.clashes import clashes
from fitter.explain.relaxations import Relaxations, size_of
from fitter.projects import Project, bind, bind_figures
from fitter.recipes import load_recipes, read_recipe
from fitter.shed import Shed
from fitter.solve.ease import ends
from fitter.stock.files import Stock

HERE = Path(__file__).parent
RECIPES = load_recipes() | {"two-drawers": read_recipe(HERE / "two_drawers.yaml")}
GUIDES = ("drawer slide", "drawer slide", "drawer slide", "rod", "bushing", "bushing")
LAB = ("linear regulator", "heat sink", "switch-mode supply", "adapter", "pass transistor")
PROBLEMS = {
    "two-drawers": (
        GUIDES,
        ({}, {"load": "30 kg"}, {"extension": "900 mm"}, {"load": "60 kg", "extension": "1 m"}),
    ),
    "drawer-rails": (GUIDES[:3], ({"load": "40 kg"}, {"extension": "600 mm", "max_play": "0.4 mm"})),
    "lab-supply": (LAB, ({"current": "4 A"}, {"voltage": "30 V", "ambient": "60 degC"})),
}
GRID = 24  # values of a demand that are tried between what is asked and the easiest


@dataclass(frozen=True)
class OwnedShelf(Shelf):
    """A shelf from which some functions may not buy."""

    owned: frozenset[str] = frozenset()

    def candidates(self, name: str, role: Any) -> list[Any]:
        found = super().candidates(name, role)
        return [c for c in found if not (c.bought and name.partition(".")[0] in self.owned)]


class Problem:
    """A random small problem and its slow answers."""

    def __init__(self, recipe: str, seed: int) -> None:
        rng = random.Random(f"{recipe} {seed}")
        kinds, settings = PROBLEMS[recipe]
        self.shelf = replace(random_shelf(kinds, rng), without=())
        self.project: Project = bind(RECIPES[recipe], rng.choice(settings))
        shed = Shed(Stock(tuple(self.shelf.pool.lots)), RECIPES)
        shed.pool, shed.waste = self.shelf.pool, self.shelf.waste
        self.case = Case(shed, self.project, seconds=1000)

    @functools.cache  # noqa: B019  (a problem lives as long as its test)
    def _passes(self, figures: tuple[tuple[str, float], ...], owned: frozenset[str]) -> bool:
        shelf = OwnedShelf(self.shelf.pool, self.shelf.waste, {}, (), owned)
        return bool(every_build(bind_figures(self.project.recipe, dict(figures)), shelf))

    def passes(self, figures: Mapping[str, float], owned: Iterable[str]) -> bool:
        figures = {**self.project.demands, **figures}
        return self._passes(tuple(sorted(figures.items())), frozenset(owned))

    def met(self, required: Iterable[Requirement]) -> bool:
        """Whether requirements can be met, every demand that is not among them tried at both ends."""
        held = {r.name for r in required if r.sort is Sort.DEMAND}
        owned = [r.name for r in required if r.sort is Sort.STOCK]
        free = {
            name: ends(self.project.recipe.demands[name], asked)
            for name, asked in self.project.demands.items()
            if name not in held
        }
        choices = itertools.product(*free.values())
        return any(self.passes(dict(zip(free, values, strict=True)), owned) for values in choices)


def problem(recipe: str, seed: int) -> Problem:
    return Problem(recipe, seed)


CASES = [(r, s) for r, n in (("two-drawers", 14), ("drawer-rails", 8), ("lab-supply", 5)) for s in range(n)]


@pytest.mark.parametrize("from_stock", [True, False])
@pytest.mark.parametrize(("recipe", "seed"), CASES)
def test_no_smaller_set_of_requirements_clashes(recipe: str, seed: int, from_stock: bool) -> None:
    given = problem(recipe, seed)
    every = [Requirement(Sort.DEMAND, name) for name in given.project.demands]
    every += given.case.from_stock if from_stock else []
    try:
        if given.met(every):
            assert clashes(given.case, from_stock=from_stock) == []
            return
        found = clashes(given.case, from_stock=from_stock)
        assert found
        for clash in found:
            assert clash.smallest
            assert not given.met(clash.members)
        fewest = len(found[0].members)
        for fewer in itertools.combinations(every, fewest - 1) if fewest else ():
            assert given.met(fewer)
        if fewest == 1:
            alone = {(r,) for r in every if not given.met([r])}
            assert {c.members for c in found} == alone
    except TooManyError:
        pytest.skip("too many sets to try them all")


@pytest.mark.parametrize("from_stock", [True, False])
@pytest.mark.parametrize(("recipe", "seed"), CASES)
def test_no_smaller_change_makes_it_go(recipe: str, seed: int, from_stock: bool) -> None:
    given = problem(recipe, seed)
    owned = [r.name for r in given.case.from_stock] if from_stock else []
    try:
        if given.passes({}, owned):
            return
        found = Relaxations(given.case, from_stock=from_stock).found()
        alone = {r.changes[0].demand: r for r in found if len(r.changes) == 1}
        for name, demand in given.project.recipe.demands.items():
            asked = given.project.demands[name]
            grid = [v for end in ends(demand, asked) for v in np.linspace(asked, end, GRID) if v != asked]
            passing = [v for v in grid if given.passes({name: v}, owned)]
            assert (name in alone) == bool(passing), name
            if name in alone:
                change = alone[name].changes[0]
                assert change.least
                assert given.passes({name: change.value}, owned)
                best = min(size_of(demand, asked, v) for v in passing)
                assert size_of(demand, asked, change.value) <= best * 1.011 + 1e-12
        if not alone:
            check_several(given, found, owned)
    except TooManyError:
        pytest.skip("too many sets to try them all")


def check_several(given: Problem, found: list[Any], owned: list[str]) -> None:
    """What is said where no single change suffices: it passes, and nothing in it may be taken back."""
    every = [Requirement(Sort.DEMAND, name) for name in given.project.demands]
    stock = [Requirement(Sort.STOCK, name) for name in owned]
    assert bool(found) == given.met(stock)
    for relaxation in found:
        figures = {c.demand: c.value for c in relaxation.changes}
        assert given.passes(figures, owned)
        if len(figures) > 2:
            assert not any(
                given.met([*stock, *(r for r in every if r.name not in pair)])
                for pair in itertools.combinations(given.project.demands, 2)
            )
        for change in relaxation.changes:
            nearer = change.value + 0.011 * (change.asked - change.value)
            nearer += 0.011 * abs(change.value) * (1 if change.asked > change.value else -1)
            back = min(nearer, change.asked) if change.asked > change.value else max(nearer, change.asked)
            assert not given.passes({**figures, change.demand: back}, owned)
