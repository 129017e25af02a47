"""Limits of what may be touched, and the energy that capacitors and rails hold.

These are bounds for cautions, not a substitute for the standards or for a meter on the terminals.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitter.physics._values import Number, larger, log, require

if TYPE_CHECKING:
    import numpy.typing as npt

# IEC 61140 and IEC 61558-1 (IEC Electropedia), IEC 60950-1.
EXTRA_LOW_VOLTAGE_AC = 50.0  # V RMS
EXTRA_LOW_VOLTAGE_DC = 120.0  # V, ripple-free
TOUCHABLE_AC = 25.0  # V RMS, dry
TOUCHABLE_DC = 60.0  # V, dry
TOUCHABLE_AC_WET = 12.0  # V RMS, IEC 60364-4-41 cl. 414.4.5, from memory
TOUCHABLE_DC_WET = 30.0  # V, the same
SAFE_PEAK = 42.4  # V, 30 V RMS sine, IEC 60950-1

# IEC 60950-1, as stated on the emc-pstc list (240 VA, 2 V); 20 J from memory.
ENERGY_HAZARD_POWER = 240.0  # VA
ENERGY_HAZARD_VOLTAGE = 2.0  # V
ENERGY_HAZARD_CHARGE = 20.0  # J

# IEC 60335-1 cl. 8.1.4: what an accessible part may hold.
ACCESSIBLE_CAPACITANCE = 0.1e-6  # F, above 42.4 V and to 450 V
ACCESSIBLE_CHARGE = 45e-6  # C, above 450 V and to 15 kV
ACCESSIBLE_ENERGY = 0.35  # J, above 15 kV

# IEC 62368-1 table 5, from memory: capacitance (F) and the highest peak voltages (V) of energy class 1 (not
# painful) and class 2 (painful, no injury). Above the last capacitance the DC limits of the class hold.
_CHARGE_LIMITS = np.array(
    [
        (0.4e-9, 10000.0, 20000.0),
        (0.8e-9, 5000.0, 10000.0),
        (1.6e-9, 2500.0, 5000.0),
        (4e-9, 1000.0, 2000.0),
        (8e-9, 500.0, 1000.0),
        (12e-9, 350.0, 700.0),
        (18e-9, 250.0, 500.0),
        (28e-9, 200.0, 400.0),
        (41e-9, 150.0, 300.0),
        (61e-9, 125.0, 250.0),
        (91e-9, 100.0, 200.0),
        (170e-9, 75.0, 150.0),
        (300e-9, 60.0, 120.0),
    ]
)


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
    capacitance: Number, resistance: Number, voltage: Number, safe_voltage: Number = TOUCHABLE_DC
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


def charge_class(capacitance: Number, voltage: Number) -> int | npt.NDArray[np.int_]:
    """Hazard class of touching a charged capacitor: 1 not painful, 2 painful, 3 may injure.

    Each capacitance takes the limits of the next larger one in the table, so the class is never too low;
    from 0.3 uF up the steady limits hold, 60 and 120 V DC.

    Args:
        capacitance: F.
        voltage: V.

    Returns:
        1, 2 or 3.

    Raises:
        ValueError: capacitance or voltage below zero.

    Source:
        IEC 62368-1, tables 4 and 5; from memory.

    Example:
        >>> charge_class(capacitance=4700e-6, voltage=35.0), charge_class(capacitance=330e-6, voltage=325.0)
        (1, 3)
    """
    require(capacitance >= 0, "capacitance must not be below zero")
    require(voltage >= 0, "voltage must not be below zero")
    last = len(_CHARGE_LIMITS) - 1
    row = np.minimum(np.searchsorted(_CHARGE_LIMITS[:, 0], np.multiply(capacitance, 1 - 1e-12)), last)
    limits = _CHARGE_LIMITS[row]
    found = 1 + np.greater(voltage, limits[..., 1]) + np.greater(voltage, limits[..., 2])
    return found if found.ndim else int(found)


def accessible_charge_allowed(capacitance: Number, voltage: Number) -> bool | npt.NDArray[np.bool_]:
    """Whether an appliance may have a capacitor charged like this on a part that can be touched.

    Free to 42.4 V; 0.1 uF to 450 V; 45 uC to 15 kV; 350 mJ above.

    Args:
        capacitance: F.
        voltage: peak, V.

    Returns:
        True where it is allowed.

    Raises:
        ValueError: capacitance or voltage below zero.

    Source:
        IEC 60335-1 cl. 8.1.4.

    Example:
        >>> accessible_charge_allowed(capacitance=0.1e-6, voltage=325.0)
        True
    """
    require(capacitance >= 0, "capacitance must not be below zero")
    require(voltage >= 0, "voltage must not be below zero")
    steps = [np.less_equal(voltage, limit) for limit in (SAFE_PEAK, 450.0, 15e3)]
    allowed = [
        np.less_equal(capacitance, ACCESSIBLE_CAPACITANCE),
        np.less_equal(np.multiply(capacitance, voltage), ACCESSIBLE_CHARGE),
    ]
    otherwise = np.less_equal(stored_energy(capacitance, voltage), ACCESSIBLE_ENERGY)
    found = np.select(steps, [np.ones_like(allowed[0]), *allowed], otherwise)
    return found if found.ndim else bool(found)


def energy_hazard(voltage: Number, current: Number) -> bool | npt.NDArray[np.bool_]:
    """Whether a rail can weld a ring or a tool: 240 VA and more, at 2 V and more.

    Args:
        voltage: of the rail, V.
        current: that it can give, A.

    Returns:
        True where it can.

    Raises:
        ValueError: voltage or current below zero.

    Source:
        IEC 60950-1, as stated on the emc-pstc list; Intel ATX12V Design Guide v2.0 has the same 240 VA.

    Example:
        >>> energy_hazard(voltage=12.0, current=18.0), energy_hazard(voltage=24.0, current=15.0)
        (False, True)
    """
    require(voltage >= 0, "voltage must not be below zero")
    require(current >= 0, "current must not be below zero")
    found = np.greater_equal(np.multiply(voltage, current), ENERGY_HAZARD_POWER) & np.greater_equal(
        voltage, ENERGY_HAZARD_VOLTAGE
    )
    return found if found.ndim else bool(found)


def limited_power(open_voltage: float) -> tuple[float, float]:
    """Greatest current and apparent power of a supply that counts as a limited power source.

    To 20 V: 8 A and ``5 V``; to 30 V: 8 A and 100 VA; to 60 V DC: ``150 / V`` and 100 VA.

    Args:
        open_voltage: DC output without load, V.

    Returns:
        Current, A, and apparent power, VA.

    Raises:
        ValueError: voltage outside 0..60 V, where no such source exists.

    Source:
        IEC 60950-1, table 2B.

    Example:
        >>> limited_power(open_voltage=12.0), limited_power(open_voltage=50.0)
        ((8.0, 60.0), (3.0, 100.0))
    """
    require((open_voltage > 0) & (open_voltage <= 60), "limited power sources reach to 60 V DC")
    if open_voltage <= 20:
        return 8.0, 5.0 * open_voltage
    return (8.0 if open_voltage <= 30 else 150.0 / open_voltage), 100.0
