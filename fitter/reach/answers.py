"""Limits of demands as models."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.projects import Project
from fitter.reach.asking import Certainty
from fitter.reach.limits import Furthest, Limits, Side, Standing, values_of
from fitter.reach.models import CellAnswer, LimitsAnswer, ReachAnswer, RowAnswer, SideAnswer, VariedAnswer
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.solve.builds import Build, judge_check
from fitter.solve.candidates import Candidate
from fitter.units import QUANTITIES
from fitter.views import check_of


def limits(
    shed: Shed, recipe: str, demand: str, second: str | None = None, settings: Mapping[str, str] | None = None
) -> LimitsAnswer:
    """How far a demand goes with the stock alone: for certain, likely, and at best.

    Args:
        shed: Stock and recipes.
        recipe: Name of the recipe.
        demand: What is taken as far as it goes.
        second: Another demand, for a table of the first beside values of it.
        settings: Demands to change; all others stay as the recipe has them.

    Raises:
        FitterError: Unknown recipe or demand, or the same demand twice.
    """
    project = bind(shed.recipe(recipe), settings)
    for name in (demand, *([second] if second else [])):
        _known(project, name)
    if demand == second:
        raise FitterError(f"{demand!r} is given twice", field="DEMAND", expected="two demands, or one")
    of = Limits(shed, project)
    sides = of.sides(demand)
    found = [_side(of, demand, side) for side in sides]
    rows = [_row(of, demand, sides, second, v) for v in of.rows(demand, second)] if second else []
    return LimitsAnswer(
        recipe=project.recipe.name,
        title=project.recipe.title,
        demand=_varied(project, demand),
        sides=found,
        second=_varied(project, second) if second else None,
        rows=rows,
        outcome="stopped" if of.asking.stopped_by else "complete",
        stopped_by=of.asking.stopped_by,
        set_aside=shed.left_out,
    )


def _known(project: Project, name: str) -> None:
    demands = project.recipe.demands
    if name not in demands:
        problem = f"{project.recipe.name} has no demand {name[:40]!r}"
        raise FitterError(problem, field="DEMAND", expected=nearest(name, demands))


def _varied(project: Project, name: str) -> VariedAnswer:
    quantity = project.recipe.demands[name].quantity
    asked, unit = project.demands[name], QUANTITIES[quantity].unit
    return VariedAnswer(demand=name, asked=asked, quantity=quantity, unit=unit)


def _side(of: Limits, demand: str, side: Side) -> SideAnswer:
    found = of.furthest(demand, side, {})
    return SideAnswer(
        sense=side.sense,
        reaches=[_reach(of, demand, side, each) for each in found],
        sampled=[] if side.known else of.tried(demand, side),
    )


def _reach(of: Limits, demand: str, side: Side, at: Furthest) -> ReachAnswer:
    standing = of.standing(demand, side, at)
    return ReachAnswer(
        certainty=at.certainty.value,
        value=at.value,
        proved=at.proved,
        at_end=at.at_end,
        parts={r: c.lot.id for r, c in standing.build.parts.items()} if standing.build else {},
        beyond=standing.beyond,
        checks=[check_of(c) for c in standing.short],
        roles=list(standing.roles),
        measure=_open(standing),
    )


def _open(standing: Standing) -> list[str]:
    """Ratings that keep the set unproven, the values that it was found with forgotten."""
    build = standing.build
    if build is None:
        return []
    parts = {r: Candidate(c.lot, c.offer, c.bought, c.unit) for r, c in build.parts.items()}
    checks = tuple(judge_check(c.check, parts) for c in build.checks)
    known = Build(build.score, build.principles, build.roles, parts, checks, build.model)
    return list(known.open_ratings)


def _row(of: Limits, demand: str, sides: Sequence[Side], second: str, value: float) -> RowAnswer:
    cells = []
    for side in sides:
        found = of.furthest(demand, side, {second: value})
        by_name = values_of(found)
        cells.append(
            CellAnswer(
                sense=side.sense,
                certain=by_name[Certainty.CERTAIN],
                likely=by_name[Certainty.LIKELY],
                best=by_name[Certainty.BEST],
                proved=all(f.proved for f in found),
            )
        )
    return RowAnswer(value=value, cells=cells)
