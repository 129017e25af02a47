"""Formulas that give a rating as an interval from readings as intervals; they refuse what tells nothing."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from fitter.errors import FitterError
from fitter.intervals import Interval, monotone
from fitter.physics import dc_motor, gears, rectifier, thermal

Readings = Mapping[str, Interval]
GRAVITY = 9.80665  # m/s2, standard
# Rise of the winding that a motor stands for hours, K; common practice, no source. A case of 70 °C in a
# room of 20 °C has a winding that is 60 to 70 K warmer than the room.
ALLOWED_RISE = Interval(60.0, 70.0)
LEAST_RISE = 5.0  # K; below it the error of the ohms decides the result
DUTY_RISE = 45.0  # K, of a coil that may stay on; common practice, no source
SAG = 0.05  # of the open voltage, up to which a rail counts as usable; common practice, no source
UNREGULATED = 1.2  # open over loaded voltage, that is not regulated; common practice, no source


def less_leads(r: Readings) -> Interval:
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


def after_warm_up(r: Readings) -> Interval:
    """Copper loss goes with the square of the current, and the rise with the loss."""
    ratio = r["warm_resistance"] / r["cold_resistance"] - 1.0
    rise = ratio * (r["room_temperature"] - 273.15 + thermal.COPPER_ZERO)
    if not rise.lo > LEAST_RISE:
        raise FitterError(
            "the winding has hardly warmed, which tells nothing", expected="run it longer, or at more current"
        )
    return r["test_current"] * (ALLOWED_RISE / rise).map(lambda x: float(x) ** 0.5)


def lever(force: str, arm: str = "arm") -> Callable[[Readings], Interval]:
    """Torque of a force (or of a mass on a scale) at the end of an arm."""
    factor = GRAVITY if force.endswith("mass") else 1.0
    return lambda r: r[force] * r[arm] * factor


def pull(force: str) -> Callable[[Readings], Interval]:
    factor = GRAVITY if force.endswith("mass") else 1.0
    return lambda r: r[force] * factor


def step_angle(r: Readings) -> Interval:
    return 2 * math.pi / r["steps_per_turn"]


def quotient(over: str, under: str) -> Callable[[Readings], Interval]:
    return lambda r: r[over] / r[under]


def free_run(r: Readings) -> Interval:
    found = monotone(
        dc_motor.torque_constant_from_no_load,
        rising={"voltage": r["run_voltage"]},
        falling={
            "no_load_speed": r["run_speed"],
            "resistance": r["resistance"],
            "no_load_current": r["no_load_current"],
        },
    )
    return above_zero(found, "the motor's own drop is more than the voltage at it")


def brushless_spun(r: Readings) -> Interval:
    """Speed over the peak of the voltage between two wires."""
    return r["spin_speed"] / (r["spin_voltage"] * math.sqrt(2.0))


def turning(r: Readings) -> Interval:
    return r["output_turns"] * (2 * math.pi) / r["run_time"]


def gear_efficiency(r: Readings) -> Interval:
    current = above_zero(r["test_current"] - r["no_load_current"], "no more current than running free")
    ideal = r["gear_ratio"] * r["torque_constant"] * current
    found = r["output_mass"] * r["arm"] * GRAVITY / ideal
    if found.lo > 1:
        raise FitterError("more torque than without gears", expected="check ratio, current and arm")
    return found.minimum(1.0)


def duty(r: Readings) -> Interval:
    return (DUTY_RISE / r["coil_rise"]).minimum(1.0)


def usable_current(r: Readings) -> Interval:
    """The load, or less where the rail sagged by more than it may; never more than was drawn."""
    sag = (r["open_voltage"] - r["loaded_voltage"]).maximum(0.0)
    share = (r["open_voltage"] * SAG / sag).minimum(1.0)
    return r["load_current"] * share


def regulated(r: Readings) -> Interval:
    """Yes (1) or no (0); both where the readings leave it open."""
    ratio = r["open_voltage"] / r["loaded_voltage"]
    return Interval(float(ratio.hi <= UNREGULATED), float(ratio.lo <= UNREGULATED))


def winding_voltage(r: Readings) -> Interval:
    return r["primary_voltage"] * r["test_secondary"] / r["test_primary"]


def regulation(r: Readings) -> Interval:
    found = monotone(
        rectifier.regulation,
        rising={"no_load": r["open_voltage"]},
        falling={"full_load": r["loaded_voltage"]},
    )
    return above_zero(found, "no fewer volts under load")


def sink(r: Readings) -> Interval:
    rise = above_zero(r["sink_temperature"] - r["room_temperature"], "the sink is no warmer than the air")
    return rise / (r["heater_voltage"] * r["heater_current"])


def module(r: Readings) -> Interval:
    return monotone(
        gears.module_from_outside_diameter,
        rising={"outside_diameter": r["outside_diameter"]},
        falling={"teeth": r["teeth"]},
    )


def inductance(impedance: Interval, r: Readings) -> Interval:
    reactance = impedance * impedance - r["resistance"] * r["resistance"]
    if not reactance.lo > 0:
        raise FitterError("hardly more than the ohms of the coil", expected="take a higher frequency")
    return reactance.map(lambda x: float(x) ** 0.5) / (r["frequency"] * (2 * math.pi))


def above_zero(found: Interval, otherwise: str) -> Interval:
    if not found.lo > 0:
        raise FitterError(otherwise, expected="check the readings and take them again")
    return found
