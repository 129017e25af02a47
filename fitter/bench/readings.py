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
from fitter.errors import FitterError
from fitter.intervals import Interval, monotone
from fitter.kinds import kind_key
from fitter.physics import dc_motor, gears, rectifier, thermal
from fitter.records import Record

__all__ = ["Method", "procedure_for", "reading_interval", "readings_for", "winding_temperature"]

GRAVITY = 9.80665  # m/s2, standard
# Rise of the winding that a motor stands for hours, K; common practice, no source. A case of 70 °C in a
# room of 20 °C has a winding that is 60 to 70 K warmer than the room.
ALLOWED_RISE = Interval(60.0, 70.0)
LEAST_RISE = 5.0  # K; below it the error of the ohms decides the result
DUTY_RISE = 45.0  # K, of a coil that may stay on; common practice, no source
SAG = 0.05  # of the open voltage, up to which a rail counts as usable; common practice, no source
UNREGULATED = 1.2  # open over loaded voltage, that is not regulated; common practice, no source

Readings = Mapping[str, Interval]


class Method(Record):
    """One way to get a rating from readings.

    ``inputs`` maps the name of each reading to its quantity; ``compute`` takes them all as intervals in SI
    and gives the rating as an interval in SI. Where the readings do not allow a result it raises a
    :class:`FitterError`.
    """

    procedure: str
    rating: str
    inputs: Mapping[str, str]
    compute: Callable[[Readings], Interval]
    formula: str


# ---------------------------------------------------------------- formulas on intervals


def _less_leads(r: Readings) -> Interval:
    found = r["coil_reading"] - r["lead_reading"]
    if not found.hi > 0:
        raise FitterError("the leads read more than the coil", expected="measure both by the same leads")
    return found.maximum(0.0)


def winding_temperature(cold: Interval, warm: Interval, room: Interval) -> Interval:
    """Mean temperature of a copper winding from its ohms before and after a run, K.

    Source:
        :func:`fitter.physics.thermal.copper_temperature`.

    >>> round(float(winding_temperature(*map(Interval.point, (2.0, 2.5, 293.15))).lo) - 273.15, 1)
    83.6
    """
    return monotone(
        thermal.copper_temperature,
        rising={"hot_resistance": warm, "cold_temperature": room},
        falling={"cold_resistance": cold},
    )


def _after_warm_up(r: Readings) -> Interval:
    """Copper loss goes with the square of the current, and the rise with the loss."""
    ratio = r["warm_resistance"] / r["cold_resistance"] - 1.0
    rise = ratio * (r["room_temperature"] - 273.15 + thermal.COPPER_ZERO)
    if not rise.lo > LEAST_RISE:
        raise FitterError(
            "the winding has hardly warmed, which tells nothing", expected="run it longer, or at more current"
        )
    return r["test_current"] * (ALLOWED_RISE / rise).map(lambda x: float(x) ** 0.5)


def _lever(force: str, arm: str = "arm") -> Callable[[Readings], Interval]:
    """Torque of a force (or of a mass on a scale) at the end of an arm."""
    factor = GRAVITY if force.endswith("mass") else 1.0
    return lambda r: r[force] * r[arm] * factor


def _pull(force: str) -> Callable[[Readings], Interval]:
    factor = GRAVITY if force.endswith("mass") else 1.0
    return lambda r: r[force] * factor


def _step_angle(r: Readings) -> Interval:
    return 2 * math.pi / r["steps_per_turn"]


def _quotient(over: str, under: str) -> Callable[[Readings], Interval]:
    return lambda r: r[over] / r[under]


def _free_run(r: Readings) -> Interval:
    found = monotone(
        dc_motor.torque_constant_from_no_load,
        rising={"voltage": r["run_voltage"]},
        falling={
            "no_load_speed": r["run_speed"],
            "resistance": r["resistance"],
            "no_load_current": r["no_load_current"],
        },
    )
    return _above_zero(found, "the motor's own drop is more than the voltage at it")


def _brushless_spun(r: Readings) -> Interval:
    """Speed over the peak of the voltage between two wires."""
    return r["spin_speed"] / (r["spin_voltage"] * math.sqrt(2.0))


def _turning(r: Readings) -> Interval:
    return r["output_turns"] * (2 * math.pi) / r["run_time"]


def _gear_efficiency(r: Readings) -> Interval:
    current = _above_zero(r["test_current"] - r["no_load_current"], "no more current than running free")
    ideal = r["gear_ratio"] * r["torque_constant"] * current
    found = r["output_mass"] * r["arm"] * GRAVITY / ideal
    if found.lo > 1:
        raise FitterError("more torque than without gears", expected="check ratio, current and arm")
    return found.minimum(1.0)


def _duty(r: Readings) -> Interval:
    return (DUTY_RISE / r["coil_rise"]).minimum(1.0)


def _usable_current(r: Readings) -> Interval:
    """The load, or less where the rail sagged by more than it may; never more than was drawn."""
    sag = (r["open_voltage"] - r["loaded_voltage"]).maximum(0.0)
    share = (r["open_voltage"] * SAG / sag).minimum(1.0)
    return r["load_current"] * share


def _regulated(r: Readings) -> Interval:
    """Yes (1) or no (0); both where the readings leave it open."""
    ratio = r["open_voltage"] / r["loaded_voltage"]
    return Interval(float(ratio.hi <= UNREGULATED), float(ratio.lo <= UNREGULATED))


def _winding_voltage(r: Readings) -> Interval:
    return r["primary_voltage"] * r["test_secondary"] / r["test_primary"]


def _regulation(r: Readings) -> Interval:
    found = monotone(
        rectifier.regulation,
        rising={"no_load": r["open_voltage"]},
        falling={"full_load": r["loaded_voltage"]},
    )
    return _above_zero(found, "no fewer volts under load")


def _sink(r: Readings) -> Interval:
    rise = _above_zero(r["sink_temperature"] - r["room_temperature"], "the sink is no warmer than the air")
    return rise / (r["heater_voltage"] * r["heater_current"])


def _module(r: Readings) -> Interval:
    return monotone(
        gears.module_from_outside_diameter,
        rising={"outside_diameter": r["outside_diameter"]},
        falling={"teeth": r["teeth"]},
    )


def _inductance(impedance: Interval, r: Readings) -> Interval:
    reactance = impedance * impedance - r["resistance"] * r["resistance"]
    if not reactance.lo > 0:
        raise FitterError("hardly more than the ohms of the coil", expected="take a higher frequency")
    return reactance.map(lambda x: float(x) ** 0.5) / (r["frequency"] * (2 * math.pi))


def _above_zero(found: Interval, otherwise: str) -> Interval:
    if not found.lo > 0:
        raise FitterError(otherwise, expected="check the readings and take them again")
    return found


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
    ("P1", _COILS, "resistance", "coil_reading lead_reading", _less_leads, "R = reading - leads"),
    ("P1", "relay", "coil_resistance", "coil_reading lead_reading", _less_leads, "R = reading - leads"),
    (
        "P3",
        "stepper motor",
        "rated_current",
        "test_current cold_resistance warm_resistance room_temperature",
        _after_warm_up,
        _WARM,
    ),
    (
        "P3",
        f"{_MOTORS}, brushless motor",
        "continuous_current",
        "test_current cold_resistance warm_resistance room_temperature",
        _after_warm_up,
        _WARM,
    ),
    ("P4", "stepper motor", "holding_torque", "hold_mass arm", _lever("hold_mass"), _TORQUE),
    ("P4", "stepper motor", "holding_torque", "hold_force arm", _lever("hold_force"), _MOMENT),
    ("P4", "stepper motor", "detent_torque", "detent_mass arm", _lever("detent_mass"), _TORQUE),
    ("P4", "stepper motor", "detent_torque", "detent_force arm", _lever("detent_force"), _MOMENT),
    ("P4", "hinge", "friction_torque", "friction_mass arm", _lever("friction_mass"), _TORQUE),
    ("P4", "hinge", "friction_torque", "friction_force arm", _lever("friction_force"), _MOMENT),
    ("P5", "stepper motor", "step_angle", "steps_per_turn", _step_angle, "360 deg / steps"),
    (
        "P7",
        f"{_MOTORS}, brushless motor",
        "resistance",
        "locked_voltage locked_current",
        _quotient("locked_voltage", "locked_current"),
        "R = V / I",
    ),
    (
        "P8",
        "dc motor",
        "torque_constant",
        "run_voltage run_speed resistance no_load_current",
        _free_run,
        "K = (V - I0 x R) / speed",
    ),
    (
        "P8",
        "dc gearmotor",
        "torque_constant",
        "run_voltage run_speed resistance no_load_current",
        _free_run,
        "K = (V - I0 x R) / speed of the motor shaft",
    ),
    (
        "P8",
        _MOTORS,
        "torque_constant",
        "spin_voltage spin_speed",
        _quotient("spin_voltage", "spin_speed"),
        "K = V / speed of the motor shaft",
    ),
    (
        "P8",
        "brushless motor",
        "speed_constant",
        "spin_voltage spin_speed",
        _brushless_spun,
        "Kv = speed / (1.414 x AC volts between two wires)",
    ),
    ("P8", "dc gearmotor", "output_speed", "output_turns run_time", _turning, "turns / time"),
    ("P10", "dc gearmotor", "output_torque", "output_mass arm", _lever("output_mass"), _TORQUE),
    ("P10", "dc gearmotor", "output_torque", "output_force arm", _lever("output_force"), _MOMENT),
    ("P10", "brushless motor with driver", "rated_torque", "output_mass arm", _lever("output_mass"), _TORQUE),
    (
        "P10",
        "brushless motor with driver",
        "rated_torque",
        "output_force arm",
        _lever("output_force"),
        _MOMENT,
    ),
    ("P10", "servo", "torque", "output_mass arm", _lever("output_mass"), _TORQUE),
    ("P10", "servo", "torque", "output_force arm", _lever("output_force"), _MOMENT),
    (
        "P10",
        "dc gearmotor",
        "gear_ratio",
        "motor_turns geared_turns",
        _quotient("motor_turns", "geared_turns"),
        "turns of the motor / turns of the output",
    ),
    (
        "P10",
        "dc gearmotor",
        "gear_efficiency",
        "output_mass arm test_current no_load_current torque_constant gear_ratio",
        _gear_efficiency,
        "9.81 x kg x arm / (ratio x K x (I - I0))",
    ),
    (
        "P11",
        "worm set",
        "ratio",
        "worm_turns wheel_turns",
        _quotient("worm_turns", "wheel_turns"),
        "turns of the worm / turns of the wheel",
    ),
    ("P12", "solenoid, electromagnet", "duty", "coil_rise", _duty, "45 K / rise, at most 1"),
    ("P13", "solenoid, electromagnet, magnet", "force", "pull_mass", _pull("pull_mass"), "F = 9.81 x kg"),
    (
        "P13",
        "spring",
        "stiffness",
        "pull_mass stretch",
        lambda r: r["pull_mass"] * GRAVITY / r["stretch"],
        "9.81 x kg / stretch",
    ),
    ("P13", "spring", "stiffness", "pull_force stretch", _quotient("pull_force", "stretch"), "N / stretch"),
    ("P14", "clutch", "torque", "slip_mass arm", _lever("slip_mass"), _TORQUE),
    ("P14", "clutch", "torque", "slip_force arm", _lever("slip_force"), _MOMENT),
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
        _usable_current,
        "I_load, or I_load x 5 % / sag where it sags by more",
    ),
    (
        "P18",
        "transformer",
        "voltage",
        "test_primary test_secondary primary_voltage",
        _winding_voltage,
        "V2 = V1 x reading / test volts",
    ),
    (
        "P19",
        "transformer",
        "regulation",
        "open_voltage loaded_voltage",
        _regulation,
        "(open - loaded) / loaded",
    ),
    (
        "P21",
        "adapter",
        "regulated",
        "open_voltage loaded_voltage",
        _regulated,
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
        _sink,
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
    ("P27", "gear", "module", "outside_diameter teeth", _module, "m = D / (z + 2)"),
    ("P27", "rack", "module", "ten_teeth", lambda r: r["ten_teeth"] * (0.1 / math.pi), "length / (10 pi)"),
    ("P29", "drawer slide", "drag", "drag_mass", _pull("drag_mass"), "F = 9.81 x kg"),
    (
        "P30",
        "encoder strip",
        "line_pitch",
        "scale_length lines",
        _quotient("scale_length", "lines"),
        "length / lines",
    ),
    (
        "P33",
        "stepper motor",
        "inductance",
        "coil_voltage coil_current frequency resistance",
        lambda r: _inductance(r["coil_voltage"] / r["coil_current"], r),
        "L = sqrt((V/I)2 - R2) / (2 pi f)",
    ),
    (
        "P33",
        "stepper motor",
        "inductance",
        "coil_voltage resistor_voltage series_resistor frequency resistance",
        lambda r: _inductance(r["coil_voltage"] * r["series_resistor"] / r["resistor_voltage"], r),
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
