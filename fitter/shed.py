"""A stock and the recipes together: what every question is asked of."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from fitter.advice.data import shop
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.recipes import Project, Recipe, load_recipes
from fitter.solve.builds import Build, judge
from fitter.solve.candidates import Pool
from fitter.solve.limits import Limit, StoppedBy, Watcher
from fitter.solve.score import Prices, Waste
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import Found, good_build, ranked_builds
from fitter.stock.files import Stock, open_stock, set_aside_files
from fitter.stock.lots import Lot

if TYPE_CHECKING:
    from fitter.stock.set_aside import SetAside

Order = Literal["ranked", "diverse"]
EXPLAIN_SECONDS = 4.0  # for finding a set to explain; then a good one has to do


@dataclass
class Shed:
    """A stock and the recipes, and what is worked out once for both.

    ``set_aside`` are the builds whose parts were left out of the stock, if it was read so, and ``mismatches``
    says where these do not go with the lots.
    """

    stock: Stock
    recipes: Mapping[str, Recipe]
    without: Sequence[str] = ()
    limit_nodes: int = 200_000
    limit_seconds: float = 20.0
    explain_seconds: float = EXPLAIN_SECONDS
    watcher: Watcher = field(default_factory=Watcher)
    skipped_recipes: Sequence[FitterError] = ()
    set_aside: Sequence[SetAside] = ()
    mismatches: Sequence[str] = ()
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
        stock: Path,
        recipes: Path | None = None,
        *,
        skip_bad: bool = False,
        without: Sequence[str] = (),
        whole: bool = False,
    ) -> Shed:
        """Read a stock and the recipes; with ``skip_bad`` what is wrong is left out and kept as errors.

        What is set aside for builds is left out of the stock, unless the ``whole`` is asked for.

        Raises:
            FitterErrors: What is wrong with the files.
        """
        skipped: list[FitterError] = []
        known = load_recipes(recipes, skipped=skipped if skip_bad else None)
        lots = open_stock(stock, Prices(shop()).of, skip_bad=skip_bad)
        if whole or not (files := set_aside_files(stock)):
            return Shed(lots, known, without, skipped_recipes=skipped)
        from fitter.stock.left import left_of, mismatches  # most stocks have nothing set aside
        from fitter.stock.set_aside import read_all

        builds = [build for file in read_all(files) for build in file.builds]
        shed = Shed(left_of(lots, builds), known, without, skipped_recipes=skipped)
        shed.set_aside, shed.mismatches = builds, mismatches(lots, builds)
        return shed

    @property
    def left_out(self) -> list[str]:
        """Names of the builds whose parts no answer counts with."""
        return [build.name for build in self.set_aside]

    def holders(self, lot: str) -> list[str]:
        """The builds that hold all there is of a lot; none where some of it is left."""
        if self.stock.lot(lot).count:
            return []
        return [build.name for build in self.set_aside if lot in {part.lot for part in build.parts}]

    def recipe(self, name: str) -> Recipe:
        """A recipe by name.

        Raises:
            FitterError: There is none of that name.
        """
        found = self.recipes.get(name.replace("_", "-"))
        if found is None:
            raise FitterError(f"no recipe {name!r}", expected=nearest(name, self.recipes))
        return found

    def lot(self, lot: str) -> Lot:
        """A lot by its id.

        Raises:
            FitterError: There is none.
        """
        places = self.stock.places
        if lot not in places:
            raise FitterError(f"no lot {lot!r} in stock", field="LOT", expected=nearest(lot, places))
        return self.stock.lot(lot)

    def limit(self) -> Limit:
        """A fresh limit for one search."""
        return Limit(self.limit_nodes, self.limit_seconds, self.watcher)

    def short_limit(self) -> Limit:
        """A limit for finding a set to explain."""
        return Limit(self.limit_nodes, min(self.limit_seconds, self.explain_seconds), self.watcher)

    @property
    def refused(self) -> dict[str, str]:
        """Lots that are never placed, and why."""
        return {r.lot: f"{r.kind}: {r.reason}" for r in self.pool.refusals}

    def tables(self, fixed: Mapping[str, str] | None = None, *, soft: bool = False) -> Tables:
        """Tables for one project."""
        return Tables(self.pool, self.waste, Filters(fixed, self.without), soft=soft)

    def sets(
        self, project: Project, top: int, fixed: Mapping[str, str] | None = None, order: Order = "ranked"
    ) -> Sets:
        """The best sets for a project; where the search stops before the first, one that is found at once."""
        sets = self._search(project, self.tables(fixed), self.limit(), top, order)
        return sets if sets.builds or sets.outcome == "complete" else self._stand_in(project, sets)

    def nearest(self, project: Project, fixed: Mapping[str, str] | None = None) -> Sets:
        """The set with the fewest failing checks, where none passes.

        When that takes longer than a few seconds a good set stands in: it shows what fails all the same.
        """
        sets = self._search(project, self.tables(fixed, soft=True), self.short_limit())
        return sets if sets.builds or sets.outcome == "complete" else self._stand_in(project, sets)

    def best_or_nearest(self, project: Project, fixed: Mapping[str, str] | None = None) -> Sets:
        """The best set if one that passes is found soon, else what comes nearest.

        The outcome is that of the search for a set that passes.
        """
        sets = self._search(project, self.tables(fixed), self.short_limit())
        if sets.builds:
            return sets
        near = self.nearest(project, fixed)
        return replace(near, stopped_by=sets.stopped_by)

    def _search(
        self, project: Project, tables: Tables, limit: Limit, top: int = 1, order: Order = "ranked"
    ) -> Sets:
        self.watcher.about = project.recipe.name
        found = _in_order(project, tables, limit, order)
        builds = [judge(each, tables) for each in itertools.islice(found, top)]
        return Sets(builds, tables, limit.stopped_by, begun=limit.variants > 0)

    def _stand_in(self, project: Project, sets: Sets) -> Sets:
        """A set found without search; none for a project that was interrupted before it was looked at."""
        if sets.stopped_by == "interrupt" and not sets.begun:
            return sets
        found = good_build(project, sets.tables)
        return replace(sets, builds=[judge(found, sets.tables)], stand_in=True) if found else sets


def _in_order(project: Project, tables: Tables, limit: Limit, order: Order) -> Iterator[Found]:
    if order == "ranked":
        return ranked_builds(project, tables, limit)
    from fitter.solve.diverse import diverse_builds

    return diverse_builds(project, tables, limit)


@dataclass(frozen=True)
class Sets:
    """Builds found, what stopped the search for more if anything did, and what they were judged with.

    ``stand_in`` marks a build that no search found: nothing says that there is no better one.
    """

    builds: list[Build]
    tables: Tables
    stopped_by: StoppedBy | None = None
    stand_in: bool = False
    begun: bool = True

    @property
    def outcome(self) -> Literal["complete", "stopped"]:
        """Whether the search came to its end."""
        return "stopped" if self.stopped_by else "complete"

    @property
    def best(self) -> Build | None:
        """The first build, if any."""
        return self.builds[0] if self.builds else None
