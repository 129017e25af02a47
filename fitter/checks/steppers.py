"""Checks of a stepper on its driver: winding, torque at speed, and current."""

from __future__ import annotations

from math import pi

import numpy as np

from fitter.checks.base import Check, Judgement, Part, Parts, RoleName, at_least, equal, stays_below, within
from fitter.checks.drives import returned, select
from fitter.checks.motion import Train
from fitter.checks.rails import Rail
from fitter.intervals import Interval, as_number, monotone, smallest
from fitter.physics import stepper
from fitter.records import Record
from fitter.units import show, show_span

HEADROOM = (
    1.5  # a chopper wants the supply at 1.5 x I x R or more to regulate at speed; common practice, no source
)
SMOOTH_MICROSTEPS = 4  # from which resonance hardly matters; common practice, no source
NEAR_RESONANCE = 0.3  # of the resonant speed; common practice, no source
FULL_LENGTH_FRAME = 0.070  # body width above which the inductance factor of large frames applies, m
LARGE_FRAME_FACTOR = 1.5  # DESIGN of the stepper model: fits published NEMA 34 curves


TOO_FAST = "it turns faster than 900 rpm, up to which the model was held against published curves"


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
        """One where the supply exceeds I x R with headroom, zero where it surely does not.

        I is the current that is set: the motor's rating, or the driver's limit where that is lower.
        """
        drop = self.setting * self.motor["resistance"] * HEADROOM
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
    def series_resistor(self) -> Interval:
        """What must stand in series with each coil, ohm, where the driver does not hold the current."""
        return (self.switched_voltage / self.setting - self.motor["resistance"]).maximum(0.0)

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

    def figures(
        self, parts: Parts, speed: Interval | None = None, voltage: Interval | None = None
    ) -> _StepperFigures:
        """What the torque depends on, at the demanded speed and the rail under load, or at others."""
        train = self.train
        at = train.speed(parts) if speed is None else speed
        volts = self.rail.low(parts) if voltage is None else voltage
        return _StepperFigures(parts[train.motor], parts[self.driver], volts, at)

    def available(
        self, parts: Parts, speed: Interval | None = None, voltage: Interval | None = None
    ) -> Interval:
        """Torque of the motor on its driver, N m, at the demanded speed (rad/s) or another."""
        return self.figures(parts, speed, voltage).torque()

    def needed(self, parts: Parts) -> Interval:
        """Torque that the load takes, safety factor included, N m."""
        return self.train.torque(parts) * self.train.load.safety

    def judge(self, parts: Parts) -> Judgement:
        figures = self.figures(parts)
        judged = at_least(self.needed(parts), figures.torque())
        return within(stays_below(figures.speed, stepper.FASTEST), judged, TOO_FAST)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        figures = self.figures(parts)
        speed = show(float(figures.speed.hi), "angular_speed")
        text = f"at {speed}, safety factor {self.train.load.safety:g} included"
        drop = figures.setting * figures.motor["resistance"]
        on_chopper = parts[self.driver]["chopper"].lo >= 1
        if on_chopper and figures.regulates().lo < 1:
            uses = "uses up" if figures.regulates().hi < 1 else "may use up"
            volts, supply = (show_span(float(v.lo), float(v.hi), "voltage") for v in (drop, figures.voltage))
            text += (
                f"; I x R of {volts} {uses} the supply of {supply}: a chopper needs {HEADROOM:g} times I x R"
            )
        if parts[self.driver]["chopper"].hi <= 0:
            text += _resistor(figures)
        text += _resonance(figures, self.train.inertia(parts))
        return text + returned(self.train, self.rail, figures.driver, parts)


def _resonance(figures: _StepperFigures, inertia: Interval) -> str:
    """Where rotor and load swing about a step, which matters in full and half steps."""
    motor = figures.motor
    if figures.driver["microsteps"].hi >= SMOOTH_MICROSTEPS or inertia.hi <= 0:
        return ""
    rate = monotone(
        stepper.resonance_frequency,
        rising={"holding_torque": motor["holding_torque"], "rotor_teeth": figures.teeth},
        falling={"inertia": inertia.maximum(1e-12)},
    )
    rough = rate * motor["step_angle"]
    if figures.speed.hi < rough.lo * (1 - NEAR_RESONANCE):
        return ""
    at = show_span(float(rough.lo), float(rough.hi), "angular_speed")
    return f"; in full steps it swings in resonance near {at}: ramp through quickly, or use microsteps"


def _resistor(figures: _StepperFigures) -> str:
    """What must stand in series with each coil where the driver does not hold the current."""
    amps = figures.setting
    ohms = float(figures.series_resistor.hi)
    if ohms <= 0:
        return ""
    ohms_text, amps_text = show(ohms, "resistance"), show(float(amps.lo), "current")
    return f"; {ohms_text} in series with each coil holds the current to {amps_text}"


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
