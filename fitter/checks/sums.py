"""Checks of a sum: what several consumers take together, against what there is.

Such a check may read a dozen roles, but each amount in it only a few. The search uses that: it knows
the amounts over few roles each and adds them up.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from fitter.checks.base import Check, Judgement, Parts, at_least
from fitter.intervals import Interval


class Amount(Protocol):
    """One addend; never negative."""

    @property
    def roles(self) -> tuple[str, ...]:
        """The roles it reads."""
        ...

    def of(self, parts: Parts) -> Interval:
        """How much, in the unit of the check's quantity."""
        ...


class SumCheck(Check):
    """All amounts together stay within the room there is."""

    @property
    def amounts(self) -> tuple[Amount, ...]:
        """What is added up."""
        raise NotImplementedError

    @property
    def shared(self) -> tuple[str, ...]:
        """The roles that :meth:`room` and :meth:`weights` read."""
        raise NotImplementedError

    def room(self, parts: Parts) -> Interval:
        """What there is."""
        raise NotImplementedError

    def weights(self, parts: Parts) -> Sequence[Interval]:
        """For each amount one where it counts, zero where it does not."""
        return (Interval.point(1.0),) * len(self.amounts)

    def judge(self, parts: Parts) -> Judgement:
        total = Interval.point(0.0)
        for amount, weight in zip(self.amounts, self.weights(parts), strict=True):
            total = total + amount.of(parts) * weight
        return at_least(total, self.room(parts))
