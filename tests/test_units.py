"""Units: every trap known beforehand by name, factors against outside values, and round trips."""

from __future__ import annotations

import contextlib
import math
import re
import shutil
import subprocess
import sys
from functools import cache

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitter.errors import FitterError
from fitter.unit_tables import FALLING, OFFSETS
from fitter.units import QUANTITIES, falls, parse, quantity_of, show, split, to_si, unit_of

# ------------------------------------------------------------------ traps, one test each


@pytest.mark.parametrize(
    "text", ["0.4 N m", "0.4 Nm", "0.4Nm", "0.4 N·m", "0.4 N*m", "0.4 N.m", "0.4 N-m", "0,4 Nm"]
)
def test_newton_metre_is_not_the_textile_number_metre(text: str) -> None:
    assert parse(text, "torque") == 0.4


@pytest.mark.parametrize(
    "text", ["44 oz-in", "44 oz in", "44 ozf·in", "44 ozin", "44 oz*in", "44 oz-in.", "44 in-oz"]
)
def test_ounce_inch_is_not_a_subtraction(text: str) -> None:
    # 1 ozf in = 7.061552 E-03 N m: NIST SP 811 (2008), appendix B.8
    assert parse(text, "torque") == pytest.approx(44 * 7.061552e-3, rel=1e-6)


@pytest.mark.parametrize(
    "text",
    ["4.4 kg-cm", "4.4 kg cm", "4.4 kg*cm", "4.4 kgcm", "4.4 kgf·cm", "4.4 kgf cm", "4.4 KG-CM", "4.4 kp cm"],
)
def test_kilogram_centimetre_is_a_torque_not_mass_times_length(text: str) -> None:
    # 1 kgf m = 9.80665 N m exactly: NIST SP 811 (2008), appendix B.8
    assert parse(text, "torque") == pytest.approx(4.4 * 0.0980665, rel=1e-12)


def test_torque_and_energy_are_told_apart_by_name() -> None:
    with pytest.raises(FitterError, match="'J' is a unit of energy"):
        parse("0.4 J", "torque")
    with pytest.raises(FitterError, match="'N m' is a unit of torque"):
        parse("0.4 N m", "energy")
    assert parse("0.4 J", "energy") == 0.4


def test_rpm_is_not_hertz() -> None:
    assert parse("100 rpm", "angular_speed") == pytest.approx(100 * 2 * math.pi / 60, rel=1e-15)
    with pytest.raises(FitterError, match=r"rev/s") as caught:
        parse("100 Hz", "angular_speed")
    assert caught.value.got == "100 Hz"
    with pytest.raises(FitterError, match="angular speed"):
        parse("100 rpm", "frequency")


@pytest.mark.parametrize("text", ["1.5", "1.5 %"])
def test_angle_and_ratio_are_told_apart_by_name(text: str) -> None:
    assert parse(text, "ratio") in (1.5, 0.015)
    with pytest.raises(FitterError, match="unit"):
        parse(text, "angle")
    with pytest.raises(FitterError, match="unit of angle"):
        parse("1.8 deg", "ratio")


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("5 )(", "mass"), ("5 kg**", "mass"), ("5 '", "mass"), ("5 \\", "mass"), ("5 kg+", "mass"),
        ("5 0x", "mass"),
        ("5 kg.__class__", "mass"), ("5 lambda: 1", "mass"), ("5 m m m m m m", "length"), ("5 \x00", "mass"),
        ("5 degC", "length"), ("5 dB", "length"), ("5 delta_degC", "temperature"), ("5 m/", "speed"),
        ("5 /m", "speed"),
        ("5 c", "speed"), ("5 unknownunit", "speed"), ("5 kg 1", "mass"), ("5 if", "time"), ("5 None",
        "length"),
    ],
)  # fmt: skip
def test_whatever_pint_raises_becomes_one_clear_error(text: str, quantity: str) -> None:
    with pytest.raises(FitterError) as caught:
        parse(text, quantity)
    assert caught.value.got == text
    assert caught.value.expected


def test_milli_is_never_taken_for_mega() -> None:
    with pytest.raises(FitterError, match="`mA`"):
        parse("500 MA", "current")
    assert parse("5 mohm", "resistance") == 0.005
    assert parse("5 MOHM", "resistance") == parse("5 Mohm", "resistance") == 5e6


def test_importing_and_common_spellings_do_not_build_the_registry() -> None:
    program = (
        "import sys; from fitter.units import parse, show; import fitter.ratings;"
        "[parse(t, q) for t, q in (('44 oz-in', 'torque'), ('9.525mm', 'length'), ('3 µF', 'capacitance'))];"
        "assert 'pint' not in sys.modules; parse('3 furlong', 'length'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


# ------------------------------------------------------------------ spellings

SPELLINGS = [
    # quantity, SI value, texts that all mean it
    ("torque", 0.045, ["45 mNm", "45 mN m", "45 mN·m", "4.5 N cm", "4.5Ncm", "45 N mm",
    "0.045 newton metres"]),
    ("torque", 1.3558179483, ["1 lbf ft", "1 lb-ft", "1 ft-lb", "12 lb in", "12 in-lbs", "192 oz in"]),
    ("torque", 9.80665e-5, ["1 g cm", "1 gf·cm", "1 g-cm", "1 p cm"]),
    ("angular_speed", 47.1238898, ["450 rpm", "450 RPM", "450 r/min", "450 rev/min", "450 1/min", "450 U/min",
                                   "7.5 rev/s", "7.5 rps", "2700 deg/s", "2700 °/s", "47.1238898 rad/s",
                                   "0.45 krpm"]),
    ("angular_speed", 7.27220522e-5, ["15 deg/h", "15 °/h", "0.25 deg/min", "15 degrees per hour"]),
    ("length", 0.009525, ["3/8 in", '3/8"', "3/8 inch", "9.525mm", "0,9525 cm", "375 mil", "0.375 in.",
    "3/8″"]),
    ("length", 0.0381, ["1 1/2 in", "1-1/2 in", "1.5 inches", '1 1/2"', "38.1 mm", "38100 µm", "38100 um",
    "38100 μm"]),
    ("length", 0.3048, ["1 ft", "12 in", "1 foot"]),
    ("length", 0.0254 / 150, ["150 LPI", "150 lpi", "150 lines/in", "150 lines per inch"]),
    ("length", 1e-3 / 7, ["7 lines/mm", "70 lines/cm"]),
    ("resistance", 4.7, ["4.7 ohm", "4.7 Ω", "4.7 \u2126", "4.7Ω", "4.7 R", "4R7", "4.7 ohms", "4.7 Ohm",
    "4700 mohm"]),
    ("resistance", 4700.0, ["4k7", "4.7 kohm", "4.7k", "4.7 kΩ", "4K7", "4k7 Ω", "4700 R"]),
    ("resistance", 0.47, ["R47", "0R47", "470 mohm"]),
    ("inductance", 2.2e-3, ["2.2 mH", "2,2mH", "2200 µH", "2200 uH", "0.0022 H"]),
    ("capacitance", 4.7e-3, ["4700 µF", "4700 uF", "4700uF", "4.7e9 pF", "4700 mfd", "4700 MFD"]),
    ("angle", math.radians(1.8), ["1.8 deg", "1.8°", "1.8 °", "1.8 degrees", "1.8 º"]),
    ("voltage", 24.0, ["24 V", "24V", "24 VDC", "24 V DC", "24 Vdc", "24 VAC", "24 V AC", "24 Vac",
    "24 V d.c.", "24V⎓",
                       "24 V~", "24000 mV", "24 volts"]),
    ("current", 1.4, ["1.4 A", "1,4 A", "1400 mA", "1.4 amps", "1.4 A DC", "1.4e0 A", "+1.4 A"]),
    ("apparent_power", 80.0, ["80 VA", "80 V A", "0.08 kVA"]),
    ("power", 190.0, ["190 W", "0.19 kW", "190 watts"]),
    ("charge", 18720.0, ["5.2 Ah", "5.2 A h", "5200 mAh", "5200 mA h", "18720 C"]),
    ("ratio", 0.85, ["0.85", "85 %", "85%", "0,85", "85 percent"]),
    ("ratio", 50.0, ["50", "50:1", "50 : 1"]),
    ("count", 4.0, ["4", "4.0"]),
    ("temperature", 308.15, ["35 °C", "35 C", "35°C", "35 degC", "308.15 K", "95 °F", "35 ℃",
    "35 degrees celsius"]),
    ("temperature_difference", 20.0, ["20 K", "20 °C", "36 °F"]),
    ("thermal_resistance", 2.5, ["2.5 K/W", "2.5 °C/W", "2.5 C/W", "2.5 k/w"]),
    ("mass", 0.45359237, ["1 lb", "16 oz", "453.59237 g", "0.45359237 kg", "1 lbs", "0.45359237 KG"]),
    ("force", 9.80665, ["9.80665 N", "1 kgf", "1 kg", "1 kp", "1000 gf"]),
    ("acceleration", 0.5, ["0.5 m/s2", "0.5 m/s²", "0.5 m/s^2", "0.5 m/s**2", "500 mm/s2", "0.5 m/s/s"]),
    ("speed", 0.08, ["80 mm/s", "8 cm/s", "4.8 m/min", "0.08 m/s", "80 mm per s"]),
    ("angular_acceleration", 10.0, ["10 rad/s2", "10 rad/s²", "10 rad/s^2"]),
    ("inertia", 5.4e-6, ["54 g cm2", "54 g·cm²", "54 gcm2", "0.054 kg cm2", "5.4e-6 kg m2"]),
    ("torque_constant", 0.0954929659, ["10 V/krpm", "10 V/1000 rpm", "10 mV/rpm", "0.0954929659 V s/rad",
                                       "0.0954929659 V/(rad/s)", "95.4929659 mN m/A", "0.0954929659 Nm/A"]),
    ("speed_constant", 96.3421747, ["920 rpm/V", "920 KV", "96.3421747 rad/(s V)", "96.3421747 rad/s/V"]),
    ("flow", 60 / 3600, ["60 m3/h", "60 m³/h", "1000 l/min", "16.6666666667 l/s", "35.3146667 cfm"]),
    ("frequency", 5e4, ["50 kHz", "50000 Hz", "0.05 MHz"]),
    ("time", 90.0, ["90 s", "1.5 min", "90000 ms", "0.025 h", "90 seconds"]),
    ("stiffness", 2000.0, ["2 N/mm", "2000 N/m", "2 kN/m"]),
    ("density", 7850.0, ["7850 kg/m3", "7.85 g/cm3", "7.85 g/cc", "7.85 kg/dm³"]),
    ("energy", 3600.0, ["1 W h", "1 Wh", "3.6 kJ", "3600 W s"]),
    ("decibel", 65.0, ["65 dB", "65dB"]),
    ("volume", 6e-5, ["60 ml", "60 cm3", "60 cc", "0.06 l", "60000 ul", "60000 µl", "6e-5 m3"]),
    ("pressure", 150.0, ["150 Pa", "1.5 mbar", "0.15 kPa", "1.5 hPa", "0.0015 bar"]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("quantity", "value", "text"), [(q, v, text) for q, v, texts in SPELLINGS for text in texts]
)
def test_spellings(quantity: str, value: float, text: str) -> None:
    assert parse(text, quantity) == pytest.approx(value, rel=1e-8)


def test_every_quantity_has_a_spelling_test() -> None:
    assert {q for q, _, _ in SPELLINGS} == set(QUANTITIES)


@pytest.mark.parametrize(
    ("text", "quantity", "remedy"),
    [
        ("1.4", "current", "1.4 A"), ("12", "length", "12 mm"), ("0.4", "torque", "0.4 N m"),
        ("1,000 mm", "length", "`1.000` or `1000`"), ("9,525 mm", "length", "`9.525` or `9525`"),
        ("1 000 mm", "length", "thousands"), ("1,234.5 mm", "length", "thousands"), ("1'000 mm", "length",
        "thousands"),
        ("1.234.567 mm", "length", "thousands"), ("1:50", "ratio", "`50:1`"), ("4.5", "count", "`4`"),
        ("4 pieces", "count", "`4`"), ("5'", "length", "`ft`"), ("200 pps", "frequency", "`Hz`"),
        ("5 Nmm2", "torque", "N mm"), ("5 mmm", "length", "`mm`"), ("24 Volt DC V", "voltage", "V DC"),
        ("80 VA", "power", "30 W"), ("80 W", "apparent_power", "80 VA"), ("920 rpm/V", "torque_constant",
        "V/krpm"),
        ("22.5 AWG", "length", "4/0 to 50"), ("99 AWG", "length", "4/0 to 50"), ("0 lpi", "length", "lpi"),
        ("3/0 in", "length", "3/8"), ("-1 K", "temperature", "35 °C"), ("-300 °C", "temperature", "35 °C"),
        ("nan V", "voltage", "number first"), ("inf V", "voltage", "number first"), ("V", "voltage",
        "number first"),
        ("", "voltage", "number first"), ("1e31 V", "voltage", "24 V"), ("1e-31 V", "voltage", "24 V"),
        ("1e999 V", "voltage", "less than"), ("1" * 61 + " V", "voltage", "24 V"), ("65", "decibel", "65 dB"),
    ],
)  # fmt: skip
def test_errors_say_what_would_be_right(text: str, quantity: str, remedy: str) -> None:
    with pytest.raises(FitterError) as caught:
        parse(text, quantity)
    assert caught.value.got is not None
    assert remedy in str(caught.value)


# ------------------------------------------------------------------ outside values

# NIST SP 811 (2008), appendix B.8, to its printed digits; an exact factor is printed in bold there
NIST = [
    ("1 in", "length", 2.54e-2), ("1 ft", "length", 3.048e-1), ("1 mil", "length", 2.54e-5),
    ("1 lb", "mass", 4.5359237e-1), ("1 oz", "mass", 2.834952e-2), ("1 kgf", "force", 9.80665),
    ("1 lbf", "force", 4.448222), ("1 ozf", "force", 2.780139e-1), ("1 lbf ft", "torque", 1.355818),
    ("1 lbf in", "torque", 1.129848e-1), ("1 ozf in", "torque", 7.061552e-3), ("1 rpm",
    "angular_speed", 1.047198e-1),
    ("1 cfm", "flow", 4.719474e-4), ("1 W h", "energy", 3.6e3), ("1 A h", "charge", 3.6e3),
    ("1 mph", "speed", 4.4704e-1), ("1 in/s", "speed", 2.54e-2), ("1 hp", "power", 7.456999e2),
    ("1 lb in2", "inertia", 2.926397e-4), ("1 lbf/in", "stiffness", 1.751268e2), ("1 deg",
    "angle", 1.745329e-2),
]  # fmt: skip


@pytest.mark.parametrize(("text", "quantity", "value"), NIST)
def test_factors_of_nist_sp_811(text: str, quantity: str, value: float) -> None:
    assert parse(text, quantity) == pytest.approx(value, rel=5e-7)


# ASTM B258 nominal diameters in mm, as printed to four places
@pytest.mark.parametrize(
    ("text", "millimetres"),
    [("22 AWG", 0.6438), ("AWG 22", 0.6438), ("10 awg", 2.588), ("36 AWG", 0.1270), ("4/0 AWG", 11.684),
     ("AWG 1/0", 8.251), ("30AWG", 0.2546)],
)  # fmt: skip
def test_wire_sizes_of_astm_b258(text: str, millimetres: float) -> None:
    assert parse(text, "length") == pytest.approx(millimetres / 1000, rel=2e-4)


PINT_WORDS = {
    "kp": "kgf", "p": "gf", "oz": "ounce", "lb": "pound", "ozf": "force_ounce", "lbf": "force_pound",
    "mil": "thou", "MM": "mm", "mfd": "microfarad", "MFD": "microfarad", "l": "liter", "ml": "milliliter",
    "R": "ohm", "k": "kiloohm", "K": "kiloohm", "M": "megaohm", "r": "turn", "rev": "turn", "deg": "degree",
    "rps": "turn/s", "rph": "turn/h", "krpm": "(1000*rpm)", "lpm": "liter/min", "cfm": "foot**3/minute",
    "KV": "rpm/V", "Kv": "rpm/V", "PS": "metric_horsepower", "DC": "1", "AC": "1", "days": "day", "d": "day",
}  # fmt: skip
PINT_WHOLE = {
    "%": "0.01", "percent": "0.01", ":1": "1", "1/min": "rpm", "min-1": "rpm", "U/min": "rpm",
    "1/min/V": "rpm/V",
    "V/1000rpm": "V/(1000*rpm)", "V/1000 rpm": "V/(1000*rpm)", "V/(1000 rpm)": "V/(1000*rpm)",
    "V/rad/s": "V/(rad/s)", "mV/rad/s": "mV/(rad/s)",
}  # fmt: skip
PULLS = {"kg": "kgf", "g": "gf", "lb": "force_pound", "oz": "force_ounce"}
KELVINS = {
    "degK": "K",
    "degC": "K",
    "deg C": "K",
    "C": "K",
    "degF": "delta_degF",
    "deg F": "delta_degF",
    "F": "delta_degF",
}


@cache
def _pint() -> pint.UnitRegistry:
    return pint.UnitRegistry()


def _for_pint(text: str) -> str:
    """Products and powers with pint's operators."""
    return re.sub(r"([a-z])([234])\b", r"\1**\2", text).replace(" ", "*") or "1"


def _words_of_pint(spelling: str, quantity: str) -> str:
    """A spelling of the tables in pint's own unmistakable words."""
    words = dict(PINT_WORDS)
    if quantity in ("force", "torque", "stiffness", "torque_constant") or spelling.endswith(" s2"):
        words |= PULLS
    if quantity == "acceleration":
        words |= {"g": "g_0"}
    if "temperature" in quantity or quantity == "thermal_resistance":
        top, *under = spelling.split("/")
        return "/".join([KELVINS.get(top, top), *under])
    if spelling in PINT_WHOLE:
        return PINT_WHOLE[spelling]
    return _for_pint(re.sub(r"[A-Za-z]+", lambda m: words.get(m.group(), m.group()), spelling))


@pytest.mark.parametrize("quantity", [q for q in QUANTITIES if q not in ("decibel", "count")])
def test_every_factor_of_the_tables_against_pint(quantity: str) -> None:
    si = _pint().parse_units(_for_pint(unit_of(quantity).replace("1", "")))
    for spelling, factor in QUANTITIES[quantity].units.items():
        judged = _pint().Quantity(f"1.0*{_words_of_pint(spelling, quantity)}")
        assert judged.to(si).magnitude == pytest.approx(factor, rel=1e-9), spelling


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_every_spelling_of_the_tables_is_read_with_and_without_spaces(quantity: str) -> None:
    for spelling, factor in QUANTITIES[quantity].units.items():
        value = pytest.approx(factor + (OFFSETS[spelling] if quantity == "temperature" else 0.0), rel=1e-12)
        for text in (
            f"1 {spelling}",
            f"1.0 {spelling.replace(' ', '')}",
            f"1.0   {spelling.replace(' ', '·')} ",
        ):
            assert parse(text, quantity) == value, text


def test_temperature_offsets_against_pint() -> None:
    for spelling, offset in OFFSETS.items():
        kind = {"C": "degC", "F": "degF", "K": "kelvin"}[spelling[-1]]
        assert _pint().Quantity(0.0, kind).to("kelvin").magnitude == pytest.approx(offset, abs=1e-9)


GNU_WORDS = {
    "kg": "kgf", "g": "(gram force)", "gf": "(gram force)", "lb": "lbf", "oz": "(ounce force)",
    "ozf": "(ounce force)", "kp": "kgf", "p": "(gram force)", "rpm": "(revolution/minute)", "rad": "radian",
    "deg": "degree", "r": "revolution", "rev": "revolution", "h": "hour", "um": "micrometer", "MM": "mm",
}  # fmt: skip
GNU_OTHERS = {
    "length": ("in", "ft", "mil", "um", "nm"),
    "angular_speed": ("rpm", "rev/s", "deg/s", "deg/h", "rev/h"),
}
needs_gnu_units = pytest.mark.skipif(
    shutil.which("units") is None, reason="the program GNU units is not installed (Debian package: units)"
)


def _judged_by_gnu_units(pairs: list[tuple[str, str]]) -> list[float]:
    """Each text in its unit, by one run of GNU units."""
    lines = "".join(f"{text}\n{unit}\n" for text, unit in pairs)
    run = subprocess.run(
        ["units", "-t", "--digits", "14"], input=lines, capture_output=True, text=True, check=True
    )
    return [float(line) for line in run.stdout.split()]


@needs_gnu_units
@pytest.mark.parametrize("quantity", ["force", "torque", "stiffness", "length", "angular_speed"])
def test_factors_against_gnu_units(quantity: str) -> None:
    spellings = GNU_OTHERS.get(quantity, tuple(QUANTITIES[quantity].units))
    texts = [re.sub(r"[A-Za-z]+", lambda m: GNU_WORDS.get(m.group(), m.group()), s) for s in spellings]
    si = unit_of(quantity).replace("rad", "radian")
    for spelling, judged in zip(spellings, _judged_by_gnu_units([(t, si) for t in texts]), strict=True):
        assert parse(f"1 {spelling}", quantity) == pytest.approx(judged, rel=1e-9), spelling


@needs_gnu_units
def test_wire_gauge_against_gnu_units() -> None:
    gauges = (-3, 0, 10, 22, 40)
    judged = _judged_by_gnu_units([(f"wiregauge({gauge})", "m") for gauge in gauges])
    assert [FALLING["AWG"](gauge) for gauge in gauges] == pytest.approx(judged, rel=1e-9)


# ------------------------------------------------------------------ rare units, helpers


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [("1 yd", "length", 0.9144), ("1 slug", "mass", 14.59390), ("1 gal/min", "flow", 6.309020e-5),
     ("1 lb/in3", "density", 2.767990e4), ("1 stone", "mass", 6.350293)],
)  # fmt: skip
def test_rare_units_are_left_to_pint(text: str, quantity: str, value: float) -> None:
    # NIST SP 811 (2008), appendix B.8; the stone is 14 lb
    assert parse(text, quantity) == pytest.approx(value, rel=5e-7)


def test_split_and_to_si() -> None:
    assert split(" 44 oz-in ") == ("44", "oz-in")
    assert split('3/8"') == ("3/8", '"')
    assert split("−5 °C") == ("-5", "°C")
    assert to_si(44.0, "oz-in", "torque") == parse("44 oz-in", "torque")
    assert unit_of("angular_speed") == "rad/s"


def test_an_inch_and_its_millimetres_are_the_same_float() -> None:
    for text, same in (
        ("1/4 in", "6.35 mm"),
        ("3/8 in", "9.525 mm"),
        ("0.08 in", "2.032 mm"),
        ("5/16 in", "7.9375 mm"),
    ):
        assert parse(text, "length") == parse(same, "length")


def test_sizes_that_fall_as_the_number_rises() -> None:
    assert falls("AWG", "length")
    assert falls("lines per inch", "length")
    assert not falls("mm", "length")


@pytest.mark.parametrize(
    ("unit", "quantity"),
    [("kg", "mass"), ("N m", "torque"), ("Nm", "torque"), ("C", "temperature"), ("deg", "angle"), ("rpm",
     "angular_speed"),
     ("RPM", "angular_speed"), ("%", "ratio"), ("mm/s", "speed"), ("V", "voltage"), ("yd", "length"),
     ("K/W", "thermal_resistance")],
)  # fmt: skip
def test_a_unit_alone_names_its_quantity(unit: str, quantity: str) -> None:
    assert quantity_of(unit) == quantity


def test_a_unit_of_nothing() -> None:
    with pytest.raises(FitterError, match="unknown unit 'frob'"):
        quantity_of("frob")


# ------------------------------------------------------------------ show


@pytest.mark.parametrize(
    ("value", "quantity", "text"),
    [
        (0.32, "torque", "0.32 N m"), (0.045, "torque", "45 mN m"), (0.012, "length", "12 mm"),
        (0.009525, "length", "9.525 mm"),
        (0.0123456, "length", "12.3 mm"), (2.5, "length", "2500 mm"), (12.0, "length", "12 m"),
        (450 * math.pi / 30, "angular_speed", "450 rpm"),
        (1.2, "current", "1.2 A"), (0.05, "current", "50 mA"), (0.08, "speed", "80 mm/s"),
        (24.0, "voltage", "24 V"),
        (308.15, "temperature", "35 °C"), (253.15, "temperature", "-20 °C"), (2.2e-3, "inductance",
        "2.2 mH"), (0.85, "ratio", "0.85"),
        (4.0, "count", "4"), (30.0, "resistance", "30 ohm"), (4700.0, "resistance", "4.7 kohm"),
        (4.7e-3, "capacitance", "4700 µF"),
        (5.4e-6, "inertia", "54 g cm²"), (18720.0, "charge", "5.2 A h"), (60 / 3600, "flow", "60 m³/h"),
        (0.0999999, "torque", "0.1 N m"),
        (0.0, "length", "0 mm"), (0.0, "torque", "0 N m"), (-0.0, "voltage", "0 V"), (0.0, "current",
        "0 A"), (0.0, "time", "0 s"),
        (1e-9, "torque", "0.000001 mN m"), (1e12, "ratio", "1000000000000"), (math.inf, "torque",
        "unbounded"), (math.nan, "torque", "unknown"),
        (math.radians(15) / 3600, "angular_speed", "15 deg/h"), (math.radians(1.8), "angle", "1.8 deg"),
        (96.3421747, "speed_constant", "920 rpm/V"),
    ],
)  # fmt: skip
def test_show_writes_what_a_maker_reads(value: float, quantity: str, text: str) -> None:
    assert show(value, quantity) == text


@given(
    st.sampled_from([q for q in QUANTITIES if q not in ("temperature", "count")]),
    st.floats(min_value=1e-12, max_value=1e12),
    st.sampled_from([1, -1]),
)
def test_what_is_shown_reads_back_within_three_digits(quantity: str, size: float, sign: int) -> None:
    text = show(sign * size, quantity)
    assert "e" not in text.replace("deg", "")
    if len(text) <= 60:
        assert parse(text, quantity) == pytest.approx(sign * size, rel=5.1e-3)


@given(st.floats(min_value=0, max_value=2000))
def test_shown_temperatures_read_back(kelvin: float) -> None:
    assert parse(show(kelvin, "temperature"), "temperature") == pytest.approx(
        kelvin, abs=5.1e-3 * abs(kelvin - 273.15) + 1e-9
    )


# ------------------------------------------------------------------ fuzz

_PIECES = [
    "1",
    "1.5",
    "3/8",
    "-",
    "+",
    ".",
    ",",
    " ",
    "e5",
    "N m",
    "kg",
    "mm",
    "AWG",
    "lpi",
    "°C",
    "/",
    "*",
    "**",
    "(",
    "%",
    "µ",
    "V",
    "4k7",
]


@given(
    st.one_of(st.text(max_size=70), st.lists(st.sampled_from(_PIECES), max_size=8).map("".join)),
    st.sampled_from([*QUANTITIES]),
)
def test_any_text_is_a_finite_number_or_a_clear_error(text: str, quantity: str) -> None:
    with contextlib.suppress(FitterError):
        assert math.isfinite(parse(text, quantity))
