"""Interval arithmetic is sound: for points of the operands, the result holds what the operation gives.

Judged by sampling, with Python's fractions where rounding would blur the verdict.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitter.intervals import Interval, as_interval, largest, monotone, smallest

INF = math.inf
# quotients of numbers nearer zero than a part's rating could overflow a float: not the matter here
numbers = st.one_of(
    st.integers(-50, 50).map(float),
    st.sampled_from([0.0, -0.0, 1e-9, -1e-9, 1e9]),
    st.floats(-1e6, 1e6).map(lambda v: 0.0 if abs(v) < 1e-12 else v),
)
shares = st.fractions(min_value=0, max_value=1, max_denominator=16)


@st.composite
def boxes(draw: st.DrawFn) -> tuple[Interval, float]:
    """An interval, at times unbounded, and a point of it."""
    lo, hi = sorted((draw(numbers), draw(numbers)))
    share = draw(shares)
    point = min(max(lo + float(share) * (hi - lo), lo), hi)
    if draw(st.booleans()) and draw(st.booleans()):
        lo = -INF
    if draw(st.booleans()) and draw(st.booleans()):
        hi = INF
    return Interval(lo, hi), point


def holds(interval: Interval, exact: Fraction) -> bool:
    """Whether the interval holds an exact value, but for the last places of a float."""
    slack = Fraction(1, 2**48) * abs(exact) + Fraction(1, 2**1000)
    above = interval.lo == -INF or (interval.lo != INF and Fraction(interval.lo) <= exact + slack)
    below = interval.hi == INF or (interval.hi != -INF and Fraction(interval.hi) >= exact - slack)
    return above and below


@given(boxes(), boxes())
def test_sum_difference_and_product_hold_every_point(
    a: tuple[Interval, float], b: tuple[Interval, float]
) -> None:
    (x, p), (y, q) = a, b
    exact_p, exact_q = Fraction(p), Fraction(q)
    size = Fraction(1, 2**48) * (abs(exact_p) + abs(exact_q))
    for result, exact in ((x + y, exact_p + exact_q), (x - y, exact_p - exact_q)):
        assert result.lo == -INF or Fraction(result.lo) <= exact + size
        assert result.hi == INF or Fraction(result.hi) >= exact - size
    assert holds(x * y, exact_p * exact_q)
    assert holds(-x, -exact_p)


@given(boxes(), boxes())
def test_quotient_holds_every_point_with_a_divisor_other_than_zero(
    a: tuple[Interval, float], b: tuple[Interval, float]
) -> None:
    (x, p), (y, q) = a, b
    result = x / y
    assert not math.isnan(result.lo)
    assert not math.isnan(result.hi)
    if q != 0:
        assert holds(result, Fraction(p) / Fraction(q))


@given(boxes(), boxes())
def test_choices_of_two_hold_every_point(a: tuple[Interval, float], b: tuple[Interval, float]) -> None:
    (x, p), (y, q) = a, b
    assert x.minimum(y).holds(min(p, q))
    assert x.maximum(y).holds(max(p, q))
    assert x.magnitude().holds(abs(p))
    assert x.hull(y).holds(p)
    assert x.hull(y).holds(q)
    assert x.intersect(y).holds(p) == y.holds(p)


@given(boxes(), numbers)
def test_plain_numbers_stand_for_points(a: tuple[Interval, float], c: float) -> None:
    x, _ = a
    assert x + c == c + x == x + Interval.point(c)
    assert x * c == c * x
    assert x - c == x - Interval.point(c)
    assert c - x == Interval.point(c) - x
    assert x.maximum(c) == x.maximum(Interval.point(c))


@given(boxes(), numbers.filter(lambda c: c != 0))
def test_division_of_and_by_plain_numbers(a: tuple[Interval, float], c: float) -> None:
    x, p = a
    assert holds(x / c, Fraction(p) / Fraction(c))
    if p != 0:
        assert holds(c / x, Fraction(c) / Fraction(p))


# limits of the definition: Moore (1966) for bounded ends, the limit of bounded factors for the others
@pytest.mark.parametrize(
    ("of", "result"),
    [
        (Interval(2.0, 4.0), Interval(0.25, 0.5)),
        (Interval(-4.0, -2.0), Interval(-0.5, -0.25)),
        (Interval(0.0, 4.0), Interval(0.25, INF)),
        (Interval(-4.0, 0.0), Interval(-INF, -0.25)),
        (Interval(-4.0, 4.0), Interval(-INF, INF)),
        (Interval(2.0, INF), Interval(0.0, 0.5)),
        (Interval(-INF, -2.0), Interval(-0.5, 0.0)),
        (Interval(-INF, INF), Interval(-INF, INF)),
    ],
)
def test_reciprocal_with_zero_and_infinity(of: Interval, result: Interval) -> None:
    assert of.reciprocal() == result
    array = Interval(np.array([of.lo]), np.array([of.hi])).reciprocal()
    assert (array.lo[0], array.hi[0]) == (result.lo, result.hi)


def test_zero_times_unbounded_is_zero() -> None:
    assert Interval(0.0, 0.0) * Interval(0.0, INF) == Interval(0.0, 0.0)
    assert Interval(0.0, 1.0) * Interval(2.0, INF) == Interval(0.0, INF)
    assert Interval(0.0, INF) * 0.0 == Interval(0.0, 0.0)
    array = Interval(np.zeros(2), np.ones(2)) * Interval(np.full(2, 2.0), np.full(2, INF))
    assert array.lo.tolist() == [0.0, 0.0]
    assert array.hi.tolist() == [INF, INF]


def test_nothing_in_common_shows_as_reversed_ends() -> None:
    nothing = Interval(1.0, 2.0).intersect(Interval(3.0, 4.0))
    assert nothing.lo > nothing.hi


def test_points_and_membership() -> None:
    assert Interval.point(2.0).exact
    assert not Interval(1.0, 2.0).exact
    assert Interval(1.0, 2.0).holds(2.0)
    assert not Interval(1.0, 2.0).holds(2.0000001)
    assert as_interval(3.0) == Interval(3.0, 3.0)
    assert as_interval(Interval(1.0, 2.0)) == Interval(1.0, 2.0)


@given(st.lists(st.tuples(boxes(), boxes()), min_size=1, max_size=5))
def test_arrays_give_what_each_element_gives(
    pairs: list[tuple[tuple[Interval, float], tuple[Interval, float]]],
) -> None:
    left = [a[0] for a, _ in pairs]
    right = [b[0] for _, b in pairs]
    x = Interval(np.array([i.lo for i in left]), np.array([i.hi for i in left]))
    y = Interval(np.array([i.lo for i in right]), np.array([i.hi for i in right]))
    operations: list[Callable[[Interval, Interval], Interval]] = [
        Interval.__add__, Interval.__sub__, Interval.__mul__, Interval.__truediv__,
        Interval.minimum, Interval.maximum, Interval.hull, Interval.intersect,
    ]  # fmt: skip
    for operation in operations:
        whole = operation(x, y)
        for index, (i, j) in enumerate(zip(left, right, strict=True)):
            one = operation(i, j)
            assert (whole.lo[index], whole.hi[index]) == (one.lo, one.hi)


def test_arrays_broadcast_against_scalars_and_tables() -> None:
    column = Interval(np.array([[1.0], [2.0]]), np.array([[1.5], [3.0]]))
    row = Interval(np.array([10.0, 20.0, 30.0]), np.array([11.0, 22.0, 33.0]))
    table = column * row
    assert table.lo.tolist() == [[10.0, 20.0, 30.0], [20.0, 40.0, 60.0]]
    assert table.hi.tolist() == [[16.5, 33.0, 49.5], [33.0, 66.0, 99.0]]
    assert (row + 1.0).lo.tolist() == [11.0, 21.0, 31.0]


def test_ends_stay_floats_when_all_are_floats() -> None:
    assert type(smallest(1.0, 2.0)) is float
    assert type(largest(1, 2.0)) is float
    assert type((Interval(1.0, 2.0) / Interval(3.0, 4.0)).lo) is float
    assert largest(np.array([1.0, 5.0]), 3.0, np.array([2.0, 4.0])).tolist() == [3.0, 5.0]


@given(boxes(), boxes(), st.floats(0.1, 5))
def test_monotone_is_the_exact_range(a: tuple[Interval, float], b: tuple[Interval, float], k: float) -> None:
    (x, p), (y, q) = a, b

    def work(u: float, v: float, scale: float) -> float:
        return scale * (math.atan(u) - math.atan(v))

    result = monotone(work, rising={"u": x}, falling={"v": y}, fixed={"scale": k})
    assert result.lo <= work(p, q, k) <= result.hi
    assert (result.lo, result.hi) == (work(x.lo, y.hi, k), work(x.hi, y.lo, k))


@given(boxes())
def test_map_takes_both_ends_through_a_rising_function(a: tuple[Interval, float]) -> None:
    x, p = a
    assert x.map(np.arctan).holds(float(np.arctan(p)))
