"""Need and have of the checks that matter most, against the formulas written out once more.

The judge is each formula in plain numbers (sources below), worked out at points inside random boxes
of ratings and with efficiencies drawn from the bands that the checks allow for: every such figure
must lie within the need and have of its box.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from boxes import Points, all_boxes, checks_of, plans
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from fitter.checks import drives, guides, lab, power, steppers, strength
from fitter.checks.base import Check
from fitter.checks.motion import Load, Train
from fitter.intervals import Interval

BOXES, POINTS = 120, 24
SLACK = 1e-9
G = 9.80665
PLANS = {p.name: p for p in plans()}
STEPPERS = ("stepper and belt", "stepper and screw", "stepper and rack", "stepper direct", "stepper and worm")
BRUSHED = ("DC motor and belt with encoder", "gearmotor and screw", "gearmotor and spool", "gearmotor direct")


class Truth:
    """Plain figures of the parts at the points, and draws from bands."""

    def __init__(self, points: Mapping[str, Points], rng: np.random.Generator) -> None:
        self.points = points
        self.rng = rng

    def __call__(self, role: str, rating: str) -> Any:
        return self.points[role][rating].lo

    def band(self, lo: float, hi: float) -> Any:
        return self.rng.uniform(lo, hi, (BOXES, POINTS))

    def force(self, load: Load, acceleration: float) -> Any:
        """m a + m g (sin + mu cos) + drag + process (Oriental Motor, load torque formulas)."""
        if load.rotary:
            return load.mass * acceleration + load.process_force
        mu = sum(self(g, "friction") for g in load.guides)
        drag = sum(self(g, "drag") for g in load.guides)
        weight = load.mass * G * (np.sin(load.incline) + mu * np.cos(load.incline))
        return load.mass * acceleration + weight + drag + load.process_force

    def stage(self, role: str, kind: str) -> tuple[Any, Any]:
        """Advance (m/rad or rad/rad) and efficiency of one stage."""
        if kind == "pulley":
            return self(role, "belt_pitch") * self(role, "teeth") / (2 * np.pi), self.band(0.85, 0.95)
        if kind == "gear":
            return self(role, "module") * self(role, "teeth") / 2, self.band(0.85, 0.95)
        if kind == "roller":
            return self(role, "diameter") / 2, self.band(0.8, 0.95)
        if kind == "worm set":
            # tan l (1 - f' tan l)/(tan l + f'), f' = f/cos(20 deg): Shigley eq. 13-46, from memory
            slope, grip = np.tan(self(role, "lead_angle")), self(role, "friction") / np.cos(np.radians(20))
            return 1 / self(role, "ratio"), slope * (1 - grip * slope) / (slope + grip)
        if kind == "lead screw":
            return self(role, "lead") / (2 * np.pi), self.screw(role)
        return 1.0, 1.0

    def screw(self, role: str) -> Any:
        """Raising efficiency of a thread (Shigley eq. 8-4, from memory), flanks from square to metric."""
        mean = np.pi * self(role, "diameter") * self.band(0.85, 0.95)
        grip = self(role, "friction") / np.cos(np.radians(self.band(0, 30)))
        lead = self(role, "lead")
        return np.maximum(lead / mean * (mean - grip * lead) / (lead + grip * mean), 0.0)

    def train(self, train: Train) -> tuple[Any, Any, Any]:
        """Advance, efficiency and speed of the motor."""
        advance, efficiency = 1.0, 1.0
        for stage in train.stages:
            a, e = self.stage(stage.role, self.points[stage.role].boxes.kind)
            advance, efficiency = advance * a, efficiency * e
        return advance, efficiency, train.load.speed / advance

    def torque(self, train: Train, acceleration: float) -> Any:
        advance, efficiency, _ = self.train(train)
        with np.errstate(divide="ignore"):
            moved = self.force(train.load, acceleration) * advance / efficiency
        return moved + self(train.motor, "rotor_inertia") * acceleration / advance


def held(part: Interval, figure: Any, check: Check) -> None:
    """Every figure lies within the interval of its box."""
    lo, hi = (np.broadcast_to(end, figure.shape) for end in (part.lo, part.hi))
    outside = (figure < lo * (1 - SLACK) - SLACK) | (figure > hi * (1 + SLACK) + SLACK)
    assert not outside.any(), f"{check}: {figure[outside][0]} not in {lo[outside][0]}..{hi[outside][0]}"


def setting(name: str, seed: int) -> tuple[list[Check], dict[str, Any], Truth]:
    rng = np.random.default_rng(seed)
    graph, checks = checks_of(PLANS[name], rng)
    boxes = all_boxes(graph, BOXES, rng)
    return checks, boxes, Truth({r: Points(b, POINTS, rng) for r, b in boxes.items()}, rng)


def chopper(t: Truth, motor: str, driver: str, volts: Any, speed: Any) -> Any:
    """Two-phase synchronous machine in steady state, blended with the current limit, less detent."""
    hold, rated = t(motor, "holding_torque"), t(motor, "rated_current")
    k = hold / (np.sqrt(2) * rated)
    ohms, henry = t(motor, "resistance"), t(motor, "inductance")
    factor = np.where(t(motor, "frame_width") > 0.070, 1.5, 1.0)
    reactance = factor * (np.pi / 2 / t(motor, "step_angle")) * speed * henry
    z2 = ohms**2 + reactance**2
    by_volts = np.maximum(k * (volts / np.sqrt(z2) - k * speed * ohms / z2), 0.0)
    by_current = k * np.minimum(t(driver, "peak_current"), rated)
    with np.errstate(divide="ignore", over="ignore"):
        both = np.where(by_volts > 0, (by_current**-4 + by_volts**-4) ** -0.25, 0.0)
    regulates = volts >= 1.5 * np.minimum(t(driver, "peak_current"), rated) * ohms
    return np.where(regulates, np.maximum(both - t(motor, "detent_torque"), 0.0), 0.0)


def constant_voltage(t: Truth, motor: str, driver: str, volts: Any, speed: Any) -> Any:
    """As the chopper's voltage limit at 4V/pi, a series resistor added to R, capped at 0.707 of holding.

    The resistor holds the current to what motor and driver both stand: nothing else does.
    """
    hold, rated = t(motor, "holding_torque"), t(motor, "rated_current")
    k, amps = hold / (np.sqrt(2) * rated), np.minimum(rated, t(driver, "peak_current"))
    volts = np.maximum(volts - t(driver, "voltage_drop"), 0.0)
    ohms = np.maximum(t(motor, "resistance"), volts / amps)
    factor = np.where(t(motor, "frame_width") > 0.070, 1.5, 1.0)
    reactance = factor * (np.pi / 2 / t(motor, "step_angle")) * speed * t(motor, "inductance")
    z2 = ohms**2 + reactance**2
    torque = np.maximum(k * (4 / np.pi * volts / np.sqrt(z2) - k * speed * ohms / z2), 0.0)
    capped = np.minimum(torque, hold * amps / rated / np.sqrt(2))
    return np.maximum(capped - t(motor, "detent_torque"), 0.0)


DRIVES = {"stepper driver": chopper, "unipolar driver": constant_voltage}


@pytest.mark.parametrize("name", STEPPERS)
@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=8, deadline=None)
def test_stepper_torque_and_its_need(name: str, seed: int) -> None:
    checks, boxes, t = setting(name, seed)
    check = next(c for c in checks if isinstance(c, steppers.StepperTorque))
    judged, train = check.judge(boxes), check.train
    held(judged.need, train.load.safety * t.torque(train, train.load.acceleration), check)
    if "one unit" in PLANS[name].functions["power"]:
        model = DRIVES[boxes[train.driver].kind]
        volts = t("power.supply", "voltage.low")
        held(judged.have, model(t, train.motor, train.driver, volts, t.train(train)[2]), check)


@pytest.mark.parametrize("name", BRUSHED)
@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=4, deadline=None)
def test_dc_torque_heat_and_stall(name: str, seed: int) -> None:
    """T = eta (K (V - K w)/R - K I0), K and w at the output shaft; the driver's current caps it."""
    checks, boxes, t = setting(name, seed)
    check = next(c for c in checks if isinstance(c, drives.DCTorque))
    train, motor, driver = check.train, check.train.motor, check.train.driver
    k, ohms, free = t(motor, "output_constant"), t(motor, "resistance"), t(motor, "no_load_current")
    gears = t(motor, "gear_efficiency")
    need = t.torque(train, train.load.acceleration)
    held(check.judge(boxes).need, 1.5 * need, check)
    steady = next(c for c in checks if isinstance(c, drives.MotorHeat))
    held(steady.judge(boxes).need, heating(t, train, k * gears, free), steady)
    if "one unit" in PLANS[name].functions["power"]:
        volts = np.maximum(t("power.supply", "voltage.low") - t(driver, "voltage_drop"), 0.0)
        amps = np.minimum((volts - k * t.train(train)[2]) / ohms, t(driver, "peak_current")) - free
        held(check.judge(boxes).have.maximum(0.0), np.maximum(gears * k * amps, 0.0), check)


def heating(t: Truth, train: Train, per_ampere: Any, free: Any) -> Any:
    """RMS over one move from end to end by SciPy's integration, at a few points; others the pieces' mean.

    Current is torque over constant plus the free current; speeding up adds, slowing down takes away.
    """
    load = train.load
    advance, efficiency, _ = t.train(train)
    steady = t.force(load, 0.0) * advance / efficiency / per_ampere + free
    more = load.mass * load.acceleration * advance / efficiency
    more = (more + t(train.motor, "rotor_inertia") * load.acceleration / advance) / per_ampere
    if load.rotary:
        return steady
    peak = float(min(load.speed, np.sqrt(load.travel * load.acceleration)))
    ramp = peak / load.acceleration
    total = 2 * ramp + max(load.travel - peak * ramp, 0.0) / peak

    def square(time: float, run: float, extra: float) -> float:
        return float((run + extra * (int(time < ramp) - int(time > total - ramp))) ** 2)

    mean = (ramp * ((steady + more) ** 2 + (steady - more) ** 2) + (total - 2 * ramp) * steady**2) / total
    for at in ((0, 0), (1, 1)):
        run, extra = (np.broadcast_to(v, mean.shape)[at] for v in (steady, more))
        found = integrate.quad(square, 0, total, args=(run, extra), points=[ramp, total - ramp])[0] / total
        assert found == pytest.approx(mean[at], rel=1e-6)
    return np.sqrt(mean)


@given(seed=st.integers(0, 2**32 - 1), name=st.sampled_from(STEPPERS))
@settings(max_examples=15, deadline=None)
def test_a_steppers_supply_current_is_a_power_balance(seed: int, name: str) -> None:
    """(2 x (I/sqrt2)^2 R + mechanical power)/efficiency over volts: both phases, sine, I the peak."""
    checks, boxes, t = setting(name, seed)
    check = next(
        c
        for c in checks
        if isinstance(c, power.RailCurrent) and isinstance(c.consumers[0], power.StepperConsumer)
    )
    consumer = check.consumers[0]
    train = consumer.train
    if boxes[train.driver].kind != "stepper driver":
        return
    amps = np.minimum(t(train.motor, "rated_current"), t(train.driver, "peak_current"))
    moving = t.torque(train, train.load.acceleration) * t.train(train)[2]
    volts = t.band(3.0, 60.0)
    drawn = (amps**2 * t(train.motor, "resistance") + moving) / t.band(0.85, 0.95) / volts
    held(consumer.current(boxes, Interval(3.0, 60.0)), drawn, check)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=15, deadline=None)
def test_junction_temperature_behind_a_switch_mode_front_end(seed: int) -> None:
    """T = Ta + P Rsa + P/n (Rjc + Rcs), P = (Vin - lowest output) I; common practice, no source."""
    checks, boxes, t = setting("switch-mode, regulator and pass transistor", seed)
    check = next(c for c in checks if isinstance(c, lab.JunctionHeat))
    out = check.output
    heat = np.maximum(t("output.supply", "voltage.low") - out.lowest_voltage, 0.0) * out.current
    sharing = np.where(t(check.part, "devices") > 1, 0.8 * t(check.part, "devices"), 1.0)
    each = (t(check.part, "thermal_resistance_jc") + t.band(0.3, 1.0)) / sharing
    judged = check.judge(boxes)
    held(judged.need, heat * (t(check.sink, "thermal_resistance") + each), check)
    held(judged.have, t(check.part, "max_junction") - out.ambient - 25, check)
    regulator = next(c for c in checks if isinstance(c, lab.RegulatorHeat))
    through = t(regulator.regulator, "thermal_resistance_jc") + t.band(0.3, 1.0)
    rise = heat * (t(check.sink, "thermal_resistance") + through / t(check.part, "current_gain"))
    held(regulator.judge(boxes).need, rise, regulator)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=15, deadline=None)
def test_safe_area_behind_a_switch_mode_front_end(seed: int) -> None:
    """Least of rating, derated power over volts, and a power law from the knee on; none above the limit.

    P = P0 (Tj - Tc)/(Tj - 25 degC); shape of the chart as in data sheets of the 2N3055 class, from memory.
    """
    checks, boxes, t = setting("switch-mode, regulator and pass transistor", seed)
    check = next(c for c in checks if isinstance(c, lab.SafeArea))
    out, part = check.output, check.part
    sharing = np.where(t(part, "devices") > 1, 0.8 * t(part, "devices"), 1.0)
    volts = np.maximum(t("output.supply", "voltage.low") - out.lowest_voltage, 0.1)
    heat = np.maximum(t("output.supply", "voltage.low") - out.lowest_voltage, 0.0) * out.current
    case = out.ambient + heat * (t(check.sink, "thermal_resistance") + t.band(0.3, 1.0) / sharing)
    left = (t(part, "max_junction") - case) / (t(part, "max_junction") - 298.15)
    watts = t(part, "max_power") * np.clip(left, 0.0, 1.0)
    knee = t(part, "full_power_voltage")
    line = watts / knee * (knee / volts) ** t.band(1.5, 2.5)
    amps = np.minimum(np.minimum(t(part, "max_current"), watts / volts), line)
    held(check.judge(boxes).have, np.where(volts <= t(part, "max_voltage"), amps, 0.0), check)


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=15, deadline=None)
def test_rods_bend_as_beams_on_two_supports(seed: int) -> None:
    """F L^3 / (48 E pi d^4/64), half the weight on each of two rods of steel, 200 GPa; textbook formula."""
    checks, boxes, t = setting("stepper and belt", seed)
    check = next(c for c in checks if isinstance(c, guides.RodSag))
    second = np.pi * t(check.rod, "diameter") ** 4 / 64
    sag = check.mass * G / 2 * check.span**3 / (48 * 200e9 * second)
    shear = check.mass * G / 2 * check.span / (4 * 0.8864 * 79e9 * np.pi / 4 * t(check.rod, "diameter") ** 2)
    found = check.judge(boxes).have
    held(Interval(np.asarray(found.lo) * 0.9999, np.asarray(found.hi) * 1.0001), sag + shear, check)


@pytest.mark.parametrize("name", STEPPERS[:3])
@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=6, deadline=None)
def test_a_load_that_slides_back_pulls_through_the_stage(name: str, seed: int) -> None:
    """m g (sin - mu cos) less drag, times the share that the stage lets through backwards."""
    checks, boxes, t = setting(name, seed)
    check = next(c for c in checks if isinstance(c, strength.HoldsUnpowered))
    load, stage = check.train.load, check.train.stages[0]
    mu = sum(t(g, "friction") for g in load.guides)
    drag = sum(t(g, "drag") for g in load.guides)
    slides = np.maximum(load.mass * G * (np.sin(load.incline) - mu * np.cos(load.incline)) - drag, 0.0)
    share = t.band(0.85, 0.95)
    if t.points[stage.role].boxes.kind == "lead screw":
        # lowering torque of Shigley eq. 8-2, from memory, over that without friction; zero where it locks
        mean = np.pi * t(stage.role, "diameter") * t.band(0.85, 0.95)
        grip = t(stage.role, "friction") * t.band(0.0, 1.0) / np.cos(np.radians(t.band(0, 30)))
        lead = t(stage.role, "lead")
        locks = t(stage.role, "friction") * mean / np.cos(np.radians(30)) >= lead
        share = np.maximum(mean / lead * (lead - grip * mean) / (mean + grip * lead), 0.0)
        share = np.where(locks, 0.0, share)
    advance = t.train(check.train)[0]
    held(check.judge(boxes).need, slides * advance * share, check)
