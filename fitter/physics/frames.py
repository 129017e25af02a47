"""NEMA frames of stepper motors: mounting dimensions in metres."""

from __future__ import annotations

from typing import NamedTuple


class Frame(NamedTuple):
    """Mounting dimensions of a NEMA frame, m; the nominal body is a tenth of an inch per frame number."""

    bolt_square: float
    pilot_diameter: float
    shaft_diameter: float
    hole: str
    body_nominal: float


# piclist.com, "nemasizes", after NEMA ICS 16-2001; bolt squares within 0.2 mm of other tables.
FRAMES = {
    8: Frame(0.016, 0.015, 0.004, "M2", 0.0203),
    11: Frame(0.023, 0.022, 0.005, "M2.5", 0.0279),
    14: Frame(0.026, 0.022, 0.005, "M3", 0.0356),
    17: Frame(0.031, 0.022, 0.005, "M3", 0.0432),
    23: Frame(0.04714, 0.0381, 0.00635, "5.1 mm clearance", 0.0584),
    34: Frame(0.0696, 0.073, 0.009525, "5.6 mm clearance", 0.0864),  # shafts of 12.7 and 14 mm are common
}
# What calipers show on real bodies, m.
BODY_WIDTH = {8: 0.020, 11: 0.028, 14: 0.035, 17: 0.042, 23: 0.057, 34: 0.086}
BOLT_TOLERANCE = 0.0002  # m


def frame_of_width(width: float) -> int:
    """NEMA frame whose body is nearest to a measured width.

    Args:
        width: of the square body, m, 0.015 to 0.100.

    Returns:
        Frame number (17 for NEMA 17).

    Raises:
        ValueError: width outside 15 to 100 mm.

    Source:
        Real body widths: common practice, no source.

    Example:
        >>> frame_of_width(0.0423)
        17
    """
    if not 0.015 <= width <= 0.100:
        raise ValueError("width of a NEMA motor must lie between 15 and 100 mm")
    return min(BODY_WIDTH, key=lambda number: abs(BODY_WIDTH[number] - width))


def frame_of_bolts(bolt_square: float) -> int | None:
    """NEMA frame whose bolt square matches a measured hole spacing.

    Args:
        bolt_square: distance of two neighbouring holes, m.

    Returns:
        Frame number, or None where no frame is within 0.2 mm.

    Source:
        piclist.com, "nemasizes", after NEMA ICS 16-2001.

    Example:
        >>> frame_of_bolts(0.0311)
        17
        >>> frame_of_bolts(0.040) is None
        True
    """
    for number, frame in FRAMES.items():
        if abs(frame.bolt_square - bolt_square) <= BOLT_TOLERANCE + 1e-9:
            return number
    return None
