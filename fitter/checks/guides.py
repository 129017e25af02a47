"""What carries a load along: rods with bushes, and drawer slides."""

from __future__ import annotations

from fitter.checks.base import Check, Judgement, Parts, RoleName, at_least, at_most
from fitter.intervals import monotone
from fitter.physics import beams
from fitter.physics.motion import GRAVITY

CLAMPING = 0.03  # length of a rod taken by its two clamps, m; common practice, no source
SLIDE_SAFETY = 1.25  # a used slide is loaded to 80 % of its rating; common practice, no source


class RodTravel(Check):
    """A rod is long enough for the travel, the carriage and its clamps."""

    name = "travel of the rods"
    quantity = "length"
    rod: RoleName
    travel: float
    carriage_length: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.travel, parts[self.rod]["length"] - (self.carriage_length + CLAMPING))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "rod less carriage and clamps"


class RodSag(Check):
    """Two rods, supported at their ends, bend under the load at mid span."""

    name = "sag of the rods"
    quantity = "length"
    sense = "at most"
    rod: RoleName
    mass: float
    limit: float
    span: float

    def judge(self, parts: Parts) -> Judgement:
        force = self.mass * GRAVITY / 2
        actual = monotone(
            lambda diameter: (
                beams.sag_supported_ends(force, self.span, diameter, beams.STEEL_MODULUS)
                + beams.shear_sag(force, self.span, diameter)
            ),
            falling={"diameter": parts[self.rod]["diameter"]},
        )
        return at_most(self.limit, actual)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "two steel rods clamped as near as the travel allows, load in the middle"


class BearingLoad(Check):
    """Linear bearings share the load; half of them may carry it all."""

    name = "load of the bearings"
    quantity = "mass"
    bearing: RoleName
    mass: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.mass / 2, parts[self.bearing]["load"])


class SlideTravel(Check):
    """Extension of a slide."""

    name = "travel of the slides"
    quantity = "length"
    slide: RoleName
    travel: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.travel, parts[self.slide]["travel"])


class SlideLoad(Check):
    """Load of a pair of slides, the drawer included."""

    name = "load of the slides"
    quantity = "mass"
    slide: RoleName
    mass: float

    def judge(self, parts: Parts) -> Judgement:
        return at_least(self.mass * SLIDE_SAFETY, parts[self.slide]["load"])

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return "rating of the pair, drawer included, used to 80 %"


class SlidePlay(Check):
    """Sideways play at full extension."""

    name = "play of the slides"
    quantity = "length"
    sense = "at most"
    slide: RoleName
    limit: float

    def judge(self, parts: Parts) -> Judgement:
        return at_most(self.limit, parts[self.slide]["play"])


class SlideClosed(Check):
    """Room the slide takes when pushed in."""

    name = "closed length of the slides"
    quantity = "length"
    sense = "at most"
    slide: RoleName
    limit: float

    def judge(self, parts: Parts) -> Judgement:
        return at_most(self.limit, parts[self.slide]["closed_length"])
