"""What to measure next, as a model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fitter.answers import settings_for
from fitter.bench.readings import procedure_for
from fitter.measuring.cases import Case, case_of, roles_of
from fitter.measuring.models import EffectAnswer, MeasureAnswer, MeasurementAnswer, RecipeState, StepAnswer
from fitter.measuring.ranking import Effect, Measurement, Ranking
from fitter.measuring.truths import Open
from fitter.models import FLAG, unit_of_quantity
from fitter.recipes import Project, bind
from fitter.shed import Shed
from fitter.side_by_side import side_by_side
from fitter.views import ends_of

FAR = 1  # roles to be bought for, beyond which no measurement makes a recipe go
TRY = "Try it: does it work?"


def measure(
    shed: Shed, settings: Mapping[str, str] | None = None, top: int = 8, *, processes: int = 1
) -> MeasureAnswer:
    """What to measure next: ratings, alone or together, by recipes expected to be settled per minute.

    Recipes that must buy for more than :data:`FAR` roles are not looked at as long as there are nearer ones
    that a measurement may settle; where there are none, the nearest of them are.

    Args:
        shed: Stock and recipes.
        settings: Demands to change; each recipe takes those it has.
        top: How many at most.
        processes: How many recipes may be looked at at once.
    """
    projects = [bind(recipe, settings_for(recipe, settings or {})) for recipe in shed.recipes.values()]
    cases = _nearest(_cases(shed, projects, FAR, processes), shed, processes)
    ranking = Ranking([c for c in cases if not c.far], watcher=shed.watcher, processes=processes)
    stopped = next((c.stopped for c in cases if c.stopped), None)
    return MeasureAnswer(
        recipes=[_state(case) for case in cases],
        measurements=_ranked(ranking.measurements, top),
        worlds=ranking.worlds.number,
        stopped_by="interrupt" if len(cases) < len(shed.recipes) else stopped,
        set_aside=shed.left_out,
    )


def _cases(shed: Shed, projects: Sequence[Project], most_to_buy: int, processes: int) -> list[Case]:
    """What there is to measure for; those left out that an interrupt came before."""

    def looked_at(project: Project) -> Case | None:
        if shed.watcher.stop:
            return None
        shed.watcher.about = project.recipe.name
        return case_of(shed, project, most_to_buy=most_to_buy)

    found = side_by_side(projects, looked_at, lambda p: p.recipe.ways, shed.watcher, processes)
    return [case for case in found if case is not None]


def _nearest(cases: list[Case], shed: Shed, processes: int) -> list[Case]:
    """As they are where a near one is open; else with the nearest of the far ones looked at after all."""
    far = [case for case in cases if case.far]
    if not far or any(not case.settled and not case.far for case in cases):
        return cases
    least = min(case.sets[0].to_buy for case in far)
    again = [case.project for case in far if case.sets[0].to_buy == least]
    nearer = {case.name: case for case in _cases(shed, again, least, processes)}
    return [nearer.get(case.name, case) for case in cases]


def _state(case: Case) -> RecipeState:
    return RecipeState(
        recipe=case.name,
        title=case.project.recipe.title,
        state=case.state.value,
        to_buy=case.sets[0].to_buy if case.sets else 0,
        settled=case.settled,
        looked_at=not case.far,
    )


def _ranked(measurements: Sequence[Measurement], top: int) -> list[MeasurementAnswer]:
    """So many measurements that serve different recipes, and what else would serve the same."""
    found: list[MeasurementAnswer] = []
    leaders: list[tuple[int, Measurement]] = []
    for rank, each in enumerate(measurements, start=1):
        instead = next((number for number, leader in leaders if _serves(leader, each)), None)
        if instead is None and len(leaders) < top:
            leaders.append((rank, each))
            found.append(_measurement(each, rank))
        elif instead is not None:
            found.append(_measurement(each, rank, instead))
    return found


def _serves(one: Measurement, other: Measurement) -> bool:
    """Whether one measurement does all that another does: for each recipe as much, settled or ruled out."""
    mine = {e.case.name: e for e in one.effects}
    wanted = [e for e in other.effects if e.settles or e.loses_best]
    return all(
        e.case.name in mine
        and mine[e.case.name].settles >= e.settles
        and (e.settles > 0 or mine[e.case.name].loses_best >= e.loses_best)
        for e in wanted
    )


def _measurement(measurement: Measurement, rank: int, instead_of: int | None = None) -> MeasurementAnswer:
    return MeasurementAnswer(
        rank=rank,
        steps=[step_of(step) for step in measurement.steps],
        minutes=measurement.minutes,
        expected=measurement.expected,
        per_minute=measurement.per_minute,
        recipes=[_effect(e, measurement) for e in measurement.effects if e.settles or e.loses_best],
        instead_of=instead_of,
    )


def step_of(step: Open) -> StepAnswer:
    """One rating to measure."""
    rating = next(iter(step.ratings.values()))
    lo, hi = ends_of(rating.interval)
    spec = step.spec
    quantity = FLAG if spec is None or spec.choices else spec.quantity
    procedure = procedure_for(step.lot.kind, step.field) if spec is not None else None
    return StepAnswer(
        lot=step.lot.id,
        rating=step.field,
        kind=step.lot.kind,
        name=step.lot.name or step.lot.kind,
        bin=step.lot.bin,
        minutes=step.minutes,
        procedure=procedure.code if procedure else None,
        how=TRY if spec is None else spec.how or (procedure.title if procedure else ""),
        min=lo,
        max=hi,
        likely=rating.likely if rating.likely < float("inf") else None,
        unit=unit_of_quantity(quantity),
        quantity=quantity,
    )


def _effect(effect: Effect, measurement: Measurement) -> EffectAnswer:
    case = effect.case
    lots = {step.lot.id for step in measurement.steps}
    roles = [r for i in effect.sets for lot in sorted(lots) for r in roles_of(case.sets[i], lot)]
    return EffectAnswer(
        recipe=case.name,
        state=case.state.value,
        becomes=effect.becomes.value,
        passes=effect.passes,
        rules_out=effect.rules_out,
        best_fails=effect.loses_best,
        sets=len(effect.sets),
        roles=list(dict.fromkeys(roles)),
    )
