"""Whether two parts go together: bores, belts, gears, rods."""

from __future__ import annotations

import numpy as np

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_least, at_most, equal
from fitter.intervals import Interval
from fitter.units import show

# A bore takes a shaft that differs by no more than this; salvaged pulleys and couplers are reamed to
# the nominal size and clamp or press on (common practice, no source). 6.00 and 6.35 mm must differ.
SHAFT_PLAY = 0.00012
LARGEST = 1e3  # m, larger than any shaft
ROD_PLAY = 0.00015  # bush on its rod: H7 on h6 or looser stays within this up to 18 mm (ISO 286)
PITCH_DIFFERENCE = 0.008  # 2.000 against 2.032 mm is 1.6 % and rides up; half of that is refused
MODULE_DIFFERENCE = 0.02  # module 0.5 against 48 DP (0.529) is 5.8 %: does not mesh


class Shaft(Check):
    """A shaft in a bore."""

    name = "shaft and bore"
    quantity = "length"
    sense = "equal"
    outer: RoleName
    bore: str
    inner: RoleName
    shaft: str

    def judge(self, parts: Parts) -> Judgement:
        return equal(parts[self.inner][self.shaft], parts[self.outer][self.bore], SHAFT_PLAY)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        shaft, bore = show(float(judgement.need.hi), "length"), show(float(judgement.have.lo), "length")
        if judgement.margin.hi >= 1:
            return ""
        remedy = (
            "a sleeve or another bore"
            if judgement.have.lo > judgement.need.hi
            else "drill it out or another bore"
        )
        return f"shaft {shaft} in a bore of {bore}: {remedy} would do"


class CutToFit(Check):
    """A reduction on a shaft, or its own shaft in a bore.

    One that is yet to be made is cut to any size, of which its figure is infinite: then the other part must
    be known well enough.
    """

    name = "shaft and bore"
    quantity = "length"
    sense = "equal"
    reduction: RoleName
    own: str
    other: RoleName
    size: str

    def judge(self, parts: Parts) -> Judgement:
        own, size = parts[self.reduction][self.own], parts[self.other][self.size]
        made = at_least(Interval(size.lo * 0.0, size.hi - size.lo), Interval.point(2 * SHAFT_PLAY)).margin
        bought = equal(size, own.minimum(LARGEST), SHAFT_PLAY).margin
        any_size = np.isinf(own.lo)
        ends = (np.where(any_size, m, b) for m, b in ((made.lo, bought.lo), (made.hi, bought.hi)))
        return Judgement(size, own, Interval(*(e if e.ndim else float(e) for e in ends)))


class BeltPitch(Check):
    """A belt runs only on pulleys of its own pitch."""

    name = "belt pitch"
    quantity = "length"
    sense = "equal"
    pulley: RoleName
    belt: RoleName

    def judge(self, parts: Parts) -> Judgement:
        pulley, belt = parts[self.pulley]["belt_pitch"], parts[self.belt]["belt_pitch"]
        apart = (pulley - belt).magnitude()
        return Judgement(pulley, belt, at_most(pulley * PITCH_DIFFERENCE, apart).margin)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "2.000, 2.032 and 2.073 mm look alike and do not mate" if judgement.margin.lo < 1 else ""


class BeltWidth(Check):
    """The pulley is at least as wide as the belt, within a hair."""

    name = "belt width"
    quantity = "length"
    pulley: RoleName
    belt: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return at_least(parts[self.belt]["width"] - 0.0015, parts[self.pulley]["width"])


class Mesh(Check):
    """Two gears, or a gear and a rack, of one module."""

    name = "gear module"
    quantity = "length"
    sense = "equal"
    first: RoleName
    second: RoleName

    def judge(self, parts: Parts) -> Judgement:
        a, b = parts[self.first]["module"], parts[self.second]["module"]
        return Judgement(a, b, at_most(a * MODULE_DIFFERENCE, (a - b).magnitude()).margin)


class RodBore(Check):
    """A bush on the rod it slides on."""

    name = "rod and bush"
    quantity = "length"
    sense = "equal"
    bush: RoleName
    rod: RoleName

    def judge(self, parts: Parts) -> Judgement:
        return equal(parts[self.rod]["diameter"], parts[self.bush]["bore"], ROD_PLAY)
