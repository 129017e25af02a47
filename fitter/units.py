"""Units people write, turned into SI floats and back.

Dimensions cannot tell a torque from an energy, nor an angle from a ratio, so every reading names
the *quantity* it expects. Spellings that people use stand in tables with their SI factors; only
rare ones of quantities that no other shares a dimension with are left to pint, whose registry is
built on first need because that takes a quarter of a second.
"""

from __future__ import annotations

import contextlib
import difflib
import math
import re
import unicodedata
from collections.abc import Sequence
from decimal import Decimal
from functools import cache, lru_cache
from typing import TYPE_CHECKING, NamedTuple

from fitter.errors import FitterError
from fitter.unit_tables import FALLING, MARKS, OFFSETS, QUANTITIES, REMEDIES, WORDS, Quantity

if TYPE_CHECKING:
    import pint

__all__ = [
    "QUANTITIES",
    "Quantity",
    "falls",
    "parse",
    "quantity_of",
    "show",
    "show_alike",
    "show_span",
    "split",
    "to_si",
    "unit_of",
]

LONGEST = 60
LARGEST, SMALLEST = 1e30, 1e-30

_NUMBER = re.compile(
    r"[+-]?(?:[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?)"
)
_THOUSANDS = re.compile(r" ?[.,'’_]? ?[0-9]")
_ONE_OVER = re.compile(r" 1 ?/")  # units such as 1/min
_EITHER_COMMA = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_CODE = re.compile(r"([0-9]*)([RrkKM])([0-9]+)(?: ?(?:ohms?|Ohm|Ω|Ω))?")


def parse(text: str, quantity: str) -> float:
    """A number with its unit as an SI float.

    Args:
        text: Such as ``0.4 Nm``, ``3/8 in``, ``4k7`` or ``22 AWG``; at most 60 characters.
        quantity: A name of :data:`QUANTITIES`.

    Raises:
        FitterError: Not a number, no unit, a unit of something else, or out of all proportion.

    >>> parse("1,4 A", "current")
    1.4
    >>> parse("9.525mm", "length") == parse("3/8 in", "length")
    True
    """
    if len(text) > LONGEST:
        raise FitterError("the text is too long", got=text[:20] + "...", expected=_wanted(quantity))
    number_text, unit = split(_rewritten(" ".join(text.split()), quantity))
    try:
        return to_si(_number(number_text), unit, quantity)
    except FitterError as error:
        raise FitterError(error.problem, got=text.strip(), expected=error.expected) from error


def _rewritten(text: str, quantity: str) -> str:
    """Printed codes brought to number and unit: ``4k7`` of resistors, ``AWG 22`` and ``2/0 AWG`` of wires."""
    if quantity == "resistance" and (code := _CODE.fullmatch(text)):
        whole, letter, rest = code.groups()
        return f"{whole or 0}.{rest} {letter}"
    if quantity == "length" and (wire := re.fullmatch(r"(?i)awg ?([0-9/]+)|([1-4]/0) ?awg", text)):
        size = wire[1] or wire[2]
        return f"{1 - int(size[0]) if size.endswith('/0') else size} AWG"
    return text


def split(text: str) -> tuple[str, str]:
    """The number and the unit of a text, both as written.

    Raises:
        FitterError: It does not start with a number, or has separators for thousands.

    >>> split("44 oz-in")
    ('44', 'oz-in')
    """
    text = text.strip().replace("−", "-")
    match = _NUMBER.match(text)
    if match is None:
        raise FitterError("not a number with a unit", got=text, expected="a number first, such as `1.5`")
    rest = text[match.end() :]
    if _THOUSANDS.match(rest) and not _ONE_OVER.match(rest):
        raise FitterError(
            "not one number", got=text, expected="no separators for thousands, such as `1000 mm`"
        )
    return match.group(), rest.strip()


def _number(text: str) -> float:
    """The value of a number as written: decimal point or comma, exponent, fraction."""
    if "/" in text:
        return _fraction(text)
    if "," in text and _EITHER_COMMA.fullmatch(text):
        remedy = f"write `{text.replace(',', '.')}` or `{text.replace(',', '')}`"
        raise FitterError("the comma may be decimal or of thousands", got=text, expected=remedy)
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise FitterError("the number is too large", got=text, expected=f"less than {LARGEST:g}")
    return value


def _fraction(text: str) -> float:
    sign = -1 if text.startswith("-") else 1
    whole, top, bottom = re.fullmatch(r"[+-]?(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)", text).groups()  # type: ignore[union-attr]
    if int(bottom) == 0:
        raise FitterError("division by zero", got=text, expected="such as `3/8`")
    return sign * (int(whole or 0) + int(top) / int(bottom))


def to_si(number: float, unit: str, quantity: str) -> float:
    """A number in a unit as an SI float.

    Raises:
        FitterError: As :func:`parse`.
    """
    found = _unit(unit, quantity)
    value = found.size(number) if found.falls else _scaled(number, found)
    if quantity == "count" and value != int(value):
        raise FitterError("not a whole number", got=f"{number:g}", expected="a count such as `4`")
    if quantity == "temperature" and value < 0:
        raise FitterError("below absolute zero", got=f"{number:g} {unit}", expected=_wanted(quantity))
    if not math.isfinite(value) or (value != 0 and not SMALLEST <= abs(value) <= LARGEST):
        raise FitterError("out of all proportion", got=f"{number:g} {unit}", expected=_wanted(quantity))
    return value


class _Unit(NamedTuple):
    """What a spelling means: SI factor and offset, or the name of a size that falls as the number rises."""

    factor: float
    offset: float = 0.0
    falls: str = ""

    def size(self, number: float) -> float:
        """Metres that a number of this wire size or line density stands for."""
        if self.falls == "AWG" and (number != int(number) or not -3 <= number <= 50):
            raise FitterError("no such wire size", got=f"{number:g} AWG", expected="4/0 to 50 AWG")
        if self.falls != "AWG" and number <= 0:
            raise FitterError("no such line density", got=f"{number:g}", expected="such as `150 lpi`")
        return float(FALLING[self.falls](number))


def _scaled(number: float, unit: _Unit) -> float:
    """Decimal arithmetic rounds once, so that 3/8 in and 9.525 mm are the same float."""
    if unit.factor == 1.0 and unit.offset == 0.0:
        return number + 0.0  # no negative zero
    return float(Decimal(repr(number)) * Decimal(repr(unit.factor)) + Decimal(repr(unit.offset)))


def falls(unit: str, quantity: str) -> bool:
    """Whether a greater number in this unit is a smaller size, as with wire sizes and lines per inch."""
    return bool(_unit(unit, quantity).falls)


def _unit(unit: str, quantity: str) -> _Unit:
    """What a unit as written means for a quantity.

    Raises:
        FitterError: It is no unit of that quantity.
    """
    found = _meaning(unit, quantity)
    if isinstance(found, FitterError):
        raise found.at()
    return found


@lru_cache(maxsize=4096)  # failures as well: one line of words is tried for many quantities, over and over
def _meaning(unit: str, quantity: str) -> _Unit | FitterError:
    try:
        return _read_unit(unit, quantity)
    except FitterError as error:
        return error.at()


def _read_unit(unit: str, quantity: str) -> _Unit:
    spelling = _spelling(unit)
    if spelling == "" and "" not in QUANTITIES[quantity].units:
        raise FitterError("no unit", expected=_wanted(quantity))
    if quantity == "length" and spelling in FALLING:
        return _Unit(0.0, falls=spelling)
    name = _listed(spelling, quantity)
    if name is None:
        return _Unit(_rare(spelling, unit, quantity))
    return _Unit(QUANTITIES[quantity].units[name], OFFSETS[name] if quantity == "temperature" else 0.0)


def _spelling(unit: str) -> str:
    """One form for the many ways to write a unit: products with a space, quotients with a slash."""
    text = unicodedata.normalize("NFKC", unit.translate(MARKS))
    for mark, word in (("μ", "u"), ("Ω", "ohm"), ("°", "deg"), ("''", " in "), ('"', " in ")):
        text = text.replace(mark, word)
    text = re.sub(r"(?:\*\*|\^)(?=[0-9])", "", text)
    text = re.sub(r"(?<=[A-Za-z0-9]) ?\* ?(?=[A-Za-z])", " ", text)
    text = re.sub(r"\b([AaDd])\.[Cc]\b", r"\1c", text)
    text = re.sub(r"(?<=[A-Za-z])\.|(?<=[A-Za-z])\.?-(?=[A-Za-z])", " ", text)
    text = re.sub(r"\bper\b", "/", text)
    text = re.sub(r" *([/:()]) *", r"\1", " ".join(text.split()))
    return re.sub(r"[A-Za-z]{2,}", lambda m: WORDS.get(m.group().casefold(), m.group()), text)


@cache
def _names(quantity: str) -> dict[str, str]:
    """Names in the table by spelling: with and without spaces, as written and with case left out."""
    names = list(QUANTITIES[quantity].units)
    exact = {name.replace(" ", ""): name for name in reversed(names)} | {name: name for name in names}
    return {_folded(spelling): name for spelling, name in reversed([*exact.items()])} | exact


def _folded(spelling: str) -> str:
    """Case left out, but for a leading m or M: milli and mega are a thousand million apart."""
    return spelling[0] + spelling[1:].casefold() if spelling[:1] in ("m", "M") else spelling.casefold()


def _listed(spelling: str, quantity: str) -> str | None:
    """The name in the table that a spelling stands for, if any."""
    names = _names(quantity)
    return names.get(spelling) or names.get(_folded(spelling)) if spelling else names.get(spelling)


def _rare(spelling: str, unit: str, quantity: str) -> float:
    """The SI factor of a unit that only pint knows, its dimension checked."""
    near = {name.casefold(): name for name in _names(quantity).values()}.get(spelling.casefold())
    if near is not None:
        raise FitterError(f"unlikely unit {unit[:20]!r}", expected=f"did you mean `{near}`?")
    if QUANTITIES[quantity].rare and (expression := _for_pint(spelling)):
        try:
            found = _registry().Quantity(1.0, _registry().parse_units(expression)).to_base_units()
            wanted = _registry().parse_units(_for_pint(QUANTITIES[quantity].unit))
            if found.dimensionality == wanted.dimensionality and 0 < found.magnitude < math.inf:
                return float(found.magnitude)
        except Exception:  # pint raises many kinds, even of the tokenizer; all mean that it cannot read this
            pass
    raise _not_a_unit(spelling, unit, quantity)


def _for_pint(spelling: str) -> str:
    """The unit with every operator written out; empty unless it is plain words, products and one quotient.

    Single letters that are no unit are left out, because pint takes them for constants of nature.
    """
    if not re.fullmatch(r"[A-Za-z]+[2-4]?(?:[ /][A-Za-z]+[2-4]?){0,3}", spelling) or spelling.count("/") > 2:
        return ""
    if any(len(w) == 1 and w not in "mgsAVWNJCFHhlK" for w in re.findall("[A-Za-z]+", spelling)):
        return ""
    top, *under = re.sub(r"([2-4])", r"**\1", spelling).split("/")
    return "/".join([top.replace(" ", "*"), *(f"({part.replace(' ', '*')})" for part in under)])


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    return pint.UnitRegistry()


def _not_a_unit(spelling: str, unit: str, quantity: str) -> FitterError:
    shown = unit[:20]
    if remedy := REMEDIES.get((quantity, spelling)):
        return FitterError(f"{shown!r} is not a unit of {QUANTITIES[quantity].words}", expected=remedy)
    if quantity == "ratio" and (turns := re.fullmatch(":([0-9]+)", spelling)):
        return FitterError("a ratio is one number", expected=f"write `{turns[1]}` or `{turns[1]}:1`")
    if (other := _first_with(spelling)) is not None:
        return FitterError(f"{shown!r} is a unit of {QUANTITIES[other].words}", expected=_wanted(quantity))
    names = _names(quantity)
    close = difflib.get_close_matches(spelling, [n for n in names if n], n=1, cutoff=0.6)
    remedy = f"did you mean `{names[close[0]]}`?" if close else _wanted(quantity)
    return FitterError(f"unknown unit {shown!r}", expected=remedy)


def _first_with(spelling: str) -> str | None:
    """The first quantity whose table has this spelling, as written or with case left out."""
    for name in QUANTITIES:
        if spelling in _names(name) or (name == "length" and spelling in FALLING):
            return name
    return next((name for name in QUANTITIES if _listed(spelling, name) is not None), None)


def _wanted(quantity: str) -> str:
    q = QUANTITIES[quantity]
    return f"write the {q.words} such as `{q.example}`"


@cache
def quantity_of(unit: str) -> str:
    """The quantity a unit standing alone is taken for.

    Raises:
        FitterError: No quantity has such a unit.

    >>> quantity_of("kg"), quantity_of("N m")
    ('mass', 'torque')
    """
    spelling = _spelling(unit)
    if (first := _first_with(spelling)) is not None:
        return first
    for name in (q.name for q in QUANTITIES.values() if q.rare):
        with contextlib.suppress(FitterError):
            _unit(unit, name)
            return name
    raise FitterError(f"unknown unit {unit[:20]!r}", expected="a unit such as `mm`, `kg`, `N m` or `V`")


def unit_of(quantity: str) -> str:
    """The SI unit in which a quantity's floats are, as JSON names it."""
    return QUANTITIES[quantity].unit


def show(value: float, quantity: str) -> str:
    """A value in SI as people read it: three digits and a unit of fitting size.

    >>> show(0.045, "torque"), show(308.15, "temperature"), show(0.000002, "length")
    ('45 mN m', '35 °C', '2 µm')
    """
    if math.isinf(value):
        return "unbounded"
    if math.isnan(value):
        return "unknown"
    number, unit = _in_fitting_unit(value + 0.0, quantity)
    return f"{_digits(number, quantity)} {unit}".strip()


def show_span(lo: float, hi: float, quantity: str) -> str:
    """A range in one unit, the one that fits its larger end; a single figure where both print alike.

    >>> show_span(0.05, 0.105, "torque"), show_span(0.5, 0.5, "length")
    ('0.05..0.105 N m', '500 mm')
    """
    low, high = show(lo, quantity), show(hi, quantity)
    if low == high or math.isinf(lo) or math.isinf(hi):
        return high if low == high else f"{low}..{high}"
    number, unit = _in_fitting_unit(hi + 0.0, quantity)
    if quantity != "temperature" and number:
        low = f"{_digits(lo * number / hi, quantity)} {unit}".strip()
    bare = low.removesuffix(unit).strip() if unit else low
    return high if low == high else f"{bare}..{high}"


def show_alike(spans: Sequence[tuple[float, float]], quantity: str) -> list[str]:
    """Ranges in one unit, so that they compare at a glance: the unit that fits the smallest.

    Each keeps a unit of its own where they lie further apart than ten thousand to one.

    >>> show_alike([(0.009, 0.018), (0.0, 0.427)], "torque")
    ['9..18 mN m', '0..427 mN m']
    """
    tops = [abs(hi) for _, hi in spans if hi and math.isfinite(hi)]
    if quantity == "temperature" or not tops or max(tops) > 1e4 * min(tops):
        return [show_span(lo, hi, quantity) for lo, hi in spans]
    number, unit = _in_fitting_unit(min(tops), quantity)
    each = [[_digits(end * number / min(tops), quantity) for end in ends] for ends in spans]
    return [f"{lo if lo == hi else f'{lo}..{hi}'} {unit}".strip() for lo, hi in each]


def _in_fitting_unit(value: float, quantity: str) -> tuple[float, str]:
    """The number to write and the largest unit in which it is worth writing."""
    q = QUANTITIES[quantity]
    number, unit = value, ""
    for unit, least in zip(reversed(q.shown), reversed(q.least or (0.0,)), strict=True):
        found = _unit(unit, quantity)
        number = (value - found.offset) / found.factor
        if abs(float(f"{number:.3g}")) >= least or (value == 0 and least < 1):
            break
    return number, unit


def _digits(number: float, quantity: str) -> str:
    """Three significant digits without exponent; a length given to four, such as 9.525 mm, keeps them."""
    text = f"{number:.3g}"
    if quantity == "length" and math.isclose(float(f"{number:.4g}"), number, rel_tol=1e-9):
        text = f"{number:.4g}"
    return f"{Decimal(text):f}" if "e" in text else text
