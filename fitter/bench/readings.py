"""Ratings worked out from raw readings, each reading widened by what it was taken with.

A :class:`Method` names its procedure, the readings it takes with their quantities, and computes one
rating from intervals. A reading that has the name of a rating of the kind (``resistance``,
``gear_ratio``) means that rating: where it is known of a lot it need not be read again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import cache

from fitter.advice.procedures import procedure_for, procedures
from fitter.bench import formulas
from fitter.bench.formulas import Readings, winding_temperature
from fitter.intervals import Interval
from fitter.kinds import kind_key
from fitter.records import Record

__all__ = ["Method", "procedure_for", "reading_interval", "readings_for", "winding_temperature"]


class Method(Record):
    """One way to get a rating from readings.

    ``inputs`` maps the name of each reading to its quantity; ``compute`` takes them all as intervals in SI
    and gives the rating as an interval in SI. Where the readings do not allow a result it raises a
    :class:`fitter.errors.FitterError`.
    """

    procedure: str
    rating: str
    inputs: Mapping[str, str]
    compute: Callable[[Readings], Interval]
    formula: str


# ---------------------------------------------------------------- the table

_TORQUE = "T = 9.81 x kg x arm"
_MOMENT = "T = N x arm"
_WARM = "I = I_test x sqrt(60..70 K / rise), rise = (R2/R1 - 1)(234.5 + T1)"
_MOTORS = "dc motor, dc gearmotor"
_WITH_BOARD = "brushless motor with driver"
_COILS = "stepper motor, solenoid, electromagnet, clutch"
_Row = tuple[str, str, str, str, Callable[[Readings], Interval], str]
# procedure, kinds, rating, readings, computation, formula
_TABLE: tuple[_Row, ...] = (
    ("P1", _COILS, "resistance", "coil_reading lead_reading", formulas.less_leads, "R = reading - leads"),
    (
        "P1",
        "relay",
        "coil_resistance",
        "coil_reading lead_reading",
        formulas.less_leads,
        "R = reading - leads",
    ),
    (
        "P3",
        "stepper motor",
        "rated_current",
        "test_current cold_resistance warm_resistance room_temperature",
        formulas.after_warm_up,
        _WARM,
    ),
    (
        "P3",
        f"{_MOTORS}, brushless motor",
        "continuous_current",
        "test_current cold_resistance warm_resistance room_temperature",
        formulas.after_warm_up,
        _WARM,
    ),
    ("P4", "stepper motor", "holding_torque", "hold_mass arm", formulas.lever("hold_mass"), _TORQUE),
    ("P4", "stepper motor", "holding_torque", "hold_force arm", formulas.lever("hold_force"), _MOMENT),
    ("P4", "stepper motor", "detent_torque", "detent_mass arm", formulas.lever("detent_mass"), _TORQUE),
    ("P4", "stepper motor", "detent_torque", "detent_force arm", formulas.lever("detent_force"), _MOMENT),
    ("P4", "hinge", "friction_torque", "friction_mass arm", formulas.lever("friction_mass"), _TORQUE),
    ("P4", "hinge", "friction_torque", "friction_force arm", formulas.lever("friction_force"), _MOMENT),
    ("P5", "stepper motor", "step_angle", "steps_per_turn", formulas.step_angle, "360 deg / steps"),
    (
        "P7",
        f"{_MOTORS}, brushless motor",
        "resistance",
        "locked_voltage locked_current",
        formulas.quotient("locked_voltage", "locked_current"),
        "R = V / I",
    ),
    (
        "P8",
        "dc motor",
        "torque_constant",
        "run_voltage run_speed resistance no_load_current",
        formulas.free_run,
        "K = (V - I0 x R) / speed",
    ),
    (
        "P8",
        "dc gearmotor",
        "torque_constant",
        "run_voltage run_speed resistance no_load_current",
        formulas.free_run,
        "K = (V - I0 x R) / speed of the motor shaft",
    ),
    (
        "P8",
        _MOTORS,
        "torque_constant",
        "spin_voltage spin_speed",
        formulas.quotient("spin_voltage", "spin_speed"),
        "K = V / speed of the motor shaft",
    ),
    (
        "P8",
        "brushless motor",
        "speed_constant",
        "spin_voltage spin_speed",
        formulas.brushless_spun,
        "Kv = speed / (1.414 x AC volts between two wires)",
    ),
    ("P8", "dc gearmotor", "output_speed", "output_turns run_time", formulas.turning, "turns / time"),
    ("P10", "dc gearmotor", "output_torque", "output_mass arm", formulas.lever("output_mass"), _TORQUE),
    ("P10", "dc gearmotor", "output_torque", "output_force arm", formulas.lever("output_force"), _MOMENT),
    (
        "P10",
        "brushless motor with driver",
        "rated_torque",
        "output_mass arm",
        formulas.lever("output_mass"),
        _TORQUE,
    ),
    (
        "P10",
        "brushless motor with driver",
        "rated_torque",
        "output_force arm",
        formulas.lever("output_force"),
        _MOMENT,
    ),
    ("P10", "servo", "torque", "output_mass arm", formulas.lever("output_mass"), _TORQUE),
    ("P10", "servo", "torque", "output_force arm", formulas.lever("output_force"), _MOMENT),
    (
        "P10",
        "dc gearmotor",
        "gear_ratio",
        "motor_turns geared_turns",
        formulas.quotient("motor_turns", "geared_turns"),
        "turns of the motor / turns of the output",
    ),
    (
        "P10",
        "dc gearmotor",
        "gear_efficiency",
        "output_mass arm test_current no_load_current torque_constant gear_ratio",
        formulas.gear_efficiency,
        "9.81 x kg x arm / (ratio x K x (I - I0))",
    ),
    (
        "P11",
        "worm set",
        "ratio",
        "worm_turns wheel_turns",
        formulas.quotient("worm_turns", "wheel_turns"),
        "turns of the worm / turns of the wheel",
    ),
    ("P12", "solenoid, electromagnet", "duty", "coil_rise", formulas.duty, "45 K / rise, at most 1"),
    (
        "P13",
        "solenoid, electromagnet, magnet",
        "force",
        "pull_mass",
        formulas.pull("pull_mass"),
        "F = 9.81 x kg",
    ),
    (
        "P13",
        "spring",
        "stiffness",
        "pull_mass stretch",
        lambda r: r["pull_mass"] * formulas.GRAVITY / r["stretch"],
        "9.81 x kg / stretch",
    ),
    (
        "P13",
        "spring",
        "stiffness",
        "pull_force stretch",
        formulas.quotient("pull_force", "stretch"),
        "N / stretch",
    ),
    ("P14", "clutch", "torque", "slip_mass arm", formulas.lever("slip_mass"), _TORQUE),
    ("P14", "clutch", "torque", "slip_force arm", formulas.lever("slip_force"), _MOMENT),
    (
        "P15",
        _WITH_BOARD,
        "rated_speed",
        "tacho_frequency pulses_per_turn",
        lambda r: r["tacho_frequency"] * (2 * math.pi) / r["pulses_per_turn"],
        "frequency / pulses per turn",
    ),
    (
        "P17",
        "switch-mode supply, adapter",
        "current",
        "open_voltage loaded_voltage load_current",
        formulas.usable_current,
        "I_load, or I_load x 5 % / sag where it sags by more",
    ),
    (
        "P18",
        "transformer",
        "voltage",
        "test_primary test_secondary primary_voltage",
        formulas.winding_voltage,
        "V2 = V1 x reading / test volts",
    ),
    (
        "P19",
        "transformer",
        "regulation",
        "open_voltage loaded_voltage",
        formulas.regulation,
        "(open - loaded) / loaded",
    ),
    (
        "P21",
        "adapter",
        "regulated",
        "open_voltage loaded_voltage",
        formulas.regulated,
        "open / loaded above 1.2 is not",
    ),
    (
        "P22",
        "battery pack",
        "capacity",
        "discharge_current discharge_time",
        lambda r: r["discharge_current"] * r["discharge_time"],
        "current x time",
    ),
    (
        "P23",
        "heat sink",
        "thermal_resistance",
        "heater_voltage heater_current sink_temperature room_temperature",
        formulas.sink,
        "(T_sink - T_air) / (V x I)",
    ),
    (
        "P25",
        "lead screw",
        "lead",
        "ten_threads starts",
        lambda r: r["ten_threads"] * 0.1 * r["starts"],
        "length / 10 x starts",
    ),
    ("P26", "timing belt", "belt_pitch", "twenty_teeth", lambda r: r["twenty_teeth"] * 0.05, "length / 20"),
    (
        "P26",
        "timing belt",
        "length",
        "belt_teeth belt_pitch",
        lambda r: r["belt_teeth"] * r["belt_pitch"],
        "teeth x pitch",
    ),
    ("P27", "gear", "module", "outside_diameter teeth", formulas.module, "m = D / (z + 2)"),
    ("P27", "rack", "module", "ten_teeth", lambda r: r["ten_teeth"] * (0.1 / math.pi), "length / (10 pi)"),
    ("P29", "drawer slide", "drag", "drag_mass", formulas.pull("drag_mass"), "F = 9.81 x kg"),
    (
        "P30",
        "encoder strip",
        "line_pitch",
        "scale_length lines",
        formulas.quotient("scale_length", "lines"),
        "length / lines",
    ),
    (
        "P33",
        "stepper motor",
        "inductance",
        "coil_voltage coil_current frequency resistance",
        lambda r: formulas.inductance(r["coil_voltage"] / r["coil_current"], r),
        "L = sqrt((V/I)2 - R2) / (2 pi f)",
    ),
    (
        "P33",
        "stepper motor",
        "inductance",
        "coil_voltage resistor_voltage series_resistor frequency resistance",
        lambda r: formulas.inductance(r["coil_voltage"] * r["series_resistor"] / r["resistor_voltage"], r),
        "I = V_resistor / R_resistor; L = sqrt((V/I)2 - R2) / (2 pi f)",
    ),
)


@cache
def readings_for(kind: str) -> tuple[Method, ...]:
    """The ratings of a kind that can be worked out from readings, and how.

    >>> [m.rating for m in readings_for("lead screw")]
    ['lead']
    """
    key = kind_key(kind)
    return tuple(_method(row) for row in _TABLE if key in map(kind_key, row[1].split(", ")))


def _method(row: _Row) -> Method:
    code, _, rating, names, compute, formula = row
    known = procedures()[code].readings
    return Method(code, rating, {name: known[name].quantity for name in names.split()}, compute, formula)


def reading_interval(procedure: str, name: str, value: float) -> Interval:
    """A reading in SI, widened by the tolerance of what it is taken with.

    Args:
        procedure: Code, such as ``P4``.
        name: Of the reading.
        value: What the instrument showed, SI.

    >>> reading_interval("P4", "arm", 0.100)
    Interval(lo=0.0995, hi=0.1005)
    """
    return procedures()[procedure].readings[name].instrument.widened(value)
