"""Checks of where a load gets to: resolution, travel of belts and screws, and holding still."""

from __future__ import annotations

import numpy as np

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_least, at_most, yes
from fitter.checks.motion import Stage, Train, total_advance
from fitter.intervals import Interval, monotone
from fitter.physics import belts, motion, screws

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


class HoldsUnpowered(Check):
    """Without power the load must not run back down the incline."""

    name = "holds without power"
    train: Train
    stepping: bool
    quantity = "torque"

    def judge(self, parts: Parts) -> Judgement:
        load, train = self.train.load, self.train
        sliding = monotone(
            lambda friction, drag: motion.axis_force(load.mass, 0.0, load.incline, -friction, -drag, 0.0),
            falling={"friction": load.friction(parts), "drag": load.drag(parts)},
        ).maximum(0.0)
        pull = sliding * train.advance(parts) * train.back_drives(parts)
        return at_least(pull, self._holding(parts))

    def _holding(self, parts: Parts) -> Interval:
        motor = parts[self.train.motor]
        if self.stepping:
            return motor["detent_torque"]
        locks = motor["self_locking"]
        friction = motor["no_load_current"] * motor["output_constant"]
        return friction + Interval(
            np.where(np.asarray(locks.lo) >= 1, np.inf, 0.0), np.where(np.asarray(locks.hi) >= 1, np.inf, 0.0)
        )


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


class ScrewWhip(Check):
    """A long thin screw whips: run it at 80 % of its critical speed at the most."""

    name = "critical speed of the screw"
    quantity = "angular_speed"
    screw: RoleName
    stages: tuple[Stage, ...]
    speed: float

    def judge(self, parts: Parts) -> Judgement:
        part = parts[self.screw]
        critical = monotone(
            lambda root, length: screws.critical_speed(root, length),
            rising={"root": part["diameter"] * 0.75},
            falling={"length": part["length"]},
        )
        turning = Interval.point(self.speed) / total_advance(self.stages, parts)
        return at_least(turning, critical * 0.8)
