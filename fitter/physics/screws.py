"""Lead screws: torque, efficiency, self-locking, critical speed and buckling.

SI units. Lead is the travel per turn (pitch times starts). Efficiency and torque are those of the thread
alone; collar or thrust bearing friction is added by :func:`collar_torque`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitter.physics._values import Number, choose, cos, larger, require, root
from fitter.physics.beams import STEEL_MODULUS
from fitter.physics.motion import STEEL_DENSITY

if TYPE_CHECKING:
    import numpy.typing as npt

TRAPEZOIDAL_HALF_ANGLE = math.radians(15.0)  # of the thread profile, ISO 2901
ACME_HALF_ANGLE = math.radians(14.5)
METRIC_HALF_ANGLE = math.radians(30.0)
# Sliding speed of a thread up to which tables of friction hold and bronze or plastic nuts live, m/s;
# common practice, no source.
FASTEST_SLIDING = 1.0
MILD_STEEL_YIELD = 250e6  # Pa, plain structural steel; common practice, no source


class Support(NamedTuple):
    """How the ends of a screw are held: factors for critical speed and for buckling."""

    critical_speed: float
    buckling: float


# Roots of the beam equation, squared, and Euler's end factors: textbook values, common practice, no source.
SUPPORTS = {
    "fixed-free": Support(3.516, 0.25),
    "supported-supported": Support(math.pi**2, 1.0),
    "fixed-supported": Support(15.418, 2.0),
    "fixed-fixed": Support(22.373, 4.0),
}

# Coefficients of friction, least and greatest: Shigley 9e, table 8-5, p. 422, after Rothbart and Brown.
THREAD_FRICTION = {
    ("steel, dry", "steel"): (0.15, 0.25),
    ("steel, dry", "bronze"): (0.15, 0.23),
    ("steel, dry", "brass"): (0.15, 0.19),
    ("steel, dry", "cast iron"): (0.15, 0.25),
    ("steel, machine oil", "steel"): (0.11, 0.17),
    ("steel, machine oil", "bronze"): (0.10, 0.16),
    ("steel, machine oil", "brass"): (0.10, 0.15),
    ("steel, machine oil", "cast iron"): (0.11, 0.17),
    ("bronze", "steel"): (0.08, 0.12),
    ("bronze", "bronze"): (0.04, 0.06),
    ("bronze", "cast iron"): (0.06, 0.09),
}
# Collars, running and starting: the same page, table 8-6.
COLLAR_FRICTION = {
    ("soft steel", "cast iron"): (0.12, 0.17),
    ("hard steel", "cast iron"): (0.09, 0.15),
    ("soft steel", "bronze"): (0.08, 0.10),
    ("hard steel", "bronze"): (0.06, 0.08),
}


def _require_thread(lead: Number, mean_diameter: Number, friction: Number) -> None:
    require(lead > 0, "lead must be above zero")
    require(mean_diameter > 0, "mean diameter must be above zero")
    require(friction >= 0, "friction must not be below zero")


def mean_diameter(diameter: Number, pitch: Number) -> Number:
    """Mean thread diameter of a square or trapezoidal screw.

    ``d - p / 2``; use the pitch, not the lead of a multi-start screw.

    Args:
        diameter: outside diameter, m, above half the pitch.
        pitch: from one thread to the next, m, not below zero.

    Returns:
        Diameter, m.

    Raises:
        ValueError: pitch below zero, or diameter not above half the pitch.

    Source:
        Shigley, Mechanical Engineering Design, section 8-2, from memory.

    Example:
        >>> round(mean_diameter(diameter=0.032, pitch=0.004), 6)
        0.03
    """
    require(pitch >= 0, "pitch must not be below zero")
    mean = diameter - pitch / 2
    require(mean > 0, "diameter must be above half the pitch")
    return mean


def raising_torque(
    force: Number, lead: Number, mean_diameter: Number, friction: Number, thread_half_angle: Number = 0.0
) -> Number:
    """Torque on a screw that moves a load against its force.

    ``T = F dm/2 (l + pi f' dm) / (pi dm - f' l)`` with ``f' = f / cos(half angle)``. Infinite where the
    thread jams (``f' l >= pi dm``).

    Args:
        force: axial, N, not below zero.
        lead: travel per turn, m, above zero.
        mean_diameter: of the thread, m, above zero.
        friction: coefficient in the thread, not below zero.
        thread_half_angle: of the profile, rad; 0 square, 15 deg trapezoidal, 30 deg metric.

    Returns:
        Torque, N m.

    Raises:
        ValueError: lead or diameter not above zero, or force or friction below zero.

    Source:
        Shigley, Mechanical Engineering Design, eq. 8-1 and 8-5, from memory.

    Example:
        >>> round(raising_torque(force=6400.0, lead=0.008, mean_diameter=0.030, friction=0.08), 2)
        15.94
    """
    require(force >= 0, "force must not be below zero")
    push = force * lead / (2 * math.pi)
    share = efficiency(lead, mean_diameter, friction, thread_half_angle)
    return choose(share > 0, push / larger(share, 1e-300), math.inf)


def lowering_torque(
    force: Number, lead: Number, mean_diameter: Number, friction: Number, thread_half_angle: Number = 0.0
) -> Number:
    """Torque on a screw that lets a load down; below zero where the load turns the screw by itself.

    ``T = F dm/2 (pi f' dm - l) / (pi dm + f' l)`` with ``f' = f / cos(half angle)``.

    Args:
        force: axial, N, not below zero.
        lead: travel per turn, m, above zero.
        mean_diameter: of the thread, m, above zero.
        friction: coefficient in the thread, not below zero.
        thread_half_angle: of the profile, rad.

    Returns:
        Torque, N m.

    Raises:
        ValueError: lead or diameter not above zero, or force or friction below zero.

    Source:
        Shigley, Mechanical Engineering Design, eq. 8-2, from memory.

    Example:
        >>> round(lowering_torque(force=6400.0, lead=0.008, mean_diameter=0.030, friction=0.08), 3)
        -0.466
    """
    _require_thread(lead, mean_diameter, friction)
    require(force >= 0, "force must not be below zero")
    effective = friction / cos(thread_half_angle)
    around = math.pi * mean_diameter
    return force * mean_diameter / 2 * (effective * around - lead) / (around + effective * lead)


def collar_torque(force: Number, friction: Number, diameter: Number) -> Number:
    """Friction torque of a plain collar that takes the axial force.

    ``T = F f dc / 2``; a ball thrust bearing has next to none.

    Args:
        force: axial, N, not below zero.
        friction: coefficient of the collar, not below zero.
        diameter: mean diameter of the collar, m, not below zero.

    Returns:
        Torque, N m.

    Raises:
        ValueError: an argument below zero.

    Source:
        Shigley, Mechanical Engineering Design, eq. 8-6, from memory.

    Example:
        >>> round(collar_torque(force=6400.0, friction=0.08, diameter=0.040), 2)
        10.24
    """
    require(force >= 0, "force must not be below zero")
    require(friction >= 0, "friction must not be below zero")
    require(diameter >= 0, "diameter must not be below zero")
    return force * friction * diameter / 2


def efficiency(
    lead: Number, mean_diameter: Number, friction: Number, thread_half_angle: Number = 0.0
) -> Number:
    """Share of the work on a screw that reaches the load.

    ``(l / (pi dm)) (pi dm - f' l) / (l + pi f' dm)`` with ``f' = f / cos(half angle)``; zero where the
    thread jams. Falls with friction and diameter; rises with the lead up to :func:`best_lead` only.

    Args:
        lead: travel per turn, m, above zero.
        mean_diameter: of the thread, m, above zero.
        friction: coefficient in the thread, not below zero.
        thread_half_angle: of the profile, rad.

    Returns:
        Efficiency, ratio 0..1.

    Raises:
        ValueError: lead or diameter not above zero, or friction below zero.

    Range:
        friction: tables hold while the thread slides no faster than :data:`FASTEST_SLIDING`.

    Source:
        Shigley, Mechanical Engineering Design, eq. 8-4, from memory.

    Example:
        >>> round(efficiency(lead=0.002, mean_diameter=0.007, friction=0.15), 3)
        0.372
    """
    _require_thread(lead, mean_diameter, friction)
    effective = friction / cos(thread_half_angle)
    slope = lead / (math.pi * mean_diameter)
    return larger(slope * (1.0 - effective * slope) / (slope + effective), 0.0)


def best_lead(mean_diameter: Number, friction: Number, thread_half_angle: Number = 0.0) -> Number:
    """Lead of greatest efficiency; beyond it a steeper thread is worse again.

    ``l = pi dm (sqrt(1 + f'^2) - f')``, a lead angle of 45 deg less half the friction angle.

    Args:
        mean_diameter: of the thread, m, above zero.
        friction: coefficient in the thread, not below zero.
        thread_half_angle: of the profile, rad.

    Returns:
        Lead, m.

    Raises:
        ValueError: diameter not above zero, or friction below zero.

    Source:
        Maximum of the efficiency formula, own derivation.

    Example:
        >>> round(best_lead(mean_diameter=0.007, friction=0.15) * 1e3, 1)
        18.9
    """
    require(mean_diameter > 0, "mean diameter must be above zero")
    require(friction >= 0, "friction must not be below zero")
    effective = friction / cos(thread_half_angle)
    return math.pi * mean_diameter * (root(1.0 + effective * effective) - effective)


def self_locking(
    lead: Number, mean_diameter: Number, friction: Number, thread_half_angle: Number = 0.0
) -> bool | npt.NDArray[np.bool_]:
    """Whether a load cannot turn the screw backwards.

    ``pi f dm / cos(half angle) > lead``. Vibration makes screws near the limit creep: keep some distance.

    Args:
        lead: travel per turn, m, above zero.
        mean_diameter: of the thread, m, above zero.
        friction: coefficient in the thread, not below zero.
        thread_half_angle: of the profile, rad.

    Returns:
        True where it locks.

    Raises:
        ValueError: lead or diameter not above zero, or friction below zero.

    Source:
        Shigley, Mechanical Engineering Design, eq. 8-3, from memory.

    Example:
        >>> self_locking(lead=0.002, mean_diameter=0.007, friction=0.15)
        True
        >>> self_locking(lead=0.008, mean_diameter=0.007, friction=0.15)
        False
    """
    _require_thread(lead, mean_diameter, friction)
    locks: bool | npt.NDArray[np.bool_] = math.pi * mean_diameter * friction / cos(thread_half_angle) > lead
    return locks


def back_driving_efficiency(
    lead: Number, mean_diameter: Number, friction: Number, thread_half_angle: Number = 0.0
) -> Number:
    """Share of a load's work that reaches the shaft when the load drives the screw; zero where it locks.

    ``(pi dm / l) (l - pi f' dm) / (pi dm + f' l)``.

    Args:
        lead: travel per turn, m, above zero.
        mean_diameter: of the thread, m, above zero.
        friction: coefficient in the thread, not below zero.
        thread_half_angle: of the profile, rad.

    Returns:
        Efficiency, ratio 0..1.

    Raises:
        ValueError: lead or diameter not above zero, or friction below zero.

    Range:
        friction: tables hold while the thread slides no faster than :data:`FASTEST_SLIDING`.

    Source:
        Follows from the lowering torque (Shigley, eq. 8-2), own derivation.

    Example:
        >>> round(back_driving_efficiency(lead=0.008, mean_diameter=0.007, friction=0.15), 3)
        0.557
    """
    torque = lowering_torque(1.0, lead, mean_diameter, friction, thread_half_angle)
    return larger(-torque * 2 * math.pi / lead, 0.0)


def torque_from_efficiency(force: Number, lead: Number, efficiency: Number) -> Number:
    """Torque on a screw from its efficiency.

    ``T = F l / (2 pi eta)``.

    Args:
        force: axial, N.
        lead: travel per turn, m, above zero.
        efficiency: ratio, above 0 up to 1.

    Returns:
        Torque, N m.

    Raises:
        ValueError: lead not above zero, or efficiency outside its range.

    Source:
        engineeringprep.com, problem 516.

    Example:
        >>> round(torque_from_efficiency(force=20000.0, lead=0.01, efficiency=0.7), 2)
        45.47
    """
    require(lead > 0, "lead must be above zero")
    require((efficiency > 0) & (efficiency <= 1), "efficiency must be above 0 and at most 1")
    return force * lead / (2 * math.pi * efficiency)


def force_from_torque(torque: Number, lead: Number, efficiency: Number) -> Number:
    """Axial force of a screw, the inverse of :func:`torque_from_efficiency`.

    ``F = 2 pi eta T / l``.

    Args:
        torque: on the screw, N m.
        lead: travel per turn, m, above zero.
        efficiency: ratio, 0..1.

    Returns:
        Force, N.

    Raises:
        ValueError: lead not above zero, or efficiency outside its range.

    Source:
        engineeringprep.com, problem 516.

    Example:
        >>> round(force_from_torque(torque=0.1, lead=0.008, efficiency=0.5), 2)
        39.27
    """
    require(lead > 0, "lead must be above zero")
    require((efficiency >= 0) & (efficiency <= 1), "efficiency must lie between 0 and 1")
    return 2 * math.pi * efficiency * torque / lead


def critical_speed(
    root_diameter: Number,
    length: Number,
    end_factor: Number = SUPPORTS["supported-supported"].critical_speed,
    modulus: Number = STEEL_MODULUS,
    density: Number = STEEL_DENSITY,
) -> Number:
    """Speed at which a turning screw starts to whip; stay below 80 % of it.

    ``w = k / L^2 * (d / 4) sqrt(E / rho)``: the first bending mode of a round bar.

    Args:
        root_diameter: at the root of the thread, m, above zero.
        length: between the bearings, m, above zero.
        end_factor: k, from :data:`SUPPORTS`.
        modulus: of elasticity, Pa.
        density: kg/m^3.

    Returns:
        Speed, rad/s.

    Raises:
        ValueError: an argument not above zero.

    Source:
        First mode of an Euler-Bernoulli beam; common practice, no source.

    Example:
        >>> round(critical_speed(root_diameter=0.0065, length=0.5) * 60 / (2 * math.pi), -1)
        3090.0
    """
    for value in (root_diameter, length, end_factor, modulus, density):
        require(value > 0, "every argument must be above zero")
    return end_factor / (length * length) * root_diameter / 4 * root(modulus / density)


def buckling_load(
    root_diameter: Number,
    length: Number,
    end_factor: Number = SUPPORTS["supported-supported"].buckling,
    modulus: Number = STEEL_MODULUS,
) -> Number:
    """Axial force at which a slender screw buckles; makers allow half of it.

    ``F = n pi^2 E I / L^2`` with ``I = pi d^4 / 64`` (Euler). Short, thick screws yield first.

    Args:
        root_diameter: at the root of the thread, m, above zero.
        length: between nut and bearing, m, above zero.
        end_factor: n, from :data:`SUPPORTS`.
        modulus: of elasticity, Pa.

    Returns:
        Force, N.

    Raises:
        ValueError: an argument not above zero.

    Source:
        Euler; end factors as on the HSK ball screw page (b2b-linearbearing.com).

    Example:
        >>> round(buckling_load(root_diameter=0.0065, length=0.5))
        692
    """
    for value in (root_diameter, length, end_factor, modulus):
        require(value > 0, "every argument must be above zero")
    inertia = math.pi * (root_diameter * root_diameter) * (root_diameter * root_diameter) / 64
    return end_factor * math.pi**2 * modulus * inertia / (length * length)


def column_limit(
    root_diameter: Number,
    length: Number,
    end_factor: Number = SUPPORTS["supported-supported"].buckling,
    modulus: Number = STEEL_MODULUS,
    yield_stress: Number = MILD_STEEL_YIELD,
) -> Number:
    """Axial force at which a screw fails: Euler's where it is slender, Johnson's parabola where short.

    With the area A, the radius of gyration k = d / 4 and the slenderness s = L / k:
    ``F = A (S - (S s / (2 pi))^2 / (n E))`` up to ``s^2 = 2 pi^2 n E / S``, above it Euler's
    ``F = n pi^2 E A / s^2``; both meet there at half the yield stress S.

    Args:
        root_diameter: at the root of the thread, m, above zero.
        length: between nut and bearing, m, above zero.
        end_factor: n, from :data:`SUPPORTS`.
        modulus: of elasticity, Pa.
        yield_stress: of the steel, Pa; the default is a cautious figure for plain steel.

    Returns:
        Force, N.

    Raises:
        ValueError: an argument not above zero.

    Source:
        J. B. Johnson's formula, Shigley ch. 4 (columns of intermediate length), from memory.

    Example:
        >>> round(column_limit(root_diameter=0.0065, length=0.5))
        692
        >>> round(column_limit(root_diameter=0.0065, length=0.05))
        8047
    """
    slender = buckling_load(root_diameter, length, end_factor, modulus)
    require(yield_stress > 0, "every argument must be above zero")
    area = math.pi / 4 * root_diameter * root_diameter
    squat = area * yield_stress * (1 - area * yield_stress / (4 * slender))
    return choose(slender <= area * yield_stress / 2, slender, squat)
