"""What a stepper is likely to be, by its size, step angle, ohms, wires and mass: the formulas of its rules.

Classes and bands are in ``advice/priors.yaml``. A motor that fits no class is bounded by its volume alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from fitter.intervals import Interval
from fitter.kinds import priors
from fitter.kinds.priors import Seen, StepperClass, hull, sized

# Inputs of the rules that go by class, after the resistance of a coil.
SEEN = ("frame_width", "body_length", "step_angle", "wires", "mass")
NOTHING = Interval(-math.inf, math.inf)  # what a rule says when it has nothing to say
# Holding torque per body volume, N m/m3; common practice, no source.
HYBRID_DENSITY = Interval(1.5e3, 11e3)
CAN_DENSITY = Interval(0.15e3, 2.5e3)


_DENSITY = {"hybrid": HYBRID_DENSITY, "can": CAN_DENSITY}


def torque_by_volume(width: Interval, length: Interval, step: Interval) -> Interval:
    """Holding torque per body volume: hybrids 1.5 to 11, can types 0.15 to 2.5 mN m/cm3."""
    return width * width * length * hull([_DENSITY[build] for build in priors.builds(step)])


def _classes(
    ohms: Interval, width: Interval, length: Interval, step: Interval, mass: Interval
) -> tuple[StepperClass, ...]:
    return tuple(c for of in sized(Seen(width, length, step, ohms, mass)) for c in of.classes)


def torque_by_class(
    ohms: Interval, width: Interval, length: Interval, step: Interval, wires: Interval, mass: Interval
) -> Interval:
    """The hull of the bands of all classes it may be; by volume for lengths beyond all classes."""
    found = sized(Seen(width, length, step, ohms, mass))
    half = priors.half_coil("holding_torque", wires)
    spans = [Interval(float(c.hold.lo) * half, c.hold.hi) for of in found for c in of.classes]
    if not spans:
        return NOTHING
    beyond = [
        width * width * part * _DENSITY[of.build] for of in found for part in _outside(length, of.reach)
    ]
    return hull(spans + beyond)


def _outside(length: Interval, reach: Interval) -> Iterator[Interval]:
    """What of a length lies below or above what the classes reach."""
    if length.lo < reach.lo:
        yield Interval(length.lo, min(float(length.hi), float(reach.lo)))
    if length.hi > reach.hi:
        yield Interval(max(float(length.lo), float(reach.hi)), length.hi)


def likely_torque(
    ohms: Interval, width: Interval, length: Interval, step: Interval, wires: Interval, mass: Interval
) -> float:
    """Likely holding torque of the classes it may be; their geometric mean."""
    classes = _classes(ohms, width, length, step, mass)
    factor = priors.half_coil("holding_torque", wires) if wires.lo > 4 else 1.0
    return (
        float(math.prod(c.likely_hold for c in classes) ** (1 / len(classes)) * factor)
        if classes
        else math.nan
    )


def time_constant_by_class(
    ohms: Interval, width: Interval, length: Interval, step: Interval, wires: Interval, mass: Interval
) -> Interval:
    """Usual L/R of all classes it may be, s; nothing where its length may be beyond them."""
    found = sized(Seen(width, length, step, ohms, mass))
    spans = [c.tau for of in found for c in of.classes]
    if not spans or any(True for of in found for _ in _outside(length, of.reach)):
        return NOTHING
    span = hull(spans)
    return Interval(float(span.lo) * priors.half_coil("time_constant", wires), span.hi)


def length_by_class(width: Interval, step: Interval, mass: Interval) -> Interval:
    """Lengths of the classes of this width that weigh as much; anything where none does."""
    if not mass.hi < math.inf:
        return NOTHING
    classes = _classes(NOTHING, width, NOTHING, step, mass)
    return hull([c.length for c in classes]) if classes else NOTHING


def class_in_words(
    ohms: Interval, width: Interval, length: Interval, step: Interval, wires: Interval, mass: Interval
) -> str:
    """The classes it may be, in words."""
    return priors.names_of(_classes(ohms, width, length, step, mass))


def class_by_mass(width: Interval, step: Interval, mass: Interval) -> str:
    """The classes that weigh as much, in words."""
    return priors.names_of(_classes(NOTHING, width, NOTHING, step, mass))
