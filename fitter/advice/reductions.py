"""Reductions that can be made of wheels from a shop: two pulleys and a closed belt, or two gears."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from typing import Any

from fitter.documents import package_data
from fitter.kinds.mechanics import CUT_TO_FIT, REDUCTION
from fitter.ratings import Evidence, Rating
from fitter.stock.lots import Lot
from fitter.units import parse


@cache
def reductions() -> tuple[Lot, ...]:
    """One lot for each ratio and sort, both ways round; the dearest ratios are the largest."""
    sorts = package_data("advice", "preferred.yaml")["reductions"]
    return tuple(lot for sort, given in sorts.items() for lot in _lots(sort, given))


def _lots(sort: str, given: Any) -> Iterator[Lot]:
    torque = parse(given["torque"], "torque")
    for ratio, (small, large) in sorted(_pairs(given).items()):
        for fast, slow, turns in ((small, large, ratio), (large, small, 1 / ratio)):
            yield Lot(
                id=f"{REDUCTION}-{sort}-{slow}-{fast}",
                kind=REDUCTION,
                name=f"{shown_ratio(float(turns))} {sort}, {fast} to {slow} teeth: {given['about']}",
                price_new=given["price"] + float(ratio) / 2 + (turns < 1),
                ratings=CUT_TO_FIT | {"ratio": exactly(float(turns)), "torque": exactly(torque)},
            )


def _pairs(given: Any) -> dict[Fraction, tuple[int, int]]:
    """Each ratio with the smallest wheels that make it."""
    found: dict[Fraction, tuple[int, int]] = {}
    for small in map(int, given["small"]):
        for large in map(int, given["large"]):
            ratio = Fraction(large, small)
            if 1 < ratio <= int(given["most"]):
                found.setdefault(ratio, (small, large))
    return found


def shown_ratio(turns: float) -> str:
    """A ratio as it is spoken of: 2.5:1, or 1:2 where the slow side is that of the motor."""
    return f"{turns:.3g}:1" if turns >= 1 else f"1:{1 / turns:.3g}"


def exactly(value: float) -> Rating:
    """A figure that is known."""
    return Rating(value, value, value, Evidence.MEASURED)
