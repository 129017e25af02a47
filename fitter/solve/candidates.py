"""Candidates: offers of lots for a role, and their ratings as arrays for whole tables at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Protocol, TypeAlias

import numpy as np

from fitter.functions import Role
from fitter.intervals import Interval
from fitter.kinds import Offer, kind_key
from fitter.ratings import Evidence, Rating
from fitter.stock.lots import Lot

if TYPE_CHECKING:
    import numpy.typing as npt

Array: TypeAlias = "npt.NDArray[np.float64]"
CERTAIN = (Evidence.MEASURED, Evidence.DATASHEET)
TRIAL_MINUTES = 10.0  # trying a part that nobody has tested; common practice, no source
_CONDITION = {"working": (1.0, 1.0), "untested": (0.0, 1.0), "worn": (0.0, 1.0), "faulty": (0.0, 0.0)}


@dataclass(frozen=True, eq=False)
class Candidate:
    """One offer of one lot, from stock or from a shop."""

    lot: Lot
    offer: Offer
    bought: bool = False
    unit: int = 0

    @property
    def id(self) -> str:
        """Lot and offer; candidates are ordered by it, those in stock first."""
        return f"{self.lot.id} / {self.offer.key}" if self.offer.key else self.lot.id

    def rating(self, name: str) -> Rating:
        """A rating of the offer, or one of the part's own state.

        Raises:
            KeyError: The kind has no such rating, which is a fault of the check that asks.
        """
        if name in _STATE:
            return _STATE[name](self)
        try:
            return self.offer.ratings[name]
        except KeyError:
            raise KeyError(f"a {self.lot.kind} has no rating {name!r} for a check to read") from None

    def path(self, name: str) -> str:
        """The rating to measure so that this figure becomes known."""
        source = self.offer.sources.get(name, name)
        if source.endswith((".min", ".max")):
            source = source[:-4]
        return f"{self.lot.id}.{source}"

    def minutes(self, name: str) -> float:
        """What it takes to measure a rating that is not certain; zero where nothing is open."""
        if name == "condition":
            return TRIAL_MINUTES if self.lot.condition in ("untested", "worn") else 0.0
        rating = self.rating(name)
        if self.bought or rating.exact or rating.evidence in CERTAIN:
            return 0.0
        source = self.offer.sources.get(name, name).rpartition("].")[2]
        spec = self.lot.kind_of_part.spec(source)
        return spec.minutes if spec else 0.0


def _condition(candidate: Candidate) -> Rating:
    lo, hi = _CONDITION["working" if candidate.bought else candidate.lot.condition]
    return Rating(lo, hi, hi, Evidence.MEASURED)


def _unit(candidate: Candidate) -> Rating:
    """A number for the very unit: parts of a lot of several are taken as different units."""
    shared = candidate.lot.count == 1 and not candidate.bought
    code = float(candidate.unit if shared else -1)
    return Rating(code, code, code, Evidence.MEASURED)


def _rail(candidate: Candidate) -> Rating:
    code = float(candidate.offer.rail or 0)
    return Rating(code, code, code, Evidence.MEASURED)


_STATE = {"condition": _condition, "unit": _unit, "rail": _rail}


class Columns:
    """The ratings of all candidates of a role, one array a rating, made when first asked for."""

    def __init__(self, candidates: Sequence[Candidate]) -> None:
        self.candidates = list(candidates)
        self._bounds: dict[str, tuple[Array, Array]] = {}
        self._minutes: dict[str, Array] = {}

    def __len__(self) -> int:
        return len(self.candidates)

    def bounds(self, rating: str) -> tuple[Array, Array]:
        """Lower and upper ends, SI, shape ``(n,)``."""
        if rating not in self._bounds:
            found = [c.rating(rating) for c in self.candidates]
            self._bounds[rating] = np.array([r.lo for r in found]), np.array([r.hi for r in found])
        return self._bounds[rating]

    def likely(self, rating: str) -> float:
        """Likely value of the candidate in the middle of the list."""
        return self.candidates[len(self.candidates) // 2].rating(rating).likely

    def minutes(self, rating: str) -> Array:
        """Minutes to measure the rating of each candidate, shape ``(n,)``."""
        if rating not in self._minutes:
            self._minutes[rating] = np.array([c.minutes(rating) for c in self.candidates])
        return self._minutes[rating]

    def select(self, keep: npt.NDArray[np.bool_]) -> Columns:
        """The columns of some of the candidates."""
        return Columns([c for c, k in zip(self.candidates, keep, strict=True) if k])


class Ends(Protocol):
    """Lower and upper ends of the ratings of a role's candidates."""

    def __len__(self) -> int: ...

    def bounds(self, rating: str) -> tuple[Array, Array]:
        """Arrays of shape ``(n,)``."""
        ...

    def minutes(self, rating: str) -> Array:
        """Minutes to measure, shape ``(n,)``."""
        ...


class Along:
    """All candidates of a role along one axis of a table; remembers which ratings were read."""

    def __init__(self, columns: Ends, axis: int = 0, axes: int = 1) -> None:
        self.columns = columns
        self.shape = tuple(len(columns) if i == axis else 1 for i in range(axes))
        self.read: set[str] = set()

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        lo, hi = self.columns.bounds(rating)
        return Interval(lo.reshape(self.shape), hi.reshape(self.shape))


class Single:
    """One candidate, its ratings as plain numbers."""

    def __init__(self, candidate: Candidate) -> None:
        self.candidate = candidate
        self.read: set[str] = set()

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        found = self.candidate.rating(rating)
        return Interval(found.lo, found.hi)


class Place:
    """The candidate at one place of a role's columns, its ratings as plain numbers."""

    def __init__(self, columns: Ends, place: int) -> None:
        self.columns = columns
        self.place = place
        self.read: set[str] = set()

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        lo, hi = self.columns.bounds(rating)
        return Interval(float(lo[self.place]), float(hi[self.place]))


class Hull:
    """Everything that may still fill a role: the hull of its candidates."""

    def __init__(self, columns: Ends) -> None:
        self.columns = columns
        self.read: set[str] = set()
        self._hulls: dict[str, Interval] = {}

    def __getitem__(self, rating: str) -> Interval:
        self.read.add(rating)
        if rating not in self._hulls:
            lo, hi = self.columns.bounds(rating)
            self._hulls[rating] = Interval(float(lo.min()), float(hi.max()))
        return self._hulls[rating]


def _to_figure(offer: Offer) -> Offer:
    """A part that is yet to be bought has exactly the figures it is sold by: one picks another if not."""
    exact = {n: replace(r, lo=r.likely, hi=r.likely) for n, r in offer.ratings.items()}
    return replace(offer, ratings=exact)


@dataclass(frozen=True)
class Refusal:
    """Why a lot is not even a candidate: a kind that is never placed, or a faulty part."""

    lot: Lot
    reason: str


class Pool:
    """All candidates of a stock and a shop, by kind."""

    def __init__(self, lots: Iterable[Lot], shop: Iterable[Lot] = ()) -> None:
        self.lots = sorted(lots, key=lambda lot: lot.id)
        self.refusals: list[Refusal] = []
        self._by_kind: dict[str, list[Candidate]] = {}
        for unit, lot in enumerate(self.lots, start=1):
            reason = "faulty" if lot.condition == "faulty" else lot.kind_of_part.refusal(lot)
            if reason:
                self.refusals.append(Refusal(lot, reason))
            elif lot.count > 0:
                self._add(lot, bought=False, unit=unit)
        for lot in sorted(shop, key=lambda lot: lot.id):
            self._add(lot, bought=True, unit=0)
        self._roles: dict[tuple[tuple[str, ...], int], Columns] = {}

    def _add(self, lot: Lot, *, bought: bool, unit: int) -> None:
        offers = [_to_figure(o) for o in lot.offers()] if bought else lot.offers()
        made = [Candidate(lot, offer, bought, unit) for offer in offers]
        self._by_kind.setdefault(kind_key(lot.kind), []).extend(made)

    def of_kinds(self, kinds: Iterable[str]) -> list[Candidate]:
        """Candidates of some kinds, stock before shop, each in order of id."""
        found = [c for kind in kinds for c in self._by_kind.get(kind_key(kind), ())]
        return sorted(found, key=lambda c: (c.bought, c.id))

    def columns(self, role: Role) -> Columns:
        """The candidates of a role that have pieces enough, as columns shared by like roles."""
        key = (role.kinds, role.count)
        if key not in self._roles:
            enough = [
                c for c in self.of_kinds(role.kinds) if c.bought or c.lot.count >= role.count * c.offer.pieces
            ]
            self._roles[key] = Columns(enough)
        return self._roles[key]

    @cached_property
    def pieces_by_kind(self) -> Mapping[str, int]:
        """Pieces in stock of each kind."""
        total: dict[str, int] = {}
        for lot in self.lots:
            total[kind_key(lot.kind)] = total.get(kind_key(lot.kind), 0) + lot.count
        return total
