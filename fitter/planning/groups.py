"""The best builds of one recipe, or of several searched as one, with a share of the stock.

Recipes searched as one are joined into one project whose functions carry the recipe's name in front. Pieces,
rails and whole units are then judged over all of them by the same checks as within one recipe.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fitter.advice.data import shop
from fitter.checks.base import Check, Verdict
from fitter.checks.find import find_checks
from fitter.checks.power import SharedRail, SharedUnit
from fitter.functions import FUNCTIONS, Sketch, join
from fitter.functions.model import REFERENCE
from fitter.kinds.model import WHOLE_UNIT
from fitter.projects import BoundFunction, Project
from fitter.shed import Shed
from fitter.solve.builds import Build, Checked, State, judge, judge_check
from fitter.solve.candidates import Candidate, Pool
from fitter.solve.limits import Limit
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import ranked_builds, sketch

MARK = "/"  # between the name of a recipe and that of its function


@dataclass(frozen=True, eq=False)
class Planned:
    """One recipe's part of a plan: its parts by role and the checks that read them."""

    project: Project
    build: Build
    prefix: str

    @property
    def recipe(self) -> str:
        """Name of the recipe."""
        return self.project.recipe.name

    @property
    def parts(self) -> dict[str, Candidate]:
        """The part in each role, by the recipe's own names."""
        cut = len(self.prefix)
        return {r[cut:]: c for r, c in self.build.parts.items() if r.startswith(self.prefix)}

    @property
    def checks(self) -> list[Checked]:
        """Checks that read a part of this recipe, among them those of rails it shares."""
        return [c for c in self.build.checks if any(r.startswith(self.prefix) for r in c.check.roles)]

    @property
    def to_buy(self) -> int:
        """Roles filled from a shop."""
        return sum(c.bought for c in self.parts.values())

    @property
    def open_ratings(self) -> list[str]:
        """What must be known for its checks to pass, each once."""
        return list(dict.fromkeys(path for c in self.checks for path in c.because))

    @property
    def state(self) -> State:
        """Ready, measure first or buy first."""
        if self.to_buy:
            return State.BUY_FIRST
        unproven = any(c.verdict is Verdict.UNPROVEN for c in self.checks)
        return State.MEASURE_FIRST if unproven else State.READY

    def count(self, role: str) -> int:
        """Pieces that a role takes."""
        at = self.prefix + role
        return self.build.roles[at].count * self.build.parts[at].offer.pieces

    def takes(self, role: str) -> tuple[int, bool]:
        """Pieces that a role takes of its lot, and whether another may draw on the same unit."""
        part = self.parts[role]
        shares = self.build.makes_rail(self.prefix + role) and part.lot.count == 1
        return self.count(role), shares and part.offer.rail != WHOLE_UNIT

    def feeds_from(self, lot: str) -> bool:
        """Whether a lot supplies power to something of this build."""
        return any(
            p.lot.id == lot and not p.bought and self.build.makes_rail(self.prefix + role)
            for role, p in self.parts.items()
        )

    @property
    def used(self) -> dict[str, tuple[int, bool]]:
        """Of each lot the pieces taken, and whether all that is taken is rails of one unit."""
        pieces: dict[str, tuple[int, bool]] = {}
        for role, part in self.parts.items():
            if not part.bought:
                taken, shares = self.takes(role)
                before, shared = pieces.get(part.lot.id, (0, True))
                both = shares and shared
                pieces[part.lot.id] = (1 if both else before + taken, both)
        return pieces


@dataclass(frozen=True)
class Best:
    """The best that a group of recipes can do; no builds where there is none, or none was found in time."""

    builds: tuple[Planned, ...]
    score: int
    stopped: bool


def joined(projects: Sequence[Project]) -> Project:
    """Several projects as one; a single one as it is."""
    if len(projects) == 1:
        return projects[0]
    functions = tuple(_renamed(f, p.recipe.name + MARK) for p in projects for f in p.functions)
    return Project(projects[0].recipe, {}, functions)


def _renamed(bound: BoundFunction, prefix: str) -> BoundFunction:
    known = FUNCTIONS[bound.principles[0].function].arguments
    arguments = {
        n: prefix + str(v) if v and known[n].quantity == REFERENCE else v for n, v in bound.arguments.items()
    }
    return replace(bound, name=prefix + bound.name, arguments=arguments)


def best_of(shed: Shed, projects: Sequence[Project], caps: Mapping[str, int], limit: Limit) -> Best:
    """The best of one group: least sum of scores with at most so many pieces of some lots."""
    tables = _tables(shed, caps)
    found = next(ranked_builds(joined(projects), tables, limit), None)
    if found is None:
        return Best((), 0, limit.reached)
    build = judge(found, tables)
    marks = [p.recipe.name + MARK for p in projects] if len(projects) > 1 else [""]
    planned = tuple(Planned(p, build, mark) for p, mark in zip(projects, marks, strict=True))
    return Best(planned, int(build.score), stopped=False)


def _tables(shed: Shed, caps: Mapping[str, int]) -> Tables:
    """Tables over a share of the stock; what is scarce is still judged by the whole stock."""
    none = [lot for lot, most in caps.items() if most == 0]
    filters = Filters({}, [*shed.without, *none])
    if len(none) == len(caps):
        return Tables(shed.pool, shed.waste, filters)
    lots = [replace(x, count=min(x.count, caps.get(x.id, x.count))) for x in shed.pool.lots]
    return Tables(Pool(lots, (s for sizes in shop().values() for s in sizes)), shed.waste, filters)


def shared_checks(builds: Sequence[Planned], lot: str) -> list[Checked]:
    """What is asked of one unit from which several builds draw: its rails and its watts, all at once."""
    sketches: dict[str, Sketch] = {}
    parts: dict[str, Candidate] = {}
    for each in builds:
        project, mark = each.project, each.recipe + MARK
        names = {n.removeprefix(each.prefix): p for n, p in each.build.principles.items()
                 if n.startswith(each.prefix)}  # fmt: skip
        apart = replace(project, functions=tuple(_renamed(f, mark) for f in project.functions))
        sketches |= {mark + n: sketch(apart, mark + n, p) for n, p in names.items()}
        parts |= {mark + r: replace(c, unit=_unit(c, lot)) for r, c in each.parts.items()}
    asked = (c for c in find_checks(join(sketches)) if isinstance(c, SharedRail | SharedUnit))
    return [judge_check(c, parts) for c in asked if _on(lot, c, parts)]


def _unit(candidate: Candidate, lot: str) -> int:
    """One for the unit asked about; other units are told apart from it, which is all that counts."""
    return 1 if candidate.lot.id == lot else -1


def _on(lot: str, check: Check, parts: Mapping[str, Candidate]) -> bool:
    """Whether a check adds up what is drawn from the unit, which it does from its first role on."""
    assert isinstance(check, SharedRail | SharedUnit)
    return parts[check.first.role].lot.id == lot


def over(builds: Sequence[Planned], lots: Mapping[str, int]) -> Iterator[tuple[str, list[Planned], bool]]:
    """Each lot of which more is taken than there is, by whom, and whether that is a unit's current alone."""
    users: dict[str, list[Planned]] = {}
    for each in builds:
        for lot in each.used:
            users.setdefault(lot, []).append(each)
    for lot, by in sorted(users.items()):
        used = [each.used[lot] for each in by]
        if len({id(each.build) for each in by}) == 1 or sum(n for n, _ in used) <= lots[lot]:
            continue
        if lots[lot] == 1 and all(shared for _, shared in used):
            if any(c.verdict is not Verdict.FITS for c in shared_checks(by, lot)):
                yield lot, by, True
        else:
            yield lot, by, False
