"""What a comparison of ways looks like."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fitter.models import LEFT_OUT, STAND_IN, STOPPED_BY, Answer, CheckAnswer, StoppedBy

Holds = Literal["yes", "no", "unproven"]


class Bought(Answer):
    """One part to buy."""

    role: str
    kind: str
    count: int
    example: str
    price: float | None = Field(description="euro for all pieces, an estimate")


class WayAnswer(Answer):
    """One way to do a function, with the best set of the whole project that does it so."""

    principle: str
    about: str
    goes: bool = Field(description="whether a set passes with it, parts from a shop included")
    why_not: str = Field(default="", description="one line; empty where it goes")
    outcome: Literal["complete", "stopped"]
    stopped_by: StoppedBy | None = STOPPED_BY
    stand_in: bool = STAND_IN
    state: str
    tightest: CheckAnswer | None = Field(description="of the checks that read the function's own parts")
    noise: str = Field(description="silent, quiet, audible or loud; empty where not known")
    holds: Holds | None = Field(description="its load without power; null where it moves none")
    holds_because: str = ""
    uses: dict[str, str | None] = Field(description="lots in the function's own roles; null for parts to buy")
    to_buy: list[Bought] = Field(description="for the whole project")
    price: float | None = Field(description="euro for all of them; null where nothing is bought")
    to_measure: list[str] = Field(description="open ratings of the whole set, most telling first")


class FunctionWays(Answer):
    """One function and all ways to do it, the best set's first; those that do not go come last."""

    function: str
    about: str
    ways: list[WayAnswer]


class CompareAnswer(Answer):
    """The answer to `match RECIPE --compare`."""

    recipe: str
    title: str
    demands: dict[str, float]
    functions: list[FunctionWays]
    set_aside: list[str] = LEFT_OUT
