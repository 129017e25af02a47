"""Timing belts and pulleys: pitch, length, travel and what does not mate.

SI units; teeth counts may be given as whole numbers or arrays of them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from fitter.physics._values import Number, asin, cos, magnitude, require, smaller

if TYPE_CHECKING:
    import numpy.typing as npt

# Pitch in m. ISO 5296 (MXL to XXH), ISO 17396 (T, AT), ISO 13050 (curvilinear); from memory.
STANDARD_PITCHES = {
    "MXL": 2.032e-3,
    "XL": 5.08e-3,
    "L": 9.525e-3,
    "H": 12.7e-3,
    "XH": 22.225e-3,
    "XXH": 31.75e-3,
    "T2.5": 2.5e-3,
    "T5": 5e-3,
    "T10": 10e-3,
    "T20": 20e-3,
    "AT3": 3e-3,
    "AT5": 5e-3,
    "AT10": 10e-3,
    "HTD3M": 3e-3,
    "HTD5M": 5e-3,
    "HTD8M": 8e-3,
    "HTD14M": 14e-3,
    "GT2-2M": 2e-3,
    "GT2-3M": 3e-3,
    "GT2-5M": 5e-3,
    "40DP": 0.0816 * 25.4e-3,  # 2.073 mm
}
FEWEST_TEETH_IN_MESH = 6  # for full strength of the belt; common practice, no source
WORKING_FORCE_PER_WIDTH = (10 / 6e-3, 30 / 6e-3)  # N/m for a 2 mm pitch belt; common practice, no source


def _require_belt(pitch: Number, teeth: Number) -> None:
    require(pitch > 0, "pitch must be above zero")
    require(teeth > 0, "teeth must be above zero")


def pitch_diameter(pitch: Number, teeth: Number) -> Number:
    """Pitch diameter of a pulley, where the cords of the belt run (outside the teeth's tips).

    ``D = z p / pi``.

    Args:
        pitch: of the belt, m, above zero.
        teeth: of the pulley, above zero.

    Returns:
        Diameter, m.

    Raises:
        ValueError: an argument not above zero.

    Source:
        pfeiferindustries.com, pitch diameter charts.

    Example:
        >>> round(pitch_diameter(pitch=2e-3, teeth=20) * 1e3, 3)
        12.732
    """
    _require_belt(pitch, teeth)
    return pitch * teeth / math.pi


def travel_per_turn(pitch: Number, teeth: Number) -> Number:
    """Travel of a belt per turn of its pulley.

    ``z p``.

    Args:
        pitch: of the belt, m, above zero.
        teeth: of the pulley, above zero.

    Returns:
        Travel, m.

    Raises:
        ValueError: an argument not above zero.

    Source:
        Definition; common practice, no source.

    Example:
        >>> travel_per_turn(pitch=2e-3, teeth=20)
        0.04
    """
    _require_belt(pitch, teeth)
    return pitch * teeth


def loop_length(centre_distance: Number, pitch: Number, teeth_a: Number, teeth_b: Number) -> Number:
    """Length of a closed belt round two pulleys.

    ``L = 2 C cos(a) + r1 (pi + 2 a) + r2 (pi - 2 a)`` with ``sin(a) = (r1 - r2) / C``; a round number of
    teeth is not forced.

    Args:
        centre_distance: of the shafts, m, at least the difference of the pitch radii.
        pitch: of the belt, m, above zero.
        teeth_a: of one pulley, above zero.
        teeth_b: of the other pulley, above zero.

    Returns:
        Length, m.

    Raises:
        ValueError: pitch, teeth or distance not above zero, or the distance too short for the pulleys.

    Source:
        Geometry of the open belt; common practice, no source.

    Example:
        >>> round(loop_length(centre_distance=0.1, pitch=2e-3, teeth_a=20, teeth_b=20), 6)
        0.24
    """
    radius_a = pitch_diameter(pitch, teeth_a) / 2
    radius_b = pitch_diameter(pitch, teeth_b) / 2
    require(centre_distance > 0, "centre distance must be above zero")
    require(magnitude(radius_a - radius_b) <= centre_distance, "centre distance is too short for the pulleys")
    angle = asin((radius_a - radius_b) / centre_distance)
    straight = 2 * centre_distance * cos(angle)
    return straight + math.pi * (radius_a + radius_b) + 2 * angle * (radius_a - radius_b)


def least_loop(pitch: Number, teeth_a: Number, teeth_b: Number) -> Number:
    """Length of the shortest endless belt round two pulleys: they all but touch.

    :func:`loop_length` at a centre distance of half the sum of the pitch diameters.

    Args:
        pitch: of the belt, m.
        teeth_a: of one pulley.
        teeth_b: of the other pulley.

    Returns:
        Length, m.

    Raises:
        ValueError: pitch or teeth not above zero.

    Source:
        Geometry of :func:`loop_length`.

    Example:
        >>> round(least_loop(pitch=2e-3, teeth_a=20, teeth_b=20) * 1e3, 2)  # 20 teeth and two diameters
        65.46
    """
    _require_belt(pitch, teeth_a)
    _require_belt(pitch, teeth_b)
    apart = (pitch_diameter(pitch, teeth_a) + pitch_diameter(pitch, teeth_b)) / 2
    return loop_length(apart, pitch, teeth_a, teeth_b)


def centre_distance(length: Number, pitch: Number, teeth_a: Number, teeth_b: Number) -> Number:
    """Distance of two shafts for a closed belt, the inverse of :func:`loop_length`.

    Newton steps from the distance of equal pulleys; four suffice for nanometres.

    Args:
        length: of the belt, m.
        pitch: of the belt, m, above zero.
        teeth_a: of one pulley, above zero.
        teeth_b: of the other pulley, above zero.

    Returns:
        Distance, m.

    Raises:
        ValueError: pitch or teeth not above zero, or the belt too short to clear both pulleys.

    Source:
        Geometry of the open belt; common practice, no source.

    Example:
        >>> round(centre_distance(length=0.24, pitch=2e-3, teeth_a=20, teeth_b=20), 6)
        0.1
    """
    _require_belt(pitch, smaller(teeth_a, teeth_b))
    distance = (length - pitch * (teeth_a + teeth_b) / 2) / 2
    clear = pitch * (teeth_a + teeth_b) / (2 * math.pi)
    require(distance >= clear, "the belt is too short to clear both pulleys")
    for _ in range(6):
        error = loop_length(distance, pitch, teeth_a, teeth_b) - length
        sine = pitch * (teeth_a - teeth_b) / (2 * math.pi) / distance
        distance = distance - error / (2 * cos(asin(sine)))  # dL/dC = 2 cos(a)
    return distance


def loop_travel(length: Number, pitch: Number, teeth: Number, carriage_length: Number) -> Number:
    """Travel that a closed belt round two equal pulleys leaves for a carriage.

    ``(L - z p) / 2 - carriage``: the centre distance less the carriage. The carriage length must include
    what keeps it clear of the pulleys. Below zero where nothing is left.

    Args:
        length: of the belt, m.
        pitch: of the belt, m, above zero.
        teeth: of each pulley, above zero.
        carriage_length: m, not below zero.

    Returns:
        Travel, m.

    Raises:
        ValueError: pitch or teeth not above zero, or carriage length below zero.

    Source:
        Geometry; common practice, no source.

    Example:
        >>> round(loop_travel(length=0.92, pitch=2e-3, teeth=20, carriage_length=0.06), 6)
        0.38
    """
    _require_belt(pitch, teeth)
    require(carriage_length >= 0, "carriage length must not be below zero")
    return (length - teeth * pitch) / 2 - carriage_length


def teeth_in_mesh(centre_distance: Number, pitch: Number, teeth: Number, other_teeth: Number) -> Number:
    """Teeth of a pulley that the belt wraps, without rounding; six or more carry the full load.

    ``z (pi + 2 a) / (2 pi)`` with ``sin(a) = (r - r_other) / C``.

    Args:
        centre_distance: of the shafts, m, above zero.
        pitch: of the belt, m, above zero.
        teeth: of this pulley, above zero.
        other_teeth: of the other pulley, above zero.

    Returns:
        Number of teeth.

    Raises:
        ValueError: an argument not above zero, or the distance too short for the pulleys.

    Source:
        Geometry of the open belt; common practice, no source.

    Example:
        >>> teeth_in_mesh(centre_distance=0.1, pitch=2e-3, teeth=20, other_teeth=20)
        10.0
    """
    _require_belt(pitch, smaller(teeth, other_teeth))
    require(centre_distance > 0, "centre distance must be above zero")
    sine = pitch * (teeth - other_teeth) / (2 * math.pi) / centre_distance
    require(magnitude(sine) <= 1, "centre distance is too short for the pulleys")
    return teeth * (0.5 + asin(sine) / math.pi)


def pitch_mismatch(belt_pitch: Number, pulley_pitch: Number) -> Number:
    """Relative difference of a belt's and a pulley's pitch: also the error of scale of the axis.

    ``|p_belt - p_pulley| / p_pulley``; above about 0.5 % the teeth climb out of a full wrap.

    Args:
        belt_pitch: m, above zero.
        pulley_pitch: m, above zero.

    Returns:
        Ratio.

    Raises:
        ValueError: an argument not above zero.

    Source:
        Definition; the limit is common practice, no source.

    Example:
        >>> round(pitch_mismatch(belt_pitch=2.032e-3, pulley_pitch=2e-3), 3)
        0.016
    """
    require(belt_pitch > 0, "belt pitch must be above zero")
    require(pulley_pitch > 0, "pulley pitch must be above zero")
    return magnitude(belt_pitch - pulley_pitch) / pulley_pitch


def mates(belt_pitch: Number, pulley_pitch: Number, tolerance: float = 0.005) -> bool | npt.NDArray[np.bool_]:
    """Whether a belt runs on a pulley, by pitch alone (the tooth profile must match too).

    :func:`pitch_mismatch` within the tolerance: 2.000, 2.032 and 2.073 mm look alike and do not mate.

    Args:
        belt_pitch: m, above zero.
        pulley_pitch: m, above zero.
        tolerance: allowed mismatch, ratio.

    Returns:
        True where it runs.

    Raises:
        ValueError: a pitch not above zero.

    Source:
        Common practice, no source.

    Example:
        >>> mates(belt_pitch=2.032e-3, pulley_pitch=2e-3)
        False
    """
    fits: bool | npt.NDArray[np.bool_] = pitch_mismatch(belt_pitch, pulley_pitch) <= tolerance
    return fits


def steps_per_travel(steps_per_turn: Number, microsteps: Number, pitch: Number, teeth: Number) -> Number:
    """Pulses per metre of a belt axis.

    ``N m / (z p)``.

    Args:
        steps_per_turn: full steps of the motor, above zero.
        microsteps: pulses per full step, above zero.
        pitch: of the belt, m, above zero.
        teeth: of the pulley, above zero.

    Returns:
        Pulses per metre.

    Raises:
        ValueError: an argument not above zero.

    Source:
        RepRap practice, from memory.

    Example:
        >>> round(steps_per_travel(steps_per_turn=200, microsteps=16, pitch=2e-3, teeth=20) / 1000, 6)
        80.0
    """
    require(steps_per_turn > 0, "steps must be above zero")
    require(microsteps > 0, "microsteps must be above zero")
    return steps_per_turn * microsteps / travel_per_turn(pitch, teeth)


def working_force(width: Number) -> tuple[Number, Number]:
    """Force that a small 2 mm pitch belt carries day by day, cautious and usual figure.

    10 to 30 N for 6 mm of width.

    Args:
        width: of the belt, m, not below zero.

    Returns:
        Least and greatest force, N.

    Raises:
        ValueError: width below zero.

    Source:
        Common practice, no source.

    Example:
        >>> low, high = working_force(width=6e-3)
        >>> round(low), round(high)
        (10, 30)
    """
    require(width >= 0, "width must not be below zero")
    low, high = WORKING_FORCE_PER_WIDTH
    return width * low, width * high
