"""Sets judged again as if some ratings were measured, in many worlds at once.

Nothing is guessed here: each check of a set is judged by itself, with the measured ratings as a bench would
tell them and all others as wide as they are, and the other ratings that follow from a measured one narrowed
by the rules of its kind.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from fitter.checks.base import ROUNDING, Check, Verdict
from fitter.intervals import Interval
from fitter.measuring.truths import Known, Worlds
from fitter.solve.builds import Build
from fitter.solve.candidates import Candidate

if TYPE_CHECKING:
    import numpy.typing as npt

PASSES, OPEN, FAILS = 1, 0, -1
_SAID = {Verdict.FITS: PASSES, Verdict.UNPROVEN: OPEN, Verdict.FAILS: FAILS}


class Measured:
    """A part in many worlds: its ratings as arrays of shape ``(worlds,)``."""

    def __init__(self, worlds: list[list[Candidate]], way: int) -> None:
        self.worlds = [each[way % len(each)] for each in worlds]
        self._ratings: dict[str, Interval] = {}

    def __getitem__(self, rating: str) -> Interval:
        if rating not in self._ratings:
            found = [c.rating(rating) for c in self.worlds]
            self._ratings[rating] = Interval(np.array([r.lo for r in found]), np.array([r.hi for r in found]))
        return self._ratings[rating]


class Rejudge:
    """Judges sets in the worlds of a :class:`Worlds`; each judgement is kept, as sets have much in common."""

    def __init__(self, worlds: Worlds) -> None:
        self.worlds = worlds
        self._views: dict[tuple[str, frozenset[str], int], Measured] = {}
        self._outcomes: dict[tuple[object, ...], npt.NDArray[np.int8]] = {}
        self._checks: dict[tuple[object, ...], npt.NDArray[np.int8]] = {}

    def outcome(self, build: Build, known: Known) -> npt.NDArray[np.int8]:
        """For each world 1 where all checks of a set then fit, -1 where one fails, else 0."""
        fields = {role: found for role, c in build.parts.items() if (found := _fields(c, known))}
        key = (build, tuple(sorted((r, tuple(sorted(f))) for r, f in fields.items())))
        if key not in self._outcomes:
            ways = max((self._ways(build.parts[role], f) for role, f in fields.items()), default=1)
            each = [self._in_one_way(build, fields, way) for way in range(ways)]
            self._outcomes[key] = np.array(each).max(axis=0)
        return self._outcomes[key]

    def _ways(self, candidate: Candidate, fields: frozenset[str]) -> int:
        return max(len(each) for each in self.worlds.measured(candidate, fields))

    def _in_one_way(self, build: Build, fields: dict[str, frozenset[str]], way: int) -> npt.NDArray[np.int8]:
        worst = np.full(self.worlds.number, PASSES, dtype=np.int8)
        for checked in build.checks:
            if fields.keys().isdisjoint(checked.check.roles):
                np.minimum(worst, _SAID[checked.verdict], out=worst)
            else:
                np.minimum(worst, self._check(checked.check, build, fields, way), out=worst)
        return worst

    def _check(
        self, check: Check, build: Build, fields: dict[str, frozenset[str]], way: int
    ) -> npt.NDArray[np.int8]:
        parts = {role: build.parts[role] for role in check.roles}
        key = (check, tuple((c.id, c.bought, fields.get(r)) for r, c in parts.items()), way)
        if key not in self._checks:
            judgement = check.judge({r: self._view(c, fields.get(r), way) for r, c in parts.items()})
            self._checks[key] = np.broadcast_to(outcome_of(judgement.margin), (self.worlds.number,))
        return self._checks[key]

    def _view(self, candidate: Candidate, fields: frozenset[str] | None, way: int) -> Plain | Measured:
        if not fields:
            return Plain(candidate)
        key = (candidate.id, fields, way)
        if key not in self._views:
            self._views[key] = Measured(self.worlds.measured(candidate, fields), way)
        return self._views[key]


def outcome_of(margin: Interval) -> npt.NDArray[np.int8]:
    """For each margin 1 where the check fits, -1 where it fails, else 0."""
    lo, hi = np.asarray(margin.lo), np.asarray(margin.hi)
    said = np.where(lo >= 1 - ROUNDING, PASSES, np.where(hi < 1 - ROUNDING, FAILS, OPEN))
    return said.astype(np.int8)


class Plain:
    """A part of which nothing new is known, its ratings as plain numbers."""

    def __init__(self, candidate: Candidate) -> None:
        self.candidate = candidate

    def __getitem__(self, rating: str) -> Interval:
        return self.candidate.rating(rating).interval


def _fields(candidate: Candidate, known: Iterable[tuple[str, str]]) -> frozenset[str]:
    if candidate.bought:
        return frozenset()
    return frozenset(field for lot, field in known if lot == candidate.lot.id)
