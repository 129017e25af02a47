"""Functions worked out by hand: what their demands come to at the load. Own arithmetic."""

from __future__ import annotations

import math
from typing import Any

import pytest

from fitter.checks.motion import Load
from fitter.functions import FUNCTIONS, Sketch


def load_of(what: str, principle: str, **arguments: Any) -> Load:
    """The load that a principle moves, its other arguments left at their defaults."""
    sketch = Sketch("it")
    given = dict.fromkeys(FUNCTIONS[what].arguments) | arguments
    FUNCTIONS[what].principles[principle].build(sketch, given)
    return next(iter(sketch.loads.values()))


def test_a_syringe_by_hand() -> None:
    """60 ml in 26.6 mm: 556 mm2; 5 ml/min are 0.15 mm/s, and 108 mm hold it all."""
    load = load_of(
        "dose",
        "stepper and screw",
        bore=26.6e-3,
        volume=60e-6,
        flow=5e-6 / 60,
        smallest_dose=1e-8,
        force=80.0,
    )
    assert load.travel == pytest.approx(0.108, rel=0.001)
    assert load.speed == pytest.approx(0.15e-3, rel=0.001)
    assert load.resolution == pytest.approx(18e-6, rel=0.001)


def test_a_tumbler_by_hand() -> None:
    """0.3 x 1.5 kg x 9.81 at the rim of 100 mm: 0.22 N m, at 60 turns a minute 1.4 W (common: 1 to 3 W)."""
    load = load_of("roll", "stepper and roller", drum_diameter=0.1, mass=1.5, speed=2 * math.pi)
    assert load.process_force * 0.05 == pytest.approx(0.22, abs=0.005)
    assert load.process_force * load.speed == pytest.approx(1.4, abs=0.05)
    assert load.process_force * 0.008 == pytest.approx(0.035, abs=0.001)  # a roller of 16 mm


def test_a_rover_by_hand() -> None:
    """3 kg up 10 degrees, wheels of 40 mm radius: 1.5 x 9.81 x (0.174 + 0.03) x 0.04 = 0.12 N m each."""
    load = load_of(
        "drive", "gearmotors and wheels", mass=3.0, speed=0.5, slope=math.radians(10), acceleration=0.0,
        rolling_resistance=0.03,
    )  # fmt: skip
    assert load.force({}).hi * 0.04 == pytest.approx(0.12, abs=0.002)  # type: ignore[arg-type]


def test_a_star_tracker_by_hand() -> None:
    """One turn a minute of 1 mm on an arm of 228.56 mm is 15.041 degrees an hour."""
    load = load_of(
        "star_tracker", "steady rate", arm=0.22856, rate=math.radians(15.041) / 3600, mass=2.0,
        exposure=120.0, error=1e-4, session=1200.0,
    )  # fmt: skip
    assert load.speed * 60 == pytest.approx(1e-3, rel=1e-4)


def test_a_tray_rocker_by_hand() -> None:
    """10 N over 40 mm with a long rod: 10 N x 20 mm = 0.2 N m."""
    load = load_of("rock", "stepper and crank", force=10.0, stroke=0.04, rate=2.0, mass=0.0, rod_length=2.0)
    assert load.process_force == pytest.approx(0.2, rel=1e-3)
