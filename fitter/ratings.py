"""Ratings as people write them: an interval, its likely value, and the evidence for it.

``1.4 A`` · ``1.4 A +- 5 %`` · ``1.2..1.6 A`` · ``>= 0.5 N m`` · ``unknown``, then optionally
``, measured`` / ``, datasheet`` / ``, nameplate`` / ``, estimated``. Case and spacing are free.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from typing import Any

from fitter.documents import package_data
from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.units import falls, parse, split

LONGEST = 120
WIDE = 3.0  # ends further apart than this have their likely value at the geometric mean
_ZERO_CELSIUS = 273.15
_SIGNED = ("temperature_difference", "angle", "decibel")  # may be below zero
_WINDOW = 0.10  # a single voltage stands for a window of this much to both sides


class Evidence(StrEnum):
    """Where a value comes from, strongest first."""

    MEASURED = "measured"
    DATASHEET = "datasheet"
    NAMEPLATE = "nameplate"
    STATED = "stated"
    ESTIMATED = "estimated"
    UNKNOWN = "unknown"

    @property
    def strength(self) -> int:
        """Rank, from 0 for unknown to 5 for measured."""
        return len(Evidence) - 1 - list(Evidence).index(self)


@dataclass(frozen=True, slots=True)
class Rating:
    """What is known of one rating, in SI: every value from ``lo`` to ``hi`` is possible."""

    lo: float
    hi: float
    likely: float
    evidence: Evidence
    text: str = ""
    line: int | None = None

    @property
    def interval(self) -> Interval:
        """The range alone."""
        return Interval(self.lo, self.hi)

    @property
    def exact(self) -> bool:
        """Whether nothing is left open."""
        return self.lo == self.hi

    @property
    def known(self) -> bool:
        """Whether anybody has said anything about it."""
        return self.evidence is not Evidence.UNKNOWN


_SOURCES = [e.value for e in Evidence if e is not Evidence.UNKNOWN]
_LAST_LETTERS = frozenset("detDET")  # of the words for evidence, looked at first because it is quick
_SUFFIX = re.compile(rf"(.*?)(?: ?[,;] ?| )({'|'.join(_SOURCES)})", re.IGNORECASE)
_STRANGE_SUFFIX = re.compile(r".*, ?([^\W\d_][^,\d]*)")
_BOUND = re.compile(r"(>=|=>|>|≥|⩾|<=|=<|<|≤|⩽) ?(.*)")
_RANGE = re.compile(r"(.*?[^. ]) ?(?:\.{2,3}(?!\.)|…|–|—|(?<![a-z])to(?![a-z])) ?(.+)", re.IGNORECASE)
_DASH = re.compile(r"(.*?[0-9]) ?- ?([0-9.].*)")
_FRACTION = re.compile(r"[0-9]+-[0-9]+/[0-9]+[^0-9]*")
_PLUS_MINUS = re.compile(r" ?(?:\+ ?/? ?[-−]|±) ?")
_ROUGHLY = re.compile(r"(~|≈|about|approx|circa|ca\b).*", re.IGNORECASE)
_RANGE_SIGN = re.compile(r"\.\.|[…–—-]|to", re.IGNORECASE)  # without one of them no text is a range
_UNKNOWN = ("unknown", "?")
_GRAMMAR = "write `1.4 A`, `1.4 A +- 5 %`, `1.2..1.6 A`, `>= 1.2 A` or `unknown`, and `, measured` or so"


def parse_rating(
    text: str,
    quantity: str,
    *,
    tolerance: str = "electrical",
    plausible: Interval | None = None,
    likely: float | None = None,
) -> Rating:
    """Read one rating.

    Args:
        text: As written, at most 120 characters.
        quantity: A name of :data:`fitter.units.QUANTITIES`.
        tolerance: Class of ``tolerances.yaml`` that bounds a value written without tolerance.
        plausible: Range found in practice, SI; it closes open ends and stands for ``unknown``.
        likely: The likely value where the text leaves it open, SI.

    Raises:
        FitterError: Not of this grammar, no unit, a reversed range, or an impossible value.

    >>> parse_rating("1.4 A +- 5 %, measured", "current").interval
    Interval(lo=1.3299999999999998, hi=1.47)
    """
    body, evidence = _split_evidence(text)
    try:
        rating = _read(body, evidence, quantity, tolerance, plausible)
        _check_sign(rating, plausible)
    except FitterError as error:
        raise _naming(error, text) from error
    value = rating.likely
    if likely is not None and (not rating.known or _BOUND.fullmatch(body)):
        value = min(max(likely, rating.lo), rating.hi)
    return Rating(rating.lo, rating.hi, value, rating.evidence, text.strip())


def _split_evidence(text: str) -> tuple[str, Evidence]:
    """The value and its evidence; a value without is merely stated."""
    body = " ".join(text.split())
    if len(body) > LONGEST:
        raise FitterError("the text is too long", got=body[:20] + "...", expected=_GRAMMAR)
    if body[-1:] in _LAST_LETTERS and (match := _SUFFIX.fullmatch(body)):
        return match[1], Evidence(match[2].lower())
    if "," in body and (match := _STRANGE_SUFFIX.fullmatch(body)):
        remedy = "one of " + ", ".join(_SOURCES)
        raise FitterError(f"unknown evidence {match[1][:20]!r}", got=body[:60], expected=remedy)
    return body, Evidence.STATED


def _naming(error: FitterError, text: str) -> FitterError:
    """The error of a piece, naming the whole text that was read."""
    return FitterError(error.problem, got=text.strip()[:60], expected=error.expected)


def _refuse(body: str) -> None:
    if not body:
        raise FitterError("no value", expected=_GRAMMAR)
    if _ROUGHLY.fullmatch(body):
        raise FitterError("a rough value is an estimate", expected="write it as `1.4 A, estimated`")


def _read(body: str, evidence: Evidence, quantity: str, tolerance: str, plausible: Interval | None) -> Rating:
    _refuse(body)
    if body.casefold() in _UNKNOWN:
        return _unknown(plausible)
    if bound := _bound(body, quantity):
        return _open_end(*bound, evidence, plausible)
    if _PLUS_MINUS.search(body):
        return _around(*_with_tolerance(body, quantity), quantity, evidence)
    if ends := _ends(body):
        lo, hi = _range(*ends, quantity)
        return Rating(lo, hi, _middle(lo, hi), evidence)
    value = parse(body, quantity)
    return _around(value, _usual_error(value, quantity, tolerance, evidence), quantity, evidence)


def _unknown(plausible: Interval | None) -> Rating:
    if plausible is None:
        raise FitterError("this one cannot be left unknown", expected="write a value, or leave the line out")
    lo, hi = float(plausible.lo), float(plausible.hi)
    return Rating(lo, hi, _middle(lo, hi), Evidence.UNKNOWN)


def _bound(body: str, quantity: str) -> tuple[bool, float] | None:
    """Whether a text gives a lower bound, and the bound in SI; nothing unless it gives one."""
    match = _BOUND.fullmatch(body)
    if match is None:
        return None
    value = parse(match[2], quantity)
    return (match[1] in (">=", "=>", ">", "≥", "⩾")) != _is_falling(match[2], quantity), value


def _is_falling(text: str, quantity: str) -> bool:
    return quantity == "length" and ("awg" in text.casefold() or falls(split(text)[1], quantity))


def _open_end(lower: bool, bound: float, evidence: Evidence, plausible: Interval | None) -> Rating:
    """A bound on one side; the other side is as far as is plausible, and the likely value near it."""
    least, most = (float(plausible.lo), float(plausible.hi)) if plausible else (min(0.0, bound), math.inf)
    if lower:
        hi = most if most > bound else max(WIDE * bound, bound)
        return Rating(bound, hi, _between(bound, min(hi, max(WIDE * bound, bound))), evidence)
    lo = least if least < bound else min(bound / 3, bound) if least > 0 else min(0.0, bound)
    return Rating(lo, bound, _between(max(lo, min(bound / WIDE, bound)), bound), evidence)


def _ends(body: str) -> tuple[str, str] | None:
    """Both ends of a range as written; nothing unless the text is a range."""
    if not _RANGE_SIGN.search(body):
        return None
    match = _RANGE.fullmatch(body) or (None if _FRACTION.fullmatch(body) else _DASH.fullmatch(body))
    return (match[1], match[2]) if match else None


def _range(first: str, second: str, quantity: str) -> tuple[float, float]:
    """Both ends of a range; a unit written once holds for both."""
    number, own = split(first)
    unit = split(second)[1]
    lo, hi = parse(first if own or not unit else f"{number} {unit}", quantity), parse(second, quantity)
    if _is_falling(second, quantity):
        lo, hi = sorted((lo, hi))  # which end of 18..22 AWG is the smaller is anybody's guess
    if lo > hi:
        raise FitterError("the range is reversed", expected="write the smaller end first")
    return lo, hi


def _with_tolerance(body: str, quantity: str) -> tuple[float, float]:
    """The value and the amount it may be off, both in SI; a unit written once holds for both."""
    first, *rest = _PLUS_MINUS.split(body)
    if len(rest) != 1 or not rest[0] or _ends(first):
        raise FitterError(
            "one value and one tolerance are expected", expected="`1.4 A +- 5 %` or `1.4 A +- 0.1 A`"
        )
    amount, amount_unit = split(rest[0])
    number, unit = split(first)
    if not unit and amount_unit != "%":
        first, unit = f"{number} {amount_unit}", amount_unit
    value = parse(first, quantity)
    error = _error(value, amount, amount_unit, unit, quantity)
    if error < 0:
        raise FitterError("a negative tolerance", expected="write it without sign after the +-")
    if 0 < value <= error and quantity not in _SIGNED:
        raise FitterError("the tolerance is as large as the value", expected="write a range: `0.1..0.3 A`")
    return value, error


def _error(value: float, amount: str, amount_unit: str, unit: str, quantity: str) -> float:
    """A written tolerance as an amount in SI; percent is of the value, of a percentage it is points."""
    if amount_unit == "%" and unit != "%":
        if quantity in ("temperature", "decibel"):
            raise FitterError(
                f"percent of a {quantity} means nothing", expected="write the tolerance as an amount"
            )
        return abs(value) * parse(f"{amount} %", "ratio")
    if quantity == "temperature":
        return parse(f"{amount} {amount_unit or unit}", "temperature_difference")
    if falls(unit, quantity):
        raise FitterError(
            "no amount to both sides of such a size", expected="write a range such as `150..180 lpi`"
        )
    return parse(f"{amount} {amount_unit or unit}", quantity)


def _around(value: float, error: float, quantity: str, evidence: Evidence) -> Rating:
    lo, hi = value - error, value + error
    if quantity == "count" and value == round(value):
        lo, hi = float(math.ceil(lo)), float(math.floor(hi))
    return Rating(lo, hi, value, evidence)


def _middle(lo: float, hi: float) -> float:
    """Likely value between two ends: the mean, geometric where they are far apart."""
    return _between(lo, hi) if hi > WIDE * lo else (lo + hi) / 2


def _between(lo: float, hi: float) -> float:
    """Geometric mean of positive ends, otherwise the arithmetic one."""
    if math.isinf(hi):
        return lo
    return math.sqrt(lo) * math.sqrt(hi) if lo > 0 else (lo + hi) / 2


def _check_sign(rating: Rating, plausible: Interval | None) -> None:
    """Ratings of which only positive values make sense may be neither negative nor nothing."""
    if plausible is None:
        return
    if rating.lo < 0 <= plausible.lo:
        raise FitterError("below zero", expected="write the size without sign")
    if rating.lo <= 0 < plausible.lo:
        raise FitterError("zero makes no sense here", expected="write a bound above zero, or `unknown`")


def parse_window(
    text: str, quantity: str, *, tolerance: str, plausible_low: Interval, plausible_high: Interval
) -> tuple[Rating, Rating]:
    """Read an operating window, such as the supply a driver takes: ``8..35 V``.

    Both ends hold at once, so each is a rating of its own. Ends that are printed or stated are
    limits to keep to and have no tolerance; measured and estimated ones have that of their class.
    A single value stands for 10 % to both sides of it.

    Args:
        text: As :func:`parse_rating`.
        quantity: A name of :data:`fitter.units.QUANTITIES`.
        tolerance: Class of ``tolerances.yaml`` for measured and estimated ends.
        plausible_low: Where the low end lies in practice, SI.
        plausible_high: Where the high end lies in practice, SI.

    Raises:
        FitterError: As :func:`parse_rating`.

    >>> low, high = parse_window("8..35 V", "voltage", tolerance="electrical",
    ...     plausible_low=Interval(4.5, 12.0), plausible_high=Interval(12.0, 50.0))
    >>> low.interval, high.interval
    (Interval(lo=8.0, hi=8.0), Interval(lo=35.0, hi=35.0))
    """
    body, evidence = _split_evidence(text)
    try:
        lo, hi = _window(body, quantity)
        if lo is None:
            low = _unknown(plausible_low if hi is None else plausible_low.minimum(hi))
        else:
            low = _window_end(lo, quantity, tolerance, evidence)
        if hi is None:
            high = _unknown(plausible_high if lo is None else plausible_high.maximum(lo))
        else:
            high = _window_end(hi, quantity, tolerance, evidence)
        _check_sign(low, plausible_low)
        _check_sign(high, plausible_high)
    except FitterError as error:
        raise _naming(error, text) from error
    return replace(low, text=text.strip()), replace(high, text=text.strip())


def _window(body: str, quantity: str) -> tuple[float | None, float | None]:
    """The ends of a window as written; nothing where an end is left open."""
    _refuse(body)
    if body.casefold() in _UNKNOWN:
        return None, None
    if bound := _bound(body, quantity):
        return (bound[1], None) if bound[0] else (None, bound[1])
    if ends := _ends(body):
        return _range(*ends, quantity)
    if _PLUS_MINUS.search(body):
        value, error = _with_tolerance(body, quantity)
    else:
        value = parse(body, quantity)
        error = _WINDOW * value
    return value - error, value + error


def _window_end(value: float, quantity: str, tolerance: str, evidence: Evidence) -> Rating:
    loose = evidence in (Evidence.MEASURED, Evidence.ESTIMATED)
    error = _usual_error(value, quantity, tolerance, evidence) if loose else 0.0
    return _around(value, error, quantity, evidence)


_SAME = {"true": "yes", "y": "yes", "on": "yes", "false": "no", "n": "no", "off": "no"}


def parse_choice(text: str | bool, choices: tuple[str, ...]) -> Rating:
    """Read one of a few words as a rating over their places: ``no`` is 0 and ``yes`` 1.

    Raises:
        FitterError: None of the words.

    >>> parse_choice("Yes, measured", ("no", "yes")).interval
    Interval(lo=1.0, hi=1.0)
    """
    body, evidence = _split_evidence(str(text))
    plain = _places(choices)
    key = _plain(body)
    if body.casefold() in _UNKNOWN:
        return Rating(0.0, len(choices) - 1.0, 0.0, Evidence.UNKNOWN, str(text))
    if key not in plain and key in _SAME:
        key = _SAME[key]
    if key.isdigit():  # a frame size without its family: 17 for NEMA 17
        key = next((k for k, choice in zip(plain, choices, strict=True) if choice.split()[-1] == key), key)
    if key not in plain:
        raise FitterError("not one of the choices", got=body[:60], expected="one of " + ", ".join(choices))
    code = float(plain[key])
    return Rating(code, code, code, evidence, str(text))


@cache
def _places(choices: tuple[str, ...]) -> Mapping[str, int]:
    """Each word in plain form with its place."""
    return {_plain(choice): place for place, choice in enumerate(choices)}


def _plain(word: str) -> str:
    return re.sub(r"[\s_-]", "", word).casefold()


def measured(value: float, quantity: str, tolerance: str = "electrical") -> Rating:
    """A value just measured, as far off as its class says of measured ones.

    Args:
        value: SI.
        quantity: A name of :data:`fitter.units.QUANTITIES`.
        tolerance: Class of ``tolerances.yaml``.

    >>> measured(1.4, "current").interval == parse_rating("1.4 A, measured", "current").interval
    True
    """
    error = _usual_error(value, quantity, tolerance, Evidence.MEASURED)
    return _around(value, error, quantity, Evidence.MEASURED)


def _usual_error(value: float, quantity: str, tolerance: str, evidence: Evidence) -> float:
    """How far a value may be off by its class and evidence, as an amount in SI."""
    percent, least = _usual(tolerance, evidence)
    size = abs(value - _ZERO_CELSIUS if quantity == "temperature" else value)
    error = size * percent / 100
    if quantity == "length":
        error = max(error, min(least, size / 2))
    return error


@cache
def _usual(tolerance: str, evidence: Evidence) -> tuple[float, float]:
    """Percent of the value, and the least amount of a length in metres."""
    entry = _tolerances()[tolerance]
    least = parse(entry["size"][evidence], "length") if "size" in entry else 0.0
    return float(entry["percent"][evidence]), least


def _tolerances() -> Mapping[str, Mapping[str, Any]]:
    return package_data("tolerances.yaml")  # type: ignore[no-any-return]
