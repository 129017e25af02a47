"""Best-first search for python-constraint: solutions come cheapest first, exactly.

The search knows nothing of parts. Values are small whole numbers; every constraint is *weighted*: it
gives the cost of a choice, infinite where the choice is forbidden. Three forms exist:

- :class:`CostTable` over a few variables: all costs at once, as an array over groups of values;
- :class:`WideCost` over any number: a lower bound for a partial assignment, exact when complete;
- :class:`Pieces`: no source may be drawn on more often than it has pieces.

A solution's cost is the sum over all constraints. Costs must be whole numbers below 2**53, so that
sums are exact and the order of adding does not matter.

**Bound.** The tables are eliminated variable by variable (:mod:`fitter.solve.elimination`). Assigning
in the opposite order, the cost so far plus the messages that reach back to assigned variables is a
consistent lower bound, so the first complete assignment off the heap is the cheapest, the next one
the second, and so on (A*). Wide costs and pieces raise and cut it on partial assignments.

**Ties.** Equal costs come in the order of their values, variables in the order of the search: among
heap entries of equal cost the smallest path of values goes first, and a path comes before all its
extensions.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import constraint
import numpy as np

from fitter.solve.elimination import Costs, Elimination, Table, eliminate
from fitter.solve.groups import Groups

if TYPE_CHECKING:
    import numpy.typing as npt

Assignment = dict[str, int]
FORBIDDEN = float("inf")
CONTENDED = 100  # weight of a variable that vies for scarce pieces, above that of any number of wide costs
BEFORE_ALL = 10_000  # weight of a variable that a wide cost wants first
LARGEST_EXCLUSION = 250_000  # entries of a table of exclusions; larger ones only show when they occur


class Weighted(constraint.Constraint):  # type: ignore[misc]  # the library ships no type information
    """A constraint with a cost; the library's own solvers see only whether it is finite."""

    scope: tuple[str, ...]

    def cost(self, assignment: Mapping[str, int]) -> float:
        """Cost of an assignment of all its variables; infinite where forbidden."""
        raise NotImplementedError

    def __call__(
        self, variables: Sequence[str], domains: Any, assignments: dict[str, int], forwardcheck: bool = False
    ) -> bool:
        if any(v not in assignments for v in variables):
            return True
        return self.cost(assignments) < FORBIDDEN

    def preProcess(self, variables: Any, domains: Any, constraints: Any, vconstraints: Any) -> None:  # noqa: N802
        """Leave domains alone: the ranked search prunes by cost, and refusals keep their reasons."""


class CostTable(Weighted):
    """Costs of a few variables as an array, one axis a variable, one entry a group of its values.

    Without ``groups`` every value has an entry of its own.
    """

    def __init__(
        self, scope: tuple[str, ...], costs: Costs, groups: Mapping[str, Groups] | None = None
    ) -> None:
        self.scope = scope
        single = groups or {v: Groups.singletons(n) for v, n in zip(scope, costs.shape, strict=True)}
        self.table = Table(scope, costs, single)

    def cost(self, assignment: Mapping[str, int]) -> float:
        return self.table.at(assignment)


class WideCost(Weighted):
    """A cost over several variables.

    With ``bounding``, a table of lower bounds over groups of values, it is asked for only once all
    others of its variables are assigned. Without, it is also asked on partial assignments and gives
    a lower bound.
    """

    bounding: Table | None = None
    first: tuple[str, ...] = ()  # variables to be assigned before all others

    def sweep(self, assigned: Mapping[str, int], variable: str) -> Costs:
        """Cost for every value of one variable, the others as assigned or still open.

        Exact where only ``variable`` is open; with more open a lower bound, infinite where no
        completion can be allowed.
        """
        raise NotImplementedError


class Pieces(Weighted):
    """No source gives more pieces than it has.

    ``sources[v][i]`` is the source of value ``i`` of variable ``v`` (negative: without limit),
    ``pieces[v][i]`` how many it takes, ``available[s]`` what source ``s`` has.
    """

    def __init__(
        self,
        sources: Mapping[str, npt.NDArray[np.int64]],
        pieces: Mapping[str, npt.NDArray[np.int64]],
        available: npt.NDArray[np.int64],
    ) -> None:
        self.scope = tuple(sources)
        self.sources = sources
        self.pieces = pieces
        self.available = available

    def taken(self, assignment: Mapping[str, int]) -> dict[int, int]:
        """Pieces taken from each limited source."""
        total: dict[int, int] = {}
        for variable in self.scope:
            if variable not in assignment:
                continue
            value = assignment[variable]
            source = int(self.sources[variable][value])
            if source >= 0:
                total[source] = total.get(source, 0) + int(self.pieces[variable][value])
        return total

    def cost(self, assignment: Mapping[str, int]) -> float:
        taken = self.taken(assignment)
        return 0.0 if all(n <= self.available[s] for s, n in taken.items()) else FORBIDDEN

    def exclusions(self) -> Iterator[CostTable]:
        """Pairs of values that together take more than a source has, as tables that messages can see."""
        most = {v: self._by_source(v, np.maximum, 0) for v in self.scope}
        for a, b in itertools.combinations(self.scope, 2):
            met = np.minimum(most[a], most[b]) > 0
            if not (met & (most[a] + most[b] > self.available)).any():
                continue
            if len(self.sources[a]) * len(self.sources[b]) > LARGEST_EXCLUSION:
                continue
            sources = self.sources[a][:, None]
            shared = (sources == self.sources[b][None, :]) & (sources >= 0)
            over = self.pieces[a][:, None] + self.pieces[b][None, :] > self.available[np.maximum(sources, 0)]
            if (shared & over).any():
                yield CostTable((a, b), np.where(shared & over, FORBIDDEN, 0.0))

    def contended(self) -> set[str]:
        """Variables of which three or more vie for a source that cannot serve them all.

        Exclusions of pairs do not show that; such variables are best assigned first.
        """
        nothing = np.iinfo(np.int64).max
        least = {v: self._by_source(v, np.minimum, nothing) for v in self.scope}
        wants = {v: of < nothing for v, of in least.items()}
        many = sum(w.astype(int) for w in wants.values()) > 2
        total = sum(np.where(wants[v], of, 0) for v, of in least.items())
        scarce = many & (total > self.available)
        return {v for v, w in wants.items() if (w & scarce).any()}

    def _by_source(self, variable: str, what: np.ufunc, none: int) -> npt.NDArray[np.int64]:
        """Least or most pieces that any value of a variable takes of each source; ``none`` of the others."""
        found = np.full(len(self.available), none, dtype=np.int64)
        limited = self.sources[variable] >= 0
        what.at(found, self.sources[variable][limited], self.pieces[variable][limited])
        return found

    def blocked(self, assigned: Mapping[str, int], variable: str) -> npt.NDArray[np.bool_]:
        """Values of a variable that the pieces already taken no longer allow."""
        sources = self.sources[variable]
        result = np.zeros(len(sources), dtype=bool)
        limited = sources >= 0
        result[limited] = self.pieces[variable][limited] > self.available[sources[limited]]
        for source, n in self.taken(assigned).items():
            here = sources == source
            result[here] = self.pieces[variable][here] + n > self.available[source]
        return result


@dataclass(slots=True)
class _Children:
    """The values of the next variable below one node, cheapest first, opened one at a time."""

    path: tuple[int, ...]
    values: npt.NDArray[np.int64]
    bounds: Costs
    spent: Costs
    wide: tuple[Costs | float, ...]

    def node(self, rank: int) -> _Node | None:
        """The child of this rank, if there is one."""
        if rank >= len(self.values):
            return None
        value = int(self.values[rank])
        return _Node(float(self.bounds[value]), (*self.path, value), self, rank)


@dataclass(order=True, slots=True)
class _Node:
    """A partial assignment, ordered by bound, then by its values."""

    bound: float
    path: tuple[int, ...]
    siblings: _Children = field(compare=False)
    rank: int = field(compare=False)

    @property
    def spent(self) -> float:
        """Costs that are final."""
        return float(self.siblings.spent[self.path[-1]])

    @property
    def wide(self) -> tuple[float, ...]:
        """Bounds of the wide costs."""
        value = self.path[-1]
        return tuple(w if isinstance(w, float) else float(w[value]) for w in self.siblings.wide)


class Search:
    """One best-first search; :meth:`next` gives its solutions in order of cost."""

    def __init__(self, sizes: Mapping[str, int], constraints: Sequence[Weighted]) -> None:
        self.sizes = dict(sizes)
        self._pieces = [c for c in constraints if isinstance(c, Pieces)]
        self._open_wide = [c for c in constraints if isinstance(c, WideCost) and c.bounding is None]
        weight = {v: sum(v in w.scope for w in self._open_wide) for v in self.sizes}
        for variable in {v for p in self._pieces for v in p.contended()}:
            weight[variable] += CONTENDED
        for variable in {v for w in self._open_wide for v in w.first}:
            weight[variable] += BEFORE_ALL
        self.elimination: Elimination = eliminate(self.sizes, list(_bounds(constraints)), weight=weight)
        self.order = self.elimination.order
        self._final = self._by_last_variable(constraints)
        self.nodes = 0
        self._heap: list[_Node] = []
        self._begun = False

    def _by_last_variable(self, constraints: Sequence[Weighted]) -> Mapping[str, list[Weighted]]:
        """Costs that become final when a variable is assigned."""
        place = {v: i for i, v in enumerate(self.order)}
        final: dict[str, list[Weighted]] = {v: [] for v in self.order}
        for c in constraints:
            if not isinstance(c, Pieces) and c not in self._open_wide:
                final[max(c.scope, key=place.__getitem__)].append(c)
        return final

    @property
    def bound(self) -> float:
        """No solution still to come is cheaper than this; infinite when there is none."""
        if not self._begun:
            return self.elimination.bound
        return self._heap[0].bound if self._heap else FORBIDDEN

    def _begin(self) -> None:
        self._begun = True
        if self.order and self.elimination.bound < FORBIDDEN:
            self._push(self._root().node(0))

    def _push(self, node: _Node | None) -> None:
        if node is not None:
            heapq.heappush(self._heap, node)

    def next(self, limit: float = FORBIDDEN, nodes: int | None = None) -> tuple[float, Assignment] | None:
        """The next cheapest solution, or none if it costs more than ``limit``.

        Args:
            limit: Highest cost of interest; dearer solutions stay for a later call.
            nodes: Open at most this many further nodes, then give up for now; :attr:`bound` still
                tells what may come.
        """
        stop = None if nodes is None else self.nodes + nodes
        if not self._begun and self.bound <= limit:
            self._begin()
        while self._heap and self.bound <= limit and (stop is None or self.nodes < stop):
            node = heapq.heappop(self._heap)
            self._push(node.siblings.node(node.rank + 1))
            if len(node.path) == len(self.order):
                return node.bound, dict(zip(self.order, node.path, strict=True))
            self._push(self._below(node).node(0))
        return None

    def dive(self, width: int = 3, starts: int = 8) -> tuple[float, Assignment] | None:
        """A good solution soon: a few promising values of each variable in turn, never taken back.

        Below each choice for the variables wanted first, so many as ``starts``, the best ``width``
        partial assignments are kept at every step. The cost is that of the solution, but cheaper ones
        may exist; none where all end in values that nothing allows.
        """
        if not self.order or self.elimination.bound == FORBIDDEN:
            return None
        wanted = {v for w in self._open_wide for v in w.first}
        depth = sum(1 for _ in itertools.takewhile(wanted.__contains__, self.order))
        begun = self._beam([self._root()], depth, starts)
        ends = [self._beam([self._below(n)], len(self.order), width) for n in begun if len(n.path) == depth]
        ends = ends if depth else [self._beam([self._root()], len(self.order), width)]
        best = min(itertools.chain.from_iterable(ends), default=None)
        return (best.bound, dict(zip(self.order, best.path, strict=True))) if best else None

    def _beam(self, level: list[_Children], depth: int, width: int) -> list[_Node]:
        """The best few partial assignments of so many variables below some nodes."""
        while True:
            nodes = [n for c in level for r in range(width) if (n := c.node(r)) is not None]
            nodes = heapq.nsmallest(width, nodes)
            if not nodes or len(nodes[0].path) >= depth:
                return nodes
            level = [self._below(n) for n in nodes]

    def __iter__(self) -> Iterator[Assignment]:
        while (found := self.next()) is not None:
            yield found[1]

    def _root(self) -> _Children:
        return self._branch((), 0.0, (0.0,) * len(self._open_wide))

    def _below(self, node: _Node) -> _Children:
        return self._branch(node.path, node.spent, node.wide)

    def _branch(self, path: tuple[int, ...], spent: float, wide: tuple[float, ...]) -> _Children:
        """Bound every value of the next variable at once."""
        self.nodes += 1
        variable = self.order[len(path)]
        assigned = dict(zip(self.order, path, strict=False))
        exact, ahead = self._costs(assigned, variable)
        spent_then = spent + exact
        bounds = spent_then + ahead
        wide_then = self._sweeps(assigned, variable, wide, np.isfinite(bounds))
        for cost in wide_then:
            bounds = bounds + cost
        allowed = np.flatnonzero(bounds < FORBIDDEN)
        values = allowed[np.argsort(bounds[allowed], kind="stable")]
        return _Children(path, values, bounds, spent_then, wide_then)

    def _costs(self, assigned: Mapping[str, int], variable: str) -> tuple[Costs, Costs]:
        """What each value adds for good, and the least that messages say will come."""
        exact = np.zeros(self.sizes[variable])
        for pieces in (p for p in self._pieces if variable in p.sources):
            exact = np.where(pieces.blocked(assigned, variable), FORBIDDEN, exact)
        ahead = self._ahead(assigned, variable)
        # cheap tables first: what they forbid need not be judged
        for c in self._final[variable]:
            if isinstance(c, CostTable):
                exact = exact + c.table.row(assigned, variable)
        for c in self._final[variable]:
            if isinstance(c, WideCost) and np.isfinite(exact + ahead).any():
                exact = exact + c.sweep(assigned, variable)
        return exact, ahead

    def _ahead(self, assigned: Mapping[str, int], variable: str) -> Costs:
        """The least that is still to come below each value."""
        ahead = np.full(self.sizes[variable], self._waiting(assigned, variable))
        for message in self.elimination.buckets[variable].received:
            ahead = ahead + message.row(assigned, variable)
        return ahead

    def _sweeps(
        self,
        assigned: Mapping[str, int],
        variable: str,
        before: tuple[float, ...],
        alive: npt.NDArray[np.bool_],
    ) -> tuple[Costs | float, ...]:
        """Bounds of the open wide costs: new ones where the variable matters, the others as before."""
        found: list[Costs | float] = []
        any_alive = alive.any()
        for wide, bound in zip(self._open_wide, before, strict=True):
            if any_alive and variable in wide.scope:
                found.append(np.maximum(wide.sweep(assigned, variable), bound))
            else:
                found.append(bound)
        return tuple(found)

    def _waiting(self, assigned: Mapping[str, int], variable: str) -> float:
        """Messages from variables still open that reach only variables assigned already."""
        total = 0.0
        for other in self.order[len(assigned) + 1 :]:
            for message in self.elimination.buckets[other].sent:
                if variable not in message.scope and all(v in assigned for v in message.scope):
                    total += message.at(assigned)
        return total


def _bounds(constraints: Sequence[Weighted]) -> Iterator[Table]:
    """Every cost that has one as a table, exact or of lower bounds."""
    for c in constraints:
        if isinstance(c, CostTable):
            yield c.table
        elif isinstance(c, WideCost) and c.bounding is not None:
            yield c.bounding
        elif isinstance(c, Pieces):
            yield from (excluded.table for excluded in c.exclusions())


class RankedSolver(constraint.Solver):  # type: ignore[misc]  # the library ships no type information
    """A solver for :class:`constraint.Problem` whose constraints are all :class:`Weighted`.

    Domains must be ``0, 1, ... n-1``. Solutions come cheapest first; none is listed ahead of need.
    """

    enumerates_lazily = True

    def search(self, problem: constraint.Problem) -> Search:
        """The search for a problem, for a caller that wants bounds and limits."""
        domains, constraints, _ = problem._getArgs()
        return self._search(domains or {}, constraints or [])

    def _search(
        self, domains: Mapping[str, Sequence[int]], constraints: Sequence[tuple[Weighted, Any]]
    ) -> Search:
        for variable, domain in domains.items():
            if list(domain) != list(range(len(domain))):
                raise ValueError(f"the values of {variable} must be 0, 1, ... n-1")
        return Search({v: len(d) for v, d in domains.items()}, [c for c, _ in constraints])

    def getSolutionIter(self, domains: Any, constraints: Any, vconstraints: Any) -> Iterator[Assignment]:  # noqa: N802
        yield from self._search(domains, constraints)

    def getSolution(self, domains: Any, constraints: Any, vconstraints: Any) -> Assignment | None:  # noqa: N802
        return next(self.getSolutionIter(domains, constraints, vconstraints), None)

    def getSolutions(self, domains: Any, constraints: Any, vconstraints: Any) -> list[Assignment]:  # noqa: N802
        return list(self.getSolutionIter(domains, constraints, vconstraints))
