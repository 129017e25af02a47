"""What the formulas share: one type for numbers and arrays, functions that serve both, an input check."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

Number: TypeAlias = "float | npt.NDArray[np.float64]"


def require(holds: bool | npt.NDArray[np.bool_], message: str) -> None:
    """Refuse physically meaningless input; one failing element of an array is enough.

    Raises:
        ValueError: with the message, when the condition does not hold everywhere (not-a-number fails).
    """
    if holds is not True and not np.all(holds):
        raise ValueError(message)


def _either(plain: Callable[[float], float], array: Callable[..., Number], value: Number) -> Number:
    """A function of one argument, worked out by the plain library for a float and by NumPy for an array."""
    return plain(value) if isinstance(value, float | int) else array(value)


def root(value: Number) -> Number:
    """Square root of a number or array; a plain float stays one."""
    return _either(math.sqrt, np.sqrt, value)


def log(value: Number) -> Number:
    """Natural logarithm of a number or array, minus infinity at zero; a plain float stays one."""
    if isinstance(value, float | int):
        return math.log(value) if value > 0 else -math.inf
    result: Number = np.log(value)
    return result


def log_of_rest(share: Number) -> Number:
    """Natural logarithm of one less a share, exact for small shares; minus infinity at a share of one."""
    if isinstance(share, float | int):
        return math.log1p(-share) if share < 1 else -math.inf
    result: Number = np.log1p(-share)
    return result


def exp(value: Number) -> Number:
    """Exponential of a number or array; a plain float stays one."""
    return _either(math.exp, np.exp, value)


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


def sin(angle: Number) -> Number:
    """Sine of an angle in radian."""
    return _either(math.sin, np.sin, angle)


def cos(angle: Number) -> Number:
    """Cosine of an angle in radian."""
    return _either(math.cos, np.cos, angle)


def tan(angle: Number) -> Number:
    """Tangent of an angle in radian."""
    return _either(math.tan, np.tan, angle)


def asin(ratio: Number) -> Number:
    """Angle in radian whose sine is the ratio (-1..1)."""
    return _either(math.asin, np.arcsin, ratio)


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
