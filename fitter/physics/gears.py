"""Gears, racks and worms: size, speed, torque, efficiency, self-locking and tooth strength.

SI units; ratios are input turns per output turn.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fitter.physics._trig import atan2, cos, magnitude, tan
from fitter.physics._values import Number, interpolate, larger, require

# ISO 54 series I and the small modules of DIN 780, m; from memory.
MODULES = tuple(m * 1e-3 for m in (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10))
DIAMETRAL_PITCHES = (64, 48, 32, 24, 20)  # teeth per inch of pitch diameter, usual in inch machines

# Typical efficiencies, least and greatest. Spur, chain, V-belt: Miki Pulley technical data 26;
# screw, belt, rack: Oriental Motor load torque page; worm: common practice, no source.
EFFICIENCIES = {
    "spur pair": (0.85, 0.95),
    "chain": (0.90, 0.98),
    "v-belt": (0.90, 0.95),
    "timing belt": (0.85, 0.95),
    "ball screw": (0.85, 0.95),
    "rack": (0.85, 0.95),
    "worm": (0.30, 0.60),
}
SELF_LOCKING_BELOW = 0.45  # efficiency of a worm that surely locks; SEVA-tec FAQ 2.1.3
NOT_LOCKING_ABOVE = 0.55  # efficiency of a worm that surely does not; the same

# Lewis form factor of a 20 deg full-depth tooth, load near the pitch point (classic Lewis table; from memory).
_LEWIS_TEETH = (
    12,
    13,
    14,
    15,
    16,
    17,
    18,
    19,
    20,
    21,
    22,
    24,
    26,
    28,
    30,
    34,
    38,
    43,
    50,
    60,
    75,
    100,
    150,
    300,
)
_LEWIS_FACTOR = (
    0.245, 0.261, 0.276, 0.289, 0.295, 0.302, 0.308, 0.314, 0.320, 0.327, 0.330, 0.336,
    0.346, 0.352, 0.358, 0.371, 0.383, 0.396, 0.408, 0.421, 0.434, 0.446, 0.459, 0.471,
)  # fmt: skip
# Bending stress that dry plastic teeth stand for long, cautious and usual, Pa; common practice, no source.
PLASTIC_TOOTH_STRESS = {"acetal": (10e6, 35e6), "nylon": (10e6, 30e6), "abs": (5e6, 20e6)}


class WormSet(NamedTuple):
    """Geometry of a worm and its wheel: m, rad and ratios."""

    axial_pitch: Number
    lead: Number
    lead_angle: Number
    wheel_diameter: Number
    centre_distance: Number
    ratio: Number


def output_torque(torque: Number, ratio: Number, efficiency: Number) -> Number:
    """Torque behind a reduction.

    ``T i eta``.

    Args:
        torque: at the input, N m.
        ratio: input turns per output turn, above zero.
        efficiency: ratio, 0..1.

    Returns:
        Torque, N m.

    Raises:
        ValueError: ratio not above zero, or efficiency outside 0..1.

    Source:
        Power balance; common practice, no source.

    Example:
        >>> output_torque(torque=0.1, ratio=50.0, efficiency=0.5)
        2.5
    """
    require(ratio > 0, "ratio must be above zero")
    require((efficiency >= 0) & (efficiency <= 1), "efficiency must lie between 0 and 1")
    return torque * ratio * efficiency


def input_torque(torque: Number, ratio: Number, efficiency: Number) -> Number:
    """Torque that a reduction needs at its input, the inverse of :func:`output_torque`.

    ``T / (i eta)``.

    Args:
        torque: at the output, N m.
        ratio: input turns per output turn, above zero.
        efficiency: ratio, above 0 up to 1.

    Returns:
        Torque, N m.

    Raises:
        ValueError: ratio not above zero, or efficiency outside its range.

    Source:
        Power balance; common practice, no source.

    Example:
        >>> input_torque(torque=2.5, ratio=50.0, efficiency=0.5)
        0.1
    """
    require(ratio > 0, "ratio must be above zero")
    require((efficiency > 0) & (efficiency <= 1), "efficiency must be above 0 and at most 1")
    return torque / (ratio * efficiency)


def train_efficiency(stage_efficiency: Number, stages: Number) -> Number:
    """Efficiency of equal stages in a row.

    ``eta^n``.

    Args:
        stage_efficiency: of one stage, ratio, 0..1.
        stages: number of stages, not below zero.

    Returns:
        Efficiency, ratio.

    Raises:
        ValueError: efficiency outside 0..1, or stages below zero.

    Source:
        Power balance; 85 % a stage: MIT 2.007 (2008) course notes.

    Example:
        >>> round(train_efficiency(stage_efficiency=0.85, stages=3), 3)
        0.614
    """
    require((stage_efficiency >= 0) & (stage_efficiency <= 1), "efficiency must lie between 0 and 1")
    require(stages >= 0, "stages must not be below zero")
    result: Number = stage_efficiency**stages
    return result


def pitch_diameter(module: Number, teeth: Number) -> Number:
    """Pitch diameter of a gear, also the travel of a rack per turn over pi.

    ``m z``.

    Args:
        module: m, above zero.
        teeth: above zero.

    Returns:
        Diameter, m.

    Raises:
        ValueError: an argument not above zero.

    Source:
        ISO 21771, from memory.

    Example:
        >>> pitch_diameter(module=1e-3, teeth=20)
        0.02
    """
    require(module > 0, "module must be above zero")
    require(teeth > 0, "teeth must be above zero")
    return module * teeth


def module_from_outside_diameter(outside_diameter: Number, teeth: Number) -> Number:
    """Module of a gear from calipers and a tooth count.

    ``m = OD / (z + 2)``; profile shift (common below 17 teeth) and helix angle falsify it.

    Args:
        outside_diameter: over the tips, m, above zero.
        teeth: above zero.

    Returns:
        Module, m.

    Raises:
        ValueError: an argument not above zero.

    Source:
        Full-depth tooth; common practice, no source.

    Example:
        >>> round(module_from_outside_diameter(outside_diameter=0.011, teeth=20) * 1e3, 6)
        0.5
    """
    require(outside_diameter > 0, "outside diameter must be above zero")
    require(teeth > 0, "teeth must be above zero")
    return outside_diameter / (teeth + 2)


def module_from_diametral_pitch(diametral_pitch: Number) -> Number:
    """Module of an inch gear.

    ``25.4 mm / DP``: 48 DP is 0.529 mm and does not mesh with module 0.5.

    Args:
        diametral_pitch: teeth per inch of pitch diameter, above zero.

    Returns:
        Module, m.

    Raises:
        ValueError: diametral pitch not above zero.

    Source:
        Definition; common practice, no source.

    Example:
        >>> round(module_from_diametral_pitch(diametral_pitch=48) * 1e3, 3)
        0.529
    """
    require(diametral_pitch > 0, "diametral pitch must be above zero")
    return 0.0254 / diametral_pitch


def centre_distance(module: Number, teeth_a: Number, teeth_b: Number) -> Number:
    """Distance of the shafts of two gears without profile shift.

    ``m (z1 + z2) / 2``.

    Args:
        module: m, above zero.
        teeth_a: of one gear, above zero.
        teeth_b: of the other gear, above zero.

    Returns:
        Distance, m.

    Raises:
        ValueError: an argument not above zero.

    Source:
        ISO 21771, from memory.

    Example:
        >>> round(centre_distance(module=0.5e-3, teeth_a=20, teeth_b=60) * 1e3, 6)
        20.0
    """
    return (pitch_diameter(module, teeth_a) + pitch_diameter(module, teeth_b)) / 2


def rack_travel_per_turn(module: Number, teeth: Number) -> Number:
    """Travel of a rack per turn of its pinion.

    ``pi m z``.

    Args:
        module: m, above zero.
        teeth: of the pinion, above zero.

    Returns:
        Travel, m.

    Raises:
        ValueError: an argument not above zero.

    Source:
        Definition; common practice, no source.

    Example:
        >>> round(rack_travel_per_turn(module=1e-3, teeth=20) * 1e3, 3)
        62.832
    """
    return math.pi * pitch_diameter(module, teeth)


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
    wheel = pitch_diameter(module, wheel_teeth)
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


def lewis_factor(teeth: Number) -> Number:
    """Lewis form factor of a 20 deg full-depth spur tooth.

    Table, straight lines between; held level below 12 teeth, where shifted profiles are used, and
    above 300.

    Args:
        teeth: above zero.

    Returns:
        Factor Y, ratio.

    Raises:
        ValueError: teeth not above zero.

    Source:
        Classic Lewis table, from memory; misprints of web copies are named in the tests.

    Example:
        >>> lewis_factor(teeth=20.0)
        0.32
    """
    require(teeth > 0, "teeth must be above zero")
    return interpolate(teeth, _LEWIS_TEETH, _LEWIS_FACTOR)


def tooth_force(module: Number, width: Number, teeth: Number, stress: Number) -> Number:
    """Force on one tooth at a bending stress (Lewis).

    ``F = sigma b m Y``: static, one tooth pair in mesh, no allowance for speed, heat or shock.

    Args:
        module: m, above zero.
        width: of the face, m, not below zero.
        teeth: above zero.
        stress: allowed bending stress, Pa, not below zero; see :data:`PLASTIC_TOOTH_STRESS`.

    Returns:
        Tangential force, N.

    Raises:
        ValueError: module or teeth not above zero, or width or stress below zero.

    Source:
        Lewis equation; General Design Principles for DuPont Engineering Polymers, module 9.

    Example:
        >>> round(tooth_force(module=0.5e-3, width=4e-3, teeth=20.0, stress=35e6), 1)
        22.4
    """
    require(module > 0, "module must be above zero")
    require(width >= 0, "width must not be below zero")
    require(stress >= 0, "stress must not be below zero")
    return stress * width * module * lewis_factor(teeth)


def tooth_torque(module: Number, width: Number, teeth: Number, stress: Number) -> Number:
    """Torque of a gear at which its teeth reach a bending stress: the limit of small plastic gears.

    :func:`tooth_force` times the pitch radius.

    Args:
        module: m, above zero.
        width: of the face, m, not below zero.
        teeth: above zero.
        stress: allowed bending stress, Pa, not below zero.

    Returns:
        Torque, N m.

    Raises:
        ValueError: as for :func:`tooth_force`.

    Source:
        As for :func:`tooth_force`.

    Example:
        >>> round(tooth_torque(module=0.5e-3, width=4e-3, teeth=20.0, stress=35e6), 3)
        0.112
    """
    return tooth_force(module, width, teeth, stress) * pitch_diameter(module, teeth) / 2


def nearest_module(module: float) -> tuple[float, float]:
    """Nearest module on sale, metric or inch, and how far off the measured one is.

    Args:
        module: measured, m, above zero.

    Returns:
        Module, m, and relative difference, ratio; above about 0.03 suspect a shifted or helical gear.

    Raises:
        ValueError: module not above zero.

    Source:
        ISO 54 and DIN 780 modules, usual diametral pitches; from memory.

    Example:
        >>> module, off = nearest_module(0.53e-3)
        >>> round(module * 1e3, 3), round(off, 3)
        (0.529, 0.002)
    """
    require(module > 0, "module must be above zero")
    inch = [module_from_diametral_pitch(pitch) for pitch in DIAMETRAL_PITCHES]
    best = min((*MODULES, *(float(m) for m in inch)), key=lambda m: abs(m - module))
    return best, abs(module - best) / best


def backlash_angle(play: Number, radius: Number) -> Number:
    """Backlash angle of a shaft from the play at an arm.

    ``play / radius`` (small angles).

    Args:
        play: measured at the end of the arm, m, not below zero.
        radius: of the arm, m, above zero.

    Returns:
        Angle, rad.

    Raises:
        ValueError: play below zero, or radius not above zero.

    Source:
        Geometry; common practice, no source.

    Example:
        >>> backlash_angle(play=1e-3, radius=0.1)
        0.01
    """
    require(play >= 0, "play must not be below zero")
    require(radius > 0, "radius must be above zero")
    return play / radius


def mates(module_a: Number, module_b: Number, tolerance: float = 0.02) -> bool | npt.NDArray[np.bool_]:
    """Whether two gears mesh, by module alone (pressure and helix angle must match too).

    Relative difference within the tolerance: 0.5 mm and 48 DP (0.529 mm) do not mesh.

    Args:
        module_a: m, above zero.
        module_b: m, above zero.
        tolerance: allowed difference, ratio.

    Returns:
        True where they mesh.

    Raises:
        ValueError: a module not above zero.

    Source:
        Common practice, no source.

    Example:
        >>> mates(0.5e-3, 0.0254 / 48)
        False
    """
    require(module_a > 0, "module must be above zero")
    require(module_b > 0, "module must be above zero")
    meshes: bool | npt.NDArray[np.bool_] = magnitude(module_a - module_b) <= tolerance * larger(
        module_a, module_b
    )
    return meshes
