"""Checks of bearings for a shaft, wheels, cases and meters."""

from __future__ import annotations

from collections.abc import Iterator

import networkx as nx

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_least, equal
from fitter.checks.find import finder, kinds, links
from fitter.checks.fits import SHAFT_PLAY
from fitter.checks.signals import SensorSupply
from fitter.intervals import Interval

BEARING_SPARE = 1.5  # load of a used bearing over what rests on it; common practice, no source
SIDES = ("length", "width", "height")


class Bore(Check):
    """A bearing on a shaft of a given diameter."""

    name = "shaft and bore"
    quantity = "length"
    sense = "equal"
    bearing: RoleName
    shaft: float

    def judge(self, parts: Parts) -> Judgement:
        return equal(Interval.point(self.shaft), parts[self.bearing]["bore"], SHAFT_PLAY)


class Carries(Check):
    """One bearing or wheel of a pair carries what rests on it."""

    name = "load"
    quantity = "mass"
    part: RoleName
    mass: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.mass * BEARING_SPARE, parts[self.part]["load"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{BEARING_SPARE:g} times what rests on one of the pair"


class Room(Check):
    """A case is roomy enough inside."""

    quantity = "length"
    case: RoleName
    side: str
    least: float

    @property
    def name(self) -> str:  # type: ignore[override]
        return f"{self.side} of the case"

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.least, parts[self.case][f"inner_{self.side}"])


class MeterRange(Check):
    """A meter shows as much as it must."""

    meter: RoleName
    rating: str
    most: float

    @property
    def name(self) -> str:  # type: ignore[override]
        return f"{self.quantity} range of the meter"

    @property
    def quantity(self) -> str:  # type: ignore[override]
        return self.rating.partition("_")[0]

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.most, parts[self.meter][self.rating])


@finder
def fixture_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Bores, loads, rooms and ranges asked of parts that stand by themselves."""
    for node, data in graph.nodes(data=True):
        if any(k in kinds(graph, node) for k in ("ball bearing", "bushing")) and "shaft" in data:
            yield Bore(node, data["shaft"])
        if "bears" in data:
            yield Carries(node, data["bears"] / 2)
        if "carries" in data:
            yield Carries(node, data["carries"])
        for side, least in zip(SIDES, data.get("room", ()), strict=False):
            yield Room(node, side, least)
        for rating, most in zip(("voltage_range", "current_range"), data.get("shows", ()), strict=False):
            if most > 0:
                yield MeterRange(node, rating, most)
    for board, shown, _ in links(graph, "shows"):
        yield SensorSupply(board, shown)
