"""Measurements ranked by what they would settle.

A recipe is *settled* when its best set has nothing open, or when no set will do. The state it then has is
the final one: that of all ratings known. Until then its best set waits for measurements, and behind it
stand others that need other parts. :func:`fitter.measuring.cases.case_of` finds those: the best set, then
the best without the lots that keep it open, and so on, until nothing is open or more would have to be
bought; and those sets with one part that matters swapped for another.

A *measurement* here is one rating of a lot, or several that only together settle something. What it would
settle is worked out by :mod:`fitter.measuring.rejudge` in worlds drawn by :mod:`fitter.measuring.truths`:

- it *passes* a set where all checks of the best set, or of another that buys no more, then surely fit;
- it *rules out* where those all fail, and what is left has nothing open;
- the share of worlds in which either holds is the chance that the recipe is settled.

That a set passes is exact in each world: no set buys less than the best one, so nothing can rank before a set
that buys as little and has nothing open. That all are ruled out is said of the sets looked at; only a search
after the measurement proves it.

Measurements are ranked by recipes expected to be settled, over the minutes they take. Several together are
tried where one alone does not settle all it could: the ratings that keep a set open, and those that must
be added before its checks are decided.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from fitter.measuring.cases import Case, asked, read
from fitter.measuring.rejudge import FAILS, OPEN, PASSES, Rejudge
from fitter.measuring.truths import Known, Open, Worlds, open_of
from fitter.side_by_side import side_by_side
from fitter.solve.builds import Build, State
from fitter.solve.limits import Watcher

ALL_SUBSETS = 3  # up to so many open ratings of a set, every choice of them is tried
MOST_TOGETHER = 8  # ratings in one combined measurement
DECIDED = 0.95  # of the worlds, from which on no further rating is added
SLACK = 0.03  # of the worlds, which a rating must decide to be worth adding
LEAST = 1e-9


@dataclass(frozen=True)
class Effect:
    """What a measurement would do for one recipe: chances that a set then passes, or that all are ruled out.

    ``sets`` are those of its sets that it decides in some world, by number from 0.
    """

    case: Case
    sets: tuple[int, ...]
    passes: float
    rules_out: float
    loses_best: float

    @property
    def settles(self) -> float:
        """Chance that the recipe is settled."""
        return self.passes + self.rules_out

    @property
    def becomes(self) -> State:
        """The state when a set passes."""
        return State.BUY_FIRST if self.case.sets[0].to_buy else State.READY


@dataclass(frozen=True)
class Measurement:
    """Ratings to be measured together, in the order in which to do so, and what that would settle."""

    steps: tuple[Open, ...]
    effects: tuple[Effect, ...]

    @property
    def minutes(self) -> float:
        """For all of them."""
        return sum(step.minutes for step in self.steps)

    @property
    def expected(self) -> float:
        """Recipes expected to be settled."""
        return sum(effect.settles for effect in self.effects)

    @property
    def per_minute(self) -> float:
        """What they are ranked by."""
        return self.expected / max(self.minutes, 1.0)

    @property
    def rules_out(self) -> float:
        """Recipes expected to lose their best set."""
        return sum(effect.loses_best for effect in self.effects)

    @property
    def useful(self) -> bool:
        """Whether it may settle something, or by itself rule out the best set of a recipe."""
        return self.expected > LEAST or (self.rules_out > LEAST and len(self.steps) == 1)

    def does_as_much(self, other: Measurement) -> bool:
        """Whether this one settles as much as another, or where that settles nothing, rules out as much."""
        if other.expected > LEAST:
            return self.expected >= other.expected - LEAST
        return self.rules_out >= other.rules_out - LEAST

    def order(self) -> tuple[object, ...]:
        """Key by which they are ranked."""
        minutes = max(self.minutes, 1.0)
        return -self.per_minute, -self.rules_out / minutes, minutes, tuple(s.path for s in self.steps)

    @property
    def known(self) -> Known:
        """Lot and field of each."""
        return frozenset((step.lot.id, step.field) for step in self.steps)


@dataclass
class Ranking:
    """All measurements worth making for some recipes, the best first; so many processes work at them."""

    cases: Sequence[Case]
    worlds: Worlds = field(default_factory=Worlds)
    watcher: Watcher = field(default_factory=Watcher)
    processes: int = 1

    def __post_init__(self) -> None:
        self.rejudge = Rejudge(self.worlds)
        self._made: dict[Known, Measurement] = {}

    @cached_property
    def open(self) -> Mapping[tuple[str, str], Open]:
        """All that can be measured of the lots in any set, by lot and field."""
        lots = {
            c.lot.id: c.lot
            for case in self.cases
            for b in case.sets
            for c in b.parts.values()
            if not c.bought
        }
        return {(lot.id, name): each for lot in lots.values() for name, each in open_of(lot).items()}

    @cached_property
    def measurements(self) -> list[Measurement]:
        """Ranked: those that may settle a recipe, then those that only may rule out its best set.

        None is there of which a part does as much.
        """
        each = side_by_side(
            [case for case in self.cases if not case.settled],
            self._of_case,
            lambda case: len(case.sets),
            self.watcher,
            self.processes,
        )
        made = {known: measurement for of_case in each for known, measurement in of_case.items()}
        good = [m for known, m in made.items() if m.useful and self._worth_it(m, known, made)]
        return sorted(good, key=Measurement.order)

    @staticmethod
    def _worth_it(m: Measurement, known: Known, made: Mapping[Known, Measurement]) -> bool:
        """Whether no smaller choice does as much."""
        return not any(less < known and other.does_as_much(m) for less, other in made.items())

    def _of_case(self, case: Case) -> dict[Known, Measurement]:
        """What to measure together for one recipe, weighed for all of them; none that was weighed before."""
        found: dict[Known, Measurement] = {}
        for known in dict.fromkeys(known for build in case.sets for known in self._of_one(build)):
            if known and known not in self._made:
                found[known] = self._made[known] = self._measurement(known)
        return found

    def _of_one(self, build: Build) -> Iterator[Known]:
        base = asked(build)
        if len(base) <= ALL_SUBSETS:
            sizes = range(1, len(base) + 1)
            yield from (frozenset(each) for n in sizes for each in itertools.combinations(base, n))
        else:
            yield from (frozenset([each]) for each in base)
        if base:
            yield self._completed(build, frozenset(base[:MOST_TOGETHER]))

    def _completed(self, build: Build, base: Known) -> Known:
        """What must be known together before a set is decided as far as it can be.

        Where the ratings that keep it open do not decide it, all that its open checks read is taken, and
        what makes no difference left out again, the longest measurement first.
        """
        if self._decided(build, base) >= DECIDED:
            return base
        known = base | read(build.parts, build.unproven)
        enough = self._decided(build, known) - SLACK
        for at in sorted(known, key=lambda at: (at in base, -self.open[at].minutes, at)):
            if self._decided(build, known - {at}) >= enough:
                known -= {at}
        return known

    def _decided(self, build: Build, known: Known) -> float:
        return float(np.mean(self.rejudge.outcome(build, known) != OPEN))

    def _measurement(self, known: Known) -> Measurement:
        effects = tuple(e for case in self.cases if (e := self._effect(case, known)) is not None)
        return Measurement(self._in_order(known), effects)

    def _effect(self, case: Case, known: Known) -> Effect | None:
        """What a measurement does for a recipe; nothing where the recipe has none of its parts."""
        if case.settled or not any(_touches(build, known) for build in case.sets):
            return None
        outcomes = np.array([self.rejudge.outcome(build, known) for build in case.sets])
        before = np.array([PASSES if not build.unproven else OPEN for build in case.sets])[:, None]
        if (outcomes == before).all():
            return None
        bought = np.array([build.to_buy for build in case.sets])[:, None]
        least = np.min(np.where(outcomes == FAILS, np.inf, bought), axis=0)
        first = ((outcomes == PASSES) & (bought == least)).any(axis=0)
        passes = first & (least == bought[0])
        ruled_out = (first & ~passes) | (np.isinf(least) & case.closed)
        return Effect(
            case,
            tuple(int(i) for i in np.flatnonzero((outcomes != before).any(axis=1))),
            float(passes.mean()),
            float(ruled_out.mean()),
            float((outcomes[0] == FAILS).mean()),
        )

    def _in_order(self, known: Known) -> tuple[Open, ...]:
        """First what is most likely to make the rest needless, for the minutes it takes."""
        steps = [self.open[at] for at in sorted(known)]
        if len(steps) == 1:
            return tuple(steps)
        return tuple(sorted(steps, key=lambda s: (-self._ends_early(s) / s.minutes, s.path)))

    def _ends_early(self, step: Open) -> float:
        """Chance that one measurement by itself rules out the sets it is for, the mean over them."""
        at = frozenset([(step.lot.id, step.field)])
        sets = [
            b for case in self.cases if not case.settled for b in case.sets if _touches(b, at) and b.unproven
        ]
        return float(np.mean([(self.rejudge.outcome(b, at) == FAILS).mean() for b in sets])) if sets else 0.0


def _touches(build: Build, known: Iterable[tuple[str, str]]) -> bool:
    lots = {c.lot.id for c in build.parts.values() if not c.bought}
    return any(lot in lots for lot, _ in known)
