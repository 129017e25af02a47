"""What a lot is good for, and what to pass on, against all sets of small random stocks."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from shelves import CASES, Problem, TooManyError

from fitter.functions import Role
from fitter.projects import Project, bind, bind_figures
from fitter.reach.easiest import Easiest
from fitter.reach.pass_on import pass_on
from fitter.reach.uses import uses
from fitter.shed import Shed
from fitter.solve.ease import ends
from fitter.solve.variants import sketch
from fitter.stock.lots import Lot

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
DRAWS = 15  # of demands at random


def roles_of(project: Project) -> dict[str, Role]:
    return {
        name: data["role"]
        for f in project.functions
        for p in f.principles
        for name, data in sketch(project, f.name, p).roles.items()
    }


def used(problem: Problem, projects: list[Project]) -> dict[str, int]:
    """Lots in any set that passes with some of the demands, and the most pieces of it in one of them."""
    found: dict[str, int] = {}
    lots = {lot.id: lot for lot in problem.shelf.pool.lots}
    for project in projects:
        roles = roles_of(project)
        for parts in problem.sets(project):
            pieces: dict[str, int] = {}
            for role, offer in parts.items():
                lot = offer.partition(" / ")[0]
                if lot in lots:
                    pieces[lot] = pieces.get(lot, 0) + roles[role].count
            for lot, count in pieces.items():
                found[lot] = max(found.get(lot, 0), count)
    return found


def drawn(problem: Problem, seed: int) -> list[Project]:
    """The project with demands at random within what the recipe allows."""
    rng, project = random.Random(seed), problem.project
    limits = {n: ends(d, project.demands[n]) for n, d in project.recipe.demands.items()}
    draws = [{n: rng.uniform(*e) for n, e in limits.items()} for _ in range(DRAWS)]
    return [bind_figures(project.recipe, figures) for figures in draws]


@pytest.mark.parametrize("harder", [False, True])
@pytest.mark.parametrize(("recipe", "seed"), CASES)
def test_what_is_passed_on_stands_in_no_set(recipe: str, seed: int, harder: bool) -> None:
    problem = Problem(recipe, seed, 2 if recipe == "drawer-rails" else 1, harder=harder)
    easiest = Easiest(problem.shed, problem.project)
    try:
        at_easiest = used(problem, easiest.projects)
        anywhere = used(problem, drawn(problem, seed))
    except TooManyError:
        pytest.fail("draw a smaller problem")
    answer = pass_on(problem.shed)
    assert answer.outcome == "complete"
    whole = {a.lot for a in answer.lots if a.spare == a.count}
    assert whole == {lot.id for lot in problem.shelf.pool.lots} - set(at_easiest)
    assert not whole & set(anywhere)
    for each in answer.lots:
        if each.reason == "too many":
            assert 0 < each.spare <= each.count - max(at_easiest[each.lot], anywhere.get(each.lot, 0))


def test_problems_have_both_useful_and_useless_lots() -> None:
    """So that the test above cannot pass idly."""
    problems = [Problem(recipe, seed, harder=True) for recipe, seed in CASES]
    reasons = [a.reason for problem in problems for a in pass_on(problem.shed).lots]
    lots = sum(len(problem.shelf.pool.lots) for problem in problems)
    assert reasons.count("no set passes with it") >= 2
    assert reasons.count("too many") >= 2
    assert len(reasons) < lots


@pytest.mark.parametrize(("recipe", "seed"), CASES)
def test_the_best_set_with_a_lot_is_the_best_of_all_sets_with_it(recipe: str, seed: int) -> None:
    problem = Problem(recipe, seed)
    every = list(problem.sets(problem.project))  # best first
    for lot in problem.shelf.pool.lots:
        for use in uses(problem.shed, lot).uses:
            mine = [s for s in every if s.get(use.role, "").partition(" / ")[0] == lot.id]
            assert (use.state == "out of reach") == (not mine)
            if mine:
                owned = {r: x for r, x in use.parts.items() if x is not None}
                names = {lot.id for lot in problem.shelf.pool.lots}
                best = {r: i.partition(" / ")[0] for r, i in mine[0].items()}
                assert owned == {r: i for r, i in best.items() if i in names}
                assert use.useful


def test_a_first_box() -> None:
    """Against every lot put into every role by hand, with the demands as asked."""
    shed = Shed.open(EXAMPLES / "small_box.yaml")
    useless = {a.lot for a in pass_on(shed).lots}
    for recipe in ("camera-slider", "drawer-rails", "lab-supply"):
        project = bind(shed.recipe(recipe))
        for name, role in roles_of(project).items():
            for lot in fitting(shed, role):
                best = shed.sets(project, 1, {name: lot.id}).best
                assert best is None or best.failing or lot.id not in useless
    assert {a.lot: a.reason for a in pass_on(shed).lots}["inv1"] == "never placed"
    assert {"fork1", "psu1"}.isdisjoint(useless)


def fitting(shed: Shed, role: Role) -> list[Lot]:
    return [lot for lot in shed.stock.lots if lot.kind in role.kinds]


def test_uses_name_what_is_short_or_refused() -> None:
    shed = Shed.open(EXAMPLES / "small_box.yaml")
    shed.recipes = {"camera-slider": shed.recipes["camera-slider"]}
    (use,) = uses(shed, shed.stock.lot("rod1")).uses
    assert (use.state, use.useful, use.short) == ("out of reach", False, "takes 2, you have 1")
    (use,) = uses(shed, shed.stock.lot("fork1")).uses
    assert (use.role, use.state, use.useful) == ("ends.sensors", "buy first", True)
    refused = uses(shed, shed.stock.lot("inv1"))
    assert refused.uses == []
    assert "never placed" in refused.refused
