"""Rectified generators against a simulation in time, and against Ohm's law.

Judge: sine EMF, resistance and inductance into an ideal bridge with a fixed voltage behind it, stepped
through time until steady. The bridge conducts while current flows, and starts where the EMF exceeds what
stands against it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fitter.checks.sources import HARMONICS, HARMONICS_LOW, LOW_RAIL
from fitter.physics import generators


def simulated(emf: float, resistance: float, reactance: float, volts: float) -> float:
    """Mean power into the fixed voltage over one steady turn of the EMF (1 rad/s)."""
    steps = 4000
    dt = 2 * math.pi / steps
    current, total = 0.0, 0.0
    for n in range(6 * steps):
        drive = emf * math.sin((n + 0.5) * dt)
        against = math.copysign(volts, current if current else drive)
        slope = drive - against - resistance * current
        if current == 0.0 and abs(drive) <= volts:
            slope = 0.0
        after = current + slope * dt / reactance if slope else current
        current = 0.0 if current * after < 0 else after
        if n >= 5 * steps:
            total += abs(current) * volts * dt
    return total / (2 * math.pi)


@pytest.mark.parametrize("reactance", [0.1, 1.0, 10.0])
@pytest.mark.parametrize("share", [0.1, 0.3, LOW_RAIL, 0.65])
def test_first_harmonics_against_a_simulation_in_time(reactance: float, share: float) -> None:
    """True power lies within the bands that the check allows, below and above the low rails."""
    emf = 10.0
    approximate = generators.rectified_power(emf, 1.0, reactance, share * emf, 0.0)
    ratio = simulated(emf, 1.0, reactance, share * emf) / approximate
    assert HARMONICS.lo <= ratio <= HARMONICS.hi
    assert ratio >= HARMONICS_LOW or share > LOW_RAIL


def test_resistive_source_by_hand() -> None:
    """(20 - 40/pi) / 2 = 3.63 A; 2/pi x 10 V x 3.63 A = 23.1 W."""
    assert generators.rectified_power(20.0, 2.0, 0.0, 10.0, 0.0) == pytest.approx(
        2 / math.pi * 10 * (20 - 40 / math.pi) / 2
    )


def test_nothing_below_the_threshold() -> None:
    assert generators.rectified_power(10.0, 1.0, 1.0, 9.0, 0.5) == 0.0
    assert generators.direct_power(5.0, 1.0, 6.0, 0.0) == 0.0


def test_most_direct_power_is_that_of_a_matched_load() -> None:
    """E^2 / (4 R) at half the EMF: maximum power transfer, textbook."""
    volts = np.linspace(0.0, 12.0, 1201)
    best = float(np.max(generators.direct_power(12.0, 2.0, volts, 0.0)))
    assert best == pytest.approx(12.0**2 / (4 * 2.0))
