"""Several builds from one stock, as a model."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from fitter.checks.base import Verdict
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.planning.bundle import Clash, Plan, Planner
from fitter.planning.groups import Planned
from fitter.planning.models import ClashAnswer, PlanAnswer, PlannedBuild, Unlock
from fitter.planning.unlocks import Replanning
from fitter.recipes import Recipe, bind
from fitter.shed import Shed
from fitter.shopping import ShoppingLine, Wish, merged, total
from fitter.solve.builds import State
from fitter.solve.gaps import gaps
from fitter.views import bought


def plan(shed: Shed, recipes: Sequence[str] = (), settings: Mapping[str, str] | None = None) -> PlanAnswer:
    """The best builds of several projects from one stock; what is guaranteed stands in ``bundle``.

    Args:
        shed: Stock and recipes.
        recipes: Names of recipes; all when empty.
        settings: Demands to change; each recipe takes those it has.

    Raises:
        FitterError: Unknown recipe, or a demand that none of them has.
    """
    named = {r.name: r for r in map(shed.recipe, recipes or shed.recipes)}
    given = settings or {}
    _known_demands(named, given)
    projects = {
        n: bind(r, {d: v for d, v in given.items() if d in r.demands}) for n, r in sorted(named.items())
    }
    planner = Planner(shed, projects)
    return answer_of(planner, planner.search())


def _known_demands(recipes: Mapping[str, Recipe], settings: Mapping[str, str]) -> None:
    known = {d for r in recipes.values() for d in r.demands}
    for name in settings:
        if name not in known:
            problem = f"no demand {name!r} in {', '.join(recipes)}"
            raise FitterError(problem, field="--set", expected=nearest(name, known))


def answer_of(planner: Planner, found: Plan) -> PlanAnswer:
    """A plan as a model."""
    shed = planner.shed
    lines = merged(_wishes(shed, found.builds))
    return PlanAnswer(
        outcome="stopped" if found.stopped else "complete",
        optimal=found.optimal,
        builds=[
            _build(b) for b in sorted(found.builds, key=lambda b: (list(State).index(b.state), b.recipe))
        ],
        left_out=list(found.left),
        clashes=[_clash(c) for c in found.clashes],
        shopping=lines,
        price=total(lines),
        unlocks=unlocks(Replanning(planner, found), found.builds, lines),
        set_aside=shed.left_out,
    )


def _build(planned: Planned) -> PlannedBuild:
    recipe, measure = planned.project.recipe, planned.open_ratings
    trials = [c for c in planned.checks if c.verdict is Verdict.UNPROVEN and not c.because]
    return PlannedBuild(
        recipe=recipe.name,
        title=recipe.title,
        state=planned.state.value,
        to_buy=planned.to_buy,
        to_measure=len(measure),
        parts={role: None if c.bought else c.lot.id for role, c in planned.parts.items()},
        pieces={lot: taken for lot, (taken, _) in sorted(planned.used.items())},
        measure=measure,
        tests=list(dict.fromkeys(c.check.name for c in trials)),
    )


def _clash(clash: Clash) -> ClashAnswer:
    return ClashAnswer(
        lot=clash.lot, recipes=list(clash.recipes), about="current" if clash.draws else "pieces"
    )


def _wishes(shed: Shed, builds: Sequence[Planned]) -> Iterator[Wish]:
    for build in {id(b.build): b.build for b in builds}.values():
        owners = [b for b in builds if b.build is build]
        for gap in gaps(build):
            owner = next(b for b in owners if gap.role.startswith(b.prefix))
            yield Wish(bought(shed, build, gap), f"{owner.recipe} {gap.role.removeprefix(owner.prefix)}")


def unlocks(again: Replanning, builds: Sequence[Planned], lines: Sequence[ShoppingLine]) -> Unlock | None:
    """The one step of a plan that makes most builds ready; where none does, that most builds need.

    Steps are what the plan measures and buys, each tried by planning anew, those that most builds need
    first. Equal steps go by measuring before buying, then by price, then by name.
    """
    steps = sorted([*_measurements(builds), *_purchases(builds, lines)], key=_rank)
    tried = [step.model_copy(update=_replanned(again, builds, step, lines)) for step in steps]
    return min(tried, key=_rank, default=None)


def _replanned(
    again: Replanning, builds: Sequence[Planned], step: Unlock, lines: Sequence[ShoppingLine]
) -> dict[str, object]:
    """What a step makes ready; where that takes too long, what it does for the plan as it stands."""
    if again.late or (again.large and step.step == "measure"):
        return {"replanned": False}
    if step.step == "measure":
        return {"ready": again.after_measuring(step.what), "replanned": not again.late}
    line = next(x for x in lines if _bought_as(x) == step.what)
    lots = (c.lot for b in builds for c in b.parts.values() if c.bought)
    lot = next(x for x in lots if (x.kind, x.name or x.id) == (line.kind, line.example))
    return {"ready": again.after_buying(lot, line.count), "replanned": not again.late}


def _rank(step: Unlock) -> tuple[int, int, bool, float, str]:
    return -len(step.ready), -len(step.helps), step.step == "buy", step.price or 0.0, step.what


def _measurements(builds: Sequence[Planned]) -> Iterator[Unlock]:
    for path in dict.fromkeys(p for b in builds for p in b.open_ratings):
        helps = [b for b in builds if path in b.open_ratings]
        ready = [b for b in helps if _settled_by(b, path)]
        yield Unlock(step="measure", what=path, ready=_names(ready), helps=_names(helps))


def _settled_by(planned: Planned, path: str) -> bool:
    """Whether one rating, if it comes out well, leaves nothing open and nothing to buy."""
    unproven = [c for c in planned.checks if c.verdict is Verdict.UNPROVEN]
    return not planned.to_buy and all(c.because == (path,) for c in unproven)


def _purchases(builds: Sequence[Planned], lines: Sequence[ShoppingLine]) -> Iterator[Unlock]:
    for line in lines:
        wanted = {use.partition(" ")[0] for use in line.used_for}
        helps = [b for b in builds if b.recipe in wanted]
        ready = [b for b in helps if _complete_with(b, line)]
        yield Unlock(
            step="buy", what=_bought_as(line), price=line.price, ready=_names(ready), helps=_names(helps)
        )


def _bought_as(line: ShoppingLine) -> str:
    return f"{line.count} x {line.kind}, such as {line.example}"


def _complete_with(planned: Planned, line: ShoppingLine) -> bool:
    """Whether a line is all that a build lacks."""
    uses = [use for use in line.used_for if use.partition(" ")[0] == planned.recipe]
    return len(uses) == planned.to_buy and all(c.verdict is Verdict.FITS for c in planned.checks)


def _names(builds: Sequence[Planned]) -> list[str]:
    return [b.recipe for b in builds]
