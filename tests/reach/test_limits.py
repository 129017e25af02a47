"""Limits of demands against the exhaustive search on a fine grid; strict tables against priced ones."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from shelves import CASES, Problem

from fitter.errors import FitterError
from fitter.projects import bind, bind_figures
from fitter.reach.answers import limits
from fitter.reach.asking import Certainty
from fitter.reach.likely import LikelyPool
from fitter.reach.limits import Limits, spread
from fitter.recipes import load_recipes
from fitter.shed import Shed
from fitter.solve.ease import ends
from fitter.solve.halving import next_beyond
from fitter.solve.limits import Limit
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import any_build, ranked_builds

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
GRID = 30


@pytest.mark.parametrize(("recipe", "seed"), CASES)
def test_limits_are_those_of_a_grid_of_exhaustive_searches(recipe: str, seed: int) -> None:
    problem = Problem(recipe, seed)
    of = Limits(problem.shed, problem.project)
    for name in problem.project.demands:
        for side in of.sides(name):
            for found in of.furthest(name, side, {}):
                _holds(problem, name, side, found)


def _holds(problem: Problem, name: str, side, found) -> None:  # type: ignore[no-untyped-def]
    project, demand = problem.project, problem.project.recipe.demands[name]

    def goes(value: float) -> bool:
        figures = {**project.demands, name: value}
        return problem.goes(bind_figures(project.recipe, figures), found.certainty)

    assert found.proved
    low, high = ends(demand, project.demands[name])
    grid = spread(demand, low, high, GRID)
    if found.value is None:
        assert not any(goes(v) for v in grid)
        return
    sign = 1 if side.sense == "largest" else -1
    assert goes(found.value)
    assert found.at_end == (found.value == side.end)
    if not found.at_end:
        assert not goes(next_beyond(demand, found.value, side.end))
    assert not any(goes(v) for v in grid if sign * v > sign * found.value)
    if side.known:
        assert all(goes(v) for v in grid if sign * v <= sign * found.value)


def test_problems_have_limits_of_every_sort() -> None:
    """So that the test above cannot pass idly."""
    seen = dict.fromkeys(Certainty, 0)
    differing = 0
    for recipe, seed in CASES:
        problem = Problem(recipe, seed)
        of = Limits(problem.shed, problem.project)
        for name in problem.project.demands:
            for side in of.sides(name):
                found = of.furthest(name, side, {})
                differing += len({f.value for f in found}) == len(found)
                for each in found:
                    seen[each.certainty] += each.value is not None and not each.at_end
    assert min(seen.values()) >= 5
    assert differing >= 3


@pytest.mark.parametrize("certainty", [Certainty.CERTAIN, Certainty.LIKELY])
def test_strict_tables_find_a_set_where_the_priced_search_finds_one_with_nothing_open(
    certainty: Certainty,
) -> None:
    shed = Shed.open(EXAMPLES / "repair_shed")
    pool = LikelyPool(shed.pool) if certainty is Certainty.LIKELY else shed.pool
    answers = []
    recipe = load_recipes()["camera-slider"]
    for payload, travel in itertools.product((0.2, 1.0, 1.8, 1.95, 3.0), (0.3, 0.6, 0.7)):
        project = bind_figures(recipe, {"payload": payload, "travel": travel})
        filters = Filters(owned=[f.name for f in project.functions])
        strict = Tables(pool, shed.waste, filters, priced=False, strict=True)
        best = next(ranked_builds(project, Tables(pool, shed.waste, filters), Limit()), None)
        answers.append(any_build(project, strict, Limit()) is not None)
        assert answers[-1] == (best is not None and best.score < 1e7)
    assert certainty is Certainty.CERTAIN or len(set(answers)) == 2


def test_what_limits_is_named_and_a_part_that_carries_it_further() -> None:
    answer = limits(Shed.open(EXAMPLES / "repair_shed"), "drawer-rails", "load")
    (side,) = answer.sides
    assert side.sense == "largest"
    values = [r.value for r in side.reaches]
    assert values == sorted(v for v in values if v is not None)
    for reach in side.reaches:
        assert [c.check for c in reach.checks] == ["load of the slides"]
        assert reach.roles == ["rails.slides"]
        assert reach.beyond == pytest.approx(reach.value + 0.1)
    assert side.reaches[0].measure == []
    assert side.reaches[2].measure


def test_a_table_agrees_with_single_questions() -> None:
    shed = Shed.open(EXAMPLES / "repair_shed")
    answer = limits(shed, "lab-supply", "current", "voltage")
    assert 5 <= len(answer.rows) <= 7
    assert 15.0 in [row.value for row in answer.rows]
    for row in answer.rows[1::3]:
        alone = limits(shed, "lab-supply", "current", settings={"voltage": f"{row.value} V"})
        (cell,) = row.cells
        assert [cell.certain, cell.likely, cell.best] == [r.value for r in alone.sides[0].reaches]


def test_a_search_cut_short_says_so() -> None:
    shed = Shed.open(EXAMPLES / "repair_shed")
    shed.limit_seconds = 0.0
    answer = limits(shed, "lab-supply", "current")
    assert answer.outcome == "stopped"
    assert all(r.value is None and not r.proved for r in answer.sides[0].reaches)


def test_unknown_demands_are_refused() -> None:
    shed = Shed.open(EXAMPLES / "small_box.yaml")
    with pytest.raises(FitterError, match="no demand 'paylod'"):
        limits(shed, "camera-slider", "paylod")
    with pytest.raises(FitterError, match="given twice"):
        limits(shed, "camera-slider", "payload", "payload")
    assert bind(shed.recipe("camera-slider")).demands["payload"] == 1.5


def test_a_demand_that_cuts_both_ways_names_the_values_tried() -> None:
    shed = Shed.open(EXAMPLES / "small_box.yaml")
    answer = limits(shed, "camera-slider", "travel")
    demand = shed.recipe("camera-slider").demands["travel"]
    for side in answer.sides:
        assert len(side.sampled) >= 12
        assert {min(side.sampled), max(side.sampled)} == {demand.least, demand.most}
        assert answer.demand.asked in side.sampled
    assert not limits(shed, "drawer-rails", "load").sides[0].sampled
