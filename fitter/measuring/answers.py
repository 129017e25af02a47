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
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.views import ends_of

TRY = "Try it: does it work?"


def measure(shed: Shed, settings: Mapping[str, str] | None = None, top: int = 8) -> MeasureAnswer:
    """What to measure next: ratings, alone or together, by recipes expected to be settled per minute.

    Args:
        shed: Stock and recipes.
        settings: Demands to change; each recipe takes those it has.
        top: How many at most.
    """
    cases: list[Case] = []
    for recipe in shed.recipes.values():
        if shed.watcher.stop:
            break
        shed.watcher.about = recipe.name
        cases.append(case_of(shed, bind(recipe, settings_for(recipe, settings or {}))))
    ranking = Ranking(cases)
    stopped = next((c.stopped for c in cases if c.stopped), None)
    return MeasureAnswer(
        recipes=[_state(case) for case in cases],
        measurements=_ranked(ranking.measurements, top),
        worlds=ranking.worlds.number,
        stopped_by="interrupt" if len(cases) < len(shed.recipes) else stopped,
        set_aside=shed.left_out,
    )


def _state(case: Case) -> RecipeState:
    return RecipeState(
        recipe=case.name,
        title=case.project.recipe.title,
        state=case.state.value,
        to_buy=case.sets[0].to_buy if case.sets else 0,
        settled=case.settled,
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
