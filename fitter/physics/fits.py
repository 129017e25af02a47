"""Fits: ISO 286 limits of holes and shafts up to 30 mm, clearances, and clearance holes of screws.

Sizes and deviations in m. The deviation of a size is what is added to the nominal size.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

import numpy as np

from fitter.physics._values import Number, require

if TYPE_CHECKING:
    import numpy.typing as npt

MICRO = 1e-6
LARGEST = 0.030  # m, end of the tables

# Upper ends of the size bands, m: up to and including 3, 6, 10, 18 and 30 mm.
_BANDS = (0.003, 0.006, 0.010, 0.018, LARGEST)

# ISO 286-1 standard tolerances, um by band; IT6 to IT8 read (deepri.com, precisemetal.in), IT9 from memory.
GRADES = {
    6: (6, 8, 9, 11, 13),
    7: (10, 12, 15, 18, 21),
    8: (14, 18, 22, 27, 33),
    9: (25, 30, 36, 43, 52),
}
# Fundamental deviations of shafts, um by band: of the upper limit up to h, of the lower one from k on.
# g confirmed by a second table, the others from memory.
SHAFT_DEVIATIONS = {
    "f": (-6, -10, -13, -16, -20),
    "g": (-2, -4, -5, -6, -7),
    "h": (0, 0, 0, 0, 0),
    "k": (0, 1, 1, 1, 2),
    "n": (4, 8, 10, 12, 15),
    "p": (6, 12, 15, 18, 22),
    "s": (14, 19, 23, 28, 35),
}
# ISO 273 clearance holes: fine, medium, coarse, m (bd-warehouse 0.4.0, clearance_hole_sizes.csv).
CLEARANCE_HOLES = {
    "M2": (2.2e-3, 2.4e-3, 2.6e-3),
    "M2.5": (2.7e-3, 2.9e-3, 3.1e-3),
    "M3": (3.2e-3, 3.4e-3, 3.6e-3),
    "M4": (4.3e-3, 4.5e-3, 4.8e-3),
    "M5": (5.3e-3, 5.5e-3, 5.8e-3),
    "M6": (6.4e-3, 6.6e-3, 7.0e-3),
    "M8": (8.4e-3, 9.0e-3, 10.0e-3),
    "M10": (10.5e-3, 11.0e-3, 12.0e-3),
}


def _band_values(diameter: Number, table: tuple[int, ...]) -> Number:
    """Table value of the size band of each diameter, m; an end of a band belongs to it."""
    require((diameter > 0) & (diameter <= LARGEST * (1 + 1e-12)), "diameter must lie between 0 and 30 mm")
    index = np.searchsorted(np.asarray(_BANDS) * (1 + 1e-12), diameter)
    values: npt.NDArray[np.float64] = np.asarray(table)[index] * MICRO
    return float(values) if np.ndim(values) == 0 else values


def limits(diameter: Number, symbol: str) -> tuple[Number, Number]:
    """Least and greatest deviation of a hole or shaft with an ISO tolerance.

    Holes ``H6``..``H9`` (from zero up); shafts ``f``, ``g``, ``h``, ``k``, ``n``, ``p``, ``s`` with grades
    6 to 9. Shafts up to h hang from their upper limit, those from k on stand on their lower one.

    Args:
        diameter: nominal, m, above zero up to 0.030.
        symbol: letter and grade, such as "H7" or "g6".

    Returns:
        Lower and upper deviation, m.

    Raises:
        ValueError: diameter outside its range, or a symbol that is not in the tables.

    Source:
        ISO 286-1 and 286-2 tables; layout of limits: Shigley 9e, p. 396.

    Example:
        >>> lower, upper = limits(diameter=0.008, symbol="g6")
        >>> round(lower * 1e6), round(upper * 1e6)
        (-14, -5)
    """
    letter, grade = _split_symbol(symbol)
    tolerance = _band_values(diameter, GRADES[grade])
    if letter == "H":
        return 0.0 * tolerance, tolerance
    deviation = _band_values(diameter, SHAFT_DEVIATIONS[letter])
    if letter <= "h":
        return deviation - tolerance, deviation
    return deviation, deviation + tolerance


def _split_symbol(symbol: str) -> tuple[str, int]:
    match = re.fullmatch(r"([A-Za-z])(\d+)", symbol)
    letter, grade = (match[1], int(match[2])) if match else ("", 0)
    if (letter != "H" and letter not in SHAFT_DEVIATIONS) or grade not in GRADES:
        shafts = ", ".join(SHAFT_DEVIATIONS)
        raise ValueError(f"tolerance {symbol!r} is not in the tables: H or {shafts} with grade 6 to 9")
    return letter, grade


def clearance_range(diameter: Number, hole: str, shaft: str) -> tuple[Number, Number]:
    """Least and greatest clearance of a hole and shaft of the same nominal size; below zero they jam.

    Lower deviation of the hole less upper one of the shaft, and the reverse.

    Args:
        diameter: nominal, m, above zero up to 0.030.
        hole: symbol, such as "H7".
        shaft: symbol, such as "g6".

    Returns:
        Least and greatest clearance, m.

    Raises:
        ValueError: as for :func:`limits`.

    Source:
        ISO 286-1.

    Example:
        >>> least, greatest = clearance_range(diameter=0.008, hole="H7", shaft="g6")
        >>> round(least * 1e6), round(greatest * 1e6)
        (5, 29)
    """
    hole_lower, hole_upper = limits(diameter, hole)
    shaft_lower, shaft_upper = limits(diameter, shaft)
    return hole_lower - shaft_upper, hole_upper - shaft_lower


def measured_clearance(
    bore_least: Number, bore_greatest: Number, shaft_least: Number, shaft_greatest: Number
) -> tuple[Number, Number]:
    """Least and greatest clearance of a bore and a shaft that were measured.

    Least bore less greatest shaft, and the reverse.

    Args:
        bore_least: m.
        bore_greatest: m, not below the least.
        shaft_least: m.
        shaft_greatest: m, not below the least.

    Returns:
        Least and greatest clearance, m; below zero is interference.

    Raises:
        ValueError: a greatest size below its least.

    Source:
        Interval arithmetic; definitions as in Shigley 9e, p. 396.

    Example:
        >>> least, greatest = measured_clearance(8.00e-3, 8.02e-3, 7.98e-3, 7.99e-3)
        >>> round(least * 1e6), round(greatest * 1e6)
        (10, 40)
    """
    require(bore_greatest >= bore_least, "greatest bore must not be below the least")
    require(shaft_greatest >= shaft_least, "greatest shaft must not be below the least")
    return bore_least - shaft_greatest, bore_greatest - shaft_least


def kind_of_fit(least: float, greatest: float) -> Literal["clearance", "transition", "interference"]:
    """Name of a fit from its range of clearance.

    Args:
        least: clearance, m; below zero is interference.
        greatest: clearance, m, not below the least.

    Returns:
        "clearance" where the parts always slide, "interference" where they never do, else "transition".

    Raises:
        ValueError: greatest below least.

    Source:
        ISO 286-1, definitions.

    Example:
        >>> kind_of_fit(*clearance_range(0.008, "H7", "k6"))
        'transition'
    """
    require(greatest >= least, "greatest clearance must not be below the least")
    if least >= 0:
        return "clearance"
    return "interference" if greatest <= 0 else "transition"


def passes(hole: Number, screw: str) -> bool | npt.NDArray[np.bool_]:
    """Whether a metric screw goes through a hole, with the fine series of clearance holes as the least.

    Args:
        hole: diameter, m, above zero.
        screw: such as "M3".

    Returns:
        True where it passes.

    Raises:
        ValueError: hole not above zero, or a screw that is not in the table.

    Source:
        ISO 273, as in :data:`CLEARANCE_HOLES`.

    Example:
        >>> passes(hole=3.2e-3, screw="M3"), passes(hole=3.0e-3, screw="M3")
        (True, False)
    """
    require(hole > 0, "hole must be above zero")
    if screw not in CLEARANCE_HOLES:
        raise ValueError(f"screw {screw!r} is not in the table: {', '.join(CLEARANCE_HOLES)}")
    through: bool | npt.NDArray[np.bool_] = hole >= CLEARANCE_HOLES[screw][0] - MICRO
    return through
