"""A lot: identical parts kept together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fitter.kinds import KINDS, Kind, Offer, kind_key
from fitter.ratings import Rating

CONDITIONS = ("working", "untested", "worn", "faulty")


@dataclass(frozen=True, eq=False)
class Lot:
    """Parts of one kind that are alike, with what is known of them.

    ``ratings`` holds only what the file states (SI); ``rails`` the rails of a supply or the
    secondaries of a transformer, each complete. ``price_new`` is in euro, ``mass`` in kilogram;
    ``photo`` is the name of a picture, its path relative to the stock file.
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

    @property
    def kind_of_part(self) -> Kind:
        """The kind this lot belongs to."""
        return KINDS[kind_key(self.kind)]

    def refusal(self) -> str:
        """Why this lot is never placed in a build; empty when it may be."""
        return "faulty" if self.condition == "faulty" else self.kind_of_part.refusal(self)

    def offers(self) -> list[Offer]:
        """The ways this lot can be used."""
        return self.kind_of_part.offers(self)
