"""Volts and amps that a linear supply may give for hours: how far each check of it goes at other settings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from fitter.checks.base import ROUNDING, Check, Judgement
from fitter.checks.lab import FrontCurrent, Headroom, JunctionHeat, RegulatorHeat, SafeArea, SeriesCurrent
from fitter.sheet.models import RegionAnswer
from fitter.sheet.views import Parts, checks_of, known
from fitter.solve.builds import Build

POINTS = 25  # voltages looked at
HALVINGS = 14  # of the current, at each
FURTHER = 2.0  # times the current asked for, up to which is looked
_HEAT: tuple[type[Check], ...] = (JunctionHeat, SafeArea, RegulatorHeat)
_ELECTRICAL: tuple[type[Check], ...] = (FrontCurrent, SeriesCurrent, Headroom)


def region_of(build: Build) -> RegionAnswer | None:
    """The region of a linear supply; nothing for other projects."""
    front = next(checks_of(build, FrontCurrent), None)
    if front is None:
        return None
    asked, parts = front.output, known(build)
    heat, electrical = (
        [c for sort in sorts for c in checks_of(build, sort)] for sorts in (_HEAT, _ELECTRICAL)
    )
    volts = [float(v) for v in np.linspace(asked.lowest_voltage, asked.voltage, POINTS)]
    top = asked.current * FURTHER

    def reach(checks: Sequence[Check], passes: Callable[[Judgement], bool]) -> list[float]:
        return [_most(top, partial(_all_pass, checks, parts, passes, v)) for v in volts]

    return RegionAnswer(
        voltages=volts,
        heat=reach(heat, _surely),
        heat_at_best=reach(heat, _perhaps),
        electrical=reach(electrical, _surely),
        voltage=asked.voltage,
        current=asked.current,
    )


def _surely(judgement: Judgement) -> bool:
    return bool(judgement.margin.lo >= 1 - ROUNDING)


def _perhaps(judgement: Judgement) -> bool:
    return bool(judgement.margin.hi >= 1 - ROUNDING)


def _all_pass(
    checks: Sequence[Check], parts: Parts, passes: Callable[[Judgement], bool], volts: float, amps: float
) -> bool:
    """Whether all checks pass with the output set to so many volts and amps."""
    return all(passes(_set_to(check, volts, amps).judge(parts)) for check in checks)


def _set_to(check: Check, volts: float, amps: float) -> Check:
    output = check.output  # type: ignore[attr-defined]
    return check.replace(output=output.replace(voltage=volts, lowest_voltage=volts, current=amps))


def _most(top: float, passes: Callable[[float], bool]) -> float:
    """The largest current that passes, found by halving; those that pass lie below those that do not."""
    if passes(top):
        return top
    low, high = 0.0, top
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if passes(middle) else (low, middle)
    return low
