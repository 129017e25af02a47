"""Brushed and brushless DC motors: the straight speed-torque line, efficiency, losses, constants.

SI units; the torque constant equals the back-EMF constant. The no-load current stands for friction and
iron loss, taken as the same at every speed. Brush drop and the rise of R with temperature are left out.
Heat and duty have a module of their own; its names are to be had here too.
"""

from __future__ import annotations

import math

from fitter.physics._values import Number, require, root
from fitter.physics.dc_motor_heat import (
    CAN_LOSS,
    continuous_current,
    intermittent_current,
    peak_power,
)

__all__ = [
    "CAN_LOSS",
    "SINE_DRIVE",
    "continuous_current",
    "current_at_peak_efficiency",
    "current_at_speed",
    "current_at_torque",
    "efficiency_at_torque",
    "generator_voltage",
    "intermittent_current",
    "mechanical_time_constant",
    "no_load_speed",
    "peak_efficiency",
    "peak_power",
    "speed_at_torque",
    "speed_torque_gradient",
    "stall_current",
    "stall_torque",
    "torque_at_speed",
    "torque_constant_from_no_load",
    "torque_constant_from_speed_constant",
]

SINE_DRIVE = math.sqrt(3.0) / 2  # torque constant per peak phase ampere over the one per DC ampere


def stall_current(voltage: Number, resistance: Number) -> Number:
    """Current of a motor that is held still; also the inrush at switch-on.

    ``I = V / R``.

    Args:
        voltage: across the motor, V.
        resistance: of the winding, ohm, above zero.

    Returns:
        Current, A.

    Raises:
        ValueError: resistance not above zero.

    Source:
        Ohm's law; maxon catalogue, "key information".

    Example:
        >>> stall_current(voltage=12.0, resistance=2.4)
        5.0
    """
    require(resistance > 0, "resistance must be above zero")
    return voltage / resistance


def stall_torque(
    voltage: Number, resistance: Number, torque_constant: Number, no_load_current: Number
) -> Number:
    """Torque of a motor that is held still.

    ``T = Kt (V / R - I0)``. Catalogues often leave I0 out.

    Args:
        voltage: across the motor, V.
        resistance: of the winding, ohm, above zero.
        torque_constant: N m/A, not below zero.
        no_load_current: A.

    Returns:
        Torque, N m.

    Raises:
        ValueError: resistance not above zero, or torque constant below zero.

    Source:
        maxon catalogue, "key information" (M = kM I), friction added.

    Example:
        >>> stall_torque(voltage=12.0, resistance=2.0, torque_constant=0.5, no_load_current=1.0)
        2.5
    """
    require(torque_constant >= 0, "torque constant must not be below zero")
    return torque_constant * (stall_current(voltage, resistance) - no_load_current)


def no_load_speed(
    voltage: Number, resistance: Number, torque_constant: Number, no_load_current: Number
) -> Number:
    """Speed without load.

    ``w0 = (V - R I0) / Kt``.

    Args:
        voltage: across the motor, V.
        resistance: of the winding, ohm, not below zero.
        torque_constant: N m/A, above zero.
        no_load_current: A.

    Returns:
        Speed, rad/s.

    Raises:
        ValueError: torque constant not above zero, or resistance below zero.

    Source:
        maxon catalogue, "key information" (n0 = kn (U - R I0)).

    Example:
        >>> no_load_speed(voltage=12.0, resistance=2.0, torque_constant=0.5, no_load_current=1.0)
        20.0
    """
    require(torque_constant > 0, "torque constant must be above zero")
    require(resistance >= 0, "resistance must not be below zero")
    return (voltage - resistance * no_load_current) / torque_constant


def torque_at_speed(
    speed: Number, voltage: Number, resistance: Number, torque_constant: Number, no_load_current: Number
) -> Number:
    """Torque that a motor gives at a speed: the straight line, not cut off.

    ``T = Kt ((V - Kt w) / R - I0)``; below zero where the motor would have to be driven to run so fast.

    Args:
        speed: of the motor shaft, rad/s.
        voltage: across the motor, V.
        resistance: of the winding, ohm, above zero.
        torque_constant: N m/A, not below zero.
        no_load_current: A.

    Returns:
        Torque, N m.

    Raises:
        ValueError: resistance not above zero, or torque constant below zero.

    Source:
        maxon catalogue, "key information".

    Example:
        >>> torque_at_speed(10.0, voltage=12.0, resistance=2.0, torque_constant=0.5, no_load_current=1.0)
        1.25
    """
    require(torque_constant >= 0, "torque constant must not be below zero")
    return torque_constant * (current_at_speed(speed, voltage, resistance, torque_constant) - no_load_current)


def speed_at_torque(
    torque: Number, voltage: Number, resistance: Number, torque_constant: Number, no_load_current: Number
) -> Number:
    """Speed under a load torque, the inverse of :func:`torque_at_speed`.

    ``w = (V - R (T / Kt + I0)) / Kt``; below zero where the load turns the motor backwards.

    Args:
        torque: of the load, N m.
        voltage: across the motor, V.
        resistance: of the winding, ohm, not below zero.
        torque_constant: N m/A, above zero.
        no_load_current: A.

    Returns:
        Speed, rad/s.

    Raises:
        ValueError: torque constant not above zero, or resistance below zero.

    Source:
        maxon catalogue, "key information".

    Example:
        >>> speed_at_torque(1.25, voltage=12.0, resistance=2.0, torque_constant=0.5, no_load_current=1.0)
        10.0
    """
    current = current_at_torque(torque, torque_constant, no_load_current)
    return no_load_speed(voltage, resistance, torque_constant, current)


def current_at_torque(torque: Number, torque_constant: Number, no_load_current: Number) -> Number:
    """Current under a load torque.

    ``I = T / Kt + I0``.

    Args:
        torque: of the load, N m.
        torque_constant: N m/A, above zero.
        no_load_current: A.

    Returns:
        Current, A.

    Raises:
        ValueError: torque constant not above zero.

    Source:
        maxon catalogue, "key information" (M = kM I), friction added.

    Example:
        >>> current_at_torque(torque=1.0, torque_constant=0.5, no_load_current=0.25)
        2.25
    """
    require(torque_constant > 0, "torque constant must be above zero")
    return torque / torque_constant + no_load_current


def current_at_speed(speed: Number, voltage: Number, resistance: Number, torque_constant: Number) -> Number:
    """Current at a speed, whatever the load.

    ``I = (V - Kt w) / R``; below zero where the motor works as a generator.

    Args:
        speed: of the motor shaft, rad/s.
        voltage: across the motor, V.
        resistance: of the winding, ohm, above zero.
        torque_constant: N m/A.

    Returns:
        Current, A.

    Raises:
        ValueError: resistance not above zero.

    Source:
        Kirchhoff's law; common practice, no source.

    Example:
        >>> current_at_speed(speed=10.0, voltage=12.0, resistance=2.0, torque_constant=0.5)
        3.5
    """
    return stall_current(voltage - torque_constant * speed, resistance)


def generator_voltage(speed: Number, current: Number, resistance: Number, torque_constant: Number) -> Number:
    """Voltage that a motor gives when it is turned, at a load current.

    ``V = Kt w - I R``; open circuit at zero current.

    Args:
        speed: of the motor shaft, rad/s.
        current: drawn from it, A.
        resistance: of the winding, ohm, not below zero.
        torque_constant: N m/A.

    Returns:
        Voltage, V.

    Raises:
        ValueError: resistance below zero.

    Source:
        Kirchhoff's law; common practice, no source.

    Example:
        >>> generator_voltage(speed=20.0, current=1.0, resistance=2.0, torque_constant=0.5)
        8.0
    """
    require(resistance >= 0, "resistance must not be below zero")
    return torque_constant * speed - current * resistance


def speed_torque_gradient(resistance: Number, torque_constant: Number) -> Number:
    """Loss of speed per torque, the same at every voltage.

    ``dw/dT = R / Kt^2``.

    Args:
        resistance: of the winding, ohm, not below zero.
        torque_constant: N m/A, above zero.

    Returns:
        Gradient, rad/(s N m).

    Raises:
        ValueError: torque constant not above zero, or resistance below zero.

    Source:
        maxon catalogue, "key information".

    Example:
        >>> speed_torque_gradient(resistance=2.0, torque_constant=0.5)
        8.0
    """
    require(torque_constant > 0, "torque constant must be above zero")
    require(resistance >= 0, "resistance must not be below zero")
    return resistance / (torque_constant * torque_constant)


def efficiency_at_torque(
    torque: Number, voltage: Number, resistance: Number, torque_constant: Number, no_load_current: Number
) -> Number:
    """Mechanical power over electrical power at a load torque.

    ``T w / (V I)`` with speed and current from the straight line.

    Args:
        torque: of the load, N m, not below zero.
        voltage: across the motor, V, above zero.
        resistance: of the winding, ohm, not below zero.
        torque_constant: N m/A, above zero.
        no_load_current: A, above zero.

    Returns:
        Efficiency, ratio.

    Raises:
        ValueError: torque or resistance below zero, or another argument not above zero.

    Source:
        Power balance, maxon catalogue, "key information".

    Example:
        >>> efficiency_at_torque(torque=1.0, voltage=12.0, resistance=1.0, torque_constant=1.0,
        ...     no_load_current=1.0) == 1.0 * 10.0 / (12.0 * 2.0)
        True
    """
    require(torque >= 0, "torque must not be below zero")
    require(voltage > 0, "voltage must be above zero")
    require(no_load_current > 0, "no-load current must be above zero")
    speed = speed_at_torque(torque, voltage, resistance, torque_constant, no_load_current)
    return torque * speed / (voltage * current_at_torque(torque, torque_constant, no_load_current))


def peak_efficiency(voltage: Number, resistance: Number, no_load_current: Number) -> Number:
    """Best efficiency that a motor reaches at a voltage.

    ``(1 - sqrt(I0 / I_stall))^2``.

    Args:
        voltage: across the motor, V, above zero.
        resistance: of the winding, ohm, not below zero.
        no_load_current: A, from zero to the stall current.

    Returns:
        Efficiency, ratio.

    Raises:
        ValueError: voltage not above zero, resistance below zero, or no-load current outside its range.

    Source:
        maxon catalogue, "key information".

    Example:
        >>> peak_efficiency(voltage=16.0, resistance=4.0, no_load_current=0.25)
        0.5625
    """
    require(voltage > 0, "voltage must be above zero")
    require(resistance >= 0, "resistance must not be below zero")
    share = no_load_current * resistance / voltage
    require((share >= 0) & (share <= 1), "no-load current must lie between zero and the stall current")
    return (1.0 - root(share)) * (1.0 - root(share))


def current_at_peak_efficiency(voltage: Number, resistance: Number, no_load_current: Number) -> Number:
    """Current at which a motor is most efficient: a sound working point.

    ``I = sqrt(I0 I_stall)``.

    Args:
        voltage: across the motor, V, not below zero.
        resistance: of the winding, ohm, above zero.
        no_load_current: A, not below zero.

    Returns:
        Current, A.

    Raises:
        ValueError: resistance not above zero, or another argument below zero.

    Source:
        Maximum of the efficiency of the straight line; common practice, no source.

    Example:
        >>> current_at_peak_efficiency(voltage=16.0, resistance=4.0, no_load_current=0.25)
        1.0
    """
    require(voltage >= 0, "voltage must not be below zero")
    require(no_load_current >= 0, "no-load current must not be below zero")
    return root(no_load_current * stall_current(voltage, resistance))


def torque_constant_from_no_load(
    voltage: Number, no_load_speed: Number, resistance: Number, no_load_current: Number
) -> Number:
    """Torque constant from a run without load.

    ``Kt = (V - R I0) / w0``.

    Friction that grows with speed hides in it: for a 1.5 V toy motor the stall torque comes out 12 % high.

    Args:
        voltage: across the motor, V.
        no_load_speed: rad/s, above zero.
        resistance: of the winding, ohm, not below zero.
        no_load_current: A.

    Returns:
        Torque constant, N m/A.

    Raises:
        ValueError: speed not above zero, or resistance below zero.

    Source:
        maxon catalogue, "key information" (n0 = kn (U - R I0)).

    Example:
        >>> torque_constant_from_no_load(12.0, no_load_speed=20.0, resistance=2.0, no_load_current=1.0)
        0.5
    """
    require(no_load_speed > 0, "no-load speed must be above zero")
    require(resistance >= 0, "resistance must not be below zero")
    return (voltage - resistance * no_load_current) / no_load_speed


def torque_constant_from_speed_constant(speed_constant: Number, sine_drive: bool = False) -> Number:
    """Torque constant of a brushless motor from its speed constant (KV).

    ``Kt = 1 / Kv`` per ampere of DC (six-step), ``(sqrt(3)/2) / Kv`` per peak phase ampere of a sine drive:
    9.549 / Kv and 8.27 / Kv with Kv in rpm/V.

    Args:
        speed_constant: rad/(s V), above zero; rpm/V times 2 pi / 60.
        sine_drive: True for peak phase amperes of a sine drive.

    Returns:
        Torque constant, N m/A.

    Raises:
        ValueError: speed constant not above zero.

    Source:
        maxon catalogue (kn kM = 30000/pi, from memory); 8.27 from motor controller users' notes.

    Example:
        >>> round(torque_constant_from_speed_constant(speed_constant=95 * 2 * math.pi / 60), 5)
        0.10052
        >>> round(torque_constant_from_speed_constant(95 * 2 * math.pi / 60, sine_drive=True), 5)
        0.08705
    """
    require(speed_constant > 0, "speed constant must be above zero")
    return (SINE_DRIVE if sine_drive else 1.0) / speed_constant


def mechanical_time_constant(resistance: Number, inertia: Number, torque_constant: Number) -> Number:
    """Time in which a motor reaches 63 % of its final speed.

    ``tau = R J / Kt^2``.

    Args:
        resistance: of the winding, ohm, not below zero.
        inertia: of rotor and coupled load, kg m^2, not below zero.
        torque_constant: N m/A, above zero.

    Returns:
        Time, s.

    Raises:
        ValueError: resistance or inertia below zero, or torque constant not above zero.

    Source:
        maxon catalogue, "key information".

    Example:
        >>> mechanical_time_constant(resistance=2.0, inertia=0.125, torque_constant=0.5)
        1.0
    """
    require(inertia >= 0, "inertia must not be below zero")
    return speed_torque_gradient(resistance, torque_constant) * inertia
