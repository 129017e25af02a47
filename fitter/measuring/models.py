"""What answers about measuring look like."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from fitter.models import LEFT_OUT, Answer


class StepAnswer(Answer):
    """One rating to measure, or a part to try."""

    lot: str
    rating: str = Field(description="`condition` where the part is to be tried")
    kind: str
    name: str
    bin: str
    minutes: float
    procedure: str | None = Field(description="code of the bench procedure; null where a glance will do")
    how: str
    min: float | None
    max: float | None
    likely: float | None
    unit: str
    quantity: str


class EffectAnswer(Answer):
    """What a measurement would do for one recipe, with chances from 0 to 1."""

    recipe: str
    state: str = Field(description="the state now")
    becomes: str = Field(description="the state when a set passes; then nothing is open any more")
    passes: float = Field(description="chance that a set passes")
    rules_out: float = Field(description="chance that all its sets are ruled out, which settles it too")
    best_fails: float = Field(description="chance that the best set fails, which need not settle the recipe")
    sets: int = Field(description="sets looked at whose verdict hangs on it")
    roles: list[str] = Field(description="roles that the lots fill in those sets")


class MeasurementAnswer(Answer):
    """Ratings to measure together, in this order, and what that would settle."""

    rank: int
    steps: list[StepAnswer]
    minutes: float
    expected: float = Field(description="recipes expected to be settled")
    per_minute: float
    recipes: list[EffectAnswer]
    instead_of: int | None = Field(
        default=None, description="rank of one that serves the same recipes at least as well"
    )


class RecipeState(Answer):
    """A recipe as it stands."""

    recipe: str
    title: str
    state: str
    to_buy: int
    settled: bool = Field(description="whether no measurement can change its state")
    looked_at: bool = Field(
        default=True, description="false where so much must be bought that nothing was weighed for it"
    )


class MeasureAnswer(Answer):
    """What to measure next, the most telling first."""

    recipes: list[RecipeState]
    measurements: list[MeasurementAnswer]
    worlds: int = Field(description="cases drawn to weigh the chances")
    stopped_by: str | None = Field(default=None, description="what cut a search short, if anything did")
    set_aside: list[str] = LEFT_OUT


class ProcedureAnswer(Answer):
    """How to measure something."""

    code: str
    title: str
    tools: list[str]
    steps: list[str]
    mind: list[str]


class MethodAnswer(Answer):
    """Readings from which a rating is worked out; ``readings`` has the quantity of each to be taken."""

    formula: str
    filled: str = Field(description="the formula's inputs, known ones with their figures")
    readings: dict[str, str]
    command: str


class FlipAnswer(Answer):
    """Over which values of a rating a recipe's best set with this lot passes, fails, or stays open."""

    recipe: str
    role: str
    checks: list[str]
    verdict: Literal["fits", "unproven", "fails"]
    min: float | None
    max: float | None
    given: list[str] = Field(
        default_factory=list, description="other open ratings that are taken at their likely values for this"
    )


class CardRating(Answer):
    """One rating of a lot: what is known of it and how, and what would make it certain."""

    rating: str
    quantity: str
    unit: str
    min: float | None
    max: float | None
    likely: float | None
    shown: str
    evidence: str
    basis: str = Field(description="what the interval comes from")
    measured_on: str | None = None
    certain: bool
    minutes: float
    how: str = ""
    procedure: ProcedureAnswer | None = None
    methods: list[MethodAnswer] = Field(default_factory=list)
    flips: list[FlipAnswer] = Field(default_factory=list)


class CardUse(Answer):
    """What a lot does in the best set of a recipe that uses it."""

    recipe: str
    role: str
    state: str
    open: list[str] = Field(description="ratings that keep that set open")


class CardAnswer(Answer):
    """The bench card of a lot."""

    lot: str
    kind: str
    name: str
    bin: str
    count: int
    condition: str
    refused: str
    uses: list[CardUse]
    known: list[CardRating]
    open: list[CardRating]
    contradictions: list[str]
    cautions: dict[str, str]
    set_aside: list[str] = LEFT_OUT


class StoredAnswer(Answer):
    """A value that was stored, as written, and how it came about."""

    rating: str
    value: str
    before: str | None
    working: list[str]


class MovedAnswer(Answer):
    """A recipe before and after."""

    recipe: str
    before: str
    after: str
    to_buy_before: int
    to_buy_after: int
    to_measure_before: int
    to_measure_after: int


class RecordAnswer(Answer):
    """What was recorded, and which answers it changed."""

    lot: str
    file: str
    date: str
    stored: list[StoredAnswer]
    moved: list[MovedAnswer]
    contradictions: list[str]
