"""Sets that differ in what matters, best first: the ranked search, told to leave out what was shown.

A thousand near-identical sets, alike but for an end switch, are one answer to whoever has to choose.
What matters is read off the component graph: where power comes from, what it drives, and what sets
the ratio between motor and load. The parts in those roles are a set's *signature*. The first set is
the best one; every further set is the best of all whose signature differs from those before. That is
computed, not sampled: by going on with the ranked search as long as that soon leads to a signature not
shown yet, and else by searching what is left when the signatures shown are taken out (:class:`_Parted`).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Mapping
from typing import TypeAlias

import networkx as nx
import numpy as np

from fitter.projects import Project
from fitter.solve.candidates import Candidate, Columns
from fitter.solve.limits import Limit
from fitter.solve.model import Model
from fitter.solve.opened import Known, Opened
from fitter.solve.ranked import FORBIDDEN
from fitter.solve.tables import Mask, Tables
from fitter.solve.variants import Found, Variants, found_in, ranked_builds

Signature: TypeAlias = frozenset[tuple[str, str]]
FEEDS = frozenset({"power", "ac", "dc", "winding", "regulate"})  # links along which power flows
DRIVES = frozenset({"power", "winding", "regulate"})  # those that end at what does the work, or drives it
PATIENCE = 100  # sets in a row with a signature shown before; then parting them off is cheaper


def telling_roles(graph: nx.DiGraph[str]) -> tuple[str, ...]:
    """The roles that matter: supplies, what they drive, and what sets the ratio between motor and load.

    A supply is where power starts; what has power and commands others is a controller, of which one is
    as good as another. Where nothing is powered every role counts.
    """
    roles = [name for name, data in graph.nodes(data=True) if "role" in data]
    found = tuple(r for r in roles if _matters(graph, r))
    return found or tuple(roles)


def _matters(graph: nx.DiGraph[str], role: str) -> bool:
    comes = {data["link"] for _, _, data in graph.in_edges(role, data=True)}
    goes = {data["link"] for _, _, data in graph.out_edges(role, data=True)}
    data = graph.nodes[role]
    starts = bool(data.get("makes_rail")) or (bool(goes & FEEDS) and not comes & FEEDS)
    driven = bool(comes & DRIVES) and "signal" not in goes
    return starts or driven or data.get("stage") is not None


def part_of(candidate: Candidate) -> str:
    """What a signature says of a part: its lot, however it is used; of one to buy only the kind."""
    return f"buy: {candidate.lot.kind}" if candidate.bought else f"lot: {candidate.lot.id}"


def signature(found: Found) -> Signature:
    """The parts of a set in the roles that matter."""
    return frozenset((role, part_of(found.parts[role])) for role in telling_roles(found.model.graph))


def diverse_builds(project: Project, tables: Tables, limit: Limit | None = None) -> Iterator[Found]:
    """The best set, then always the best of those whose signature differs from all before.

    Equal scores come in an order that is always the same. When ``limit`` is reached the iteration
    ends and ``limit.reached`` is set.
    """
    limit = limit or Limit()
    shown: set[Signature] = set()
    stale = 0
    for found in ranked_builds(project, tables, limit):
        if signature(found) not in shown:
            stale = 0
            shown.add(signature(found))
            yield found
        elif (stale := stale + 1) > PATIENCE:
            yield from _Parted(project, tables, limit, shown)
            return


class _Parted:
    """The best of what was not shown, by parting whatever holds a signature that was.

    Where a part's best set has a signature shown, the rest of the part falls into as many smaller
    ones as there are roles that matter: another part in the first role; the same in the first and
    another in the second; and so on. No two overlap and only the signature is left out, so each
    solution comes once, and what is asked of single roles the bounds of the search see in full
    (E. Lawler, "A procedure for computing the K best solutions to discrete optimization problems",
    Management Science 18 (1972), from memory).
    """

    def __init__(self, project: Project, tables: Tables, limit: Limit, shown: set[Signature]) -> None:
        self.variants = Variants(project, tables)
        self.limit = limit
        self.shown = shown
        self.known = Known()
        self.heap: list[Opened] = []
        self.made = 0

    def __iter__(self) -> Iterator[Found]:
        coming = self.variants.in_order()
        waiting = next(coming, None)
        while self.heap or waiting:
            while waiting and (not self.heap or waiting[0] <= self.heap[0].bound):
                self._push(Opened(*waiting, self.made))
                waiting = next(coming, None)
            found = self._step(waiting[0] if waiting else FORBIDDEN)
            if found is not None and signature(found) not in self.shown:
                self.shown.add(signature(found))
                yield found
            if self.limit.reached:
                return

    def _push(self, part: Opened) -> None:
        if part.bound < FORBIDDEN:
            self.made += 1
            heapq.heappush(self.heap, part)

    def _step(self, waiting: float) -> Found | None:
        """Advance the most promising part; one that gives a set is parted further."""
        nodes = self.limit.left()
        if nodes == 0:
            return None
        part = heapq.heappop(self.heap)
        before = part.nodes
        self.limit.variants += not part.begun
        rival = min(self.heap[0].bound if self.heap else FORBIDDEN, waiting)
        solution = part.advance(self.variants, self.known, rival, nodes)
        self.limit.used += part.nodes - before
        if solution is None:
            self._push(part)
            return None
        found = found_in(solution, part.model, self.variants.principles(part.choice))
        for rules in _parted(self.variants.open(part.choice), found, part.rules):
            self._push(Opened(solution[0], part.choice, self.made, rules))
        return found


def _parted(model: Model, found: Found, rules: Mapping[str, Mask]) -> Iterator[dict[str, Mask]]:
    """The rest of a part of a variant without one signature, as parts that do not overlap."""
    held = dict(rules)
    for role in telling_roles(model.graph):
        columns = model.columns[role]
        allowed = held.get(role, np.ones(len(columns), dtype=bool))
        same = _same(columns, found.parts[role])
        if (allowed & ~same).any():
            yield {**held, role: allowed & ~same}
        held[role] = allowed & same


def _same(columns: Columns, candidate: Candidate) -> Mask:
    """Which candidates of a role are the same part as far as a signature tells."""
    if not candidate.bought:
        owned: Mask = ~columns.bought & (columns.lot_ids == candidate.lot.id)
        return owned
    same = columns.bought.copy()
    for place in np.flatnonzero(same):
        same[place] = columns.candidate(int(place)).lot.kind == candidate.lot.kind
    return same
