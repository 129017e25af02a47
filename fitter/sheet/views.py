"""Parts of a build as the checks read them, and the checks of one sort."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeVar

from fitter.checks.base import Check, Part
from fitter.intervals import Interval
from fitter.solve.builds import Build
from fitter.solve.candidates import Candidate, Single

SomeCheck = TypeVar("SomeCheck", bound=Check)
Parts = Mapping[str, Part]


class Likely:
    """A part with every rating at its likely value."""

    def __init__(self, candidate: Candidate) -> None:
        self.candidate = candidate

    def __getitem__(self, rating: str) -> Interval:
        return Interval.point(self.candidate.rating(rating).likely)


def known(build: Build) -> Parts:
    """All parts with their ratings as they are known."""
    return {role: Single(part) for role, part in build.parts.items()}


def likely(build: Build) -> Parts:
    """All parts with their likely ratings."""
    return {role: Likely(part) for role, part in build.parts.items()}


def checks_of(build: Build, sort: type[SomeCheck]) -> Iterator[SomeCheck]:
    """The checks of a class, in the order in which they were found."""
    return (c.check for c in build.checks if isinstance(c.check, sort))


def ends(interval: Interval) -> tuple[float, float]:
    """Both ends as plain numbers."""
    return float(interval.lo), float(interval.hi)
