"""At which values of a rating the verdict on a set flips, all else known as well or as badly as it is."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from fitter.checks.base import Check, Part
from fitter.measuring.rejudge import PASSES, Measured, Plain, outcome_of
from fitter.measuring.truths import Open, exactly, recorded, used
from fitter.ratings import WIDE, Rating
from fitter.solve.builds import Build

if TYPE_CHECKING:
    import numpy.typing as npt

STEPS = 33  # values tried at once
ROUNDS = 3  # each 32 times finer than the one before


@dataclass(frozen=True)
class Flip:
    """A stretch of values of a rating over which the checks that read it say the same, ends in SI."""

    verdict: int
    low: float
    high: float


def flips(build: Build, open_: Open) -> list[Flip]:
    """What the checks of a set that depend on a rating say over all values it may have, lowest first.

    The rating is taken as exactly known at each value and everything that follows from it is narrowed;
    all other ratings keep their intervals. Only checks that could go either way at present count.
    """
    rating = next(iter(open_.ratings.values()))
    scale = _Scale(build, open_, rating)
    if not scale.checks:
        return []
    if open_.spec is None or open_.spec.choices or open_.spec.quantity == "count":
        return scale.stretches(scale.whole_values())
    return scale.stretches(scale.refined())


class _Scale:
    """Verdicts along the values of one rating of one lot in a set."""

    def __init__(self, build: Build, open_: Open, rating: Rating) -> None:
        self.build = build
        self.open = open_
        top = rating.hi if math.isfinite(rating.hi) else WIDE * max(rating.likely, rating.lo)
        self.low, self.high = rating.lo, top
        self.by_ratio = self.low > 0 and self.high > WIDE * self.low
        self._known: dict[float, int] = {}

    @cached_property
    def roles(self) -> list[str]:
        """Roles that the lot fills."""
        return [r for r, c in self.build.parts.items() if not c.bought and c.lot.id == self.open.lot.id]

    @cached_property
    def checks(self) -> list[Check]:
        """Checks that read a part of the lot, and could go either way at present."""
        return [c.check for c in self.build.unproven if not set(self.roles).isdisjoint(c.check.roles)]

    def whole_values(self) -> list[float]:
        """All values of a count or a choice."""
        return [float(v) for v in range(math.ceil(self.low), min(math.floor(self.high), 200) + 1)]

    def refined(self) -> list[float]:
        """Values close to each other wherever the verdict changes between them."""
        values = self._between(self.low, self.high)
        for _ in range(ROUNDS):
            self._judge(values)
            gaps = [(a, b) for a, b in pairwise(values) if self._known[a] != self._known[b]]
            values = sorted({*values, *(v for a, b in gaps for v in self._between(a, b))})
        return values

    def _between(self, low: float, high: float) -> list[float]:
        if self.by_ratio:
            return [float(v) for v in np.geomspace(low, high, STEPS)]
        return [float(v) for v in np.linspace(low, high, STEPS)]

    def stretches(self, values: list[float]) -> list[Flip]:
        """Neighbouring values of one verdict together."""
        self._judge(values)
        found: list[Flip] = []
        for value in values:
            verdict = self._known[value]
            if found and found[-1].verdict == verdict:
                found[-1] = replace(found[-1], high=value)
            else:
                found.append(Flip(verdict, value, value))
        return found

    def _judge(self, values: list[float]) -> None:
        fresh = [v for v in values if v not in self._known]
        if fresh:
            self._known |= dict(zip(fresh, map(int, self._verdicts(fresh)), strict=True))

    def _verdicts(self, values: list[float]) -> npt.NDArray[np.int8]:
        lots = [recorded(self.open.lot, dict.fromkeys(self.open.ratings, v), exactly) for v in values]
        columns: dict[str, Part] = {
            role: Measured([list(used(self.build.parts[role], lot)) for lot in lots], 0)
            for role in self.roles
        }
        worst = np.full(len(values), PASSES, dtype=np.int8)
        for check in self.checks:
            parts = {r: columns[r] if r in columns else Plain(self.build.parts[r]) for r in check.roles}
            np.minimum(worst, outcome_of(check.judge(parts).margin), out=worst)
        return worst
