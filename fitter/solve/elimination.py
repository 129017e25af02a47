"""Cheapest completions over tables of a few variables: bucket elimination.

Variables are eliminated one by one: all tables that mention a variable are added up and minimised
over it, which leaves a table, the *message*, over its neighbours. On graphs of small width, cycles
included, the messages together are the exact cost of the cheapest completion; where a message would
grow past a limit the bucket is split and the message is a lower bound.

Source: R. Dechter, "Bucket elimination", Artificial Intelligence 113 (1999); R. Dechter and
I. Rish, "Mini-buckets", Journal of the ACM 50 (2003).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from fitter.solve.groups import Groups, refined

if TYPE_CHECKING:
    import numpy.typing as npt

Costs: TypeAlias = "npt.NDArray[np.float64]"
LARGEST_TABLE = 1_000_000  # entries worked on at once; larger buckets are split


@dataclass(frozen=True, eq=False)
class Table:
    """Costs over a few variables, one axis a variable, one entry a group of its values."""

    scope: tuple[str, ...]
    costs: Costs
    groups: Mapping[str, Groups]

    def row(self, assigned: Mapping[str, int], variable: str) -> Costs:
        """Costs of every value of one variable of the scope, the others as assigned."""
        at = tuple(slice(None) if v == variable else self.groups[v].of[assigned[v]] for v in self.scope)
        return np.asarray(self.costs[at])[self.groups[variable].of]

    def at(self, assigned: Mapping[str, int]) -> float:
        """The cost of an assignment of the whole scope."""
        return float(self.costs[tuple(self.groups[v].of[assigned[v]] for v in self.scope)])


@dataclass
class Bucket:
    """What belongs to one variable: tables added when it is assigned, messages in and out."""

    tables: list[Table] = field(default_factory=list)
    received: list[Table] = field(default_factory=list)
    sent: list[Table] = field(default_factory=list)


@dataclass(frozen=True)
class Elimination:
    """Order of assignment (the opposite of elimination) and the buckets."""

    order: tuple[str, ...]
    buckets: Mapping[str, Bucket]

    @property
    def bound(self) -> float:
        """Cost of the cheapest completion of nothing: no assignment is cheaper."""
        return sum(float(m.costs) for b in self.buckets.values() for m in b.sent if not m.scope)


def eliminate(
    sizes: Mapping[str, int],
    tables: Sequence[Table],
    limit: int | None = None,
    weight: Mapping[str, int] | None = None,
) -> Elimination:
    """Eliminate all variables, lightest first, then cheapest neighbourhood first.

    Args:
        sizes: Number of values of each variable.
        tables: Costs over a few variables each.
        limit: Entries of the largest table worked on, :data:`LARGEST_TABLE` if not given.
        weight: How much hangs on a variable that tables do not show; heavy ones are eliminated last
            and so assigned first.
    """
    order = _order(sizes, tables, weight or {})
    place = {v: i for i, v in enumerate(order)}
    buckets = {v: Bucket() for v in order}
    for table in tables:
        buckets[min(table.scope, key=place.__getitem__)].tables.append(table)
    for variable in order:
        bucket = buckets[variable]
        for group in _split(variable, [*bucket.tables, *bucket.received], limit or LARGEST_TABLE):
            message = _minimised(variable, group, sizes)
            bucket.sent.append(message)
            if message.scope:
                buckets[min(message.scope, key=place.__getitem__)].received.append(message)
    return Elimination(tuple(reversed(order)), buckets)


def _order(sizes: Mapping[str, int], tables: Iterable[Table], weight: Mapping[str, int]) -> list[str]:
    near: dict[str, set[str]] = {v: set() for v in sizes}
    width = dict.fromkeys(sizes, 1)
    for table in tables:
        for v in table.scope:
            near[v] |= set(table.scope) - {v}
            if len(table.scope) > 1:
                width[v] = max(width[v], table.groups[v].count)
    order: list[str] = []
    while near:
        variable = min(near, key=lambda v: (weight.get(v, 0), _entries(near[v], width), v))
        order.append(variable)
        neighbours = near.pop(variable)
        for a in neighbours:
            near[a] = (near[a] | neighbours) - {a, variable}
    return order


def _entries(scope: Iterable[str], sizes: Mapping[str, int]) -> float:
    return float(np.prod([float(sizes[v]) for v in scope]))


def _split(variable: str, members: list[Table], limit: int) -> list[list[Table]]:
    """Members in parts whose joint table stays within the limit; one part where that is possible."""
    parts: list[list[Table]] = []
    for table in sorted(members, key=lambda t: -t.costs.size):
        for part in parts:
            if _joint_size([*part, table]) <= limit:
                part.append(table)
                break
        else:
            parts.append([table])
    return parts or [[]]


def _joint_size(tables: list[Table]) -> float:
    several = [t for t in tables if len(t.scope) > 1]
    scope = {v for t in several for v in t.scope}
    return float(np.prod([float(_joint(several, v).count) for v in scope]))


def _joint(tables: list[Table], variable: str) -> Groups:
    """The groups of a variable that suit several tables at once."""
    return refined(t.groups[variable] for t in tables if variable in t.groups)


def _minimised(variable: str, part: list[Table], sizes: Mapping[str, int]) -> Table:
    """The sum of some tables with one variable minimised out."""
    if sizes[variable] == 0:
        return Table((), np.array(np.inf), {})
    several = [t for t in part if len(t.scope) > 1]
    scope = sorted({v for t in several for v in t.scope} - {variable})
    groups = {v: _joint(several, v) for v in (*scope, variable)} if several else {}
    alone = sum((t.row({}, variable) for t in part if len(t.scope) == 1), np.zeros(sizes[variable]))
    if not several:
        return Table((), np.array(alone.min()), {})
    total = groups[variable].least(alone)
    axes = [*scope, variable]
    for table in sorted(several, key=lambda t: t.costs.size):  # small ones first: they stay small longest
        total = total + _spread(table, axes, groups)
    shape = [groups[v].count for v in scope]
    return Table(tuple(scope), np.broadcast_to(total.min(axis=-1), shape), {v: groups[v] for v in scope})


def _spread(table: Table, axes: Sequence[str], groups: Mapping[str, Groups]) -> Costs:
    """A table's costs over finer groups, its axes in the given order, length one where it has none."""
    costs = table.costs
    for axis, v in enumerate(table.scope):
        if table.groups[v] is not groups[v]:
            costs = np.take(costs, table.groups[v].of[groups[v].first], axis=axis)
    order = sorted(range(len(table.scope)), key=lambda i: axes.index(table.scope[i]))
    costs = costs.transpose(order)
    shape = iter(costs.shape)
    return costs.reshape([next(shape) if v in table.scope else 1 for v in axes])
