"""What every recipe comes to on every example stock, kept as data in ``goldens``: one file a recipe.

A golden names, for each stock, the state, the number of things to buy, and words of one reason that
``fitter builds`` gives for it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from fitter import answers
from fitter.advice.data import cautions
from fitter.kinds import KINDS
from fitter.projects import bind
from fitter.recipes import Recipe, load_recipes
from fitter.shed import Shed
from fitter.views import cautions_of

HERE = Path(__file__).parent / "goldens"
EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
STOCKS = sorted(p.name for p in EXAMPLES.iterdir() if p.is_dir() or p.suffix == ".yaml")
RECIPES = load_recipes()
# where the trade knows one way only, or the recipe is about that way
ONE_WAY = {"drawer-rails"}


def golden(recipe: str) -> dict[str, Any]:
    """The golden of a recipe."""
    found: dict[str, Any] = yaml.safe_load((HERE / f"{recipe}.yaml").read_text(encoding="utf-8"))
    return found


def opened(stock: str, recipe: str) -> Shed:
    """A shed that knows one recipe."""
    shed = Shed.open(EXAMPLES / stock)
    shed.recipes = {recipe: RECIPES[recipe]}
    return shed


def test_every_recipe_has_a_golden_and_every_stock_is_in_it() -> None:
    assert {f.stem for f in HERE.glob("*.yaml")} == set(RECIPES)
    for recipe in RECIPES:
        assert set(golden(recipe)) == set(STOCKS), recipe


@pytest.mark.parametrize("stock", STOCKS)
@pytest.mark.parametrize("recipe", RECIPES)
def test_a_recipe_comes_out_as_a_maker_would_expect(recipe: str, stock: str) -> None:
    expected = golden(recipe)[stock]
    (row,) = answers.builds(opened(stock, recipe)).builds
    assert (row.outcome, row.state, row.to_buy) == ("complete", expected["state"], expected["to_buy"]), (
        row.why
    )
    assert any(expected["because"] in reason for reason in row.why), row.why


@pytest.mark.parametrize("recipe", RECIPES.values(), ids=lambda r: r.name)
def test_a_recipe_has_more_than_one_way_to_it(recipe: Recipe) -> None:
    ways = [len(use.principles) for use in recipe.functions.values()]
    assert max(ways) > 1 or recipe.name in ONE_WAY


@pytest.mark.parametrize("recipe", RECIPES)
def test_a_recipe_shows_its_cautions(recipe: str) -> None:
    shed = opened("school_workshop", recipe)
    shown = cautions_of(RECIPES[recipe], shed.sets(bind(RECIPES[recipe]), 1).builds)
    assert set(RECIPES[recipe].cautions) <= set(shown)
    assert all(shown[word] == cautions()[word] for word in RECIPES[recipe].cautions)


def test_no_recipe_asks_for_what_is_never_placed() -> None:
    refused = {name for name, kind in KINDS.items() if kind.refused}
    assert refused
    for recipe in RECIPES.values():
        for bound in bind(recipe).functions:
            for way in bound.principles:
                for data in way.sketch(bound.name, bound.arguments).roles.values():
                    assert not refused & set(data["role"].kinds), (recipe.name, way.name)
