"""What a check adds in words where no verdict can be given: said where it applies, and only there.

The figures in the words are worked out again here from the textbook formulas named beside them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from boxes import TRANSFORMER, all_boxes, demands_of, graph_of, known_set, plans

from fitter.checks import drives, power, signals, steppers
from fitter.checks.base import Check
from fitter.checks.find import find_checks
from fitter.intervals import Interval
from fitter.units import show

PLANS = {p.name: p for p in plans()}
Values = Mapping[tuple[str, str], float]
RECTIFIED = next(p.name for p in plans() if p.functions.get("power", ("", ""))[1] == TRANSFORMER)
BELT: Values = {
    ("axis", "mass"): 4.0,
    ("axis", "speed"): 0.4,
    ("axis", "acceleration"): 0.1,
    ("axis", "incline"): 0.0,
    ("axis.driver", "bipolar"): 1,
    ("axis.driver", "chopper"): 1,
    ("axis.driver", "microsteps"): 1,
    ("axis.driver", "peak_current"): 2.0,
    ("axis.driver", "supply_voltage.max"): 35.0,
    ("axis.motor", "step_angle"): math.radians(1.8),
    ("axis.motor", "holding_torque"): 0.5,
    ("axis.motor", "rotor_inertia"): 6e-6,
    ("axis.motor", "rated_current"): 1.5,
    ("axis.motor", "resistance"): 2.0,
    ("axis.pulley", "teeth"): 20,
    ("axis.pulley", "belt_pitch"): 2e-3,
    ("power.supply", "voltage.low"): 24.0,
    ("power.supply", "voltage.high"): 24.0,
}
RADIUS = 0.040 / (2 * math.pi)  # of that pulley, m


def said(kind: type[Check], plan_name: str, values: Values, role: str = "") -> str:
    """What the first check of a class says of a set."""
    kinds = {"axis.driver": "stepper driver", "power.supply": "switch-mode supply"}
    graph, parts = known_set(PLANS[plan_name], values, 3, kinds if "stepper" in plan_name else {})
    check = next(c for c in find_checks(graph) if isinstance(c, kind) and role in "".join(c.roles))
    return check.explained(parts, check.judge(parts))


def test_resonance_in_full_steps_and_not_in_microsteps() -> None:
    """sqrt(p T / J) / (2 pi) steps a second, J of rotor and load: small swings about a step, textbook."""
    inertia = 6e-6 + 4.0 * RADIUS**2
    speed = math.sqrt(50 * 0.5 / inertia) / (2 * math.pi) * math.radians(1.8)
    text = said(steppers.StepperTorque, "stepper and belt", BELT)
    assert f"resonance near {show(speed, 'angular_speed')}" in text
    smooth = {**BELT, ("axis.driver", "microsteps"): 16}
    assert "resonance" not in said(steppers.StepperTorque, "stepper and belt", smooth)


def test_what_braking_gives_back_and_the_capacitor_that_takes_it() -> None:
    """J w^2/2 + m v^2/2 = 2 E / (Vmax^2 - V^2) in the capacitor: conservation of energy."""
    fast = {**BELT, ("axis", "mass"): 30.0}
    energy = 0.5 * 30.0 * 0.4**2 + 0.5 * 6e-6 * (0.4 / RADIUS) ** 2
    farads = 2 * energy / (35.0**2 - 24.0**2)
    text = said(steppers.StepperTorque, "stepper and belt", fast)
    assert f"gives back up to {show(energy, 'energy')}: {show(farads, 'capacitance')}" in text
    slow = {**BELT, ("axis", "speed"): 0.05}
    assert "gives back" not in said(steppers.StepperTorque, "stepper and belt", slow)


def test_a_supply_below_what_a_chopper_needs_is_named() -> None:
    """2 A in 10 ohm drop 20 V; a chopper wants 1.5 times that. Set to the driver's 1 A, 24 V do."""
    weak = {**BELT, ("axis.motor", "rated_current"): 2.0, ("axis.motor", "resistance"): 10.0}
    text = said(steppers.StepperTorque, "stepper and belt", weak)
    assert f"I x R of {show(20.0, 'voltage')} uses up the supply of {show(24.0, 'voltage')}" in text
    held = {**weak, ("axis.driver", "peak_current"): 1.0}
    assert "I x R" not in said(steppers.StepperTorque, "stepper and belt", held)


def test_the_resistor_of_a_drive_without_current_control() -> None:
    """(24 V - 1 V) / 0.5 A - 5 ohm = 41 ohm."""
    plain = {
        **BELT,
        ("axis.driver", "chopper"): 0,
        ("axis.driver", "voltage_drop"): 1.0,
        ("axis.motor", "rated_current"): 0.5,
        ("axis.motor", "resistance"): 5.0,
    }
    text = said(steppers.StepperTorque, "stepper and belt", plain)
    assert f"{show(41.0, 'resistance')} in series with each coil" in text


def test_minimum_load_and_drift_where_a_unit_has_several_rails() -> None:
    several = {**BELT, ("power.supply", "rails"): 3}
    single = {**BELT, ("power.supply", "rails"): 1}
    assert "several rails" in said(power.RailCurrent, "stepper and belt", several, "power.supply")
    assert "several rails" not in said(power.RailCurrent, "stepper and belt", single, "power.supply")


def test_a_coil_that_lives_by_its_pauses_is_told_how_long() -> None:
    """Made for 12 V at 10 % on: on all the time it stands 12 V x sqrt(0.1) x 1.1 = 4.2 V."""
    plan = next(p.name for p in plans() if p.functions["axis"][0] == "linear_axis" and "stepper" in p.name)
    coil = {("brake", "duty"): 0.1, ("brake.coil", "duty"): 0.1, ("brake.coil", "rated_voltage"): 12.0}
    hot = {**coil, ("power.supply", "voltage.high"): 12.0}
    cool = {**coil, ("power.supply", "voltage.high"): 4.0}
    assert "five minutes" in said(signals.CoilHeat, plan, hot, "brake.coil")
    assert said(signals.CoilHeat, plan, cool, "brake.coil") == ""


def test_the_load_at_which_a_trough_is_taken_is_said() -> None:
    text = said(drives.LowestVoltage, RECTIFIED, {}, "axis.driver")
    assert "all the transformer gives" in text
    assert said(drives.LowestVoltage, "stepper and belt", BELT, "axis.driver") == ""


def test_less_drawn_never_lowers_the_trough() -> None:
    """The full current bounds what less would leave: I/(2 f C) rises with I. Judge: definition of a bound."""
    rng = np.random.default_rng(4)
    graph = graph_of(PLANS[RECTIFIED], demands_of(PLANS[RECTIFIED], rng))
    parts = all_boxes(graph, 200, rng)
    check = next(c for c in find_checks(graph) if isinstance(c, drives.LowestVoltage) and "axis" in str(c))
    rail: Any = check.rail
    full = rail.current(parts)
    for share in (0.0, 0.1, 0.5, 0.99):
        less = rail.low_at(parts, Interval(full.lo * share, full.hi * share))
        assert (less.lo >= rail.low(parts).lo - 1e-9).all()
    half = rail.low_at(parts, Interval(full.lo / 2, full.hi / 2))
    assert (half.lo > rail.low(parts).lo + 0.1).any()
