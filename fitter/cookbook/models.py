"""What answers about recipes look like."""

from __future__ import annotations

from pydantic import Field

from fitter.models import Answer


class RecipeLine(Answer):
    """One recipe in a list."""

    recipe: str
    title: str
    about: str
    difficulty: str
    hours: str
    demands: list[str]
    file: str = Field(default="", description="of a recipe of your own; empty for a shipped one")


class RecipesAnswer(Answer):
    """All recipes."""

    recipes: list[RecipeLine]


class DemandAnswer(Answer):
    """A requirement that may be changed; figures in SI."""

    name: str
    value: float
    least: float | None = Field(description="allowed at least; null: no limit")
    most: float | None = Field(description="allowed at most; null: no limit")
    unit: str
    quantity: str
    help: str
    sets: list[str] = Field(description="arguments of functions that follow from it, such as slide.mass")


class PrincipleAnswer(Answer):
    """One way to do a function, the roles it needs, and how they hang together."""

    name: str
    about: str
    roles: list[str]
    diagram: list[str] = Field(description="chains of roles and links, one a line")


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
    file: str
    demands: list[DemandAnswer]
    functions: list[FunctionAnswer]
    cautions: dict[str, str]


class RecipeFileAnswer(Answer):
    """What is wrong with one recipe file, what could be better, and what it comes to."""

    file: str
    recipe: str
    errors: list[str]
    advice: list[str] = Field(description="what would make it a better recipe; it works without")
    variants: int = Field(default=0, description="ways to build it")
    roles: tuple[int, int] = Field(default=(0, 0), description="fewest and most parts of a variant")
    checks: tuple[int, int] = Field(default=(0, 0), description="fewest and most checks of a variant")


class RecipeCheckAnswer(Answer):
    """Recipe files checked."""

    files: list[RecipeFileAnswer]


class NewRecipeAnswer(Answer):
    """A recipe file that was begun."""

    file: str
    recipe: str
    functions: dict[str, str] = Field(description="name in the recipe, and function")


class ArgumentAnswer(Answer):
    """One figure a function takes."""

    name: str
    quantity: str = Field(description="such as length; `function` for the name of another function")
    default: str | None = Field(description="when left out; null: it is needed")
    help: str


class FunctionLine(Answer):
    """What a recipe may ask for."""

    name: str
    about: str
    arguments: list[ArgumentAnswer]
    principles: dict[str, str] = Field(description="ways to do it, and what each is")


class FunctionsAnswer(Answer):
    """All that a recipe may ask for."""

    functions: list[FunctionLine]
