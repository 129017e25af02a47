"""Motors turned as generators: power that a rectifier takes out of them at a direct voltage."""

from __future__ import annotations

import math

from fitter.physics._values import Number, larger, require, root

SQUARE_WAVE = 4.0 / math.pi  # peak of the first harmonic of a square wave over its height


def rectified_power(
    emf: Number, resistance: Number, reactance: Number, dc_voltage: Number, diode_drop: Number
) -> Number:
    """Power that one phase gives through a bridge into a direct voltage, by first harmonics.

    The bridge is a square wave in phase with the current ``I``: ``E^2 = (I R + U)^2 + (I X)^2`` with
    ``U = 4/pi (V + 2 Vd)``, and ``P = 2/pi V I``. Nothing below ``E = U``, where a true bridge still gives a
    little.

    Args:
        emf: peak of the phase at this speed, V.
        resistance: of the phase, ohm.
        reactance: of the phase at this speed, ohm.
        dc_voltage: behind the bridge, V.
        diode_drop: of one diode, V.

    Returns:
        Power into the direct voltage, W.

    Raises:
        ValueError: resistance not above zero, or another figure below zero.

    Source:
        First-harmonic approximation of a bridge into a stiff voltage (textbook); held against a simulation in
        time in the tests.

    Example:
        >>> round(rectified_power(20.0, resistance=2.0, reactance=0.0, dc_voltage=10.0, diode_drop=0.0), 1)
        23.1
    """
    require(resistance > 0, "resistance must be above zero")
    require((emf >= 0) & (reactance >= 0), "EMF and reactance must not be below zero")
    require((dc_voltage >= 0) & (diode_drop >= 0), "voltages must not be below zero")
    wave = SQUARE_WAVE * (dc_voltage + 2.0 * diode_drop)
    square = resistance**2 + reactance**2
    ahead = larger(emf**2 - wave**2, 0.0)
    current = (root((resistance * wave) ** 2 + square * ahead) - resistance * wave) / square
    return larger(2.0 / math.pi * dc_voltage * current, 0.0)


def direct_power(emf: Number, resistance: Number, dc_voltage: Number, diode_drop: Number) -> Number:
    """Power that a turned DC motor gives through a bridge into a direct voltage.

    ``V (E - V - 2 Vd) / R``, never below zero.

    Args:
        emf: at this speed, V.
        resistance: between the brushes, ohm.
        dc_voltage: behind the bridge, V.
        diode_drop: of one diode, V.

    Returns:
        Power into the direct voltage, W.

    Raises:
        ValueError: resistance not above zero, or another figure below zero.

    Source:
        Ohm's law.

    Example:
        >>> direct_power(emf=12.0, resistance=2.0, dc_voltage=6.0, diode_drop=1.0)
        12.0
    """
    require(resistance > 0, "resistance must be above zero")
    require((emf >= 0) & (dc_voltage >= 0) & (diode_drop >= 0), "voltages must not be below zero")
    return larger(dc_voltage * (emf - dc_voltage - 2.0 * diode_drop) / resistance, 0.0)
