"""Answers about limits of demands, uses of lots, and donor machines."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fitter.models import LEFT_OUT, STOPPED_BY, Answer, CheckAnswer, StoppedBy

Sense = Literal["largest", "smallest"]
CertaintyName = Literal["certain", "likely", "best"]


class VariedAnswer(Answer):
    """A demand that is varied."""

    demand: str
    asked: float
    quantity: str
    unit: str


class ReachAnswer(Answer):
    """How far a demand goes, and what stands in the way of more."""

    certainty: CertaintyName = Field(
        description="certain: every check fits; likely: it does with each rating at its likely value; "
        "best: no check fails"
    )
    value: float | None = Field(description="the furthest value of three digits; null where none goes")
    proved: bool = Field(
        description="nothing was left open: beyond it no set from stock passes; of a sampled side, "
        "at none of the values sampled"
    )
    at_end: bool = Field(description="as far as the recipe allows")
    parts: dict[str, str] = Field(description="the best set there: the lot in each role")
    beyond: float | None = Field(description="the next value of three digits")
    checks: list[CheckAnswer] = Field(description="of that set, what no longer passes at the next value")
    roles: list[str] = Field(description="roles in which one bought part would carry it to the next value")
    measure: list[str] = Field(description="ratings to measure before that set is certain to pass")


class SideAnswer(Answer):
    """The largest or the smallest value of a demand, from certain to at best."""

    sense: Sense
    reaches: list[ReachAnswer]
    sampled: list[float] = Field(
        description="values tried where some checks get easier and others harder with the demand: "
        "what goes only between two of them is not seen; empty where that cannot be"
    )


class CellAnswer(Answer):
    """How far a demand goes beside one value of another."""

    sense: Sense
    certain: float | None
    likely: float | None
    best: float | None
    proved: bool


class RowAnswer(Answer):
    """One value of the second demand, and how far the first goes beside it."""

    value: float
    cells: list[CellAnswer]


class LimitsAnswer(Answer):
    """How far a demand goes with the stock alone."""

    recipe: str
    title: str
    demand: VariedAnswer
    sides: list[SideAnswer]
    second: VariedAnswer | None = None
    rows: list[RowAnswer] = Field(default_factory=list)
    outcome: Literal["complete", "stopped"]
    stopped_by: StoppedBy | None = STOPPED_BY
    set_aside: list[str] = LEFT_OUT


class RoleUse(Answer):
    """A lot in one role of one recipe."""

    recipe: str
    role: str
    state: str = Field(description="of the best set with the lot in this role, as asked")
    useful: bool | None = Field(description="a set passes with some values of the demands; null: not known")
    measure: list[str] = Field(description="open ratings of the lot")
    measure_others: list[str] = Field(description="open ratings of the other parts")
    to_buy: int
    parts: dict[str, str | None] = Field(description="the set; null where something is bought")
    fails: list[CheckAnswer] = Field(description="of the set that comes closest, where none passes")
    short: str = Field(default="", description="where the lot has too few pieces")
    outcome: Literal["complete", "stopped"]
    stopped_by: StoppedBy | None = STOPPED_BY


class UsesAnswer(Answer):
    """What a lot is good for."""

    lot: str
    kind: str
    name: str
    bin: str
    count: int
    refused: str = Field(default="", description="why it is never placed")
    uses: list[RoleUse]
    set_aside: list[str] = LEFT_OUT


class PassOnAnswer(Answer):
    """A lot, or pieces of it, that no project has a use for."""

    lot: str
    kind: str
    name: str
    bin: str
    count: int
    spare: int = Field(description="pieces beyond any use")
    reason: Literal[
        "never placed", "faulty", "no project takes it", "too few", "no set passes with it", "too many"
    ]
    text: str


class PassOnsAnswer(Answer):
    """Candidates to pass on."""

    lots: list[PassOnAnswer]
    not_known: list[str] = Field(description="lots that could not be looked at in time")
    outcome: Literal["complete", "stopped"]
    stopped_by: StoppedBy | None = STOPPED_BY
    set_aside: list[str] = LEFT_OUT


class GapClosed(Answer):
    """A gap that a machine may close."""

    recipe: str
    role: str
    kind: str
    count: int
    chance: float = Field(description="that the machine holds pieces enough within the limits of the gap")
    fits: float = Field(description="chance that such a part in it keeps to the limits")
    hint: str


class MachineAnswer(Answer):
    """A kind of discarded machine and the gaps it may close."""

    machine: str
    gaps_closed: float = Field(description="expected number, by kind, pieces and limits")
    strip_time: str
    gaps: list[GapClosed]
    hazards: dict[str, str]


class MachinesAnswer(Answer):
    """Machines to look for, most useful first."""

    recipes: dict[str, str] = Field(description="recipes asked for and their states")
    machines: list[MachineAnswer]
    nowhere: list[str] = Field(description="gaps (recipe role: kind) that nothing in a machine fits")
    outcome: Literal["complete", "stopped"]
    set_aside: list[str] = LEFT_OUT


class PullAnswer(Answer):
    """One kind of part in a machine."""

    kind: str
    use: Literal["closes a gap", "used by projects", "no use here", "leave alone"]
    chance: float
    count: str
    hint: str
    gaps: list[str] = Field(description="recipe role")
    outside: list[str] = Field(description="gaps (recipe role: ratings) whose limits it commonly misses")
    roles: int = Field(description="in how many roles of recipes it may stand")
    in_stock: int = Field(description="pieces of that kind")
    hazards: dict[str, str]
    text: str = ""


class PullList(Answer):
    """What to take out of a machine, in order."""

    machine: str
    also: list[str]
    strip_time: str
    rails: list[str]
    hazards: dict[str, str]
    keep_together: list[str]
    pulls: list[PullAnswer]
    outcome: Literal["complete", "stopped"]
    set_aside: list[str] = LEFT_OUT
