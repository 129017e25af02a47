"""Trigonometry and magnitude for numbers and arrays alike; a plain float stays one."""

from __future__ import annotations

import math

import numpy as np

from fitter.physics._values import Number


def sin(angle: Number) -> Number:
    """Sine of an angle in radian."""
    if isinstance(angle, float | int):
        return math.sin(angle)
    result: Number = np.sin(angle)
    return result


def cos(angle: Number) -> Number:
    """Cosine of an angle in radian."""
    if isinstance(angle, float | int):
        return math.cos(angle)
    result: Number = np.cos(angle)
    return result


def tan(angle: Number) -> Number:
    """Tangent of an angle in radian."""
    if isinstance(angle, float | int):
        return math.tan(angle)
    result: Number = np.tan(angle)
    return result


def asin(ratio: Number) -> Number:
    """Angle in radian whose sine is the ratio (-1..1)."""
    if isinstance(ratio, float | int):
        return math.asin(ratio)
    result: Number = np.arcsin(ratio)
    return result


def atan2(rise: Number, run: Number) -> Number:
    """Angle in radian of a rise over a run; a run of zero is a right angle."""
    if isinstance(rise, float | int) and isinstance(run, float | int):
        return math.atan2(rise, run)
    result: Number = np.arctan2(rise, run)
    return result


def magnitude(value: Number) -> Number:
    """Value without its sign."""
    if isinstance(value, float | int):
        return abs(value)
    result: Number = np.abs(value)
    return result
