"""A layered drawing of a directed graph: boxes in rows, wires from row to row, no two things in one place.

The steps are those of Sugiyama, Tagawa and Toda, "Methods for visual understanding of hierarchical system
structures", IEEE Transactions on Systems, Man, and Cybernetics 11 (1981) 109-125: circles are opened, nodes
are put into rows, wires longer than one row get stand-ins in the rows they pass, crossings are reduced by
barycentres, then places are found along each row. As in Gansner, Koutsofios, North and Vo, "A technique for
drawing directed graphs", IEEE Transactions on Software Engineering 19 (1993) 214-230, a label is a stand-in
with a size of its own, in a row between two rows of boxes. Both cited from memory.

Whatever stands in a row has its room there, and wires bend only between rows: so nothing can overlap.
"""

from __future__ import annotations

import math
from bisect import bisect_right, insort
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate, pairwise

Size = tuple[float, float]
Edge = tuple[str, str]
SWEEPS = 24  # over all rows: to reduce crossings, then to find places
STRAIGHT = 20.0  # weight of a stand-in beside that of a box: long wires should run straight
LEAN = 0.1  # further room between two rows for each px that a wire moves sideways there
STEEPEST = 30.0  # the most such room, px


@dataclass(eq=False)
class Place:
    """A box, a label or a stand-in of a wire: its size, its row, and the middle of where it is put, px."""

    width: float
    height: float
    row: int
    box: bool = False
    above: list[Place] = field(default_factory=list)
    below: list[Place] = field(default_factory=list)
    wire: Sequence[Place] = ()  # of a label or stand-in: all those of its wire
    x: float = 0.0
    y: float = 0.0

    @property
    def left(self) -> float:
        """Where it begins."""
        return self.x - self.width / 2

    @property
    def right(self) -> float:
        """Where it ends."""
        return self.x + self.width / 2


@dataclass(frozen=True)
class Gaps:
    """Least distances in px: between neighbours in a row, between rows, and between wires at a box."""

    beside: float = 16.0
    between: float = 14.0
    wires: float = 14.0


@dataclass(frozen=True)
class Run:
    """A stretch of a wire straight down at ``x`` from ``top`` to ``bottom``, px.

    A bend joins it to the stretch before, unless it is the first or comes out of the wire's label.
    """

    x: float
    top: float
    bottom: float
    joined: bool


@dataclass(frozen=True)
class Laid:
    """What was laid out: boxes by name; of each edge its label and its stretches from top to bottom.

    ``upwards`` marks edges whose target is the upper end.
    """

    boxes: Mapping[str, Place]
    labels: Sequence[Place]
    runs: Sequence[Sequence[Run]]
    upwards: Sequence[bool]
    width: float
    height: float


def lay_out(
    boxes: Mapping[str, Size],
    edges: Sequence[Edge],
    labels: Sequence[Size],
    *,
    room: float,
    gaps: Gaps | None = None,
) -> Laid:
    """Places for boxes and labels, and the ways of wires.

    Args:
        boxes: Width and height of each box, px.
        edges: Names of the boxes at both ends; several may join the same two boxes.
        labels: Width and height of each edge's label, px.
        room: Width that a row of boxes keeps to, px, unless a single box is wider.
        gaps: Least distances.

    Raises:
        ValueError: An edge from a box to itself, or to a box that is not there.
    """
    gaps = gaps or Gaps()
    for a, b in edges:
        if a == b or a not in boxes or b not in boxes:
            raise ValueError(f"no edge can go from {a!r} to {b!r}")
    down = without_circles(list(boxes), edges)
    rows_of = _rows_of({n: w + gaps.beside for n, (w, _) in boxes.items()}, down, room + gaps.beside)
    placed = {n: Place(*size, row=2 * rows_of[n], box=True) for n, size in boxes.items()}
    chains = [_chain(placed[a], placed[b], size, gaps) for (a, b), size in zip(down, labels, strict=True)]
    rows = _uncrossed(_in_rows(placed.values()))
    _set_across(rows, gaps)
    ports = _ports(placed.values(), chains, gaps)
    edges_of_rows = _set_down(rows, chains, ports, gaps)
    return Laid(
        placed,
        [chain[1] for chain in chains],
        [list(_runs(chain, ends, edges_of_rows)) for chain, ends in zip(chains, ports, strict=True)],
        [edge != other for edge, other in zip(edges, down, strict=True)],
        max((p.right for row in rows for p in row), default=0.0),
        edges_of_rows[-1][1] if edges_of_rows else 0.0,
    )


def without_circles(nodes: Sequence[str], edges: Sequence[Edge]) -> list[Edge]:
    """The edges, those turned round that close a circle when followed depth first."""
    after: dict[str, list[str]] = {n: [] for n in nodes}
    for a, b in edges:
        after[a].append(b)
    begun: dict[str, int] = {}
    done: dict[str, int] = {}

    def visit(node: str) -> None:
        begun[node] = len(begun)
        for other in after[node]:
            if other not in begun:
                visit(other)
        done[node] = len(done)

    entered = {b for _, b in edges}
    for node in sorted(nodes, key=lambda n: n in entered):
        if node not in begun:
            visit(node)
    return [(a, b) if done[a] > done[b] else (b, a) for a, b in edges]


def _rows_of(widths: Mapping[str, float], down: Sequence[Edge], room: float) -> dict[str, int]:
    """A row for each node, every edge leading down, no row wider than the room unless by a single node.

    Nodes are dealt out those first that have the longest way below them, as in list scheduling; then each
    goes where its edges are shortest, as long as that helps.
    """
    before: dict[str, list[str]] = {n: [] for n in widths}
    after: dict[str, list[str]] = {n: [] for n in widths}
    for a, b in down:
        before[b].append(a)
        after[a].append(b)
    depth: dict[str, int] = {}

    def deep(node: str) -> int:
        if node not in depth:
            depth[node] = max((1 + deep(n) for n in after[node]), default=0)
        return depth[node]

    rows: dict[str, int] = {}
    used: dict[int, float] = {}

    def fits(node: str, row: int) -> bool:
        return not used.get(row) or used[row] + widths[node] <= room

    for node in sorted(widths, key=deep, reverse=True):  # a node is deeper than all below it
        row = max((rows[n] + 1 for n in before[node]), default=0)
        while not fits(node, row):
            row += 1
        rows[node], used[row] = row, used.get(row, 0.0) + widths[node]
    for _ in range(len(widths)):
        moved = False
        for node in widths:
            better = _nearer(node, rows, before[node], after[node], fits)
            if better != rows[node]:
                used[rows[node]] -= widths[node]
                rows[node], used[better] = better, used.get(better, 0.0) + widths[node]
                moved = True
        if not moved:
            break
    kept = {row: i for i, row in enumerate(sorted(set(rows.values())))}
    return {n: kept[row] for n, row in rows.items()}


def _nearer(
    node: str,
    rows: Mapping[str, int],
    before: Sequence[str],
    after: Sequence[str],
    fits: Callable[[str, int], bool],
) -> int:
    """The row among those open to a node in which its edges are shortest; its own where none is better."""
    pull = len(before) - len(after)
    if not pull or (pull > 0 and not before) or (pull < 0 and not after):
        return rows[node]
    lowest = max((rows[n] + 1 for n in before), default=0)
    highest = min((rows[n] - 1 for n in after), default=max(rows.values()))
    wanted = range(lowest, rows[node]) if pull > 0 else range(highest, rows[node], -1)
    return next((row for row in wanted if fits(node, row)), rows[node])


def _chain(upper: Place, lower: Place, label: Size, gaps: Gaps) -> list[Place]:
    """The places an edge passes from top to bottom: a box, its label, stand-ins, a box."""
    chain = [upper, Place(*label, row=upper.row + 1)]
    chain += [Place(gaps.wires, 0.0, row) for row in range(upper.row + 2, lower.row)]
    for place in chain[1:]:
        place.wire = chain[1:]
    chain.append(lower)
    for a, b in pairwise(chain):
        a.below.append(b)
        b.above.append(a)
    return chain


def _in_rows(boxes: Collection[Place]) -> list[list[Place]]:
    """All places by row, each row in the order in which a walk depth first comes upon them."""
    rows: list[list[Place]] = [[] for _ in range(max((p.row for p in boxes), default=-1) + 1)]
    seen: set[Place] = set()

    def visit(place: Place) -> None:
        if place in seen:
            return
        seen.add(place)
        rows[place.row].append(place)
        for other in (*place.below, *place.above):
            visit(other)

    for place in boxes:
        visit(place)
    return rows


def _uncrossed(rows: list[list[Place]]) -> list[list[Place]]:
    """The rows in the order with the fewest crossings that sweeps by barycentre come upon."""
    best, fewest = [list(row) for row in rows], _crossings(rows)
    for sweep in range(SWEEPS):
        if not fewest:
            break
        downwards = sweep % 2 == 0
        for row in rows[1:] if downwards else rows[-2::-1]:
            _by_barycentre(rows, row, downwards=downwards)
        now = _crossings(rows)
        if now < fewest:
            best, fewest = [list(row) for row in rows], now
    return best


def _by_barycentre(rows: Sequence[list[Place]], row: list[Place], *, downwards: bool) -> None:
    """Sort a row by the mean place of the neighbours on one side; what has none stays where it is."""
    if not row:
        return
    other = rows[row[0].row + (-1 if downwards else 1)]
    at = {place: i / max(len(other), 1) for i, place in enumerate(other)}
    key = {}
    for i, place in enumerate(row):
        near = [at[n] for n in (place.above if downwards else place.below)]
        key[place] = _mean(near, i / len(row))
    row.sort(key=key.__getitem__)


def _crossings(rows: Sequence[Sequence[Place]]) -> int:
    """How often edges cross in all."""
    total = 0
    for upper, lower in pairwise(rows):
        at = {place: i for i, place in enumerate(lower)}
        seen: list[int] = []
        for place in upper:
            ends = sorted(at[n] for n in place.below)
            total += sum(len(seen) - bisect_right(seen, end) for end in ends)
            for end in ends:
                insort(seen, end)
    return total


def in_order(
    wanted: Sequence[float],
    weights: Sequence[float],
    apart: Sequence[float],
    ends: tuple[float, float] = (-math.inf, math.inf),
) -> list[float]:
    """Places nearest to those wanted, by weighted squares: in order, so far apart, between two ends.

    Solved exactly by pooling adjacent violators (isotonic regression; Ayer et al., Annals of Mathematical
    Statistics 26 (1955) 641-647, from memory).

    Args:
        wanted: Place wanted for each.
        weights: How much each counts.
        apart: Least distance of each from the one before; the first is not read.
        ends: Least and greatest place; there must be room between them.

    >>> in_order([0, 0], [1, 1], [0, 10])
    [-5.0, 5.0]
    >>> in_order([0, 0], [1, 1], [0, 10], (0, 20))
    [0.0, 10.0]
    """
    offsets = list(accumulate([0.0, *apart[1:]]))
    pools: list[tuple[float, float, int]] = []  # mean, weight, number
    for want, weight, offset in zip(wanted, weights, offsets, strict=False):
        pool = (want - offset, weight, 1)
        while pools and pools[-1][0] > pool[0]:
            mean, heavy, number = pools.pop()
            both = heavy + pool[1]
            pool = ((mean * heavy + pool[0] * pool[1]) / both, both, number + pool[2])
        pools.append(pool)
    least, most = ends[0], ends[1] - offsets[-1]
    means = [min(max(mean, least), most) for mean, _, number in pools for _ in range(number)]
    return [mean + offset for mean, offset in zip(means, offsets, strict=False)]


def _set_across(rows: Sequence[Sequence[Place]], gaps: Gaps) -> None:
    """Put each place as near to its neighbours as the order of its row allows; the leftmost begins at 0.

    Sweeps down heed the neighbours above, sweeps up those below; the last heed both and straighten wires.
    """
    for row in rows:
        _settle(row, gaps, lambda place: [])
    for _ in range(SWEEPS // 2):
        for row in rows:
            _settle(row, gaps, lambda place: place.above)
        for row in reversed(rows):
            _settle(row, gaps, lambda place: place.below)
    for _ in range(SWEEPS // 2):
        for row in rows:
            _settle(row, gaps, lambda place: place.wire or [*place.above, *place.below])
    left = min((p.left for row in rows for p in row), default=0.0)
    for row in rows:
        for place in row:
            place.x -= left


def _settle(row: Sequence[Place], gaps: Gaps, near: Callable[[Place], Sequence[Place]]) -> None:
    """Put each place of a row as near as the others allow to the middle of what is to be near it."""
    wanted = [_mean([n.x for n in near(place)], place.x) for place in row]
    weights = [1.0 if place.box else STRAIGHT for place in row]
    apart = [0.0, *((a.width + b.width) / 2 + gaps.beside for a, b in pairwise(row))]
    for place, x in zip(row, in_order(wanted, weights, apart), strict=True):
        place.x = x


def _mean(values: Sequence[float], otherwise: float) -> float:
    return sum(values) / len(values) if values else otherwise


def _ports(
    boxes: Collection[Place], chains: Sequence[Sequence[Place]], gaps: Gaps
) -> list[tuple[float, float]]:
    """Where each edge leaves its upper box and enters its lower one: near to where it leads, in order."""
    found: dict[tuple[int, bool], float] = {}
    for box in boxes:
        half = max(box.width / 2 - gaps.wires / 2, 0.0)
        ends = (box.x - half, box.x + half)
        for at_top in (False, True):
            end, near = (-1, -2) if at_top else (0, 1)
            leading = sorted((c[near].x, i) for i, c in enumerate(chains) if c[end] is box)
            apart = min(gaps.wires, 2 * half / max(len(leading) - 1, 1))
            spread = in_order([x for x, _ in leading], [1.0] * len(leading), [apart] * len(leading), ends)
            found.update({(i, at_top): x for (_, i), x in zip(leading, spread, strict=True)})
    return [(found[i, False], found[i, True]) for i in range(len(chains))]


def _set_down(
    rows: Sequence[Sequence[Place]],
    chains: Sequence[Sequence[Place]],
    ports: Sequence[tuple[float, float]],
    gaps: Gaps,
) -> list[tuple[float, float]]:
    """Put each row below the one before; gives the top and bottom of each, px."""
    sideways = [0.0] * len(rows)
    for chain, ends in zip(chains, ports, strict=True):
        for place, (a, b) in zip(chain, pairwise(_ways(chain, ends)), strict=False):
            sideways[place.row] = max(sideways[place.row], abs(a - b))
    tops_and_bottoms = []
    y = 0.0
    for row, lean in zip(rows, sideways, strict=True):
        height = max((place.height for place in row), default=0.0)
        for place in row:
            place.y = y + height / 2
        tops_and_bottoms.append((y, y + height))
        y += height + gaps.between + min(LEAN * lean, STEEPEST)
    return tops_and_bottoms


def _ways(chain: Sequence[Place], ends: tuple[float, float]) -> list[float]:
    """Where an edge passes each row."""
    return [ends[0], *(place.x for place in chain[1:-1]), ends[1]]


def _runs(
    chain: Sequence[Place], ends: tuple[float, float], rows: Sequence[tuple[float, float]]
) -> Iterator[Run]:
    """The stretches of an edge: out of the upper box, to its label and out of it, and into the lower box."""
    for i, (place, x) in enumerate(zip(chain, _ways(chain, ends), strict=True)):
        top, bottom = rows[place.row]
        above, below = place.y - place.height / 2, place.y + place.height / 2
        if place is chain[-1]:
            yield Run(x, top, above, joined=True)
        elif i == 0:
            yield Run(x, below, bottom, joined=False)
        elif i == 1:
            yield Run(x, top, above, joined=True)
            yield Run(x, below, bottom, joined=False)
        else:
            yield Run(x, top, bottom, joined=True)
