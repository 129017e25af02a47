"""Gears and racks: size, torque, efficiency and tooth strength; worms too, from their own module.

SI units; ratios are input turns per output turn.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from fitter.physics._values import Number, interpolate, larger, magnitude, require
from fitter.physics.worms import (
    WormSet,
    locking_of_efficiency,
    worm_back_efficiency,
    worm_efficiency,
    worm_geometry,
    worm_self_locks,
)

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = [
    "DIAMETRAL_PITCHES",
    "EFFICIENCIES",
    "LEWIS_FACTORS",
    "MODULES",
    "PLASTIC_TOOTH_STRESS",
    "WormSet",
    "backlash_angle",
    "centre_distance",
    "input_torque",
    "lewis_factor",
    "locking_of_efficiency",
    "mates",
    "module_from_diametral_pitch",
    "module_from_outside_diameter",
    "nearest_module",
    "output_torque",
    "pitch_diameter",
    "rack_travel_per_turn",
    "tooth_force",
    "tooth_torque",
    "train_efficiency",
    "worm_back_efficiency",
    "worm_efficiency",
    "worm_geometry",
    "worm_self_locks",
]

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

# Lewis form factor of a 20 deg full-depth tooth, load near the pitch point, by teeth. Read in a web copy of
# the classic table (engineersedge.com, plastic gears) up to 60 teeth, its two misprints put right;
# the rest from memory.
# fmt: off
LEWIS_FACTORS = {
    12: 0.245, 13: 0.261, 14: 0.276, 15: 0.289, 16: 0.295, 17: 0.302, 18: 0.308, 19: 0.314,
    20: 0.320, 21: 0.327, 22: 0.330, 24: 0.336, 26: 0.346, 28: 0.352, 30: 0.358, 34: 0.371,
    38: 0.383, 43: 0.396, 50: 0.408, 60: 0.421, 75: 0.434, 100: 0.446, 150: 0.459, 300: 0.471,
}
# fmt: on
# Bending stress that dry plastic teeth stand for long, cautious and usual, Pa; common practice, no source.
PLASTIC_TOOTH_STRESS = {"acetal": (10e6, 35e6), "nylon": (10e6, 30e6), "abs": (5e6, 20e6)}


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


def lewis_factor(teeth: Number) -> Number:
    """Lewis form factor of a 20 deg full-depth spur tooth.

    Table, straight lines between; held level above 300 teeth, which is safe.

    Args:
        teeth: above zero.

    Returns:
        Factor Y, ratio.

    Raises:
        ValueError: teeth not above zero.

    Range:
        teeth: 12 and more, the least of the table; held level below, where teeth are weaker.

    Source:
        Classic Lewis table as on engineersedge.com (plastic gears, table 1), two misprints put right.

    Example:
        >>> lewis_factor(teeth=20.0)
        0.32
    """
    require(teeth > 0, "teeth must be above zero")
    return interpolate(teeth, tuple(LEWIS_FACTORS), tuple(LEWIS_FACTORS.values()))


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

    Range:
        teeth: 12 and more, the least of the table; held level below, where teeth are weaker.

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


def mates(module_a: Number, module_b: Number, tolerance: float = 0.005) -> bool | npt.NDArray[np.bool_]:
    """Whether two gears mesh, by module alone (pressure and helix angle must match too).

    Relative difference within the tolerance: 0.5 mm and 48 DP (0.529 mm) jam, 0.8 mm and 32 DP (0.794 mm)
    turn roughly at best.

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
