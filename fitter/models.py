"""What answers look like: plain models, the source of the JSON and of its published schema.

Quantities are numbers in SI base or coherent derived units, with the unit named beside them; an
unbounded end of an interval is null. A margin whose lower end is null is ample.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from fitter.units import QUANTITIES

Ends = tuple[float | None, float | None]
Order = Literal["ranked", "diverse"]
StoppedBy = Literal["nodes", "seconds", "interrupt"]
FLAG = "flag"  # a property that is there or not: one for yes, zero for no


def unit_of_quantity(quantity: str) -> str:
    """SI unit of a quantity; that of a plain number for yes and no."""
    return "1" if quantity == FLAG else QUANTITIES[quantity].unit


class Answer(BaseModel):
    """Base of all answers; a model is set up when first used, which keeps the start short."""

    model_config = ConfigDict(defer_build=True)


# what every answer says of its search
STOPPED_BY = Field(default=None, description="what stopped the search before its end; null when complete")
LEFT_OUT: Any = Field(
    default_factory=list, description="builds whose parts are set aside, and so not counted with here"
)
STAND_IN = Field(default=False, description="the set shown was put together at once: better ones may exist")


class CheckAnswer(Answer):
    """One check of a set: need, have and margin (have over need, or limit over actual)."""

    check: str
    roles: list[str]
    verdict: Literal["fits", "unproven", "fails"]
    sense: Literal["at least", "at most", "equal"]
    quantity: str
    need: Ends
    have: Ends
    unit: str
    margin: Ends
    because: list[str] = Field(description="ratings (lot.rating) that keep it unproven")
    sentence: str = ""


SELDOM_LISTED: Any = Field(
    default_factory=dict, description="limits of ratings that shops seldom give: usual for such parts"
)
PRICE_RANGE: Any = Field(default=None, description="euro for all pieces, lowest and highest, an estimate")


class LimitAnswer(Answer):
    """Least and most of a rating of something to buy."""

    min: float | None
    max: float | None
    unit: str
    quantity: str
    size: float | None = Field(default=None, description="size to ask for, one that shops carry")


class BuyAnswer(Answer):
    """What to buy for a role: an example size, its usual price, and the limits that any part must keep."""

    kind: str
    count: int
    example: str
    price: float | None = Field(description="euro for all pieces, an estimate")
    spec: dict[str, LimitAnswer]
    seldom_listed: dict[str, LimitAnswer] = SELDOM_LISTED
    price_range: tuple[float, float] | None = PRICE_RANGE


class PartAnswer(Answer):
    """What fills a role: a lot of the stock in one of its uses, or something to buy."""

    lot: str | None
    offer: str
    name: str
    bin: str
    count: int
    buy: BuyAnswer | None
    ruled_out: list[str] = Field(default_factory=list, description="other uses of the lot, refused, and why")


class NearMiss(Answer):
    """The stock's closest part for a role that nothing in stock fills, and how far off it is."""

    role: str
    lot: str
    checks: list[CheckAnswer]
    short: str = Field(default="", description="where there are too few pieces")


class SubstituteAnswer(Answer):
    """Another part that would do in a role, everything else as it is: a lot, or something to buy."""

    lot: str | None
    offer: str
    name: str
    bin: str
    count: int
    price: float | None = Field(description="euro for all pieces where it must be bought, an estimate")


class SetAnswer(Answer):
    """One combination of parts."""

    rank: int
    state: str
    principles: dict[str, str]
    to_buy: int
    to_measure: int
    parts: dict[str, PartAnswer]
    checks: list[CheckAnswer]
    measure: list[str] = Field(description="open ratings, the one that decides most first")
    near_misses: list[NearMiss]
    substitutes: dict[str, list[SubstituteAnswer]] = Field(
        default_factory=dict, description="what else would do in a role, best first; in the diverse order"
    )


class RequirementAnswer(Answer):
    """One thing that is asked for: a demand, a lot fixed or left out by hand, a function from stock."""

    sort: Literal["demand", "fixed", "left out", "stock"]
    name: str = Field(description="of the demand, the role, the lot or the function")
    text: str


class ClashAnswer(Answer):
    """Requirements that cannot be met together, and what stands between them."""

    requirements: list[RequirementAnswer]
    roles: list[str] = Field(description="roles of its functions that cannot all be filled from stock")
    checks: list[str] | None = Field(
        description="checks that rule it out between them; empty: parts are missing; null: not found in time"
    )
    smallest: bool = Field(description="proved: no set with fewer requirements clashes")
    text: str


class ChangeAnswer(Answer):
    """A demand changed so that a project goes."""

    demand: str
    asked: float
    value: float
    unit: str
    quantity: str
    least: bool = Field(description="proved: the next value of three digits towards the one asked is not met")


class RelaxationAnswer(Answer):
    """Changes of what is asked with which a set passes, and the best such set."""

    changes: list[ChangeAnswer]
    let_go: list[RequirementAnswer] = Field(description="what was fixed or left out by hand, given up")
    state: str
    to_buy: int
    to_measure: int
    parts: dict[str, str | None]
    text: str
    size: float = Field(default=0.0, description="how much gives way: sum of the shares of each change")


class ExplanationAnswer(Answer):
    """Why no set passes, or none from stock alone, and the least changes that repair it."""

    from_stock: bool = Field(description="asked of the stock alone; else bought parts are allowed")
    clashes: list[ClashAnswer]
    relaxations: list[RelaxationAnswer] = Field(description="each suffices by itself, the least first")
    hopeless: bool = Field(description="no change of what is asked helps, each demand at its easiest")
    outcome: Literal["complete", "stopped"]


class StockPartAnswer(Answer):
    """A lot of the stock and where it lies."""

    lot: str
    name: str
    bin: str


class FigureAnswer(Answer):
    """A check that failed, before a change and with it; null where the change gives it up."""

    check: str
    quantity: str
    unit: str
    need_before: Ends
    have_before: Ends
    need: Ends | None
    have: Ends | None


class StepAnswer(Answer):
    """One change with which a project goes without buying, or with the rail or reduction that it names."""

    sort: Literal["demand", "coils", "rail", "gear", "preference"]
    about: str = Field(description="demand, role, or function and argument")
    text: str
    changes: list[ChangeAnswer] = Field(default_factory=list, description="of demands")
    figures: list[FigureAnswer] = Field(default_factory=list, description="what failed, before and after")
    spec: dict[str, LimitAnswer] = Field(default_factory=dict, description="limits of the rail or reduction")
    from_stock: list[StockPartAnswer] = Field(default_factory=list, description="what it is made of")
    price: float = Field(default=0.0, description="euro, an estimate; zero where the stock has it")
    state: str
    to_measure: int
    parts: dict[str, str | None]


class StepsAnswer(Answer):
    """The least changes that make a project go without buying, the cheapest first, at most three."""

    steps: list[StepAnswer]
    lacking: list[str] = Field(description="what the nearest set from stock alone fails")
    outcome: Literal["complete", "stopped"]


STEPS: Any = Field(default=None, description="where the stock alone does not serve; else null")


class MatchAnswer(Answer):
    """Sets for a project, best first."""

    recipe: str
    title: str
    outcome: Literal["complete", "stopped"]
    stopped_by: StoppedBy | None = STOPPED_BY
    stand_in: bool = STAND_IN
    order: Order = Field(
        default="ranked",
        description="ranked: by score; diverse: the best of those that differ in what matters",
    )
    asked: int = Field(default=1, description="how many sets were asked for")
    state: str
    demands: dict[str, float]
    sets: list[SetAnswer]
    nearest: SetAnswer | None = Field(default=None, description="what comes closest where no set exists")
    explanations: list[ExplanationAnswer] = Field(
        default_factory=list, description="where no set passes, or none from stock alone"
    )
    steps: StepsAnswer | None = STEPS
    cautions: dict[str, str] = Field(default_factory=dict)
    refused: dict[str, str] = Field(default_factory=dict, description="lots that are never placed, and why")
    set_aside: list[str] = LEFT_OUT


class BuildAnswer(Answer):
    """One project and how far it is from being built."""

    recipe: str
    title: str
    state: str
    outcome: Literal["complete", "stopped"]
    stopped_by: StoppedBy | None = STOPPED_BY
    stand_in: bool = STAND_IN
    to_buy: int
    to_measure: int
    price: float | None
    parts: dict[str, str | None]
    buy: list[str] = Field(default_factory=list, description="what is to buy, in a word or two each")
    why: list[str]


class BuildsAnswer(Answer):
    """All projects, nearest first."""

    builds: list[BuildAnswer]
    refused: dict[str, str] = Field(default_factory=dict)
    set_aside: list[str] = LEFT_OUT


class DonorAnswer(Answer):
    """A machine that commonly holds a missing part."""

    machine: str
    chance: float
    strip_time: str
    hint: str
    hazards: list[str] = Field(default_factory=list, description="cautions while the machine is open")


class MissingAnswer(Answer):
    """One thing that is missing."""

    role: str
    kind: str
    count: int
    example: str
    spec: dict[str, LimitAnswer]
    donors: list[DonorAnswer]
    price: float | None
    closest: NearMiss | None = None
    seldom_listed: dict[str, LimitAnswer] = SELDOM_LISTED
    price_range: tuple[float, float] | None = PRICE_RANGE


class AdapterAnswer(Answer):
    """A small part between two others that do not match."""

    kind: str
    between: list[str] = Field(description="the roles on both sides")
    closes: list[str] = Field(description="checks that fail without it")
    spec: dict[str, LimitAnswer]
    example: str = Field(default="", description="a size that shops carry")
    from_stock: list[StockPartAnswer] = Field(
        default_factory=list, description="lots that do its work: then nothing need be bought"
    )
    price: float
    price_range: tuple[float, float] | None = PRICE_RANGE


class AlternativeAnswer(Answer):
    """Another way to get a project going: better than the best set in something, not in everything."""

    to_buy: int = Field(description="adapters among them")
    price: float = Field(description="euro for all that is bought, an estimate")
    unproven: int = Field(description="checks that could go either way")
    parts: dict[str, str | None]
    buy: dict[str, BuyAnswer]
    adapters: list[AdapterAnswer]
    measure: list[str]
    differs: list[str] = Field(description="in words, what is other than in the best set")


class GapsAnswer(Answer):
    """What is missing for one project."""

    recipe: str
    title: str
    state: str
    outcome: Literal["complete", "stopped"]
    stopped_by: StoppedBy | None = STOPPED_BY
    stand_in: bool = STAND_IN
    missing: list[MissingAnswer]
    measure: list[str]
    fails: list[CheckAnswer] = Field(default_factory=list, description="what no purchase can repair")
    alternatives: list[AlternativeAnswer] = Field(
        default_factory=list,
        description="ways that trade off things to buy, price and open checks",
    )
    set_aside: list[str] = LEFT_OUT
    steps: StepsAnswer | None = STEPS
    cut_short: bool = Field(
        default=False,
        description="other ways and least changes had only a share of the time, and it ran out; "
        "asked about alone, a project has all of it",
    )


class GapsOfSeveral(Answer):
    """What is missing for several projects."""

    gaps: list[GapsAnswer]
