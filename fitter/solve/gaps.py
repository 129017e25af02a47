"""What to buy: the specification of a missing part, read off the checks with the other parts fixed.

The search fills a gap with a size that shops carry; such a part passes all checks. From there every
rating is let go as far as the checks allow, one after the other, each time over the whole range
already let go: what remains is a box of ratings, and since every check passes over the whole box,
any part inside it will do. Limits of ratings that no check reads are not stated.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from fitter.checks.base import ROUNDING, Check, Judgement, Verdict
from fitter.intervals import Interval
from fitter.ratings import Rating
from fitter.solve.builds import Build, PinnedPart
from fitter.solve.candidates import Candidate

_STEPS = 40  # halvings when a limit is sought
_WIDEST = 1e4  # a rating let go by this factor without harm has no limit on that side


@dataclass(frozen=True)
class Limits:
    """Least and most that a rating may have, SI; infinite where the checks set no limit."""

    low: float
    high: float


@dataclass(frozen=True)
class Gap:
    """One thing to buy."""

    role: str
    candidate: Candidate
    count: int
    spec: Mapping[str, Limits]

    @property
    def within(self) -> dict[str, Interval]:
        """The specification as intervals."""
        return {rating: Interval(at.low, at.high) for rating, at in self.spec.items()}


def gaps(build: Build) -> list[Gap]:
    """Everything to buy for a build, with its specification."""
    found: list[Gap] = []
    grown: dict[str, Mapping[str, Interval]] = {}
    for role, candidate in build.parts.items():
        if candidate.bought:
            box = _Box(build, role, grown)
            grown[role] = box.pinned
            found.append(Gap(role, candidate, build.roles[role].count * candidate.offer.pieces, box.limits()))
    return found


class _Box:
    """The box of ratings in which a part for a role keeps every check as good as the sample does.

    Where a check stays unproven even with the sample, no part in the box does worse than that.
    ``grown`` holds the boxes of parts to buy that were worked out before: the new box holds for all of
    each of them.
    """

    def __init__(self, build: Build, role: str, grown: Mapping[str, Mapping[str, Interval]]) -> None:
        self.parts = build.parts
        self.role = role
        self.grown = grown
        self.checks = [(c.check, _least(c.judgement)) for c in build.checks if role in c.check.roles]
        self.sample = build.parts[role]
        self.readers = self._readers()
        self.ratings = [r for r in self.readers if r not in ("condition", "unit", "rail")]
        self.pinned = {r: Interval(self._rating(r).lo, self._rating(r).hi) for r in self.ratings}
        self.open_ends: dict[str, tuple[bool, bool]] = {}
        for rating in self.ratings:
            self.let_go(rating)

    def _rating(self, name: str) -> Rating:
        return self.sample.rating(name)

    def _readers(self) -> dict[str, list[tuple[Check, float]]]:
        """Which checks read which rating of the role."""
        readers: dict[str, list[tuple[Check, float]]] = {}
        for check, least in self.checks:
            views = {r: PinnedPart(self.parts[r], {}) for r in check.roles}
            check.judge(views)
            for rating in sorted(views[self.role].read):
                readers.setdefault(rating, []).append((check, least))
        return dict(sorted(readers.items(), key=lambda item: (-len(item[1]), item[0])))

    def passes(self, rating: str, at: Interval) -> bool:
        """Whether all checks that read a rating stay as good as with the sample.

        A formula that refuses the figure as meaningless, such as a lead angle beyond a right one, says no.
        """
        pinned = {**self.pinned, rating: at}
        try:
            return all(self._margin(check, pinned) >= least for check, least in self.readers[rating])
        except ValueError:
            return False

    def _margin(self, check: Check, pinned: Mapping[str, Interval]) -> float:
        """Least margin over the box."""
        views = {
            r: PinnedPart(self.parts[r], pinned if r == self.role else self.grown.get(r, {}))
            for r in check.roles
        }
        return float(check.judge(views).margin.lo)

    def let_go(self, rating: str) -> None:
        """Widen a rating on both sides as far as the checks pass."""
        low, high = self.pinned[rating].lo, self.pinned[rating].hi
        down = self._furthest(rating, float(low), float(high), -1)
        self.pinned[rating] = Interval(down if down > -math.inf else self._far(float(low), -1), high)
        up = self._furthest(rating, float(self.pinned[rating].lo), float(high), +1)
        self.pinned[rating] = Interval(
            self.pinned[rating].lo, up if up < math.inf else self._far(float(high), +1)
        )
        self.open_ends[rating] = (down == -math.inf, up == math.inf)

    def _far(self, end: float, side: int) -> float:
        return end * _WIDEST if side > 0 else end / _WIDEST

    def _furthest(self, rating: str, low: float, high: float, side: int) -> float:
        """The furthest end that still passes, by halving; infinite where even far away passes."""
        end = high if side > 0 else low
        if math.isinf(end):
            return end
        other = low if side > 0 else high

        def ok(value: float) -> bool:
            return self.passes(rating, Interval(min(value, other), max(value, other)))

        far = self._far(end, side)
        if ok(far):
            return side * math.inf
        good, bad = end, far
        for _ in range(_STEPS):
            middle = math.sqrt(good * bad) if good > 0 and bad > 0 else (good + bad) / 2
            good, bad = (middle, bad) if ok(middle) else (good, middle)
        return self._share(rating, end, good)

    def _share(self, rating: str, end: float, furthest: float) -> float:
        """Half the way where another part to buy has yet to take its share of the same slack."""
        later = {r for r, c in self.parts.items() if c.bought and r != self.role and r not in self.grown}
        vies = any(later.intersection(check.roles) for check, _ in self.readers[rating])
        return (end + furthest) / 2 if vies else furthest

    def limits(self) -> dict[str, Limits]:
        """Least and most of every rating that has a limit."""
        found = {}
        for rating in self.ratings:
            open_low, open_high = self.open_ends[rating]
            if not (open_low and open_high):
                at = self.pinned[rating]
                low, high = -math.inf if open_low else float(at.lo), math.inf if open_high else float(at.hi)
                found[rating] = self._within_reason(rating, low, high)
        _in_order(found)
        return {
            r: at
            for r, at in found.items()
            if self._sold_by(r) and (math.isfinite(at.low) or math.isfinite(at.high))
        }

    def _sold_by(self, rating: str) -> bool:
        """Whether a part is sold by this figure; codes that only checks know are not stated."""
        offer = self.sample.offer
        return rating in offer.sources or self.sample.lot.kind_of_part.spec(rating) is not None

    def _within_reason(self, rating: str, low: float, high: float) -> Limits:
        """A limit that no part of this kind comes near is not worth stating."""
        spec = self.sample.lot.kind_of_part.spec(self.sample.offer.sources.get(rating, rating))
        if spec is None or spec.choices or rating in self.sample.offer.sources:
            return Limits(low, high)
        top = spec.high_range.hi if spec.window else spec.range.hi
        return Limits(low if low > spec.range.lo else -math.inf, high if high < top else math.inf)


def _in_order(found: dict[str, Limits]) -> None:
    """The low end of a voltage is nowhere above its high end: limits that say otherwise are drawn in."""
    for name in [n for n in found if n.endswith(".low") and n[:-3] + "high" in found]:
        low, high = found[name], found[name[:-3] + "high"]
        found[name] = Limits(low.low, min(low.high, high.high))
        found[name[:-3] + "high"] = Limits(max(low.low, high.low), high.high)


def _least(sample: Judgement) -> float:
    """Margin that a part must keep: one where the sample passes for certain, else the sample's own."""
    return min(1.0, float(sample.margin.lo)) - ROUNDING


def no_worse_with(build: Build, role: str, ratings: Mapping[str, float]) -> bool:
    """Whether other ratings of the part in a role worsen no verdict: what fits still does, nothing fails."""
    pinned = {name: Interval.point(value) for name, value in ratings.items()}
    for checked in (c for c in build.checks if role in c.check.roles):
        views = {r: PinnedPart(build.parts[r], pinned if r == role else {}) for r in checked.check.roles}
        verdict = checked.check.judge(views).verdict
        if verdict is not Verdict.FITS and verdict is not checked.verdict:
            return False
    return True
