"""A lot: identical parts kept together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from fitter.kinds import KINDS, Kind, Offer, kind_key
from fitter.kinds.model import WHOLE_UNIT
from fitter.ratings import Rating

CONDITIONS = ("working", "untested", "worn", "faulty")


@dataclass(frozen=True)
class Drawn:
    """What builds set aside draw from one supply unit: amps by the number of the rail from 0, and watts."""

    amps: Mapping[int, float]
    watts: float

    def leaves(self, offers: Sequence[Offer]) -> list[Offer]:
        """The ways left to use the unit, with what is left of it; none needs the unit for itself."""
        return [self._left(o) for o in offers if o.rail != WHOLE_UNIT]

    def _left(self, offer: Offer) -> Offer:
        taken = {"current": self.amps.get(offer.rail or 0, 0.0), "unit_power": self.watts}
        left = {name: _less(offer.ratings[name], by) for name, by in taken.items() if name in offer.ratings}
        return replace(offer, ratings={**offer.ratings, **left})


def _less(rating: Rating, by: float) -> Rating:
    """A rating with some of it gone, never below nothing."""
    lo, hi, likely = (max(value - by, 0.0) for value in (rating.lo, rating.hi, rating.likely))
    return replace(rating, lo=lo, hi=hi, likely=likely)


@dataclass(frozen=True, eq=False)
class Lot:
    """Parts of one kind that are alike, with what is known of them.

    ``ratings`` holds only what the file states (SI); ``rails`` the rails of a supply or the
    secondaries of a transformer, each complete. ``price_new`` is in euro, ``mass`` in kilogram;
    ``photo`` is the name of a picture, its path relative to the stock file. ``drawn`` is what builds set
    aside draw from it, where it is a supply that others may draw on as well.
    """

    id: str
    kind: str
    count: int = 1
    name: str = ""
    bin: str = ""
    donor: str = ""
    condition: str = "working"
    price_new: float | None = None
    mass: float | None = None
    note: str = ""
    photo: str = ""
    ratings: Mapping[str, Rating] = field(default_factory=dict)
    rails: tuple[Mapping[str, Rating], ...] = ()
    file: str = ""
    line: int = 0
    drawn: Drawn | None = None

    @property
    def kind_of_part(self) -> Kind:
        """The kind this lot belongs to."""
        return KINDS[kind_key(self.kind)]

    @cached_property
    def complete(self) -> Mapping[str, Rating]:
        """Every rating of its kind: those stated as they are, the others bounded."""
        return self.kind_of_part.complete(self.ratings, self.mass)

    def refusal(self) -> str:
        """Why this lot is never placed in a build; empty when it may be."""
        return "faulty" if self.condition == "faulty" else self.kind_of_part.refusal(self)

    def offers(self) -> list[Offer]:
        """The ways this lot can be used."""
        every = self.kind_of_part.offers(self)
        return self.drawn.leaves(every) if self.drawn else every
