"""What the answer to several builds from one stock looks like."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fitter.models import LEFT_OUT, Answer
from fitter.shopping import ShoppingLine


class PlannedBuild(Answer):
    """One build of a plan."""

    recipe: str
    title: str
    state: str
    to_buy: int
    to_measure: int
    parts: dict[str, str | None] = Field(description="lot in each role; null for one to buy")
    pieces: dict[str, int] = Field(description="pieces taken of each lot; one where a unit is shared")
    measure: list[str]
    tests: list[str] = Field(description="open checks that no measurement settles: to be tried")


class ClashAnswer(Answer):
    """A lot for which builds contend, so that they cannot all have their own best set."""

    lot: str
    recipes: list[str]
    about: Literal["pieces", "current"]


class Unlock(Answer):
    """One step that makes builds of the plan ready, or brings them as near as one step can."""

    step: Literal["buy", "measure"]
    what: str
    price: float | None = None
    ready: list[str] = Field(
        description="builds that it alone can make ready besides; a measurement may also come out otherwise"
    )
    replanned: bool = Field(
        default=True, description="found by planning anew; else for the plan as it stands, for want of time"
    )
    helps: list[str] = Field(description="builds of the plan that need it")


class PlanAnswer(Answer):
    """Several builds from one stock."""

    outcome: Literal["complete", "stopped"]
    optimal: bool = Field(description="proved that no plan is better")
    builds: list[PlannedBuild]
    left_out: list[str] = Field(description="recipes of which no set was found in what the others leave")
    clashes: list[ClashAnswer]
    shopping: list[ShoppingLine]
    price: float | None
    unlocks: Unlock | None
    set_aside: list[str] = LEFT_OUT
