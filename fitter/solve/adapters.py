"""Adapters: small parts that close a failing check, so that a mismatch becomes a line on the list.

Three are known. A *reducing sleeve* brings a shaft to a wider bore. A *step-down converter* brings a rail
to what a controller board or a servo stands. A *level shifter* brings a controller's signals to what listens.
Each is specified so that the check passes for certain with the adapter between, which is judged by the
check itself; a mismatch that no such part closes for certain gets none.

What an adapter does not change is judged as if it were not there, on the safe side: a sleeve passes on the
shaft's torque, and a converter draws no more current from its rail than it gives (its output stays below
the share of the input at which that holds). Couplers are parts of their own in the search; reductions
between motor and load (gears, a second belt) are not offered.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fitter.checks.base import Check, Part, Verdict
from fitter.checks.drives import LOADING, HighestVoltage, LowestVoltage
from fitter.checks.find import find_checks
from fitter.checks.fits import SHAFT_PLAY, Shaft
from fitter.checks.power import RatedConsumer
from fitter.checks.rails import PartRail
from fitter.checks.signals import SignalHigh, SignalLow
from fitter.intervals import Interval
from fitter.solve.builds import Build, Checked, PinnedPart, judge_check
from fitter.solve.gaps import Limits

LEAST_WALL = 0.00025  # m, of a sleeve: brass tube is drawn no thinner; common practice, no source
CONVERTER_DROP = 2.0  # V, that a step-down board needs over its output; common practice, no source
CONVERTER_EFFICIENCY = 0.8  # of a step-down board at the least; common practice, no source
CHANNELS = 3.0  # step, direction, enable

SLEEVE, CONVERTER, SHIFTER = "reducing sleeve", "step-down converter", "level shifter"
CLOSED_BY = {
    SLEEVE: frozenset({Shaft.name}),
    CONVERTER: frozenset({HighestVoltage.name}),
    SHIFTER: frozenset({SignalHigh.name, SignalLow.name}),
}


@dataclass(frozen=True)
class Adapter:
    """A part between two roles, with least and most of its figures, SI, and their quantities."""

    kind: str
    between: tuple[str, str]
    spec: Mapping[str, tuple[Limits, str]]
    closes: tuple[str, ...]


def whole(build: Build) -> Build:
    """A set that was searched without some checks, judged by all of them."""
    known = {c.check for c in build.checks}
    left_out = [c for c in find_checks(build.model.graph) if c not in known]
    return replace(build, checks=(*build.checks, *(judge_check(c, build.parts) for c in left_out)))


def adapters(build: Build) -> list[Adapter] | None:
    """What closes every failing check of a set; none where some check cannot be closed."""
    found: dict[tuple[str, tuple[str, str]], Adapter] = {}
    for checked in build.failing:
        adapter = _adapter(build, checked)
        if adapter is None:
            return None
        found[adapter.kind, adapter.between] = adapter
    return list(found.values())


def _adapter(build: Build, checked: Checked) -> Adapter | None:
    check = checked.check
    if isinstance(check, Shaft):
        return _sleeve(build, check)
    if isinstance(check, HighestVoltage):
        return _converter(build, check)
    if isinstance(check, SignalHigh | SignalLow):
        return _shifter(build, check.controller, check.listener)
    return None


def _sleeve(build: Build, check: Shaft) -> Adapter | None:
    """A tube on the shaft and in the bore, where its wall has room and both are known well enough."""
    shaft = build.parts[check.inner].rating(check.shaft)
    bore = build.parts[check.outer].rating(check.bore)
    inside, outside = _agrees(shaft.lo, shaft.hi), _agrees(bore.lo, bore.hi)
    if inside is None or outside is None or outside.low - inside.high < 2 * LEAST_WALL:
        return None
    spec = {"inside diameter": (inside, "length"), "outside diameter": (outside, "length")}
    return Adapter(SLEEVE, (check.inner, check.outer), spec, (check.name,))


def _agrees(low: float, high: float) -> Limits | None:
    """Diameters within the play of every diameter from ``low`` to ``high``."""
    limits = Limits(high - SHAFT_PLAY, low + SHAFT_PLAY)
    return limits if limits.low <= limits.high else None


def _converter(build: Build, check: HighestVoltage) -> Adapter | None:
    """A step-down board between rail and consumer, for consumers whose current is a rating of their own."""
    amps = _rated_current(build, check.consumer)
    if amps is None:
        return None
    views = {role: PinnedPart(build.parts[role], {}) for role in check.roles}
    low, high = float(check.rail.low(views).lo), float(check.rail.high(views).hi)
    part = build.parts[check.consumer]
    top = min(part.rating("supply_voltage.max").lo, low - CONVERTER_DROP, low * CONVERTER_EFFICIENCY)
    out = Limits(part.rating("supply_voltage.min").hi, top)
    if out.low > out.high or not _stands(build, check.consumer, out):
        return None
    spec = {
        "input voltage, upper end": (Limits(high, math.inf), "voltage"),
        "output voltage": (out, "voltage"),
        "current": (Limits(amps / LOADING, math.inf), "current"),
    }
    return Adapter(CONVERTER, (check.rail.roles[0], check.consumer), spec, (check.name,))


def _rated_current(build: Build, role: str) -> float | None:
    """Most that a consumer draws whatever its voltage; none where that depends on the rail."""
    for checked in build.checks:
        for consumer in getattr(checked.check, "consumers", ()):
            if isinstance(consumer, RatedConsumer) and consumer.role == role:
                return build.parts[role].rating(consumer.rating).hi
    return None


def _stands(build: Build, consumer: str, out: Limits) -> bool:
    """Whether a consumer works for certain from every voltage of a converter."""
    volts = Interval(out.low, out.high)
    rail = PartRail("converter")
    parts: dict[str, Part] = {
        "converter": {"voltage.low": volts, "voltage.high": volts},
        consumer: PinnedPart(build.parts[consumer], {}),
    }
    return _fit((HighestVoltage(rail, consumer), LowestVoltage(rail, consumer)), parts)


def _fit(checks: Sequence[Check], parts: Mapping[str, Part]) -> bool:
    return all(check.judge(parts).verdict is Verdict.FITS for check in checks)


def _shifter(build: Build, controller: str, listener: str) -> Adapter | None:
    """A level shifter whose outputs a listener takes for certain."""
    logic = build.parts[listener]
    out = Limits(logic.rating("logic_voltage.min").hi, logic.rating("logic_voltage.max").lo)
    if out.low > out.high:
        return None
    parts: dict[str, Part] = {
        listener: PinnedPart(logic, {}),
        controller: {"logic_voltage": Interval(out.low, out.high)},
    }
    if not _fit((SignalHigh(controller, listener), SignalLow(controller, listener)), parts):
        return None
    level = build.parts[controller].rating("logic_voltage")
    spec = {
        "level in": (Limits(level.lo, level.hi), "voltage"),
        "level out": (out, "voltage"),
        "channels": (Limits(CHANNELS, math.inf), "count"),
    }
    return Adapter(SHIFTER, (controller, listener), spec, (SignalHigh.name, SignalLow.name))
