"""What there is: the lots of a stock, the state of its files, the recipes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

from pydantic import Field

from fitter import words
from fitter.bench.contradictions import Contradiction, contradictions
from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.kinds import KINDS, kind_key
from fitter.models import FLAG, Answer, unit_of_quantity
from fitter.ratings import Rating
from fitter.recipes import BoundFunction, Project, Recipe, bind
from fitter.solve.variants import sketch
from fitter.stock.files import Stock, load_stock, stock_files
from fitter.stock.lots import Lot
from fitter.units import QUANTITIES
from fitter.views import cautions_of, ends_of


class RatingAnswer(Answer):
    """A rating as stated: ends and likely value in SI, and how it is known."""

    min: float | None
    max: float | None
    likely: float | None
    unit: str
    evidence: str
    shown: str = Field(description="as the maker wrote it")


class LotAnswer(Answer):
    """One lot of the stock."""

    id: str
    kind: str
    count: int
    name: str
    bin: str
    donor: str
    condition: str
    refused: str = Field(description="why it is never placed; empty when it may be")
    ratings: dict[str, RatingAnswer]


class StockAnswer(Answer):
    """The stock, lot by lot."""

    lots: list[LotAnswer]


class ContradictionAnswer(Answer):
    """Ratings of a lot that cannot belong together, or hardly."""

    lot: str
    ratings: list[str]
    problem: str
    cause: str = Field(description="what is likely behind it")
    certain: bool = Field(description="whether a law forbids it; else it is against experience")
    file: str
    line: int


class StockCheckAnswer(Answer):
    """What is wrong with the files of a stock."""

    files: int
    lots: int
    errors: list[str]
    refused: dict[str, str] = Field(default_factory=dict)
    contradictions: list[ContradictionAnswer] = Field(default_factory=list)


class RecipeLine(Answer):
    """One recipe in a list."""

    recipe: str
    title: str
    about: str
    difficulty: str
    hours: str
    demands: list[str]


class RecipesAnswer(Answer):
    """All recipes."""

    recipes: list[RecipeLine]


class DemandAnswer(Answer):
    """A requirement that may be changed; value in SI."""

    name: str
    value: float
    unit: str
    quantity: str
    help: str


class PrincipleAnswer(Answer):
    """One way to do a function, and the roles it needs."""

    name: str
    about: str
    roles: list[str]


class FunctionAnswer(Answer):
    """A function of a recipe."""

    name: str
    about: str
    principles: list[PrincipleAnswer]


class RecipeAnswer(Answer):
    """One recipe in full."""

    recipe: str
    title: str
    about: str
    difficulty: str
    hours: str
    tools: str
    demands: list[DemandAnswer]
    functions: list[FunctionAnswer]
    cautions: dict[str, str]


def list_stock(stock: Stock, kind: str | None = None) -> StockAnswer:
    """All lots, or those of one kind, with what their files state.

    Raises:
        FitterError: Unknown kind.
    """
    if kind is not None and kind_key(kind) not in KINDS:
        raise FitterError(f"unknown kind {kind!r}", field="--kind", expected=nearest(kind_key(kind), KINDS))
    lots = [lot for lot in stock.lots if kind is None or kind_key(lot.kind) == kind_key(kind)]
    return StockAnswer(lots=[_lot(lot) for lot in sorted(lots, key=lambda lot: lot.id)])


def _lot(lot: Lot) -> LotAnswer:
    ratings = {name: _rating(lot, name, r) for name, r in lot.ratings.items()}
    for index, rail in enumerate(lot.rails, start=1):
        place = f"{lot.kind_of_part.rails_name}[{index}]"
        ratings.update({f"{place}.{name}": _rating(lot, name, r) for name, r in rail.items() if r.known})
    return LotAnswer(
        id=lot.id,
        kind=lot.kind,
        count=lot.count,
        name=lot.name,
        bin=lot.bin,
        donor=lot.donor,
        condition=lot.condition,
        refused=lot.kind_of_part.refusal(lot),
        ratings=ratings,
    )


def _rating(lot: Lot, name: str, rating: Rating) -> RatingAnswer:
    spec = lot.kind_of_part.spec(name)
    quantity = FLAG if spec is None or spec.choices else spec.quantity
    lo, hi = ends_of(rating.interval)
    shown = rating.text or words.span((lo, hi), quantity)
    return RatingAnswer(
        min=lo,
        max=hi,
        likely=rating.likely if math.isfinite(rating.likely) else None,
        unit=unit_of_quantity(quantity),
        evidence=rating.evidence.value,
        shown=shown,
    )


def check_stock(path: Path) -> StockCheckAnswer:
    """Read a stock and report every error, and ratings that cannot belong together.

    Raises:
        FitterError: There is no such stock.
    """
    files = stock_files(path)
    stock = load_stock(path, skip_bad=True)
    refused = {lot.id: f"{lot.kind}: {why}" for lot in stock.lots if (why := lot.kind_of_part.refusal(lot))}
    return StockCheckAnswer(
        files=len(files),
        lots=len(stock.lots),
        errors=[str(e) for e in stock.skipped],
        refused=refused,
        contradictions=[_contradiction(lot, c) for lot in stock.lots for c in contradictions(lot)],
    )


def _contradiction(lot: Lot, found: Contradiction) -> ContradictionAnswer:
    return ContradictionAnswer(
        lot=lot.id,
        ratings=list(found.ratings),
        problem=found.problem,
        cause=found.cause,
        certain=found.certain,
        file=lot.file,
        line=lot.line,
    )


def list_recipes(recipes: Mapping[str, Recipe]) -> RecipesAnswer:
    """All recipes, one line each."""
    return RecipesAnswer(
        recipes=[
            RecipeLine(
                recipe=r.name,
                title=r.title,
                about=r.about,
                difficulty=r.difficulty,
                hours=r.hours,
                demands=list(r.demands),
            )
            for r in recipes.values()
        ]
    )


def show_recipe(recipes: Mapping[str, Recipe], name: str) -> RecipeAnswer:
    """One recipe in full.

    Raises:
        FitterError: Unknown recipe.
    """
    recipe = recipes.get(name.replace("_", "-"))
    if recipe is None:
        raise FitterError(f"no recipe {name!r}", expected=nearest(name, recipes))
    project = bind(recipe)
    return RecipeAnswer(
        recipe=recipe.name,
        title=recipe.title,
        about=recipe.about,
        difficulty=recipe.difficulty,
        hours=recipe.hours,
        tools=recipe.tools,
        demands=[
            DemandAnswer(
                name=d.name, value=d.value, unit=QUANTITIES[d.quantity].unit, quantity=d.quantity, help=d.help
            )
            for d in recipe.demands.values()
        ],
        functions=[_function(recipe, project, f) for f in project.functions],
        cautions=cautions_of(recipe, []),
    )


def _function(recipe: Recipe, project: Project, bound: BoundFunction) -> FunctionAnswer:
    ways = []
    for p in bound.principles:
        roles = [data["role"] for data in sketch(project, bound.name, p).roles.values()]
        named = [r.about for r in roles]
        ways.append(PrincipleAnswer(name=p.name, about=p.about, roles=named))
    return FunctionAnswer(name=bound.name, about=recipe.functions[bound.name].function.about, principles=ways)
