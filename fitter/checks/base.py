"""What a check is: it compares what is needed with what is had, over intervals.

A check is a :class:`~fitter.records.Record` that names the roles it reads. :meth:`Check.judge` receives
the parts in those roles, whose ratings are intervals of floats or of arrays, and gives need, have and margin.
The same method serves a single set of parts, a table of all candidates of one role against another,
and the hull of everything that could still fill a role during search. Bounds must be sound: the
margin interval holds the margin of every point of the ratings given.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import Annotated, ClassVar, Literal, Protocol

import numpy as np

from fitter.intervals import Interval, Number, as_number
from fitter.records import Record

ROUNDING = 1e-9  # margins this close to one count as one: the slack of floating-point arithmetic


class Part(Protocol):
    """The part in a role, or all parts that may fill it: rating name to interval in SI."""

    def __getitem__(self, rating: str) -> Interval: ...


class Parts(Protocol):
    """The part in each role."""

    def __getitem__(self, role: str) -> Part: ...


class Verdict(StrEnum):
    """What a check says of a set."""

    FITS = "fits"
    UNPROVEN = "unproven"
    FAILS = "fails"


Sense = Literal["at least", "at most", "equal"]


@dataclass(frozen=True, slots=True)
class Judgement:
    """Need, have and margin of one check; margin is at least one where the check passes.

    ``note`` says of a single set in which way its figures leave the range of a formula; see :func:`within`.
    """

    need: Interval
    have: Interval
    margin: Interval
    note: str = ""

    @property
    def verdict(self) -> Verdict:
        """The verdict of a single set (scalar intervals)."""
        if self.margin.lo >= 1 - ROUNDING:
            return Verdict.FITS
        return Verdict.FAILS if self.margin.hi < 1 - ROUNDING else Verdict.UNPROVEN


RoleName = Annotated[str, "RoleName"]  # a field of this type counts among the roles that a Reader reads


class Reader(Record):
    """Something that reads the parts in roles: a check, or a rail, train, stage or consumer in one."""

    @cached_property
    def roles(self) -> tuple[str, ...]:
        """The roles it reads, each once, in the order of its fields.

        A field declared as :data:`RoleName` names one, or a tuple of it several; a field that holds
        other readers adds theirs.
        """
        found: dict[str, None] = {}
        for annotation, value in zip(self._fields.values(), self._values(), strict=True):
            found |= dict.fromkeys(_roles_in(value, "RoleName" in annotation))
        return tuple(found)


def _roles_in(value: object, named: bool) -> Iterator[str]:
    if isinstance(value, str):
        yield from (value,) if named else ()
    elif isinstance(value, tuple):
        for each in value:
            yield from _roles_in(each, named)
    elif isinstance(value, Reader):
        yield from value.roles


class Check(Reader):
    """Base of all checks. Subclasses hold role names and demanded figures in SI."""

    name: ClassVar[str]
    quantity: ClassVar[str]
    sense: ClassVar[Sense] = "at least"

    def judge(self, parts: Parts) -> Judgement:
        """Compare need and have over all values the ratings may take."""
        raise NotImplementedError

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        """Why the check matters and what decided it, for one set; empty when the figures say it all."""
        return ""

    def idle(self, parts: Parts) -> bool:
        """Whether nothing about a set calls for the check, so that it need not be listed."""
        return False

    def explained(self, parts: Parts, judgement: Judgement) -> str:
        """The sentence, and the note where a formula left its range."""
        return "; ".join(text for text in (self.sentence(parts, judgement), judgement.note) if text)


def within(inside: Interval, judgement: Judgement, note: str) -> Judgement:
    """Promise nothing where the figures leave the range in which the formulas of a check hold.

    ``inside`` is one within the range, zero outside, both where that is open. Outside, the lower end of
    the margin falls to zero: what seemed to fit is unproven, and the note says why. What fails still
    fails, so this is for formulas that flatter outside their range, as all those in use do.
    """
    margin = judgement.margin
    lo = np.where(np.asarray(inside.lo) >= 1, margin.lo, np.minimum(margin.lo, 0.0))
    if lo.ndim:
        return replace(judgement, margin=Interval(lo, margin.hi))
    said = "; ".join(t for t in (judgement.note, note) if t) if inside.lo < 1 else judgement.note
    return replace(judgement, margin=Interval(float(lo), margin.hi), note=said)


def stays_below(value: Interval, limit: float) -> Interval:
    """One where a value surely stays within an upper limit of a range, zero where it surely does not."""
    return Interval(as_number(value.hi <= limit), as_number(value.lo <= limit))


def stays_above(value: Interval, limit: float) -> Interval:
    """One where a value surely stays within a lower limit of a range, zero where it surely does not."""
    return Interval(as_number(value.lo >= limit), as_number(value.hi >= limit))


def at_least(need: Interval | Number, have: Interval) -> Judgement:
    """What is had must reach what is needed; no need (zero or less) is always met.

    >>> at_least(2.0, Interval(3.0, 5.0)).margin
    Interval(lo=1.5, hi=2.5)
    """
    need = need if isinstance(need, Interval) else Interval.point(need)
    had = have.maximum(0.0)
    return Judgement(need, have, Interval(_ratio(had.lo, need.hi), _ratio(had.hi, need.lo)))


def at_most(limit: Interval | Number, actual: Interval) -> Judgement:
    """What is there must stay within a limit; nothing there is always within it.

    >>> at_most(4.0, Interval(1.0, 2.0)).margin
    Interval(lo=2.0, hi=4.0)
    """
    limit = limit if isinstance(limit, Interval) else Interval.point(limit)
    return Judgement(limit, actual, at_least(actual, limit).margin)


def equal(wanted: Interval, actual: Interval, tolerance: float) -> Judgement:
    """Two figures must agree within a tolerance; the margin is tolerance over difference."""
    apart = (wanted - actual).magnitude()
    return Judgement(wanted, actual, at_least(apart, Interval.point(tolerance)).margin)


def _ratio(have: Number, need: Number) -> Number:
    if isinstance(have, float | int) and isinstance(need, float | int):
        return float("inf") if need <= 0 or have == float("inf") else have / need
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.divide(have, need)
    return np.where((np.asarray(need) <= 0) | np.isinf(have), np.inf, ratio)


def _ample(flag: Number) -> Number:
    """What is there has no measure of more or less: its margin is unbounded."""
    return np.where(np.asarray(flag) >= 1, np.inf, 0.0) if np.ndim(flag) else (np.inf if flag >= 1 else 0.0)


def yes(flag: Interval) -> Judgement:
    """A property that must be there: one is yes, zero no, between them not known."""
    return Judgement(Interval.point(1.0), flag, Interval(_ample(flag.lo), _ample(flag.hi)))
