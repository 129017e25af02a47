"""What the electrical formulas share: one type for numbers and arrays, and a cheap input check."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

Number: TypeAlias = "float | npt.NDArray[np.float64]"


def require(holds: bool | npt.NDArray[np.bool_], message: str) -> None:
    """Refuse physically meaningless input; one failing element of an array is enough.

    Raises:
        ValueError: with the message, when the condition does not hold everywhere (not-a-number fails).
    """
    if holds is not True and not np.all(holds):
        raise ValueError(message)


def root(value: Number) -> Number:
    """Square root of a number or array; a plain float stays one."""
    if isinstance(value, float | int):
        return math.sqrt(value)
    result: Number = np.sqrt(value)
    return result


def log(value: Number) -> Number:
    """Natural logarithm of a number or array, minus infinity at zero; a plain float stays one."""
    if isinstance(value, float | int):
        return math.log(value) if value > 0 else -math.inf
    result: Number = np.log(value)
    return result


def exp(value: Number) -> Number:
    """Exponential of a number or array; a plain float stays one."""
    if isinstance(value, float | int):
        return math.exp(value)
    result: Number = np.exp(value)
    return result


def power(base: Number, exponent: Number) -> Number:
    """Base to an exponent, for numbers or arrays."""
    result: Number = base**exponent
    return result


def larger(a: Number, b: Number) -> Number:
    """Elementwise larger of two; plain floats stay floats."""
    if isinstance(a, float | int) and isinstance(b, float | int):
        return float(max(a, b))
    result: Number = np.maximum(a, b)
    return result


def smaller(a: Number, b: Number) -> Number:
    """Elementwise smaller of two; plain floats stay floats."""
    return -larger(-a, -b)


def interpolate(at: Number, points: tuple[float, ...], values: tuple[float, ...]) -> Number:
    """Straight lines between rising points, held level beyond both ends."""
    result: Number = np.interp(at, points, values)
    return float(result) if isinstance(at, float | int) else result


def choose(condition: bool | npt.NDArray[np.bool_], yes: Number, no: Number) -> Number:
    """Elementwise choice between two values; plain floats stay floats."""
    if isinstance(condition, bool | np.bool_):
        return yes if condition else no
    result: Number = np.where(condition, yes, no)
    return result
