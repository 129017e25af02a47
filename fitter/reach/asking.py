"""Whether the stock alone serves a project with some demands changed: for certain, likely, or at best.

- *Certain*: there is a set all of whose checks fit, whatever the true values of its ratings.
- *Likely*: there is one all of whose checks fit with every rating at its likely value, and with every
  untested part working. This is no chance; it is what one would bet on.
- *At best*: there is one none of whose checks fails, so some true values make it work.

Each holds where the one before does.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Collection, Mapping
from enum import StrEnum

from fitter.checks.base import Verdict
from fitter.checks.find import find_checks
from fitter.errors import FitterError
from fitter.functions import join
from fitter.projects import Project, bind_figures
from fitter.reach.likely import LikelyPool
from fitter.shed import Shed
from fitter.solve.builds import Build, Checked, judge_check
from fitter.solve.limits import Limit, StoppedBy
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import Found, any_build, ranked_builds, sketch

NODES = 20_000  # that one question may open
BEST_SECONDS = 2.0  # for the best of the sets that reach a limit; then any of them has to do
KEPT = 30  # questions whose tables are kept; each value of a demand has tables of its own


class Certainty(StrEnum):
    """How sure it is that the stock serves a demand."""

    CERTAIN = "certain"
    LIKELY = "likely"
    BEST = "best"


class Asking:
    """One project, asked again and again with its demands changed, of the stock alone."""

    def __init__(self, shed: Shed, project: Project) -> None:
        self.shed = shed
        self.project = project
        self.stopped_by: StoppedBy | None = None
        self.proved = True  # no question since this was set has been left open
        self._pools = dict.fromkeys(Certainty, shed.pool) | {Certainty.LIKELY: LikelyPool(shed.pool)}
        self._tables: dict[Certainty, Tables] = {}
        self._asked = itertools.count()
        self._end = time.process_time() + shed.limit_seconds

    def at(self, figures: Mapping[str, float]) -> Project | None:
        """The project with some demands changed; none where its arithmetic comes to nothing."""
        try:
            return bind_figures(self.project.recipe, {**self.project.demands, **figures})
        except FitterError:
            return None

    def goes(self, certainty: Certainty, figures: Mapping[str, float], bought: str | None = None) -> bool:
        """Whether a set is found; an open question counts as no, and is noted in ``proved``.

        Args:
            certainty: What is asked of its checks.
            figures: Demands that are changed, SI.
            bought: A role that something bought may fill.
        """
        return self.found(certainty, figures, bought) is not None

    def found(
        self, certainty: Certainty, figures: Mapping[str, float], bought: str | None = None
    ) -> Found | None:
        """Some set, as :meth:`goes` asks for it."""
        project = self.at(figures)
        if project is None:
            return None
        if next(self._asked) % KEPT == 0:
            self._tables = {c: self._fresh(c, priced=False) for c in Certainty}
        limit = Limit(min(NODES, self.shed.limit_nodes), self._end - time.process_time(), self.shed.watcher)
        tables = self._tables[certainty].filtered(self._filters(self._owned(bought)))
        found = any_build(project, tables, limit)
        if found is None and limit.reached:
            self.proved = False
            self.stopped_by = limit.stopped_by
        return found

    def best(self, certainty: Certainty, figures: Mapping[str, float]) -> Build | None:
        """The best of the sets that go, judged in full; any of them where that takes long.

        Raises:
            RuntimeError: A set does not pass after all, which is a fault of the program.
        """
        project = self.at(figures)
        if project is None:
            return None
        limit = Limit(NODES, BEST_SECONDS, self.shed.watcher)
        found = next(ranked_builds(project, self._fresh(certainty, priced=True), limit), None)
        found = found or self.found(certainty, figures)
        if found is None:
            return None
        checks = tuple(judge_check(c, found.parts) for c in found.model.checks)
        if wrong := [c for c in checks if not passes(c, certainty)]:
            raise RuntimeError(f"the search let through {wrong[0].check!r}")
        return Build(found.score, found.principles, found.model.roles, found.parts, checks, found.model)

    def short(self, certainty: Certainty, figures: Mapping[str, float], build: Build) -> list[Checked]:
        """Checks that a set does not pass with demands changed, in the order of its margins."""
        project = self.at(figures)
        if project is None:
            return []
        checks = find_checks(join({f: sketch(project, f, p) for f, p in build.principles.items()}))
        judged = [judge_check(c, build.parts) for c in checks if set(c.roles) <= set(build.parts)]
        failing = [c for c in judged if not passes(c, certainty)]
        return sorted(failing, key=lambda c: (float(c.judgement.margin.lo), c.check.name))

    def _fresh(self, certainty: Certainty, *, priced: bool) -> Tables:
        return Tables(
            self._pools[certainty],
            self.shed.waste,
            self._filters(self._owned(None)),
            priced=priced,
            strict=certainty is not Certainty.BEST,
        )

    def _filters(self, owned: Collection[str]) -> Filters:
        return Filters(without=self.shed.without, owned=owned)

    def _owned(self, bought: str | None) -> frozenset[str]:
        """Functions, and the other roles of one of them, that the stock must fill."""
        functions = {f.name: f for f in self.project.functions}
        opened = functions.pop(bought.partition(".")[0]) if bought else None
        roles = (
            role
            for principle in (opened.principles if opened else ())
            for role in sketch(self.project, opened.name if opened else "", principle).roles
        )
        return frozenset((*functions, *(r for r in roles if r != bought)))


def passes(checked: Checked, certainty: Certainty) -> bool:
    """Whether the verdict of a check is good enough; likely ones are judged with likely values."""
    if certainty is Certainty.BEST:
        return checked.verdict is not Verdict.FAILS
    return checked.verdict is Verdict.FITS
