"""What the answer of entering a lot looks like."""

from __future__ import annotations

from pydantic import Field

from fitter.models import Answer


class MeantAnswer(Answer):
    """What some words of the line were understood as."""

    words: str
    field: str
    value: str
    note: str


class EstimateAnswer(Answer):
    """A rating that nobody stated, as it is estimated now."""

    rating: str
    min: float | None
    max: float | None
    likely: float | None
    unit: str
    sentence: str
    applied: bool = Field(description="whether its ends hold in every answer; else only what is likely")


class AddAnswer(Answer):
    """A lot entered, or what would be entered."""

    lot: str
    kind: str
    count: int
    file: str
    line: int | None = Field(description="where it stands now; null when nothing was written")
    written: bool
    why_there: str
    understood: list[MeantAnswer]
    fields: dict[str, str | list[dict[str, str]]] = Field(description="as they stand in the file")
    estimates: list[EstimateAnswer]
    contradictions: list[str]
    refused: str = Field(description="why it is never placed; empty when it may be")
    hints: list[str]
