"""What is the least to change so that a project goes without buying: each change searched and judged anew.

Changes are of five sorts: a demand lowered (:mod:`fitter.explain.relaxations`), another connection of a
motor's coils than the one fixed by hand, another rail, a reduction between a motor and what it turns, and
something given up that the recipe asks for beyond its demands. All else is from stock and as asked for.
A rail or a reduction that the stock cannot make has a price; those changes come last.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fitter.checks.base import Verdict
from fitter.checks.find import find_checks
from fitter.explain.gearing import NODES, geared_sets, with_reductions
from fitter.functions import FUNCTIONS, join
from fitter.kinds.model import USE
from fitter.projects import BoundFunction, Project
from fitter.shed import Shed
from fitter.solve.adapters import Adapter, owned_candidates, reduction
from fitter.solve.builds import Build, Checked, State, judge, judge_check
from fitter.solve.candidates import Candidate
from fitter.solve.gaps import Limits, no_worse_with
from fitter.solve.limits import Limit
from fitter.solve.swaps import left_in_lot
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import ranked_builds, sketch
from fitter.stock.lots import Lot

SECONDS = 2.5  # of computing, for all changes but those of demands
HALVINGS = 20
HIGHEST = 60.0  # V, of a rail that may be touched; IEC 61140, from memory
FAR = 1e3  # m, rad: as coarse as any recipe would let pass
# What a function may do without, and what it then asks for; SI.
GIVEN_UP: Mapping[str, float | str | None] = {
    "resolution": FAR,
    "max_play": FAR,
    "max_sag": FAR,
    "max_closed_length": None,
    "holds_unpowered": "no",
    "least_voltage": 0.0,
    "run_time": 0.0,
}
# How large a change is beside others, 0 to 1 as those of demands are; common practice, no source.
REWIRED, OTHER_RAIL, GEARED, ANOTHER_WAY = 0.02, 0.05, 0.1, 0.5


@dataclass(frozen=True)
class Step:
    """One change, the best set with it, and the checks that failed before with what they are now.

    ``about`` is what it is about: a role, or a function with an argument. ``extra`` are lots, ``rail`` the
    limits of a rail that does, and ``price`` is in euro, nothing where the stock has it all.
    """

    sort: str
    about: str
    build: Build
    size: float
    figures: tuple[tuple[Checked, Checked | None], ...] = ()
    adapter: Adapter | None = None
    rail: Mapping[str, Limits] | None = None
    extra: tuple[Lot, ...] = ()
    price: float = 0.0

    @property
    def state(self) -> State:
        """As with what it names from the stock; to buy first where it names something to get."""
        if self.build.to_buy and not self.extra:
            return State.BUY_FIRST
        return State.MEASURE_FIRST if self.build.unproven else State.READY

    @property
    def rank(self) -> tuple[float, float, str, str]:
        """The cheapest change first, then the smallest."""
        return self.price, self.size, self.sort, self.about


class Steps:
    """The changes that make one project go, but for those of demands."""

    def __init__(self, shed: Shed, project: Project, fixed: Mapping[str, str], seconds: float) -> None:
        self.shed = shed
        self.project = project
        self.fixed = dict(fixed)
        self.complete = True
        self._end = time.process_time() + min(seconds, SECONDS, shed.limit_seconds)
        self._tables = Tables(shed.pool, shed.waste)
        self._roles = {
            name: data
            for f in project.functions
            for p in f.principles
            for name, data in sketch(project, f.name, p).roles.items()
        }

    @property
    def _left(self) -> float:
        return 0.0 if self.shed.watcher.stop else self._end - time.process_time()

    def found(self) -> list[Step]:
        """All changes found in the time there is, the cheapest first."""
        every = itertools.chain(self._coils(), self._gears(), self._rails(), self._preferences())
        return sorted(every, key=lambda step: step.rank)

    @cached_property
    def near(self) -> Build | None:
        """The set from stock alone with the fewest checks that fail, if it has a part for each role."""
        tables = Tables(self.shed.pool, self.shed.waste, self._filters(), soft=True)
        limit = Limit(NODES, max(self._left, 0.5), self.shed.watcher)
        found = next(ranked_builds(self.project, tables, limit), None)
        return judge(found, tables) if found else None

    def _filters(self, fixed: Mapping[str, str] | None = None, bought: Sequence[str] = ()) -> Filters:
        """All roles of the recipe from stock but some; a stage that it does not know may be bought."""
        owned = set(self._roles).difference(bought)
        return Filters(self.fixed if fixed is None else fixed, self.shed.without, owned=owned)

    def _best(self, project: Project, filters: Filters) -> Build | None:
        if self._left <= 0:
            self.complete = False
            return None
        limit = Limit(NODES, self._left, self.shed.watcher)
        tables = self._tables.filtered(filters)
        found = next(ranked_builds(project, tables, limit), None)
        self.complete = self.complete and (found is not None or not limit.reached)
        return judge(found, tables) if found else None

    def _coils(self) -> Iterator[Step]:
        """Another use of a lot that was fixed by hand in one."""
        for role, named in self.fixed.items():
            lot, mark, _ = named.partition(USE)
            build = self._best(self.project, self._filters({**self.fixed, role: lot})) if mark else None
            if build is not None:
                now = {**build.parts, role: self._fixed_use(build, role, named)}
                yield Step("coils", role, build, REWIRED, _figures(build, now))

    def _fixed_use(self, build: Build, role: str, named: str) -> Candidate:
        table = self.shed.pool.table(build.roles[role].kinds)
        lot = named.partition(USE)[0]
        rows = (row for row in range(len(table)) if table.lot_ids[row] == lot and not table.bought[row])
        return next(c for c in map(table.candidate, rows) if c.id == named)

    def _gears(self) -> Iterator[Step]:
        if self._left <= 0:
            self.complete = False
            return
        tables = with_reductions(self.shed)
        for found in geared_sets(self.shed, self.project, tables, self._filters(), self._end):
            adapter = reduction(found)
            if adapter is not None:
                after = {c.check.name: c for c in found.build.checks if found.role in c.check.roles}
                failed = [c for c in found.before if c.verdict is Verdict.FAILS]
                figures = tuple((c, after.get(c.check.name)) for c in failed)
                step = Step("gear", found.role, found.build, GEARED, figures, adapter=adapter)
                yield replace(step, extra=adapter.from_stock, price=adapter.price)
        self.complete = self.complete and self._left > 0

    def _rails(self) -> Iterator[Step]:
        """Each supply as a shop would have it; then whether two of the stock do in series."""
        for role in (r for r, data in self._roles.items() if "adapter" in data["role"].kinds):
            free = {r: lot for r, lot in self.fixed.items() if r != role}
            build = self._best(self.project, self._filters(free, bought=[role]))
            if build is None or role not in build.parts:
                continue
            if not build.parts[role].bought:
                yield Step("rail", role, build, OTHER_RAIL)
                continue
            pair = self._in_series(build, role)
            price = 0.0 if pair else self.shed.waste.price(build.parts[role].lot)
            yield Step(
                "rail",
                role,
                build,
                OTHER_RAIL,
                self._on_the_nearest_rail(build, role),
                rail=_rail(build, role),
                extra=pair,
                price=price,
            )

    def _on_the_nearest_rail(self, build: Build, role: str) -> tuple[tuple[Checked, Checked | None], ...]:
        """What fails on the rail of the nearest set, and what it is on another."""
        now = self.near.parts.get(role) if self.near else None
        return _figures(build, {**build.parts, role: now}) if now else ()

    def _in_series(self, build: Build, role: str) -> tuple[Lot, ...]:
        """Two isolated units of one rail each that together do as well as a rail from a shop."""
        free = [
            c
            for kind in ("switch-mode supply", "adapter")
            for c in owned_candidates(self.shed.pool, kind)
            if c.offer.pieces == 1 and len(c.lot.rails) <= 1 and left_in_lot(build, c) >= 1 and _isolated(c)
        ]
        for one, other in itertools.combinations(free, 2):
            both = {
                "voltage.low": one.rating("voltage.low").lo + other.rating("voltage.low").lo,
                "voltage.high": one.rating("voltage.high").hi + other.rating("voltage.high").hi,
                "current": min(one.rating("current").lo, other.rating("current").lo),
            }
            if no_worse_with(build, role, both):
                return one.lot, other.lot
        return ()

    def _preferences(self) -> Iterator[Step]:
        for function, use in zip(self.project.functions, self.project.recipe.functions.values(), strict=True):
            for name, easy in GIVEN_UP.items():
                written = use.arguments.get(name)
                if written is None or written.text in self.project.demands:
                    continue
                eased = replace(function, arguments={**function.arguments, name: easy})
                yield from self._given_up(function, eased, name)
            others = FUNCTIONS[function.principles[0].function].principles.values()
            named = {name for name, value in function.arguments.items() if value}
            ways = tuple(p for p in others if p not in function.principles and not p.lacks(named))
            if ways:
                yield from self._given_up(function, replace(function, principles=ways), "principles")

    def _given_up(self, function: BoundFunction, eased: BoundFunction, name: str) -> Iterator[Step]:
        functions = tuple(eased if f is function else f for f in self.project.functions)
        project = replace(self.project, functions=functions)
        owned = {r for f in functions for p in f.principles for r in sketch(project, f.name, p).roles}
        build = self._best(project, Filters(self.fixed, self.shed.without, owned=owned))
        if build is None:
            return
        if name == "principles":
            yield Step("preference", f"{function.name}.principles", build, ANOTHER_WAY)
            return
        failed = self._as_asked(build)
        far = max((1 - max(float(c.judgement.margin.hi), 0.0) for c, _ in failed), default=1.0)
        yield Step("preference", f"{function.name}.{name}", build, far, failed)

    def _as_asked(self, build: Build) -> tuple[tuple[Checked, None], ...]:
        """What the parts of a set fail of the project as it was asked for."""
        graph = join({f: sketch(self.project, f, p) for f, p in build.principles.items()})
        judged = (judge_check(check, build.parts) for check in find_checks(graph))
        return tuple((c, None) for c in judged if c.verdict is Verdict.FAILS)


def _rail(build: Build, role: str) -> dict[str, Limits]:
    """Least and most volts, V, and least amps, A, of a rail with which a set is no worse."""
    now = build.parts[role]
    volts, amps = now.rating("voltage.low").likely, now.rating("current").likely

    def end(good: float, bad: float, name: str) -> float:
        for _ in range(HALVINGS):
            middle = (good + bad) / 2
            at = {"voltage.low": middle, "voltage.high": middle} if name == "voltage" else {name: middle}
            good, bad = (middle, bad) if no_worse_with(build, role, at) else (good, middle)
        return good

    return {
        "voltage": Limits(end(volts, 0.0, "voltage"), end(volts, HIGHEST, "voltage")),
        "current": Limits(end(amps, 0.0, "current"), math.inf),
    }


def _isolated(candidate: Candidate) -> bool:
    """Whether the outputs of a unit are known to be tied to nothing else."""
    rails = candidate.lot.rails
    told = rails[0].get("isolated") if rails else candidate.lot.ratings.get("isolated")
    return told is not None and told.lo >= 1


def _figures(build: Build, before: Mapping[str, Candidate]) -> tuple[tuple[Checked, Checked | None], ...]:
    """The checks that fail with other parts, and what they are in a set."""
    pairs = ((judge_check(c.check, before), c) for c in build.checks)
    return tuple((was, now) for was, now in pairs if was.verdict is Verdict.FAILS)


def chosen(steps: Sequence[Step], sizes: Sequence[float], most: int) -> tuple[list[Step], list[int]]:
    """At most so many changes: the best of each sort first, then what is left; demands by their sizes.

    Gives the changes, and the places of the demands, both in order.
    """
    marked = [(*step.rank[:2], step.sort, place) for place, step in enumerate(steps)]
    marked += [(0.0, size, "demand", place) for place, size in enumerate(sizes)]
    ordered = sorted(marked)
    seen: dict[str, int] = {}
    turn = []
    for each in ordered:
        seen[each[2]] = seen.get(each[2], 0) + 1
        turn.append((seen[each[2]], each))
    kept = sorted(each for _, each in sorted(turn)[:most])
    return (
        [steps[place] for *_, sort, place in kept if sort != "demand"],
        [place for *_, sort, place in kept if sort == "demand"],
    )
