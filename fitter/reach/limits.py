"""How far a demand goes with the stock alone: its furthest value that is served, and what limits it.

Which end of a demand is harder is read off the checks. From the easier end the furthest value is found by
halving, the search asked anew each time, and then by trying values of three digits. Where some checks get
easier and others harder with a demand, it is first tried at values spread over all that the recipe
allows, and both ends are sought from there: what lies between two of these values may be missed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from fitter.projects import Demand, Project
from fitter.reach.asking import Asking, Certainty
from fitter.reach.models import Sense
from fitter.shed import Shed
from fitter.solve.builds import Build, Checked
from fitter.solve.ease import Ease, ends
from fitter.solve.halving import last_good, next_beyond

SPREAD = 12  # values at which a demand is tried where nothing says which end is easier
ROWS = 7  # values of a second demand
TENFOLD = 10.0  # how far below its own limit the values of a second demand begin


@dataclass(frozen=True)
class Furthest:
    """The furthest value of a demand that goes, SI; none where none does."""

    certainty: Certainty
    value: float | None
    proved: bool
    at_end: bool = False


@dataclass(frozen=True)
class Standing:
    """The set that reaches a limit, and what stands between it and the next value."""

    build: Build | None
    beyond: float | None
    short: tuple[Checked, ...]
    roles: tuple[str, ...]


@dataclass(frozen=True)
class Side:
    """One end of what a demand may be, and the way there; where it starts no check is harder."""

    sense: Sense
    start: float
    end: float
    known: bool  # that it gets harder all the way


class Limits:
    """Limits of the demands of one project."""

    def __init__(self, shed: Shed, project: Project) -> None:
        self.project = project
        self.asking = Asking(shed, project)
        self.ease = Ease(project, shed.pool)

    def demand(self, name: str) -> Demand:
        """A demand of the recipe."""
        return self.project.recipe.demands[name]

    def sides(self, name: str) -> list[Side]:
        """Where the demand gets harder: towards one end, or towards both where the checks disagree."""
        low, high = ends(self.demand(name), self.project.demands[name])
        easier = self.ease.easiest(name)
        largest = Side("largest", low, high, known=len(easier) < 2)
        smallest = Side("smallest", high, low, known=len(easier) < 2)
        if len(easier) > 1:
            return [largest, smallest]
        return [smallest] if easier == (high,) else [largest]

    def furthest(self, name: str, side: Side, others: Mapping[str, float]) -> list[Furthest]:
        """How far a demand goes for certain, likely and at best, other demands changed as given.

        What is not possible at best is not certain either, so each is sought within the one before.
        """
        found: list[Furthest] = []
        for certainty in reversed(Certainty):
            self.asking.proved = True
            before = found[-1] if found else None
            if before and before.value is None:
                found.append(Furthest(certainty, None, before.proved))
            else:
                found.append(self._furthest(certainty, name, side, others, before))
        return found[::-1]

    def _furthest(
        self,
        certainty: Certainty,
        name: str,
        side: Side,
        others: Mapping[str, float],
        before: Furthest | None,
    ) -> Furthest:
        def goes(value: float) -> bool:
            return self.asking.goes(certainty, {**others, name: value})

        end = side.end if before is None or before.value is None else before.value
        proved = before is None or before.proved
        value = self._last(name, side, end, goes)
        at_end = value == side.end
        return Furthest(certainty, value, self.asking.proved and (proved or value != end), at_end)

    def _last(self, name: str, side: Side, end: float, goes: Callable[[float], bool]) -> float | None:
        """The furthest value that goes, no further than an end; none where none does."""
        if goes(end):
            return end
        if side.known and goes(side.start):
            return last_good(self.demand(name), side.start, end, goes)
        bad = end
        for value in self._spread(name, side, end):
            if goes(value):
                return last_good(self.demand(name), value, bad, goes)
            bad = value
        return None

    def _spread(self, name: str, side: Side, end: float) -> Iterator[float]:
        """Values from an end back to the start that are tried, the end left out."""
        low, high = min(side.start, end), max(side.start, end)
        yield from (v for v in self.tried(name, side)[::-1] if low <= v <= high and v != end)

    def tried(self, name: str, side: Side) -> list[float]:
        """Values at which a demand is tried where its checks disagree, from the start to the end.

        The one asked for is among them. Sets that go only between two of them are not seen.
        """
        values = {*spread(self.demand(name), side.start, side.end, SPREAD), self.project.demands[name]}
        return sorted(values, reverse=side.sense == "smallest")

    def standing(self, name: str, side: Side, at: Furthest) -> Standing:
        """The best set at a limit, the checks it does not pass beyond, and the roles that limit it."""
        if at.value is None:
            return Standing(None, None, (), ())
        build = self.asking.best(at.certainty, {name: at.value})
        if at.at_end or build is None:
            return Standing(build, None, (), ())
        beyond = {name: next_beyond(self.demand(name), at.value, side.end)}
        short = self.asking.short(at.certainty, beyond, build)
        roles = [r for r in build.roles if self.asking.goes(at.certainty, beyond, bought=r)]
        return Standing(build, beyond[name], tuple(short), tuple(roles))

    def rows(self, name: str, second: str) -> list[float]:
        """Values of a second demand for a table: up to its own limit, the first at its easiest."""
        start = self.sides(name)[0].start
        sides = self.sides(second)
        reached = [self.furthest(second, side, {name: start})[-1].value for side in sides]
        values = [v for v in reached if v is not None]
        if not values:
            return []
        begin = values[-1] if len(sides) > 1 else _tenfold(self.demand(second), values[0], sides[0].start)
        demand, asked = self.demand(second), self.project.demands[second]
        found = [_round(demand, v, begin, values[0]) for v in spread(demand, begin, values[0], ROWS)]
        if min(found) < asked < max(found):
            nearest = min(range(1, ROWS - 1), key=lambda i: abs(found[i] - asked))
            found[nearest] = asked
        return sorted(dict.fromkeys(found))


def spread(demand: Demand, start: float, end: float, number: int) -> list[float]:
    """Values from one to another, evenly by ratio where both are above zero; whole ones of a count."""
    by_ratio = start > 0 and end > 0 and demand.quantity != "temperature"
    shares = [i / (number - 1) for i in range(number)]
    values = [start * (end / start) ** s if by_ratio else start + (end - start) * s for s in shares]
    values[-1] = end
    return [float(round(v)) for v in values] if demand.quantity == "count" else values


def _tenfold(demand: Demand, limit: float, start: float) -> float:
    """A value as much easier than a limit as makes a table worth reading, within what the recipe allows."""
    if limit <= 0 or demand.quantity == "temperature":
        return start
    return max(limit / TENFOLD, start) if start < limit else min(limit * TENFOLD, start)


def _round(demand: Demand, value: float, first: float, last: float) -> float:
    """Two digits, for a table; its ends stay as they are."""
    if value in (first, last) or value == 0 or demand.quantity == "temperature":
        return value
    digits = 1 - math.floor(math.log10(abs(value)))
    return float(round(value, digits))


def values_of(found: Sequence[Furthest]) -> dict[str, float | None]:
    """Values by name of certainty."""
    return {f.certainty.value: f.value for f in found}
