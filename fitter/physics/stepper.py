"""Stepper motors: torque at speed on a chopper or on a constant voltage.

The model is the two-phase synchronous machine in steady state, SI units, per phase. The holding torque
is the one with both phases on at the rated current; peak current is the peak of the driver's sine.
Against published curves the chopper model is good for a factor of 0.8 to 1.15. Windings and steps have
modules of their own; their names are to be had here too.
"""

from __future__ import annotations

import math

import numpy as np

from fitter.physics._values import Number, larger, require, root, smaller
from fitter.physics.stepper_steps import (
    inductance_limited_speed,
    load_angle,
    microstep_phase_currents,
    microstep_torque,
    pulse_rate,
    pulse_speed,
    resonance_frequency,
    resonance_gap,
    start_speed,
)
from fitter.physics.stepper_windings import (
    CONNECTIONS,
    Connection,
    SeriesResistor,
    copper_loss,
    driver_current,
    electrical_time_constant,
    highest_advised_voltage,
    rated_current_from_frame,
    series_resistor,
)

__all__ = [
    "BAND",
    "CONNECTIONS",
    "DRAG_FRACTION",
    "FASTEST",
    "FULL_STEP_CAP",
    "INDUCTANCE_FACTOR_LARGE",
    "Connection",
    "SeriesResistor",
    "back_emf",
    "blend",
    "chopper_torque",
    "copper_loss",
    "corner_speed",
    "drag_torque",
    "driver_current",
    "electrical_time_constant",
    "highest_advised_voltage",
    "impedance",
    "inductance_limited_speed",
    "load_angle",
    "microstep_phase_currents",
    "microstep_torque",
    "pulse_rate",
    "pulse_speed",
    "rated_current_from_frame",
    "resonance_frequency",
    "resonance_gap",
    "rotor_teeth",
    "series_resistor",
    "start_speed",
    "torque_constant",
    "voltage_driven_torque",
    "voltage_limited_torque",
]

SQRT2 = math.sqrt(2.0)
DRAG_FRACTION = 0.05  # detent torque over holding torque where it was not measured
FULL_STEP_CAP = SQRT2 / 2  # of the holding torque: where the torque curves of two adjacent steps cross
INDUCTANCE_FACTOR_LARGE = 1.5  # for NEMA 34: fits published curves, see ST-06 of the tests
BAND = (0.8, 1.15)  # true torque over that of the model
FASTEST = 900 * 2 * math.pi / 60  # of the published curves (ST-06 of the tests), rad/s


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

    Range:
        speed: held against published curves up to 900 rpm (:data:`FASTEST`); faster, iron losses grow.

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

    Range:
        speed: held against published curves up to 900 rpm (:data:`FASTEST`); faster, iron losses grow.

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

    Range:
        speed: held against published curves up to 900 rpm (:data:`FASTEST`); faster, iron losses grow.

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
