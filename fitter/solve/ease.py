"""Which way a demand must be changed to make a project easier, read off the checks.

Nothing says beforehand whether more of a demand is harder. The checks of the project are found twice,
with the demand at either end of what the recipe allows, and judged with the same parts: the end with the
better margins is the easier one. Where checks disagree, or none tells, either end may be.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence

from fitter.checks.base import Check
from fitter.checks.find import find_checks
from fitter.errors import FitterError
from fitter.functions import Principle, Role, join
from fitter.projects import Demand, Project, bind_figures
from fitter.solve.candidates import Candidate, Pool, Single
from fitter.solve.variants import sketch

FAR = 1e3  # how far a demand without a limit is taken, as a multiple of what is asked
SAMPLES = (0.0, 0.5, 1.0)  # places in the list of a role's candidates at which margins are compared


def ends(demand: Demand, asked: float) -> tuple[float, float]:
    """Least and most of a demand: what the recipe allows, or far off where it sets no limit."""
    least = demand.least if math.isfinite(demand.least) else min(asked / FAR, asked * FAR)
    most = demand.most if math.isfinite(demand.most) else max(asked / FAR, asked * FAR)
    return min(least, asked), max(most, asked)


class Ease:
    """The easier ends of a project's demands."""

    def __init__(self, project: Project, pool: Pool) -> None:
        self.project = project
        self.pool = pool

    def easier(self, name: str) -> tuple[float, ...]:
        """Values of a demand that may be easiest, other than the one asked for, SI.

        One where the checks say which end it is, two where they do not, none where no check depends on
        the demand or it is as easy as can be.
        """
        asked = self.project.demands[name]
        return tuple(v for v in self.easiest(name) if v != asked)

    def easiest(self, name: str) -> tuple[float, ...]:
        """Ends of what a demand may be that may be easiest, SI, also where one of them is asked for."""
        asked = self.project.demands[name]
        low, high = ends(self.project.recipe.demands[name], asked)
        least, most = (self._bound(name, value) for value in (low, high))
        better = set(self._compared(least, most)) if least and most else {-1, 1}
        found = [low] if least and -1 in better else []
        found += [high] if most and 1 in better else []
        return tuple(found)

    def _bound(self, name: str, value: float) -> Project | None:
        try:
            return bind_figures(self.project.recipe, {**self.project.demands, name: value})
        except FitterError:
            return None

    def _compared(self, least: Project, most: Project) -> Iterator[int]:
        """Minus one where a check is easier with the least, one where it is with the most."""
        changed = {a.name for a, b in zip(least.functions, most.functions, strict=True) if a != b}
        for ways in every_way(self.project, changed) if changed else ():
            below, above = checks_of(least, ways), checks_of(most, ways)
            if len(below) != len(above):
                yield from (-1, 1)
                continue
            differing = [(a, b) for a, b in zip(below, above, strict=True) if a != b]
            if differing:
                yield from self._judged(differing, self._roles(ways))

    def _judged(self, pairs: Sequence[tuple[Check, Check]], roles: Mapping[str, Role]) -> Iterator[int]:
        told = False
        for at in SAMPLES:
            parts = {name: self._sample(role, at) for name, role in roles.items()}
            for below, above in pairs:
                sign = _easier(below, above, parts)
                told = told or sign != 0
                if sign:
                    yield sign
        if not told:
            yield from (-1, 1)

    def _roles(self, ways: Mapping[str, Principle]) -> dict[str, Role]:
        return {
            name: data["role"]
            for function, principle in ways.items()
            for name, data in sketch(self.project, function, principle).roles.items()
        }

    def _sample(self, role: Role, at: float) -> Candidate | None:
        table = self.pool.table(role.kinds)
        return table.candidate(round(at * (len(table) - 1))) if len(table) else None


def every_way(project: Project, varied: Collection[str]) -> Iterator[dict[str, Principle]]:
    """Variants in which every principle of some functions stands once at least, the others as they come."""
    first = {f.name: f.principles[0] for f in project.functions}
    yield first
    for function in project.functions:
        for principle in function.principles[1:] if function.name in varied else ():
            yield {**first, function.name: principle}


def checks_of(project: Project, ways: Mapping[str, Principle]) -> list[Check]:
    """All checks of one variant."""
    return find_checks(join({name: sketch(project, name, principle) for name, principle in ways.items()}))


def _easier(below: Check, above: Check, parts: Mapping[str, Candidate | None]) -> int:
    """Which of two checks that differ in a demand has the better margin with the same parts."""
    chosen = {role: parts.get(role) for role in below.roles}
    if below.roles != above.roles or None in chosen.values():
        return 0
    views = {role: Single(part) for role, part in chosen.items() if part is not None}
    low, high = below.judge(views).margin, above.judge(views).margin
    a, b = (float(low.lo), float(low.hi)), (float(high.lo), float(high.hi))
    return 0 if a == b else (-1 if a >= b else 1)
