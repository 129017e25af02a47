"""A peer of the search on another engine: OR-Tools CP-SAT, from the judgements of the checks alone.

Nothing of the search's own tables, bounds or sweeps is used. For each variant every role is a variable;
every check is judged over all classes of candidates that agree in what it reads, and becomes a table
with a column for its cost. Sums over a rail, whose tables would be too large, become linear sums of
currents in whole numbers. What is still too large is left out at first and enforced where a solution
breaks it, by cuts that are widened as far as the check's judgement allows.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from exhaustive import SUPPLIES, Shelf, Stack, check_costs, graphs, stacked
from ortools.sat.python import cp_model

from fitter.checks.base import ROUNDING, Check
from fitter.checks.find import find_checks
from fitter.checks.power import (
    LEAST_VOLTAGE,
    LOADING,
    CoilConsumer,
    Consumer,
    RailCurrent,
    StepperConsumer,
)
from fitter.checks.rails import PartRail
from fitter.intervals import Interval
from fitter.kinds import kind_key
from fitter.projects import Project
from fitter.solve.candidates import Candidate

LARGEST_GRID = 1_000_000  # entries of a check's table over classes; larger ones are sums or cuts
FEW = 10_000  # entries up to which a sum is tabulated all the same
FINE = 10**5  # currents in steps of 10 uA and voltages of 10 uV; ten times finer and CP-SAT's presolve errs
MOST_WATTS = 1e5  # stands for an unlimited rail
NONE = 10**17  # above any score


@dataclass(frozen=True)
class Engine:
    """Settings of CP-SAT; its presolve takes longer than it saves where tables are large."""

    workers: int = 1
    presolve: bool = True


@dataclass
class Peer:
    """What CP-SAT found over all variants of a project; ``working`` is its processor time."""

    score: int | None = None
    parts: Mapping[str, str] = field(default_factory=dict)
    proven: bool = True
    solving: float = 0.0
    working: float = 0.0
    setting_up: float = 0.0
    variants: int = 0
    solved: int = 0
    cuts: int = 0
    branches: int = 0


@dataclass(frozen=True)
class Classes:
    """Candidates of one role as one check sees them: which class each is in, and one member of each."""

    of: Any
    members: list[Candidate]

    def merged(self, onto: Sequence[int]) -> Classes:
        """Classes joined further."""
        first = {new: old for old, new in reversed(list(enumerate(onto)))}
        return Classes(np.asarray(onto)[self.of], [self.members[first[i]] for i in range(len(first))])


def classes(candidates: Sequence[Candidate], ratings: Sequence[str]) -> Classes:
    """Classes that agree in some ratings and in the longest time to measure one of them."""
    seen: dict[Any, int] = {}
    members, of = [], []
    for candidate in candidates:
        found = [candidate.rating(r) for r in ratings]
        minutes = max((candidate.minutes(r) for r in ratings), default=0.0)
        key = (*((f.lo, f.hi) for f in found), minutes)
        if key not in seen:
            seen[key] = len(members)
            members.append(candidate)
        of.append(seen[key])
    return Classes(np.array(of), members)


def ratings_read(judge: Any, roles: Sequence[str], candidates: Mapping[str, Sequence[Candidate]]) -> Any:
    """Which ratings of each role a judgement reads."""
    views = {r: Stack(candidates[r][:1], 0, 1) for r in roles}
    judge(views)
    return {r: sorted(views[r].read) for r in roles}


def thinned(costs: Any, found: list[Classes]) -> tuple[Any, list[Classes]]:
    """A table whose classes are joined where they cost the same whatever the others are."""
    found = list(found)
    for axis, each in enumerate(found):
        slices = np.moveaxis(costs, axis, 0)
        seen: dict[bytes, int] = {}
        onto = [seen.setdefault(s.tobytes(), len(seen)) for s in slices]
        found[axis] = each.merged(onto)
        keep = [onto.index(i) for i in range(len(seen))]
        costs = np.take(costs, keep, axis=axis)
    return costs, found


@dataclass(frozen=True)
class Grid:
    """Cost of one check over classes of the candidates of its roles."""

    check: Check
    roles: tuple[str, ...]
    costs: Any
    classes: list[Classes]

    @cached_property
    def rows(self) -> list[list[int]]:
        """Every combination of classes that is allowed, its cost last."""
        places = np.nonzero(self.costs < np.inf)
        return np.column_stack([*places, self.costs[places].astype(np.int64)]).tolist()  # type: ignore[no-any-return]

    @cached_property
    def levels(self) -> list[int]:
        """All costs that occur."""
        return sorted({int(c) for c in np.unique(self.costs) if c < np.inf}) or [0]

    def at(self, places: Mapping[str, int]) -> float:
        """Cost of one set, by the place of the candidate in each role."""
        return float(
            self.costs[tuple(c.of[places[r]] for r, c in zip(self.roles, self.classes, strict=True))]
        )


class Judged:
    """Candidates and judgements that variants have in common, each worked out once."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self._filled: dict[Any, tuple[list[Candidate], list[int]]] = {}
        self._grids: dict[Any, Grid] = {}
        self._classes: dict[Any, Classes] = {}

    def fill(self, name: str, role: Any, own: Sequence[Check]) -> tuple[list[Candidate], list[int]]:
        """Candidates of a role that pass its own checks, and what each costs by itself."""
        key = (role, tuple(own))
        if key not in self._filled:
            candidates = self.shelf.candidates(name, role)
            cost: Any = np.array([1e12 * c.bought + self.shelf.waste.of(c, role.count) for c in candidates])
            for check in own if candidates else ():
                cost = cost + check_costs(check, [name], {name: candidates})
            kept = np.flatnonzero(cost < np.inf)
            self._filled[key] = [candidates[i] for i in kept], [int(cost[i]) for i in kept]
        return self._filled[key]

    def classes(self, candidates: list[Candidate], ratings: Sequence[str]) -> Classes:
        """Classes of a role's candidates by what a check reads."""
        key = (id(candidates), tuple(ratings))
        if key not in self._classes:
            self._classes[key] = classes(candidates, ratings)
        return self._classes[key]

    def grid(self, check: Check, roles: tuple[str, ...], found: list[Classes]) -> Grid:
        """Cost of a check over classes, those that cost the same joined."""
        key = (check, *(id(f) for f in found))
        if key not in self._grids:
            members = {r: f.members for r, f in zip(roles, found, strict=True)}
            costs = np.broadcast_to(check_costs(check, roles, members), [len(f.members) for f in found])
            self._grids[key] = Grid(check, roles, *thinned(costs, found))
        return self._grids[key]


class Variant:
    """One variant as a CP-SAT model."""

    def __init__(self, graph: Any, judged: Judged) -> None:
        self.graph = graph
        self.judged = judged
        self.roles = [n for n, data in graph.nodes(data=True) if "role" in data]
        self.checks = find_checks(graph)
        self.candidates: dict[str, list[Candidate]] = {}
        self.own: dict[str, list[int]] = {}
        for name in self.roles:
            own = [c for c in self.checks if set(c.roles) == {name}]
            role = graph.nodes[name]["role"]
            self.candidates[name], self.own[name] = judged.fill(name, role, own)
        shelf = judged.shelf
        self.possible = all(self.candidates.values()) and set(shelf.fixed) <= set(self.roles)
        self.bound = sum(min(c) for c in self.own.values()) if self.possible else NONE
        self.charged: dict[Check, Any] = {}
        self._kept: dict[Check, tuple[tuple[str, ...], list[Classes]]] = {}
        self.grids: list[Grid] = []

    # ------------------------------------------------------------ the model

    def set_up(self) -> None:
        """Judge all checks and build the model."""
        self.model = cp_model.CpModel()
        self.place = {
            r: self.model.new_int_var(0, len(c) - 1, f"place {r}") for r, c in self.candidates.items()
        }
        self._columns: dict[str, list[tuple[Any, Sequence[int]]]] = {r: [] for r in self.roles}
        self._of: dict[tuple[str, bytes], Any] = {}
        self.costs = [self._column(r, self.own[r]) for r in self.roles]
        for check in self.checks:
            self._add(check)
        for role in self.roles:
            self._link(role)
        self._pieces()
        self.total = sum(self.costs)
        self.model.minimize(self.total)

    def _column(self, role: str, values: Sequence[int]) -> Any:
        """A variable that follows from the place of a role's candidate."""
        key = (role, np.asarray(values).tobytes())
        if key not in self._of:
            domain = cp_model.Domain.from_values(sorted(set(values)))
            self._of[key] = self.model.new_int_var_from_domain(domain, f"{role} {len(self._of)}")
            self._columns[role].append((self._of[key], values))
        return self._of[key]

    def _link(self, role: str) -> None:
        rows = zip(range(len(self.candidates[role])), *(v for _, v in self._columns[role]), strict=True)
        variables = [self.place[role], *(v for v, _ in self._columns[role])]
        self.model.add_allowed_assignments(variables, [tuple(int(x) for x in row) for row in rows])

    def _class(self, role: str, found: Classes) -> Any:
        return self._column(role, [int(i) for i in found.of])

    def _seen(self, check: Check) -> tuple[tuple[str, ...], list[Classes]]:
        roles = tuple(dict.fromkeys(check.roles))
        read = ratings_read(check.judge, roles, self.candidates)
        return roles, [self.judged.classes(self.candidates[r], read[r]) for r in roles]

    def _add(self, check: Check) -> None:
        roles, found = self._seen(check)
        if len(roles) < 2:
            return
        summed = isinstance(check, RailCurrent) and isinstance(check.rail, PartRail)
        if math.prod(len(f.members) for f in found) <= (FEW if summed else LARGEST_GRID):
            grid = self.judged.grid(check, roles, found)
            if grid.costs.any():
                self.tabulate(grid)
        elif summed:
            self._sum(check)
        else:
            self.charged[check] = self.model.new_int_var(0, 10**12, check.name)
            self.costs.append(self.charged[check])
            self._kept[check] = roles, found
            for role, each in zip(roles, found, strict=True):
                self._class(role, each)

    def tabulate(self, grid: Grid) -> None:
        """A check as a table of all classes, with its cost in the last column."""
        self.grids.append(grid)
        domain = cp_model.Domain.from_values(grid.levels)
        cost = self.model.new_int_var_from_domain(domain, grid.check.name)
        self.costs.append(cost)
        variables = [*(self._class(r, f) for r, f in zip(grid.roles, grid.classes, strict=True)), cost]
        self.model.add_allowed_assignments(variables, grid.rows)

    # ------------------------------------------------------------ sums on a rail

    def _sum(self, check: RailCurrent) -> None:
        """What a rail feeds as a sum: for each class of supply, power in units of 1e-10 W within its own."""
        supply = check.rail.roles[0]
        read = ["current", "unit_power", "voltage.low"]
        seen = self.judged.classes(self.candidates[supply], read)
        chosen = self._class(supply, seen)
        drawn = [self._drawn(c) for c in check.consumers]
        longest = self._minutes(check)
        state = self.model.new_int_var(0, 1, "open")
        cost = self.model.new_int_var(0, 10**12, check.name)
        self.costs.append(cost)
        proven = state.negated()
        for minutes in longest:
            self.model.add(cost >= minutes * 10**7).only_enforce_if(state)
        self.model.add(cost == 0).only_enforce_if(proven)
        for number, member in enumerate(seen.members):
            here = self.model.new_bool_var("")
            self.model.add(chosen == number).only_enforce_if(here)
            self.model.add(chosen != number).only_enforce_if(here.negated())
            low, high = (self._capacity(check, member, end) for end in (0, 1))
            self.model.add(self._power(drawn, member, 1) <= low).only_enforce_if(here, proven)
            self.model.add(self._power(drawn, member, 0) <= high).only_enforce_if(here)

    @staticmethod
    def _volts(member: Candidate) -> Interval:
        found = member.rating("voltage.low")
        return Interval(found.lo, found.hi).maximum(LEAST_VOLTAGE)

    def _capacity(self, check: RailCurrent, member: Candidate, end: int) -> int:
        """Power to which the rail may be loaded: least of what it has (0), or most (1).

        The most that is drawn meets the rail at its lowest voltage, the least at its highest.
        """
        volts = self._volts(member)
        current, unit = member.rating("current"), member.rating("unit_power")
        amps = min(current.lo, unit.lo / volts.hi) if end == 0 else min(current.hi, unit.hi / volts.lo)
        at = volts.lo if end == 0 else volts.hi
        return math.floor(min(amps * at * LOADING / (1 - ROUNDING), MOST_WATTS) * FINE * FINE)

    def _power(self, drawn: list[Any], member: Candidate, end: int) -> Any:
        """All that is drawn, at the voltage that makes it most (1) or least (0)."""
        volts = self._volts(member)
        current_at = volts.lo if end == 1 else volts.hi
        coil_at = volts.hi if end == 1 else volts.lo
        total: Any = 0
        for watts, amps, siemens in drawn:
            total = total + watts[end]
            total = total + amps[end] * round(current_at * FINE)
            total = total + siemens[end] * round(current_at * coil_at * FINE)
        return total

    def _drawn(self, consumer: Consumer) -> Any:
        """Power (1e-10 W), current (1e-5 A) and conductance (1e-5 S) of a consumer, least and most."""
        zero = (0, 0)
        if isinstance(consumer, CoilConsumer):
            return zero, zero, self._ends(consumer, FINE)
        if isinstance(consumer, StepperConsumer):
            return self._stepper(consumer)
        return zero, self._ends(consumer, FINE), zero

    def _ends(self, consumer: Consumer, scale: int) -> tuple[Any, Any]:
        """Least and most that is drawn at one volt, as variables."""
        roles, found, current = self._at_one_volt(consumer)
        return self._two(roles, found, current.lo * scale, current.hi * scale)

    def _two(self, roles: Any, found: Any, *arrays: Any) -> Any:
        shape = tuple(len(f.members) for f in found)
        whole = [np.rint(np.broadcast_to(a, shape)).astype(np.int64) for a in arrays]
        results = [
            self.model.new_int_var_from_domain(cp_model.Domain.from_values(np.unique(w).tolist()), "drawn")
            for w in whole
        ]
        variables = [self._class(r, f) for r, f in zip(roles, found, strict=True)]
        places = np.indices(shape).reshape(len(shape), -1)
        rows = np.column_stack([*places, *(w.ravel() for w in whole)]).tolist()
        self.model.add_allowed_assignments([*variables, *results], rows)
        return tuple(results)

    def _at_one_volt(self, consumer: Consumer, volts: float = 1.0) -> Any:
        roles = tuple(dict.fromkeys(consumer.roles))
        at = Interval.point(volts)
        read = ratings_read(lambda views: consumer.current(views, at), roles, self.candidates)
        found = [self.judged.classes(self.candidates[r], read[r]) for r in roles]
        views = {
            r: Stack(f.members, i, len(roles)) for i, (r, f) in enumerate(zip(roles, found, strict=True))
        }
        return roles, found, consumer.current(views, at)

    def _stepper(self, consumer: StepperConsumer) -> Any:
        """A chopper draws power, a driver without one current: which of both is told by the voltage."""
        roles, found, one = self._at_one_volt(consumer)
        _, _, two = self._at_one_volt(consumer, 2.0)
        shape = tuple(len(f.members) for f in found)
        ends = []
        for a, b in ((one.lo, two.lo), (one.hi, two.hi)):
            a, b = np.broadcast_to(a, shape), np.broadcast_to(b, shape)
            steady = np.isclose(a, b, rtol=1e-12)
            if not (steady | np.isclose(a, 2 * b, rtol=1e-12)).all():
                raise ValueError("a driver that may be a chopper or not has no place in this model")
            ends.append((np.where(steady, 0, a) * FINE * FINE, np.where(steady, a, 0) * FINE))
        (w0, a0), (w1, a1) = ends
        made = self._two(roles, found, w0, w1, a0, a1)
        return (made[0], made[1]), (made[2], made[3]), (0, 0)

    def _minutes(self, check: Check) -> list[Any]:
        """Longest open measurement in each role, whole minutes, one at least."""
        roles = tuple(dict.fromkeys(check.roles))
        read = ratings_read(check.judge, roles, self.candidates)
        return [
            self._column(
                r,
                [max(1, *(math.ceil(c.minutes(n)) for n in read[r])) for c in self.candidates[r]],
            )
            for r in roles
        ]

    # ------------------------------------------------------------ pieces

    def _pieces(self) -> None:
        """No lot gives more pieces than it has; rails of one single unit may be shared, not by a stack."""
        wanted: dict[str, list[tuple[int, str, int]]] = {}
        counts: dict[str, int] = {}
        for role, candidates in self.candidates.items():
            count = self.graph.nodes[role]["role"].count
            for place, c in enumerate(candidates):
                single = kind_key(c.lot.kind) in SUPPLIES and c.lot.count == 1
                shares = len(self.candidates) if single else 1  # so many roles may draw on one unit
                taken = count * c.offer.pieces * (shares if stacked(c) or not single else 1)
                if not c.bought:
                    wanted.setdefault(c.lot.id, []).append((taken, role, place))
                    counts[c.lot.id] = c.lot.count * shares
        for lot, users in wanted.items():
            most: dict[str, int] = {}
            for n, role, _ in users:
                most[role] = max(most.get(role, 0), n)
            if len(most) > 1 and sum(most.values()) > counts[lot]:
                self.model.add(sum(n * self._taken(r, i) for n, r, i in users) <= counts[lot])

    def _taken(self, role: str, place: int) -> Any:
        taken = self.model.new_bool_var("")
        self.model.add(self.place[role] == place).only_enforce_if(taken)
        self.model.add(self.place[role] != place).only_enforce_if(taken.negated())
        return taken

    # ------------------------------------------------------------ solving

    def solve(self, below: int, seconds: float, engine: Engine, peer: Peer) -> None:
        """Find the best set cheaper than a score; cuts are added until none is needed."""
        self.model.add(self.total < below)
        until = peer.solving + seconds
        while True:
            solver = cp_model.CpSolver()
            solver.parameters.num_workers = engine.workers
            solver.parameters.cp_model_presolve = engine.presolve
            solver.parameters.max_time_in_seconds = max(until - peer.solving, 0.01)
            started, worked = time.perf_counter(), time.process_time()
            status = solver.solve(self.model)
            peer.solving += time.perf_counter() - started
            peer.working += time.process_time() - worked
            peer.branches += solver.num_branches
            if status == cp_model.INFEASIBLE:
                return
            if status != cp_model.OPTIMAL:
                peer.proven = False
                return
            places = {r: solver.value(v) for r, v in self.place.items()}
            broken = [c for c, cost in self.charged.items() if self.exact(c, places) > solver.value(cost)]
            if not broken:
                peer.score = round(solver.objective_value)
                peer.parts = {r: self.candidates[r][i].id for r, i in places.items()}
                self.verify(places, peer.score)
                return
            started = time.perf_counter()
            for check in broken:
                self._cut(check, places)
                peer.cuts += 1
            peer.setting_up += time.perf_counter() - started

    def exact(self, check: Check, places: Mapping[str, int]) -> float:
        """Cost of one check of one set."""
        roles = tuple(dict.fromkeys(check.roles))
        single = {r: [self.candidates[r][places[r]]] for r in roles}
        return float(np.max(check_costs(check, roles, single)))

    def verify(self, places: Mapping[str, int], score: int) -> None:
        """Add the score up once more, set by set: scaled sums must not have changed it."""
        total = sum(self.own[r][i] for r, i in places.items())
        total += sum(int(self.exact(c, places)) for c in self.checks if len(set(c.roles)) > 1)
        if total != score:
            raise AssertionError(f"CP-SAT's own model is off: {score} instead of {total}")

    def _cut(self, check: Check, places: Mapping[str, int]) -> None:
        """Charge the cost of a check where it is at least as dear as here, as widely as can be shown."""
        roles, found = self._kept[check]
        cost = self.exact(check, places)
        box = [[int(f.of[places[r]])] for r, f in zip(roles, found, strict=True)]
        for axis, each in sorted(enumerate(found), key=lambda at: -len(at[1].members)):
            sizes = math.prod(len(b) for i, b in enumerate(box) if i != axis)
            if sizes * len(each.members) > LARGEST_GRID:
                continue
            trial = [f.members if i == axis else [f.members[k] for k in box[i]] for i, f in enumerate(found)]
            grid = np.broadcast_to(
                check_costs(check, roles, dict(zip(roles, trial, strict=True))), [len(t) for t in trial]
            )
            least = np.moveaxis(grid, axis, 0).reshape(len(each.members), -1).min(axis=1)
            box[axis] = [int(k) for k in np.flatnonzero(least >= cost)]
        self._charge(check, roles, found, box, cost)

    def _charge(self, check: Check, roles: Any, found: Any, box: Any, cost: float) -> None:
        inside = [
            self._within(self._class(r, f), members)
            for r, f, members in zip(roles, found, box, strict=True)
            if len(members) < len(f.members)
        ]
        if cost == np.inf:
            self.model.add_bool_or([i.negated() for i in inside])
        else:
            self.model.add(self.charged[check] >= int(cost)).only_enforce_if(inside)

    def _within(self, variable: Any, members: Sequence[int]) -> Any:
        inside = self.model.new_bool_var("")
        domain = cp_model.Domain.from_values(members)
        self.model.add_linear_expression_in_domain(variable, domain).only_enforce_if(inside)
        outside = domain.complement()
        self.model.add_linear_expression_in_domain(variable, outside).only_enforce_if(inside.negated())
        return inside


def best(project: Project, shelf: Shelf, seconds: float = 60.0, engine: Engine | None = None) -> Peer:
    """The best set over all variants, those with the least own costs first; each must beat the best so far.

    ``seconds`` limit what the engine works, not what it takes to judge the tables.
    """
    peer = Peer()
    judged = Judged(shelf)
    variants = sorted((Variant(g, judged) for g in graphs(project)), key=lambda v: v.bound)
    peer.variants = len(variants)
    for variant in variants:
        below = NONE if peer.score is None else peer.score
        if not variant.possible or variant.bound >= below:
            continue
        if peer.solving > seconds:
            peer.proven = False
            break
        started = time.perf_counter()
        variant.set_up()
        peer.setting_up += time.perf_counter() - started
        variant.solve(below, seconds - peer.solving, engine or Engine(), peer)
        peer.solved += 1
    return peer
