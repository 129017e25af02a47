"""Sets that no bench would pass: among all checks of their graph at least one must fail.

Each case is worked out by hand in its docstring; parts are exact, and everything but the point in
question is ample. A case that still slips through is a strict xfail with its reason.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from boxes import ONE_SUPPLY, demands_of, graph_of, plans

from fitter.checks.base import Verdict
from fitter.checks.find import find_checks
from fitter.intervals import Interval

PLANS = {p.name: p for p in plans()}
Figures = Mapping[str, float]

AMPLE: dict[str, Figures] = {
    "axis.motor": {
        "bipolar": 1, "rated_current": 4.0, "resistance": 0.4, "inductance": 3e-3, "holding_torque": 8.0,
        "detent_torque": 0.05, "rotor_inertia": 2e-4, "frame_width": 0.086, "step_angle": np.radians(1.8),
        "shaft_diameter": 0.008, "output_constant": 0.05, "gear_efficiency": 1.0, "no_load_current": 0.05,
        "gear_torque_limit": np.inf, "continuous_current": 8.0, "self_locking": 0,
    },
    "axis.driver": {
        "bipolar": 1, "chopper": 1, "peak_current": 50.0, "voltage_drop": 0.0, "microsteps": 16,
        "supply_voltage.min": 8.0, "supply_voltage.max": 80.0, "logic_voltage.min": 3.0,
        "logic_voltage.max": 5.5, "continuous_current": 50.0, "current_limit": 1,
    },
    "axis.pulley": {"belt_pitch": 0.002, "teeth": 20, "bore": 0.008, "width": 0.007},
    "axis.idler": {"belt_pitch": 0.002, "teeth": 20, "bore": 0.008, "width": 0.007},
    "axis.belt": {"belt_pitch": 0.002, "width": 0.006, "length": 4.0, "working_force": 5000.0},
    "axis.coupler": {"bore_a": 0.008, "bore_b": 0.008, "torque": 50.0},
    "axis.screw": {"diameter": 0.008, "lead": 0.002, "length": 1.1, "nut": 1, "friction": 0.15},
    "axis.worm": {"ratio": 10.0, "lead_angle": np.radians(25), "friction": 0.05, "bore": 0.008},
    "axis.encoder": {"line_pitch": 1e-5, "length": 4.0},
    "guide.rods": {"diameter": 0.03, "length": 4.0},
    "guide.bushes": {"bore": 0.03, "friction": 0.005, "drag": 0.0, "load": 500.0},
    "guide.slides": {
        "travel": 4.0, "load": 500.0, "play": 0.0, "closed_length": 0.1, "friction": 0.005, "drag": 0.0,
    },
    "power.supply": {
        "voltage.low": 48.0, "voltage.high": 48.0, "current": 100.0, "unit_power": np.inf, "unit": -1,
        "rail": 0, "free_outputs": 1,
    },
}  # fmt: skip
AXIS = {
    "travel": 0.9, "mass": 1.0, "speed": 5e-3, "acceleration": 0.01, "incline": 0.0, "resolution": 1e-3,
    "process_force": 0.0, "carriage_length": 0.05,
}  # fmt: skip


class Exact:
    """A part of which everything is known."""

    def __init__(self, figures: Figures) -> None:
        self.figures = figures

    def __getitem__(self, rating: str) -> Interval:
        return Interval.point(float(self.figures[rating]))


def verdicts(name: str, asked: Figures, **changed: Figures) -> dict[str, Verdict]:
    """Verdict of every check of the axis: its name and the worst verdict under that name."""
    plan = replace(PLANS[name], functions={**PLANS[name].functions, "power": ("supply", ONE_SUPPLY)})
    demands = demands_of(plan, np.random.default_rng(0))
    demands["axis"] |= {**AXIS, **asked} if plan.functions["axis"][0] == "linear_axis" else dict(asked)
    if "guide" in demands:
        demands["guide"] |= {"mass": demands["axis"]["mass"], "travel": 0.9, "max_sag": 0.01}
        demands["guide"] |= {"carriage_length": 0.05, "max_closed_length": 1.0}
    parts: dict[str, Any] = {
        r: Exact({**f, **changed.get(r.partition(".")[2], {})}) for r, f in AMPLE.items()
    }
    found: dict[str, Verdict] = {}
    rank = [Verdict.FITS, Verdict.UNPROVEN, Verdict.FAILS]
    for check in find_checks(graph_of(plan, demands)):
        if check.name == "condition" or not set(check.roles) <= set(parts):
            continue
        verdict = check.judge(parts).verdict
        found[check.name] = max(verdict, found.get(check.name, Verdict.FITS), key=rank.index)
    return found


def failing(found: Mapping[str, Verdict]) -> set[str]:
    """Names of checks that fail, the ample motor's detent aside."""
    return {n for n, verdict in found.items() if verdict is Verdict.FAILS} - {"holds without power"}


@pytest.mark.parametrize("name", ["stepper and belt", "stepper and screw", "DC motor and belt with encoder"])
def test_an_ample_axis_passes_every_check(name: str) -> None:
    """Or the cases below would mean nothing."""
    found = verdicts(name, {})
    assert "torque at speed" in found
    assert not failing(found)


def test_a_weak_array_with_a_strong_motor_needs_its_resistor() -> None:
    """1.4 A motor, 0.35 A array without current control: a quarter of the current, a quarter of the torque.

    Held at 0.35 A the motor gives 0.3 N m x 0.707 / 4 = 53 mN m less a detent of 10; asked for is twice
    5 N x 6.4 mm / 0.9 = 71 mN m, which the motor at its rated current would give three times over.
    """
    motor = {
        "bipolar": 0,
        "rated_current": 1.4,
        "resistance": 2.1,
        "holding_torque": 0.3,
        "frame_width": 0.042,
        "detent_torque": 0.01,
    }
    array = {"bipolar": 0, "chopper": 0, "peak_current": 0.35, "voltage_drop": 1.0}
    found = verdicts("stepper and belt", {"process_force": 5.0}, motor=motor, driver=array)
    assert "torque at speed" in failing(found)


def test_a_bridge_must_carry_the_running_current_for_hours() -> None:
    """40 N x 6.4 mm / 0.9 = 0.28 N m at 0.05 N m/A draws 5.7 A; the bridge is good for 0.5 A for hours."""
    bridge = {"continuous_current": 0.5, "peak_current": 20.0}
    found = verdicts("DC motor and belt with encoder", {"process_force": 40.0}, driver=bridge)
    assert "driver current for hours" in failing(found)


def test_a_narrow_belt_does_not_lift_thirty_kilograms() -> None:
    """294 N on a 6 mm belt of 2 mm pitch, which carries 10 to 30 N for long (common practice, no source)."""
    belt = {"working_force": 30.0}
    found = verdicts("stepper and belt", {"mass": 30.0, "incline": np.pi / 2}, belt=belt)
    assert "pull on the belt" in failing(found)


def test_a_long_thin_screw_buckles_under_a_heavy_load() -> None:
    """Euler, pinned ends: pi^2 x 200 GPa x pi (6 mm)^4 / 64 / (1.1 m)^2 = 104 N, under 981 N of load."""
    found = verdicts("stepper and screw", {"mass": 100.0, "incline": np.pi / 2, "speed": 1e-3})
    assert "buckling of the screw" in failing(found)


def test_a_rotary_axis_that_must_hold_is_held_by_something() -> None:
    """5 N m on a worm of 25 degrees, which does not lock, 10 to 1: 0.4 N m reach a motor that holds 0.05."""
    load = {
        "torque": 5.0,
        "speed": 0.5,
        "inertia": 1e-4,
        "acceleration": 0.1,
        "resolution": 0.01,
        "shaft": 8e-3,
    }
    found = verdicts("stepper and worm", load)
    assert found["holds without power"] is Verdict.FAILS


def test_a_rail_below_the_least_voltage_asked_for_fails() -> None:
    """12 V asked of a supply that falls to 11.4 V under load; asked for nothing, nothing is checked."""
    plan = replace(PLANS["stepper and belt"], functions={"power": ("supply", ONE_SUPPLY)}, references={})
    supply: Any = {"power.supply": Exact({"voltage.low": 11.4})}
    found = {}
    for least in (0.0, 11.0, 12.0):
        checks = find_checks(graph_of(plan, {"power": {"least_voltage": least}}))
        found[least] = [c.judge(supply).verdict for c in checks if c.name == "voltage of the rail"]
    assert found == {0.0: [], 11.0: [Verdict.FITS], 12.0: [Verdict.FAILS]}
