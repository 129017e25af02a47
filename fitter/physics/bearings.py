"""Ball bearings: life, load ratings, and a table of the small sizes that machines yield.

SI units: loads in N, sizes in m, life in revolutions or seconds.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from fitter.physics._values import Number, power, require

MILLION = 1e6  # revolutions of the basic rating life
BALL_EXPONENT = 3.0
ROLLER_EXPONENT = 10.0 / 3.0


class Bearing(NamedTuple):
    """Deep-groove ball bearing: m and N."""

    bore: float
    outer_diameter: float
    width: float
    dynamic_rating: float
    static_rating: float


# ISO 15 sizes, ratings of one large maker (bd-warehouse 0.4.0, parameters of deep-groove ball bearings;
# other makers differ by up to 5 %, sealed kinds by up to 6 %). 688 is the 628/8 of the capped table there.
BEARINGS = {
    "623": Bearing(0.003, 0.010, 0.004, 540.0, 180.0),
    "624": Bearing(0.004, 0.013, 0.005, 936.0, 290.0),
    "625": Bearing(0.005, 0.016, 0.005, 1140.0, 380.0),
    "626": Bearing(0.006, 0.019, 0.006, 2340.0, 950.0),
    "608": Bearing(0.008, 0.022, 0.007, 3450.0, 1370.0),
    "609": Bearing(0.009, 0.024, 0.007, 3900.0, 1660.0),
    "688": Bearing(0.008, 0.016, 0.005, 1330.0, 570.0),
    "6900": Bearing(0.010, 0.022, 0.006, 2700.0, 1270.0),  # from memory
    "6000": Bearing(0.010, 0.026, 0.008, 4750.0, 1960.0),  # from memory
}


class BallBush(NamedTuple):
    """Linear ball bush: m."""

    bore: float
    outer_diameter: float
    length: float


BALL_BUSHES = {  # from memory
    "LM6UU": BallBush(0.006, 0.012, 0.019),
    "LM8UU": BallBush(0.008, 0.015, 0.024),
    "LM10UU": BallBush(0.010, 0.019, 0.029),
    "LM12UU": BallBush(0.012, 0.021, 0.030),
}


def _require_bearing(load: Number, dynamic_rating: Number, exponent: Number) -> None:
    require(load > 0, "load must be above zero")
    require(dynamic_rating > 0, "dynamic rating must be above zero")
    require(exponent > 0, "exponent must be above zero")


def basic_life(load: Number, dynamic_rating: Number, exponent: Number = BALL_EXPONENT) -> Number:
    """Revolutions that nine bearings out of ten outlast (L10).

    ``1e6 (C / P)^a``. Clean grease, good alignment; a salvaged bearing has spent part of it.

    Args:
        load: equivalent radial load P, N, above zero.
        dynamic_rating: C, N, above zero.
        exponent: a; 3 for balls, 10/3 for rollers.

    Returns:
        Revolutions.

    Raises:
        ValueError: an argument not above zero.

    Source:
        ISO 281, basic rating life; Shigley, ch. 11.

    Example:
        >>> basic_life(load=100.0, dynamic_rating=1000.0)
        1000000000.0
    """
    _require_bearing(load, dynamic_rating, exponent)
    return MILLION * power(dynamic_rating / load, exponent)


def life_time(
    load: Number, dynamic_rating: Number, speed: Number, exponent: Number = BALL_EXPONENT
) -> Number:
    """Running time that nine bearings out of ten outlast.

    :func:`basic_life` over the turns per second.

    Args:
        load: equivalent radial load P, N, above zero.
        dynamic_rating: C, N, above zero.
        speed: rad/s, above zero.
        exponent: a; 3 for balls, 10/3 for rollers.

    Returns:
        Time, s.

    Raises:
        ValueError: an argument not above zero.

    Source:
        ISO 281, basic rating life.

    Example:
        >>> round(life_time(load=100.0, dynamic_rating=1000.0, speed=2 * math.pi) / 3600)
        277778
    """
    require(speed > 0, "speed must be above zero")
    return basic_life(load, dynamic_rating, exponent) * 2 * math.pi / speed


def required_rating(load: Number, speed: Number, life: Number, exponent: Number = BALL_EXPONENT) -> Number:
    """Dynamic load rating for a load, a speed and a running time.

    ``C = P (n t / 1e6)^(1/a)`` with the revolutions ``n t``.

    Args:
        load: equivalent radial load P, N, above zero.
        speed: rad/s, above zero.
        life: running time that nine out of ten must outlast, s, above zero.
        exponent: a; 3 for balls, 10/3 for rollers.

    Returns:
        Rating C, N.

    Raises:
        ValueError: an argument not above zero.

    Source:
        ISO 281; Shigley, example 11-1, from memory.

    Example:
        >>> rating = required_rating(load=1779.0, speed=1725 * 2 * math.pi / 60, life=5000 * 3600.0)
        >>> round(rating, -1)
        14280.0
    """
    require(speed > 0, "speed must be above zero")
    require(life > 0, "life must be above zero")
    _require_bearing(load, 1.0, exponent)
    return load * power(speed * life / (2 * math.pi * MILLION), 1 / exponent)


def static_safety(load: Number, static_rating: Number) -> Number:
    """Margin of a bearing at rest against dents in its races.

    ``C0 / P0``; 1 is usual, 2 for quiet running, 0.5 will do for a slow lever.

    Args:
        load: static equivalent load P0, N, above zero.
        static_rating: C0, N, not below zero.

    Returns:
        Ratio.

    Raises:
        ValueError: load not above zero, or rating below zero.

    Source:
        ISO 76; the figures are common practice, no source.

    Example:
        >>> static_safety(load=500.0, static_rating=1000.0)
        2.0
    """
    require(load > 0, "load must be above zero")
    require(static_rating >= 0, "static rating must not be below zero")
    return static_rating / load


def bearings_of_size(bore: float, outer_diameter: float, width: float, within: float = 1e-4) -> list[str]:
    """Designations whose sizes agree with what calipers read.

    Args:
        bore: m.
        outer_diameter: m.
        width: m.
        within: allowed difference of each size, m.

    Returns:
        Designations, in the order of the table; empty where none agrees.

    Source:
        :data:`BEARINGS`.

    Example:
        >>> bearings_of_size(bore=0.008, outer_diameter=0.02195, width=0.007)
        ['608']
    """
    read = (bore, outer_diameter, width)
    return [
        name
        for name, bearing in BEARINGS.items()
        if all(abs(have - size) <= within for have, size in zip(read, bearing, strict=False))
    ]
