"""Gears and worms held against worked examples, tables and their own inverses."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law
from motion_facts import fact

from fitter.physics import gears, motion, worms

PRESSURE = (0.2, 0.4, "-")
LAWS = [
    law(gears.output_torque, torque=(0, 5, "+"), ratio=(0.1, 100, "+"), efficiency=(0, 1, "+")),
    law(gears.input_torque, torque=(0, 5, "+"), ratio=(0.1, 100, "-"), efficiency=(0.1, 1, "-")),
    law(gears.train_efficiency, stage_efficiency=(0, 1, "+"), stages=(0, 6, "-")),
    law(gears.pitch_diameter, module=(1e-4, 1e-2, "+"), teeth=(5, 300, "+")),
    law(gears.module_from_outside_diameter, outside_diameter=(1e-3, 0.3, "+"), teeth=(5, 300, "-")),
    law(gears.module_from_diametral_pitch, diametral_pitch=(2, 120, "-")),
    law(gears.centre_distance, module=(1e-4, 1e-2, "+"), teeth_a=(5, 300, "+"), teeth_b=(5, 300, "+")),
    law(gears.rack_travel_per_turn, module=(1e-4, 1e-2, "+"), teeth=(5, 300, "+")),
    law(
        gears.worm_geometry,
        starts=(1, 6, "0"),
        wheel_teeth=(10, 100, "+"),
        module=(1e-4, 5e-3, "+"),
        worm_diameter=(3e-3, 0.1, "0"),
    ),
    law(gears.worm_efficiency, lead_angle=(0.01, 1.5, "0"), friction=(0, 0.5, "-"), pressure_angle=PRESSURE),
    law(gears.worm_efficiency, lead_angle=(0.01, 0.5, "+"), friction=(0, 0.3, "-"), pressure_angle=PRESSURE),
    law(
        gears.worm_back_efficiency,
        lead_angle=(0.01, 0.5, "+"),
        friction=(0, 0.3, "-"),
        pressure_angle=PRESSURE,
    ),
    law(
        gears.worm_self_locks,
        lead_angle=(0.01, 1.5, "-"),
        friction=(0, 0.5, "+"),
        pressure_angle=(0, 0.4, "+"),
    ),
    law(gears.lewis_factor, teeth=(5, 500, "+")),
    law(
        gears.tooth_force,
        module=(1e-4, 5e-3, "+"),
        width=(0, 0.05, "+"),
        teeth=(5, 300, "+"),
        stress=(0, 1e8, "+"),
    ),
    law(
        gears.tooth_torque,
        module=(1e-4, 5e-3, "+"),
        width=(0, 0.05, "+"),
        teeth=(5, 300, "+"),
        stress=(0, 1e8, "+"),
    ),
    law(gears.backlash_angle, play=(0, 0.01, "+"), radius=(0.01, 1, "-")),
    law(gears.mates, module_a=(1e-4, 5e-3, "0"), module_b=(1e-4, 5e-3, "0")),
]


@pytest.mark.parametrize("one", LAWS, ids=str)
@FEW
@given(data=st.data())
def test_arrays_give_what_numbers_give(one: Law, data: st.DataObject) -> None:
    check_vector_equals_scalar(one, data)


@pytest.mark.parametrize("one", LAWS, ids=str)
@FEW
@given(data=st.data())
def test_each_argument_pulls_its_way(one: Law, data: st.DataObject) -> None:
    check_monotone(one, data)


def test_worm_geometry_of_a_worked_example() -> None:
    known = fact("GW-01")
    i, out = known.inputs, known.outputs
    inch = 0.0254
    worm = gears.worm_geometry(
        i["Nw"], i["NG"], gears.module_from_diametral_pitch(i["Pd"]), i["Dw_in"] * inch
    )
    assert worm.axial_pitch / inch == known.near(out["px_in"])
    assert worm.lead / inch == known.near(out["lead_in"])
    assert math.degrees(worm.lead_angle) == known.near(out["lead_angle_deg"])
    assert worm.wheel_diameter / inch == known.near(out["DG_in"])
    assert worm.centre_distance / inch == known.near(out["C_in"])
    assert worm.ratio == known.near(out["VR"])
    assert i["n_worm_rpm"] / worm.ratio == known.near(out["n_gear_rpm"])


def test_worm_efficiency_table() -> None:
    known = fact("GW-02")
    i = known.inputs
    found = gears.worm_efficiency(np.radians(i["lead_deg"]), i["f"], math.radians(i["phi_n_deg"]))
    assert list(100 * found) == known.near(known.outputs["eta_pct"])


def test_worm_locks_at_the_published_angle() -> None:
    known = fact("GW-05").outputs
    low, high = known["limit_deg_at_mu_0.05"]
    for pressure in (math.radians(14.5), math.radians(20)):
        assert gears.worm_self_locks(math.radians(low - 0.1), 0.05, pressure)
        assert not gears.worm_self_locks(math.radians(high + 0.1), 0.05, pressure)
    assert math.degrees(worms.LOCKING_LEAD_ANGLE) == pytest.approx(known["lead_limit_deg"])


def test_worm_locking_judged_by_efficiency() -> None:
    known = fact("GW-05").outputs
    assert gears.locking_of_efficiency(known["locks_below"] - 0.01) is True
    assert gears.locking_of_efficiency(sum(known["open"]) / 2) is None
    assert gears.locking_of_efficiency(known["does_not_above"] + 0.01) is False


def test_typical_efficiencies() -> None:
    known = fact("GW-06")
    out = known.outputs
    for ours, theirs in (("spur pair", "spur"), ("chain", "chain"), ("v-belt", "v_belt")):
        assert gears.EFFICIENCIES[ours][0] == known.near(out[theirs])
    for ours in ("ball screw", "timing belt", "rack"):
        assert list(gears.EFFICIENCIES[ours]) == known.near(out["ball_screw_belt_rack"])
    for ours, theirs in (
        ("feed screw", "feed_screw_mu"),
        ("rack guide", "rack_mu"),
        ("conveyor", "conveyor_mu"),
    ):
        assert list(motion.FRICTION[ours]) == known.near(out[theirs])


def test_modules_and_rack_travel() -> None:
    known = fact("GW-07")
    i, out = known.inputs, known.outputs
    on_sale = [round(m * 1e3, 6) for m in gears.MODULES]
    assert set(on_sale) == {*i["series1"], *i["small"]}
    assert gears.pitch_diameter(i["m"] * 1e-3, i["z"]) * 1e3 == known.near(out["d_mm"])
    assert gears.rack_travel_per_turn(i["m"] * 1e-3, i["z"]) * 1e3 == known.near(out["travel_mm_rev"])


def test_stage_efficiency_of_course_notes() -> None:
    share = fact("DC-05").outputs["gear_stage_efficiency_pct"] / 100
    low, high = gears.EFFICIENCIES["spur pair"]
    assert low <= share <= high
    assert gears.train_efficiency(share, 2) == pytest.approx(share * share)


def test_lewis_factors() -> None:
    known = fact("LW-01")
    found = gears.lewis_factor(np.array(known.inputs["teeth"], dtype=float))
    assert list(found) == known.near(known.outputs["Y"])


def test_misprinted_lewis_factors_are_not_taken_over() -> None:
    known = fact("LW-01")
    for teeth, wrong in known.known_wrong.items():
        assert gears.lewis_factor(float(teeth)) != known.near(wrong)
    table = list(gears.LEWIS_FACTORS.values())
    assert table == sorted(table)  # a misprint would break the rise


def test_small_plastic_gear_carries_what_practice_says() -> None:
    # common practice, no source: module 0.5 acetal 0.1 to 0.3 N m, module 0.8 to 1 about 0.5 to 2 N m
    low, high = gears.PLASTIC_TOOTH_STRESS["acetal"]
    assert (
        0.05
        < gears.tooth_torque(0.5e-3, 5e-3, 40.0, low)
        < gears.tooth_torque(0.5e-3, 5e-3, 40.0, high)
        < 0.5
    )
    assert 0.5 < gears.tooth_torque(1e-3, 8e-3, 30.0, high) < 2


@given(lead=st.floats(0.01, 1.2), friction=st.floats(0.001, 0.4), pressure=st.floats(0, 0.4))
def test_worm_that_locks_is_below_half_efficiency(lead: float, friction: float, pressure: float) -> None:
    locks = gears.worm_self_locks(lead, friction, pressure)
    back = gears.worm_back_efficiency(lead, friction, pressure)
    assert locks == (back == 0)
    if locks:
        assert gears.worm_efficiency(lead, friction, pressure) < 0.5


@given(lead=st.floats(0.01, 1.5), pressure=st.floats(0, 0.4))
def test_worm_without_friction_loses_nothing(lead: float, pressure: float) -> None:
    assert gears.worm_efficiency(lead, 0.0, pressure) == pytest.approx(1)
    assert gears.worm_back_efficiency(lead, 0.0, pressure) == pytest.approx(1)


@given(lead=st.floats(0.05, 1.2), friction=st.floats(0.0, 0.2))
def test_worm_is_a_screw(lead: float, friction: float) -> None:
    # square thread: tan(lead) / tan(lead + friction angle)
    expected = math.tan(lead) / math.tan(lead + math.atan(friction))
    assert gears.worm_efficiency(lead, friction, 0.0) == pytest.approx(max(expected, 0.0), abs=1e-9)


@given(torque=st.floats(0, 5), ratio=st.floats(0.1, 100), share=st.floats(0.1, 1))
def test_input_and_output_torque_are_inverse(torque: float, ratio: float, share: float) -> None:
    assert gears.input_torque(gears.output_torque(torque, ratio, share), ratio, share) == pytest.approx(
        torque
    )


@given(module=st.floats(2e-4, 5e-3), teeth=st.integers(8, 200))
def test_module_from_calipers(module: float, teeth: int) -> None:
    outside = gears.pitch_diameter(module, teeth) + 2 * module
    assert gears.module_from_outside_diameter(outside, teeth) == pytest.approx(module)


@pytest.mark.parametrize(("metric", "inch"), [(0.5e-3, 48), (0.8e-3, 32), (0.4e-3, 64)])
def test_near_misses_of_inch_gears(metric: float, inch: int) -> None:
    module = gears.module_from_diametral_pitch(inch)
    assert gears.mates(metric, metric)
    assert not gears.mates(metric, module)
    nearest, off = gears.nearest_module(module * 1.001)
    assert nearest == pytest.approx(module)
    assert off == pytest.approx(0.001, rel=0.01)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: gears.output_torque(1.0, 0.0, 0.5), "ratio"),
        (lambda: gears.output_torque(1.0, 1.0, 1.5), "efficiency"),
        (lambda: gears.input_torque(1.0, 1.0, 0.0), "efficiency"),
        (lambda: gears.worm_efficiency(0.0, 0.1, 0.3), "lead angle"),
        (lambda: gears.worm_efficiency(np.array([0.1, 1.6]), 0.1, 0.3), "lead angle"),
        (lambda: gears.worm_efficiency(0.1, -0.1, 0.3), "friction"),
        (lambda: gears.pitch_diameter(0.0, 20), "module"),
        (lambda: gears.lewis_factor(0.0), "teeth"),
        (lambda: gears.locking_of_efficiency(1.1), "efficiency"),
    ],
)
def test_meaningless_input_is_refused(call: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
