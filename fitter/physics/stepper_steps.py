"""Steps of a stepper motor: pulse rates, microsteps, resonance, and starting without a ramp."""

from __future__ import annotations

import math

from fitter.physics._values import Number, asin, cos, magnitude, require, root, sin


def pulse_speed(pulse_rate: Number, step_angle: Number, microsteps: Number = 1.0) -> Number:
    """Shaft speed at a pulse rate.

    ``w = f step_angle / microsteps``.

    Args:
        pulse_rate: step pulses, 1/s.
        step_angle: full-step angle, rad.
        microsteps: pulses per full step, above zero.

    Returns:
        Speed, rad/s.

    Raises:
        ValueError: step angle or microsteps not above zero.

    Source:
        Definition; common practice, no source.

    Example:
        >>> turns = pulse_speed(pulse_rate=12500, step_angle=math.radians(1.8), microsteps=2) / (2 * math.pi)
        >>> round(turns, 2)
        31.25
    """
    require(step_angle > 0, "step angle must be above zero")
    require(microsteps > 0, "microsteps must be above zero")
    return pulse_rate * step_angle / microsteps


def pulse_rate(speed: Number, step_angle: Number, microsteps: Number = 1.0) -> Number:
    """Pulse rate for a shaft speed, the inverse of :func:`pulse_speed`.

    ``f = w microsteps / step_angle``.

    Args:
        speed: of the shaft, rad/s.
        step_angle: full-step angle, rad.
        microsteps: pulses per full step, above zero.

    Returns:
        Step pulses, 1/s.

    Raises:
        ValueError: step angle or microsteps not above zero.

    Source:
        Definition; common practice, no source.

    Example:
        >>> round(pulse_rate(speed=2 * math.pi, step_angle=math.radians(1.8), microsteps=16))
        3200
    """
    require(step_angle > 0, "step angle must be above zero")
    require(microsteps > 0, "microsteps must be above zero")
    return speed * microsteps / step_angle


def microstep_phase_currents(
    microsteps: Number, position: Number = 1.0, current_peak: Number = 1.0
) -> tuple[Number, Number]:
    """Currents of both phases at a microstep within a full step.

    ``A = I sin(k 90 deg / m)``, ``B = I cos(k 90 deg / m)``.

    Args:
        microsteps: pulses per full step, above zero.
        position: microsteps from the full step where phase A is off.
        current_peak: peak of the driver's sine, A.

    Returns:
        Currents of phase A and phase B, A.

    Raises:
        ValueError: microsteps not above zero.

    Source:
        Sine-cosine microstepping; values listed at forum.v1e.com, topic 28822.

    Example:
        >>> a, b = microstep_phase_currents(microsteps=16)
        >>> round(a, 4), round(b, 4)
        (0.098, 0.9952)
    """
    require(microsteps > 0, "microsteps must be above zero")
    angle = position * (math.pi / 2) / microsteps
    return current_peak * sin(angle), current_peak * cos(angle)


def microstep_torque(holding_torque: Number, microsteps: Number) -> Number:
    """Torque with which one microstep pulls: what a load's friction must not exceed for it to move.

    ``T = T_hold sin(90 deg / m)``.

    Args:
        holding_torque: at the current that is set, N m, not below zero.
        microsteps: pulses per full step, at least 1.

    Returns:
        Torque, N m.

    Raises:
        ValueError: holding torque below zero, or microsteps below 1.

    Source:
        Sine-shaped torque curve of the step; values listed at forum.v1e.com, topic 28822.

    Example:
        >>> round(microstep_torque(holding_torque=0.4, microsteps=16), 4)
        0.0392
    """
    require(holding_torque >= 0, "holding torque must not be below zero")
    require(microsteps >= 1, "microsteps must be at least 1")
    return holding_torque * sin((math.pi / 2) / microsteps)


def load_angle(torque: Number, holding_torque: Number, rotor_teeth: Number) -> Number:
    """Angle by which a load turns the shaft away from its commanded place.

    ``asin(T / T_hold) / N_r``: microsteps finer than this do not place the load more exactly.

    Args:
        torque: of the load or its friction, N m, within the holding torque.
        holding_torque: at the current that is set, N m, above zero.
        rotor_teeth: pole pairs, above zero.

    Returns:
        Angle, rad.

    Raises:
        ValueError: holding torque or teeth not above zero, or a torque beyond the holding torque.

    Source:
        Sine-shaped torque curve of the step; D. W. Jones, "Stepping Motor Physics", from memory.

    Example:
        >>> round(math.degrees(load_angle(torque=0.2, holding_torque=0.4, rotor_teeth=50)), 3)
        0.6
    """
    require(holding_torque > 0, "holding torque must be above zero")
    require(rotor_teeth > 0, "rotor teeth must be above zero")
    ratio = torque / holding_torque
    require(magnitude(ratio) <= 1, "the torque must not exceed the holding torque")
    return asin(ratio) / rotor_teeth


def resonance_frequency(holding_torque: Number, inertia: Number, rotor_teeth: Number) -> Number:
    """Frequency at which rotor and load swing about a step.

    ``f = sqrt(N_r T_hold / J) / (2 pi)``, small swings, without damping. A step rate near this, or a
    whole fraction of it, loses steps in full-step mode; microsteps and damping help.

    Args:
        holding_torque: at the current that is set, N m, not below zero.
        inertia: of rotor and coupled load, kg m^2, above zero.
        rotor_teeth: pole pairs, above zero.

    Returns:
        Frequency, Hz; as a rate it is that many full steps per second.

    Raises:
        ValueError: inertia or teeth not above zero, or holding torque below zero.

    Source:
        D. W. Jones, "Stepping Motor Physics" (section Resonance), with stiffness N_r T_hold.

    Example:
        >>> round(resonance_frequency(holding_torque=0.4, inertia=5.4e-6, rotor_teeth=50))
        306
    """
    require(holding_torque >= 0, "holding torque must not be below zero")
    require(inertia > 0, "inertia must be above zero")
    require(rotor_teeth > 0, "rotor teeth must be above zero")
    return root(rotor_teeth * holding_torque / inertia) / (2 * math.pi)


def resonance_gap(pulse_rate: Number, frequency: Number) -> Number:
    """Distance of a full-step rate from the resonance, as a ratio.

    ``|f - f0| / f0``; below about 0.3 expect a rough, loud run in full-step mode.

    Args:
        pulse_rate: full steps, 1/s.
        frequency: from :func:`resonance_frequency`, Hz, above zero.

    Returns:
        Ratio; zero is right on it.

    Raises:
        ValueError: frequency not above zero.

    Source:
        Common practice, no source.

    Example:
        >>> resonance_gap(pulse_rate=150.0, frequency=100.0)
        0.5
    """
    require(frequency > 0, "frequency must be above zero")
    return magnitude(pulse_rate - frequency) / frequency


def start_speed(torque: Number, inertia: Number, step_angle: Number) -> Number:
    """Speed at which a stepper may start without a ramp.

    ``w = sqrt(2 T step_angle / J)``: reached from rest within one full step. First-order only; take half
    of it, or ramp.

    Args:
        torque: spare torque at low speed, after the load's share, N m, not below zero.
        inertia: of rotor and coupled load, kg m^2, above zero.
        step_angle: full-step angle, rad, above zero.

    Returns:
        Speed, rad/s.

    Raises:
        ValueError: torque below zero, or another argument not above zero.

    Source:
        Constant acceleration over one step; common practice, no source.

    Example:
        >>> round(start_speed(torque=0.1, inertia=2e-5, step_angle=math.radians(1.8)), 1)
        17.7
    """
    require(torque >= 0, "torque must not be below zero")
    require(inertia > 0, "inertia must be above zero")
    require(step_angle > 0, "step angle must be above zero")
    return root(2 * torque * step_angle / inertia)


def inductance_limited_speed(
    voltage: Number, current: Number, inductance: Number, steps_per_turn: Number
) -> Number:
    """Speed where the torque starts to fall, from the inductance alone.

    ``rev/s = 2 V / (N pi L I)``: resistance and back-EMF are left out, so it flatters; use
    :func:`corner_speed` where they are known.

    Args:
        voltage: of the supply, V, not below zero.
        current: peak of the driver's sine, A, above zero.
        inductance: of one phase, H, above zero.
        steps_per_turn: full steps, above zero.

    Returns:
        Speed, rad/s.

    Raises:
        ValueError: voltage below zero, or another argument not above zero.

    Source:
        Duet3D documentation, "Choosing stepper motors" (2022-06-13).

    Example:
        >>> speed = inductance_limited_speed(voltage=12.0, current=1.5, inductance=4e-3, steps_per_turn=200)
        >>> round(speed / (2 * math.pi), 2)
        6.37
    """
    require(voltage >= 0, "voltage must not be below zero")
    require(current > 0, "current must be above zero")
    require(inductance > 0, "inductance must be above zero")
    require(steps_per_turn > 0, "steps must be above zero")
    return 4 * voltage / (steps_per_turn * inductance * current)
