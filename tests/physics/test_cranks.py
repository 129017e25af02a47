"""Cranks against their own geometry, worked out anew: positions, virtual work and differences."""

from __future__ import annotations

import numpy as np
import pytest

from fitter.physics import cranks

ANGLES = np.linspace(0.0, 2 * np.pi, 20001)


def place(radius: float, rod: float) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Where the far pin stands at each angle of the crank."""
    return np.asarray(radius * np.cos(ANGLES) + np.sqrt(rod**2 - (radius * np.sin(ANGLES)) ** 2))


@pytest.mark.parametrize(("radius", "rod"), [(0.03, 0.15), (0.02, 0.06), (0.05, 0.1), (0.01, 1.0)])
def test_torque_by_virtual_work(radius: float, rod: float) -> None:
    """T da = F dx: the bound lies above the true peak, and by little."""
    peak = np.abs(np.gradient(place(radius, rod), ANGLES)).max() * 10.0
    bound = cranks.crank_torque(10.0, radius, rod)
    assert peak <= bound <= 1.035 * peak
    if rod >= 3 * radius:
        assert bound <= 1.011 * peak


@pytest.mark.parametrize(("radius", "rod"), [(0.03, 0.15), (0.02, 0.08)])
def test_swinging_a_mass_by_second_differences(radius: float, rod: float) -> None:
    at = place(radius, rod)
    bent = np.gradient(np.gradient(at, ANGLES), ANGLES)
    worst = np.abs(bent[2:-2]).max() * 2.0 * 4.0**2
    assert cranks.inertia_force(2.0, radius, rod, 4.0) == pytest.approx(worst, rel=0.02)
