"""Windings of stepper motors: connections, rated current, heat, and the resistor of an L/R drive.

Ratings of 6- and 8-wire motors are per half-coil; SI units.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from fitter.physics._values import Number, require, root

SQRT2 = math.sqrt(2.0)
SURFACE_HEATING = 1000.0  # copper loss per body surface at the rated current, W/m^2 (0.10 W/cm^2)


class Connection(NamedTuple):
    """Ratings of a winding connection over those of one half-coil, at equal copper loss."""

    current: float
    resistance: float
    inductance: float
    torque: float


CONNECTIONS = {
    "half": Connection(1.0, 1.0, 1.0, 1.0),
    "series": Connection(1 / SQRT2, 2.0, 4.0, SQRT2),
    "parallel": Connection(SQRT2, 0.5, 1.0, SQRT2),
}


class SeriesResistor(NamedTuple):
    """A resistor in series with a winding, and the heat it makes."""

    resistance: Number
    power: Number


def rated_current_from_frame(frame_width: Number, body_length: Number, resistance: Number) -> Number:
    """Rated current of an unmarked stepper from its size and coil resistance.

    ``I = sqrt(0.10 W/cm^2 (4 w len + w^2) / (2 R))``: both phases' copper loss over the body's surface.
    Good for +-25 %.

    Args:
        frame_width: width of the square body, m, not below zero.
        body_length: length of the body without shaft, m, not below zero.
        resistance: of one phase, ohm, above zero.

    Returns:
        Current per phase with both phases on, A.

    Raises:
        ValueError: a length below zero, or resistance not above zero.

    Source:
        Own rule from makers' data (item ST-24 of the tests).

    Example:
        >>> round(rated_current_from_frame(frame_width=0.042, body_length=0.047, resistance=1.4), 2)
        1.86
    """
    require(frame_width >= 0, "frame width must not be below zero")
    require(body_length >= 0, "body length must not be below zero")
    require(resistance > 0, "resistance must be above zero")
    surface = frame_width * (4 * body_length + frame_width)
    return root(SURFACE_HEATING * surface / (2 * resistance))


def copper_loss(current_peak: Number, resistance: Number) -> Number:
    """Heat in the windings of both phases, driven with sines a quarter turn apart.

    ``P = I_pk^2 R``: two phases at ``I_pk / sqrt(2)`` RMS each.

    Args:
        current_peak: peak of the driver's sine, A.
        resistance: of one phase, ohm, not below zero.

    Returns:
        Power, W.

    Raises:
        ValueError: resistance below zero.

    Source:
        Ohm's law; common practice, no source.

    Example:
        >>> copper_loss(current_peak=2.0, resistance=1.5)
        6.0
    """
    require(resistance >= 0, "resistance must not be below zero")
    return current_peak * current_peak * resistance


def driver_current(connection: str, unipolar_current: Number) -> Number:
    """Peak current to set on a bipolar driver for a 6- or 8-wire motor with a unipolar rating.

    Series: the unipolar rating; parallel: twice the unipolar rating; half coil: 1.4 times. The unipolar
    rating is a steady current with both phases on, the driver's a peak of a sine at the same copper loss.

    Args:
        connection: "half", "series" or "parallel".
        unipolar_current: rated current of one half-coil, A, not below zero.

    Returns:
        Peak current, A.

    Raises:
        ValueError: an unknown connection, or current below zero.

    Source:
        IMS IM483 operating instructions, p. 36-37 (the half coil follows from the same rule).

    Example:
        >>> round(driver_current(connection="parallel", unipolar_current=2.0), 6)
        4.0
    """
    require(unipolar_current >= 0, "current must not be below zero")
    if connection not in CONNECTIONS:
        raise ValueError(f"connection must be one of {', '.join(CONNECTIONS)}")
    return unipolar_current * CONNECTIONS[connection].current * SQRT2


def series_resistor(supply_voltage: Number, rated_voltage: Number, rated_current: Number) -> SeriesResistor:
    """Resistor that lets a low-voltage winding run on a higher constant voltage.

    ``R = (Vs - Vr) / Ir``, ``P = Ir^2 R``.

    Args:
        supply_voltage: V, at least the rated voltage.
        rated_voltage: of the winding, V.
        rated_current: of the winding, A, above zero.

    Returns:
        Resistance, ohm, and power, W, of the resistor of one phase.

    Raises:
        ValueError: supply below the rated voltage, or current not above zero.

    Source:
        Board maker's note in industryarena.com forum thread 31716.

    Example:
        >>> resistance, power = series_resistor(supply_voltage=12.0, rated_voltage=5.2, rated_current=1.6)
        >>> round(resistance, 2), round(power, 2)
        (4.25, 10.88)
    """
    require(rated_current > 0, "rated current must be above zero")
    spare = supply_voltage - rated_voltage
    require(spare >= 0, "supply voltage must not be below the rated voltage")
    return SeriesResistor(spare / rated_current, spare * rated_current)


def highest_advised_voltage(inductance: Number) -> Number:
    """Supply voltage of a chopper above which the iron of the motor heats too much.

    ``V = 32 sqrt(L in mH)``. A rule of thumb; the driver's own maximum still rules.

    Args:
        inductance: of one phase, H, not below zero.

    Returns:
        Voltage, V.

    Raises:
        ValueError: inductance below zero.

    Source:
        Geckodrive support notes, from memory.

    Example:
        >>> round(highest_advised_voltage(inductance=4e-3), 6)
        64.0
    """
    require(inductance >= 0, "inductance must not be below zero")
    return 32.0 * root(inductance * 1000.0)


def electrical_time_constant(inductance: Number, resistance: Number) -> Number:
    """Time in which the current of a winding rises to 63 % of its final value.

    ``tau = L / R``.

    Args:
        inductance: of one phase, H, not below zero.
        resistance: of one phase, ohm, above zero.

    Returns:
        Time, s.

    Raises:
        ValueError: inductance below zero, or resistance not above zero.

    Source:
        Definition; common practice, no source.

    Example:
        >>> round(electrical_time_constant(inductance=23e-3, resistance=30.0) * 1e3, 3)
        0.767
    """
    require(inductance >= 0, "inductance must not be below zero")
    require(resistance > 0, "resistance must be above zero")
    return inductance / resistance
