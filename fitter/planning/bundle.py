"""Which builds to make from one stock: conflict-based search over the best builds of each recipe.

Each recipe is first searched by itself with the whole stock. What all of these cost together is a lower
bound of any plan. Where builds together take more pieces of a lot than there are, at least one of them
has to take fewer: the search goes on with one node for each that gives way. Where builds draw more from
one supply unit than it gives, either one of them leaves the unit, or their recipes are searched as one, so
that the same checks that judge rails within a recipe judge them over several. Nodes are taken cheapest
first, so the first one without conflict is the best plan (conflict-based search; G. Sharon, R. Stern,
A. Felner, N. Sturtevant, "Conflict-based search for optimal multi-agent pathfinding", Artificial
Intelligence 219 (2015), from memory; searching agents as one is their "meta-agent").

Guaranteed when ``optimal``: no other plan has more builds ready; among those with as many, none fewer
projects left out, then purchases, minutes of measuring and waste, each as in :mod:`fitter.solve.score`
and added up over the builds. Builds searched by themselves share one unit only where its rails and its
watts fit for certain; where recipes were searched as one the score counts what stays unproven. A lot of
several supplies is several units, and none of them is shared between builds. Not guaranteed:
that a plan is the only best one. ``optimal`` is false where a search was stopped, and where
recipes searched as one might still trade a purchase for one build more that is ready.
"""

from __future__ import annotations

import heapq
import itertools
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

from fitter.planning.groups import Best, Planned, best_of, over
from fitter.projects import Project
from fitter.shed import Shed
from fitter.solve.builds import State
from fitter.solve.limits import Limit
from fitter.solve.score import MINUTE

Cost: TypeAlias = tuple[int, int, int]  # projects not ready, projects out of reach, sum of scores
Group: TypeAlias = tuple[str, ...]
Caps: TypeAlias = frozenset[tuple[str, int]]


@dataclass(frozen=True)
class Node:
    """Which recipes are searched as one, and the most pieces of a lot that each group may take."""

    caps: Mapping[Group, Caps]

    @property
    def key(self) -> frozenset[tuple[Group, Caps]]:
        """Equal for equal nodes."""
        return frozenset(self.caps.items())

    def less(self, group: Group, lot: str, most: int) -> Node:
        """A group may take only so many pieces of a lot."""
        caps = dict(self.caps[group]) | {lot: most}
        return Node({**self.caps, group: frozenset(caps.items())})

    def merged(self, groups: Sequence[Group]) -> Node:
        """Groups searched as one; what each may take is added up."""
        caps = [dict(self.caps[g]) for g in groups]
        common = set.intersection(*(set(c) for c in caps))
        both = frozenset((lot, sum(c[lot] for c in caps)) for lot in common)
        rest = {g: c for g, c in self.caps.items() if g not in groups}
        return Node({**rest, tuple(sorted(itertools.chain(*groups))): both})


@dataclass(frozen=True)
class Clash:
    """Builds that cannot all have what they would take first."""

    lot: str
    recipes: tuple[str, ...]
    draws: bool  # on one unit together, rather than pieces


@dataclass(frozen=True)
class Plan:
    """The builds, what of the recipes no build was found for, and whether nothing better exists."""

    builds: tuple[Planned, ...]
    left: tuple[str, ...]
    clashes: tuple[Clash, ...]
    optimal: bool
    stopped: bool


@dataclass
class Planner:
    """One search for a plan; what a group can do with a share of the stock is worked out once."""

    shed: Shed
    projects: Mapping[str, Project]
    known: dict[tuple[Group, Caps], Best] = field(default_factory=dict)
    clashes: dict[Clash, None] = field(default_factory=dict)
    stopped: bool = False
    unsure: list[Cost] = field(default_factory=list)  # bounds of nodes that may hold better than was found

    def __post_init__(self) -> None:
        self.lots = {lot.id: lot.count for lot in self.shed.pool.lots}
        self.ends = time.monotonic() + self.shed.limit_seconds * max(1, len(self.projects))

    def best(self, group: Group, caps: Caps) -> Best:
        """The best of a group."""
        if (group, caps) not in self.known:
            self.shed.watcher.about = ", ".join(group)
            limit = self._limit()
            most = {lot: min(n, self.lots[lot]) for lot, n in caps}
            self.known[group, caps] = best_of(self.shed, [self.projects[n] for n in group], most, limit)
            self.stopped |= limit.reached
        return self.known[group, caps]

    def _limit(self) -> Limit:
        left = max(0.0, min(self.shed.limit_seconds, self.ends - time.monotonic()))
        return Limit(self.shed.limit_nodes, left, self.shed.watcher)

    @property
    def out_of_time(self) -> bool:
        """Whether to end with what there is."""
        return self.shed.watcher.stop or time.monotonic() > self.ends

    def builds(self, node: Node) -> tuple[Planned, ...]:
        """The builds of a node, which may be in conflict."""
        return tuple(b for g, caps in sorted(node.caps.items()) for b in self.best(g, caps).builds)

    def bound(self, node: Node) -> Cost:
        """The least that any plan of a node costs."""
        return _sum(_least(g, self.best(g, caps)) for g, caps in node.caps.items())

    def cost(self, builds: Sequence[Planned]) -> Cost:
        """What a plan costs: each set's score once, also where recipes were searched as one."""
        missing = len(self.projects) - len(builds)
        score = sum(int(b.score) for b in {id(b.build): b.build for b in builds}.values())
        return missing + sum(b.state is not State.READY for b in builds), missing, score

    def search(self) -> Plan:
        """The best plan, and whether that is proved."""
        start = Node({(name,): frozenset() for name in self.projects})
        number = itertools.count()
        heap = [(self.bound(start), next(number), start)]
        seen = {start.key}
        best = self.one_by_one()
        while heap and heap[0][0] < self.cost(best) and not self.out_of_time:
            _, _, node = heapq.heappop(heap)
            builds = self.builds(node)
            conflict = next(over(builds, self.lots), None)
            if conflict is None:
                best = min(best, builds, key=self.cost)
            for child in self.children(node, conflict) if conflict else ():
                if child.key not in seen:
                    seen.add(child.key)
                    heapq.heappush(heap, (self.bound(child), next(number), child))
        optimal = not self.stopped and not self.loose(heap, best)
        left = tuple(n for n in self.projects if n not in {b.recipe for b in best})
        return Plan(best, left, tuple(self.clashes), optimal, self.stopped or bool(self.out_of_time and heap))

    def loose(self, heap: Sequence[tuple[Cost, int, Node]], best: tuple[Planned, ...]) -> bool:
        """Whether some node, left in the heap or searched as one, might still hold a better plan."""
        waiting = bool(heap) and heap[0][0] < self.cost(best)
        return waiting or any(bound < self.cost(best) for bound in self.unsure)

    def children(self, node: Node, conflict: tuple[str, list[Planned], bool]) -> Iterator[Node]:
        """Nodes that together hold every plan of a node whose builds contend for a lot."""
        lot, by, draws = conflict
        self.clashes[Clash(lot, tuple(b.recipe for b in by), draws)] = None
        groups = {g: [b for b in by if b.recipe in g] for g in node.caps}
        groups = {g: users for g, users in groups.items() if users}
        for group, users in groups.items():
            taken = 1 if draws else sum(b.used[lot][0] for b in users)
            yield node.less(group, lot, taken - 1)
        if self.lots[lot] == 1 and len(groups) > 1 and any(b.feeds_from(lot) for b in by):
            together = node.merged(list(groups))
            exact = self.cost(self.builds(together)) == self.bound(together)
            if not exact:
                self.unsure.append(self.bound(together))
            yield together

    def one_by_one(self) -> tuple[Planned, ...]:
        """A plan without search: the recipes one after the other, each from what is left."""
        start = {name: self.best((name,), frozenset()) for name in self.projects}
        left, made = dict(self.lots), list[Planned]()
        for name in sorted(start, key=lambda n: (not start[n].builds, start[n].score, n)):
            caps = frozenset((lot, n) for lot, n in left.items() if n < self.lots[lot])
            found = self.best((name,), caps) if not self.out_of_time else Best((), 0, True)
            for build in found.builds:
                made.append(build)
                for lot, (taken, _) in build.used.items():
                    left[lot] -= taken
        return tuple(made)


def _least(group: Group, best: Best) -> Cost:
    """A bound on what a group costs; its least score with less than a minute open has all ready."""
    if not best.builds:
        return (0, 0, 0) if best.stopped else (len(group), len(group), 0)
    return int(best.score >= MINUTE), 0, best.score


def _sum(costs: Iterator[Cost]) -> Cost:
    a, b, c = zip(*costs, strict=True)
    return sum(a), sum(b), sum(c)
