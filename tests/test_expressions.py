"""Arithmetic on demands, judged by Python's own; units and quantities by their SI definitions."""

from __future__ import annotations

import math
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.errors import FitterError
from fitter.expressions import LONGEST, NONE, Value, dimension_of, evaluate, names_in
from fitter.units import QUANTITIES, parse

NAMES = {
    "payload": Value.of(1.5, "mass"),
    "travel": Value.of(0.6, "length"),
    "speed": Value.of(0.04, "speed"),
    "incline": Value.of(math.radians(30), "angle"),
    "ambient": Value.of(308.15, "temperature"),
    "pens": Value.of(2, "count"),
    "share": Value.of(0.25, "ratio"),
}


# ------------------------------------------------------------------ dimensions


@pytest.mark.parametrize(
    ("quantity", "exponents"),
    [  # exponents of m, kg, s, A, K after the SI Brochure, 9th edition, tables 2, 4 and 5
        ("mass", (0, 1, 0, 0, 0)), ("length", (1, 0, 0, 0, 0)), ("speed", (1, 0, -1, 0, 0)),
        ("acceleration", (1, 0, -2, 0, 0)), ("force", (1, 1, -2, 0, 0)), ("torque", (2, 1, -2, 0, 0)),
        ("energy", (2, 1, -2, 0, 0)), ("power", (2, 1, -3, 0, 0)), ("apparent_power", (2, 1, -3, 0, 0)),
        ("voltage", (2, 1, -3, -1, 0)), ("resistance", (2, 1, -3, -2, 0)), ("inductance", (2, 1, -2, -2, 0)),
        ("capacitance", (-2, -1, 4, 2, 0)), ("charge", (0, 0, 1, 1, 0)), ("frequency", (0, 0, -1, 0, 0)),
        ("angular_speed", (0, 0, -1, 0, 0)), ("angular_acceleration", (0, 0, -2, 0, 0)), ("angle", NONE),
        ("inertia", (2, 1, 0, 0, 0)), ("thermal_resistance", (-2, -1, 3, 0, 1)),
        ("stiffness", (0, 1, -2, 0, 0)),
        ("torque_constant", (2, 1, -2, -1, 0)), ("speed_constant", (-2, -1, 2, 1, 0)),
        ("flow", (3, 0, -1, 0, 0)), ("density", (-3, 1, 0, 0, 0)), ("ratio", NONE), ("count", NONE),
        ("decibel", NONE), ("temperature", (0, 0, 0, 0, 1)), ("temperature_difference", (0, 0, 0, 0, 1)),
        ("time", (0, 0, 1, 0, 0)), ("current", (0, 0, 0, 1, 0)),
    ],
)  # fmt: skip
def test_dimension(quantity: str, exponents: tuple[int, ...]) -> None:
    assert dimension_of(quantity) == exponents


def test_every_quantity_has_a_dimension() -> None:
    assert all(len(dimension_of(quantity)) == 5 for quantity in QUANTITIES)


# ------------------------------------------------------------------ what comes out


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("payload", "mass", 1.5),
        ("payload + 0.4 kg", "mass", 1.9),
        ("payload+400 g", "mass", 1.9),
        ("2 * payload - 1 lb", "mass", 3 - 0.45359237),
        ("-payload", "mass", -1.5),
        ("payload * share", "mass", 0.375),
        ("50 % * payload", "mass", 0.75),
        ("(payload + 0,5 kg) * 2", "mass", 4.0),
        ("2*.5 kg", "mass", 1.0),
        ("travel / 2", "length", 0.3),
        ("6 mm/2", "length", 0.003),
        ("1 m/travel", "ratio", 1 / 0.6),
        ("travel - 10 mm - 10 mm", "length", 0.58),
        ("travel / 2 / 3", "length", 0.1),
        ("travel / (2 * 3)", "length", 0.1),
        ("1 m/s * 2 s", "length", 2.0),
        ("travel / speed", "time", 15.0),
        ("payload * 9.81 m/s2 * travel", "torque", 1.5 * 9.81 * 0.6),
        ("0.5 N m + 2 N * travel", "torque", 1.7),
        ("speed / 10 mm", "angular_speed", 4.0),
        ("2 * 60 rpm", "angular_speed", 4 * math.pi),
        ("max(payload, 2 kg)", "mass", 2.0),
        ("min(payload, 2 kg) / 2", "mass", 0.75),
        ("max(1, 2)", "ratio", 2.0),
        ("sqrt(travel * travel)", "length", 0.6),
        ("sin(incline)", "ratio", 0.5),
        ("cos(60 deg) * payload", "mass", 0.75),
        ("incline + 15 deg", "angle", math.pi / 4),
        ("2 * incline", "angle", math.pi / 3),
        ("travel / 0.6 m", "angle", 1.0),
        ("pens + 1", "count", 3.0),
        ("pens * 2", "count", 4.0),
        ("6 / 3", "count", 2.0),
        ("pens", "ratio", 2.0),
        ("3-1/2", "ratio", 2.5),
        ("2 - -3", "ratio", 5.0),
        ("1e-3 * 2", "ratio", 0.002),
        ("ambient + 5 K", "temperature", 313.15),
        ("ambient - 20 degC", "temperature_difference", 15.0),
        ("max(ambient, 40 degC)", "temperature", 313.15),
        ("2 kg m2 * 3", "inertia", 6.0),
        ("1 m3/h * 3600", "flow", 1.0),
        ("5 N·m*2", "torque", 10.0),
        ('2 * 3"', "length", 0.1524),
    ],
)
def test_value(text: str, quantity: str, value: float) -> None:
    assert evaluate(text, NAMES, quantity) == pytest.approx(value, rel=1e-12)
    assert evaluate(f"  ( {text} )\n", NAMES, quantity) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("5 g", "acceleration"),
        ("5 g", "mass"),
        ("44 oz-in", "torque"),
        ("3-1/2 in", "length"),
        ("22 AWG", "length"),
        ("4k7", "resistance"),
        ("-5 degC", "temperature"),
        ("20 K", "temperature_difference"),
        ("5 kg", "force"),
        ("50 %", "ratio"),
        ("60 rpm", "angular_speed"),
        ("4", "count"),
    ],
)
def test_a_bare_value_is_read_as_ratings_are(text: str, quantity: str) -> None:
    assert evaluate(text, {}, quantity) == parse(text, quantity)


# ------------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("text", "quantity", "problem", "remedy"),
    [
        ("", "mass", "the expression breaks off", "a value is missing"),
        ("   ", "mass", "the expression breaks off", "a value is missing"),
        ("payload +", "mass", "the expression breaks off", "a value is missing"),
        ("* payload", "mass", "a value is missing before '*'", "names of demands"),
        ("payload * / 2", "mass", "a value is missing before '/'", "names of demands"),
        ("()", "mass", "a value is missing before ')'", "names of demands"),
        ("(payload", "mass", "a closing parenthesis is missing", "as many"),
        ("payload)", "mass", "')' is not expected there", "one `)` too many"),
        ("payload 2", "mass", "'2' is not expected there", "an operator"),
        ("payload payload", "mass", "'payload' is not expected there", "an operator"),
        ("payloed", "mass", "unknown name 'payloed'", "did you mean 'payload'?"),
        ("payload + payloed", "mass", "unknown name 'payloed'", "did you mean 'payload'?"),
        ("10 mm/payloed", "mass", "unknown name 'payloed'", "did you mean 'payload'?"),
        ("sqr(4)", "ratio", "unknown name 'sqr'", "did you mean 'sqrt'?"),
        ("payload ^ 2", "mass", "powers are not known", "a * a"),
        ("payload ** 2", "mass", "powers are not known", "a * a"),
        ("payload // 2", "mass", "a value is missing before '/'", "names of demands"),
        ("payload; 2", "mass", "cannot read ';", "names of demands"),
        ("payload.real", "mass", "cannot read '.real'", "names of demands"),
        ("__import__('os')", "ratio", "cannot read \"'os", "names of demands"),
        ("payload if share", "mass", "'if' is not expected there", "an operator"),
        ("[payload]", "mass", "cannot read '[payload]'", "names of demands"),
        ("travel", "mass", "comes out as a value of length", "`1.5 kg`"),
        ("payload * payload", "mass", "comes out in kg^2", "`1.5 kg`"),
        ("payload * 9.81", "force", "comes out as a value of mass", "`5 N`"),
        ("payload / payload", "mass", "comes out as a plain number", "`1.5 kg`"),
        (
            "payload + travel",
            "mass",
            "one comes out as a value of mass, the other as a value of length",
            "add up",
        ),
        ("payload + 2", "mass", "one comes out as a value of mass, the other as a plain number", "add up"),
        ("max(payload, travel)", "mass", "one comes out as a value of mass", "add up"),
        ("0.5", "angle", "no unit", "1.8 deg"),
        ("0.5 * 2", "angle", "comes out as a plain number", "1.8 deg"),
        ("incline", "ratio", "comes out as a value of angle", "0.85"),
        ("2 Hz", "angular_speed", "'Hz' is not a unit of angular speed", "rev/s"),
        ("2 * 2 Hz", "angular_speed", "comes out as a value of frequency", "450 rpm"),
        ("2 * 60 rpm", "frequency", "comes out as a value of angular speed", "50 Hz"),
        ("1 Hz + 60 rpm", "frequency", "one comes out as a value of frequency", "add up"),
        ("2 * 1 J", "torque", "comes out as a value of energy", "0.4 N m"),
        ("5 kg cm * 2", "mass", "comes out as a value of torque", "1.5 kg"),
        ("5 kg*cm", "torque", "unknown name 'cm'", "known: "),
        ("ambient * 2", "temperature", "a temperature can only be raised or lowered", "ambient + 5 K"),
        ("-ambient", "temperature", "a temperature can only be raised or lowered", "ambient + 5 K"),
        ("ambient + 5 degC", "temperature", "a temperature can only be raised or lowered", "ambient + 5 K"),
        ("5 K - ambient", "temperature", "a temperature can only be raised or lowered", "ambient + 5 K"),
        ("3 / 2", "count", "comes out as 1.5", "a whole number"),
        ("1.5", "count", "not a whole number", "such as `4`"),
        ("sin(0.5)", "ratio", "sin and cos take an angle", "30 deg"),
        ("sin(payload)", "ratio", "sin and cos take an angle", "30 deg"),
        ("sqrt(travel)", "length", "no square root of that", "squared unit"),
        ("sqrt(-1)", "ratio", "no square root of that", "from zero up"),
        ("min(1)", "ratio", "min takes two values", "min(a, b)"),
        ("min(1,5)", "ratio", "min takes two values", "min(a, b)"),
        ("min(1, 2, 3)", "ratio", "min takes two values", "min(a, b)"),
        ("sqrt(1, 2)", "ratio", "sqrt takes one value", "sqrt(a)"),
        ("1 / 0", "ratio", "division by zero", "above zero"),
        ("payload / (travel - travel)", "mass", "division by zero", "above zero"),
        ("1e400", "ratio", "the number is too large", ""),
        ("1e300 * 1e300", "ratio", "the number is too large", ""),
        ("min(1e400, 1)", "ratio", "the number is too large", ""),
        ("1e300 * 1e300 - 1e300 * 1e300", "ratio", "the number is too large", ""),
        ("5 kgg", "mass", "unknown unit 'kgg'", "did you mean `kg`?"),
        ("5 kgg + payload", "mass", "unknown unit 'kgg'", "a unit such as"),
        ("5 A", "mass", "'A' is a unit of current", "1.5 kg"),
        ("1..2 kg", "mass", "", ""),
        ("٣ kg", "mass", "cannot read '٣ kg'", "names of demands"),
    ],
)
def test_refusal(text: str, quantity: str, problem: str, remedy: str) -> None:
    with pytest.raises(FitterError) as caught:
        evaluate(text, NAMES, quantity)
    error = caught.value
    assert problem in error.problem
    assert remedy in (error.expected or "")
    assert error.got == text.strip()
    assert error.expected


def test_length_and_depth_are_limited() -> None:
    longest = "1" + "+1" * (LONGEST // 2 - 1)
    assert evaluate(longest, {}, "ratio") == LONGEST // 2
    with pytest.raises(FitterError, match="too long"):
        evaluate(longest + "+11", {}, "ratio")
    assert evaluate("(" * 30 + "1" + ")" * 30, {}, "ratio") == 1.0
    for deep in ("(" * 90 + "1" + ")" * 90, "-" * 150 + "1", "2*(" * 50 + "1" + ")" * 40):
        with pytest.raises(FitterError, match="nested too deeply"):
            evaluate(deep, {}, "ratio")


def test_depth_is_limited_well_within_the_stack() -> None:
    before = sys.getrecursionlimit()
    sys.setrecursionlimit(400)
    try:
        with pytest.raises(FitterError, match="nested too deeply"):
            evaluate("-" * (LONGEST - 1) + "1", {}, "ratio")
    finally:
        sys.setrecursionlimit(before)


def test_names_in_an_expression() -> None:
    assert names_in("max(payload, 2 kg) + travel_x") == {"max", "payload", "kg", "travel_x"}


# ------------------------------------------------------------------ against Python's arithmetic

NUMBERS = st.floats(0.001, 1000).map(lambda x: float(f"{x:.6g}"))
ATOMS = NUMBERS.map(lambda x: (f"{x:.6f}".rstrip("0").rstrip("."), float(f"{x:.6f}"))) | st.sampled_from(
    [(name, NAMES[name].number) for name in ("share", "pens")]
)


def _joined(parts: tuple[tuple[str, float], str, tuple[str, float]]) -> tuple[str, float]:
    (a, x), sign, (b, y) = parts
    value = {"+": x + y, "-": x - y, "*": x * y, "/": x / y if y else math.inf}[sign]
    return f"({a}) {sign} ({b})", value


def _called(parts: tuple[str, tuple[str, float], tuple[str, float]]) -> tuple[str, float]:
    name, (a, x), (b, y) = parts
    return f"{name}({a}, {b})", (min if name == "min" else max)(x, y)


TREES = st.recursive(
    ATOMS,
    lambda inner: (
        st.tuples(inner, st.sampled_from("+-*/"), inner).map(_joined)
        | st.tuples(st.sampled_from(["min", "max"]), inner, inner).map(_called)
        | inner.map(lambda e: (f"-({e[0]})", -e[1]))
    ),
    max_leaves=8,
).filter(lambda e: len(e[0]) <= LONGEST and math.isfinite(e[1]))


@settings(max_examples=300, deadline=None)
@given(TREES)
def test_agrees_with_values_worked_out_beside_it(tree: tuple[str, float]) -> None:
    text, value = tree
    assert evaluate(text, NAMES, "ratio") == pytest.approx(value, rel=1e-12, abs=1e-12)


FLAT = st.lists(st.tuples(st.sampled_from(["+", "-", "*", "/"]), st.integers(1, 9)), min_size=1, max_size=12)


@settings(max_examples=300, deadline=None)
@given(st.integers(1, 9), FLAT)
def test_precedence_is_that_of_python(first: int, rest: list[tuple[str, int]]) -> None:
    """``eval`` runs here only on digits and operators that the test itself wrote."""
    text = str(first) + "".join(f" {sign} {number}" for sign, number in rest)
    assert evaluate(text, {}, "ratio") == pytest.approx(eval(text), rel=1e-12, abs=1e-12)


@settings(max_examples=200, deadline=None)
@given(NUMBERS, NUMBERS, st.sampled_from([q for q in QUANTITIES if q not in ("count", "temperature")]))
def test_quantities_add_and_scale(a: float, b: float, quantity: str) -> None:
    names = {"aa": Value.of(a, quantity), "bb": Value.of(b, quantity)}
    assert evaluate("aa + bb", names, quantity) == a + b
    assert evaluate("aa * 3", names, quantity) == a * 3
    assert evaluate("aa / bb", names, "ratio") == a / b
    assert evaluate("aa * bb / bb", names, quantity) == pytest.approx(a) if quantity == "ratio" else True


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=60), st.sampled_from(["mass", "ratio", "count", "temperature", "torque"]))
def test_any_text_gives_a_finite_number_or_a_clear_error(text: str, quantity: str) -> None:
    _finite_or_refused(text, quantity)


PIECES = [
    *"()+-*/, %mse^",
    "payload",
    "travel",
    "ambient",
    "2",
    "0.4 kg",
    "3 mm",
    "5 deg",
    "1e9",
    ".5",
    "35 degC",
]
PIECES += ["min(", "max(", "sqrt(", "sin("]


@settings(max_examples=400, deadline=None)
@given(
    st.lists(st.sampled_from(PIECES), max_size=12).map("".join),
    st.sampled_from(["mass", "ratio", "temperature"]),
)
def test_any_pieces_give_a_finite_number_or_a_clear_error(text: str, quantity: str) -> None:
    _finite_or_refused(text, quantity)


def _finite_or_refused(text: str, quantity: str) -> None:
    try:
        value = evaluate(text, NAMES, quantity)
    except FitterError as error:
        message = str(error)
    else:
        assert math.isfinite(value)
        return
    assert message
    assert "\n" not in message
