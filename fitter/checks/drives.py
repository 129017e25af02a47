"""Checks of a drive: the voltages of its supply, and DC motors on their bridges."""

from __future__ import annotations

import numpy as np

from fitter.checks.base import Check, Judgement, Part, Parts, RoleName, at_least
from fitter.checks.motion import Train
from fitter.checks.rails import Rail
from fitter.intervals import Interval, Number, largest, smallest
from fitter.physics import dc_motor
from fitter.units import show

DRIVER_EFFICIENCY = Interval(0.85, 0.95)  # of a chopper or bridge; common practice, no source
LOADING = 0.8  # continuous loading of a supply: 80 % practice (NEC 210.20(A) has the same figure)


class HighestVoltage(Check):
    """The supply must never exceed what its consumer stands."""

    name = "highest supply voltage"
    quantity = "voltage"
    rail: Rail
    consumer: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.rail.high(parts), parts[self.consumer]["supply_voltage.max"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        top = show(float(judgement.need.hi), "voltage")
        return f"the supply may reach {top}, the part stands {show(float(judgement.have.lo), 'voltage')}"


class LowestVoltage(Check):
    """The supply must not fall below what its consumer needs to work."""

    name = "lowest supply voltage"
    quantity = "voltage"
    rail: Rail
    consumer: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(parts[self.consumer]["supply_voltage.min"], self.rail.low(parts))


def select(flag: Interval, when_one: Interval, when_zero: Interval) -> Interval:
    """Choose by a flag that is one, zero, or not known (then the hull of both)."""
    hull = when_one.hull(when_zero)
    return Interval(
        _pick(flag, when_one.lo, when_zero.lo, hull.lo), _pick(flag, when_one.hi, when_zero.hi, hull.hi)
    )


def _pick(flag: Interval, one: Number, zero: Number, either: Number) -> Number:
    picked = np.where(np.asarray(flag.lo) >= 1, one, np.where(np.asarray(flag.hi) <= 0, zero, either))
    return float(picked) if picked.ndim == 0 else picked


def dc_torque(motor: Part, voltage: Interval, speed: Interval) -> Interval:
    """Bounds of the speed-torque line of a DC motor at its output shaft, gears included, over a box.

    ``T = eta (K (V - K w)/R - K I0)``: a parabola in K; in R monotone to one side or the other;
    so the ends of K and R, and the vertex in K, hold the extremes.
    """
    k, r, free = motor["output_constant"], motor["resistance"], motor["no_load_current"]
    worst = smallest(
        *(
            dc_motor.torque_at_speed(speed.hi, voltage.lo, ohms, const, free.hi)
            for ohms in (r.lo, r.hi)
            for const in (k.lo, k.hi)
        )
    )
    tops = []
    for ohms in (r.lo, r.hi):
        vertex = (voltage.hi - free.lo * ohms) / np.maximum(2 * np.asarray(speed.lo), 1e-30)
        for const in (k.lo, k.hi, np.minimum(np.maximum(vertex, k.lo), k.hi)):
            tops.append(dc_motor.torque_at_speed(speed.lo, voltage.hi, ohms, const, free.lo))
    best = largest(*tops)
    return Interval(worst, best if np.ndim(best) else float(best)) * motor["gear_efficiency"]


class DCTorque(Check):
    """Torque of a DC motor or gearmotor at the demanded speed, within the driver's current."""

    name = "torque at speed"
    quantity = "torque"
    rail: Rail
    driver: RoleName
    train: Train

    def judge(self, parts: Parts) -> Judgement:
        motor, driver = parts[self.train.motor], parts[self.driver]
        volts = (self.rail.low(parts) - driver["voltage_drop"]).maximum(0.0)
        line = dc_torque(motor, volts, self.train.speed(parts))
        spare = (driver["peak_current"] - motor["no_load_current"]).maximum(0.0)
        limited = spare * motor["output_constant"] * motor["gear_efficiency"]
        return at_least(self.train.torque(parts) * self.train.load.safety, line.minimum(limited))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        speed = show(float(self.train.speed(parts).hi), "angular_speed")
        return f"at {speed}, safety factor {self.train.load.safety:g} included"


class GearStrength(Check):
    """The gears on the motor must stand the torque they pass on."""

    name = "gear strength"
    quantity = "torque"
    train: Train

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.train.torque(parts), parts[self.train.motor]["gear_torque_limit"])


class MotorHeat(Check):
    """Current a DC motor draws at constant speed against what it carries for hours."""

    name = "motor heat"
    quantity = "current"
    train: Train

    def judge(self, parts: Parts) -> Judgement:
        return at_least(
            running_current(self.train, parts, steady=True), parts[self.train.motor]["continuous_current"]
        )


def running_current(train: Train, parts: Parts, *, steady: bool) -> Interval:
    """Current of a DC motor under its load, A: torque at the output over gears and constant."""
    motor = parts[train.motor]
    torque = train.torque(parts, steady=steady)
    return torque / (motor["output_constant"] * motor["gear_efficiency"]) + motor["no_load_current"]


class BridgeCurrent(Check):
    """A bridge must carry the stall current, unless it limits the current by itself."""

    name = "driver current"
    quantity = "current"
    rail: Rail
    driver: RoleName
    motor: RoleName

    def judge(self, parts: Parts) -> Judgement:
        driver = parts[self.driver]
        stall = self.rail.high(parts) / parts[self.motor]["resistance"]
        need = select(driver["current_limit"], Interval.point(0.0), stall)
        return at_least(need, driver["peak_current"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "stall current, V/R: a locked motor draws it"
