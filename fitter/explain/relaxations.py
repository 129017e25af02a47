"""What would make a project go: the least changes of demands, and what was fixed by hand let go.

Single changes come first; pairs, then a larger set, only where nothing smaller suffices. Each figure is
found by asking the search again and again, halving between the value asked for, with which no set passes,
and the easiest, with which one does; then by trying values of three digits in the unit people read. So the
value given is passed, and the next one towards what was asked is not. Where more demands than one must give
way, all are moved by the same share of their way, then each is taken back as far as it goes.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fitter.explain.case import Case, Requirement, Sort
from fitter.projects import Demand
from fitter.solve.builds import Build
from fitter.solve.conflicts import Questions
from fitter.solve.ease import ends
from fitter.solve.halving import CLOSE, last_good

MOST_PAIRS = 3  # pairs of changes that are worked out


@dataclass(frozen=True)
class Change:
    """A demand changed, SI; ``least`` where the next value of three digits is proved to be too hard."""

    demand: str
    asked: float
    value: float
    least: bool


@dataclass(frozen=True)
class Relaxation:
    """Changes, and requirements let go, with which a set passes; ``size`` ranks them, least first."""

    changes: tuple[Change, ...]
    let_go: tuple[Requirement, ...]
    build: Build
    size: float


class Relaxations:
    """The ways to make a project go by asking for less."""

    def __init__(self, case: Case, *, from_stock: bool) -> None:
        self.case = case
        self.stock = tuple(case.from_stock) if from_stock else ()
        self.questions: Questions[Requirement] = case.questions(self.stock)

    def found(self) -> list[Relaxation]:
        """All of the fewest changes that suffice, the smallest first; none where nothing helps."""
        sets = self._fewest()
        found = [r for r in (self._worked_out(each) for each in sets) if r is not None]
        return sorted(found, key=lambda r: (r.size, [c.demand for c in r.changes]))

    @property
    def possible(self) -> bool | None:
        """Whether any change at all helps."""
        return self.questions([])

    def _fewest(self) -> list[tuple[Requirement, ...]]:
        """Sets of requirements that have to give way, all of the smallest number up to two, else one set."""
        every = self.case.changeable
        if not self.possible:
            return []
        for number in (1, 2):
            sets = [s for s in itertools.combinations(every, number) if self._suffices(s)]
            if sets:
                return sets[: MOST_PAIRS if number > 1 else None]
        left: list[Requirement] = []
        for each in every:
            if self.questions([*left, each]):
                left.append(each)
        return [tuple(r for r in every if r not in left)]

    def _suffices(self, given_up: Sequence[Requirement]) -> bool:
        return self.questions(r for r in self.case.changeable if r not in given_up) is True

    def _worked_out(self, given_up: Sequence[Requirement]) -> Relaxation | None:
        let_go = tuple(r for r in given_up if r.sort is not Sort.DEMAND)
        names = [r.name for r in given_up if r.sort is Sort.DEMAND]
        held = [*self.stock, *(r for r in self.case.changeable if r not in given_up)]
        best: list[Change] | None = None
        for easiest in itertools.product(*(self.case.easier[name] for name in names)):
            goal = dict(zip(names, easiest, strict=True))
            if self.case.goes(goal, held):
                changes = _Search(self.case, held, goal).changes()
                if best is None or self._size(changes) < self._size(best):
                    best = changes
        if best is None:
            return None
        build = self.case.best({c.demand: c.value for c in best}, held)
        return Relaxation(tuple(best), let_go, build, self._size(best)) if build else None

    def _size(self, changes: Sequence[Change]) -> float:
        """How much is asked to give way: the sum of what each change is of the larger of its two values.

        Where the scale has no natural zero, as with temperatures, of what the recipe allows.
        """
        demands = self.case.project.recipe.demands
        return sum(size_of(demands[c.demand], c.asked, c.value) for c in changes)


def size_of(demand: Demand, asked: float, value: float) -> float:
    """How large a change of a demand is, 0..1."""
    low, high = ends(demand, asked)
    scale = high - low if demand.quantity == "temperature" else max(abs(asked), abs(value))
    return abs(asked - value) / scale if scale else 0.0


class _Search:
    """The least changes of some demands, all of which have to give way."""

    def __init__(self, case: Case, held: Sequence[Requirement], goal: Mapping[str, float]) -> None:
        self.case = case
        self.held = held
        self.asked = {name: case.project.demands[name] for name in goal}
        self.goal = dict(goal)
        self.proved = True

    def changes(self) -> list[Change]:
        """Each demand with a value that suffices together with the others."""
        if len(self.goal) > 1:
            self._all_at_once()
        return [self._change(name) for name in self.goal]

    def _goes(self, figures: Mapping[str, float]) -> bool:
        """Whether a set is found; an open question counts as no, and is remembered."""
        answer = self.case.goes(figures, self.held)
        self.proved = self.proved and answer is not None
        return answer is True

    def _all_at_once(self) -> None:
        """Take all demands back from their goals by the same share."""
        start = dict(self.goal)

        def at(share: float) -> dict[str, float]:
            return {n: _between(start[n], self.asked[n], share) for n in start}

        good, bad = 0.0, 1.0
        while bad - good > CLOSE:
            middle = (good + bad) / 2
            good, bad = (middle, bad) if self._goes(at(middle)) else (good, middle)
        self.goal = at(good)

    def _change(self, name: str) -> Change:
        """Take one demand back as far as it goes, the others at their goals."""
        demand, asked = self.case.project.recipe.demands[name], self.asked[name]

        def goes(value: float) -> bool:
            return self._goes({**self.goal, name: value})

        value = last_good(demand, self.goal[name], asked, goes)
        self.goal[name] = value
        return Change(name, asked, value, self.proved)


def _between(a: float, b: float, share: float) -> float:
    """The value a share of the way from one to another, by ratio where that makes sense."""
    return a * (b / a) ** share if a > 0 and b > 0 else a + (b - a) * share
