"""A build judged in full: every check of its graph, independently of how the search found it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from fitter.checks.base import Check, Judgement, Verdict
from fitter.functions import Principle, Role
from fitter.intervals import Interval
from fitter.ratings import Rating
from fitter.solve.candidates import TRIAL_MINUTES, Candidate, Single
from fitter.solve.score import BUY, check_cost
from fitter.solve.tables import Tables
from fitter.solve.variants import Found


class State(StrEnum):
    """How far a project is from being built."""

    READY = "ready"
    MEASURE_FIRST = "measure first"
    BUY_FIRST = "buy first"
    OUT_OF_REACH = "out of reach"


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
        self.pinned = pinned
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

    @property
    def to_buy(self) -> int:
        """Roles filled from a shop."""
        return sum(c.bought for c in self.parts.values())

    @cached_property
    def open_ratings(self) -> tuple[str, ...]:
        """Paths of all ratings that keep a check unproven, the most frequent first."""
        count: dict[str, int] = {}
        for checked in self.checks:
            for path in checked.because:
                count[path] = count.get(path, 0) + 1
        return tuple(sorted(count, key=lambda p: (-count[p], p)))

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
        """Checks with the least margin first: fails, then unproven, then fits."""
        rank = {Verdict.FAILS: 0, Verdict.UNPROVEN: 1, Verdict.FITS: 2}
        return sorted(self.checks, key=lambda c: (rank[c.verdict], float(c.judgement.margin.lo), c.check.name))


def judge(found: Found, tables: Tables) -> Build:
    """Judge every check of a build afresh, with plain numbers, and hold the result against the search.

    Raises:
        RuntimeError: The search and the full checks disagree, which is a fault of the program.
    """
    parts = dict(found.parts)
    checks = tuple(judge_check(check, parts) for check in found.model.checks)
    score = sum(
        BUY * c.bought + tables.waste.cents(c, found.model.roles[r].count) for r, c in parts.items()
    )
    for checked in checks:
        cost = _cost(checked.check, parts, tables)
        if cost == float("inf"):
            raise RuntimeError(f"the search let through {checked.check!r} for {[c.id for c in parts.values()]}")
        score += cost
    if score != found.score:
        raise RuntimeError(f"the search scored {found.score} and the full checks {score}: {[c.id for c in parts.values()]}")
    return Build(score, found.principles, found.model.roles, parts, checks)


def _cost(check: Check, parts: Mapping[str, Candidate], tables: Tables) -> float:
    views = {role: Single(parts[role]) for role in check.roles}
    judgement = check.judge(views)
    minutes = max((v.candidate.minutes(r) for v in views.values() for r in v.read), default=0.0)
    return float(check_cost(judgement, minutes, soft=tables.soft))


def judge_check(check: Check, parts: Mapping[str, Candidate]) -> Checked:
    """One check with plain numbers, its sentence, and what keeps it open."""
    views = {role: Single(parts[role]) for role in check.roles}
    judgement = check.judge(views)
    because = _because(check, parts, views, judgement) if judgement.verdict is Verdict.UNPROVEN else ()
    return Checked(check, judgement, check.sentence(views, judgement), because)


def _because(
    check: Check, parts: Mapping[str, Candidate], views: Mapping[str, Single], judgement: Judgement
) -> tuple[str, ...]:
    """Paths of the ratings that would settle or narrow the verdict if they were known exactly.

    Each open rating is pinned at its ends and its likely value; it counts when that settles the
    verdict or takes, on average, at least a twentieth off the width of the margin. Those that narrow
    it most come first.
    """
    gains: dict[str, float] = {}
    for role, view in views.items():
        for rating in sorted(view.read):
            known = parts[role].rating(rating)
            if not known.exact:
                gain = _gain(check, parts, role, rating, known, judgement)
                path = parts[role].path(rating)
                gains[path] = max(gains.get(path, 0.0), gain)
    telling = [p for p in sorted(gains, key=lambda p: (-gains[p], p)) if gains[p] >= 0.05]
    return tuple(telling or sorted(gains, key=lambda p: (-gains[p], p))[:1])


def _gain(
    check: Check, parts: Mapping[str, Candidate], role: str, rating: str, known: Rating, before: Judgement
) -> float:
    """Mean share of the margin's width that knowing one rating takes away; one if it may settle the verdict."""
    width = _width(before)
    left = []
    for end in (known.lo, known.hi, known.likely):
        views = {r: PinnedPart(parts[r], {rating: Interval.point(end)} if r == role else {}) for r in check.roles}
        pinned = check.judge(views)
        if pinned.verdict is not Verdict.UNPROVEN:
            return 1.0
        left.append(_width(pinned))
    return 1.0 - sum(left) / len(left) / width if width > 0 else 0.0


def _width(judgement: Judgement) -> float:
    """Width of a margin, ends capped so that unbounded ones compare."""
    lo, hi = (min(float(end), 10.0) for end in (judgement.margin.lo, judgement.margin.hi))
    return hi - lo


def weight_of(path: str, build: Build) -> float:
    """Minutes that the measurement behind a path takes in this build."""
    for candidate in build.parts.values():
        if path == f"{candidate.lot.id}.condition":
            return TRIAL_MINUTES
        if path.startswith(f"{candidate.lot.id}."):
            name = path[len(candidate.lot.id) + 1 :].rpartition("].")[2]
            spec = candidate.lot.kind_of_part.spec(name)
            return spec.minutes if spec else 0.0
    return 0.0


