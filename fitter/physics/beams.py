"""Rods as beams: sag under a carriage or under their own weight, slope at the ends.

SI units, small deflections of a straight round rod of one material.
"""

from __future__ import annotations

import math

from fitter.physics._values import Number, require
from fitter.physics.motion import GRAVITY, STEEL_DENSITY

STEEL_MODULUS = 200e9  # Pa
ALUMINIUM_MODULUS = 69e9  # Pa
STEEL_SHEAR = 79e9  # shear modulus, Pa
ROUND_SHEAR_FACTOR = 6 * 1.3 / (7 + 6 * 0.3)  # Cowper, Poisson's ratio 0.3


def _require_rod(length: Number, modulus: Number) -> None:
    require(length >= 0, "length must not be below zero")
    require(modulus > 0, "modulus must be above zero")


def rod_second_moment(diameter: Number, bore: Number = 0.0) -> Number:
    """Second moment of area of a round rod or tube.

    ``I = pi (D^4 - d^4) / 64``.

    Args:
        diameter: outside, m, above the bore.
        bore: inside of a tube, m, not below zero.

    Returns:
        Second moment of area, m^4.

    Raises:
        ValueError: bore below zero, or diameter not above the bore.

    Source:
        Textbook formula; common practice, no source.

    Example:
        >>> round(rod_second_moment(diameter=0.008) * 1e12, 1)
        201.1
    """
    require(bore >= 0, "bore must not be below zero")
    require(diameter > bore, "diameter must be above the bore")
    outer, inner = diameter * diameter, bore * bore
    return math.pi * (outer * outer - inner * inner) / 64


def sag_supported_ends(
    force: Number, length: Number, diameter: Number, modulus: Number = STEEL_MODULUS
) -> Number:
    """Sag of a rod that lies on two supports, with the force in the middle: the upper bound for a carriage.

    ``F L^3 / (48 E I)``.

    Args:
        force: on this rod, N.
        length: between the supports, m, not below zero.
        diameter: m, above zero.
        modulus: of elasticity, Pa.

    Returns:
        Sag in the middle, m.

    Raises:
        ValueError: length below zero, or diameter or modulus not above zero.

    Source:
        Beam table, for example clag.org.uk/beam.html.

    Example:
        >>> round(sag_supported_ends(force=7.5, length=0.6, diameter=0.008) * 1e3, 2)
        0.84
    """
    _require_rod(length, modulus)
    return force * length**3 / (48 * modulus * rod_second_moment(diameter))


def sag_fixed_ends(
    force: Number, length: Number, diameter: Number, modulus: Number = STEEL_MODULUS
) -> Number:
    """Sag of a rod with both ends held stiffly, with the force in the middle: a quarter of the supported one.

    ``F L^3 / (192 E I)``. Real clamps lie between this and :func:`sag_supported_ends`.

    Args:
        force: on this rod, N.
        length: between the clamps, m, not below zero.
        diameter: m, above zero.
        modulus: of elasticity, Pa.

    Returns:
        Sag in the middle, m.

    Raises:
        ValueError: length below zero, or diameter or modulus not above zero.

    Source:
        Beam table, clag.org.uk/beam.html.

    Example:
        >>> round(sag_fixed_ends(force=3000.0, length=0.5, diameter=0.025) * 1e3, 4)
        0.5093
    """
    return sag_supported_ends(force, length, diameter, modulus) / 4


def sag_cantilever(
    force: Number, length: Number, diameter: Number, modulus: Number = STEEL_MODULUS
) -> Number:
    """Sag at the free end of a rod that is clamped at the other end.

    ``F L^3 / (3 E I)``.

    Args:
        force: at the free end, N.
        length: from the clamp, m, not below zero.
        diameter: m, above zero.
        modulus: of elasticity, Pa.

    Returns:
        Sag at the free end, m.

    Raises:
        ValueError: length below zero, or diameter or modulus not above zero.

    Source:
        Beam table, clag.org.uk/beam.html.

    Example:
        >>> round(sag_cantilever(force=10.0, length=0.1, diameter=0.008) * 1e3, 3)
        0.083
    """
    return sag_supported_ends(force, length, diameter, modulus) * 16


def sag_at(
    force: Number, place: Number, length: Number, diameter: Number, modulus: Number = STEEL_MODULUS
) -> Number:
    """Sag under a force that stands anywhere on a rod on two supports.

    ``F a^2 b^2 / (3 E I L)`` with ``b = L - a``.

    Args:
        force: on this rod, N.
        place: a, from one support, m, within the length.
        length: between the supports, m, above zero.
        diameter: m, above zero.
        modulus: of elasticity, Pa.

    Returns:
        Sag under the force, m.

    Raises:
        ValueError: place outside the rod, or another argument not above zero.

    Source:
        Beam table; common practice, no source.

    Example:
        >>> round(sag_at(force=7.5, place=0.3, length=0.6, diameter=0.008) * 1e3, 2)
        0.84
    """
    _require_rod(length, modulus)
    require(length > 0, "length must be above zero")
    require((place >= 0) & (place <= length), "place must lie on the rod")
    product = place * (length - place)
    return force * product * product / (3 * modulus * rod_second_moment(diameter) * length)


def slope_supported_ends(
    force: Number, length: Number, diameter: Number, modulus: Number = STEEL_MODULUS
) -> Number:
    """Slope at the supports of a rod with the force in the middle.

    ``F L^2 / (16 E I)``: what a bush or a pressed bearing at the end must follow.

    Args:
        force: on this rod, N.
        length: between the supports, m, not below zero.
        diameter: m, above zero.
        modulus: of elasticity, Pa.

    Returns:
        Slope, rad.

    Raises:
        ValueError: length below zero, or diameter or modulus not above zero.

    Source:
        Beam table; common practice, no source.

    Example:
        >>> round(slope_supported_ends(force=7.5, length=0.6, diameter=0.008) * 1e3, 2)
        4.2
    """
    _require_rod(length, modulus)
    return force * length * length / (16 * modulus * rod_second_moment(diameter))


def sag_own_weight(
    length: Number,
    diameter: Number,
    density: Number = STEEL_DENSITY,
    modulus: Number = STEEL_MODULUS,
    fixed_ends: bool = False,
) -> Number:
    """Sag of a level rod under its own weight.

    ``5 q L^4 / (384 E I)`` on two supports, a fifth of it with both ends held stiffly.

    Args:
        length: between the supports, m, not below zero.
        diameter: m, above zero.
        density: kg/m^3, not below zero.
        modulus: of elasticity, Pa.
        fixed_ends: True where both ends are held stiffly.

    Returns:
        Sag in the middle, m.

    Raises:
        ValueError: length or density below zero, or diameter or modulus not above zero.

    Source:
        Beam table; common practice, no source.

    Example:
        >>> round(sag_own_weight(length=0.6, diameter=0.008) * 1e3, 2)
        0.16
    """
    _require_rod(length, modulus)
    require(density >= 0, "density must not be below zero")
    weight = density * GRAVITY * math.pi * diameter * diameter / 4
    factor = 1.0 if fixed_ends else 5.0
    return factor * weight * length**4 / (384 * modulus * rod_second_moment(diameter))


def bending_stress(force: Number, length: Number, diameter: Number) -> Number:
    """Greatest stress of a rod on two supports with the force in the middle.

    ``8 F L / (pi d^3)``; soft steel yields at about 250 MPa.

    Args:
        force: on this rod, N.
        length: between the supports, m, not below zero.
        diameter: m, above zero.

    Returns:
        Stress, Pa.

    Raises:
        ValueError: length below zero, or diameter not above zero.

    Source:
        Textbook formula; common practice, no source.

    Example:
        >>> round(bending_stress(force=100.0, length=0.5, diameter=0.01) / 1e6, 1)
        127.3
    """
    require(length >= 0, "length must not be below zero")
    require(diameter > 0, "diameter must be above zero")
    return 8 * force * length / (math.pi * diameter**3)


def shear_sag(force: Number, length: Number, diameter: Number, shear_modulus: Number = STEEL_SHEAR) -> Number:
    """What shear adds to the sag of a round rod on two supports, with the force in the middle.

    ``F L / (4 k G A)`` with the shear factor k = 0.886 of a round section: a per cent of the bending at a
    length of 20 diameters, a quarter at three.

    Args:
        force: on this rod, N.
        length: between the supports, m, not below zero.
        diameter: m, above zero.
        shear_modulus: G, Pa, above zero.

    Returns:
        Sag, m.

    Raises:
        ValueError: length below zero, or diameter or modulus not above zero.

    Source:
        Timoshenko beam, shear factor 6 (1 + v) / (7 + 6 v) of Cowper (1966) with v = 0.3, from memory.

    Example:
        >>> round(shear_sag(force=10.0, length=0.1, diameter=0.008) * 1e9, 1)
        71.0
    """
    _require_rod(length, shear_modulus)
    require(diameter > 0, "diameter must be above zero")
    area = math.pi / 4 * diameter * diameter
    return force * length / (4 * ROUND_SHEAR_FACTOR * shear_modulus * area)
