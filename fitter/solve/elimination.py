"""Cheapest completions over tables of a few variables: bucket elimination.

Variables are eliminated one by one: all tables that mention a variable are added up and minimised
over it, which leaves a table, the *message*, over its neighbours. On graphs of small width, cycles
included, the messages together are the exact cost of the cheapest completion; where a message would
grow past a limit the bucket is split and the message is a lower bound.

Source: R. Dechter, "Bucket elimination", Artificial Intelligence 113 (1999); R. Dechter and
I. Rish, "Mini-buckets", Journal of the ACM 50 (2003).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from fitter.solve.groups import Groups, refined

if TYPE_CHECKING:
    import numpy.typing as npt

Costs: TypeAlias = "npt.NDArray[np.float64]"
SMALL = 5_000  # entries of a part that is kept for searches to come
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

    def least(self, keep: Collection[str]) -> Table:
        """The least over all values of the variables that are not kept."""
        out = tuple(i for i, v in enumerate(self.scope) if v not in keep)
        scope = tuple(v for v in self.scope if v in keep)
        return Table(scope, self.costs.min(axis=out), self.groups) if out else self


class Part:
    """Tables and messages of one bucket that are added up together, and the message they send.

    The sum has an axis for each variable, that of the bucket last; costs of that variable alone are
    also at hand for each value.
    """

    def __init__(self, variable: str, members: Sequence[Table], size: int) -> None:
        self.variable = variable
        self.members = members
        self._several = [t for t in members if len(t.scope) > 1]
        scope = sorted({v for t in self._several for v in t.scope} - {variable})
        self.axes = (*scope, variable)
        self.groups = (
            {v: _joint(self._several, v) for v in self.axes} if self._several else {variable: _together(size)}
        )
        self.alone = sum((t.row({}, variable) for t in members if len(t.scope) == 1), np.zeros(size))
        self.sent = Table(tuple(scope), self.summed().min(axis=-1, initial=np.inf), self.groups)

    @property
    def least_alone(self) -> Costs:
        """Costs of the bucket's variable alone, for each of its groups."""
        return self.groups[self.variable].least(self.alone)

    def summed(self) -> Costs:
        """The sum; made anew each time, for it may be large."""
        total = self.least_alone
        for table in sorted(self._several, key=lambda t: t.costs.size):  # small ones stay small longest
            total = total + spread(table, self.axes, self.groups)
        return np.broadcast_to(total, [self.groups[v].count for v in self.axes])


@lru_cache(maxsize=1024)
def _small_part(variable: str, members: tuple[Table, ...], size: int) -> Part:
    return Part(variable, members, size)


def part_of(variable: str, members: Sequence[Table], size: int) -> Part:
    """A part; small ones are kept, for like variants of a project share many."""
    few = sum(t.costs.size for t in members) <= SMALL and _joint_size(members) <= SMALL
    return (_small_part if few else Part)(variable, tuple(members), size)


@dataclass
class Bucket:
    """What belongs to one variable: tables added when it is assigned, messages in and out."""

    tables: list[Table] = field(default_factory=list)
    received: list[Table] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)

    @property
    def sent(self) -> list[Table]:
        """All messages of this bucket."""
        return [p.sent for p in self.parts]


@dataclass(frozen=True)
class Elimination:
    """Order of assignment (the opposite of elimination) and the buckets."""

    order: tuple[str, ...]
    buckets: Mapping[str, Bucket]

    @property
    def bound(self) -> float:
        """Cost of the cheapest completion of nothing: no assignment is cheaper."""
        return sum(float(m.costs) for b in self.buckets.values() for m in b.sent if not m.scope)

    def least_with(self) -> dict[str, Costs]:
        """For every value of every variable: no assignment that has it is cheaper.

        Messages are sent back in the order of assignment: each part hears from the one that its message
        went to what the cheapest assignment costs in all, for each entry of that message.
        """
        found: dict[str, Costs] = {}
        in_all: dict[int, Costs] = {}
        for variable in self.order:
            for part in self.buckets[variable].parts:
                sent = part.sent
                back = _less(in_all[id(sent)] if sent.scope else np.array(self.bound), sent.costs)
                whole = part.summed() + back[..., None]
                least = part.groups[variable].of_each(whole.min(axis=tuple(range(whole.ndim - 1))))
                least = least + _less(part.alone, part.groups[variable].of_each(part.least_alone))
                found[variable] = np.maximum(found[variable], least) if variable in found else least
                for message in (
                    m for m in part.members if any(m is r for r in self.buckets[variable].received)
                ):
                    alone = message.scope == (variable,)
                    in_all[id(message)] = (
                        message.groups[variable].least(least) if alone else _narrowed(whole, part, message)
                    )
        return found


def _less(costs: Costs, share: Costs) -> Costs:
    """Costs less a share of them; forbidden stays forbidden."""
    return np.where(np.isinf(costs), np.inf, costs - np.where(np.isinf(share), 0.0, share))


def _narrowed(whole: Costs, part: Part, message: Table) -> Costs:
    """The least of costs over finer groups for each entry of a message."""
    out = tuple(i for i, v in enumerate(part.axes) if v not in message.scope)
    costs = whole.min(axis=out)
    scope = [v for v in part.axes if v in message.scope]
    for axis, v in enumerate(scope):
        coarse = message.groups[v].of[part.groups[v].first]
        costs = np.moveaxis(Groups(coarse).least(np.moveaxis(costs, axis, 0)), 0, axis)
    return np.asarray(costs.transpose([scope.index(v) for v in message.scope]))


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
            part = part_of(variable, group, sizes[variable])
            bucket.parts.append(part)
            if part.sent.scope:
                buckets[min(part.sent.scope, key=place.__getitem__)].received.append(part.sent)
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


def _entries(scope: Iterable[str], sizes: Mapping[str, int]) -> int:
    return math.prod(sizes[v] for v in scope)


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


def _joint_size(tables: Sequence[Table]) -> int:
    several = [t for t in tables if len(t.scope) > 1]
    scope = {v for t in several for v in t.scope}
    return math.prod(_joint(several, v).count for v in scope)


def _joint(tables: list[Table], variable: str) -> Groups:
    """The groups of a variable that suit several tables at once."""
    return refined(t.groups[variable] for t in tables if variable in t.groups)


def _together(size: int) -> Groups:
    return Groups(np.zeros(size, dtype=np.int64))


def spread(table: Table, axes: Sequence[str], groups: Mapping[str, Groups]) -> Costs:
    """A table's costs over finer groups, its axes in the given order, length one where it has none."""
    costs = table.costs
    for axis, v in enumerate(table.scope):
        if table.groups[v] is not groups[v]:
            costs = np.take(costs, table.groups[v].of[groups[v].first], axis=axis)
    order = sorted(range(len(table.scope)), key=lambda i: axes.index(table.scope[i]))
    costs = costs.transpose(order)
    shape = iter(costs.shape)
    return costs.reshape([next(shape) if v in table.scope else 1 for v in axes])
