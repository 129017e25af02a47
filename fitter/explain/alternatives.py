"""Other ways than the best set, where they trade off: things to buy, price, open checks.

Each way is the best set of a search under one more condition: a part that would be bought comes from the
stock, a lot that leaves a check open stays on the shelf, or a mismatch is left to an adapter. Every way is
judged in full. Shown are those that no other way, and not the best set, beats or equals in all three.
Searches are short (2,000 nodes, and :data:`SECONDS` for all): that no further way exists is not said.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fitter.explain.gearing import NODES, geared_sets, with_reductions
from fitter.functions.geared import geared_roles
from fitter.projects import Project
from fitter.shed import Shed
from fitter.solve.adapters import CLOSED_BY, Adapter, adapters, reduction, whole
from fitter.solve.builds import Build, judge
from fitter.solve.candidates import Candidate
from fitter.solve.limits import Limit
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import ranked_builds

MOST = 3
SECONDS = 3.5  # of computing, for all searches about one project
MOST_ROLES = 6
CHEAPER = 0.95  # of a price: less of a difference is not worth a choice
MOST_LOTS = 4
SETS = 10  # looked at for an adapter: each may be one that no adapter closes


@dataclass(frozen=True)
class Way:
    """A set with the adapters that it needs."""

    build: Build
    adapters: tuple[Adapter, ...]
    price: float

    @property
    def parts(self) -> dict[str, Candidate]:
        """What fills each role of the recipe; a reduction is an adapter, not a role of it."""
        stages = geared_roles(self.build.roles)
        return {role: c for role, c in self.build.parts.items() if role not in stages}

    @property
    def items(self) -> int:
        """Things to buy."""
        return sum(c.bought for c in self.parts.values()) + sum(not a.from_stock for a in self.adapters)

    @property
    def worth(self) -> tuple[int, float, int]:
        """What is compared, less being better: things to buy, price in euro, open checks."""
        return self.items, self.price, len(self.build.unproven)


def alternatives(shed: Shed, project: Project, best: Build, seconds: float = SECONDS) -> list[Way]:
    """At most three ways that trade off against a set and each other, fewest things to buy first.

    Args:
        shed: Stock and recipes.
        project: The project as asked for.
        best: Its best set, or the one that comes nearest.
        seconds: Of computing, at the most.
    """
    if not best.to_buy and not best.failing:
        return []
    base = Way(best, (), price(shed, best))
    found = [w for w in _ways(shed, project, best, seconds) if best.failing or not _beats(base, w)]
    return _front(found)[:MOST]


def price(shed: Shed, build: Build, extra: Sequence[Adapter] = ()) -> float:
    """Price of all that must be bought, euro."""
    stages = geared_roles(build.roles)
    parts = sum(
        shed.waste.price(c.lot) * build.roles[role].count * c.offer.pieces
        for role, c in build.parts.items()
        if c.bought and role not in stages
    )
    return round(parts + sum(a.price for a in extra), 2)


def _front(ways: Sequence[Way]) -> list[Way]:
    """The ways that no other beats or equals, the first of equals kept."""
    kept: list[Way] = []
    for way in sorted(ways, key=lambda w: (w.worth, len(w.adapters))):
        if not any(_beats(k, way) for k in kept):
            kept.append(way)
    return kept


def _beats(one: Way, other: Way) -> bool:
    """Whether a way is as good in everything, near enough in price."""
    cheaper = one.price * CHEAPER <= other.price
    return one.items <= other.items and cheaper and len(one.build.unproven) <= len(other.build.unproven)


def _ways(shed: Shed, project: Project, best: Build, seconds: float) -> Iterator[Way]:
    tables = Tables(shed.pool, shed.waste)
    end = time.process_time() + min(seconds, shed.limit_seconds)
    for filters in _conditions(shed, best):
        left = end - time.process_time()
        if left <= 0 or shed.watcher.stop:
            return
        yield from _found(shed, project, tables.filtered(filters), Limit(NODES, left, shed.watcher))
    yield from _geared(shed, project, end)


def _geared(shed: Shed, project: Project, end: float) -> Iterator[Way]:
    """The best sets with a reduction between a motor and what it turns."""
    filters = Filters(without=shed.without)
    for found in geared_sets(shed, project, with_reductions(shed), filters, end):
        adapter = reduction(found)
        if adapter is not None:
            yield Way(found.build, (adapter,), price(shed, found.build, (adapter,)))


def _found(shed: Shed, project: Project, tables: Tables, limit: Limit) -> Iterator[Way]:
    """The best set under a condition; where an adapter is allowed, the best of those that one closes."""
    sets = SETS if tables.filters.unchecked else 1
    ways = []
    for found in itertools.islice(ranked_builds(project, tables, limit), sets):
        build = whole(judge(found, tables))
        closing = adapters(build, shed.pool)
        if closing is not None:
            ways.append(Way(build, tuple(closing), price(shed, build, closing)))
    yield from _front(ways)


def _conditions(shed: Shed, best: Build) -> Iterator[Filters]:
    """One more condition each, those first that are searched soonest."""
    without = frozenset(shed.without)
    for lots in _open_lots(best):
        yield Filters(without=without | lots)
    bought = sorted((r for r, c in best.parts.items() if c.bought), key=lambda r: -_cost(shed, best, r))
    for role in bought[:MOST_ROLES]:
        yield Filters(without=without, owned={role})
    for names in CLOSED_BY.values():
        yield Filters(without=without, unchecked=names)


def _cost(shed: Shed, build: Build, role: str) -> float:
    return shed.waste.price(build.parts[role].lot) * build.roles[role].count


def _open_lots(best: Build) -> Iterator[frozenset[str]]:
    """Lots that leave a check open: all together, and each by itself."""
    lots = list(dict.fromkeys(path.partition(".")[0] for path in best.open_ratings))
    if len(lots) > 1:
        yield frozenset(lots)
    for lot in lots[:MOST_LOTS]:
        yield frozenset({lot})
