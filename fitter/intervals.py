"""Intervals of numbers or of NumPy arrays: the one representation of everything not known exactly.

An :class:`Interval` holds every value its quantity may take. Arithmetic is the usual interval
arithmetic (R. E. Moore, "Interval Analysis", 1966, ch. 3): the result holds every value that the
operation gives for points of the operands, so bounds are sound; where one operand stands twice in
a formula they may be wider than need be. For formulas that are monotone in each argument,
:func:`monotone` gives the exact range instead.

Ends may be infinite. Arrays broadcast, so one formula serves a single part, a table of candidates
against another, and the hull of all candidates during search.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias, TypeGuard

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

Number: TypeAlias = "float | npt.NDArray[np.float64]"


def _product(a: Number, b: Number) -> Number:
    """Product in which zero times infinity is zero, as the limit of a bounded factor requires."""
    if isinstance(a, float | int) and isinstance(b, float | int):
        return 0.0 if a == 0 or b == 0 else a * b
    with np.errstate(invalid="ignore", over="ignore"):
        result = np.multiply(a, b)
        unclear = np.isnan(np.sum(result))
    return np.where(np.isnan(result), 0.0, result) if unclear else result


def _none_below_zero(value: Number) -> bool:
    return value >= 0 if isinstance(value, float | int) else bool(np.min(value, initial=0.0) >= 0)


@dataclass(frozen=True, slots=True)
class Interval:
    """All numbers from ``lo`` to ``hi`` inclusive; the ends are floats or arrays of one shape."""

    lo: Number
    hi: Number

    @staticmethod
    def point(value: Number) -> Interval:
        """The interval that holds one value.

        >>> Interval.point(2.0)
        Interval(lo=2.0, hi=2.0)
        """
        return Interval(value, value)

    def __add__(self, other: Interval | float) -> Interval:
        o = as_interval(other)
        return Interval(self.lo + o.lo, self.hi + o.hi)

    __radd__ = __add__

    def __neg__(self) -> Interval:
        return Interval(-self.hi, -self.lo)

    def __sub__(self, other: Interval | float) -> Interval:
        o = as_interval(other)
        return Interval(self.lo - o.hi, self.hi - o.lo)

    def __rsub__(self, other: float) -> Interval:
        return as_interval(other) - self

    def __mul__(self, other: Interval | float) -> Interval:
        """
        >>> Interval(-1.0, 2.0) * Interval(3.0, 4.0)
        Interval(lo=-4.0, hi=8.0)
        """
        if isinstance(other, float | int) and other >= 0:
            return Interval(_product(self.lo, other), _product(self.hi, other))
        o = as_interval(other)
        if _none_below_zero(self.lo) and _none_below_zero(o.lo):
            return Interval(_product(self.lo, o.lo), _product(self.hi, o.hi))
        ends = [_product(a, b) for a in (self.lo, self.hi) for b in (o.lo, o.hi)]
        return Interval(smallest(*ends), largest(*ends))

    __rmul__ = __mul__

    def __truediv__(self, other: Interval | float) -> Interval:
        """Quotient; a divisor that holds zero gives an unbounded result on the sides it can reach.

        >>> Interval(1.0, 2.0) / Interval(0.0, 4.0)
        Interval(lo=0.25, hi=inf)
        """
        return self * as_interval(other).reciprocal()

    def __rtruediv__(self, other: float) -> Interval:
        return as_interval(other) / self

    def reciprocal(self) -> Interval:
        """One over each value; zero inside opens the range to infinity."""
        if isinstance(self.lo, float | int) and isinstance(self.hi, float | int) and self.lo > 0:
            return Interval(1.0 / self.hi, 1.0 / self.lo)
        lo, hi = np.asarray(self.lo, dtype=float), np.asarray(self.hi, dtype=float)
        if np.min(lo, initial=np.inf) > 0:
            return Interval(1.0 / hi, 1.0 / lo)
        with np.errstate(divide="ignore", over="ignore"):
            upper = np.where(lo == 0, np.inf, 1.0 / lo)
            lower = np.where(hi == 0, -np.inf, 1.0 / hi)
        across = (lo < 0) & (hi > 0)
        lower = np.where(
            across | ((hi == 0) & (lo < 0)), -np.inf, np.where((hi == 0) & (lo == 0), np.inf, lower)
        )
        upper = np.where(across, np.inf, upper)
        if lower.ndim == 0:
            return Interval(float(lower), float(upper))
        return Interval(lower, upper)

    def minimum(self, other: Interval | float) -> Interval:
        """The smaller of two quantities."""
        o = as_interval(other)
        return Interval(smallest(self.lo, o.lo), smallest(self.hi, o.hi))

    def maximum(self, other: Interval | float) -> Interval:
        """The larger of two quantities."""
        o = as_interval(other)
        return Interval(largest(self.lo, o.lo), largest(self.hi, o.hi))

    def magnitude(self) -> Interval:
        """Absolute value.

        >>> Interval(-3.0, 1.0).magnitude()
        Interval(lo=0.0, hi=3.0)
        """
        return Interval(largest(self.lo, -self.hi, 0.0), largest(-self.lo, self.hi))

    def hull(self, other: Interval) -> Interval:
        """The smallest interval that holds both."""
        return Interval(smallest(self.lo, other.lo), largest(self.hi, other.hi))

    def intersect(self, other: Interval) -> Interval:
        """What both hold; the result has ``lo > hi`` where they have nothing in common."""
        return Interval(largest(self.lo, other.lo), smallest(self.hi, other.hi))

    def holds(self, value: float) -> bool:
        """Whether one number lies inside (scalar intervals only)."""
        return bool(self.lo <= value <= self.hi)

    @property
    def exact(self) -> bool:
        """Whether nothing is left open (scalar intervals only)."""
        return bool(self.lo == self.hi)

    def map(self, function: Callable[[Number], Number]) -> Interval:
        """Image under a function that rises over the whole range."""
        return Interval(function(self.lo), function(self.hi))


def as_interval(value: Interval | Number) -> Interval:
    """Wrap a plain number or array."""
    return value if isinstance(value, Interval) else Interval(value, value)


def _plain(values: tuple[Number, ...]) -> TypeGuard[tuple[float, ...]]:
    return all(isinstance(v, float | int) for v in values)


def smallest(*values: Number) -> Number:
    """Elementwise least value, kept a float when all are floats."""
    if _plain(values):
        return float(min(values))
    result: Any = values[0]
    for v in values[1:]:
        result = np.minimum(result, v)
    return result  # type: ignore[no-any-return]


def largest(*values: Number) -> Number:
    """Elementwise greatest value, kept a float when all are floats."""
    if _plain(values):
        return float(max(values))
    result: Any = values[0]
    for v in values[1:]:
        result = np.maximum(result, v)
    return result  # type: ignore[no-any-return]


def as_number(condition: bool | npt.NDArray[np.bool_]) -> Number:
    """One where a condition holds, zero where not.

    >>> as_number(True)
    1.0
    """
    return np.asarray(condition).astype(float) if np.ndim(condition) else float(condition)


def monotone(
    function: Callable[..., Number],
    *,
    rising: dict[str, Interval] | None = None,
    falling: dict[str, Interval] | None = None,
    fixed: dict[str, float] | None = None,
) -> Interval:
    """Exact range of a function that rises in some arguments and falls in the others.

    >>> monotone(lambda a, b: a / b, rising={"a": Interval(1.0, 2.0)}, falling={"b": Interval(4.0, 5.0)})
    Interval(lo=0.2, hi=0.5)
    """
    up, down, same = rising or {}, falling or {}, fixed or {}
    lo = function(**{k: v.lo for k, v in up.items()}, **{k: v.hi for k, v in down.items()}, **same)
    hi = function(**{k: v.hi for k, v in up.items()}, **{k: v.lo for k, v in down.items()}, **same)
    return Interval(lo, hi)
