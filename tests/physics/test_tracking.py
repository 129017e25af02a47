"""Barn-door trackers against published figures and against small angles.

Sources: astrodigitaal.nl (1.25 turns a minute of a 1 mm rod: 285.69486 mm); iceinspace.com.au, post 1616531
(24 threads an inch, 242 mm, 1 turn a minute: 15.034 seconds of arc a second).
"""

from __future__ import annotations

import math

import pytest

from fitter.physics import tracking

ARCSECOND = math.pi / 180 / 3600


def test_arm_of_a_published_tracker() -> None:
    arm = tracking.arm_for_rate(1.25 / 60, 1e-3, tracking.SIDEREAL_RATE)
    assert arm == pytest.approx(0.28569486, rel=1e-5)


def test_rate_of_a_published_tracker() -> None:
    """Turned round: at that rate the formula asks for that arm."""
    assert tracking.arm_for_rate(1 / 60, 0.0254 / 24, 15.034 * ARCSECOND) == pytest.approx(0.242, rel=1e-4)


@pytest.mark.parametrize("start", [0.0, 600.0, 3000.0])
def test_drift_is_a_third_of_the_cube_for_small_angles(start: float) -> None:
    """x - atan x = x^3/3 - x^5/5 + ...: series of the arctangent."""
    w, t = tracking.SIDEREAL_RATE, 120.0
    cubes = ((w * (start + t)) ** 3 - (w * start) ** 3) / 3
    assert tracking.tangent_drift(w, start, t) == pytest.approx(cubes, rel=0.06)
