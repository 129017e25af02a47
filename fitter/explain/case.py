"""A project's requirements, and whether some of them can be met: every question is asked of the search.

A *requirement* is a demand at the value asked for, a lot put into a role by hand, a lot left out by hand,
a function all of whose parts come from the stock, one role that does, or a kind of check that must
pass. What is not required is left free: a demand goes to its easiest value, a role may be bought, and so
on. Free demands whose easier end is not known are tried at both ends, and half-way to each.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from fitter.errors import FitterError
from fitter.projects import Project, bind_figures
from fitter.shed import Shed
from fitter.solve.builds import Build, judge
from fitter.solve.conflicts import Questions
from fitter.solve.ease import Ease, checks_of, every_way
from fitter.solve.limits import Limit
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import any_build, good_build, ranked_builds, sketch

SECONDS = 6.0  # of computing, for all questions about one project
NODES = 20_000  # that one question may open
LEAST_SECONDS = 1.0  # for the best set where some set is known to do
MOST_TRIES = 25  # combinations of values of demands whose easier end is not known


class Sort(StrEnum):
    """What a requirement is about."""

    DEMAND = "demand"
    FIXED = "fixed"
    LEFT_OUT = "left out"
    STOCK = "stock"
    ROLE = "role"
    CHECK = "check"


@dataclass(frozen=True)
class Requirement:
    """One thing that is asked for: the demand, role, lot, function or check of that name."""

    sort: Sort
    name: str


class Case:
    """One project as asked for, and questions about its requirements."""

    def __init__(
        self, shed: Shed, project: Project, fixed: Mapping[str, str] | None = None, seconds: float = SECONDS
    ) -> None:
        self.shed = shed
        self.project = project
        self.fixed = dict(fixed or {})
        ease = Ease(project, shed.pool)
        easier = {name: ease.easier(name) for name in project.demands}
        self.easier = {name: _tried(project.demands[name], ends) for name, ends in easier.items() if ends}
        self.complete = True
        self._end = time.process_time() + min(seconds, shed.limit_seconds)
        self._priced = Tables(shed.pool, shed.waste)
        self._tables = Tables(shed.pool, shed.waste, priced=False)

    @property
    def changeable(self) -> list[Requirement]:
        """Demands that could be easier, and what was fixed or left out by hand."""
        return [
            *(Requirement(Sort.DEMAND, name) for name in self.easier),
            *(Requirement(Sort.FIXED, role) for role in self.fixed),
            *(Requirement(Sort.LEFT_OUT, lot) for lot in dict.fromkeys(self.shed.without)),
        ]

    @property
    def from_stock(self) -> list[Requirement]:
        """Every function from stock."""
        return [Requirement(Sort.STOCK, f.name) for f in self.project.functions]

    def roles(self, function: str) -> list[Requirement]:
        """Every role of one function, in any of its principles, from stock."""
        bound = next(f for f in self.project.functions if f.name == function)
        names = (name for p in bound.principles for name in sketch(self.project, function, p).roles)
        return [Requirement(Sort.ROLE, name) for name in dict.fromkeys(names)]

    def questions(
        self, always: Collection[Requirement] = (), *, checks: bool = True
    ) -> Questions[Requirement]:
        """Whether sets of requirements can be met, together with some that always hold.

        Without ``checks`` only those checks must pass that are required.
        """

        def possible(required: frozenset[Requirement]) -> bool | None:
            held = [*required, *always]
            return self.any_goes(self._figures(held), held, checks=checks)

        return Questions(possible)

    def _figures(self, held: Iterable[Requirement]) -> Iterator[dict[str, float]]:
        """Easiest values of all demands that are not required."""
        required = {r.name for r in held if r.sort is Sort.DEMAND}
        free = {
            name: values if len(values) == 1 else (*values, self.project.demands[name])
            for name, values in self.easier.items()
            if name not in required
        }
        for values in itertools.islice(itertools.product(*free.values()), MOST_TRIES):
            yield dict(zip(free, values, strict=True))

    def any_goes(
        self, figures: Iterable[Mapping[str, float]], held: Collection[Requirement], *, checks: bool = True
    ) -> bool | None:
        """Whether some of several choices of demands can be built; none where that is not known."""
        answers = set()
        for each in figures:
            answer = self.goes(each, held, checks=checks)
            if answer:
                return True
            answers.add(answer)
        return None if None in answers else False

    def goes(
        self, figures: Mapping[str, float], held: Collection[Requirement], *, checks: bool = True
    ) -> bool | None:
        """Whether the project can be built with some demands changed and other requirements held."""
        if self.left <= 0:
            self.complete = False
            return None
        try:
            project = bind_figures(self.project.recipe, {**self.project.demands, **figures})
        except FitterError:
            return False
        tables = self._tables.filtered(self._filters(held, checks=checks))
        limit = Limit(NODES, self.left, self.shed.watcher)
        found = any_build(project, tables, limit)
        if found is None and limit.reached:
            self.complete = False
            return None
        return found is not None

    def best(self, figures: Mapping[str, float], held: Collection[Requirement]) -> Build | None:
        """The best set with some demands changed and other requirements held, if one is found in time."""
        project = bind_figures(self.project.recipe, {**self.project.demands, **figures})
        tables = self._priced.filtered(self._filters(held))
        limit = Limit(NODES, max(self.left, LEAST_SECONDS))
        found = next(ranked_builds(project, tables, limit), None) or good_build(project, tables)
        return judge(found, tables) if found else None

    @property
    def left(self) -> float:
        """Seconds of computing left for questions; none once the maker has had enough."""
        return 0.0 if self.shed.watcher.stop else self._end - time.process_time()

    @cached_property
    def check_names(self) -> frozenset[str]:
        """Names of all checks in any variant."""
        functions = [f.name for f in self.project.functions]
        ways = every_way(self.project, functions)
        return frozenset(c.name for each in ways for c in checks_of(self.project, each))

    def _filters(self, held: Collection[Requirement], *, checks: bool = True) -> Filters:
        """What must be held, as filters of the search."""
        named = {sort: frozenset(r.name for r in held if r.sort is sort) for sort in Sort}
        fixed = {role: lot for role, lot in self.fixed.items() if role in named[Sort.FIXED]}
        owned = named[Sort.STOCK] | named[Sort.ROLE]
        unchecked = frozenset() if checks else self.check_names - named[Sort.CHECK]
        return Filters(fixed, named[Sort.LEFT_OUT], owned=owned, unchecked=unchecked)


def _tried(asked: float, easier: Sequence[float]) -> tuple[float, ...]:
    """Values at which a free demand is tried: its easier end, or both ends and between where it has none."""
    if len(easier) == 1:
        return tuple(easier)
    halfway = (math.sqrt(asked * end) if asked > 0 and end > 0 else (asked + end) / 2 for end in easier)
    return (*easier, *halfway)
