"""Checks of a drive: supply, driver and motor, and the torque at speed along the whole train."""

from __future__ import annotations

from math import pi

import numpy as np

from fitter.checks.base import Check, Judgement, Part, Parts, RoleName, at_least, at_most, equal, yes
from fitter.checks.motion import Stage, Train, total_advance
from fitter.checks.rails import Rail
from fitter.intervals import Interval, Number, as_number, largest, monotone, smallest
from fitter.physics import belts, dc_motor, motion, screws, stepper
from fitter.records import Record
from fitter.units import show, show_span

HEADROOM = (
    1.5  # a chopper wants the supply at 1.5 x I x R or more to regulate at speed; common practice, no source
)
FULL_LENGTH_FRAME = 0.070  # body width above which the inductance factor of large frames applies, m
LARGE_FRAME_FACTOR = 1.5  # DESIGN of the stepper model: fits published NEMA 34 curves
DRIVER_EFFICIENCY = Interval(0.85, 0.95)  # of a chopper or bridge; common practice, no source
LOADING = 0.8  # continuous loading of a supply: 80 % practice (NEC 210.20(A) has the same figure)
POSITION_MICROSTEPS = (
    8.0  # finer microsteps do not place a loaded axis more finely; common practice, no source
)


class Winding(Check):
    """A bipolar driver needs a bipolar connection, a unipolar one the centre taps."""

    name = "winding and driver"
    quantity = "flag"
    sense = "equal"
    driver: RoleName
    motor: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return equal(parts[self.driver]["bipolar"], parts[self.motor]["bipolar"], 0.5)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        if judgement.need.lo == judgement.need.hi:
            kind = "bipolar" if judgement.need.lo == 1 else "unipolar"
            return f"the driver is {kind}: the coils must be connected that way"
        return "a bipolar driver takes coils end to end, a unipolar one their centre taps"


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


def voltage_limited(
    speed: Interval, voltage: Interval, worst: Interval, best: Interval, resistance: Interval
) -> Interval:
    """Bounds of ``V y - w R y^2`` over a box, ``y`` being the torque constant over the impedance.

    The torque rises with the voltage, and falls with speed and resistance as long as there is any,
    although both are also in the impedance. So ``worst`` is the range of y at the highest of both and
    ``best`` that at the lowest. In y it is a parabola: least at an end of its range, greatest at
    ``V/(2 w R)`` where that lies inside.
    """
    least = [
        stepper.voltage_limited_torque(speed.hi, voltage.lo, y, resistance.hi) for y in (worst.lo, worst.hi)
    ]
    drop = np.maximum(2 * np.asarray(speed.lo) * resistance.lo, 1e-30)
    peak = np.minimum(np.maximum(voltage.hi / drop, best.lo), best.hi)
    most = stepper.voltage_limited_torque(speed.lo, voltage.hi, peak, resistance.lo)
    return Interval(smallest(*least), most if np.ndim(most) else float(most))


class _StepperFigures(Record):
    """What the torque of a stepper on its driver depends on, as intervals."""

    motor: Part
    driver: Part
    voltage: Interval
    speed: Interval

    def torque(self) -> Interval:
        """Chopper or constant-voltage drive, whichever the driver is."""
        return select(self.driver["chopper"], self.chopper(), self.constant_voltage())

    def voltage_limited(self, voltage: Interval, resistance: Interval) -> Interval:
        """Torque that a voltage drives through the winding and what is in series with it."""
        worst = self.constant / self.impedance(Interval.point(self.speed.hi), Interval.point(resistance.hi))
        best = self.constant / self.impedance(Interval.point(self.speed.lo), Interval.point(resistance.lo))
        return voltage_limited(self.speed, voltage, worst, best, resistance)

    def impedance(self, speed: Interval, resistance: Interval) -> Interval:
        """Of one phase at speed."""
        motor = self.motor
        width = motor["frame_width"].map(
            lambda w: np.where(np.asarray(w) > FULL_LENGTH_FRAME, LARGE_FRAME_FACTOR, 1.0)
        )
        return monotone(
            stepper.impedance,
            rising={
                "speed": speed,
                "resistance": resistance,
                "inductance": motor["inductance"],
                "rotor_teeth": self.teeth,
                "inductance_factor": width,
            },
        )

    @property
    def teeth(self) -> Interval:
        """Rotor teeth (pole pairs) from the step angle."""
        return monotone(stepper.rotor_teeth, falling={"step_angle": self.motor["step_angle"]})

    @property
    def constant(self) -> Interval:
        """Torque per ampere of one phase."""
        return monotone(
            stepper.torque_constant,
            rising={"holding_torque": self.motor["holding_torque"]},
            falling={"rated_current": self.motor["rated_current"]},
        )

    def chopper(self) -> Interval:
        """Torque on a chopper set to the rated current, or to the driver's limit if lower."""
        motor = self.motor
        set_share = (self.driver["peak_current"] / motor["rated_current"]).minimum(1.0)
        current_limited = motor["holding_torque"] * set_share * (0.5**0.5)
        limited = self.voltage_limited(self.voltage, motor["resistance"])
        blended = monotone(
            stepper.blend, rising={"current_limited": current_limited, "voltage_limited": limited}
        )
        return (blended - motor["detent_torque"]).maximum(0.0) * self.regulates()

    def regulates(self) -> Interval:
        """One where the supply exceeds I x R with headroom, zero where it surely does not."""
        drop = self.motor["rated_current"] * self.motor["resistance"] * HEADROOM
        return Interval(as_number(self.voltage.lo >= drop.hi), as_number(self.voltage.hi >= drop.lo))

    def constant_voltage(self) -> Interval:
        """Torque on switched constant voltage, a series resistor holding the current that both stand."""
        motor = self.motor
        share = (self.driver["peak_current"] / motor["rated_current"]).minimum(1.0)
        limited = self.voltage_limited(self.switched_voltage * (4 / pi), self.loop_resistance)
        most = motor["holding_torque"] * share * (0.5**0.5)
        return (limited.minimum(most) - motor["detent_torque"]).maximum(0.0)

    @property
    def switched_voltage(self) -> Interval:
        """What a driver without current control leaves for coil and series resistor."""
        return (self.voltage - self.driver["voltage_drop"]).maximum(0.0)

    @property
    def loop_resistance(self) -> Interval:
        """Coil and series resistor: nothing else keeps the current to what motor and driver stand."""
        return self.motor["resistance"].maximum(self.switched_voltage / self.setting)

    @property
    def setting(self) -> Interval:
        """The current that motor and driver both stand."""
        return self.motor["rated_current"].minimum(self.driver["peak_current"])


class StepperTorque(Check):
    """Torque a stepper gives at the demanded speed against what the whole train needs."""

    name = "torque at speed"
    quantity = "torque"
    rail: Rail
    driver: RoleName
    train: Train

    def figures(self, parts: Parts, speed: Interval | None = None) -> _StepperFigures:
        """The intervals the torque depends on, at the demanded speed or another."""
        train = self.train
        at = train.speed(parts) if speed is None else speed
        return _StepperFigures(parts[train.motor], parts[self.driver], self.rail.low(parts), at)

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.train.torque(parts) * self.train.load.safety, self.figures(parts).torque())

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        figures = self.figures(parts)
        speed = show(float(figures.speed.hi), "angular_speed")
        text = f"at {speed}, safety factor {self.train.load.safety:g} included"
        motor = parts[self.train.motor]
        drop = motor["rated_current"] * motor["resistance"]
        on_chopper = parts[self.driver]["chopper"].lo >= 1
        if on_chopper and figures.regulates().lo < 1:
            uses = "uses up" if figures.regulates().hi < 1 else "may use up"
            volts, supply = (show_span(float(v.lo), float(v.hi), "voltage") for v in (drop, figures.voltage))
            text += (
                f"; I x R of {volts} {uses} the supply of {supply}: a chopper needs {HEADROOM:g} times I x R"
            )
        if parts[self.driver]["chopper"].hi <= 0:
            text += _resistor(figures)
        return text


def _resistor(figures: _StepperFigures) -> str:
    """What must stand in series with each coil where the driver does not hold the current."""
    amps = figures.setting
    ohms = float((figures.switched_voltage / amps - figures.motor["resistance"]).hi)
    if ohms <= 0:
        return ""
    ohms_text, amps_text = show(ohms, "resistance"), show(float(amps.lo), "current")
    return f"; {ohms_text} in series with each coil holds the current to {amps_text}"


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


class StepperCurrent(Check):
    """The driver must be able to give the current that makes the torque at low speed."""

    name = "driver current"
    quantity = "current"
    driver: RoleName
    train: Train

    def judge(self, parts: Parts) -> Judgement:
        motor = parts[self.train.motor]
        torque = self.train.torque(parts) * self.train.load.safety + motor["detent_torque"]
        constant = monotone(
            stepper.torque_constant,
            rising={"holding_torque": motor["holding_torque"]},
            falling={"rated_current": motor["rated_current"]},
        )
        return at_least(torque / constant, parts[self.driver]["peak_current"])


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


class Resolution(Check):
    """The smallest step a stepper can be told to move the load."""

    name = "resolution"
    sense = "at most"
    driver: RoleName
    motor: RoleName
    stages: tuple[Stage, ...]
    limit: float
    rotary: bool

    @property
    def quantity(self) -> str:  # type: ignore[override]
        return "angle" if self.rotary else "length"

    def judge(self, parts: Parts) -> Judgement:
        parting = parts[self.driver]["microsteps"].minimum(POSITION_MICROSTEPS)
        step = parts[self.motor]["step_angle"] / parting * total_advance(self.stages, parts)
        return at_most(self.limit, step)


class EncoderResolution(Check):
    """The smallest move a strip can tell: a quarter of a line, both edges of both tracks counted."""

    name = "resolution"
    quantity = "length"
    sense = "at most"
    encoder: RoleName
    limit: float

    def judge(self, parts: Parts) -> Judgement:
        return at_most(self.limit, parts[self.encoder]["line_pitch"] * 0.25)


class HoldsUnpowered(Check):
    """Without power the load must not run back down the incline."""

    name = "holds without power"
    train: Train
    stepping: bool
    quantity = "torque"

    def judge(self, parts: Parts) -> Judgement:
        load, train = self.train.load, self.train
        sliding = monotone(
            lambda friction, drag: motion.axis_force(load.mass, 0.0, load.incline, -friction, -drag, 0.0),
            falling={"friction": load.friction(parts), "drag": load.drag(parts)},
        ).maximum(0.0)
        pull = sliding * train.advance(parts) * train.back_drives(parts)
        return at_least(pull, self._holding(parts))

    def _holding(self, parts: Parts) -> Interval:
        motor = parts[self.train.motor]
        if self.stepping:
            return motor["detent_torque"]
        locks = motor["self_locking"]
        friction = motor["no_load_current"] * motor["output_constant"]
        return friction + Interval(
            np.where(np.asarray(locks.lo) >= 1, np.inf, 0.0), np.where(np.asarray(locks.hi) >= 1, np.inf, 0.0)
        )


class EncoderLength(Check):
    """The strip must reach along the whole travel."""

    name = "encoder length"
    quantity = "length"
    encoder: RoleName
    travel: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.travel, parts[self.encoder]["length"])


class BeltTravel(Check):
    """Travel that a belt round two pulleys leaves for the carriage."""

    name = "travel of the belt"
    quantity = "length"
    belt: RoleName
    pulley: RoleName
    travel: float
    carriage_length: float

    def judge(self, parts: Parts) -> Judgement:
        belt, pulley = parts[self.belt], parts[self.pulley]
        have = monotone(
            lambda length, pitch, teeth: belts.loop_travel(length, pitch, teeth, self.carriage_length),
            rising={"length": belt["length"]},
            falling={"pitch": pulley["belt_pitch"], "teeth": pulley["teeth"]},
        )
        return at_least(self.travel, have)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "half the belt less half a pulley's turn and the carriage"


class ScrewTravel(Check):
    """Travel that a screw or rack leaves for the carriage."""

    name = "travel of the screw or rack"
    quantity = "length"
    part: RoleName
    travel: float
    carriage_length: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.travel, parts[self.part]["length"] - self.carriage_length)


class ScrewNut(Check):
    """A screw is of use with its nut."""

    name = "nut of the screw"
    quantity = "flag"
    screw: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return yes(parts[self.screw]["nut"])


class ScrewWhip(Check):
    """A long thin screw whips: run it at 80 % of its critical speed at the most."""

    name = "critical speed of the screw"
    quantity = "angular_speed"
    screw: RoleName
    stages: tuple[Stage, ...]
    speed: float

    def judge(self, parts: Parts) -> Judgement:
        part = parts[self.screw]
        critical = monotone(
            lambda root, length: screws.critical_speed(root, length),
            rising={"root": part["diameter"] * 0.75},
            falling={"length": part["length"]},
        )
        turning = Interval.point(self.speed) / total_advance(self.stages, parts)
        return at_least(turning, critical * 0.8)
