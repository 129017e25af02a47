"""Fans, hot wires and endless belts against published values.

Sources: CRC Handbook of Chemistry and Physics, section 12 (15-12-86), wire tables at 20 degC: nichrome of
79 % Ni and 21 % Cr has 107.5e-8 ohm m, with ohm per metre by gauge; N. R. Murphy Ltd., "Fan laws": delivery
goes with speed, pressure with its square.
"""

from __future__ import annotations

from math import asin, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitter.kinds import KINDS
from fitter.physics import belts, fans, heaters, wires
from fitter.ratings import parse_choice, parse_rating

NICHROME = 107.5e-8
CRC = [(8.252e-3, 0.0201), (6.543e-3, 0.0320)]  # diameter, ohm of one metre; gauges 0 and 2


@pytest.mark.parametrize(("diameter", "ohms"), CRC)
def test_nichrome_wire_tables(diameter: float, ohms: float) -> None:
    area = pi / 4 * diameter**2
    assert wires.wire_resistance(1.0, area, NICHROME) == pytest.approx(ohms, abs=0.00006)


def test_grades_hold_the_published_resistivities() -> None:
    for alloy, published in (("nickel-chromium", NICHROME), ("copper-nickel", 45.38e-8)):
        low, high = heaters.RESISTIVITY[alloy]
        assert low <= published <= high


def test_ohms_of_a_wire_follow_from_its_size() -> None:
    """One metre of 0.4 mm: 1.075e-6 / (pi/4 x 0.16e-6) = 8.55 ohm."""
    kind = KINDS["resistance wire"]
    spec = kind.ratings["alloy"]
    known = {
        "alloy": parse_choice("nickel-chromium", spec.choices),
        "diameter": parse_rating("0.4 mm, measured", "length"),
        "length": parse_rating("1 m, measured", "length"),
    }
    found = kind.complete(known)["resistance"]
    assert found.lo < 8.555 < found.hi < 1.4 * found.lo


@given(power=st.floats(0.1, 200), ohms=st.floats(0.1, 100))
def test_volts_times_amperes_are_the_power(power: float, ohms: float) -> None:
    volts, amps = heaters.voltage_for_power(power, ohms), heaters.current_for_power(power, ohms)
    assert volts * amps == pytest.approx(power)
    assert volts == pytest.approx(amps * ohms)


@pytest.mark.parametrize(("watts", "ohms", "volts"), [(8.0, 10.7, 9.25), (30.0, 4.3, 11.36)])
def test_hot_wire_by_hand(watts: float, ohms: float, volts: float) -> None:
    """Half a metre at 16 and 60 W/m: sqrt(P R), own arithmetic."""
    assert heaters.voltage_for_power(watts, ohms) == pytest.approx(volts, abs=0.01)


@given(ratio=st.floats(0.3, 1.2), share=st.floats(0, 1))
def test_fan_laws(ratio: float, share: float) -> None:
    """A point of the curve moves with the speed and its square."""
    at_rated = fans.flow_at_pressure(0.05, 80.0, 1.0, 80.0 * share)
    slowed = fans.flow_at_pressure(0.05, 80.0, ratio, 80.0 * share * ratio**2)
    assert slowed == pytest.approx(at_rated * ratio, abs=1e-12)


def test_ends_of_a_fan_curve() -> None:
    assert fans.flow_at_pressure(0.05, 80.0, 1.0, 0.0) == 0.05
    assert fans.flow_at_pressure(0.05, 80.0, 1.0, 80.0) == 0.0
    assert fans.flow_at_pressure(0.05, 80.0, 0.5, 30.0) == 0.0


def test_the_shortest_endless_belt() -> None:
    """Equal pulleys that touch: a turn of one and twice the diameter; 60 and 20 teeth by the exact geometry.

    Straight runs 2 sqrt(r1 r2) each, arcs pi + 2 a and pi - 2 a with sin a = (r1 - r2)/(r1 + r2): textbook.
    """
    d = 40e-3 / pi
    assert belts.least_loop(2e-3, 20, 20) == pytest.approx(40e-3 + 2 * d)
    r1, r2 = 60e-3 / pi, 20e-3 / pi
    a = asin((r1 - r2) / (r1 + r2))
    exact = 4 * sqrt(r1 * r2) + r1 * (pi + 2 * a) + r2 * (pi - 2 * a)
    assert belts.least_loop(2e-3, 60, 20) == pytest.approx(exact, rel=0.03)
