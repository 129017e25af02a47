"""Stepper motors: torque at speed on a chopper or a constant voltage, winding connections, limits.

The model is the two-phase synchronous machine in steady state, SI units, per phase. The holding torque
is the one with both phases on at the rated current; peak current is the peak of the driver's sine.
Against published curves the chopper model is good for a factor of 0.8 to 1.15.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from fitter.physics._trig import asin, cos, magnitude, sin
from fitter.physics._values import Number, larger, require, root, smaller

SQRT2 = math.sqrt(2.0)
SURFACE_HEATING = 1000.0  # copper loss per body surface at the rated current, W/m^2 (0.10 W/cm^2)
DRAG_FRACTION = 0.05  # detent torque over holding torque where it was not measured
FULL_STEP_CAP = SQRT2 / 2  # of the holding torque: where the torque curves of two adjacent steps cross
INDUCTANCE_FACTOR_LARGE = 1.5  # for NEMA 34: fits published curves, see ST-06 of the tests
BAND = (0.8, 1.15)  # true torque over that of the model


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


def rotor_teeth(step_angle: Number) -> Number:
    """Rotor teeth (pole pairs) of a two-phase motor.

    ``N_r = (pi / 2) / step angle``: a full step is a quarter of an electrical turn.

    Args:
        step_angle: full-step angle, rad, above zero.

    Returns:
        Number of teeth.

    Raises:
        ValueError: step angle not above zero.

    Source:
        Standard definition; common practice, no source.

    Example:
        >>> round(rotor_teeth(step_angle=math.radians(1.8)), 6)
        50.0
    """
    require(step_angle > 0, "step angle must be above zero")
    return (math.pi / 2) / step_angle


def torque_constant(holding_torque: Number, rated_current: Number) -> Number:
    """Torque per ampere of one phase, which is also its back-EMF constant.

    ``Kt = Ke = T_hold / (sqrt(2) I_rated)``: with both phases on, their torques add at a right angle.
    Saturation, which lowers the holding torque at full current, is left out.

    Args:
        holding_torque: both phases on at the rated current, N m.
        rated_current: per phase, A, above zero.

    Returns:
        Torque constant, N m/A (= V s/rad).

    Raises:
        ValueError: holding torque below zero, or current not above zero.

    Source:
        Duet3D documentation, "Choosing stepper motors" (2022-06-13), back-EMF formula.

    Example:
        >>> round(torque_constant(holding_torque=0.55, rated_current=1.68), 4)
        0.2315
    """
    require(holding_torque >= 0, "holding torque must not be below zero")
    require(rated_current > 0, "rated current must be above zero")
    return holding_torque / (SQRT2 * rated_current)


def back_emf(speed: Number, torque_constant: Number) -> Number:
    """Peak voltage that a turning phase generates.

    ``E = Ke w``.

    Args:
        speed: of the shaft, rad/s.
        torque_constant: of one phase, N m/A.

    Returns:
        Peak back-EMF, V.

    Raises:
        ValueError: torque constant below zero.

    Source:
        Duet3D documentation, "Choosing stepper motors" (2022-06-13).

    Example:
        >>> round(back_emf(speed=5 * 2 * math.pi, torque_constant=torque_constant(0.55, 1.68)), 2)
        7.27
    """
    require(torque_constant >= 0, "torque constant must not be below zero")
    return torque_constant * speed


def impedance(
    speed: Number,
    resistance: Number,
    inductance: Number,
    rotor_teeth: Number,
    inductance_factor: Number = 1.0,
) -> Number:
    """Impedance of one phase at the electrical frequency of a shaft speed.

    ``Z = sqrt(R^2 + (kL N_r w L)^2)``. Iron loss and saturation are left out.

    Args:
        speed: of the shaft, rad/s, not below zero.
        resistance: of one phase, ohm, not below zero.
        inductance: of one phase, H, not below zero.
        rotor_teeth: pole pairs.
        inductance_factor: kL; 1 up to frame 23, 1.5 for frame 34.

    Returns:
        Impedance, ohm.

    Raises:
        ValueError: speed, resistance or inductance below zero.

    Source:
        Steady-state AC circuit, common practice, no source; kL fitted to published curves (NEMA 34).

    Example:
        >>> impedance(speed=100.0, resistance=3.0, inductance=0.8e-3, rotor_teeth=50)
        5.0
    """
    require(speed >= 0, "speed must not be below zero")
    require(resistance >= 0, "resistance must not be below zero")
    require(inductance >= 0, "inductance must not be below zero")
    reactance = inductance_factor * rotor_teeth * speed * inductance
    return root(resistance * resistance + reactance * reactance)


def voltage_limited_torque(
    speed: Number, voltage: Number, constant_per_impedance: Number, resistance: Number
) -> Number:
    """Greatest torque that the supply voltage can drive at a speed.

    ``T_V = max(0, V y - w R y^2)`` with ``y = Kt / Z``, that is ``Kt (V / Z - E R / Z^2)``: the pull-out
    torque of a round-rotor synchronous machine. A parabola in ``y``, monotone in everything else.

    Args:
        speed: of the shaft, rad/s, not below zero.
        voltage: peak of the phase voltage, V, not below zero.
        constant_per_impedance: torque constant over impedance, N m/(A ohm).
        resistance: of one phase, ohm, not below zero.

    Returns:
        Torque, N m, never below zero.

    Raises:
        ValueError: an argument below zero.

    Source:
        Synchronous machine in steady state; common practice, no source (any textbook of electrical machines).

    Example:
        >>> voltage_limited_torque(speed=10.0, voltage=12.0, constant_per_impedance=0.0625, resistance=4.0)
        0.59375
    """
    require(speed >= 0, "speed must not be below zero")
    require(voltage >= 0, "voltage must not be below zero")
    require(constant_per_impedance >= 0, "torque constant must not be below zero")
    require(resistance >= 0, "resistance must not be below zero")
    y = constant_per_impedance
    return larger(voltage * y - speed * resistance * y * y, 0.0)


def blend(current_limited: Number, voltage_limited: Number) -> Number:
    """Torque between two limits that act together: smooth, below both, exact where one rules.

    ``(a^-4 + b^-4)^(-1/4)``; zero if either is zero, the other one where one is infinite.

    Args:
        current_limited: torque of the current limit, N m, not below zero.
        voltage_limited: torque of the voltage limit, N m, not below zero.

    Returns:
        Torque, N m.

    Raises:
        ValueError: a torque below zero.

    Source:
        Exponent fitted to published pull-out curves (mean error 3 % for NEMA 23), own work.

    Example:
        >>> round(blend(current_limited=1.0, voltage_limited=1.0), 4)
        0.8409
        >>> blend(current_limited=2.0, voltage_limited=math.inf)
        2.0
    """
    lesser, greater = smaller(current_limited, voltage_limited), larger(current_limited, voltage_limited)
    require(lesser >= 0, "torque must not be below zero")
    ratio = _ratio_up_to_one(lesser, greater)
    result: Number = lesser * (1.0 + ratio**4) ** -0.25
    return result


def _ratio_up_to_one(lesser: Number, greater: Number) -> Number:
    """Lesser over greater; one where they are equal, also at zero and infinity."""
    if isinstance(lesser, float | int) and isinstance(greater, float | int):
        return lesser / greater if greater > lesser else 1.0
    low, high = np.broadcast_arrays(np.asarray(lesser, dtype=float), np.asarray(greater, dtype=float))
    result: Number = np.divide(low, high, out=np.ones(low.shape), where=high > low)
    return result


def chopper_torque(
    speed: Number,
    voltage: Number,
    current_peak: Number,
    torque_constant: Number,
    resistance: Number,
    inductance: Number,
    rotor_teeth: Number,
    drag: Number,
    inductance_factor: Number = 1.0,
) -> Number:
    """Pull-out torque of a stepper on a chopper driver.

    ``T = (T_I^-4 + T_V^-4)^(-1/4) - drag`` with ``T_I = Kt I_pk`` and :func:`voltage_limited_torque`.
    Resonance, saturation and decay mode are left out; allow :data:`BAND` for them.

    Args:
        speed: of the shaft, rad/s, not below zero.
        voltage: of the supply, V, not below zero.
        current_peak: peak of the driver's sine, A, not below zero.
        torque_constant: of one phase, N m/A.
        resistance: of one phase, ohm, above zero.
        inductance: of one phase, H, not below zero.
        rotor_teeth: pole pairs.
        drag: detent torque, N m; see :func:`drag_torque`.
        inductance_factor: 1 up to frame 23, 1.5 for frame 34.

    Returns:
        Torque at the shaft, N m, never below zero.

    Raises:
        ValueError: resistance not above zero, or another argument below zero.

    Source:
        Own model, checked against published pull-out curves (items ST-01 to ST-09 of the tests).

    Example:
        >>> torque = chopper_torque(speed=600 * 2 * math.pi / 60, voltage=36.0, current_peak=3.804,
        ...     torque_constant=torque_constant(1.9, 2.8), resistance=1.13, inductance=5.4e-3,
        ...     rotor_teeth=50, drag=drag_torque(1.9))
        >>> round(torque, 2)
        0.85
    """
    require(resistance > 0, "resistance must be above zero")
    require(drag >= 0, "drag must not be below zero")
    per_impedance = torque_constant / impedance(speed, resistance, inductance, rotor_teeth, inductance_factor)
    from_voltage = voltage_limited_torque(speed, voltage, per_impedance, resistance)
    return larger(blend(torque_constant * current_peak, from_voltage) - drag, 0.0)


def voltage_driven_torque(
    speed: Number,
    voltage: Number,
    torque_constant: Number,
    resistance: Number,
    inductance: Number,
    rotor_teeth: Number,
    holding_torque: Number,
    series_resistance: Number = 0.0,
    drag: Number = 0.0,
) -> Number:
    """Mean pull-out torque of a stepper on a constant voltage (L/R drive, full step, both phases on).

    :func:`voltage_limited_torque` with ``4 V / pi``, the fundamental of the square wave, and the series
    resistor added to R; at most ``0.707 T_hold``, where the torque curves of two steps cross. The torque
    ripples within a step, so the least is 0.78 to 0.98 of this at 20 to 400 steps/s.

    Args:
        speed: of the shaft, rad/s, not below zero.
        voltage: across the winding and its series resistor, V, not below zero.
        torque_constant: of one phase, N m/A.
        resistance: of one phase, ohm, not below zero.
        inductance: of one phase, H, not below zero.
        rotor_teeth: pole pairs.
        holding_torque: both phases on, N m.
        series_resistance: external resistor of one phase, ohm, not below zero.
        drag: detent torque, N m, not below zero.

    Returns:
        Torque at the shaft, N m, never below zero.

    Raises:
        ValueError: the resistances together not above zero, or another argument below zero.

    Source:
        Fundamental of the square wave, checked by a time-domain simulation (item ST-32 of the tests).

    Example:
        >>> round(voltage_driven_torque(speed=400 * math.radians(1.8), voltage=12.0, torque_constant=0.3465,
        ...     resistance=30.0, inductance=23e-3, rotor_teeth=50, holding_torque=0.1961), 3)
        0.118
    """
    require(series_resistance >= 0, "series resistance must not be below zero")
    require(drag >= 0, "drag must not be below zero")
    total = resistance + series_resistance
    require(total > 0, "resistance must be above zero")
    per_impedance = torque_constant / impedance(speed, total, inductance, rotor_teeth)
    torque = voltage_limited_torque(speed, voltage * 4 / math.pi, per_impedance, total)
    return larger(smaller(torque, holding_torque * FULL_STEP_CAP) - drag, 0.0)


def corner_speed(
    voltage: Number,
    current_peak: Number,
    torque_constant: Number,
    resistance: Number,
    inductance: Number,
    rotor_teeth: Number,
) -> Number:
    """Speed up to which a chopper can still force the full current into the phases.

    Positive root of ``V^2 = (I R + Kt w)^2 + (N_r w L I)^2``; zero where ``I R >= V``. First-order only: for
    torque use :func:`chopper_torque`.

    Args:
        voltage: of the supply, V, not below zero.
        current_peak: peak of the driver's sine, A, not below zero.
        torque_constant: of one phase, N m/A, above zero.
        resistance: of one phase, ohm, not below zero.
        inductance: of one phase, H, not below zero.
        rotor_teeth: pole pairs.

    Returns:
        Speed, rad/s.

    Raises:
        ValueError: torque constant not above zero, or another argument below zero.

    Source:
        Phasor diagram with current in phase with back-EMF; common practice, no source.

    Example:
        >>> w = corner_speed(voltage=24.0, current_peak=1.68, torque_constant=torque_constant(0.4, 1.68),
        ...     resistance=1.65, inductance=2.8e-3, rotor_teeth=50)
        >>> round(w * 60 / (2 * math.pi), -1)
        740.0
    """
    require(torque_constant > 0, "torque constant must be above zero")
    require(
        smaller(smaller(voltage, current_peak), smaller(resistance, inductance)) >= 0,
        "must not be below zero",
    )
    drop = current_peak * resistance
    reactive = rotor_teeth * inductance * current_peak
    square = torque_constant * torque_constant + reactive * reactive
    rest = larger(voltage * voltage - drop * drop, 0.0)
    half = drop * torque_constant
    # the usual root formula turned over: no cancellation, and no division by zero for rest = 0
    return rest / larger(half + root(half * half + square * rest), 1e-300)


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


def drag_torque(holding_torque: Number, detent_torque: Number | None = None) -> Number:
    """Torque that a stepper spends on itself: the detent torque, or 5 % of the holding torque.

    Published shares are 3 to 12 %.

    Args:
        holding_torque: both phases on, N m, not below zero.
        detent_torque: without current, N m; None where it was not measured.

    Returns:
        Torque, N m.

    Raises:
        ValueError: a torque below zero.

    Source:
        myelectrical2015.com (2019-04), "Stepper motor terminology": 5 to 10 %; Mosaic 42BYG228: 11 %.

    Example:
        >>> round(drag_torque(holding_torque=0.4), 3)
        0.02
        >>> drag_torque(holding_torque=0.4, detent_torque=0.03)
        0.03
    """
    torque = holding_torque * DRAG_FRACTION if detent_torque is None else detent_torque
    require(torque >= 0, "torque must not be below zero")
    return torque


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
