"""The last value of a demand that still goes, exact to three digits."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from fitter.projects import Demand
from fitter.solve.ease import ends
from fitter.units import show, split, to_si

CLOSE = 0.004  # share of the larger value at which halving ends; three digits tell less apart
HALVINGS = 40


def last_good(demand: Demand, good: float, bad: float, goes: Callable[[float], bool]) -> float:
    """The value furthest from ``good`` towards ``bad`` that goes, SI.

    Found by halving, then by trying values of three digits in the unit people read. What goes is taken to
    go all the way from ``good``. Counts are whole.

    Args:
        demand: What is varied; its quantity and limits.
        good: A value that goes.
        bad: One that does not.
        goes: Whether a value does.
    """
    start, whole = bad, demand.quantity == "count"
    for _ in range(HALVINGS):
        if _close(good, bad, start, whole):
            break
        middle = _middle(good, bad, whole)
        good, bad = (middle, bad) if goes(middle) else (good, middle)
    return good if whole else _rounded(demand, good, bad, goes)


def next_beyond(demand: Demand, value: float, towards: float) -> float:
    """The next value of three digits from one towards another, SI; the next whole number of a count."""
    if demand.quantity == "count":
        return value + math.copysign(1.0, towards - value)
    if value == 0:
        return towards * CLOSE
    number, unit = split(show(value, demand.quantity))
    step = math.copysign(_digit(float(number)), towards - value)
    exact = to_si(float(f"{float(number) + step:.10g}"), unit, demand.quantity)
    return min(exact, towards) if towards > value else max(exact, towards)


def _digit(number: float) -> float:
    """One in the third digit of a number."""
    return float(10.0 ** (math.floor(math.log10(abs(number) or 1.0)) - 2))


def _middle(a: float, b: float, whole: bool) -> float:
    if whole:
        return float(round((a + b) / 2))
    return math.sqrt(a * b) if a > 0 and b > 0 else (a + b) / 2


def _close(a: float, b: float, asked: float, whole: bool) -> bool:
    """Whether two values are next to each other, for counts, or print nearly alike."""
    near = 1.0 if whole else CLOSE * max(abs(a), abs(b), abs(asked) * CLOSE)
    return abs(a - b) <= near


def _rounded(demand: Demand, good: float, bad: float, goes: Callable[[float], bool]) -> float:
    """The value of three digits that passes next to one that does not; ``good`` where there is none."""
    low, high = ends(demand, bad)
    steps = _steps(demand.quantity, good, bad) if good else ()
    return next((value for value in steps if low <= value <= high and goes(value)), good)


def _steps(quantity: str, good: float, bad: float) -> Iterator[float]:
    """Values of three digits from ``bad`` to ``good`` and one beyond."""
    number, unit = split(show(good, quantity))
    step = _digit(float(number))

    def at(index: int) -> float:
        return to_si(float(f"{index * step:.10g}"), unit, quantity)

    zero = at(0)
    first, last = (bad - zero) / (at(1) - zero), (good - zero) / (at(1) - zero)
    rising = range(math.floor(first) + 1, math.ceil(last) + 2)
    falling = range(math.ceil(first) - 1, math.floor(last) - 2, -1)
    yield from (at(i) for i in (rising if last >= first else falling))
