"""Checks of where a load gets to: resolution, travel of belts and screws, and holding still."""

from __future__ import annotations

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_least, at_most, yes
from fitter.checks.motion import Stage, total_advance
from fitter.intervals import monotone
from fitter.physics import belts

POSITION_MICROSTEPS = (
    8.0  # finer microsteps do not place a loaded axis more finely; common practice, no source
)


class Resolution(Check):
    """The smallest step a stepper can be told to move the load."""

    name = "resolution"
    sense = "at most"
    driver: RoleName
    motor: RoleName
    stages: tuple[Stage, ...]
    limit: float
    rotary: bool

    @property
    def quantity(self) -> str:  # type: ignore[override]
        return "angle" if self.rotary else "length"

    def judge(self, parts: Parts) -> Judgement:
        parting = parts[self.driver]["microsteps"].minimum(POSITION_MICROSTEPS)
        step = parts[self.motor]["step_angle"] / parting * total_advance(self.stages, parts)
        return at_most(self.limit, step)


class EncoderResolution(Check):
    """The smallest move a strip can tell: a quarter of a line, both edges of both tracks counted."""

    name = "resolution"
    quantity = "length"
    sense = "at most"
    encoder: RoleName
    limit: float

    def judge(self, parts: Parts) -> Judgement:
        return at_most(self.limit, parts[self.encoder]["line_pitch"] * 0.25)


class EncoderLength(Check):
    """The strip must reach along the whole travel."""

    name = "encoder length"
    quantity = "length"
    encoder: RoleName
    travel: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.travel, parts[self.encoder]["length"])


class BeltTravel(Check):
    """Travel that a belt round two pulleys leaves for the carriage."""

    name = "travel of the belt"
    quantity = "length"
    belt: RoleName
    pulley: RoleName
    travel: float
    carriage_length: float

    def judge(self, parts: Parts) -> Judgement:
        belt, pulley = parts[self.belt], parts[self.pulley]
        have = monotone(
            lambda length, pitch, teeth: belts.loop_travel(length, pitch, teeth, self.carriage_length),
            rising={"length": belt["length"]},
            falling={"pitch": pulley["belt_pitch"], "teeth": pulley["teeth"]},
        )
        return at_least(self.travel, have)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "half the belt less half a pulley's turn and the carriage"


class LoopLength(Check):
    """An endless belt reaches round two pulleys that stand side by side without touching."""

    name = "length of the endless belt"
    quantity = "length"
    belt: RoleName
    pulley: RoleName
    wheel: RoleName

    def judge(self, parts: Parts) -> Judgement:
        need = monotone(
            belts.least_loop,
            rising={
                "pitch": parts[self.pulley]["belt_pitch"],
                "teeth_a": parts[self.pulley]["teeth"],
                "teeth_b": parts[self.wheel]["teeth"],
            },
        )
        return at_least(need, parts[self.belt]["length"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "the pulleys all but touching; a longer belt only moves them apart"


class LoopClosed(Check):
    """Between two shafts the belt must be endless."""

    name = "endless belt"
    quantity = "flag"
    belt: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return yes(parts[self.belt]["closed"])


class ScrewTravel(Check):
    """Travel that a screw or rack leaves for the carriage."""

    name = "travel of the screw or rack"
    quantity = "length"
    part: RoleName
    travel: float
    carriage_length: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.travel, parts[self.part]["length"] - self.carriage_length)


class ScrewNut(Check):
    """A screw is of use with its nut."""

    name = "nut of the screw"
    quantity = "flag"
    screw: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return yes(parts[self.screw]["nut"])
