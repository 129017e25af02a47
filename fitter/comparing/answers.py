"""The ways to do a function, each solved exactly for itself while all else is done as well as it can be."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fitter import words
from fitter.answers import named_roles
from fitter.checks.base import Verdict
from fitter.checks.find import holding_checks
from fitter.comparing.models import Bought, CompareAnswer, FunctionWays, Holds, WayAnswer
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.functions import Principle
from fitter.models import FLAG
from fitter.projects import BoundFunction, Project, bind
from fitter.shed import Sets, Shed
from fitter.solve.builds import Build, Checked, State, judge_check
from fitter.views import check_of

_HOLDS: Mapping[Verdict, Holds] = {Verdict.FITS: "yes", Verdict.UNPROVEN: "unproven", Verdict.FAILS: "no"}


def compare(
    shed: Shed,
    recipe: str,
    function: str | None = None,
    settings: Mapping[str, str] | None = None,
    fixed: Mapping[str, str] | None = None,
) -> CompareAnswer:
    """All ways to do one function of a project, or each function that has several.

    Args:
        shed: Stock and recipes.
        recipe: Name of the recipe.
        function: Name of a function of the recipe.
        settings: Demands to change.
        fixed: Lots that must fill given roles.

    Raises:
        FitterError: Unknown recipe, function, demand, role or lot.
    """
    project = bind(shed.recipe(recipe), settings)
    roles = named_roles(shed, project, fixed or {})
    known = {f.name: f for f in project.functions}
    if function is not None and function not in known:
        raise FitterError(
            f"{project.recipe.name} has no function {function[:40]!r}",
            field="FUNCTION",
            expected=nearest(function, known),
        )
    asked = [known[function]] if function else [f for f in known.values() if len(f.principles) > 1]
    return CompareAnswer(
        recipe=project.recipe.name,
        title=project.recipe.title,
        demands=dict(project.demands),
        functions=[_function_ways(shed, project, f, roles) for f in asked],
        set_aside=shed.left_out,
    )


def _function_ways(
    shed: Shed, project: Project, function: BoundFunction, fixed: Mapping[str, str]
) -> FunctionWays:
    ways = [_way(shed, project, function, p, fixed) for p in function.principles]
    ways.sort(key=lambda way: way[0])
    return FunctionWays(
        function=function.name,
        about=project.recipe.functions[function.name].function.about,
        ways=[answer for _, answer in ways],
    )


def _way(
    shed: Shed, project: Project, function: BoundFunction, principle: Principle, fixed: Mapping[str, str]
) -> tuple[float, WayAnswer]:
    """One way and the score of its best set, infinite where there is none."""
    only = replace(function, principles=(principle,))
    restricted = replace(project, functions=tuple(only if f is function else f for f in project.functions))
    sets = shed.sets(restricted, 1, fixed)
    build = sets.best
    answer = WayAnswer(
        principle=principle.name,
        about=principle.about,
        goes=build is not None,
        why_not="" if build else _why_not(shed, restricted, only, fixed, sets),
        outcome=sets.outcome,
        stopped_by=sets.stopped_by,
        stand_in=sets.stand_in,
        state=build.state.value if build else _STATE[sets.outcome].value,
        noise=principle.noise,
        **(_found(shed, function.name, build) if build else _NOTHING),
    )
    return (build.score if build else math.inf), answer


_STATE = {"complete": State.OUT_OF_REACH, "stopped": State.NOT_KNOWN}
_NOTHING: Mapping[str, Any] = {
    "tightest": None,
    "holds": None,
    "uses": {},
    "to_buy": [],
    "price": None,
    "to_measure": [],
}


def _found(shed: Shed, function: str, build: Build) -> dict[str, Any]:
    """What a set says of the way it does a function."""
    own = [role for role in build.parts if role.partition(".")[0] == function]
    checks = [c for c in build.tightest if set(c.check.roles) & set(own)]
    tightest = min(
        checks, key=lambda c: c.check.quantity == FLAG, default=None
    )  # a figure before a yes or no
    holding = _holding(function, build)
    to_buy = [_bought(shed, build, role) for role, part in build.parts.items() if part.bought]
    return {
        "tightest": check_of(tightest) if tightest else None,
        "holds": _HOLDS[holding.verdict] if holding else None,
        "holds_because": holding.sentence if holding else "",
        "uses": {role: None if build.parts[role].bought else build.parts[role].lot.id for role in own},
        "to_buy": to_buy,
        "price": round(sum(item.price or 0.0 for item in to_buy), 2) if to_buy else None,
        "to_measure": list(build.open_ratings),
    }


def _holding(function: str, build: Build) -> Checked | None:
    """Whether the load of a function stays put without power, asked for or not."""
    graph = build.model.graph
    for check in holding_checks(graph):
        if graph.nodes[check.train.load.name]["function"] == function:
            return judge_check(check, build.parts)
    return None


def _bought(shed: Shed, build: Build, role: str) -> Bought:
    part, count = build.parts[role], build.roles[role].count * build.parts[role].offer.pieces
    return Bought(
        role=role,
        kind=part.lot.kind,
        count=count,
        example=part.lot.name or part.lot.id,
        price=round(shed.waste.price(part.lot) * count, 2),
    )


def _why_not(
    shed: Shed, project: Project, function: BoundFunction, fixed: Mapping[str, str], sets: Sets
) -> str:
    """Why a way does not go, in one line: what fails in the set that comes closest."""
    (principle,) = function.principles
    own = principle.sketch(function.name, function.arguments).roles
    for role, lot in fixed.items():
        if role.partition(".")[0] == function.name and role not in own:
            return f"it has no place for {lot}: there is no {role}"
    if sets.stopped_by:
        return words.nothing(sets.stopped_by)
    near = shed.nearest(project, fixed).best
    if near is None or not near.failing:
        return words.nothing(None)
    worst = min(near.failing, key=lambda c: float(c.judgement.margin.hi))
    return f"{worst.check.name}: {words.need_have(check_of(worst))}"
