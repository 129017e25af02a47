"""One variant of a project, searched only as far as it is worth it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

import constraint
import numpy as np

from fitter.solve.elimination import Costs
from fitter.solve.limits import AT_ONCE
from fitter.solve.model import Model
from fitter.solve.ranked import FORBIDDEN, RankedSolver, Search
from fitter.solve.tables import Mask

if TYPE_CHECKING:
    from fitter.solve.variants import Variants

Solution: TypeAlias = tuple[float, dict[str, int]]
PROMISING = (30, 120)  # candidates of each role among which a first set is looked for
FEW_LEFT = 1_000  # candidates in all roles together that need no closer look
CLOSELY = 4  # roles that are looked at closely, those with most candidates
WORTH = 0.8  # leaving out fewer candidates than a fifth is not worth new tables
LEAST_STEP = 100.0  # by which a horizon moves out at the least: one euro


def bound_of(model: Model) -> float:
    """No solution of a model is cheaper."""
    return search_of(model).bound


def search_of(model: Model) -> Search:
    """The ranked search of a model, as a problem of the constraint library."""
    if not model.possible:
        return Search({"": 0}, [])
    problem = constraint.Problem(RankedSolver())
    for role, size in model.sizes.items():
        problem.addVariable(role, list(range(size)))
    for weighted in model.constraints:
        problem.addConstraint(weighted, list(weighted.scope))
    return problem.getSolver().search(problem)  # type: ignore[no-any-return]


def _best(costs: Costs, few: int) -> Mask:
    """Marks so many of the least costs; among equal ones, some evenly apart in the list."""
    if len(costs) <= few:
        return costs < FORBIDDEN
    last = np.partition(costs, few - 1)[few - 1]
    keep = costs < last
    equal = np.flatnonzero(costs == last)
    keep[equal[np.linspace(0, len(equal) - 1, few - int(keep.sum())).astype(int)]] = True
    return np.asarray(keep & (costs < FORBIDDEN))


class Known:
    """The cheapest set known so far, of whichever variant: what is worth looking at is no dearer."""

    def __init__(self) -> None:
        self.least = FORBIDDEN

    def note(self, cost: float) -> None:
        """A set of this cost exists."""
        self.least = min(self.least, cost)


class Look:
    """A model and its search."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.search = search_of(model)

    @cached_property
    def least(self) -> Mapping[str, Costs]:
        """For each candidate of each role: no set that has it is cheaper."""
        found = self.search.elimination.least_with()
        return {r: found[r] for r in self.model.columns}

    def within(self, cost: float) -> Look:
        """Without what cannot be part of a set up to a cost, as long as that leaves out enough.

        Where that is not enough for a bound near the cost, each role is looked at closely in turn: its
        candidates told apart finely, at the price of seeing the others coarsely.
        """
        look = self._without(self, cost)
        while look.model.possible and look.search.bound < cost < FORBIDDEN:
            before = look.size
            if before <= FEW_LEFT:
                break
            for role in sorted(look.model.columns, key=lambda r: -len(look.model.columns[r]))[:CLOSELY]:
                close = Look(look.model.ruled({}, focus=role))
                look = self._without(close, cost, look)
                if not look.model.possible:
                    return look
            if look.size > WORTH * before:
                break
        return look

    @property
    def size(self) -> int:
        """Candidates of all roles."""
        return sum(map(len, self.model.columns.values()))

    @staticmethod
    def _without(judge: Look, cost: float, look: Look | None = None) -> Look:
        """A look with what one finds too dear left out, again and again while that is worth it."""
        look = look or judge
        while judge.model.possible:
            keep = {r: least <= cost for r, least in judge.least.items()}
            kept = sum(map(np.count_nonzero, keep.values()))
            if kept > WORTH * look.size and not look.model.coarse:
                break
            look = judge = Look(look.model.ruled(keep))
        return look

    def soon_found(self) -> tuple[Model, Solution] | None:
        """Some set that is found soon, among the candidates of each role that promise most."""
        if (found := self.search.dive()) is not None:
            return self.model, found
        for few in PROMISING:
            look = Look(self.model.ruled({r: _best(least, few) for r, least in self.least.items()}))
            found = look.search.next(nodes=AT_ONCE) or look.search.dive()
            if found is not None:
                return look.model, found
        return None


@dataclass(order=True)
class Opened:
    """A variant, or part of one, on the heap: ordered by what it can still give, then by its principles.

    Where the first look finds nothing, candidates that cannot be part of any set up to some cost, the
    *horizon*, are left out: tables over those that remain are finer, and mostly exact. When all sets up
    to the horizon are found it is moved out.
    """

    bound: float
    choice: tuple[int, ...]
    number: int = 0  # among the parts of one variant
    rules: Mapping[str, Mask] = field(default_factory=dict, compare=False)  # candidates that may be used
    nodes: int = field(default=0, compare=False)  # opened so far, those of first sets soon found left out
    horizon: float = field(default=FORBIDDEN, compare=False)
    _least: float = field(default=0.0, compare=False)  # the bound at first
    _tries: int = field(default=2, compare=False)  # at finding out how far to look
    _whole: Look | None = field(default=None, compare=False)
    _now: Look | None = field(default=None, compare=False)
    _given: set[tuple[int, ...]] = field(default_factory=set, compare=False)

    @property
    def begun(self) -> bool:
        """Whether it was looked into."""
        return self._now is not None

    @property
    def model(self) -> Model:
        """What the solutions of :meth:`advance` are of."""
        assert self._now is not None
        return self._now.model

    def advance(self, variants: Variants, known: Known, limit: float, nodes: int) -> Solution | None:
        """Open it, draw the horizon in or out, or take the next solution within the limits."""
        if self._whole is None or self._now is None:
            self._open(variants.open(self.choice).ruled(self.rules))
            return None
        if self.bound > self.horizon:
            self.horizon += 2 * max(self.horizon - self._least, LEAST_STEP)
            self._now = self._whole.within(self.horizon)
            return None
        search = self._now.search
        before = search.nodes
        found = search.next(min(limit, self.horizon), nodes)
        self.nodes += search.nodes - before
        self.bound = max(self.bound, min(search.bound, self.horizon + 1))
        if found is None and self._tries and self.bound <= limit:
            self._draw_in(self._now, known)
        return found if found is not None and self._new(found[1]) else None

    def _open(self, model: Model) -> None:
        self._whole = self._now = Look(model)
        self.bound = self._least = max(self.bound, self._now.search.bound)

    def _draw_in(self, now: Look, known: Known) -> None:
        """Look no further than a set that is known, or soon found."""
        self._tries -= 1
        worth = known.least
        if not self.bound <= worth < FORBIDDEN:
            found = now.soon_found()
            worth = found[1][0] if found else FORBIDDEN
            known.note(worth)
        if worth < FORBIDDEN:
            self._tries = 0
        self.horizon = worth
        self._now = now.within(worth)

    def _new(self, assignment: Mapping[str, int]) -> bool:
        """Whether a solution was not given before the horizon was moved."""
        key = tuple(int(c.rows[assignment[r]]) for r, c in self.model.columns.items())
        new = key not in self._given
        self._given.add(key)
        return new
