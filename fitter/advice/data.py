"""Reading the advice that ships with the package."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fitter.advice.machines import UNLIKELY, Limits, machines
from fitter.documents import package_data
from fitter.kinds import kind_key
from fitter.stock.files import load_stock
from fitter.stock.lots import Lot

_HERE = Path(__file__).parent


@dataclass(frozen=True)
class Donor:
    """A type of discarded machine that may hold a kind of part."""

    name: str
    chance: float
    count: str
    hint: str
    strip_time: str
    cautions: tuple[str, ...]


@cache
def shop() -> Mapping[str, list[Lot]]:
    """Sizes that shops carry, by kind."""
    found: dict[str, list[Lot]] = {}
    for lot in load_stock(_HERE / "shop.yaml").lots:
        found.setdefault(kind_key(lot.kind), []).append(lot)
    return found


@cache
def cautions() -> Mapping[str, str]:
    """What is printed for each caution."""
    return {
        key: " ".join(text.split())
        for key, text in package_data("advice", "cautions.yaml")["cautions"].items()
    }


def donors(kind: str, limits: Limits, pieces: int) -> list[Donor]:
    """Machines that may hold enough pieces of a kind within limits, likeliest first."""
    found = [
        Donor(each.name, chance, part.count, part.hint, each.strip_time, each.cautions)
        for each in machines()
        for part in each.parts
        if kind_key(part.kind) == kind_key(kind)
        and (chance := part.at_least(pieces) * part.fits(limits)) >= UNLIKELY
    ]
    return sorted(found, key=lambda d: (-d.chance, d.name))
