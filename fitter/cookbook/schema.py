"""The JSON Schema of a recipe file, for editors: generated from the functions there are.

What the schema takes may still be refused: units, arithmetic and references are checked when a recipe
is read. What :func:`fitter.recipes.read_recipe` takes, the schema takes.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, Literal, Union

from pydantic import BaseModel, ConfigDict, Field, create_model

from fitter.advice.data import cautions
from fitter.functions import FUNCTIONS, Function
from fitter.functions.model import REFERENCE, Argument
from fitter.recipes import FUNCTION_NAME, RECIPE_NAME
from fitter.units import QUANTITIES

Scalar = str | int | float
_Name = Annotated[str, Field(pattern=f"^{FUNCTION_NAME}$")]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid")


class DemandEntry(_Strict):
    """A requirement that may be changed with --set."""

    value: Scalar = Field(description="default, with its unit")
    quantity: Literal[tuple(QUANTITIES)]  # type: ignore[valid-type]
    help: str = Field(default="", description="what it is")
    least: Scalar | None = Field(default=None, description="the least with which the recipe makes sense")
    most: Scalar | None = Field(default=None, description="the most with which the recipe makes sense")


def recipe_schema() -> dict[str, Any]:
    """The JSON Schema of recipe files."""
    fields: dict[str, Any] = {
        "recipe": (str, Field(pattern=f"^{RECIPE_NAME}$", description="its name")),
        "title": (Scalar, Field(default="", description="as it is shown")),
        "about": (Scalar, Field(default="", description="what it is, in a sentence or two")),
        "difficulty": (Scalar, Field(default="", description="easy, medium or hard")),
        "hours": (Scalar, Field(default="", description="how long it takes, such as 4 to 8")),
        "tools": (Scalar, Field(default="", description="what one needs")),
        "cautions": (_one_or_more(cautions()), Field(default=[], description="shown with every answer")),
        "demands": (dict[_Name, DemandEntry] | None, Field(default=None, description="what may be changed")),
        "functions": (
            _any_use(),
            Field(description="what it must do", min_length=1),
        ),
    }
    about = "What a project must do, in units."
    file = create_model("Recipe", __base__=_Strict, __doc__=about, **fields)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **file.model_json_schema()}


def _any_use() -> Any:
    """By name, any of the functions, each with arguments of its own."""
    use: Any = Union[tuple(_use(f) for f in FUNCTIONS.values())]  # noqa: UP007  (found at run time)
    return dict[_Name, Annotated[use, Field(discriminator="function")]]


def _one_or_more(words: Iterable[str]) -> Any:
    word: Any = Literal[tuple(words)]
    return word | list[word]


def _use(function: Function) -> Any:
    """A function in a recipe, with its arguments."""
    word: Any = Literal[function.name]
    fields: dict[str, Any] = {
        "function": (word, ...),
        "principles": (
            _one_or_more(function.principles) | None,
            Field(default=None, description="ways to do it; all when left out"),
        ),
        **{name: _argument(a) for name, a in function.arguments.items()},
    }
    return create_model(function.name, __base__=_Strict, __doc__=function.about, **fields)


def _argument(argument: Argument) -> tuple[Any, Any]:
    wanted = argument.default is None and argument.quantity != REFERENCE
    text = argument.help if wanted else f"{argument.help}; {argument.default or 'nothing'} when left out"
    kind = Literal["yes", "no"] | bool if argument.quantity == "choice" else Scalar
    return kind, Field(description=text) if wanted else Field(default=None, description=text)
