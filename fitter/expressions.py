"""Small arithmetic on demands, with units checked and nothing evaluated but numbers.

Grammar (usual precedence): names of demands, quantities such as ``0.4 kg``, ``+ - * /``,
parentheses, and ``min(a, b)``, ``max(a, b)``, ``sqrt(a)``, ``sin(a)``, ``cos(a)``. A value carries its
dimension as exponents of the SI base units, so that adding a mass to a length is an error.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from fitter.errors import FitterError
from fitter.units import QUANTITIES, parse, quantity_of

_BASE = {
    "m": (1, 0, 0, 0, 0), "kg": (0, 1, 0, 0, 0), "s": (0, 0, 1, 0, 0), "A": (0, 0, 0, 1, 0), "K": (0, 0, 0, 0, 1),
    "N": (1, 1, -2, 0, 0), "W": (2, 1, -3, 0, 0), "J": (2, 1, -2, 0, 0), "V": (2, 1, -3, -1, 0),
    "ohm": (2, 1, -3, -2, 0), "H": (2, 1, -2, -2, 0), "F": (-2, -1, 4, 2, 0), "C": (0, 0, 1, 1, 0),
    "Hz": (0, 0, -1, 0, 0), "rad": (0, 0, 0, 0, 0), "1": (0, 0, 0, 0, 0), "dB": (0, 0, 0, 0, 0),
}  # fmt: skip
Dimension = tuple[int, ...]
NONE: Dimension = (0, 0, 0, 0, 0)
LONGEST = 200
_TOKEN = re.compile(
    r"\s*(?:(?P<number>\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?)\s*(?P<unit>[A-Za-zµΩ°%\"]+(?:[/·^]?[A-Za-zµΩ°0-9]+)*"
    r"(?: (?:m|cm|cm2|m2|A|V)\b)?)?|(?P<name>[A-Za-z_][A-Za-z0-9_]*)|(?P<sign>[-+*/(),]))"
)


@dataclass(frozen=True)
class Value:
    """A number in SI with its dimension (exponents of m, kg, s, A, K)."""

    number: float
    dimension: Dimension


def dimension_of(quantity: str) -> Dimension:
    """Exponents of m, kg, s, A, K of a quantity's SI unit; angles and ratios have none."""
    total = [0] * 5
    side, depth = 1, 0
    for part in re.findall(r"[A-Za-z]+-?\d*|[/()]|1", QUANTITIES[quantity].unit):
        if part == "/":
            side = -1
        elif part in "()":
            depth += 1
        else:
            name, power = re.fullmatch(r"([A-Za-z]+|1)(-?\d*)", part).groups()  # type: ignore[union-attr]
            for i, exponent in enumerate(_BASE[name]):
                total[i] += side * exponent * int(power or 1)
    return tuple(total)


def evaluate(text: str, names: Mapping[str, Value], quantity: str) -> float:
    """Work out an expression that must come out as the given quantity.

    Args:
        text: The expression, at most 200 characters.
        names: Demands that it may use.
        quantity: Name of a quantity of :mod:`fitter.units`.

    Raises:
        FitterError: Unknown name, wrong units, division by zero or anything else that is not arithmetic.

    >>> evaluate("payload + 0.4 kg", {"payload": Value(1.5, dimension_of("mass"))}, "mass")
    1.9
    """
    if len(text) > LONGEST:
        raise FitterError("the expression is too long", expected=f"at most {LONGEST} characters")
    try:
        value = _Parser(text, names).whole()
    except ZeroDivisionError as error:
        raise FitterError("division by zero", got=text) from error
    if value.dimension != dimension_of(quantity):
        raise FitterError(
            f"comes out in {_words(value.dimension)}", got=text,
            expected=f"a {quantity.replace('_', ' ')} in {QUANTITIES[quantity].unit} is needed",
        )
    if not math.isfinite(value.number):
        raise FitterError("does not come out as a finite number", got=text)
    return value.number


def _words(dimension: Dimension) -> str:
    parts = [f"{unit}^{n}" if n != 1 else unit for unit, n in zip("m kg s A K".split(), dimension, strict=True) if n]
    return " ".join(parts) or "a plain number"


class _Parser:
    """Recursive descent over the tokens of one expression."""

    def __init__(self, text: str, names: Mapping[str, Value]) -> None:
        self.text = text
        self.names = names
        self.tokens = self._split(text)
        self.at = 0
        self.depth = 0

    def _split(self, text: str) -> list[re.Match[str]]:
        tokens, place = [], 0
        text = text.rstrip()
        while place < len(text):
            match = _TOKEN.match(text, place)
            if match is None:
                raise FitterError(f"cannot read {text[place:].strip()[:20]!r}", got=self.text,
                                  expected="names of demands, quantities, + - * / and parentheses")
            tokens.append(match)
            place = match.end()
        return tokens

    def peek(self) -> str:
        return self.tokens[self.at].group().strip() if self.at < len(self.tokens) else ""

    def take(self, sign: str) -> bool:
        if self.peek() == sign:
            self.at += 1
            return True
        return False

    def whole(self) -> Value:
        value = self.sum()
        if self.at < len(self.tokens):
            raise FitterError(f"{self.peek()!r} is not expected there", got=self.text)
        return value

    def sum(self) -> Value:
        value = self.product()
        while (plus := self.take("+")) or self.take("-"):
            other = self.product()
            if other.dimension != value.dimension:
                raise FitterError("adds different units", got=self.text,
                                  expected=f"{_words(value.dimension)} and {_words(other.dimension)} do not add up")
            value = Value(value.number + (other.number if plus else -other.number), value.dimension)
        return value

    def product(self) -> Value:
        value = self.factor()
        while (times := self.take("*")) or self.take("/"):
            other = self.factor()
            if times:
                value = Value(value.number * other.number, _add(value.dimension, other.dimension, 1))
            else:
                value = Value(value.number / other.number, _add(value.dimension, other.dimension, -1))
        return value

    def factor(self) -> Value:
        self.depth += 1
        if self.depth > 40:
            raise FitterError("nested too deeply", got=self.text)
        try:
            if self.take("-"):
                inner = self.factor()
                return Value(-inner.number, inner.dimension)
            if self.take("("):
                inner = self.sum()
                self._close()
                return inner
            return self.atom()
        finally:
            self.depth -= 1

    def atom(self) -> Value:
        if self.at >= len(self.tokens):
            raise FitterError("the expression breaks off", got=self.text)
        token = self.tokens[self.at]
        self.at += 1
        if token["number"]:
            return self._literal(token["number"], token["unit"])
        name = token["name"]
        if name in _CALLS and self.take("("):
            return self._call(name)
        if name in self.names:
            return self.names[name]
        raise FitterError(f"unknown name {token.group().strip()!r}", got=self.text,
                          expected="known: " + ", ".join(sorted(self.names)))

    def _literal(self, number: str, unit: str | None) -> Value:
        if unit is None:
            return Value(float(number.replace(",", ".")), NONE)
        quantity = quantity_of(unit)
        return Value(parse(f"{number} {unit}", quantity), dimension_of(quantity))

    def _call(self, name: str) -> Value:
        arguments = [self.sum()]
        while self.take(","):
            arguments.append(self.sum())
        self._close()
        count, work = _CALLS[name]
        if len(arguments) != count:
            raise FitterError(f"{name} takes {count} value(s)", got=self.text)
        return work(*arguments)

    def _close(self) -> None:
        if not self.take(")"):
            raise FitterError("a closing parenthesis is missing", got=self.text)


def _add(a: Dimension, b: Dimension, sign: int) -> Dimension:
    return tuple(x + sign * y for x, y in zip(a, b, strict=True))


def _same(work: Callable[[float, float], float]) -> Callable[[Value, Value], Value]:
    def call(a: Value, b: Value) -> Value:
        if a.dimension != b.dimension:
            raise FitterError("min and max take two values of one unit")
        return Value(work(a.number, b.number), a.dimension)

    return call


def _angle(work: Callable[[float], float]) -> Callable[[Value], Value]:
    def call(a: Value) -> Value:
        if a.dimension != NONE:
            raise FitterError("sin and cos take an angle")
        return Value(work(a.number), NONE)

    return call


def _root(a: Value) -> Value:
    if a.number < 0 or any(n % 2 for n in a.dimension):
        raise FitterError("no square root of that")
    return Value(math.sqrt(a.number), tuple(n // 2 for n in a.dimension))


_CALLS: dict[str, tuple[int, Callable[..., Value]]] = {
    "min": (2, _same(min)),
    "max": (2, _same(max)),
    "sqrt": (1, _root),
    "sin": (1, _angle(math.sin)),
    "cos": (1, _angle(math.cos)),
}
