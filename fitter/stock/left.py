"""What builds set aside leave of a stock: fewer pieces, fewer amps, the same lots."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from fitter.stock.files import Stock
from fitter.stock.lots import Drawn, Lot
from fitter.stock.set_aside import Part, SetAside
from fitter.units import show


@dataclass(frozen=True)
class Held:
    """What a lot gives to builds: each with the part of it that it holds."""

    by: tuple[tuple[str, Part], ...]

    @property
    def pieces(self) -> int:
        """Pieces that builds hold, the units they share left out."""
        return sum(p.count for _, p in self.by)

    @property
    def shares(self) -> bool:
        """Whether somebody draws on a unit of it."""
        return any(p.shares for _, p in self.by)

    @property
    def drawn(self) -> Drawn:
        """Amps and watts kept on the shared unit."""
        amps: dict[int, float] = {}
        for _, part in self.by:
            if part.shares:
                rail = max(part.rail - 1, 0)
                amps[rail] = amps.get(rail, 0.0) + part.current
        return Drawn(amps, sum(p.power for _, p in self.by if p.shares))

    def taken(self, count: int) -> int:
        """Pieces of a lot of so many that are set aside, a shared unit among several counted whole."""
        return self.pieces + (self.shares and count - self.pieces > 1)

    def leaves(self, lot: Lot) -> Lot:
        """The lot without what is held; where one unit of several is shared, others take the whole ones."""
        left = max(lot.count - self.taken(lot.count), 0)
        drawn = self.drawn if self.shares and lot.count - self.pieces == 1 else None
        return replace(lot, count=left, drawn=drawn)


def held_by_lot(builds: Iterable[SetAside]) -> dict[str, Held]:
    """For each lot what builds hold of it: what a list of the stock can show beside it."""
    found: dict[str, list[tuple[str, Part]]] = {}
    for build in builds:
        for part in build.parts:
            if not part.gone:
                found.setdefault(part.lot, []).append((build.name, part))
    return {lot: Held(tuple(by)) for lot, by in found.items()}


def said_by_lot(builds: Iterable[SetAside]) -> dict[str, list[str]]:
    """For each lot what each build holds of it, in words."""
    return {
        lot: [f"{_amount(part)} for {name}" for name, part in held.by]
        for lot, held in held_by_lot(builds).items()
    }


def _amount(part: Part) -> str:
    if not part.shares:
        return str(part.count)
    return show(part.current, "current") + (f" of rail {part.rail}" if part.rail else "")


def _still_there(held: Held, lot: Lot) -> Held:
    """Without the parts whose pieces have already left the lot, though their build does not say so yet."""
    return Held(tuple((n, p) for n, p in held.by if not p.leaving or p.was == lot.count))


def left_of(stock: Stock, builds: Sequence[SetAside]) -> Stock:
    """The stock without what builds hold. Lots of which nothing is left stay, with no pieces."""
    less = {}
    for lot, held in held_by_lot(builds).items():
        if lot in stock.places:
            whole = stock.lot(lot)
            less[stock.places[lot]] = _still_there(held, whole).leaves(whole)
    if stock.figures is not None:
        figures = stock.figures.with_lots(less)
        return replace(stock, lots=figures.lots, figures=figures)
    return replace(stock, lots=tuple(less.get(place, lot) for place, lot in enumerate(stock.lots)))


def mismatches(stock: Stock, builds: Sequence[SetAside]) -> list[str]:
    """Where what is set aside does not go with the lots, a line each: nobody's error, but worth a look.

    Args:
        stock: All of it, nothing left out.
        builds: What is set aside.
    """
    unfinished = [
        f"{b.name} is half used up: finish with `fitter stock used-up {b.name}`" for b in builds if b.leaving
    ]
    held = held_by_lot(b for b in builds if not b.leaving)
    return [*unfinished, *itertools.chain(*(_mismatch(stock, lot, h) for lot, h in held.items()))]


def _mismatch(stock: Stock, lot: str, held: Held) -> Iterator[str]:
    names = ", ".join(dict.fromkeys(name for name, _ in held.by))
    wanted = max(held.pieces, int(held.shares))
    if lot not in stock.places:
        yield f"{lot} is set aside for {names} but not in the stock: renamed, or removed by hand"
    elif (count := stock.lot(lot).count) < wanted:
        yield f"{wanted} of {lot} are set aside for {names}, but there are only {count}"
