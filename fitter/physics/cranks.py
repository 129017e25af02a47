"""Cranks that turn rotation into a motion to and fro."""

from __future__ import annotations

from fitter.physics._values import Number, require, root


def crank_torque(force: Number, radius: Number, rod_length: Number) -> Number:
    """Torque that a crank never needs more than to push a force through its rod.

    ``F r / sqrt(1 - (r/l)^2)``: from ``T = F r sin(a + b) / cos b`` with ``sin b = (r/l) sin a``, whose sine
    is at most one. The true peak lies up to 1 % below for rods of three times the radius and more.

    Args:
        force: along the line of motion, N.
        radius: of the crank, half the stroke, m.
        rod_length: between the pins of the rod, m.

    Returns:
        Torque, N m.

    Raises:
        ValueError: force below zero, or a rod not longer than the crank.

    Source:
        Slider-crank geometry (textbook).

    Example:
        >>> round(crank_torque(force=10.0, radius=0.03, rod_length=0.15), 4)
        0.3062
    """
    require((force >= 0) & (radius > 0), "force must not be below zero, radius above zero")
    require(rod_length > radius, "the rod must be longer than the crank")
    return force * radius / root(1.0 - (radius / rod_length) ** 2)


def inertia_force(mass: Number, radius: Number, rod_length: Number, speed: Number) -> Number:
    """Greatest force that a crank's steady turning takes to swing a mass to and fro.

    ``m r w^2 (1 + r/l)``, at the end of the stroke away from the crank.

    Args:
        mass: that moves to and fro, kg.
        radius: of the crank, m.
        rod_length: between the pins of the rod, m.
        speed: of the crank, rad/s.

    Returns:
        Force, N.

    Raises:
        ValueError: mass below zero, or radius or rod not above zero.

    Source:
        Slider-crank kinematics, first two harmonics (textbook).

    Example:
        >>> round(inertia_force(mass=1.0, radius=0.03, rod_length=0.15, speed=3.0), 3)
        0.324
    """
    require(mass >= 0, "mass must not be below zero")
    require((radius > 0) & (rod_length > 0), "radius and rod must be above zero")
    return mass * radius * speed**2 * (1.0 + radius / rod_length)
