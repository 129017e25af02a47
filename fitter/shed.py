"""A stock and the recipes together: what every question is asked of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from fitter.advice.data import shop
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.recipes import Project, Recipe, load_recipes
from fitter.solve.builds import Build, judge
from fitter.solve.candidates import Pool
from fitter.solve.limits import Limit
from fitter.solve.score import Prices, Waste
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import good_build, ranked_builds
from fitter.stock.files import Stock, open_stock

EXPLAIN_SECONDS = 4.0  # for finding a set to explain; then a good one has to do


@dataclass
class Shed:
    """A stock and the recipes, and what is worked out once for both."""

    stock: Stock
    recipes: Mapping[str, Recipe]
    without: Sequence[str] = ()
    limit_nodes: int = 200_000
    limit_seconds: float = 20.0
    pool: Pool = field(init=False)
    waste: Waste = field(init=False)

    def __post_init__(self) -> None:
        sizes = shop()
        sold = (lot for lots in sizes.values() for lot in lots)
        self.pool = Pool(self.stock.lots, sold, self.stock.figures)
        self.waste = Waste(self.pool, sizes)
        for lot in self.without:
            if lot not in self.stock.places:
                near = nearest(lot, self.stock.places)
                raise FitterError(f"no lot {lot!r} in stock", field="--without", expected=near)

    @staticmethod
    def open(
        stock: Path, recipes: Path | None = None, *, skip_bad: bool = False, without: Sequence[str] = ()
    ) -> Shed:
        """Read a stock and the recipes.

        Raises:
            FitterErrors: What is wrong with the files.
        """
        return Shed(open_stock(stock, Prices(shop()).of, skip_bad=skip_bad), load_recipes(recipes), without)

    def recipe(self, name: str) -> Recipe:
        """A recipe by name.

        Raises:
            FitterError: There is none of that name.
        """
        found = self.recipes.get(name.replace("_", "-"))
        if found is None:
            raise FitterError(f"no recipe {name!r}", expected=nearest(name, self.recipes))
        return found

    def limit(self) -> Limit:
        """A fresh limit for one search."""
        return Limit(self.limit_nodes, self.limit_seconds)

    @property
    def refused(self) -> dict[str, str]:
        """Lots that are never placed, and why."""
        return {r.lot: f"{r.kind}: {r.reason}" for r in self.pool.refusals}

    def tables(self, fixed: Mapping[str, str] | None = None, *, soft: bool = False) -> Tables:
        """Tables for one project."""
        return Tables(self.pool, self.waste, Filters(fixed, self.without), soft=soft)

    def sets(
        self, project: Project, top: int, fixed: Mapping[str, str] | None = None, *, soft: bool = False
    ) -> Sets:
        """The best sets for a project; where the search stops before the first, one that is found at once."""
        tables, limit = self.tables(fixed, soft=soft), self.limit()
        found: list[Build] = []
        for each in ranked_builds(project, tables, limit):
            found.append(judge(each, tables))
            if len(found) >= top:
                break
        if not limit.reached or len(found) >= top:
            return Sets(found, "complete")
        stand_in = None if found else good_build(project, tables)
        return Sets([judge(stand_in, tables)] if stand_in else found, "stopped")

    def nearest(self, project: Project, fixed: Mapping[str, str] | None = None) -> Build | None:
        """The set with the fewest failing checks, where none passes.

        When that takes longer than a few seconds a good set stands in: it shows what fails all the same.
        """
        tables = self.tables(fixed, soft=True)
        found = next(ranked_builds(project, tables, self.short_limit()), None)
        found = found or good_build(project, tables)
        return judge(found, tables) if found else None

    def best_or_nearest(self, project: Project, fixed: Mapping[str, str] | None = None) -> Build | None:
        """The best set if one that passes is found soon, else what comes nearest."""
        tables = self.tables(fixed)
        found = next(ranked_builds(project, tables, self.short_limit()), None)
        return judge(found, tables) if found else self.nearest(project, fixed)

    def short_limit(self) -> Limit:
        """A limit for finding a set to explain."""
        return Limit(self.limit_nodes, min(self.limit_seconds, EXPLAIN_SECONDS))


@dataclass(frozen=True)
class Sets:
    """Builds found, and whether the search came to its end."""

    builds: list[Build]
    outcome: Literal["complete", "stopped"]
