"""Estimates hold what makers publish, say why, and never stand in for what somebody wrote down."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.bench.estimates import Estimate, estimates, siblings
from fitter.intervals import Interval
from fitter.kinds import KINDS, kind_key, priors, steppers
from fitter.ratings import Evidence, Rating, parse_rating
from fitter.stock.files import load_stock
from fitter.stock.lots import Lot

ROOT = Path(__file__).parents[2]
MOTORS: list[dict[str, Any]] = json.loads(
    (ROOT / "tests/published/steppers.json").read_text(encoding="utf-8")
)["motors"]
MILLI = {"inductance": 1e-3}
SCALE = {"rated_current": "current_A", "holding_torque": "torque_Nm", "inductance": "inductance_mH"}


def exactly(value: float) -> Rating:
    return Rating(value, value, value, Evidence.MEASURED)


def motor(of: Mapping[str, Any]) -> Lot:
    """A stepper of which only what can be seen and the ohms of a coil are known."""
    known = {
        "frame_width": exactly(of["width_mm"] / 1e3),
        "body_length": exactly(of["length_mm"] / 1e3),
        "step_angle": exactly(math.radians(of["step_deg"])),
        "wires": exactly(of["wires"]),
    }
    if "resistance_ohm" in of:
        known["resistance"] = exactly(of["resistance_ohm"])
    return Lot("x", "stepper motor", ratings=known)


def published(rating: str) -> Iterator[tuple[str, float, Estimate]]:
    """Motors with a published figure, and the estimate of it that comes last, which is the narrowest."""
    for of in MOTORS:
        needs_ohms = rating != "holding_torque"
        if SCALE[rating] in of and (not needs_ohms or "resistance_ohm" in of):
            found = [e for e in estimates(motor(of)) if e.rating == rating]
            yield of["name"], of[SCALE[rating]] * MILLI.get(rating, 1.0), found[-1]


# One motor is rated at 14 W on a body of 20 mm, which it sheds only with its flange on metal.
BEYOND = {"rated_current": {"42STH20-1004ASH"}, "holding_torque": set(), "inductance": set()}


@pytest.mark.parametrize(
    ("rating", "least"), [("rated_current", 25), ("holding_torque", 26), ("inductance", 22)]
)
def test_estimates_hold_the_published_ratings(rating: str, least: int) -> None:
    found = list(published(rating))
    missed = {name for name, true, e in found if not e.interval.lo <= true <= e.interval.hi}
    print(f"{rating}: {len(found) - len(missed)} of {len(found)} inside")
    assert len(found) >= least
    assert missed == BEYOND[rating]


@pytest.mark.parametrize(("rating", "within"), [("rated_current", 1.25), ("holding_torque", 1.3)])
def test_likely_values_are_near_the_published_ones(rating: str, within: float) -> None:
    """Most of them, so that the band is not merely wide."""
    ratios = [true / e.likely for _, true, e in published(rating)]
    near = sum(1 / within <= ratio <= within for ratio in ratios)
    assert near >= 0.85 * len(ratios)


def test_rated_current_by_size_is_good_to_a_quarter_where_the_rule_was_made() -> None:
    """The six motors of item ST-24 of the published values."""
    for name, true, estimate in published("rated_current"):
        if "ST-24" in next(m for m in MOTORS if m["name"] == name)["source"]:
            assert 0.75 <= true / estimate.likely <= 1.25, name


@pytest.mark.parametrize(
    ("name", "volts", "ohms", "diameter", "continuous", "free"),
    [
        # maxon catalogue: RE 25 118743, and a 24 V flat motor of 41.5 ohm
        ("RE 25", 12.0, 2.18, 0.025, 1.24, 0.0263),
        ("flat 24 V", 24.0, 41.5, None, 0.24, 0.0146),
    ],
)
def test_dc_motor_from_size_and_resistance(
    name: str, volts: float, ohms: float, diameter: float | None, continuous: float, free: float
) -> None:
    known = {"rated_voltage": exactly(volts), "resistance": exactly(ohms)}
    if diameter is not None:
        known["body_diameter"] = exactly(diameter)
    found = {e.rating: e for e in estimates(Lot("x", "dc motor", ratings=known))}
    assert found["continuous_current"].interval.holds(continuous), name
    assert found["no_load_current"].interval.holds(free), name


def test_transformer_from_its_iron() -> None:
    """A square inch of iron makes 26 VA at 50 Hz (Reference Data for Radio Engineers, 1946)."""
    lot = Lot(
        "x",
        "transformer",
        ratings={"core_tongue": exactly(0.0254), "core_stack": exactly(0.0254)},
        rails=({"voltage": exactly(12.0), "current": KINDS["transformer"].rails["current"].unknown()},),  # type: ignore[index]
    )
    found = {e.rating: e for e in estimates(lot)}
    power = found["apparent_power"].interval
    assert power.lo <= 26 * 0.75
    assert power.hi >= 26 * 1.25
    assert found["secondaries[1].current"].interval.lo == pytest.approx(0.8 * power.lo / 12)
    assert found["secondaries[1].current"].interval.hi == pytest.approx(power.hi / 12)


def supply(watts: float, *amps: float | None) -> Lot:
    rails = KINDS[kind_key("switch-mode supply")].rails or {}
    return Lot(
        "x",
        "switch-mode supply",
        ratings={"total_power": exactly(watts)},
        rails=tuple(
            {
                "voltage": exactly(12.0),
                "current": exactly(a) if a else rails["current"].unknown(),
                "isolated": rails["isolated"].unknown(),
            }
            for a in amps
        ),
    )


def test_supply_from_its_label() -> None:
    alone = estimates(supply(60.0, None))[-1]
    assert (alone.rating, alone.interval.lo, alone.interval.hi) == ("rails[1].current", 4.0, 5.0)
    of_two = estimates(supply(60.0, None, 1.0))[-1]
    assert of_two.interval.hi == 5.0
    assert of_two.interval.lo < 1.0
    assert not estimates(supply(60.0, 5.0))


# ---------------------------------------------------------------- siblings


def pair(**other: str) -> tuple[Lot, Lot]:
    specs = KINDS["stepper motor"].ratings

    def lot(name: str, ratings: Mapping[str, str]) -> Lot:
        read = {
            n: parse_rating(text, specs[n].quantity, tolerance=specs[n].tolerance, plausible=specs[n].range)
            for n, text in ratings.items()
        }
        return Lot(name, "stepper motor", donor="office copier", ratings=read)

    one = {"resistance": "2.1 ohm, measured", "wires": "4", "frame_width": "42 mm, measured"}
    return lot("a", one), lot("b", {**one, **other})


def test_sibling_lends_what_was_measured_widened() -> None:
    a, b = pair(holding_torque="0.4 N m +- 10 %, measured", resistance="2.2 ohm, measured")
    found = [e for e in estimates(a, [a, b]) if e.source == "sibling b"]
    assert [e.rating for e in found] == ["holding_torque"]
    assert (found[0].interval.lo, found[0].interval.hi) == pytest.approx((0.36 * 0.8, 0.44 * 1.2))
    assert "office copier" in found[0].sentence
    assert not found[0].applied


@pytest.mark.parametrize(
    "other",
    [{"resistance": "2.5 ohm, measured"}, {"wires": "6"}, {"frame_width": "57 mm, measured"}],
    ids=["ohms", "wires", "frame"],
)
def test_no_sibling_where_something_differs(other: Mapping[str, str]) -> None:
    a, b = pair(**other)
    assert siblings(a, [b]) == []


def test_no_sibling_from_another_machine_or_without_a_machine() -> None:
    a, b = pair()
    assert siblings(a, [b]) == [b]
    assert siblings(a, [replace(b, donor="scanner")]) == []
    assert siblings(replace(a, donor=""), [replace(b, donor="")]) == []


def test_stated_values_of_a_sibling_are_not_lent() -> None:
    a, b = pair(holding_torque="0.4 N m")
    assert not [e for e in estimates(a, [b]) if e.source == "sibling b"]


# ---------------------------------------------------------------- what holds for all


EXAMPLES = [
    lot
    for name in ("repair_shed", "small_box.yaml")
    for lot in load_stock(ROOT / "inventory_examples" / name).lots
]


@pytest.mark.parametrize("lot", EXAMPLES, ids=lambda lot: f"{lot.id} {lot.kind}")
def test_estimates_explain_themselves_and_leave_alone_what_is_stated(lot: Lot) -> None:
    for estimate in estimates(lot, EXAMPLES):
        assert estimate.rating not in lot.ratings
        assert estimate.interval.lo <= estimate.likely <= estimate.interval.hi
        assert estimate.rating.rpartition("].")[2].replace("_", " ") in estimate.sentence
        assert any(c.isdigit() for c in estimate.sentence)
        assert estimate.source


@pytest.mark.parametrize("lot", EXAMPLES, ids=lambda lot: f"{lot.id} {lot.kind}")
def test_loading_takes_the_ends_of_what_is_applied_and_of_nothing_else(lot: Lot) -> None:
    complete = lot.kind_of_part.complete(lot.ratings, lot.mass)
    nothing = lot.kind_of_part.complete({})
    ends = {name: r.interval for name, r in nothing.items()}
    for estimate in estimates(lot):
        if estimate.applied and "[" not in estimate.rating:
            ends[estimate.rating] = estimate.interval
    for name, rating in complete.items():
        if name not in lot.ratings:
            assert rating.interval == ends[name], name


WIDTHS, LENGTHS = st.floats(0.014, 0.09), st.floats(0.008, 0.16)


@given(
    WIDTHS, LENGTHS, st.floats(0, 0.02), st.sampled_from([0.9, 1.8, 3.6, 3.75, 7.5, 15]),
    st.sampled_from([4, 5, 6, 8]), st.floats(0.3, 150),
)  # fmt: skip
@settings(max_examples=300, deadline=None)
def test_knowing_less_never_narrows(
    width: float, length: float, slack: float, step: float, wires: int, ohms: float
) -> None:
    """The band of a motor seen less exactly holds that of the same motor seen exactly."""
    by = steppers.torque_by_class
    angle = math.radians(step)

    read, across, turned = Interval(ohms, ohms), Interval(width, width), Interval(angle, angle)
    roughly = Interval(max(length - slack, 1e-3), length + slack)
    sharp = by(read, across, Interval(length, length), turned, Interval(wires, wires), steppers.NOTHING)
    blurred = by(read, across, roughly, turned, Interval(4, 8), steppers.NOTHING)
    if sharp == steppers.NOTHING:
        return
    assert blurred.lo <= sharp.lo * (1 + 1e-9)
    assert blurred.hi >= sharp.hi * (1 - 1e-9)


def test_lengths_of_classes_of_one_size_join_up() -> None:
    """So that no motor falls between two classes."""
    sizes: dict[tuple[str, float], list[priors.StepperClass]] = {}
    for each in priors.stepper_classes():
        sizes.setdefault((each.build, float(each.width.lo)), []).append(each)
    for classes in sizes.values():
        by_length = sorted(classes, key=lambda c: c.length.lo)
        for shorter, longer in pairwise(by_length):
            assert longer.length.lo <= shorter.length.hi
            assert longer.hold.lo <= shorter.hold.hi
    assert all(c.hold.lo < c.likely_hold < c.hold.hi for of in sizes.values() for c in of)


def test_mass_picks_the_length() -> None:
    """280 g of a 42 mm hybrid is 36 to 45 mm of it; common practice, no source."""
    known = {"frame_width": exactly(0.042), "step_angle": exactly(math.radians(1.8))}
    light, heavy = (
        [e for e in estimates(Lot("x", "stepper motor", mass=m, ratings=known)) if e.rating == "body_length"][
            -1
        ]
        for m in (0.15, 0.40)
    )
    assert light.interval.hi < heavy.interval.lo + 0.02
    assert light.likely < 0.03 < 0.045 < heavy.likely
