"""Exact cheapest completions over tables of a few variables: bucket elimination.

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

if TYPE_CHECKING:
    import numpy.typing as npt

Costs: TypeAlias = "npt.NDArray[np.float64]"
LARGEST_TABLE = 250_000  # entries worked on at once; larger buckets are split


@dataclass(frozen=True)
class Table:
    """Costs over a few variables, one axis a variable; infinite where forbidden."""

    scope: tuple[str, ...]
    costs: Costs

    def row(self, assigned: Mapping[str, int], variable: str) -> Costs | float:
        """Costs of every value of one variable, the others of the scope as assigned."""
        return self.costs[tuple(slice(None) if v == variable else assigned[v] for v in self.scope)]

    def at(self, assigned: Mapping[str, int]) -> float:
        """The cost of a complete assignment of the scope."""
        return float(self.costs[tuple(assigned[v] for v in self.scope)])


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
    limit: int = LARGEST_TABLE,
    weight: Mapping[str, int] | None = None,
) -> Elimination:
    """Eliminate all variables, lightest first, then cheapest neighbourhood first.

    Args:
        sizes: Number of values of each variable.
        tables: Costs over a few variables each.
        limit: Entries of the largest table worked on.
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
        for group in _groups(variable, [*bucket.tables, *bucket.received], sizes, limit):
            message = _minimised(variable, group, sizes)
            bucket.sent.append(message)
            if message.scope:
                buckets[min(message.scope, key=place.__getitem__)].received.append(message)
    return Elimination(tuple(reversed(order)), buckets)


def _order(sizes: Mapping[str, int], tables: Iterable[Table], weight: Mapping[str, int]) -> list[str]:
    near: dict[str, set[str]] = {v: set() for v in sizes}
    for table in tables:
        for a in table.scope:
            near[a] |= set(table.scope) - {a}
    order: list[str] = []
    while near:
        variable = min(near, key=lambda v: (weight.get(v, 0), _entries(near[v], sizes), v))
        order.append(variable)
        neighbours = near.pop(variable)
        for a in neighbours:
            near[a] = (near[a] | neighbours) - {a, variable}
    return order


def _entries(scope: Iterable[str], sizes: Mapping[str, int]) -> float:
    return float(np.prod([float(sizes[v]) for v in scope]))


def _groups(variable: str, members: list[Table], sizes: Mapping[str, int], limit: int) -> list[list[Table]]:
    """Members in groups whose joint table stays within the limit; one group where that is possible."""
    groups: list[tuple[set[str], list[Table]]] = []
    for table in sorted(members, key=lambda t: -len(t.scope)):
        for scope, group in groups:
            joint = scope | set(table.scope)
            if joint == scope or _entries(joint, sizes) <= limit:
                scope |= joint
                group.append(table)
                break
        else:
            groups.append((set(table.scope) | {variable}, [table]))
    return [group for _, group in groups] or [[]]


def _minimised(variable: str, group: list[Table], sizes: Mapping[str, int]) -> Table:
    """The sum of a group's tables with one variable minimised out."""
    scope = sorted({v for t in group for v in t.scope} - {variable})
    axes = [*scope, variable]
    shape = [sizes[v] for v in axes]
    total = np.zeros([1] * len(axes))
    for table in sorted(group, key=lambda t: t.costs.size):  # small ones first: they stay small longest
        total = total + _spread(table, axes)
    least = total.min(axis=-1) if shape[-1] else np.full(total.shape[:-1], np.inf)
    return Table(tuple(scope), np.broadcast_to(least, shape[:-1]))


def _spread(table: Table, axes: Sequence[str]) -> Costs:
    """A table's costs with its axes in the given order and length one where it has none."""
    order = sorted(range(len(table.scope)), key=lambda i: axes.index(table.scope[i]))
    costs = table.costs.transpose(order)
    shape = iter(costs.shape)
    return costs.reshape([next(shape) if v in table.scope else 1 for v in axes])
