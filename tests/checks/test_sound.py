"""Sound bounds: what a check says of a box of ratings holds at every point of the box.

Held for every check class, on the graphs of every principle. The judge is the definition of a sound
bound: margins at points sampled inside a box lie within the margin of the box.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from boxes import Boxes, Plan, Points, all_boxes, all_check_classes, checks_of, ends, plans
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.checks.base import ROUNDING, Check

BOXES, POINTS = 150, 24
SLACK = 1e-9


def place(found: Any, boxes: dict[str, Boxes], points: dict[str, Points]) -> str:
    """The first box and point of a table of faults, in words."""
    row, column = np.argwhere(found)[0]
    lines = []
    for role, part in boxes.items():
        for rating, box in part.drawn.items():
            if rating in points[role].drawn:
                at = points[role].drawn[rating].lo[row, column]
                lines.append(
                    f"  {role} ({part.kind}) {rating}: {box.lo[row, 0]:.9g}..{box.hi[row, 0]:.9g} at {at:.9g}"
                )
    return "\n".join(lines)


def assert_sound(check: Check, boxes: dict[str, Boxes], rng: np.random.Generator) -> None:
    """No point of any box lies outside the margin of its box."""
    points = {role: Points(part, POINTS, rng) for role, part in boxes.items()}
    lo, hi = ends(check.judge(boxes), (BOXES, 1))
    at_lo, at_hi = ends(check.judge(points), (BOXES, POINTS))
    assert not np.isnan(lo + hi).any(), check
    outside = (at_lo < lo * (1 - SLACK) - SLACK) | (at_hi > hi * (1 + SLACK) + SLACK)
    assert not outside.any(), f"{check} margin {lo[outside.any(1)][0]}..{hi[outside.any(1)][0]}, " + (
        f"at a point {at_lo[outside][0]}..{at_hi[outside][0]}\n" + place(outside, boxes, points)
    )
    fits, fails = lo >= 1 - ROUNDING, hi < 1 - ROUNDING
    assert not (fits & (at_hi < 1 - 2 * ROUNDING)).any(), check
    assert not (fails & (at_lo >= 1)).any(), check


@pytest.mark.parametrize("plan", plans(), ids=str)
@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=6, deadline=None)
def test_no_point_of_a_box_lies_outside_its_margin(plan: Plan, seed: int) -> None:
    rng = np.random.default_rng(seed)
    graph, checks = checks_of(plan, rng)
    boxes = all_boxes(graph, BOXES, rng)
    for check in checks:
        assert_sound(check, boxes, rng)


def test_every_check_class_is_reached() -> None:
    rng = np.random.default_rng(0)
    reached = {type(check) for plan in plans() for check in checks_of(plan, rng)[1]}
    assert reached == all_check_classes()
