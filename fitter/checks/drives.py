"""Checks of a drive: the voltages of its supply, and DC motors on their bridges."""

from __future__ import annotations

import numpy as np

from fitter.checks.base import Check, Judgement, Part, Parts, RoleName, at_least
from fitter.checks.motion import Train
from fitter.checks.rails import Rail, RectifiedRail
from fitter.intervals import Interval, Number, largest, monotone, smallest
from fitter.physics import dc_motor, supplies
from fitter.units import show

DRIVER_EFFICIENCY = Interval(0.85, 0.95)  # of a chopper or bridge; common practice, no source
LEAST_RETURN = 0.5  # J; less is taken by the capacitors a driver has anyway; common practice, no source
TO_AND_FRO = "RMS of moves to and fro over the whole travel without rest"
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

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return at_full_current(self.rail, parts)


class UsefulVoltage(Check):
    """The rail must not fall below what the recipe asks of it."""

    name = "voltage of the rail"
    quantity = "voltage"
    rail: Rail
    least: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.least, self.rail.low(parts))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        text = at_full_current(self.rail, parts)
        return "the least that the recipe has a use for" + (f"; {text}" if text else "")


def at_full_current(rail: Rail, parts: Parts) -> str:
    """At which load the trough behind a transformer is taken; nothing for other rails."""
    if not isinstance(rail, RectifiedRail):
        return ""
    amps = show(float(rail.current(parts).hi), "current")
    return f"trough at mains 10 % down and all the transformer gives, {amps}: less drawn sags less"


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

    def available(
        self, parts: Parts, speed: Interval | None = None, voltage: Interval | None = None
    ) -> Interval:
        """Torque at the output shaft within the driver's current, N m.

        At the demanded speed (rad/s) and the rail under load, or at others.
        """
        motor, driver = parts[self.train.motor], parts[self.driver]
        supply = self.rail.low(parts) if voltage is None else voltage
        volts = (supply - driver["voltage_drop"]).maximum(0.0)
        line = dc_torque(motor, volts, self.train.speed(parts) if speed is None else speed)
        spare = (driver["peak_current"] - motor["no_load_current"]).maximum(0.0)
        limited = spare * motor["output_constant"] * motor["gear_efficiency"]
        return line.minimum(limited).maximum(0.0)  # beyond its free speed a motor gives nothing

    def needed(self, parts: Parts) -> Interval:
        """Torque that the load takes, safety factor included, N m."""
        return self.train.torque(parts) * self.train.load.safety

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.needed(parts), self.available(parts))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        speed = show(float(self.train.speed(parts).hi), "angular_speed")
        text = f"at {speed}, safety factor {self.train.load.safety:g} included"
        return text + returned(self.train, self.rail, parts[self.driver], parts)


def returned(train: Train, rail: Rail, driver: Part, parts: Parts) -> str:
    """What braking gives back to the rail, where that takes more than a small capacitor; else nothing."""
    energy = float(train.moving_energy(parts).hi)
    volts, limit = float(rail.high(parts).hi), float(driver["supply_voltage.max"].lo)
    if energy < LEAST_RETURN or limit <= volts:
        return ""
    farads = float(supplies.capacitance_for_return(volts, limit, energy))
    joules, takes = show(energy, "energy"), show(farads, "capacitance")
    return f"; braking gives back up to {joules}: {takes} at the driver takes it"


class MotorHeat(Check):
    """Current that heats a DC motor going to and fro without rest against what it carries for hours."""

    name = "motor heat"
    quantity = "current"
    train: Train

    def judge(self, parts: Parts) -> Judgement:
        return at_least(heating_current(self.train, parts), parts[self.train.motor]["continuous_current"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return TO_AND_FRO


class BridgeHours(Check):
    """A bridge must carry for hours the current that its motor draws for hours."""

    name = "driver current for hours"
    quantity = "current"
    driver: RoleName
    train: Train

    def judge(self, parts: Parts) -> Judgement:
        return at_least(heating_current(self.train, parts), parts[self.driver]["continuous_current"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return TO_AND_FRO


def heating_current(train: Train, parts: Parts) -> Interval:
    """RMS current of a DC motor that moves its load to and fro over the whole travel without rest, A.

    ``sqrt(I^2 + d^2 s)``: current I of the steady run, d more and less of it while speeding up and
    slowing down, which take the share s of the time (the RMS rule of a trapezoid move, worked out).
    """
    motor, load = parts[train.motor], train.load
    steady = running_current(train, parts, steady=True)
    ramp = train.ramp_torque(parts) / (motor["output_constant"] * motor["gear_efficiency"])
    return monotone(
        lambda run, extra: np.sqrt(run * run + extra * extra * load.ramp_share),
        rising={"run": steady, "extra": ramp},
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
