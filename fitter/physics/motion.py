"""Axes in motion: force, torque, moves, inertia and mean (RMS) torque.

SI units, standard gravity. Inclines are measured from the level: 0 is horizontal, pi/2 vertical. Moves in
time have a module of their own; its names are to be had here too.
"""

from __future__ import annotations

import math

from fitter.physics._values import Number, atan2, cos, larger, require, sin
from fitter.physics.moves import (
    Move,
    move_rms_torque,
    rms_torque,
    speed_for_time,
    trapezoid_move,
)

__all__ = [
    "FRICTION",
    "GRAVITY",
    "INERTIA_RATIO",
    "STEEL_DENSITY",
    "Move",
    "acceleration_torque",
    "axis_force",
    "belt_reflected_inertia",
    "cylinder_inertia",
    "disc_inertia",
    "gear_reflected_inertia",
    "holding_torque",
    "incline_of_greatest_force",
    "inertia_ratio",
    "move_rms_torque",
    "rms_torque",
    "screw_reflected_inertia",
    "sliding_force",
    "speed_for_time",
    "torque_from_force",
    "trapezoid_move",
]

GRAVITY = 9.80665  # m/s^2
STEEL_DENSITY = 7850.0  # kg/m^3
INERTIA_RATIO = (3.0, 10.0)  # load over motor that is still easy to control; THK ball screw selection

# Coefficients of friction of guides and sliding pairs, least and greatest; bands only.
FRICTION = {
    "steel on steel, dry": (0.4, 0.8),  # pickedshares.com, static and kinetic
    "steel on steel, greased": (0.04, 0.25),  # servo drive guide, kinetic
    "steel on PTFE": (0.04, 0.22),  # pickedshares.com
    "steel on nylon, dry": (0.32, 0.45),  # pickedshares.com
    "bronze on steel, greased": (0.13, 0.19),  # schneider-company.com, brass to sintered bronze
    "feed screw": (0.05, 0.2),  # Miki Pulley technical data 26, as the two below
    "rack guide": (0.08, 0.1),
    "conveyor": (0.05, 0.1),
    "plain bush on rod": (0.10, 0.25),  # common practice, no source
    "ball guide": (0.002, 0.02),  # 0.002 to 0.003 in a maker's manual; seals and dirt, common practice
}


def axis_force(
    mass: Number,
    acceleration: Number,
    incline: Number,
    friction: Number,
    drag: Number = 0.0,
    process_force: Number = 0.0,
) -> Number:
    """Force to move a load up an incline.

    ``m a + m g (sin + mu cos) + drag + process force``. Rises with the incline only up to
    :func:`incline_of_greatest_force`. With a friction below zero it is the force of a load that slides back.

    Args:
        mass: moved, kg, not below zero.
        acceleration: m/s^2.
        incline: rad; below zero for a move downhill.
        friction: coefficient of the guide.
        drag: of the guide whatever the load, N.
        process_force: of the tool against the move, N.

    Returns:
        Force, N.

    Raises:
        ValueError: mass below zero.

    Source:
        Oriental Motor, load torque formulas (sizing-motor02): F = FA + m g (sin + mu cos).

    Example:
        >>> round(axis_force(mass=1.5, acceleration=0.5, incline=0.0, friction=0.1), 2)
        2.22
        >>> round(axis_force(mass=1.5, acceleration=0.0, incline=math.pi / 2, friction=0.1), 2)
        14.71
    """
    require(mass >= 0, "mass must not be below zero")
    weight = mass * GRAVITY
    return mass * acceleration + weight * (sin(incline) + friction * cos(incline)) + drag + process_force


def incline_of_greatest_force(friction: Number) -> Number:
    """Incline at which a load with friction is hardest to move.

    ``atan(1 / mu)``: where :func:`axis_force` peaks.

    Args:
        friction: coefficient of the guide, not below zero.

    Returns:
        Incline, rad; a right angle without friction.

    Raises:
        ValueError: friction below zero.

    Source:
        Maximum of sin + mu cos, own derivation.

    Example:
        >>> round(math.degrees(incline_of_greatest_force(friction=0.2)), 1)
        78.7
    """
    require(friction >= 0, "friction must not be below zero")
    return atan2(1.0, friction)


def sliding_force(mass: Number, incline: Number, friction: Number) -> Number:
    """Force with which a load slides back down an incline; zero where friction holds it.

    ``max(0, m g (sin - mu cos))``.

    Args:
        mass: kg, not below zero.
        incline: rad.
        friction: coefficient of the guide, not below zero; the least of its range is the safe one.

    Returns:
        Force, N.

    Raises:
        ValueError: mass or friction below zero.

    Source:
        Inclined plane; common practice, no source.

    Example:
        >>> sliding_force(mass=2.0, incline=0.05, friction=0.1)
        0.0
    """
    require(friction >= 0, "friction must not be below zero")
    return larger(axis_force(mass, 0.0, incline, -friction), 0.0)


def holding_torque(
    mass: Number, incline: Number, friction: Number, advance: Number, back_efficiency: Number = 1.0
) -> Number:
    """Torque at the motor shaft that keeps a load from sliding back.

    ``T = F_slide advance eta_back``: friction in the drive helps, so 1 is on the safe side.

    Args:
        mass: kg, not below zero.
        incline: rad.
        friction: coefficient of the guide, not below zero.
        advance: travel per radian of the motor shaft, m (pulley radius, or lead / 2 pi), not below zero.
        back_efficiency: of the drive when the load drives it, 0..1; 0 where it locks by itself.

    Returns:
        Torque, N m.

    Raises:
        ValueError: mass, friction or advance below zero, or efficiency outside 0..1.

    Source:
        Power balance of the back-driven train; common practice, no source.

    Example:
        >>> round(holding_torque(mass=1.5, incline=math.pi / 2, friction=0.0, advance=0.00637), 4)
        0.0937
    """
    require(advance >= 0, "advance must not be below zero")
    require((back_efficiency >= 0) & (back_efficiency <= 1), "efficiency must lie between 0 and 1")
    return sliding_force(mass, incline, friction) * advance * back_efficiency


def torque_from_force(force: Number, radius: Number, efficiency: Number) -> Number:
    """Torque at a pulley, pinion or spool that pulls with a force.

    ``T = F r / eta``.

    Args:
        force: N.
        radius: of the pitch circle, m, not below zero.
        efficiency: ratio, above 0 up to 1.

    Returns:
        Torque, N m.

    Raises:
        ValueError: radius below zero, or efficiency outside its range.

    Source:
        Oriental Motor, load torque formulas (sizing-motor02): T = F D / (2 eta i).

    Example:
        >>> torque_from_force(force=10.0, radius=0.009, efficiency=0.9)
        0.09999999999999999
    """
    require(radius >= 0, "radius must not be below zero")
    require((efficiency > 0) & (efficiency <= 1), "efficiency must be above 0 and at most 1")
    return force * radius / efficiency


def acceleration_torque(inertia: Number, angular_acceleration: Number) -> Number:
    """Torque that speeds up an inertia.

    ``T = J alpha``.

    Args:
        inertia: kg m^2, not below zero.
        angular_acceleration: rad/s^2.

    Returns:
        Torque, N m.

    Raises:
        ValueError: inertia below zero.

    Source:
        Newton's second law; common practice, no source.

    Example:
        >>> acceleration_torque(inertia=0.5, angular_acceleration=4.0)
        2.0
    """
    require(inertia >= 0, "inertia must not be below zero")
    return inertia * angular_acceleration


def belt_reflected_inertia(mass: Number, radius: Number) -> Number:
    """Inertia of a load on a belt, rack or cord, as felt at the pulley.

    ``m r^2``.

    Args:
        mass: kg, not below zero.
        radius: of the pitch circle, m.

    Returns:
        Inertia, kg m^2.

    Raises:
        ValueError: mass below zero.

    Source:
        Equal kinetic energy; common practice, no source.

    Example:
        >>> belt_reflected_inertia(mass=2.0, radius=0.5)
        0.5
    """
    require(mass >= 0, "mass must not be below zero")
    return mass * radius * radius


def screw_reflected_inertia(mass: Number, lead: Number) -> Number:
    """Inertia of a load on a screw, as felt at the screw.

    ``m (lead / 2 pi)^2``.

    Args:
        mass: kg, not below zero.
        lead: travel per turn, m.

    Returns:
        Inertia, kg m^2.

    Raises:
        ValueError: mass below zero.

    Source:
        smallmotors.com, "Lead screws": 0.025 M L^2.

    Example:
        >>> round(screw_reflected_inertia(mass=40.0, lead=0.015) * 1e6)
        228
    """
    return belt_reflected_inertia(mass, lead / (2 * math.pi))


def gear_reflected_inertia(inertia: Number, ratio: Number) -> Number:
    """Inertia behind a reduction, as felt before it.

    ``J / i^2``.

    Args:
        inertia: behind the reduction, kg m^2, not below zero.
        ratio: input turns per output turn, above zero.

    Returns:
        Inertia, kg m^2.

    Raises:
        ValueError: inertia below zero, or ratio not above zero.

    Source:
        Equal kinetic energy; common practice, no source.

    Example:
        >>> gear_reflected_inertia(inertia=0.5, ratio=10.0)
        0.005
    """
    require(inertia >= 0, "inertia must not be below zero")
    require(ratio > 0, "ratio must be above zero")
    return inertia / (ratio * ratio)


def cylinder_inertia(diameter: Number, length: Number, density: Number = STEEL_DENSITY) -> Number:
    """Inertia of a solid round bar, screw or roller about its axis.

    ``pi / 32 rho L D^4``; for a screw use the mean diameter.

    Args:
        diameter: m, not below zero.
        length: m, not below zero.
        density: kg/m^3, not below zero; steel 7850.

    Returns:
        Inertia, kg m^2.

    Raises:
        ValueError: an argument below zero.

    Source:
        Oriental Motor, selection calculations (JB = pi/32 rho LB DB^4), from memory.

    Example:
        >>> round(cylinder_inertia(diameter=0.015, length=0.6, density=7900.0) * 1e6, 2)
        23.56
    """
    require(diameter >= 0, "diameter must not be below zero")
    require(length >= 0, "length must not be below zero")
    require(density >= 0, "density must not be below zero")
    square = diameter * diameter
    return math.pi / 32 * density * length * square * square


def disc_inertia(mass: Number, diameter: Number) -> Number:
    """Inertia of a disc or solid cylinder of known mass about its axis.

    ``m D^2 / 8``.

    Args:
        mass: kg, not below zero.
        diameter: m.

    Returns:
        Inertia, kg m^2.

    Raises:
        ValueError: mass below zero.

    Source:
        Textbook formula; common practice, no source.

    Example:
        >>> disc_inertia(mass=4.0, diameter=0.5)
        0.125
    """
    return belt_reflected_inertia(mass, diameter) / 8


def inertia_ratio(load_inertia: Number, motor_inertia: Number) -> Number:
    """Reflected load inertia over the rotor's; 1 to 10 is usual for steppers.

    ``J_load / J_motor``.

    Args:
        load_inertia: as felt at the motor, kg m^2, not below zero.
        motor_inertia: of the rotor, kg m^2, above zero.

    Returns:
        Ratio.

    Raises:
        ValueError: load inertia below zero, or motor inertia not above zero.

    Source:
        THK ball screw selection (3 to 10); 1 to 10 for steppers from memory.

    Example:
        >>> inertia_ratio(load_inertia=3e-5, motor_inertia=1e-5)
        3.0
    """
    require(load_inertia >= 0, "load inertia must not be below zero")
    require(motor_inertia > 0, "motor inertia must be above zero")
    return load_inertia / motor_inertia
