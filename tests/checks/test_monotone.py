"""Asking for more never makes a check easier, and better supplies and drivers never make one harder.

Judged by the definition of monotone, check by check over random boxes of ratings, both ends of each
margin: so no fail turns into a fit, nor what is unproven into a fit. Where nature itself is not
monotone (holding torque, for one) nothing is claimed here; bounds are held sound elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from boxes import Boxes, Plan, all_boxes, demands_of, ends, graph_of, plans
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.checks.base import Check
from fitter.checks.find import find_checks
from fitter.intervals import Interval

BOXES = 150
SLACK = 1e-9
Demands = dict[str, dict[str, float]]


def _more(demands: Demands, rng: np.random.Generator, *names: str) -> Demands:
    """The same demands, some of them up to three times as high wherever they stand."""
    factor = float(np.exp(rng.uniform(0, np.log(3))))
    return {f: {n: v * factor if n in names else v for n, v in each.items()} for f, each in demands.items()}


def steeper(
    demands: Demands, boxes: Mapping[str, Boxes], rng: np.random.Generator
) -> tuple[Demands, Demands]:
    """Two inclines below that of the greatest force, atan(1/mu), for the roughest guide there is."""
    rough = max(
        (float(part["friction"].hi.max()) for part in boxes.values() if "friction" in part.offer.ratings),
        default=0.0,
    )
    top = np.pi / 2 if rough == 0 else np.arctan(1 / rough)
    low, high = np.sort(rng.uniform(0, top, 2))
    return _inclined(demands, float(low)), _inclined(demands, float(high))


def _inclined(demands: Demands, angle: float) -> Demands:
    return {f: {n: angle if n == "incline" else v for n, v in each.items()} for f, each in demands.items()}


READ_THE_TROUGH = (
    "CoilVoltage",
    "ConverterOutput",
    "DCTorque",
    "FanCools",
    "FanSpeed",
    "Flow",
    "HeatVoltage",
    "StringVoltage",
    "SwitchLoad",
    "LowestVoltage",
    "RailCurrent",
    "RectifierLoad",
    "StepperTorque",
    "UsefulVoltage",
)
HARDER = {
    "payload": ("mass", "inertia"),
    "speed": ("speed",),
    "acceleration": ("acceleration",),
    "force": ("process_force", "torque", "force"),
    "travel": ("travel",),
    "output voltage": ("voltage",),
    "voltage of the rail": ("least_voltage",),
    "air": ("flow", "pressure"),
    "stroke": ("stroke", "rate"),
    "room": ("length", "width", "height"),
    "range": ("current",),
    "watts": ("watts",),
}


# No gaps: a longer move speeds up and slows down less often, which cools the motor.
# And a wire that must be hotter or longer needs a converter turned down less far; and a rectifier sags under
# more current, which leaves less across a transistor behind it.
LESS_CURRENT = ("HeatTurnedDown", "HeatCurrent", "RailCurrent", "SharedUnit", "SharedRail", "RunTime")
EASIER = {
    ("travel", "MotorHeat"),
    ("travel", "BridgeHours"),
    ("watts", "HeatTurnedDown"),
    # a longer wire at the same power draws less
    *(("room", each) for each in LESS_CURRENT),
    *(("range", each) for each in ("JunctionHeat", "RegulatorHeat", "SafeArea")),
    # a fixed voltage is to be met, not exceeded; at the same power it takes less current
    *(
        ("output voltage", each)
        for each in ("RailWithin", "RailWithoutLoad", "ConverterOutput", "ConverterCurrent")
    ),
    *(("range", each) for each in ("FuseBlows", "FuseBehind")),  # a larger current takes a larger fuse
    # both ends of a curve of constant power move along it
    *((each, "LoadArea") for each in ("output voltage", "range", "watts")),
}


def assert_no_easier(
    before: list[Check], after: list[Check], boxes: Mapping[str, Any], what: str = ""
) -> None:
    """Every check of the harder project has no larger a margin than that of the easier one."""
    assert [(type(c), c.roles) for c in before] == [(type(c), c.roles) for c in after]
    for easy, hard in zip(before, after, strict=True):
        if (what, type(easy).__name__) in EASIER:
            continue
        margins = ends(easy.judge(boxes), (BOXES, 1)), ends(hard.judge(boxes), (BOXES, 1))
        for easy_end, hard_end in zip(*margins, strict=True):
            risen = hard_end > easy_end * (1 + SLACK)
            assert not risen.any(), (
                f"{hard}: {easy_end[risen][0]} rises to {hard_end[risen][0]}\n{_row(boxes, risen)}"
            )


def _row(boxes: Mapping[str, Any], found: Any) -> str:
    """The ratings of the first box of which something is untrue."""
    row = int(np.argwhere(found)[0][0])
    return "\n".join(
        f"  {role} {name}: {box.lo[row, 0]:.6g}..{box.hi[row, 0]:.6g}"
        for role, part in boxes.items()
        for name, box in part.drawn.items()
    )


@pytest.mark.parametrize("what", HARDER)
@pytest.mark.parametrize("plan", plans(), ids=str)
@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=3, deadline=None)
def test_asking_for_more_makes_no_check_easier(plan: Plan, what: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    demands = demands_of(plan, rng)
    graph = graph_of(plan, demands)
    harder = graph_of(plan, _more(demands, rng, *HARDER[what]))
    assert_no_easier(find_checks(graph), find_checks(harder), all_boxes(graph, BOXES, rng), what)


@pytest.mark.parametrize("plan", [p for p in plans() if "guide" in p.functions], ids=str)
@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=10, deadline=None)
def test_a_steeper_incline_makes_no_check_easier(plan: Plan, seed: int) -> None:
    rng = np.random.default_rng(seed)
    demands = demands_of(plan, rng)
    boxes = all_boxes(graph_of(plan, demands), BOXES, rng)
    flatter, tilted = steeper(demands, boxes, rng)
    assert_no_easier(find_checks(graph_of(plan, flatter)), find_checks(graph_of(plan, tilted)), boxes)


@dataclass
class Better:
    """The parts of some boxes, with a few ratings of one sort raised or lowered."""

    part: Boxes
    change: Mapping[str, Callable[[Interval], Interval]]

    @property
    def drawn(self) -> dict[str, Interval]:
        return self.part.drawn

    def __getitem__(self, rating: str) -> Interval:
        value = self.part[rating]
        return self.change[rating](value) if rating in self.change else value


def times(factor: float) -> Callable[[Interval], Interval]:
    return lambda value: Interval(value.lo * factor, value.hi * factor)


BETTER = {
    "supply current": (("switch-mode supply", "adapter", "battery pack"), ("current", "unit_power"), ()),
    "transformer current": (("transformer",), ("secondary_current", "apparent_power"), ()),
    "driver current": (("stepper driver", "unipolar driver", "h-bridge"), ("peak_current",), ()),
    "driver window": (
        ("stepper driver", "unipolar driver", "h-bridge"),
        ("supply_voltage.max",),
        ("supply_voltage.min",),
    ),
    "logic window": (
        ("stepper driver", "unipolar driver", "h-bridge"),
        ("logic_voltage.max",),
        ("logic_voltage.min",),
    ),
    "cooler": (("heat sink",), (), ("thermal_resistance",)),
    "bigger bridge": (("bridge rectifier",), ("current", "max_voltage"), ()),
}

# Known gaps, each shown by a test of its own below: (what is bettered, check) -> holds only beside them.
GAPS = {
    # no gap: the current is set to the motor's rating or the driver's limit, and a supply too low for the
    # one may do for the other; the sentence says so
    ("driver current", "StepperTorque"),
    # no gaps: a stiffer winding does make more heat
    *(("transformer current", check) for check in ("JunctionHeat", "SafeArea", "RegulatorHeat")),
    *(("transformer current", check) for check in READ_THE_TROUGH),
}


@pytest.mark.parametrize("what", BETTER)
@pytest.mark.parametrize("plan", plans(), ids=str)
@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=3, deadline=None)
def test_better_supplies_and_drivers_make_no_check_harder(plan: Plan, what: str, seed: int) -> None:
    kinds, up, down = BETTER[what]
    rng = np.random.default_rng(seed)
    factor = float(np.exp(rng.uniform(0, np.log(3))))
    graph = graph_of(plan, demands_of(plan, rng))
    boxes = all_boxes(graph, BOXES, rng)
    change = dict.fromkeys(up, times(factor)) | dict.fromkeys(down, times(1 / factor))
    better = {r: Better(p, change if p.kind in kinds else {}) for r, p in boxes.items()}
    for check in find_checks(graph):
        if (what, type(check).__name__) in GAPS:
            continue
        plain, with_better = ends(check.judge(boxes), (BOXES, 1)), ends(check.judge(better), (BOXES, 1))
        # a stronger driver may draw more, so less may be hoped for; what fits still does
        sides = 1 if what == "driver current" and "StepperConsumer" in repr(check) else 2
        for before, after in list(zip(plain, with_better, strict=True))[:sides]:
            fallen = after < before * (1 - SLACK)
            assert not fallen.any(), (
                f"{check}: {before[fallen][0]} falls to {after[fallen][0]}\n{_row(boxes, fallen)}"
            )


def _margin(checks: list[Check], of: str, boxes: Mapping[str, Any], **changed: float) -> float:
    """Lowest margin of one check for the first box, with a few ratings of all parts set."""
    views = {
        role: Better(part, {n: lambda _, v=v: Interval.point(v) for n, v in changed.items()})
        for role, part in boxes.items()
    }
    check = next(c for c in checks if type(c).__name__ == of)
    return float(ends(check.judge(views), (1, 1))[0][0, 0])


def _exact(name: str) -> tuple[list[Check], dict[str, Boxes]]:
    plan = next(p for p in plans() if p.name == name)
    rng = np.random.default_rng(1)
    graph = graph_of(plan, demands_of(plan, rng))
    boxes = all_boxes(graph, 1, rng, exact=True)
    boxes["axis.driver"] = Boxes("stepper driver", 1, rng, exact=True)
    return find_checks(graph), boxes


def test_a_stronger_driver_may_be_turned_down() -> None:
    checks, boxes = _exact("stepper and belt")
    motor = {"rated_current": 3.0, "resistance": 2.0}
    weak, strong = (_margin(checks, "RailCurrent", boxes, **motor, peak_current=peak) for peak in (1.0, 2.0))
    assert strong >= weak


@pytest.mark.xfail(
    reason="the trough is taken at the transformer's full current, which bounds what any set that passes "
    "draws; what is drawn depends on all parts of all consumers, and every check of the voltage would then "
    "read a dozen roles instead of four, which the search cannot tabulate"
)
def test_a_stronger_transformer_gives_no_lower_voltage() -> None:
    checks, boxes = _exact("stepper and screw")
    winding = {"secondary_voltage": 18.0, "regulation": 0.1, "capacitance": 4700e-6}
    weak, strong = (
        _margin(checks, "LowestVoltage", boxes, **winding, secondary_current=amps) for amps in (1.0, 4.0)
    )
    assert strong >= weak
