"""What one purchase or one measurement makes ready, found out by planning anew with it.

A measurement is taken to come out at its likely value, or at either end of what it may be, whichever makes
more ready. A recipe that in its best set by itself must buy more than the step gives is taken to stay as it
is. For the others a plan is searched in which every build is ready, so their number is exact where that
search ends by itself; where it is cut short the step counts as making nothing ready.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping

from fitter.measuring.truths import Open, open_of, recorded
from fitter.planning.bundle import Plan, Planner
from fitter.projects import Project
from fitter.shed import Shed
from fitter.solve.builds import State
from fitter.solve.limits import Limit
from fitter.solve.tables import Filters
from fitter.solve.variants import any_build
from fitter.stock.files import Stock
from fitter.stock.lots import Lot

SECONDS = 3.0  # of computing, for all steps together, beside the time for the plan


class Replanning:
    """Plans with one more thing known or owned."""

    def __init__(self, planner: Planner, plan: Plan) -> None:
        self.planner = planner
        self.shed = planner.shed
        self.ready = sorted(b.recipe for b in plan.builds if b.state is State.READY)
        self.ends = time.process_time() + min(SECONDS, self.shed.limit_seconds)

    @property
    def late(self) -> bool:
        """Whether the time for trying steps is used up."""
        return self.shed.watcher.stop or time.process_time() > self.ends

    @property
    def large(self) -> bool:
        """Whether the stock is so large that making it anew for each outcome takes too long."""
        return self.shed.stock.figures is not None

    def after_measuring(self, path: str) -> list[str]:
        """What is ready besides once a rating is known; nothing where no more builds are."""
        lot, _, name = path.partition(".")
        asked = open_of(self.shed.lot(lot)).get(name)
        outcomes = _outcomes(asked) if asked else ()
        sheds = (self._with(recorded(self.shed.lot(lot), values)) for values in outcomes)
        return max((self._besides(shed, 0) for shed in sheds), key=len, default=[])

    def after_buying(self, lot: Lot, pieces: int) -> list[str]:
        """What is ready besides with so many pieces of a size of a shop; nothing where no more builds are."""
        return self._besides(self.shed, pieces, lot)

    def _with(self, lot: Lot) -> Shed:
        """The shed with one lot better known."""
        stock = Stock(tuple(lot if each.id == lot.id else each for each in self.shed.stock.lots))
        shed = Shed(stock, self.shed.recipes, self.shed.without)
        shed.limit_nodes, shed.watcher = self.shed.limit_nodes, self.shed.watcher
        return shed

    def _besides(self, shed: Shed, pieces: int, bought: Lot | None = None) -> list[str]:
        given = [bought.id] if bought else []
        shed.limit_seconds = max(0.0, self.ends - time.process_time())
        may = {n: p for n, p in self._within_reach(1 if bought else 0) if self._alone(shed, n, p, given)}
        if len(may) <= len(self.ready):
            return []
        plan = Planner(shed, may, all_ready=True, given=given).search()
        made = [b.recipe for b in plan.builds]
        taken = sum(b.takes(r)[0] for b in plan.builds for r, c in b.parts.items() if c.bought)
        if not plan.optimal or len(made) <= len(self.ready) or taken > pieces > 0:
            return []
        return sorted(set(made) - set(self.ready))

    def _within_reach(self, purchases: int) -> Iterator[tuple[str, Project]]:
        """Recipes whose best set by itself buys for no more roles than one line may fill."""
        for name, project in self.planner.projects.items():
            builds = self.planner.best((name,), frozenset()).builds
            kinds = {c.lot.id for b in builds for c in b.parts.values() if c.bought}
            if builds and len(kinds) <= purchases:
                yield name, project

    def _alone(self, shed: Shed, name: str, project: Project, given: list[str]) -> bool:
        """Whether a recipe is ready by itself."""
        if name in self.ready:
            return True
        settled = [f.name for f in project.functions]
        filters = Filters(without=shed.without, settled=settled, given=given)
        limit = Limit(shed.limit_nodes, shed.limit_seconds, shed.watcher)
        return any_build(project, shed.tables().filtered(filters), limit) is not None


def _outcomes(asked: Open) -> Iterator[Mapping[str, float]]:
    """Likely value and both ends of what is measured, by rating."""
    for end in ("likely", "lo", "hi"):
        yield {name: getattr(rating, end) for name, rating in asked.ratings.items()}
