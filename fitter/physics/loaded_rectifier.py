"""Bridge and reservoir capacitor behind a transformer that gives: bounds that hold up to full load."""

from __future__ import annotations

import math

from fitter.physics._values import Number, cos, larger, power, require, sin, smaller
from fitter.physics.rectifier import SQRT2, ripple_bound


def source_resistance(secondary_voltage: Number, alternating_current: Number, regulation: Number) -> Number:
    """Resistance of a transformer as seen from its secondary.

    ``regulation Vac / Iac``; the primary's share is in it.

    Args:
        secondary_voltage: RMS voltage of the winding at rated load, V.
        alternating_current: rated RMS current of the winding, A.
        regulation: rise from full load to no load over the full-load voltage, ratio.

    Returns:
        Resistance, ohm.

    Raises:
        ValueError: a value below zero, or current not above zero.

    Source:
        Definition of regulation (Talema, application note "Regulation"), resistive winding.

    Example:
        >>> round(source_resistance(secondary_voltage=12.0, alternating_current=2.0, regulation=0.1), 6)
        0.6
    """
    require(secondary_voltage >= 0, "secondary voltage must not be below zero")
    require(alternating_current > 0, "rated current must be above zero")
    require(regulation >= 0, "regulation must not be below zero")
    return regulation * secondary_voltage / alternating_current


def flat_topped_voltage(
    open_voltage: Number, resistance: Number, current: Number, diode_drop: Number = 1.1
) -> Number:
    """DC voltage of a bridge behind a winding resistance, with a capacitor large enough for no ripple.

    Current flows while the sine exceeds the DC voltage: ``I = (2/pi) (Vp / R) (sin a - a cos a)`` with the
    half conduction angle ``a``, and ``V = Vp cos a - 2 Vd``. Solved for ``a``. Zero when the winding cannot
    drive the current. Leakage reactance of up to a third of the resistance does not matter; far more does.

    Args:
        open_voltage: RMS voltage of the winding without load, V.
        resistance: of the source, :func:`source_resistance`, ohm.
        current: DC load current, A.
        diode_drop: forward drop of one diode at the charging peak, V.

    Returns:
        DC voltage, V.

    Raises:
        ValueError: resistance, current or diode drop below zero, or open voltage not above zero.

    Source:
        Steady state of the circuit, derived here; agrees with circuit simulation (ngspice).

    Example:
        >>> round(flat_topped_voltage(12.0, resistance=0.0, current=1.0, diode_drop=0.9), 2)
        15.17
        >>> round(flat_topped_voltage(12.0, resistance=1.2, current=1.0, diode_drop=0.9), 2)
        11.13
    """
    require(open_voltage > 0, "open voltage must be above zero")
    require(resistance >= 0, "resistance must not be below zero")
    require(current >= 0, "current must not be below zero")
    require(diode_drop >= 0, "diode drop must not be below zero")
    peak = SQRT2 * open_voltage
    wanted = smaller(math.pi * current * resistance / (2.0 * peak), 1.0)
    return larger(peak * cos(_half_conduction_angle(wanted)) - 2.0 * diode_drop, 0.0)


def _half_conduction_angle(wanted: Number) -> Number:
    """Solve ``sin a - a cos a = wanted`` for ``a`` in 0..pi/2 by Newton's method from a close start."""
    angle: Number = larger(power(3.0 * wanted, 1.0 / 3.0), 1e-9)
    for _ in range(5):
        sine = sin(angle)
        angle = angle - (sine - angle * cos(angle) - wanted) / (angle * sine)
    return angle


def trough_bound(
    open_voltage: Number,
    resistance: Number,
    current: Number,
    capacitance: Number,
    frequency: Number,
    diode_drop: Number = 1.1,
) -> Number:
    """Lower bound of the DC voltage between two charging peaks of a bridge, flattened top included.

    :func:`flat_topped_voltage` less :func:`ripple_bound`. Rises with open voltage and capacitance, falls
    with resistance and current. Held against 384 simulated circuits (6 to 36 V, ripple bound 2 to 50 %,
    regulation 0.5 to 40 %, leakage reactance up to a third of the resistance); the tests repeat a part.

    Args:
        open_voltage: RMS voltage of the winding without load, V; at low mains for the worst case.
        resistance: of the source, :func:`source_resistance`, ohm.
        current: DC load current, A.
        capacitance: reservoir capacitor, F.
        frequency: mains frequency, Hz.
        diode_drop: forward drop of one diode at the charging peak; 1.1 V is a data sheet's usual maximum, V.

    Returns:
        Least DC voltage, V; below zero when the capacitor may run empty.

    Raises:
        ValueError: as for :func:`flat_topped_voltage` and :func:`ripple_bound`.

    Source:
        Derived here; checked by circuit simulation (ngspice).

    Example:
        >>> round(trough_bound(12.0, 1.2, current=1.0, capacitance=4700e-6, frequency=50.0), 2)
        8.6
    """
    flat = flat_topped_voltage(open_voltage, resistance, current, diode_drop)
    return flat - ripple_bound(current, capacitance, frequency)


def mean_bound(open_voltage: Number, resistance: Number, current: Number, diode_drop: Number = 0.6) -> Number:
    """Upper bound of the mean DC voltage of a loaded bridge, from which a series element makes heat.

    :func:`flat_topped_voltage` with the least drop a silicon diode has: ripple only lowers the mean. Rises
    with open voltage, falls with resistance and current. Held against 720 simulated circuits (0.1 to 3 A,
    6 to 36 V, ripple bound 2 to 50 %, leakage reactance up to the resistance); the tests repeat a part.

    Args:
        open_voltage: RMS voltage of the winding without load, V; at high mains for the worst case.
        resistance: of the source, :func:`source_resistance`, ohm.
        current: DC load current, A.
        diode_drop: least forward drop of one diode, V.

    Returns:
        Mean DC voltage at most, V.

    Raises:
        ValueError: as for :func:`flat_topped_voltage`.

    Source:
        Derived here; checked by circuit simulation (ngspice).

    Example:
        >>> round(mean_bound(12.0, resistance=1.2, current=1.0), 2)
        11.73
    """
    return flat_topped_voltage(open_voltage, resistance, current, diode_drop)
