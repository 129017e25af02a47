"""What parts usually are by what can be seen of them: the bands of ``advice/priors.yaml``.

The file is read when the first band is asked for. Bands are wide on purpose; where a part fits several
classes the hull of all counts, and where it fits none nothing is said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import Any

from fitter.documents import package_data
from fitter.intervals import Interval
from fitter.records import Record
from fitter.units import parse

HYBRID_TO = math.radians(4.0)  # full steps of hybrids are finer than this, those of can types
CAN_FROM = math.radians(3.7)  # coarser than this; common practice, no source


OHMS_SLACK = 1.25  # how far ohms may be outside a class that still counts when classes are chosen


class StepperClass(Record):
    """Steppers of one build and size: body in m, torque in N m, L/R in s, ohms of a coil, mass in kg."""

    name: str
    build: str
    width: Interval
    length: Interval
    hold: Interval
    likely_hold: float
    tau: Interval
    ohms: Interval
    mass: Interval


class Seen(Record):
    """What is seen of a stepper, each as an interval in SI."""

    width: Interval
    length: Interval
    step: Interval
    ohms: Interval
    mass: Interval


def priors() -> Mapping[str, Any]:
    """The file as it stands."""
    return package_data("advice", "priors.yaml")  # type: ignore[no-any-return]


@cache
def band(name: str) -> Interval:
    """A band of plain numbers.

    >>> band("stepper_current").holds(1.0)
    True
    """
    return _span(str(priors()[name]), "ratio")


def _span(text: str, quantity: str) -> Interval:
    low, _, high = text.partition("..")
    unit = high.lstrip("0123456789.")
    return Interval(parse(low + unit, quantity), parse(high, quantity))


@cache
def stepper_classes() -> tuple[StepperClass, ...]:
    """All classes, in the order of the file."""
    return tuple(_class(entry) for entry in priors()["steppers"])


def _class(entry: Mapping[str, Any]) -> StepperClass:
    least, likely, most = entry["hold"]
    return StepperClass(
        entry["class"],
        entry["build"],
        _span(entry["width"], "length"),
        _span(entry["length"], "length"),
        Interval(float(least), float(most)),
        float(likely),
        _span(entry["tau"], "time"),
        _span(f"{entry['ohms']} ohm", "resistance"),
        _span(entry["mass"], "mass"),
    )


def builds(step: Interval) -> tuple[str, ...]:
    """The builds that a step angle allows."""
    return (*(("hybrid",) if step.lo <= HYBRID_TO else ()), *(("can",) if step.hi >= CAN_FROM else ()))


class Sized(Record):
    """Of one build: the classes a stepper may belong to, and the least and greatest length of its size."""

    build: str
    classes: tuple[StepperClass, ...]
    reach: Interval


@lru_cache(maxsize=4096)
def sized(seen: Seen) -> tuple[Sized, ...]:
    """For each build that is possible the classes a stepper may belong to, by size, ohms and mass.

    Nothing at all where its width is not that of a class of each such build.
    """
    found = []
    for build in builds(seen.step):
        alike = [c for c in stepper_classes() if c.build == build and _inside(seen.width, c.width)]
        if not alike:
            return ()
        fitting = tuple(c for c in alike if _meet(c.length, seen.length) and _weighs_and_reads(c, seen))
        found.append(Sized(build, fitting, hull([c.length for c in alike])))
    return tuple(found)


def _weighs_and_reads(of: StepperClass, seen: Seen) -> bool:
    slack = float(priors()["mass_slack"])
    weighs = seen.mass.hi == math.inf or _meet(_stretched(of.mass, slack), seen.mass)
    return weighs and _meet(_stretched(of.ohms, OHMS_SLACK), seen.ohms)


def _inside(inner: Interval, outer: Interval) -> bool:
    return bool(outer.lo <= inner.lo and inner.hi <= outer.hi)


def _meet(a: Interval, b: Interval) -> bool:
    return bool(a.lo <= b.hi and b.lo <= a.hi)


def _stretched(span: Interval, by: float) -> Interval:
    return Interval(float(span.lo) / by, float(span.hi) * by)


def hull(spans: list[Interval]) -> Interval:
    """The smallest interval that holds all."""
    return Interval(min(float(s.lo) for s in spans), max(float(s.hi) for s in spans))


def half_coil(name: str, wires: Interval) -> float:
    """Factor on the low end of a band that holds for four wires; one where there are no more."""
    return 1.0 if wires.hi <= 4 else float(priors()["half_coil"][name])


def names_of(classes: tuple[StepperClass, ...]) -> str:
    """The classes in words.

    >>> names_of(stepper_classes()[:2])
    'hybrid 20 or hybrid 28'
    """
    return " or ".join(c.name for c in classes)
