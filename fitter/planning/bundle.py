"""Which builds to make from one stock: conflict-based search over the best builds of each recipe.

Each recipe is first searched by itself with the whole stock. What all of these cost together is a lower
bound of any plan. Where builds together take more pieces of a lot than there are, at least one of them
has to take fewer: the search goes on with one node for each that gives way, of two builds such that no plan
lies in both. Where builds draw more from one supply unit than it gives, either one of them leaves the unit,
or their recipes are searched as one, so that the same checks that judge rails within a recipe judge them
over several. Each node has the best builds that its shares of the stock allow, made anew until no two are in
conflict. Nodes are taken cheapest first, so the first one without conflict is the best plan (conflict-based
search; G. Sharon, R. Stern, A. Felner, N. Sturtevant, "Conflict-based search for optimal multi-agent
pathfinding", Artificial Intelligence 219 (2015), from memory; searching agents as one is their
"meta-agent"). The engine below it is the ranked search of one recipe, which is exact.

Guaranteed when ``optimal``: no other plan has more builds ready; among those with as many, none has fewer
projects left out, then fewer purchases, minutes of measuring and waste, each as in :mod:`fitter.solve.score`
and added up over the builds. Builds searched by themselves share one unit only where its rails and its
watts fit for certain; where recipes were searched as one the score counts what stays unproven. A lot of
several supplies is several units, and none of them is shared between builds. Not guaranteed: that a plan
is the only best one. ``optimal`` is false only where a search was stopped at its limit or by hand.

What keeps the search short: a recipe that is not ready with the whole stock to itself is not ready beside
others either; of a lot of one piece that cannot be shared there is one node for each build that may keep it;
and recipes are searched as one only when no other node is cheaper than they would be by themselves.
"""

from __future__ import annotations

import heapq
import itertools
import time
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from fitter.planning.groups import Best, Conflict, Cost, Planned, best_of, conflicts
from fitter.projects import Project
from fitter.shed import Shed
from fitter.solve.builds import State
from fitter.solve.limits import Limit
from fitter.solve.tables import Filters, Tables

FEW = 6  # recipes up to which the hardest conflict is found by searching; it takes long for many
SHARE = 0.9  # of the time that is for the plan itself; the rest is for what to do first
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
    """One search for a plan; what a group can do with a share of the stock is worked out once.

    With ``all_ready`` only builds that are ready count, given pieces enough of some sizes of a shop.
    """

    shed: Shed
    projects: Mapping[str, Project]
    all_ready: bool = False
    given: Collection[str] = ()
    known: dict[Group, dict[Caps, Best]] = field(default_factory=dict)
    clashes: dict[Clash, None] = field(default_factory=dict)
    stopped: bool = False

    def __post_init__(self) -> None:
        self.lots = {lot.id: lot.count for lot in self.shed.pool.lots}
        self.tables: dict[Group, Tables] = {}
        self.ends = time.process_time() + SHARE * self.shed.limit_seconds

    def best(self, group: Group, caps: Caps) -> Best:
        """The best of a group."""
        known = self.known.setdefault(group, {})
        if caps not in known:
            known[caps] = self._with_more(group, dict(caps)) or self._searched(group, dict(caps))
        return known[caps]

    def _with_more(self, group: Group, caps: Mapping[str, int]) -> Best | None:
        """The best with a larger share of the stock, where it does without what is more."""
        for wider, best in self.known[group].items():
            larger = all(caps.get(lot, most + 1) <= most for lot, most in wider)
            if larger and not best.stopped and best.keeps_to(caps):
                return best
        return None

    def _searched(self, group: Group, caps: Mapping[str, int]) -> Best:
        self.shed.watcher.about = ", ".join(group)
        limit = self._limit()
        if group not in self.tables:
            filters = Filters(without=self.shed.without, given=self.given)
            self.tables[group] = self.shed.tables().filtered(filters)
        projects = [self.projects[n] for n in group]
        able = {n for n in group if self._able(n)} if len(group) > 1 else None
        found = best_of(self.tables[group], projects, caps, limit, all_ready=self.all_ready, able=able)
        self.stopped |= limit.reached
        if found.stopped and len(group) > 1:
            return replace(found, bound=_sum(self.best((n,), frozenset()).bound for n in group))
        return found

    def _able(self, name: str) -> bool:
        """Whether a recipe may be ready at all: it is with the whole stock, or that is not known."""
        alone = self.best((name,), frozenset())
        return alone.stopped or any(b.state is State.READY for b in alone.builds)

    def _limit(self) -> Limit:
        left = max(0.0, self.ends - time.process_time())
        return Limit(self.shed.limit_nodes, left, self.shed.watcher)

    @property
    def out_of_time(self) -> bool:
        """Whether to end with what there is."""
        return self.shed.watcher.stop or time.process_time() > self.ends

    def builds(self, node: Node) -> tuple[Planned, ...]:
        """The builds of a node, which may be in conflict."""
        return tuple(b for g, caps in sorted(node.caps.items()) for b in self.best(g, caps).builds)

    def bound(self, node: Node) -> Cost:
        """The least that any plan of a node costs."""
        return _sum(self.best(g, caps).bound for g, caps in node.caps.items())

    def at_least(self, node: Node) -> Cost:
        """As :meth:`bound`, but recipes to be searched as one count by themselves until they are."""
        apart = frozenset[tuple[str, int]]()
        return _sum(
            self.best(part, caps if part == g else apart).bound
            for g, caps in node.caps.items()
            for part in ([g] if len(g) == 1 or caps in self.known.get(g, {}) else [(n,) for n in g])
        )

    def cost(self, builds: Sequence[Planned]) -> Cost:
        """What a plan costs: each set's score once, also where recipes were searched as one."""
        missing = len(self.projects) - len(builds)
        score = sum(int(b.score) for b in {id(b.build): b.build for b in builds}.values())
        late = 0 if self.all_ready else sum(b.state is not State.READY for b in builds)
        return missing + late, missing, score

    def search(self) -> Plan:
        """The best plan, and whether that is proved."""
        start = Node({(name,): frozenset() for name in self.projects})
        number = itertools.count()
        heap = [(self.bound(start), next(number), start)]
        seen = {start.key}
        best = self.one_by_one()
        while heap and heap[0][0] < self.cost(best) and not self.out_of_time:
            expected, _, node = heapq.heappop(heap)
            if (bound := self.bound(node)) > expected:
                heapq.heappush(heap, (bound, next(number), node))
                continue
            found = self.builds(node)
            against = list(conflicts(found, self.lots))
            if not against:
                best = min(best, found, key=self.cost)
            for child in self.children(node, self.hardest(node, against)) if against else ():
                if child.key not in seen:
                    seen.add(child.key)
                    heapq.heappush(heap, (self.at_least(child), next(number), child))
        waiting = bool(heap) and heap[0][0] < self.cost(best)
        left = tuple(n for n in self.projects if n not in {b.recipe for b in best})
        optimal = not self.stopped and not waiting
        return Plan(best, left, tuple(self.clashes), optimal, self.stopped or (waiting and self.out_of_time))

    def hardest(self, node: Node, against: Sequence[Conflict]) -> Conflict:
        """The conflict whose end costs most, whoever gives way as if nothing else were scarce.

        Any would do; ending the hardest first raises the bounds soonest. Among many recipes that is taken
        to be the one that most of them are in.
        """
        if len(self.projects) > FEW:
            return max(against, key=lambda c: len(c.by) - self.lots[c.lot])

        def loss(conflict: Conflict) -> Cost:
            return min(self._loss(g, conflict.lot, most) for g, most in self.yielding(node, conflict))

        return max(against, key=loss)

    def _loss(self, group: Group, lot: str, most: int) -> Cost:
        """What it costs a group to take no more pieces of a lot, everything else in full."""
        less, full = (self.best(group, caps).bound for caps in (frozenset({(lot, most)}), frozenset()))
        return less[0] - full[0], less[1] - full[1], less[2] - full[2]

    def yielding(self, node: Node, conflict: Conflict) -> list[tuple[Group, int]]:
        """Groups in conflict, and the most pieces that each may take where it gives way.

        Every plan of the node without the conflict keeps to at least one of these.
        """
        lot = conflict.lot
        if self.lots[lot] == 1:
            return [(g, 0) for g in node.caps if any(b.recipe in g for b in conflict.by)]
        users = {g: [b for b in conflict.by if b.recipe in g] for g in node.caps}
        taken = {g: sum(b.used[lot][0] for b in by) for g, by in users.items() if by}
        for one, other in itertools.combinations(sorted(taken), 2):
            if taken[one] + taken[other] > self.lots[lot]:
                return [(one, taken[one] - 1), (other, self.lots[lot] - taken[one])]
        return [(g, n - 1) for g, n in taken.items()]

    def children(self, node: Node, conflict: Conflict) -> Iterator[Node]:
        """Nodes that together hold every plan of a node whose builds contend for a lot."""
        lot, by = conflict.lot, conflict.by
        self.clashes[Clash(lot, tuple(b.recipe for b in by), conflict.draws)] = None
        gives = self.yielding(node, conflict)
        single = self.lots[lot] == 1 and len(gives) > 1
        shareable = single and any(b.feeds_from(lot) for b in by)
        if single and not shareable:
            yield from (_only(node, kept, [g for g, _ in gives], lot) for kept, _ in gives)
            return
        for group, most in gives:
            yield node.less(group, lot, most)
        if shareable:
            yield node.merged([group for group, _ in gives])

    def one_by_one(self) -> tuple[Planned, ...]:
        """A plan without search: the recipes one after the other, each from what is left.

        First in the order of what each costs with the whole stock; then, for half of the time at most, with
        one after the other put first of those that lose most to others, kept where that betters the plan.
        """
        half = (self.ends + time.process_time()) / 2
        start = {name: self.best((name,), frozenset()) for name in self.projects}
        order = sorted(start, key=lambda n: (not start[n].builds, start[n].bound, n))
        plan = self._in_turn(order)
        for name in sorted(order, key=lambda n: self._suffers(n, plan), reverse=True):
            if self.out_of_time or time.process_time() > half or self._suffers(name, plan) <= 0:
                break
            other = [name, *(n for n in order if n != name)]
            changed = self._in_turn(other)
            if self.cost(changed) < self.cost(plan):
                plan, order = changed, other
        return plan

    def _suffers(self, name: str, plan: Sequence[Planned]) -> float:
        """By how much more a recipe's build scores in a plan than with the whole stock to itself."""
        alone = self.best((name,), frozenset()).bound[2]
        return next((b.build.score - alone for b in plan if b.recipe == name), 0.0)

    def _in_turn(self, order: Sequence[str]) -> tuple[Planned, ...]:
        left, made = dict(self.lots), list[Planned]()
        for name in order:
            caps = frozenset((lot, n) for lot, n in left.items() if n < self.lots[lot])
            found = () if self.out_of_time else self.best((name,), caps).builds
            for build in found:
                made.append(build)
                for lot, (taken, _) in build.used.items():
                    left[lot] -= taken
        return tuple(made)


def _only(node: Node, kept: Group, users: Sequence[Group], lot: str) -> Node:
    """One of several groups may keep a lot of one piece."""
    for group in users:
        node = node if group == kept else node.less(group, lot, 0)
    return node


def _sum(costs: Iterator[Cost]) -> Cost:
    a, b, c = zip(*costs, strict=True)
    return sum(a), sum(b), sum(c)
