"""A build judged in full: every check of its graph, independently of how the search found it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np

from fitter.checks.base import ROUNDING, Check, Judgement, Verdict
from fitter.functions import Principle, Role
from fitter.intervals import Interval
from fitter.solve.candidates import Candidate, Single
from fitter.solve.model import Model
from fitter.solve.score import BUY, check_cost
from fitter.solve.tables import Tables
from fitter.solve.variants import Found


class State(StrEnum):
    """How far a project is from being built; not known where a search stopped before it found any set."""

    READY = "ready"
    MEASURE_FIRST = "measure first"
    BUY_FIRST = "buy first"
    OUT_OF_REACH = "out of reach"
    NOT_KNOWN = "not known"


@dataclass(frozen=True)
class Checked:
    """One check of a build: its judgement, why, and the ratings that keep it open."""

    check: Check
    judgement: Judgement
    sentence: str
    because: tuple[str, ...]

    @property
    def verdict(self) -> Verdict:
        """Fits, unproven or fails."""
        return self.judgement.verdict


class PinnedPart:
    """A candidate with one rating fixed at a value, to see what that rating decides."""

    def __init__(self, candidate: Candidate, pinned: Mapping[str, Interval]) -> None:
        self.candidate = candidate
        self.pinned = dict(pinned)
        self.read: set[str] = set()

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        if rating in self.pinned:
            return self.pinned[rating]
        found = self.candidate.rating(rating)
        return Interval(found.lo, found.hi)


@dataclass(frozen=True, eq=False)
class Build:
    """A set of parts for a project, with all its checks."""

    score: float
    principles: Mapping[str, Principle]
    roles: Mapping[str, Role]
    parts: Mapping[str, Candidate]
    checks: tuple[Checked, ...]
    model: Model

    def __getstate__(self) -> dict[str, object]:
        """What goes to another process: parts and checks; not how they were found, which is large."""
        found_with = ("principles", "roles", "model")
        return {name: value for name, value in vars(self).items() if name not in found_with}

    def makes_rail(self, role: str) -> bool:
        """Whether a role is a supply: two such may be fed by one unit."""
        return bool(self.model.graph.nodes[role].get("makes_rail"))

    @property
    def to_buy(self) -> int:
        """Roles filled from a shop."""
        return sum(c.bought for c in self.parts.values())

    @cached_property
    def open_ratings(self) -> tuple[str, ...]:
        """Paths of all ratings that keep a check unproven, the most telling first.

        Each check gives its first rating a whole vote, its second half a vote, and so on.
        """
        votes: dict[str, float] = {}
        for checked in self.checks:
            for rank, path in enumerate(checked.because, start=1):
                votes[path] = votes.get(path, 0.0) + 1 / rank
        return tuple(sorted(votes, key=lambda p: (-votes[p], p)))

    @property
    def failing(self) -> tuple[Checked, ...]:
        """Checks that fail; none in a build that the search yields, unless it was forced."""
        return tuple(c for c in self.checks if c.verdict is Verdict.FAILS)

    @property
    def unproven(self) -> tuple[Checked, ...]:
        """Checks that could go either way."""
        return tuple(c for c in self.checks if c.verdict is Verdict.UNPROVEN)

    @property
    def state(self) -> State:
        """Ready, measure first, buy first; out of reach when a check fails."""
        if self.failing:
            return State.OUT_OF_REACH
        if self.to_buy:
            return State.BUY_FIRST
        return State.MEASURE_FIRST if self.unproven else State.READY

    @property
    def tightest(self) -> list[Checked]:
        """Checks with the least margin first: fails, then unproven, then fits; none that is idle."""
        rank = {Verdict.FAILS: 0, Verdict.UNPROVEN: 1, Verdict.FITS: 2}
        views = {role: Single(part) for role, part in self.parts.items()}
        return sorted(
            (c for c in self.checks if not c.check.idle(views)),
            key=lambda c: (rank[c.verdict], float(c.judgement.margin.lo), c.check.name),
        )


def judge(found: Found, tables: Tables) -> Build:
    """Judge every check of a build afresh, with plain numbers, and hold the result against the search.

    Raises:
        RuntimeError: The search and the full checks disagree, which is a fault of the program.
    """
    parts = dict(found.parts)
    checks = tuple(judge_check(check, parts) for check in found.model.checks)
    score = sum(BUY * c.bought + tables.waste.of(c, found.model.roles[r].count) for r, c in parts.items())
    for checked in checks:
        cost = _cost(checked.check, parts, tables)
        if cost == float("inf"):
            raise RuntimeError(
                f"the search let through {checked.check!r} for {[c.id for c in parts.values()]}"
            )
        score += cost
    if score != found.score:
        raise RuntimeError(
            f"the search scored {found.score} and the full checks {score}: {[c.id for c in parts.values()]}"
        )
    return Build(score, found.principles, found.model.roles, parts, checks, found.model)


def _cost(check: Check, parts: Mapping[str, Candidate], tables: Tables) -> float:
    views = {role: Single(parts[role]) for role in check.roles}
    judgement = check.judge(views)
    minutes = max((v.candidate.minutes(r) for v in views.values() for r in v.read), default=0.0)
    return float(check_cost(judgement, minutes, soft=tables.pricing.soft))


def judge_check(check: Check, parts: Mapping[str, Candidate]) -> Checked:
    """One check with plain numbers, its sentence, and what keeps it open."""
    views = {role: Single(parts[role]) for role in check.roles}
    judgement = check.judge(views)
    because = _because(check, parts, views) if judgement.verdict is Verdict.UNPROVEN else ()
    return Checked(check, judgement, check.explained(views, judgement), because)


def _because(check: Check, parts: Mapping[str, Candidate], views: Mapping[str, Single]) -> tuple[str, ...]:
    """Paths of the ratings that keep a check unproven, the one that spoils it most first.

    All open ratings are set to the values that suit the check best; then they are let loose one by one,
    each time the one that does least harm, as long as the check still passes. What remains must be known
    for the check to pass, and is enough. Where not even the best values make it pass, no measurement
    settles it and none is named.
    """
    open_ratings = [
        (role, rating)
        for role, view in views.items()
        for rating in sorted(view.read)
        if not parts[role].rating(rating).exact
    ]
    trial = _Trial(check, parts, open_ratings)
    if trial.best < 1 - ROUNDING:
        return ()
    alone = dict(zip(open_ratings, trial.loose(open_ratings), strict=True))
    needed = sorted(open_ratings, key=lambda at: (alone[at], at))
    while needed:
        margins = dict(zip(needed, trial.loose(needed), strict=True))
        mildest = max(reversed(needed), key=margins.__getitem__)
        if margins[mildest] < 1 - ROUNDING:
            break
        trial.let_loose(mildest)
        needed.remove(mildest)
    return tuple(dict.fromkeys(parts[role].path(rating) for role, rating in needed))


class _Trial:
    """A check with its open ratings set to what suits it best; what-ifs are judged several at once."""

    def __init__(
        self, check: Check, parts: Mapping[str, Candidate], ratings: Sequence[tuple[str, str]]
    ) -> None:
        self.check = check
        self.parts = parts
        self.open = {at: parts[at[0]].rating(at[1]) for at in ratings}
        self.pinned = {at: (r.likely, r.likely) for at, r in self.open.items()}
        for at, r in self.open.items():
            ends = [(v, v) for v in (r.likely, r.hi, r.lo)]
            self.pinned[at] = ends[int(np.argmax(self._margins([(at, end) for end in ends])))]
        self.best = float(self._margins([None])[0])

    def _margins(self, changes: Sequence[tuple[tuple[str, str], tuple[float, float]] | None]) -> list[float]:
        """Least margin under each of several changes to what is pinned."""
        views = {role: PinnedPart(self.parts[role], {}) for role in self.check.roles}
        for at, pinned in self.pinned.items():
            ends = np.array([c[1] if c and c[0] == at else pinned for c in changes]).T
            same = (ends == ends[:, :1]).all()
            views[at[0]].pinned[at[1]] = Interval(*(map(float, ends[:, 0]) if same else ends))
        margin = self.check.judge(views).margin.lo
        return [float(m) for m in np.broadcast_to(margin, (len(changes),))]

    def loose(self, ratings: Sequence[tuple[str, str]]) -> list[float]:
        """Least margin with one more rating open again, for each of several."""
        return self._margins([(at, (self.open[at].lo, self.open[at].hi)) for at in ratings])

    def let_loose(self, at: tuple[str, str]) -> None:
        """Open a rating again for good."""
        self.pinned[at] = self.open[at].lo, self.open[at].hi
