"""Limits of what may be touched, and the energy that capacitors, rails and light beams hold."""

from __future__ import annotations

from fitter.physics._values import Number, larger, log, require


def stored_energy(capacitance: Number, voltage: Number) -> Number:
    """Energy in a charged capacitor.

    ``E = C V^2 / 2``.

    Args:
        capacitance: F.
        voltage: V.

    Returns:
        Energy, J.

    Raises:
        ValueError: capacitance below zero.

    Source:
        Electrostatics; formula of IEC 60335-1 cl. 8.1.4.

    Example:
        >>> round(stored_energy(capacitance=4400e-6, voltage=150.0), 1)
        49.5
    """
    require(capacitance >= 0, "capacitance must not be below zero")
    return 0.5 * capacitance * voltage * voltage


def discharge_time(
    capacitance: Number, resistance: Number, voltage: Number, safe_voltage: Number = 60.0
) -> Number:
    """Time for a bleeder to bring a capacitor down to a safe voltage.

    ``R C ln(V / Vs)``, zero when it is below already. Never rely on a bleeder: measure.

    Args:
        capacitance: F.
        resistance: of the bleeder, ohm.
        voltage: at the start, V.
        safe_voltage: to be reached, V.

    Returns:
        Time, s.

    Raises:
        ValueError: a value not above zero.

    Source:
        First-order circuit theory; 60 V DC limit of IEC 61140.

    Example:
        >>> round(discharge_time(capacitance=330e-6, resistance=150e3, voltage=325.0), 1)
        83.6
    """
    require(capacitance > 0, "capacitance must be above zero")
    require(resistance > 0, "resistance must be above zero")
    require(voltage > 0, "voltage must be above zero")
    require(safe_voltage > 0, "safe voltage must be above zero")
    return resistance * capacitance * larger(log(voltage / safe_voltage), 0.0)


def bleeder_resistance(capacitance: Number, fraction: Number, time: Number) -> Number:
    """Bleeder that brings a capacitor down to a fraction of its voltage in a given time.

    ``R = t / (C ln(1 / fraction))``.

    Args:
        capacitance: F.
        fraction: voltage left over voltage at the start, ratio below 1.
        time: allowed, s.

    Returns:
        Resistance, ohm.

    Raises:
        ValueError: fraction outside 0..1, or capacitance or time not above zero.

    Source:
        First-order circuit theory; checked against an EDN design idea (W. S. Woodward).

    Example:
        >>> round(bleeder_resistance(capacitance=4400e-6, fraction=0.1, time=10.0))
        987
    """
    require(capacitance > 0, "capacitance must be above zero")
    require((fraction > 0) & (fraction < 1), "fraction must lie between 0 and 1")
    require(time > 0, "time must be above zero")
    return time / (-log(fraction) * capacitance)


def bleeder_power(voltage: Number, resistance: Number) -> Number:
    """Power a bleeder, or any load resistor, burns all the time.

    ``P = V^2 / R``.

    Args:
        voltage: V.
        resistance: ohm.

    Returns:
        Power, W.

    Raises:
        ValueError: resistance not above zero.

    Source:
        Ohm's law; Elliott Sound Products, "PSU Capacitor Bleeders" (2020).

    Example:
        >>> bleeder_power(voltage=56.0, resistance=2000.0)
        1.568
    """
    require(resistance > 0, "resistance must be above zero")
    return voltage * voltage / resistance
