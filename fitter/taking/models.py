"""What the commands about parts set aside answer, as models."""

from __future__ import annotations

from pydantic import Field

from fitter.models import Answer


class HeldPart(Answer):
    """What a role of a build holds: pieces of a lot, or amps of a supply that others may draw on too."""

    role: str
    lot: str
    name: str
    bin: str
    count: int = Field(description="pieces; zero where it draws on a shared unit")
    offer: str = Field(description="the way the lot is used, such as a coil connection or a rail")
    rail: int | None = Field(description="of a shared unit, from 1")
    current: float | None = Field(description="A kept on a shared unit, headroom included")
    power: float | None = Field(description="W kept on a shared unit, headroom included")
    outputs: str = Field(description="of a controller: what the build uses of it")
    gone: str = Field(default="", description="the build with which a shared unit left the stock")


class Purchase(Answer):
    """What is still to be bought for a role."""

    role: str
    what: str


class HeldBuild(Answer):
    """A build with parts set aside."""

    name: str
    recipe: str
    date: str
    state: str
    demands: str = Field(description="those that were set, as typed")
    parts: list[HeldPart]
    to_buy: list[Purchase]
    to_measure: list[str]
    unfinished: bool = Field(default=False, description="using it up was begun and interrupted")


class TakenAnswer(Answer):
    """Parts set aside for a build."""

    build: HeldBuild
    set_number: int
    file: str = Field(description="where it is written down")


class PutBackAnswer(Answer):
    """A build whose parts are free again."""

    name: str
    recipe: str
    parts: list[HeldPart]
    faulty: list[str] = Field(default_factory=list, description="lots of which a piece was broken")
    file: str


class UsedUpAnswer(Answer):
    """Parts that have left the stock with a build."""

    name: str
    recipe: str
    parts: list[HeldPart]
    removed: list[str] = Field(description="lots that are no more")
    left: dict[str, int] = Field(description="pieces that the other lots still have")
    still_held: list[HeldPart] = Field(description="what stays set aside for the build")
    notes: list[str] = Field(default_factory=list)
    file: str


class EventAnswer(Answer):
    """A line of the history."""

    date: str
    what: str
    build: str
    recipe: str
    parts: str


class SetAsideAnswer(Answer):
    """All that is set aside, what is odd about it, and the history, oldest first."""

    builds: list[HeldBuild]
    mismatches: list[str]
    history: list[EventAnswer]
