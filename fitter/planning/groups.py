"""The best builds of one recipe, or of several searched as one, with a share of the stock.

Recipes searched as one are joined into one project whose functions carry the recipe's name in front. Pieces,
rails and whole units are then judged over all of them by the same checks as within one recipe.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from fitter.checks.base import Check, Verdict
from fitter.checks.find import find_checks
from fitter.checks.power import SharedRail, SharedUnit
from fitter.functions import FUNCTIONS, Sketch, join
from fitter.functions.model import REFERENCE
from fitter.projects import BoundFunction, Project
from fitter.solve.builds import Build, Checked, State, judge, judge_check
from fitter.solve.candidates import Candidate
from fitter.solve.limits import Limit
from fitter.solve.tables import Filters, Tables
from fitter.solve.usage import takes
from fitter.solve.variants import Found, ranked_builds, sketch

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

    def takes(self, role: str) -> tuple[int, bool]:
        """Pieces that a role takes of its lot, and whether another may draw on the same unit."""
        return takes(self.build, self.prefix + role)

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


Cost: TypeAlias = tuple[int, int, int]  # projects not ready, projects left out, sum of scores


@dataclass(frozen=True)
class Best:
    """The best that a group of recipes can do; no builds where there is none, or none was found in time.

    No builds of the group cost less than ``bound``, which is their cost unless the search was stopped.
    """

    builds: tuple[Planned, ...]
    bound: Cost
    stopped: bool = False

    def keeps_to(self, caps: Mapping[str, int]) -> bool:
        """Whether the builds take no more of some lots than they may."""
        return all(_taken(self.builds, lot) <= most for lot, most in caps.items())


def _taken(builds: Sequence[Planned], lot: str) -> int:
    """Pieces of a lot that builds of one group take; what they share as rails of one unit counts once."""
    used = [b.used[lot] for b in builds if lot in b.used]
    return 1 if used and all(shared for _, shared in used) else sum(n for n, _ in used)


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


def best_of(
    tables: Tables,
    projects: Sequence[Project],
    caps: Mapping[str, int],
    limit: Limit,
    *,
    all_ready: bool = False,
    able: Collection[str] | None = None,
) -> Best:
    """The best of one group within caps on pieces: most of them ready, then least sum of scores.

    Of several recipes every choice of those that are to be ready is searched, the largest first, each with
    their roles filled from stock and their checks bound to fit; one alone is ready where its score is least.
    With ``all_ready`` there is nothing else than all of them ready, given what the tables say is given.
    ``able`` names those that are ready with the whole stock to themselves: no others are among more.
    """
    together = joined(projects)
    marked = list(zip(projects, _marks(projects), strict=True))
    hopeful = [(p, mark) for p, mark in marked if all_ready or able is None or p.recipe.name in able]
    fewest = len(projects) if all_ready else 0
    for ready in range(len(hopeful) if len(projects) > 1 else fewest, fewest - 1, -1):
        found = [
            each
            for chosen in itertools.combinations(hopeful, ready)
            if (each := next(ranked_builds(together, _share(tables, caps, chosen), limit), None)) is not None
        ]
        if limit.reached:
            return Best((), (0, 0, 0), stopped=True)
        if found:
            best = _judged(projects, min(found, key=lambda f: f.score), tables)
            return replace(best, bound=(0, 0, best.bound[2])) if all_ready else best
    return Best((), (len(projects), len(projects), 0))


def _share(tables: Tables, caps: Mapping[str, int], ready: Iterable[tuple[Project, str]]) -> Tables:
    """Tables over a share of the stock, in which some recipes of a group have to be ready."""
    settled = (mark + f.name for p, mark in ready for f in p.functions)
    filters = tables.filters
    return tables.filtered(Filters({}, filters.without, settled=settled, given=filters.given, most=caps))


def _marks(projects: Sequence[Project]) -> list[str]:
    """What stands before the names of a recipe's functions; nothing where it is searched by itself."""
    return [p.recipe.name + MARK for p in projects] if len(projects) > 1 else [""]


def _judged(projects: Sequence[Project], found: Found, tables: Tables) -> Best:
    build = judge(found, tables)
    marks = _marks(projects)
    planned = tuple(Planned(p, build, mark) for p, mark in zip(projects, marks, strict=True))
    return Best(planned, (sum(b.state is not State.READY for b in planned), 0, int(build.score)))


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


@dataclass(frozen=True)
class Conflict:
    """A lot of which builds take more than there is, or from which they draw more than is certain."""

    lot: str
    by: tuple[Planned, ...]
    draws: bool  # from one unit, rather than pieces


def conflicts(builds: Sequence[Planned], lots: Mapping[str, int]) -> Iterator[Conflict]:
    """All that stands against making some builds at once."""
    users: dict[str, list[Planned]] = {}
    for each in builds:
        for lot in each.used:
            users.setdefault(lot, []).append(each)
    for lot, by in sorted(users.items()):
        used = [each.used[lot] for each in by]
        if len({id(each.build) for each in by}) == 1 or sum(n for n, _ in used) <= lots[lot]:
            continue
        draws = lots[lot] == 1 and all(shared for _, shared in used)
        if not draws or any(c.verdict is not Verdict.FITS for c in shared_checks(by, lot)):
            yield Conflict(lot, tuple(by), draws)
