"""Motor drivers: setting a chopper's current, current rise in a winding, and losses of bridges."""

from __future__ import annotations

import math

import numpy as np

from fitter.physics._values import Number, interpolate, log_of_rest, require, smaller

CHOPPER_GAIN_5 = 5.0  # DRV8825 kind: I = Vref / (5 Rs), TI SLVSA73C eq. 1
CHOPPER_GAIN_8 = 8.0  # A4988 kind: I = Vref / (8 Rs)
FULL_STEP_FRACTION = math.sqrt(0.5)  # coil current with both phases on, over the chopper's set peak

# L298, ST data sheet (Jan 2000): total drop of source and sink transistor, least and greatest, V
# (the saturation table from memory).
_BRIDGE_CURRENT = (0.0, 1.0, 2.0)
_BRIDGE_DROP_LEAST = (1.2, 1.8, 3.0)
_BRIDGE_DROP_MOST = (2.0, 3.2, 4.9)


def chopper_reference(current: Number, sense_resistance: Number, gain: Number) -> Number:
    """Voltage to set on a chopper driver's potentiometer for a peak coil current.

    ``Vref = gain Rs I``.

    Args:
        current: peak coil current, A.
        sense_resistance: sense resistor, ohm.
        gain: of the current sense, 5 or 8 by chip (:data:`CHOPPER_GAIN_5`, :data:`CHOPPER_GAIN_8`).

    Returns:
        Reference voltage, V.

    Raises:
        ValueError: current below zero; resistance or gain not above zero.

    Source:
        TI DRV8825 data sheet SLVSA73C, eq. 1 (gain 5); Allegro A4988 data sheet formula (gain 8).

    Example:
        >>> round(chopper_reference(current=1.2, sense_resistance=0.1, gain=CHOPPER_GAIN_8), 3)
        0.96
    """
    require(current >= 0, "current must not be below zero")
    require(sense_resistance > 0, "sense resistance must be above zero")
    require(gain > 0, "gain must be above zero")
    return gain * sense_resistance * current


def chopper_current(reference_voltage: Number, sense_resistance: Number, gain: Number) -> Number:
    """Peak coil current that a chopper driver's reference voltage sets.

    ``I = Vref / (gain Rs)``; the inverse of :func:`chopper_reference`.

    Args:
        reference_voltage: on the potentiometer, V.
        sense_resistance: sense resistor, ohm.
        gain: of the current sense, 5 or 8 by chip.

    Returns:
        Peak coil current, A.

    Raises:
        ValueError: voltage below zero; resistance or gain not above zero.

    Source:
        As for :func:`chopper_reference`.

    Example:
        >>> chopper_current(reference_voltage=2.5, sense_resistance=0.25, gain=CHOPPER_GAIN_5)
        2.0
    """
    require(reference_voltage >= 0, "reference voltage must not be below zero")
    require(sense_resistance > 0, "sense resistance must be above zero")
    require(gain > 0, "gain must be above zero")
    return reference_voltage / (gain * sense_resistance)


def current_rise_time(voltage: Number, resistance: Number, inductance: Number, current: Number) -> Number:
    """Time for the current of a winding to rise from zero.

    ``t = -(L / R) ln(1 - I R / V)``, motor at rest; infinite when the voltage cannot drive the current.
    A full step should last well over twice this.

    Args:
        voltage: supply less the driver's drop, V.
        resistance: of the winding, ohm.
        inductance: of the winding, H.
        current: to be reached, A.

    Returns:
        Time, s.

    Raises:
        ValueError: current below zero; voltage, resistance or inductance not above zero.

    Source:
        First-order circuit theory; agrees with circuit simulation (ngspice).

    Example:
        >>> round(current_rise_time(voltage=24.0, resistance=2.0, inductance=3.3e-3, current=1.5) * 1e6, 1)
        220.3
    """
    require(current >= 0, "current must not be below zero")
    require(inductance > 0, "inductance must be above zero")
    require(voltage > 0, "voltage must be above zero")
    require(resistance > 0, "resistance must be above zero")
    share = smaller(current * resistance / voltage, 1.0)
    with np.errstate(divide="ignore"):
        return -(inductance / resistance) * log_of_rest(share)


def sense_resistor_loss(current: Number, resistance: Number) -> Number:
    """Power burnt in a current-sense resistor.

    ``P = Irms^2 R``.

    Args:
        current: RMS current, A.
        resistance: of the resistor, ohm.

    Returns:
        Power, W.

    Raises:
        ValueError: resistance below zero.

    Source:
        TI DRV8881 data sheet SLVSD19, sense resistor.

    Example:
        >>> round(sense_resistor_loss(current=1.4, resistance=0.25), 2)
        0.49
    """
    require(resistance >= 0, "resistance must not be below zero")
    return current * current * resistance


def bipolar_bridge_drop(current: Number) -> tuple[Number, Number]:
    """Voltage lost in an L298-type bipolar H-bridge, source and sink transistor together.

    Straight lines through the data sheet's points at 1 A (1.8 to 3.2 V) and 2 A (to 4.9 V). The least drop
    at 2 A and both at zero current are own estimates; the bridge carries 2 A, so more is refused.

    Args:
        current: motor current, A.

    Returns:
        Least and greatest total drop, V.

    Raises:
        ValueError: current outside 0..2 A.

    Source:
        ST L298 data sheet (Jan 2000), saturation table from memory.

    Example:
        >>> bipolar_bridge_drop(current=1.0)
        (1.8, 3.2)
    """
    require((current >= 0) & (current <= 2.0), "current of an L298-type bridge must lie within 0 to 2 A")
    least = interpolate(current, _BRIDGE_CURRENT, _BRIDGE_DROP_LEAST)
    return least, interpolate(current, _BRIDGE_CURRENT, _BRIDGE_DROP_MOST)


def bridge_loss(current: Number, drop: Number) -> Number:
    """Power burnt in a bridge with a known voltage drop.

    ``P = I V``.

    Args:
        current: motor current, A.
        drop: total voltage drop at that current, V.

    Returns:
        Power, W.

    Raises:
        ValueError: current or drop below zero.

    Source:
        Ohmic loss, common practice, no source.

    Example:
        >>> bridge_loss(current=2.0, drop=4.9)
        9.8
    """
    require(current >= 0, "current must not be below zero")
    require(drop >= 0, "drop must not be below zero")
    return current * drop


def stall_current(voltage: Number, resistance: Number) -> Number:
    """Current of a stalled brushed motor, or of any winding at rest.

    ``I = V / R``, far above the nameplate current: the driver must carry or limit it.

    Args:
        voltage: across the winding, V.
        resistance: winding and leads, ohm.

    Returns:
        Current, A.

    Raises:
        ValueError: resistance not above zero.

    Source:
        Ohm's law.

    Example:
        >>> round(stall_current(voltage=6.0, resistance=0.9), 2)
        6.67
    """
    require(resistance > 0, "resistance must be above zero")
    return voltage / resistance


def braking_energy(inertia: Number, speed: Number) -> Number:
    """Energy a turning load can give back to its supply when it is stopped.

    ``E = J w^2 / 2``; losses on the way make the real return smaller.

    Args:
        inertia: rotor and reflected load, kg m^2.
        speed: angular speed, rad/s.

    Returns:
        Energy, J.

    Raises:
        ValueError: inertia below zero.

    Source:
        Mechanics; servo manuals (Fagor BCSD-15AEG, p. 15) write it as ``J n^2 / 182`` with n in rpm.

    Example:
        >>> round(braking_energy(inertia=1e-4, speed=1000 * 2 * math.pi / 60), 4)
        0.5483
    """
    require(inertia >= 0, "inertia must not be below zero")
    return 0.5 * inertia * speed * speed


def supply_voltage_guard(inductance: Number) -> Number:
    """Supply voltage above which a chopper-driven stepper runs needlessly hot.

    ``V = 1000 sqrt(L)``, the trade's ``32 sqrt(L in mH)``; a rule of thumb, not a limit.

    Args:
        inductance: of one phase, H.

    Returns:
        Voltage, V.

    Raises:
        ValueError: inductance below zero.

    Source:
        Drive makers' rule of thumb; from memory.

    Example:
        >>> round(supply_voltage_guard(inductance=3.3e-3))
        57
    """
    require(inductance >= 0, "inductance must not be below zero")
    result: Number = 1000.0 * inductance**0.5
    return result
