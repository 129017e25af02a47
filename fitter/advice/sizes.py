"""Sizes in which parts are sold, ratings that shops seldom list, and how far prices spread."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from fitter.documents import package_data
from fitter.kinds import KINDS, kind_key
from fitter.units import parse

_ROUNDING = 1e-9  # of a size that is the limit itself
_ENDS = (".min", ".max", ".low")


@dataclass(frozen=True)
class Sizes:
    """Sizes of one rating, SI: a list of all, or the numbers of one decade."""

    numbers: tuple[float, ...]
    decades: bool = False

    def at_least(self, low: float) -> float | None:
        """The least size of ``low`` or more, if any."""
        return min((s for s in self._near(low) if s >= low * (1 - _ROUNDING)), default=None)

    def at_most(self, high: float) -> float | None:
        """The greatest size of ``high`` or less, if any."""
        return max((s for s in self._near(high) if s <= high * (1 + _ROUNDING)), default=None)

    def _near(self, value: float) -> list[float]:
        """All sizes, or those of the decades about a value."""
        if not self.decades:
            return list(self.numbers)
        if not (math.isfinite(value) and value > 0):
            return []
        exponent = math.floor(math.log10(value))
        return [n * 10.0**e for e in (exponent - 1, exponent, exponent + 1) for n in self.numbers]


def sizes_of(kind: str, rating: str) -> Sizes | None:
    """Sizes in which a kind is made by a rating; none where it comes in any."""
    name = next((rating.removesuffix(end) for end in _ENDS if rating.endswith(end)), rating)
    return _table().get((kind_key(kind), name))


def carried(kind: str, rating: str, low: float, high: float) -> float | None:
    """The size to ask for within limits, SI: the least above a lower limit, else the greatest below an upper.

    None where no size that shops carry lies within, or where sizes are not known.

    >>> carried("stepper driver", "peak_current", 1.08, float("inf"))
    1.5
    >>> carried("rod", "diameter", 0.007925, 0.008075)
    0.008
    """
    sizes = sizes_of(kind, rating)
    if sizes is None:
        return None
    size = sizes.at_least(low) if math.isfinite(low) else sizes.at_most(high)
    return size if size is not None and low * (1 - _ROUNDING) <= size <= high * (1 + _ROUNDING) else None


@cache
def seldom_listed(kind: str) -> frozenset[str]:
    """Ratings of a kind that shops and their data sheets seldom give."""
    return frozenset(
        rating
        for name, ratings in package_data("advice", "preferred.yaml")["unlisted"].items()
        if kind_key(name) == kind_key(kind)
        for rating in ratings
    )


def price_range(kind: str, price: float) -> tuple[float, float]:
    """Usual lowest and highest price of what typically costs ``price`` euro; an estimate."""
    spread = _spreads().get(kind_key(kind)) or _spreads()["default"]
    return round(price * spread[0], 2), round(price * spread[1], 2)


def adapter_size(kind: str, figure: str, low: float, high: float) -> float | None:
    """The size to ask for of an adapter's figure within limits, SI; none where it comes in any.

    >>> round(adapter_size("step-down converter", "current", 0.13, float("inf")), 3)
    0.15
    """
    given = package_data("advice", "preferred.yaml")["adapters"].get(kind, {}).get(figure)
    if given is None:
        return None
    like, rating = given
    return carried(like, rating, low, high)


def adapter_price(kind: str) -> float:
    """Typical price of an adapter, euro; an estimate."""
    return float(package_data("advice", "prices.yaml")["adapters"][kind])


@cache
def _spreads() -> Mapping[str, tuple[float, float]]:
    table = package_data("advice", "prices.yaml")["spread"]
    return {kind_key(k): (float(s["low"]), float(s["high"])) for k, s in table.items()}


@cache
def _table() -> Mapping[tuple[str, str], Sizes]:
    found = package_data("advice", "preferred.yaml")
    series = {name: tuple(map(float, s["numbers"])) for name, s in found["series"].items()}
    return {
        (kind_key(kind), rating): _sizes(kind, rating, given, series)
        for kind, ratings in found["sizes"].items()
        for rating, given in ratings.items()
    }


def _sizes(kind: str, rating: str, given: Any, series: Mapping[str, tuple[float, ...]]) -> Sizes:
    if isinstance(given, str):
        return Sizes(series[given], decades=True)
    spec = KINDS[kind_key(kind)].spec(rating)
    if spec is None:
        raise RuntimeError(f"preferred.yaml: a {kind} has no rating {rating!r}")
    return Sizes(tuple(sorted(parse(str(each), spec.quantity) for each in given)))
