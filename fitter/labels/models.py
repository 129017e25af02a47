"""What stands on labels."""

from __future__ import annotations

from pydantic import Field

from fitter.models import Answer


class LabelAnswer(Answer):
    """One label."""

    id: str = Field(description="of the lot; also what the code holds")
    kind: str
    count: int
    ratings: list[str] = Field(description="the ones that matter for the kind, in words")
    donor: str
    bin: str
    tested: str = Field(description="whether the parts were tried, or worn or faulty")
    measured: str = Field(description="day of the last measurement, ISO 8601; empty where not known")
    refused: str = Field(description="why it is never placed in a build; empty when it may be")


class LabelsAnswer(Answer):
    """The answer to `stock labels`."""

    file: str
    sheets: int
    labels: list[LabelAnswer]
