"""Which lots of a stock to list, and in what order."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Container, Iterable, Sequence
from typing import Any

from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.kinds import KINDS, kind_key
from fitter.records import Record
from fitter.stock.conditions import Condition, Met, all_met, condition
from fitter.stock.lots import CONDITIONS, Lot

_FIELDS = ("id", "kind", "count", "name", "bin", "donor", "condition", "price_new", "mass")


class Filters(Record):
    """What lots must be to be listed; empty where all may be. Bins and donors count by any part of them.

    ``set_aside`` asks for lots of which a build holds some, or for those of which none does.
    """

    kind: str = ""
    bin: str = ""
    donor: str = ""
    state: str = ""
    where: tuple[Condition, ...] = ()
    set_aside: bool | None = None

    def holds(self, lot: Lot) -> bool:
        """Whether a lot is of the kind, bin, donor and condition wanted."""
        return (
            self.kind in ("", kind_key(lot.kind))
            and _plain(self.bin) in _plain(lot.bin)
            and _plain(self.donor) in _plain(lot.donor)
            and self.state in ("", lot.condition)
        )


def filters(
    kind: str | None = None,
    bin_: str | None = None,
    donor: str | None = None,
    state: str | None = None,
    where: Iterable[str] = (),
    *,
    set_aside: bool | None = None,
) -> Filters:
    """Filters as typed.

    Raises:
        FitterError: An unknown kind, condition or rating.
    """
    if kind is not None and kind_key(kind) not in KINDS:
        raise FitterError(f"unknown kind {kind!r}", field="--kind", expected=nearest(kind_key(kind), KINDS))
    if state is not None and state.casefold() not in CONDITIONS:
        raise FitterError(
            f"unknown condition {state[:40]!r}", field="--condition", expected=nearest(state, CONDITIONS)
        )
    conditions = tuple(condition(text, kind) for text in where)
    return Filters(
        kind_key(kind or ""), bin_ or "", donor or "", (state or "").casefold(), conditions, set_aside
    )


def _plain(text: str) -> str:
    return " ".join(text.replace("-", " ").casefold().split())


def chosen(lots: Iterable[Lot], wanted: Filters, held: Container[str] = ()) -> list[tuple[Lot, Met]]:
    """The lots that meet all, may meet all, or of which it is not known; ``held``: ids of those set aside."""
    if wanted.set_aside is not None:
        lots = (lot for lot in lots if (lot.id in held) is wanted.set_aside)
    found = ((lot, all_met(wanted.where, lot)) for lot in lots if wanted.holds(lot))
    return [(lot, met) for lot, met in found if met is not Met.NO]


def ordered(lots: Sequence[tuple[Lot, Met]], by: str | None, *, reverse: bool) -> list[tuple[Lot, Met]]:
    """Lots in order of a field or of the likely value of a rating; those without it stay last.

    Raises:
        FitterError: None of the lots has such a field or rating.
    """
    key = _key(by or "id", [lot for lot, _ in lots])
    keyed = sorted(((key(each[0]), each) for each in lots), key=lambda one: _natural(one[1][0].id))
    having = sorted((one for one in keyed if one[0] is not None), key=lambda one: one[0], reverse=reverse)
    return [each for _, each in [*having, *(one for one in keyed if one[0] is None)]]


def _key(by: str, lots: Sequence[Lot]) -> Callable[[Lot], Any]:
    name = re.sub(r"[\s-]+", "_", by.strip()).casefold()
    if name in _FIELDS:
        return lambda lot: _field(lot, name)
    known = {n for lot in lots for n in (*lot.kind_of_part.ratings, *(lot.kind_of_part.rails or {}))}
    if lots and name not in known:
        problem = f"no lot here has {by[:40]!r}"
        raise FitterError(problem, field="--sort", expected=nearest(name, sorted(known | set(_FIELDS))))
    return lambda lot: _likely(lot, name)


def _field(lot: Lot, name: str) -> Any:
    value = getattr(lot, name)
    if isinstance(value, str):
        return _natural(value) if value else None
    return value


def _natural(text: str) -> list[tuple[int, float, str]]:
    """Text for sorting, with numbers in it by their size: m2 before m10."""
    pieces = re.findall(r"[0-9]+|[^0-9]+", text.casefold())
    return [(0, float(p), "") if p.isdecimal() else (1, math.inf, p) for p in pieces]


def _likely(lot: Lot, name: str) -> float | None:
    """Likely value of a rating that is known or follows from others; the greatest of several rails."""
    ratings = lot.complete
    found = [ratings[n] for n in (name, f"{name}.max") if n in ratings]
    found += [rail[name] for rail in lot.rails if name in rail]
    return max((r.likely for r in found if r.known), default=None)
