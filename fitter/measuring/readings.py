"""Values typed at the bench: ratings in their grammar, and raw readings from which ratings are worked out."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fitter.bench.readings import Method, reading_interval, readings_for
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.kinds import Spec
from fitter.measuring.truths import CONDITION, complete
from fitter.ratings import Evidence, Rating, parse_choice, parse_rating
from fitter.stock.entries import parsed
from fitter.stock.lots import CONDITIONS, Lot
from fitter.units import parse, show, show_span

_DIGITS = 4
_SPREAD = re.compile(r"\+ ?/? ?[-−]|±|\.\.|…")


@dataclass(frozen=True)
class Value:
    """A value to be stored: the field, its text, and how it came about, line by line."""

    field: str
    text: str
    working: tuple[str, ...] = ()


def values(lot: Lot, given: Mapping[str, str]) -> list[Value]:
    """What typed names and values mean for a lot.

    Args:
        lot: The lot.
        given: Names of ratings or of readings with their values as typed.

    Raises:
        FitterError: A name that is neither, a value that is not understood, readings that are not enough
            for any rating, or a weaker value in place of a measured one.
    """
    named = {_plain(name): text for name, text in given.items()}
    methods = readings_for(lot.kind)
    raw_names = {n for m in methods for n in m.inputs}
    ratings = {n: t for n, t in named.items() if _spec(lot, n) is not None or n == CONDITION}
    raw = {n: t for n, t in named.items() if n not in ratings}
    for name in raw:
        if name not in raw_names:
            known = [*lot.kind_of_part.ratings, *_rail_names(lot), *raw_names, CONDITION]
            problem = f"a {lot.kind} has no rating or reading {name!r}"
            raise FitterError(problem, lot=lot.id, field=name, expected=nearest(name, known))
    found = [_direct(lot, name, text) for name, text in ratings.items()]
    found += _worked_out(lot, methods, raw, {v.field: v.text for v in found})
    for value in found:
        _not_weaker(lot, value)
    return found


def _plain(name: str) -> str:
    return re.sub(r"[\s-]+", "_", name.strip()).casefold()


def _rail_names(lot: Lot) -> Iterator[str]:
    for number, rail in enumerate(lot.rails, start=1):
        yield from (f"{lot.kind_of_part.rails_name}[{number}].{name}" for name in rail)


def _spec(lot: Lot, field: str) -> Spec | None:
    """The description of a field of a lot, or of one figure of one of its rails."""
    if "]." in field:
        return lot.kind_of_part.spec(field.rpartition("].")[2]) if field in _rail_names(lot) else None
    return lot.kind_of_part.ratings.get(field)


# ---------------------------------------------------------------- ratings as typed


def _direct(lot: Lot, field: str, text: str) -> Value:
    """A rating in its own grammar; what is typed without evidence is measured."""
    if field == CONDITION:
        word = text.strip().casefold()
        if word not in CONDITIONS:
            problem = f"unknown condition {word[:40]!r}"
            raise FitterError(problem, lot=lot.id, field=field, expected=nearest(word, CONDITIONS))
        return Value(field, word)
    spec = _spec(lot, field)
    assert spec is not None
    rating = _parsed(lot, field, spec, text)
    if not rating.known:
        raise FitterError("nothing to record", lot=lot.id, field=field, expected="give a value")
    if rating.evidence is Evidence.STATED:
        text = f"{text.strip()}, {Evidence.MEASURED.value}"
    return Value(field, text.strip())


def _parsed(lot: Lot, field: str, spec: Spec, text: str) -> Rating:
    try:
        if spec.choices:
            return parse_choice(text, spec.choices)
        return next(iter(parsed(field.rpartition("].")[2], spec, text).values()))
    except FitterError as error:
        raise error.at(lot=lot.id, field=field) from error


def _not_weaker(lot: Lot, value: Value) -> None:
    """A measured value gives way to another measured one only."""
    spec = _spec(lot, value.field)
    old = _now(lot, value.field)
    if spec is None or old is None or old.evidence is not Evidence.MEASURED:
        return
    new = _parsed(lot, value.field, spec, value.text)
    if new.evidence is not Evidence.MEASURED:
        raise FitterError(
            f"it was measured ({old.text}), and {new.evidence.value} is weaker",
            lot=lot.id,
            field=value.field,
            expected="leave it, or give a measured value",
        )


def _now(lot: Lot, field: str) -> Rating | None:
    """What the file says of a field; of a window its low end."""
    if "]." in field:
        number, _, name = field.partition("[")[2].partition("].")
        return lot.rails[int(number) - 1].get(name)
    return lot.ratings.get(field) or lot.ratings.get(f"{field}.min")


def before(lot: Lot, field: str) -> str | None:
    """What the file says of a field, as written; nothing where it says nothing."""
    if field == CONDITION:
        return lot.condition
    old = _now(lot, field)
    return old.text if old is not None and old.known else None


# ---------------------------------------------------------------- ratings worked out


def _worked_out(
    lot: Lot, methods: tuple[Method, ...], raw: Mapping[str, str], direct: Mapping[str, str]
) -> list[Value]:
    """Ratings from readings; every reading must be of use."""
    found: list[Value] = []
    used: set[str] = set()
    missing: dict[str, set[str]] = {}
    for method in methods:
        mine = raw.keys() & method.inputs
        if not mine or method.rating in direct:
            continue
        lacks = [n for n in method.inputs if n not in raw and not _known(lot, n, direct)]
        if lacks:
            missing.setdefault(", ".join(sorted(mine)), set()).add(", ".join(lacks))
        elif not mine <= used:
            found.append(_computed(lot, method, raw, direct))
            used |= mine
    for name in raw:
        if name not in used:
            needs = next((each for names, each in missing.items() if name in names.split(", ")), set())
            expected = " or ".join(f"give {each} as well" for each in sorted(needs))
            problem = "not enough to work a rating out" if needs else "its rating is given by itself"
            raise FitterError(problem, lot=lot.id, field=name, expected=expected or "leave one of them out")
    return found


def _known(lot: Lot, name: str, direct: Mapping[str, str]) -> bool:
    return name in direct or (name in lot.ratings and lot.ratings[name].known)


def _computed(lot: Lot, method: Method, raw: Mapping[str, str], direct: Mapping[str, str]) -> Value:
    intervals: dict[str, Interval] = {}
    said: list[str] = []
    for name, quantity in method.inputs.items():
        intervals[name] = _input(lot, method, name, raw, direct)
        span = show_span(float(intervals[name].lo), float(intervals[name].hi), quantity)
        said.append(f"{name.replace('_', ' ')} {span}")
    try:
        result = method.compute(intervals)
    except FitterError as error:
        raise error.at(lot=lot.id, field=method.rating) from error
    spec = _spec(lot, method.rating)
    assert spec is not None
    text = _text(result, spec, lot.id, method.rating)
    return Value(method.rating, text, (f"{method.procedure}: {method.formula}", "with " + ", ".join(said)))


def _input(
    lot: Lot, method: Method, name: str, raw: Mapping[str, str], direct: Mapping[str, str]
) -> Interval:
    """One reading as an interval, by what it is taken with, or a rating as it is known."""
    quantity = method.inputs[name]
    if name in raw:
        try:
            if _SPREAD.search(raw[name]):
                return parse_rating(raw[name], quantity).interval
            return reading_interval(method.procedure, name, parse(raw[name], quantity))
        except FitterError as error:
            raise error.at(lot=lot.id, field=name) from error
    if name in direct:
        spec = _spec(lot, name)
        assert spec is not None
        return _parsed(lot, name, spec, direct[name]).interval
    return complete(lot)[name].interval


def _text(result: Interval, spec: Spec, lot: str, field: str) -> str:
    """A result as it is written in a stock: both ends, rounded outwards."""
    lo, hi = float(result.lo), float(result.hi)
    if spec.choices:
        if lo != hi:
            raise FitterError(
                "the readings leave it open", lot=lot, field=field, expected="measure again, more exactly"
            )
        return f"{spec.choices[int(lo)]}, measured"
    unit = show((lo + hi) / 2, spec.quantity).lstrip("-0123456789.eE ")
    factor = parse(f"1 {unit}", spec.quantity) if unit else 1.0
    low, high = _rounded(lo / factor, math.floor), _rounded(hi / factor, math.ceil)
    span = low if low == high else f"{low}..{high}"
    return f"{span} {unit}".strip() + ", measured"


def _rounded(value: float, way: object) -> str:
    """A number to four digits, down or up."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    places = _DIGITS - 1 - math.floor(math.log10(abs(value)))
    rounded = (math.floor if way is math.floor else math.ceil)(round(value * 10**places, 6)) / 10**places
    return f"{rounded:.12g}"
