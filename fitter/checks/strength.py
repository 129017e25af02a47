"""Whether belts, screws, teeth, couplers and gears stand what they pass on."""

from __future__ import annotations

from math import pi

import numpy as np

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_least, stays_above, stays_below, within
from fitter.checks.motion import Load, Stage, Train, total_advance
from fitter.intervals import Interval, monotone
from fitter.physics import gears, screws

ROOT = Interval(
    0.68, 0.85
)  # core over outside diameter of a thread: Tr 8x2 to M10; common practice, no source
BUCKLING_SAFETY = 2.0  # makers of ball screws allow half of Euler's load
WHIP_LIMIT = 0.8  # of the critical speed; the same makers
SERVICE_FACTOR = 1.5  # on the torque that a coupler passes on, smooth drive; common practice, no source


class BeltPull(Check):
    """A belt carries the pull of the load while it speeds up."""

    name = "pull on the belt"
    quantity = "force"
    belt: RoleName
    load: Load

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.load.force(parts), parts[self.belt]["working_force"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "pull while it speeds up; a wider or coarser belt carries more"


class LoopPull(Check):
    """An endless belt carries the torque of the driven shaft at the radius of its wheel."""

    name = "pull on the belt"
    quantity = "force"
    belt: RoleName
    wheel: RoleName
    load: Load

    def judge(self, parts: Parts) -> Judgement:
        wheel = parts[self.wheel]
        radius = wheel["belt_pitch"] * wheel["teeth"] * (1 / (2 * pi))
        return at_least(self.load.force(parts) / radius, parts[self.belt]["working_force"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "torque over the radius of the driven pulley; a wider or coarser belt carries more"


class ScrewBuckling(Check):
    """A long thin screw gives way sideways under a push along it: half of that push is allowed."""

    name = "buckling of the screw"
    quantity = "force"
    screw: RoleName
    load: Load

    def judge(self, parts: Parts) -> Judgement:
        part = parts[self.screw]
        limit = monotone(
            screws.column_limit,
            rising={"root_diameter": part["diameter"] * ROOT},
            falling={"length": part["length"]},
        )
        return at_least(self.load.force(parts) * BUCKLING_SAFETY, limit)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"its whole length free between two bearings, {BUCKLING_SAFETY:g} times the push"


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
            screws.critical_speed,
            rising={"root_diameter": part["diameter"] * ROOT},
            falling={"length": part["length"]},
        )
        turning = Interval.point(self.speed) / total_advance(self.stages, parts)
        sliding = turning * part["diameter"] * 0.5
        judged = at_least(turning, critical * WHIP_LIMIT)
        return within(
            stays_below(sliding, screws.FASTEST_SLIDING),
            judged,
            "its thread slides faster than 1 m/s: friction and wear are not known there",
        )


class ToothStrength(Check):
    """A tooth carries the pull of the load while it speeds up."""

    name = "strength of the teeth"
    quantity = "force"
    gear: RoleName
    load: Load

    def judge(self, parts: Parts) -> Judgement:
        part = parts[self.gear]
        fewest = min(gears.LEWIS_FACTORS)
        inside = stays_above(part["teeth"], fewest)
        judged = at_least(self.load.force(parts), part["tooth_force"])
        return within(inside, judged, f"teeth are reckoned from {fewest} a gear, fewer are weaker")

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "one tooth of the gear takes the whole pull; plastic ones carry little"


class GearStrength(Check):
    """The gears on the motor must stand the torque they pass on."""

    name = "gear strength"
    quantity = "torque"
    train: Train

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.train.torque(parts), parts[self.train.motor]["gear_torque_limit"])


class CouplerTorque(Check):
    """A coupler stands the holding torque of its stepper, which any stop calls up."""

    name = "coupler torque"
    quantity = "torque"
    coupler: RoleName
    motor: RoleName
    between: tuple[Stage, ...] = ()

    def judge(self, parts: Parts) -> Judgement:
        most = parts[self.motor]["holding_torque"] / total_advance(self.between, parts)
        return at_least(most, parts[self.coupler]["torque"])


class CouplerLoad(Check):
    """A coupler stands the torque its motor passes on to the load."""

    name = "coupler torque"
    quantity = "torque"
    coupler: RoleName
    train: Train

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.train.torque(parts) * SERVICE_FACTOR, parts[self.coupler]["torque"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{SERVICE_FACTOR:g} times the torque while it speeds up; a blocked motor may give more"


class ReductionTorque(Check):
    """A reduction stands the torque that it passes on to the load."""

    name = "torque through the reduction"
    quantity = "torque"
    reduction: RoleName
    behind: Train

    def judge(self, parts: Parts) -> Judgement:
        passed_on = self.behind.torque(parts, inertia=False)
        return at_least(passed_on * SERVICE_FACTOR, parts[self.reduction]["torque"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{SERVICE_FACTOR:g} times the torque on its slow side while it speeds up"


class HoldsUnpowered(Check):
    """Without power the load must not run back: down an incline, or against the torque it is turned with."""

    name = "holds without power"
    quantity = "torque"
    train: Train
    stepping: bool

    def judge(self, parts: Parts) -> Judgement:
        train = self.train
        pull = train.load.pushes_back(parts) * train.advance(parts) * train.back_drives(parts)
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

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        if judgement.need.hi <= 0:
            return "a stage locks by itself, or nothing pushes back"
        what = "the torque at the shaft" if self.train.load.rotary else "the weight"
        return f"what {what} pushes back through the stages against what the motor holds unpowered"
