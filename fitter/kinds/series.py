"""Supplies and batteries in series: volts add up, the weakest sets the amps, and what must not be stacked.

Only what a careful person would do at the bench is offered: two supplies of one lot, or two rails of one
unit, whose outputs are tied to nothing else; and two to four packs of one lot. More would need joints,
fuses and a balance that no stock list tells of. A stack stays below the limit of extra-low voltage; what
lies above is work for a licensed person.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import TYPE_CHECKING

from fitter.kinds.model import WHOLE_UNIT, Offer
from fitter.kinds.motors import certain
from fitter.ratings import Evidence, Rating
from fitter.units import show

if TYPE_CHECKING:
    from fitter.stock.lots import Lot

LIMIT = 60.0  # V DC that may be touched, dry: IEC 62368-1, ES1; from memory
MOST_PACKS = 4  # four lead packs of 12 V, full, still stay below the limit
MOST_RAILS = 6  # of one unit that are tried in pairs
FREE = "free_outputs"  # rating of every supply: whether nothing ties together what is stacked
ALONE = certain(1.0)  # a supply by itself has nothing to be tied to


@dataclass(frozen=True)
class Stack:
    """One way to put outputs of a lot in series, and why it is not offered, if it is not."""

    what: str
    offer: Offer
    refused: str


def supply_stacks(lot: Lot, singles: Sequence[Offer], isolated: Sequence[Rating]) -> Iterator[Stack]:
    """Two rails of one unit, and one rail of two units.

    Args:
        lot: The supplies.
        singles: Its rails as offers.
        isolated: Whether each rail is tied to nothing else.
    """
    for i, j in itertools.combinations(range(min(len(singles), MOST_RAILS)), 2):
        offer = _stack([singles[i], singles[j]], f"rails {i + 1}+{j + 1}", 1, same_unit=True)
        free = _weakest([isolated[i], isolated[j]])
        yield _judged(offer, f"rails {i + 1}+{j + 1}", free, f"rails[{_opener(i, j, isolated) + 1}].")
    for i, single in enumerate(singles if lot.count > 1 else ()):
        several = len(singles) > 1
        key = f"rail {i + 1}, 2 in series" if several else "2 in series"
        offer = _stack([single, single], key, 2, same_unit=False)
        what = f"rail {i + 1} of two units" if several else "two units"
        yield _judged(offer, what, isolated[i], f"rails[{i + 1}]." if lot.rails else "")


def _opener(i: int, j: int, isolated: Sequence[Rating]) -> int:
    """The rail whose isolation is to be found out first."""
    return i if isolated[i].lo < 1 else j


def _judged(offer: Offer, what: str, free: Rating, place: str) -> Stack:
    refused = ""
    if free.hi < 1:
        refused = "not isolated: what ties the outputs together would short one of them"
    refused = refused or _too_high(offer)
    sources = {**offer.sources, FREE: f"{place}isolated"}
    figures = {**offer.ratings, FREE: free}
    return Stack(
        what, replace(offer, ratings=figures, sources=sources, cautions=("supplies in series",)), refused
    )


def _too_high(offer: Offer) -> str:
    volts = offer.ratings["voltage.high"].hi
    if volts <= LIMIT:
        return ""
    reached = f"may reach {show(volts, 'voltage')}, above the {LIMIT:g} V DC of extra-low voltage"
    return f"{reached}: work for a licensed person"


def pack_stacks(lot: Lot, single: Offer, chemistry: str) -> Iterator[Stack]:
    """Two to four equal packs of one lot."""
    for n in range(2, min(lot.count, MOST_PACKS) + 1):
        offer = _stack([single] * n, f"{n} in series", n, same_unit=False)
        figures = {**offer.ratings, FREE: ALONE, "cells": _times(offer.ratings["cells"], n)}
        for end in ("voltage.min", "voltage.max"):
            figures[end] = _times(single.ratings[end], n)
        offer = replace(offer, ratings=figures, cautions=("packs in series",))
        yield Stack(f"{n} packs", offer, _pack_refusal(lot, chemistry) or _too_high(offer))


def _pack_refusal(lot: Lot, chemistry: str) -> str:
    if chemistry.startswith("lithium"):
        return "lithium packs in series need protection and balancing made for the whole stack"
    if lot.condition != "working":
        return "only packs known to work: the others drive a weak one backwards"
    return ""


def offered(stacks: Iterator[Stack]) -> list[Offer]:
    """The stacks that are not refused."""
    return [s.offer for s in stacks if not s.refused]


def ruled_out(stacks: Iterator[Stack]) -> list[str]:
    """Why stacks are refused, those of one reason together."""
    by_reason: dict[str, list[str]] = {}
    for stack in stacks:
        if stack.refused:
            by_reason.setdefault(stack.refused, []).append(stack.what)
    return [f"{', '.join(what)} in series: {reason}" for reason, what in by_reason.items()]


def _stack(members: Sequence[Offer], key: str, pieces: int, *, same_unit: bool) -> Offer:
    """Offers in series: volts and ripple add, the least current counts, the power is that of all units."""

    def each(name: str) -> list[Rating]:
        return [m.ratings[name] for m in members]

    figures: dict[str, Rating] = {**members[0].ratings}
    for name in ("voltage.low", "voltage.high", "ripple"):
        figures[name] = reduce(_sum, each(name))
    figures["current"] = _weakest(each("current"))
    if not same_unit:
        figures["unit_power"] = reduce(_sum, each("unit_power"))
    label = f"{key}, {show(figures['voltage.low'].likely, 'voltage')}"
    rail = WHOLE_UNIT if same_unit else None
    return Offer(key, label, figures, pieces, rail, _sources(members), owned_only=True)


def _sources(members: Sequence[Offer]) -> Mapping[str, str]:
    """For each figure the rating to measure that is known least."""
    found = dict(members[0].sources)
    for member in members[1:]:
        for name, source in member.sources.items():
            if _spread(member.ratings[name]) > max(_spread(m.ratings[name]) for m in members[:1]):
                found[name] = source
    return found


def _spread(rating: Rating) -> float:
    return (rating.hi - rating.lo) / rating.likely if 0 < rating.likely < float("inf") else 0.0


def _sum(a: Rating, b: Rating) -> Rating:
    return Rating(a.lo + b.lo, a.hi + b.hi, a.likely + b.likely, _less_sure(a, b))


def _times(a: Rating, n: int) -> Rating:
    return Rating(a.lo * n, a.hi * n, a.likely * n, a.evidence)


def _weakest(ratings: Sequence[Rating]) -> Rating:
    """The least of several."""
    return reduce(
        lambda a, b: Rating(min(a.lo, b.lo), min(a.hi, b.hi), min(a.likely, b.likely), _less_sure(a, b)),
        ratings,
    )


def _less_sure(a: Rating, b: Rating) -> Evidence:
    order = list(Evidence)
    return max(a.evidence, b.evidence, key=order.index)
