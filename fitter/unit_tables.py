"""Spellings of units with their SI factors, quantity by quantity.

Factors follow from exact definitions (NIST SP 811, 2008, appendix B); a test checks each of them
against pint. A product is written with a space; readers also take it without.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

GRAVITY = 9.80665  # standard acceleration of free fall, exact by definition
POUND = 0.45359237  # kg, exact by definition
INCH = 0.0254  # m, exact by definition
FOOT = 12 * INCH
RPM = 2 * math.pi / 60
DEGREE = math.pi / 180
_PREFIXES = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "c": 1e-2, "_": 1.0, "k": 1e3, "M": 1e6}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing that can be measured.

    ``unit`` is the SI unit as JSON names it; ``shown`` are the units for people in order of size,
    ``least`` the smallest number worth writing in each (zero goes to a unit worth writing from a
    tenth or less); ``units`` maps spellings to SI factors.
    ``rare`` says that no other quantity has this dimension, so that pint may read what is left.
    """

    name: str
    unit: str
    shown: tuple[str, ...]
    example: str
    units: Mapping[str, float] = field(repr=False)
    least: tuple[float, ...] = ()
    rare: bool = False

    @property
    def words(self) -> str:
        """The name for people."""
        return self.name.replace("_", " ")


def _scales(unit: str, prefixes: str) -> dict[str, float]:
    """A unit with each of the prefixes; ``_`` stands for none."""
    return {p.strip("_") + unit: _PREFIXES[p] for p in prefixes}


def _products(left: Mapping[str, float], right: Mapping[str, float], sign: str = " ") -> dict[str, float]:
    return {a + sign + b: float(f"{x * y:.15g}") for a, x in left.items() for b, y in right.items()}


def _same(factor: float, *names: str) -> dict[str, float]:
    return dict.fromkeys(names, factor)


_MASS = {"ug": 1e-9, "mg": 1e-6, "g": 1e-3, "kg": 1.0, "lb": POUND, "oz": POUND / 16}
_LENGTH = {**_scales("m", "numc_k"), "MM": 1e-3, "in": INCH, "ft": FOOT, **_same(2.54e-5, "mil", "thou")}
_TIME = {**_scales("s", "um_"), "min": 60.0, "h": 3600.0, **_same(86400.0, "d", "day", "days")}
_WEIGHT = {"kg": GRAVITY, "g": GRAVITY / 1000, "lb": POUND * GRAVITY, "oz": POUND / 16 * GRAVITY}
_PULL = {f"{name}f": value for name, value in _WEIGHT.items()}
_FORCE = {**_scales("N", "um_k"), **_WEIGHT, **_PULL, "kp": GRAVITY, "p": GRAVITY / 1000}
_ARM = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": INCH, "ft": FOOT}
_TORQUE = {
    **_products(_FORCE, _ARM),
    **_products(_ARM, {n: _FORCE[n] for n in ("lb", "lbf", "oz", "ozf", "kg", "kgf")}),
}
_CURRENT = {**_scales("A", "num_k"), **_same(1.0, "A DC", "A AC"), **_same(1e-3, "mA DC", "mA AC")}
_VOLTAGE = {**_scales("V", "um_k"), **_same(1.0, "V DC", "V AC"), **_same(1e-3, "mV DC", "mV AC")}
_CAPACITANCE = {**_scales("F", "pnum_"), **_same(1e-6, "mfd", "MFD")}
_TEMPERATURE = {**_same(1.0, "K", "degK", "degC", "deg C", "C"), **_same(5 / 9, "degF", "deg F", "F")}
OFFSETS = {name: {"C": 273.15, "F": 459.67 * 5 / 9, "K": 0.0}[name[-1]] for name in _TEMPERATURE}
_RESISTANCE = {**_scales("ohm", "um_kM"), "R": 1.0, "k": 1e3, "K": 1e3, "M": 1e6}
_POWER = {**_scales("W", "um_kM"), "hp": 550 * POUND * GRAVITY * FOOT, "PS": 75 * GRAVITY}
_ENERGY = {**_scales("J", "um_kM"), "W s": 1.0, "mW h": 3.6, "W h": 3600.0, "kW h": 3.6e6}
_ANGLE = {
    "deg": DEGREE,
    "arcmin": DEGREE / 60,
    "arcsec": DEGREE / 3600,
    "rad": 1.0,
    "mrad": 1e-3,
    "rev": 2 * math.pi,
}
_ANGULAR_SPEED = {
    **_same(RPM, "rpm", "r/min", "rev/min", "1/min", "min-1", "U/min"),
    **_same(2 * math.pi, "rps", "r/s", "rev/s"),
    **_same(RPM / 60, "rph", "r/h", "rev/h"),
    "krpm": 1000 * RPM,
    "rad/s": 1.0,
    "deg/s": DEGREE,
    "deg/min": DEGREE / 60,
    "deg/h": DEGREE / 3600,
}
_PER_TIME = {"s": 1.0, "min": 1 / 60, "h": 1 / 3600}
_SPEED = {
    **_products(_scales("m", "umc_k"), _PER_TIME, "/"),
    **_products({"in": INCH, "ft": FOOT}, _PER_TIME, "/"),
    "mph": 5280 * FOOT / 3600,
}
_ACCELERATION = {
    **{f"{name}/{per}": _ARM[name] for name in _ARM for per in ("s2", "s/s")},
    "g": GRAVITY,
}
_INERTIA = {
    **_products(_MASS, {"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6, "in2": INCH**2, "ft2": FOOT**2}),
    **{f"{name} s2": _TORQUE[name] for name in ("oz in", "ozf in", "lb in", "lbf in", "kgf cm", "gf cm")},
}
_TORQUE_CONSTANT = {
    **{f"{name}/A": value for name, value in _TORQUE.items()},
    **_same(1.0, "V s/rad", "V/(rad/s)", "V/rad/s", "V s"),
    **_same(1e-3, "mV s/rad", "mV/(rad/s)", "mV/rad/s", "mV s"),
    **_same(1e-3 / RPM, "V/krpm", "V/1000rpm", "V/1000 rpm", "V/(1000 rpm)", "mV/rpm"),
    "V/rpm": 1 / RPM,
}
_SPEED_CONSTANT = {
    **_same(RPM, "rpm/V", "1/min/V", "KV", "Kv"),
    **_same(1.0, "rad/(s V)", "rad/(V s)", "rad/s/V", "(rad/s)/V", "rad/V/s"),
    "krpm/V": 1000 * RPM,
}
_FLOW = {
    **_products({"m3": 1.0, "l": 1e-3, "ml": 1e-6, "ft3": FOOT**3}, _PER_TIME, "/"),
    "lpm": 1e-3 / 60,
    "cfm": FOOT**3 / 60,
}
_VOLUME = {"m3": 1.0, "l": 1e-3, "ml": 1e-6, "ul": 1e-9, "cm3": 1e-6, "mm3": 1e-9}
_PRESSURE = {"Pa": 1.0, "hPa": 100.0, "kPa": 1e3, "mbar": 100.0, "bar": 1e5}
_CHARGE = {"A h": 3600.0, "mA h": 3.6, "C": 1.0, "A s": 1.0, "mA s": 1e-3}
_STIFFNESS = _products(_FORCE, {name: 1 / arm for name, arm in _ARM.items()}, "/")
_DENSITY = {"kg/m3": 1.0, **_same(1e3, "kg/dm3", "kg/l", "g/cm3", "g/ml")}
_RATIO = {"": 1.0, "%": 0.01, "percent": 0.01, ":1": 1.0}

# In this order a unit alone is taken for a quantity, so `kg` is a mass before it is a force.
_ALL = (
    Quantity("mass", "kg", ("mg", "g", "kg"), "1.5 kg", _MASS, (0, 0.1, 1), rare=True),
    Quantity("length", "m", ("µm", "mm", "m"), "12 mm", _LENGTH, (0, 0.01, 10), rare=True),
    Quantity("time", "s", ("µs", "ms", "s", "min", "h"), "2 s", _TIME, (0, 1, 0.1, 3, 3), rare=True),
    Quantity("force", "N", ("mN", "N", "kN"), "5 N", _FORCE, (0, 0.1, 1), rare=True),
    Quantity("torque", "N m", ("mN m", "N m"), "0.4 N m", _TORQUE, (0, 0.1)),
    Quantity("current", "A", ("mA", "A"), "1.4 A", _CURRENT, (0, 0.1), rare=True),
    Quantity("voltage", "V", ("mV", "V", "kV"), "24 V", _VOLTAGE, (0, 0.1, 1), rare=True),
    Quantity(
        "capacitance", "F", ("pF", "nF", "µF", "F"), "4700 µF", _CAPACITANCE, (0, 1, 0.1, 0.1), rare=True
    ),
    Quantity("temperature", "K", ("°C",), "35 °C", _TEMPERATURE),
    Quantity("temperature_difference", "K", ("K",), "20 K", _TEMPERATURE),
    Quantity("resistance", "ohm", ("mohm", "ohm", "kohm"), "2.8 ohm", _RESISTANCE, (0, 0.1, 1), rare=True),
    Quantity("inductance", "H", ("µH", "mH", "H"), "2.2 mH", _scales("H", "num_"), (0, 0.1, 1), rare=True),
    Quantity("power", "W", ("mW", "W", "kW"), "30 W", _POWER, (0, 0.1, 1)),
    Quantity("apparent_power", "V A", ("VA", "kVA"), "80 VA", {"V A": 1.0, "kV A": 1e3}, (0, 1)),
    Quantity("energy", "J", ("mJ", "J", "kJ"), "5 J", _ENERGY, (0, 0.1, 1)),
    Quantity("angle", "rad", ("deg",), "1.8 deg", _ANGLE),
    Quantity("angular_speed", "rad/s", ("deg/h", "deg/s", "rpm"), "450 rpm", _ANGULAR_SPEED, (0, 0.1, 0.1)),
    Quantity(
        "angular_acceleration", "rad/s2", ("rad/s²",), "10 rad/s2", _same(1.0, "rad/s2", "rad/s^2", "rad/s²")
    ),
    Quantity("speed", "m/s", ("mm/s", "m/s"), "80 mm/s", _SPEED, (0, 1), rare=True),
    Quantity("acceleration", "m/s2", ("mm/s²", "m/s²"), "0.5 m/s2", _ACCELERATION, (0, 0.1), rare=True),
    Quantity("inertia", "kg m2", ("g cm²", "kg cm²", "kg m²"), "54 g cm2", _INERTIA, (0, 1, 0.1), rare=True),
    Quantity("thermal_resistance", "K/W", ("K/W",), "2.5 K/W", _same(1.0, "K/W", "degC/W", "deg C/W", "C/W")),
    Quantity("torque_constant", "N m/A", ("mN m/A", "N m/A"), "0.05 N m/A", _TORQUE_CONSTANT, (0, 0.1)),
    Quantity("speed_constant", "rad/(s V)", ("rpm/V",), "920 rpm/V", _SPEED_CONSTANT),
    Quantity("flow", "m3/s", ("m³/h",), "60 m3/h", _FLOW, rare=True),
    Quantity("volume", "m3", ("µl", "ml", "l"), "60 ml", _VOLUME, (0, 0.1, 1), rare=True),
    Quantity("pressure", "Pa", ("Pa", "kPa"), "50 Pa", _PRESSURE, (0, 1)),
    Quantity("charge", "C", ("mA h", "A h"), "5.2 A h", _CHARGE, (0, 1), rare=True),
    Quantity("frequency", "Hz", ("Hz", "kHz", "MHz"), "50 Hz", _scales("Hz", "_kM"), (0, 1, 1)),
    Quantity("stiffness", "N/m", ("N/m", "N/mm"), "2 N/mm", _STIFFNESS, (0, 1), rare=True),
    Quantity("density", "kg/m3", ("kg/m³",), "7850 kg/m3", _DENSITY, rare=True),
    Quantity("ratio", "1", ("",), "0.85", _RATIO),
    Quantity("count", "1", ("",), "4", {"": 1.0}),
    Quantity("decibel", "dB", ("dB",), "65 dB", {"dB": 1.0}),
)
QUANTITIES: dict[str, Quantity] = {q.name: q for q in _ALL}

# units of which a greater number names a smaller size: metres, from the number written
FALLING: dict[str, Callable[[float], float]] = {
    "AWG": lambda n: 0.127e-3 * 92 ** ((36 - n) / 39),  # ASTM B258
    "lpi": lambda n: INCH / n,
    "lines/in": lambda n: INCH / n,
    "lines/mm": lambda n: 1e-3 / n,
    "lines/cm": lambda n: 1e-2 / n,
}
# what people mean by a unit that is not one of the quantity: (quantity, spelling) -> remedy
REMEDIES = {
    ("angular_speed", "Hz"): "Hz may count turns or radians: write `rev/s`, `rpm` or `rad/s`",
    ("angular_speed", "1/s"): "1/s may count turns or radians: write `rev/s`, `rpm` or `rad/s`",
    ("frequency", "rpm"): "turns are an angular speed; a frequency is written in `Hz`",
    ("frequency", "pps"): "write pulses per second as `Hz`",
    ("torque_constant", "rpm/V"): "that is a speed constant; its inverse is written in `V/krpm` or `N m/A`",
    ("length", "'"): "write feet as `ft`",
}
_WORDS = {
    "in": "inch inches",
    "ft": "foot feet",
    "m": "metre metres meter meters",
    "um": "micron microns",
    "mil": "mils",
    "lines": "line",
    "lpi": "lpi",
    "AWG": "awg",
    "cm3": "cc",
    "lb": "lbs",
    "g": "gram grams",
    "N": "newton newtons",
    "s": "second seconds sec secs",
    "min": "min minute minutes mins",
    "h": "hour hours hr hrs",
    "A": "amp amps ampere amperes",
    "V": "volt volts",
    "V DC": "vdc",
    "V AC": "vac",
    "ohm": "ohms",
    "W": "watt watts",
    "deg": "degree degrees",
    "C": "celsius",
    "F": "fahrenheit",
    "K": "kelvin",
    "rev": "revs turn turns",
}
WORDS = {word: unit for unit, words in _WORDS.items() for word in words.split()}
MARKS = str.maketrans(
    {
        "º": "°",
        "−": "-",
        "⎓": " DC",
        **dict.fromkeys("~∼", " AC"),
        **dict.fromkeys("″”“", '"'),
        **dict.fromkeys("·⋅∙•×", " "),
    }
)
