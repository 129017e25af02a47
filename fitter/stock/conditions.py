"""Conditions on lots, such as ``holding_torque > 0.5 N m``: surely met, possibly, not, or not known."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from enum import IntEnum
from functools import cache

from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.kinds import KINDS, Kind, Spec, kind_key
from fitter.ratings import Evidence, Rating, parse_choice, parse_rating
from fitter.records import Record
from fitter.stock.lots import Lot
from fitter.units import parse

_CONDITION = re.compile(r"\s*([^<>=≤≥]+?)\s*(<=|>=|≤|≥|<|>|=)\s*([^<>=≤≥]*[^<>=≤≥\s])\s*")
_SIGNS = {"≤": "<=", "≥": ">="}
_LONGEST = 120
_EXAMPLE = 'such as --where "holding_torque > 0.5 N m"'
PLAIN = {"count": "count", "mass": "mass"}  # fields of every lot that have a figure, and their quantity


class Met(IntEnum):
    """How far a condition is met; the least counts where there are several."""

    NO = 0
    UNKNOWN = 1
    POSSIBLY = 2
    SURELY = 3


class Condition(Record):
    """A rating, a sign and the value it is held against, as typed."""

    name: str
    sign: str
    value: str

    def met(self, lot: Lot) -> Met:
        """How far a lot meets it; a lot whose kind has no such rating does not."""
        if self.name in PLAIN:
            return _plain_met(self, lot)
        ratings = lot.complete
        spec = lot.kind_of_part.spec(self.name)
        if spec is None:
            return Met.NO
        found = [_held(self, spec, ends) for ends in _ends(self.name, spec, lot, ratings)]
        return max(found, default=Met.NO)


def condition(text: str, kind: str | None = None) -> Condition:
    """A condition as typed.

    Args:
        text: A rating, ``<``, ``<=``, ``>``, ``>=`` or ``=``, and a value with its unit.
        kind: Only ratings of this kind are known, where one is named.

    Raises:
        FitterError: No such rating, or a value that no kind with it could have.

    >>> condition("holding torque > 0.5 N m")
    Condition(name='holding_torque', sign='>', value='0.5 N m')
    """
    match = _CONDITION.fullmatch(text) if len(text) <= _LONGEST else None
    if match is None:
        problem = "a rating, a sign and a value are expected"
        raise FitterError(problem, got=text[:60], field="--where", expected=_EXAMPLE)
    name = re.sub(r"[\s-]+", "_", match[1].strip()).casefold()
    found = Condition(name, _SIGNS.get(match[2], match[2]), match[3].strip())
    _check(found, kind, text)
    return found


def _check(found: Condition, kind: str | None, text: str) -> None:
    kinds = [KINDS[kind_key(kind)]] if kind is not None else list(KINDS.values())
    specs = [spec for each in kinds if (spec := each.spec(found.name))]
    if found.name in PLAIN:
        specs = [Spec(PLAIN[found.name], "0..1e9" if found.name == "count" else "0..1e6 kg")]
    if not specs:
        known = sorted({name for each in kinds for name in _names(each)} | set(PLAIN))
        what = f"a {kinds[0].name} has" if kind is not None else "there is"
        raise FitterError(
            f"{what} no rating {found.name[:40]!r}", field="--where", expected=nearest(found.name, known)
        )
    problems = [problem for spec in specs if (problem := _problem(found, spec))]
    if len(problems) == len(specs):
        first = problems[0]
        raise FitterError(first.problem, got=text.strip()[:60], field="--where", expected=first.expected)


def _names(kind: Kind) -> Iterator[str]:
    yield from kind.ratings
    yield from kind.rails or ()


def _problem(found: Condition, spec: Spec) -> FitterError | None:
    """Why a value cannot be held against a rating."""
    if spec.choices and found.sign != "=":
        return FitterError(
            f"{found.name} is one of a few words", expected=f"`{found.name} = {spec.choices[-1]}`"
        )
    try:
        _value(found.value, found.sign, spec)
    except FitterError as error:
        return error
    return None


@cache
def _value(text: str, sign: str, spec: Spec) -> Rating:
    """What a rating is held against: a point, or with ``=`` the range that a value so written stands for."""
    if spec.choices:
        return parse_choice(text, spec.choices)
    if sign == "=":
        return parse_rating(text, spec.quantity, tolerance=spec.tolerance)
    return _point(parse(text, spec.quantity))


def _point(value: float) -> Rating:
    return Rating(value, value, value, Evidence.STATED)


# ---------------------------------------------------------------- held against a lot

_Ends = tuple[Rating, Rating]  # where the low end and the high end of what a lot has may lie


def _ends(name: str, spec: Spec, lot: Lot, ratings: Mapping[str, Rating]) -> Iterator[_Ends]:
    """What a lot has under a name: one rating twice, both ends of a window, or that of each rail."""
    if name in ratings:
        yield ratings[name], ratings[name]
    elif spec.window and f"{name}.min" in ratings:
        yield ratings[f"{name}.min"], ratings[f"{name}.max"]
    for rail in lot.rails:
        if name in rail:
            yield rail[name], rail[name]


def _plain_met(condition: Condition, lot: Lot) -> Met:
    if condition.name == "count":
        figure = float(lot.count)
    elif lot.mass is None:
        return Met.UNKNOWN
    else:
        figure = lot.mass
    spec = Spec(PLAIN[condition.name], tolerance="exact" if condition.name == "count" else "electrical")
    return _held(condition, spec, (_point(figure), _point(figure)))


def _held(condition: Condition, spec: Spec, ends: _Ends) -> Met:
    """A window meets a condition when some value in it does; so the end that goes furthest counts."""
    low, high = ends
    try:
        value = _value(condition.value, condition.sign, spec)
    except FitterError:
        return Met.NO  # a rating of the same name in other units
    if condition.sign == "=":
        return _within(low, high, value)
    end = high if condition.sign in (">", ">=") else low
    if not end.known:
        return Met.UNKNOWN if _SOME[condition.sign](end, value.lo) else Met.NO
    if _ALL[condition.sign](end, value.lo):
        return Met.SURELY
    return Met.POSSIBLY if _SOME[condition.sign](end, value.lo) else Met.NO


def _within(low: Rating, high: Rating, value: Rating) -> Met:
    slack = 1e-9 * max(abs(value.lo), abs(value.hi))
    lo, hi = value.lo - slack, value.hi + slack
    if low.lo > hi or high.hi < lo:
        return Met.NO
    if not (low.known or high.known):
        return Met.UNKNOWN
    if low is high:
        return Met.SURELY if lo <= low.lo and low.hi <= hi else Met.POSSIBLY
    return Met.SURELY if low.hi <= hi and high.lo >= lo else Met.POSSIBLY


_Comparison = Callable[[Rating, float], bool]
_ALL: Mapping[str, _Comparison] = {
    ">": lambda r, x: r.lo > x,
    ">=": lambda r, x: r.lo >= x,
    "<": lambda r, x: r.hi < x,
    "<=": lambda r, x: r.hi <= x,
}
_SOME: Mapping[str, _Comparison] = {
    ">": lambda r, x: r.hi > x,
    ">=": lambda r, x: r.hi >= x,
    "<": lambda r, x: r.lo < x,
    "<=": lambda r, x: r.lo <= x,
}


def all_met(conditions: Iterable[Condition], lot: Lot) -> Met:
    """How far a lot meets all conditions."""
    return min((each.met(lot) for each in conditions), default=Met.SURELY)
