"""Worm sets: geometry, efficiency either way, self-locking. SI units, angles in radian."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitter.physics._values import Number, atan2, cos, larger, require, tan

if TYPE_CHECKING:
    import numpy.typing as npt

SELF_LOCKING_BELOW = 0.45  # efficiency of a worm that surely locks; SEVA-tec FAQ 2.1.3
NOT_LOCKING_ABOVE = 0.55  # efficiency of a worm that surely does not; the same
LOCKING_LEAD_ANGLE = math.radians(5.0)  # up to about this a worm may lock; Mott, p. 343


class WormSet(NamedTuple):
    """Geometry of a worm and its wheel: m, rad and ratios."""

    axial_pitch: Number
    lead: Number
    lead_angle: Number
    wheel_diameter: Number
    centre_distance: Number
    ratio: Number


def worm_geometry(starts: Number, wheel_teeth: Number, module: Number, worm_diameter: Number) -> WormSet:
    """Geometry of a worm set from counts and calipers.

    Axial pitch ``pi m``, lead ``starts pi m``, lead angle ``atan(lead / (pi d))``, wheel ``m z``,
    centre distance ``(d + m z) / 2``, ratio ``z / starts``.

    Args:
        starts: threads of the worm, above zero.
        wheel_teeth: above zero.
        module: axial, m, above zero.
        worm_diameter: pitch diameter of the worm, m, above zero.

    Returns:
        Axial pitch, lead, lead angle, wheel diameter, centre distance and ratio.

    Raises:
        ValueError: an argument not above zero.

    Source:
        R. L. Mott, Machine Elements in Mechanical Design, 4th ed., p. 343.

    Example:
        >>> worm = worm_geometry(starts=3, wheel_teeth=52, module=0.0254 / 6, worm_diameter=0.0508)
        >>> round(math.degrees(worm.lead_angle), 2), round(worm.ratio, 2)
        (14.04, 17.33)
    """
    require(starts > 0, "starts must be above zero")
    require(worm_diameter > 0, "worm diameter must be above zero")
    require(module > 0, "module must be above zero")
    require(wheel_teeth > 0, "wheel teeth must be above zero")
    wheel = module * wheel_teeth
    lead = starts * math.pi * module
    angle = atan2(lead, math.pi * worm_diameter)
    return WormSet(math.pi * module, lead, angle, wheel, (worm_diameter + wheel) / 2, wheel_teeth / starts)


def _require_worm(lead_angle: Number, friction: Number, pressure_angle: Number) -> None:
    require((lead_angle > 0) & (lead_angle < math.pi / 2), "lead angle must lie between 0 and 90 deg")
    require(friction >= 0, "friction must not be below zero")
    require(
        (pressure_angle >= 0) & (pressure_angle < math.pi / 2), "pressure angle must lie between 0 and 90 deg"
    )


def worm_efficiency(lead_angle: Number, friction: Number, pressure_angle: Number) -> Number:
    """Efficiency of a worm that drives its wheel; zero where it jams.

    ``(cos phi - f tan l) / (cos phi + f cot l)``. Rises with the lead angle to about 45 deg less half the
    friction angle, then falls. Bearing and churning losses are left out.

    Args:
        lead_angle: l, rad, between 0 and pi/2.
        friction: coefficient of the teeth, not below zero.
        pressure_angle: phi, in the normal plane, rad; 14.5 to 20 deg are usual.

    Returns:
        Efficiency, ratio 0..1.

    Raises:
        ValueError: an angle outside its range, or friction below zero.

    Source:
        Shigley, Mechanical Engineering Design, eq. 13-46 and table 13-6, from memory.

    Example:
        >>> efficiency = worm_efficiency(math.radians(5), 0.05, math.radians(14.5))
        >>> round(efficiency, 3)
        0.626
    """
    _require_worm(lead_angle, friction, pressure_angle)
    effective, slope = friction / cos(pressure_angle), tan(lead_angle)
    return larger(slope * (1 - effective * slope) / (slope + effective), 0.0)


def worm_back_efficiency(lead_angle: Number, friction: Number, pressure_angle: Number) -> Number:
    """Efficiency of a worm set that is driven from its wheel; zero where it locks.

    ``(cos phi - f cot l) / (cos phi + f tan l)``.

    Args:
        lead_angle: l, rad, between 0 and pi/2.
        friction: coefficient of the teeth, not below zero.
        pressure_angle: phi, in the normal plane, rad.

    Returns:
        Efficiency, ratio 0..1.

    Raises:
        ValueError: an angle outside its range, or friction below zero.

    Source:
        Friction reversed in Shigley's worm efficiency (eq. 13-46), from memory.

    Example:
        >>> worm_back_efficiency(math.radians(2), 0.05, math.radians(14.5))
        0.0
    """
    _require_worm(lead_angle, friction, pressure_angle)
    effective, slope = friction / cos(pressure_angle), tan(lead_angle)
    return larger((slope - effective) / (slope * (1 + effective * slope)), 0.0)


def worm_self_locks(
    lead_angle: Number, friction: Number, pressure_angle: Number
) -> bool | npt.NDArray[np.bool_]:
    """Whether the wheel cannot turn the worm.

    ``tan(l) < f / cos(phi)``. Friction at rest and in motion differ, and vibration helps the load: a set
    near the limit is not a brake.

    Args:
        lead_angle: l, rad, between 0 and pi/2.
        friction: coefficient of the teeth, not below zero.
        pressure_angle: phi, in the normal plane, rad.

    Returns:
        True where it locks.

    Raises:
        ValueError: an angle outside its range, or friction below zero.

    Source:
        Mott, Machine Elements in Mechanical Design, 4th ed., p. 343 (no higher than about 5 deg).

    Example:
        >>> worm_self_locks(math.radians(2.5), 0.05, math.radians(14.5))
        True
    """
    _require_worm(lead_angle, friction, pressure_angle)
    locks: bool | npt.NDArray[np.bool_] = tan(lead_angle) < friction / cos(pressure_angle)
    return locks


def locking_of_efficiency(efficiency: float) -> bool | None:
    """Whether a worm set locks, judged by its efficiency alone.

    Below 0.45 it does, above 0.55 it does not, between them it is open.

    Args:
        efficiency: worm driving, ratio 0..1.

    Returns:
        True, False, or None for open.

    Raises:
        ValueError: efficiency outside 0..1.

    Source:
        SEVA-tec FAQ 2.1.3.

    Example:
        >>> locking_of_efficiency(0.40), locking_of_efficiency(0.50), locking_of_efficiency(0.60)
        (True, None, False)
    """
    require(0 <= efficiency <= 1, "efficiency must lie between 0 and 1")
    if efficiency < SELF_LOCKING_BELOW:
        return True
    return False if efficiency > NOT_LOCKING_ABOVE else None
