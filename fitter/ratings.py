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
from importlib import resources
from typing import Any

from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.units import falls, parse, split

LONGEST = 120
WIDE = 3.0  # ends further apart than this have their likely value at the geometric mean
_ZERO_CELSIUS = 273.15
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


_STATED = "|".join(e.value for e in Evidence if e is not Evidence.UNKNOWN)
_SUFFIX = re.compile(rf"(.*?)(?:\s*[,;]\s*|\s+)({_STATED})", re.IGNORECASE | re.DOTALL)
_STRANGE_SUFFIX = re.compile(r".*,\s*([^\W\d_]+)", re.DOTALL)
_BOUND = re.compile(r"(>=|<=|=>|=<|≥|≤|⩾|⩽|>|<)\s*(.*)", re.DOTALL)
_RANGE = re.compile(r"(.*?[^.\s])\s*(?:\.{2,3}|…|[–—]|\bto\b|(?<=[0-9])\s*-(?=\s*[0-9.]))\s*(.+)", re.DOTALL)
_PLUS_MINUS = re.compile(r"\+\s*/?\s*[-−]|±")
_FRACTION = re.compile(r"[0-9]+-[0-9]+/[0-9]+.*")
_UNKNOWN = ("unknown", "?")
_GRAMMAR = (
    "write `1.4 A`, `1.4 A +- 5 %`, `1.2..1.6 A`, `>= 1.2 A` or `unknown`, then `, measured` or the like"
)


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
        raise FitterError(error.problem, got=text.strip()[:60], expected=error.expected) from error
    if likely is not None and (not rating.known or _BOUND.fullmatch(body)):
        rating = replace(rating, likely=min(max(likely, rating.lo), rating.hi))
    return replace(rating, text=text.strip())


def _split_evidence(text: str) -> tuple[str, Evidence]:
    """The value and its evidence; a value without is merely stated."""
    body = " ".join(text.split())
    if len(body) > LONGEST:
        raise FitterError("the text is too long", got=body[:20] + "...", expected=_GRAMMAR)
    if match := _SUFFIX.fullmatch(body):
        return match[1], Evidence(match[2].lower())
    if match := _STRANGE_SUFFIX.fullmatch(body):
        raise FitterError(f"unknown evidence {match[1][:20]!r}", got=body[:60],
                          expected="one of " + _STATED.replace("|", ", "))  # fmt: skip
    return body, Evidence.STATED


def _read(body: str, evidence: Evidence, quantity: str, tolerance: str, plausible: Interval | None) -> Rating:
    if not body:
        raise FitterError("no value", expected=_GRAMMAR)
    if body[0] == "~" or re.match(r"(about|approx|ca)\b", body, re.IGNORECASE):
        raise FitterError("a rough value is an estimate", expected="write it as `1.4 A, estimated`")
    if body.casefold() in _UNKNOWN:
        return _unknown(plausible)
    if bound := _BOUND.fullmatch(body):
        return _open_ended(bound[1], bound[2], evidence, quantity, plausible)
    if _PLUS_MINUS.search(body):
        return _with_tolerance(body, evidence, quantity)
    if (ends := _RANGE.fullmatch(body)) and not _FRACTION.fullmatch(body):
        lo, hi = _ends(ends[1], ends[2], quantity)
        return Rating(lo, hi, _middle(lo, hi), evidence)
    value = parse(body, quantity)
    return _around(value, _usual_error(value, quantity, tolerance, evidence), quantity, evidence)


def _unknown(plausible: Interval | None) -> Rating:
    if plausible is None:
        raise FitterError("this one cannot be left unknown", expected="write a value, or leave the line out")
    lo, hi = float(plausible.lo), float(plausible.hi)
    return Rating(lo, hi, _middle(lo, hi), Evidence.UNKNOWN)


def _open_ended(
    sign: str, rest: str, evidence: Evidence, quantity: str, plausible: Interval | None
) -> Rating:
    """A bound on one side; the other side is as far as is plausible."""
    bound = parse(rest, quantity)
    least, most = (float(plausible.lo), float(plausible.hi)) if plausible else (min(0.0, bound), math.inf)
    if (sign in (">", ">=", "=>", "≥", "⩾")) != falls(split(rest)[1], quantity):
        hi = most if most > bound else max(3 * bound, bound)
        return Rating(bound, hi, _middle(bound, min(hi, max(3 * bound, bound))), evidence)
    lo = least if least < bound else min(0.0, bound)
    return Rating(lo, bound, _middle(max(lo, min(bound / 3, bound)), bound), evidence)


def _ends(first: str, second: str, quantity: str) -> tuple[float, float]:
    """Both ends of a range; a unit written once holds for both."""
    unit = split(second)[1]
    number, own = split(first)
    lo, hi = parse(first if own or not unit else f"{number} {unit}", quantity), parse(second, quantity)
    if falls(unit, quantity):
        lo, hi = hi, lo
    if lo > hi:
        raise FitterError("the range is reversed", expected=f"the smaller end first: `{second} .. {first}`")
    return lo, hi


def _with_tolerance(body: str, evidence: Evidence, quantity: str) -> Rating:
    first, *rest = _PLUS_MINUS.split(body)
    if len(rest) != 1 or not rest[0].strip():
        raise FitterError("the tolerance cannot be read", expected="`1.4 A +- 5 %` or `1.4 A +- 0.1 A`")
    if _RANGE.fullmatch(first) and not _FRACTION.fullmatch(first):
        raise FitterError("a range takes no tolerance", expected="write the range alone")
    number, unit = split(first)
    amount, amount_unit = split(rest[0])
    if not unit and amount_unit != "%":
        unit = amount_unit
    value = parse(f"{number} {unit}" if unit != split(first)[1] else first, quantity)
    error = _error(value, amount, amount_unit, unit, quantity)
    if error < 0:
        raise FitterError("a negative tolerance", expected="write it without sign after the +-")
    if 0 < value <= error and quantity not in ("temperature_difference", "angle", "decibel"):
        raise FitterError(
            "the tolerance is as large as the value", expected="write a range such as `0.1..0.3 A`"
        )
    return _around(value, error, quantity, evidence)


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
    if quantity == "count":
        lo, hi = float(math.ceil(lo)), float(math.floor(hi))
    return Rating(lo, hi, value, evidence)


def _middle(lo: float, hi: float) -> float:
    """Likely value between two ends: geometric mean where they are far apart."""
    if math.isinf(hi):
        return lo
    return math.sqrt(lo) * math.sqrt(hi) if lo > 0 and hi > WIDE * lo else (lo + hi) / 2


def _check_sign(rating: Rating, plausible: Interval | None) -> None:
    """Ratings of which only positive values make sense may be neither negative nor nothing."""
    if plausible is None:
        return
    if rating.lo < 0 <= plausible.lo:
        raise FitterError("below zero", expected="write the size without sign")
    if rating.hi <= 0 < plausible.lo:
        raise FitterError("zero makes no sense here", expected="write `unknown` if nobody knows")


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
    whole = Interval(plausible_low.lo, plausible_high.hi)
    rating = parse_rating(text, quantity, tolerance="exact", plausible=whole)
    low, high = _unknown(plausible_low), _unknown(plausible_high)
    if not rating.known:
        return low, high
    bound = _BOUND.fullmatch(body)
    lo, hi = rating.lo, rating.hi
    if not bound and not _RANGE.fullmatch(body) and not _PLUS_MINUS.search(body):
        lo, hi = rating.likely * (1 - _WINDOW), rating.likely * (1 + _WINDOW)
    if not bound or lo != whole.lo:
        low = _window_end(lo, quantity, tolerance, evidence)
    if not bound or hi != whole.hi:
        high = _window_end(hi, quantity, tolerance, evidence)
    return replace(low, text=rating.text), replace(high, text=rating.text)


def _window_end(value: float, quantity: str, tolerance: str, evidence: Evidence) -> Rating:
    loose = evidence in (Evidence.MEASURED, Evidence.ESTIMATED)
    return _around(
        value, _usual_error(value, quantity, tolerance, evidence) if loose else 0.0, quantity, evidence
    )


_SAME = {"true": "yes", "y": "yes", "on": "yes", "false": "no", "n": "no", "off": "no"}


def parse_choice(text: str | bool, choices: tuple[str, ...]) -> Rating:
    """Read one of a few words as a rating over their places: ``no`` is 0 and ``yes`` 1.

    Raises:
        FitterError: None of the words.

    >>> parse_choice("Yes, measured", ("no", "yes")).interval
    Interval(lo=1.0, hi=1.0)
    """
    body, evidence = _split_evidence(str(text))
    plain = {_plain(choice): place for place, choice in enumerate(choices)}
    key = _plain(body)
    if body.casefold() in _UNKNOWN:
        return Rating(0.0, len(choices) - 1.0, 0.0, Evidence.UNKNOWN, body)
    if key not in plain and key in _SAME:
        key = _SAME[key]
    if key.isdigit():  # a frame size without its family: 17 for NEMA 17
        key = next((k for k, choice in zip(plain, choices, strict=True) if choice.split()[-1] == key), key)
    if key not in plain:
        raise FitterError("not one of the choices", got=body[:60], expected="one of " + ", ".join(choices))
    code = float(plain[key])
    return Rating(code, code, code, evidence, str(text))


def _plain(word: str) -> str:
    return re.sub(r"[\s_-]", "", word).casefold()


def _usual_error(value: float, quantity: str, tolerance: str, evidence: Evidence) -> float:
    """How far a value may be off by its class and evidence, as an amount in SI."""
    entry = _tolerances()[tolerance]
    size = abs(value - _ZERO_CELSIUS if quantity == "temperature" else value)
    error = size * entry["percent"][evidence] / 100
    if "size" in entry and quantity == "length":
        error = max(error, min(parse(entry["size"][evidence], "length"), size / 2))
    return float(error)


@cache
def _tolerances() -> Mapping[str, Mapping[str, Any]]:
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    text = resources.files("fitter").joinpath("tolerances.yaml").read_text(encoding="utf-8")
    return yaml.load(text, Loader=loader)  # type: ignore[no-any-return]
