"""Barn-door trackers: arm and rod, and how far they drift off the sky."""

from __future__ import annotations

import math

import numpy as np

from fitter.physics._values import Number, require

SIDEREAL_RATE = 2 * math.pi / 86164.0905  # rad/s, a turn in a sidereal day


def arm_for_rate(turning: Number, lead: Number, rate: Number) -> Number:
    """Arm at which a rod that turns at a fixed speed follows the sky.

    ``n l / w``: the rod moves by its lead each turn, the arm by its length times the angle.

    Args:
        turning: of the rod, number of turns in a second, 1/s.
        lead: of the rod, m.
        rate: of the arm, rad/s.

    Returns:
        Length from hinge to rod, m.

    Raises:
        ValueError: a figure not above zero.

    Source:
        astrodigitaal.nl, barn-door tracker: 1.25 turns a minute of an M6 rod (1 mm) want 285.695 mm.

    Example:
        >>> round(arm_for_rate(turning=1.25 / 60, lead=1e-3, rate=SIDEREAL_RATE) * 1e3, 1)
        285.7
    """
    require((turning > 0) & (lead > 0) & (rate > 0), "turning, lead and rate must be above zero")
    return turning * lead / rate


def tangent_drift(rate: Number, start: Number, exposure: Number) -> Number:
    """How far a straight rod at a steady rate falls behind during one picture.

    ``w t - (atan(w (s + t)) - atan(w s))`` for a rod square to the board at the start of the session.

    Args:
        rate: of the sky, rad/s.
        start: of the picture after the start of the session, s.
        exposure: of the picture, s.

    Returns:
        Angle, rad.

    Raises:
        ValueError: a time below zero.

    Source:
        Geometry of a tangent arm; iceinspace.com.au, post 1616531: rate of a tangent arm by its arctangent.

    Example:
        >>> round(math.degrees(tangent_drift(SIDEREAL_RATE, 3480.0, 120.0)) * 3600)  # the end of an hour
        113
    """
    require((start >= 0) & (exposure >= 0), "times must not be below zero")
    turned = np.arctan(rate * (start + exposure)) - np.arctan(rate * start)
    drift: Number = rate * exposure - turned
    return drift
