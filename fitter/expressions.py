"""Small arithmetic on demands, with units checked and nothing evaluated but numbers.

Grammar (usual precedence): names of demands, quantities such as ``0.4 kg``, ``+ - * /``,
parentheses, and ``min(a, b)``, ``max(a, b)``, ``sqrt(a)``, ``sin(a)``, ``cos(a)``. A value carries its
dimension as exponents of the SI base units, so that adding a mass to a length is an error, and its
quantity where one is known, so that an energy is not taken for a torque nor 2 Hz for 2 rad/s.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import cache

from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.units import QUANTITIES, parse, quantity_of

_BASE = {
    "m": (1, 0, 0, 0, 0), "kg": (0, 1, 0, 0, 0), "s": (0, 0, 1, 0, 0),
    "A": (0, 0, 0, 1, 0), "K": (0, 0, 0, 0, 1),
    "N": (1, 1, -2, 0, 0), "W": (2, 1, -3, 0, 0), "J": (2, 1, -2, 0, 0), "V": (2, 1, -3, -1, 0),
    "ohm": (2, 1, -3, -2, 0), "H": (2, 1, -2, -2, 0), "F": (-2, -1, 4, 2, 0), "C": (0, 0, 1, 1, 0),
    "Pa": (-1, 1, -2, 0, 0), "Hz": (0, 0, -1, 0, 0), "rad": (0, 0, 0, 0, 0), "1": (0, 0, 0, 0, 0),
    "dB": (0, 0, 0, 0, 0),
}  # fmt: skip
Dimension = tuple[int, ...]
NONE: Dimension = (0, 0, 0, 0, 0)
LONGEST = 200
DEEPEST = 40
_PLAIN = ("ratio", "count")
_GRAMMAR = "names of demands, quantities such as `0.4 kg`, + - * / and parentheses"
_NUMBER = re.compile(r"(?:[0-9]+(?:[.,][0-9]+)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_UNIT_PIECE = re.compile(r"( ?[/·]? ?)((?:[A-Za-zµμΩΩ]+|[°%\"][A-Za-z]*)(?:\^?[2-4]|[²³])?)(?![A-Za-z0-9_])")


@dataclass(frozen=True)
class Value:
    """A number in SI, its dimension (exponents of m, kg, s, A, K), and its quantity where that is known."""

    number: float
    dimension: Dimension
    quantity: str = ""

    @staticmethod
    def of(number: float, quantity: str) -> Value:
        """A number in the SI unit of a quantity."""
        return Value(number, dimension_of(quantity), quantity)


@dataclass(frozen=True)
class _Token:
    """A number with its unit, a name, or a sign; ``text`` is as written."""

    text: str
    value: Value | None = None


@cache
def dimension_of(quantity: str) -> Dimension:
    """Exponents of m, kg, s, A, K of a quantity's SI unit; angles and ratios have none.

    >>> dimension_of("torque"), dimension_of("angle")
    ((2, 1, -2, 0, 0), (0, 0, 0, 0, 0))
    """
    total = [0] * 5
    top, _, under = QUANTITIES[quantity].unit.partition("/")
    for side, part in ((1, top), (-1, under)):
        for name, power in re.findall(r"([A-Za-z]+|1)([0-9]*)", part):
            for i, exponent in enumerate(_BASE[name]):
                total[i] += side * exponent * int(power or 1)
    return tuple(total)


def evaluate(text: str, names: Mapping[str, Value], quantity: str) -> float:
    """Work out an expression that must come out as the given quantity.

    Args:
        text: The expression, at most 200 characters.
        names: Demands that it may use.
        quantity: Name of a quantity of :mod:`fitter.units`.

    Returns:
        The value in the quantity's SI unit.

    Raises:
        FitterError: Unknown name, wrong units, division by zero or anything else that is not arithmetic.

    >>> evaluate("payload + 0.4 kg", {"payload": Value.of(1.5, "mass")}, "mass")
    1.9
    """
    if len(text) > LONGEST:
        raise FitterError(
            "the expression is too long", got=text[:20] + "...", expected=f"at most {LONGEST} characters"
        )
    try:
        return _evaluate(" ".join(text.split()), names, quantity)
    except FitterError as error:
        raise FitterError(error.problem, got=text.strip(), expected=error.expected) from error


def _evaluate(text: str, names: Mapping[str, Value], quantity: str) -> float:
    """A bare value is read for its quantity, so that ``5 g`` may be an acceleration."""
    if not _may_be_bare(text, names, quantity):
        return _checked(_Parser(text, names).whole(), quantity)
    try:
        return parse(text, quantity)
    except FitterError:
        if not _is_arithmetic(text, names):
            raise
    return _checked(_Parser(text, names).whole(), quantity)


def _is_arithmetic(text: str, names: Mapping[str, Value]) -> bool:
    """Whether a text is readable and more than one value with its sign."""
    with suppress(FitterError):
        return len(_split(text, names)) > 2
    return False


def _may_be_bare(text: str, names: Mapping[str, Value], quantity: str) -> bool:
    """Whether a text may be one number with its unit; ``3-1/2`` of a plain number is a difference."""
    if not _NUMBER.match(text.lstrip("+-")) or re.search(r"[+*(]", text[1:]) or names_in(text) & names.keys():
        return False
    return not (quantity in _PLAIN and "-" in text[1:])


def names_in(text: str) -> set[str]:
    """The words of an expression that may be names of demands.

    >>> sorted(names_in("payload + 0.4 kg"))
    ['kg', 'payload']
    """
    return set(_NAME.findall(text))


def _checked(value: Value, quantity: str) -> float:
    """The number of a value that must be of a quantity."""
    wanted = QUANTITIES[quantity]
    if value.dimension != dimension_of(quantity) or not _may_be(value.quantity, quantity):
        raise FitterError(
            f"comes out {_words(value)}", expected=f"needed is the {wanted.words} such as `{wanted.example}`"
        )
    if quantity == "count" and value.number != int(value.number):
        raise FitterError(f"comes out as {value.number:g}", expected="a whole number is needed")
    return value.number


def _may_be(found: str, wanted: str) -> bool:
    """Whether a value of one quantity passes for another of the same dimension."""
    return not found or found == wanted or (found in _PLAIN and wanted in _PLAIN)


def _words(value: Value) -> str:
    """A value's quantity or unit in words, for errors."""
    if value.quantity in _PLAIN:
        return "as a plain number"
    if value.quantity:
        return f"as a value of {QUANTITIES[value.quantity].words}"
    return f"in {_unit(value.dimension)}" if value.dimension != NONE else "as a plain number"


def _unit(dimension: Dimension) -> str:
    pairs = zip(["m", "kg", "s", "A", "K"], dimension, strict=True)
    return " ".join(f"{unit}^{n}" if n != 1 else unit for unit, n in pairs if n)


def _finite(number: float, dimension: Dimension, quantity: str = "") -> Value:
    if not math.isfinite(number):
        raise FitterError("the number is too large", expected="values within all proportion")
    return Value(number, dimension, quantity)


# ---------------------------------------------------------------- tokens


def _split(text: str, names: Mapping[str, Value]) -> list[_Token]:
    """The tokens of an expression.

    Raises:
        FitterError: A sign that has no place here, or an unknown unit.
    """
    tokens: list[_Token] = []
    place = 0
    while place < len(text):
        if text[place] == " ":
            place += 1
            continue
        token, place = _token(text, place, names)
        tokens.append(token)
    return tokens


def _token(text: str, place: int, names: Mapping[str, Value]) -> tuple[_Token, int]:
    if number := _NUMBER.match(text, place):
        end, unit = _unit_after(text, number.end(), names)
        return _Token(text[place:end], _literal(number.group(), unit)), end
    if name := _NAME.match(text, place):
        return _Token(name.group()), name.end()
    if text.startswith("**", place) or text[place] == "^":
        raise FitterError("powers are not known here", expected="write `a * a` for the square of a")
    if text[place] not in "+-*/(),":
        raise FitterError(f"cannot read {text[place : place + 20]!r}", expected=_GRAMMAR)
    return _Token(text[place]), place + 1


def _unit_after(text: str, start: int, names: Mapping[str, Value]) -> tuple[int, str]:
    """End and text of the longest unit that follows a number; it never runs into a demand's name."""
    ends = []
    place = start
    while piece := _UNIT_PIECE.match(text, place):
        sign, word = piece.groups()
        opens = word in _CALLS and text.startswith("(", piece.end())
        if (word in names and place > start) or opens or ("/" in sign and place == start):
            break
        place = piece.end()
        ends.append(place)
    for end in reversed(ends[1:]):
        with suppress(FitterError):
            quantity_of(text[start:end].strip())
            return end, text[start:end].strip()
    return (ends[0], text[start : ends[0]].strip()) if ends else (start, "")


def _literal(number: str, unit: str) -> Value:
    if not unit:
        return _finite(float(number.replace(",", ".")), NONE, "ratio")
    quantity = quantity_of(unit)
    value = parse(f"{number} {unit}", quantity)
    if quantity == "temperature" and unit in ("K", "degK", "kelvin"):
        quantity = "temperature_difference"
    return Value.of(value, quantity)


# ---------------------------------------------------------------- grammar


class _Parser:
    """Recursive descent over the tokens of one expression."""

    def __init__(self, text: str, names: Mapping[str, Value]) -> None:
        self.names = names
        self.tokens = _split(text, names)
        self.at = 0
        self.depth = 0

    def peek(self) -> str:
        return self.tokens[self.at].text if self.at < len(self.tokens) else ""

    def take(self, sign: str) -> bool:
        if self.peek() == sign:
            self.at += 1
            return True
        return False

    def whole(self) -> Value:
        value = self.sum()
        if self.at < len(self.tokens):
            found = self.peek()
            remedy = (
                "there is one `)` too many" if found == ")" else "an operator such as * is missing before it"
            )
            raise FitterError(f"{found!r} is not expected there", expected=remedy)
        return value

    def sum(self) -> Value:
        value = self.product()
        while (plus := self.take("+")) or self.take("-"):
            other = self.product()
            sign = 1.0 if plus else -1.0
            quantity = _sum_quantity(value, other, plus=plus)
            value = _finite(value.number + sign * other.number, value.dimension, quantity)
        return value

    def product(self) -> Value:
        value = self.factor()
        while (times := self.take("*")) or self.take("/"):
            value = _times(value, self.factor()) if times else _over(value, self.factor())
        return value

    def factor(self) -> Value:
        self.depth += 1
        if self.depth > DEEPEST:
            raise FitterError("nested too deeply", expected=f"at most {DEEPEST} levels")
        try:
            if self.take("-"):
                inner = self.factor()
                _no_temperature(inner)
                return Value(-inner.number, inner.dimension, inner.quantity)
            if self.take("("):
                inner = self.sum()
                self._close()
                return inner
            return self.atom()
        finally:
            self.depth -= 1

    def atom(self) -> Value:
        if self.at >= len(self.tokens):
            raise FitterError("the expression breaks off", expected="a value is missing at its end")
        token = self.tokens[self.at]
        self.at += 1
        if token.value is not None:
            return token.value
        name = token.text
        if name in _CALLS and self.take("("):
            return self._call(name)
        if name in self.names:
            return self.names[name]
        if not _NAME.fullmatch(name):
            raise FitterError(f"a value is missing before {name!r}", expected=_GRAMMAR)
        raise FitterError(f"unknown name {name!r}", expected=nearest(name, [*self.names, *_CALLS]))

    def _call(self, name: str) -> Value:
        arguments = [self.sum()]
        while self.take(","):
            arguments.append(self.sum())
        self._close()
        count, work = _CALLS[name]
        if len(arguments) != count:
            values = "one value" if count == 1 else "two values, with a comma and a space between them"
            raise FitterError(f"{name} takes {values}", expected=f"`{_USE[name]}`")
        return work(*arguments)

    def _close(self) -> None:
        if not self.take(")"):
            raise FitterError("a closing parenthesis is missing", expected="as many `)` as `(`")


# ---------------------------------------------------------------- arithmetic with quantities


def _no_temperature(*values: Value) -> None:
    if any(v.quantity == "temperature" for v in values):
        raise FitterError("a temperature can only be raised or lowered", expected="such as `ambient + 5 K`")


def _sum_quantity(a: Value, b: Value, *, plus: bool) -> str:
    """The quantity of a sum or difference.

    Raises:
        FitterError: The two do not add up.
    """
    if a.dimension != b.dimension:
        raise _no_sum(a, b)
    if "temperature" in (a.quantity, b.quantity):
        return _temperature_sum(a, b, plus=plus)
    if a.quantity and b.quantity and a.quantity != b.quantity:
        if a.quantity in _PLAIN and b.quantity in _PLAIN:
            return "ratio"
        raise _no_sum(a, b)
    return a.quantity or b.quantity


def _temperature_sum(a: Value, b: Value, *, plus: bool) -> str:
    if a.quantity == b.quantity and not plus:
        return "temperature_difference"
    if a.quantity == b.quantity or (b.quantity == "temperature" and not plus):
        _no_temperature(a, b)
    return "temperature"


def _no_sum(a: Value, b: Value) -> FitterError:
    return FitterError(
        f"one comes out {_words(a)}, the other {_words(b)}", expected="only like values add up"
    )


def _times(a: Value, b: Value) -> Value:
    _no_temperature(a, b)
    dimension = tuple(x + y for x, y in zip(a.dimension, b.dimension, strict=True))
    quantity = ""
    if a.quantity in _PLAIN:
        quantity = b.quantity if b.quantity != "count" else a.quantity
    elif b.quantity in _PLAIN:
        quantity = a.quantity
    return _finite(a.number * b.number, dimension, quantity)


def _over(a: Value, b: Value) -> Value:
    _no_temperature(a, b)
    if b.number == 0:
        raise FitterError("division by zero", expected="a value above zero below the stroke")
    dimension = tuple(x - y for x, y in zip(a.dimension, b.dimension, strict=True))
    quantity = ""
    if b.quantity in _PLAIN:
        quantity = a.quantity if a.quantity != "count" else "ratio"
    elif a.quantity == b.quantity == "angle":
        quantity = "ratio"
    return _finite(a.number / b.number, dimension, quantity)


def _pick(work: Callable[[float, float], float]) -> Callable[[Value, Value], Value]:
    def call(a: Value, b: Value) -> Value:
        quantity = a.quantity if a.quantity == b.quantity else _sum_quantity(a, b, plus=True)
        if a.dimension != b.dimension:
            raise _no_sum(a, b)
        return Value(work(a.number, b.number), a.dimension, quantity)

    return call


def _angle(work: Callable[[float], float]) -> Callable[[Value], Value]:
    def call(a: Value) -> Value:
        if a.dimension != NONE or a.quantity not in ("", "angle"):
            raise FitterError("sin and cos take an angle", expected="such as `sin(30 deg)`")
        return Value(work(a.number), NONE, "ratio")

    return call


def _root(a: Value) -> Value:
    _no_temperature(a)
    if a.number < 0 or any(n % 2 for n in a.dimension):
        raise FitterError("no square root of that", expected="a value from zero up, of a squared unit")
    quantity = "ratio" if a.quantity in _PLAIN else ""
    return Value(math.sqrt(a.number), tuple(n // 2 for n in a.dimension), quantity)


_CALLS: dict[str, tuple[int, Callable[..., Value]]] = {
    "min": (2, _pick(min)),
    "max": (2, _pick(max)),
    "sqrt": (1, _root),
    "sin": (1, _angle(math.sin)),
    "cos": (1, _angle(math.cos)),
}
_USE = {name: f"{name}(a, b)" if count == 2 else f"{name}(a)" for name, (count, _) in _CALLS.items()}
CALLS = tuple(_CALLS)
