"""What to set on each drive, torque over speed, and the move, by the formulas of the checks."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from fitter.checks.drives import DCTorque, heating_current
from fitter.checks.guides import RodTravel, SlideTravel
from fitter.checks.motion import Train
from fitter.checks.placing import BeltTravel, ScrewTravel
from fitter.checks.steppers import StepperTorque
from fitter.intervals import Interval, monotone
from fitter.models import unit_of_quantity
from fitter.physics import drivers, moves, stepper, stepper_steps
from fitter.sheet.models import CurveAnswer, DriveAnswer, FigureAnswer, MoveAnswer, TorqueAnswer
from fitter.sheet.views import Parts, checks_of, ends, known, likely
from fitter.solve.builds import Build
from fitter.units import show, show_span
from fitter.views import ends_of

SPEEDS = 64  # points of a curve
BEYOND = 1.3  # how far past the demanded speed a curve is shown
SENSE_RESISTORS = (0.05, 0.068, 0.1)  # ohm, usual on driver carriers; common practice, no source
START_SHARE = 0.5  # of the speed that a stepper could just start at; see stepper_steps.start_speed


def drives_of(build: Build) -> list[DriveAnswer]:
    """Every drive of a build, in the order of its functions."""
    every = (c.check for c in build.checks)
    return [_drive(build, check) for check in every if isinstance(check, StepperTorque | DCTorque)]


def _drive(build: Build, check: StepperTorque | DCTorque) -> DriveAnswer:
    train, parts = check.train, known(build)
    if isinstance(check, StepperTorque):
        settings = list(stepper_settings(build, check))
        amps = float(set_current(parts, check).lo)
        formulas = reference_formulas(amps) if holds_current(parts, check) else []
    else:
        settings, formulas = list(dc_settings(parts, check)), []
    return DriveAnswer(
        name=train.load.name.rpartition(".")[0],
        motor=train.motor,
        driver=check.driver,
        settings=[*settings, *_ramp(train), *_soft_limits(build, train)],
        formulas=formulas,
        torque=torque_of(build, check),
        move=move_of(train),
    )


# ---------------------------------------------------------------- settings


def _figure(name: str, value: Interval | float, quantity: str, note: str = "") -> FigureAnswer:
    span = value if isinstance(value, Interval) else Interval.point(value)
    return FigureAnswer(
        name=name, value=ends_of(span), unit=unit_of_quantity(quantity), quantity=quantity, note=note
    )


def holds_current(parts: Parts, check: StepperTorque) -> bool:
    """Whether the driver surely holds the current that is set (a chopper)."""
    return float(parts[check.driver]["chopper"].lo) >= 1


def set_current(parts: Parts, check: StepperTorque) -> Interval:
    """Peak of the coil current that motor and driver both stand, A."""
    return check.figures(parts).setting


def stepper_settings(build: Build, check: StepperTorque) -> Iterator[FigureAnswer]:
    """Current, microsteps, steps a millimetre, rates."""
    parts, train = known(build), check.train
    setting = set_current(parts, check)
    if holds_current(parts, check):
        note = "start at the low end" if not setting.exact else ""
        yield _figure("driver current, peak", setting, "current", note)
        yield _figure("driver current, rms", setting * drivers.FULL_STEP_FRACTION, "current", "peak / √2")
    elif float(parts[check.driver]["chopper"].hi) <= 0:
        ohms = float(check.figures(parts).series_resistor.hi)
        yield _figure("resistor in series with each coil", ohms, "resistance", "it holds the current")
    micro = parts[check.driver]["microsteps"]
    yield _figure("microsteps", micro, "count", "per full step")
    pulses = pulses_per_move(likely(build), check)
    yield from _per_move(train, pulses, pulses_per_move(parts, check))
    rate = _start(parts, check) * pulses
    yield _figure("start rate without a ramp", rate, "frequency", "pulses, at most; the low end is sure")
    yield _figure("maximum rate", pulses * train.load.speed, "frequency", "pulses, at the speed asked for")
    good, last = fastest(build, check)
    note = "further is beyond the formulas" if last else "" if good else "too weak even at rest, likely"
    yield _figure("speed it is likely good for", good, _speed_of(train), note)


def pulses_per_move(parts: Parts, check: StepperTorque) -> Interval:
    """Step pulses for each metre (or radian) of the load, microsteps counted."""
    angle, advance = parts[check.train.motor]["step_angle"], check.train.advance(parts)
    return parts[check.driver]["microsteps"] / (angle * advance)


def _per_move(train: Train, pulses: Interval, known: Interval) -> Iterator[FigureAnswer]:
    name, factor = ("steps per degree", math.radians(1.0)) if train.load.rotary else ("steps per mm", 1e-3)
    span = show_span(float(known.lo) * factor, float(known.hi) * factor, "ratio")
    note = "" if known.exact else f"{span}: measure a long move and correct it"
    yield _figure(name, pulses * factor, "ratio", note)


def _speed_of(train: Train) -> str:
    return "angular_speed" if train.load.rotary else "speed"


def _start(parts: Parts, check: StepperTorque) -> Interval:
    """Speed of the load to which it may jump from rest, m/s (or rad/s)."""
    train = check.train
    standstill = check.available(parts, Interval.point(0.0))
    spare = (standstill - train.torque(parts, steady=True)).maximum(0.0)
    shaft = monotone(
        stepper_steps.start_speed,
        rising={"torque": spare, "step_angle": parts[train.motor]["step_angle"]},
        falling={"inertia": train.inertia(parts)},
    )
    return shaft * train.advance(parts) * START_SHARE


def fastest(build: Build, check: StepperTorque | DCTorque) -> tuple[float, bool]:
    """Greatest speed of the load at which likely torque covers the likely need, m/s (or rad/s).

    And whether that is the last speed looked at.
    """
    parts = likely(build)
    speeds = _grid(build, check)
    torque = np.broadcast_to(check.available(parts, Interval.point(speeds)).lo, speeds.shape)
    carried = speeds[torque >= float(check.needed(parts).lo)]
    top = float(carried.max()) if carried.size else 0.0
    return top * float(check.train.advance(parts).lo), top == speeds[-1]


def dc_settings(parts: Parts, check: DCTorque) -> Iterator[FigureAnswer]:
    """Currents and speed of a DC motor."""
    train, motor = check.train, parts[check.train.motor]
    yield _figure("current limit of the driver", motor["continuous_current"], "current", "for hours, at most")
    yield _figure("current going to and fro", heating_current(train, parts), "current", "rms, to be seen")
    yield _figure("speed of the shaft", train.speed(parts), "angular_speed", "at the speed asked for")


def _ramp(train: Train) -> Iterator[FigureAnswer]:
    load = train.load
    quantity = "angular_acceleration" if load.rotary else "acceleration"
    if load.acceleration > 0:
        yield _figure("ramp", load.acceleration, quantity)
        yield _figure("time to full speed", load.speed / load.acceleration, "time")


def _soft_limits(build: Build, train: Train) -> Iterator[FigureAnswer]:
    """From the home switch on: what is asked for, and what the parts leave."""
    if train.load.rotary or train.load.travel <= 0:
        return
    yield _figure("soft limits", Interval(0.0, train.load.travel), "length", "from the home switch")
    functions = {build.model.graph.nodes[role]["function"] for role in train.roles}
    parts = known(build)
    have = [
        float(check.judge(parts).have.lo)
        for sort in (BeltTravel, ScrewTravel, RodTravel, SlideTravel)
        for check in checks_of(build, sort)
        if build.model.graph.nodes[check.roles[0]]["function"] in functions
    ]
    if have:
        yield _figure("way that the parts leave", min(have), "length", "from stop to stop, at least")


def reference_formulas(current: float) -> list[str]:
    """The voltage to set on the potentiometer of a chopper carrier, by its sort and sense resistors."""
    found = []
    for gain in (drivers.CHOPPER_GAIN_8, drivers.CHOPPER_GAIN_5):
        each = ", ".join(
            f"{show(float(drivers.chopper_reference(current, ohms, gain)), 'voltage')} with Rs {ohms:g} Ω"
            for ohms in SENSE_RESISTORS
        )
        found.append(f"Vref = {gain:g} × I × Rs, where the carrier is of that type: {each}")
    return found


# ---------------------------------------------------------------- torque over speed, and the move


def _grid(build: Build, check: StepperTorque | DCTorque) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Speeds of the output shaft from rest to where the formulas hold or the motor runs free, rad/s."""
    top = float(check.train.speed(known(build)).hi) * BEYOND
    if isinstance(check, StepperTorque):
        return np.linspace(0.0, max(top, stepper.FASTEST), SPEEDS)
    parts = likely(build)
    free = check.rail.high(parts) / parts[check.train.motor]["output_constant"]
    return np.linspace(0.0, max(top, float(free.hi)), SPEEDS)


def torque_of(build: Build, check: StepperTorque | DCTorque) -> TorqueAnswer:
    """Band and likely curves of a drive, with what its load needs."""
    parts, middle = known(build), likely(build)
    speeds = _grid(build, check)
    at = Interval.point(speeds)
    band = check.available(parts, at)
    volts = sorted({float(check.rail.low(parts).lo), float(check.rail.high(parts).hi)})
    return TorqueAnswer(
        speeds=_list(speeds),
        least=_list(np.broadcast_to(np.maximum(band.lo, 0.0), speeds.shape)),
        most=_list(np.broadcast_to(np.maximum(band.hi, 0.0), speeds.shape)),
        curves=[
            CurveAnswer(
                voltage=v,
                torque=_list(
                    np.broadcast_to(
                        np.maximum(check.available(middle, at, Interval.point(v)).lo, 0.0), speeds.shape
                    )
                ),
            )
            for v in volts
        ],
        need_speed=ends(check.train.speed(parts)),
        need_torque=ends(check.needed(parts)),
        safety=check.train.load.safety,
    )


def _list(values: object) -> list[float]:
    return [float(v) for v in np.asarray(values, dtype=float)]


def move_of(train: Train) -> MoveAnswer | None:
    """The corners of a move over the whole travel; nothing for a load without one."""
    load = train.load
    if load.travel <= 0 or load.speed <= 0 or load.acceleration <= 0:
        return None
    move = moves.trapezoid_move(load.travel, load.speed, load.acceleration)
    ramp, total, peak = float(move.ramp_time), float(move.total_time), float(move.peak_speed)
    return MoveAnswer(
        distance=load.travel,
        rotary=load.rotary,
        times=[0.0, ramp, total - ramp, total],
        speeds=[0.0, peak, peak, 0.0],
    )
