"""Random small stocks, and what the exhaustive search says of them: the judge of limits and uses."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from exhaustive import Shelf, TooManyError, every_build, random_shelf

from fitter.projects import Project, bind
from fitter.reach.asking import Certainty
from fitter.recipes import Recipe, load_recipes
from fitter.shed import Shed
from fitter.solve.candidates import Candidate
from fitter.stock.files import Stock

RECIPES = load_recipes()
KINDS = {
    "drawer-rails": ("drawer slide", "drawer slide", "drawer slide", "drawer slide"),
    "lab-supply": ("linear regulator", "heat sink", "switch-mode supply", "adapter", "pass transistor"),
}
SEEDS = range(4)
CASES = [(recipe, seed) for recipe in KINDS for seed in SEEDS]


@dataclass(frozen=True)
class Owned(Shelf):
    """A shelf with no shop."""

    def candidates(self, name: str, role: Any) -> list[Candidate]:
        return [c for c in super().candidates(name, role) if not c.bought]


@dataclass(frozen=True)
class AtLikely(Owned):
    """A shelf without a shop on which every rating is known to be its likely value, and every part works."""

    def candidates(self, name: str, role: Any) -> list[Candidate]:
        return [_at_likely(c) for c in super().candidates(name, role)]


def _at_likely(candidate: Candidate) -> Candidate:
    ratings = {n: replace(r, lo=r.likely, hi=r.likely) for n, r in candidate.offer.ratings.items()}
    lot = replace(candidate.lot, condition="working")
    return replace(candidate, lot=lot, offer=replace(candidate.offer, ratings=ratings))


HARD = {
    "drawer-rails": {"load": (40.0, 30.0, 60.0), "extension": (0.5, 0.45, 1.0)},
    "lab-supply": {"voltage": (24.0, 15.0, 40.0), "current": (3.0, 2.0, 10.0)},
}  # value, least and most: so that not every part is of use


def hard(recipe: Recipe) -> Recipe:
    """A recipe that asks for more, at its easiest too."""
    demands = dict(recipe.demands)
    for name, (value, least, most) in HARD[recipe.name].items():
        demands[name] = replace(demands[name], value=value, least=least, most=most)
    return replace(recipe, demands=demands)


class Problem:
    """One random stock and recipe; a few kinds of guide make a small one, so it may have more of them."""

    def __init__(self, name: str, seed: int, alike: int = 1, *, harder: bool = False) -> None:
        recipe = hard(RECIPES[name]) if harder else RECIPES[name]
        rng = random.Random(f"reach {name} {seed}")
        self.shelf = replace(random_shelf(KINDS[name] * alike, rng), without=(), fixed={})
        self.project: Project = bind(recipe)
        self.shed = Shed(Stock(tuple(self.shelf.pool.lots)), {name: recipe})
        self.shed.pool, self.shed.waste = self.shelf.pool, self.shelf.waste

    def goes(self, project: Project, certainty: Certainty) -> bool:
        """Whether the stock alone has a set that is good enough, by trying all."""
        of = AtLikely if certainty is Certainty.LIKELY else Owned
        shelf = of(self.shelf.pool, self.shelf.waste, {}, ())
        scores = (score for score, _ in every_build(project, shelf))
        most = float("inf") if certainty is Certainty.BEST else 1e7
        return any(score < most for score in scores)

    def sets(self, project: Project) -> Iterator[dict[str, str]]:
        """Id of the offer in each role of every set that passes, bought ones too."""
        for _, parts in every_build(project, self.shelf):
            yield dict(parts)


__all__ = ["CASES", "Certainty", "Problem", "TooManyError"]
