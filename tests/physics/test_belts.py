"""Timing belts held against tables, geometry drawn point by point, and inverses."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law
from motion_facts import fact

from fitter.physics import belts

PITCH = {"pitch": (0.001, 0.01, "+")}
LAWS = [
    law(belts.pitch_diameter, **PITCH, teeth=(8, 80, "+")),
    law(belts.travel_per_turn, **PITCH, teeth=(8, 80, "+")),
    law(
        belts.loop_length, centre_distance=(0.2, 2, "+"), **PITCH, teeth_a=(8, 80, "+"), teeth_b=(8, 80, "+")
    ),
    law(
        belts.centre_distance,
        length=(1.2, 3, "+"),
        pitch=(0.001, 0.01, "-"),
        teeth_a=(8, 60, "-"),
        teeth_b=(8, 60, "-"),
    ),
    law(
        belts.loop_travel,
        length=(0.1, 3, "+"),
        pitch=(0.001, 0.01, "-"),
        teeth=(8, 80, "-"),
        carriage_length=(0, 0.2, "-"),
    ),
    law(
        belts.teeth_in_mesh,
        centre_distance=(0.2, 2, "0"),
        pitch=(0.001, 0.005, "0"),
        teeth=(8, 80, "+"),
        other_teeth=(8, 80, "-"),
    ),
    law(belts.pitch_mismatch, belt_pitch=(0.001, 0.01, "0"), pulley_pitch=(0.001, 0.01, "0")),
    law(belts.mates, belt_pitch=(0.00199, 0.00204, "0"), pulley_pitch=(0.00199, 0.00204, "0")),
    law(
        belts.steps_per_travel,
        steps_per_turn=(20, 400, "+"),
        microsteps=(1, 64, "+"),
        pitch=(0.001, 0.01, "-"),
        teeth=(8, 80, "-"),
    ),
    law(belts.working_force, width=(0, 0.03, "+")),
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


def test_standard_pitches() -> None:
    known = fact("BL-01")
    for name, millimetres in known.outputs["mm"].items():
        assert belts.STANDARD_PITCHES[name] * 1e3 == known.near(millimetres), name
    assert set(belts.STANDARD_PITCHES) - set(known.outputs["mm"]) == {"40DP"}


def test_pitch_diameters() -> None:
    known = fact("BL-02")
    for (name, teeth), diameter in zip(known.inputs["cases"], known.outputs["PD_mm"], strict=True):
        assert belts.pitch_diameter(belts.STANDARD_PITCHES[name], teeth) * 1e3 == known.near(diameter)


def test_pitch_diameters_in_inches_from_a_handbook() -> None:
    # SDP/SI handbook, from memory: 20 teeth of 2 mm and MXL, 10 teeth of XL
    for name, teeth, inches in (("GT2-2M", 20, 0.501), ("MXL", 20, 0.509), ("XL", 10, 0.637)):
        diameter = belts.pitch_diameter(belts.STANDARD_PITCHES[name], teeth)
        assert diameter / 0.0254 == pytest.approx(inches, abs=6e-4)


def test_steps_of_a_usual_printer_axis() -> None:
    known = fact("BL-04")
    i, out = known.inputs, known.outputs
    pitch = i["pitch_mm"] * 1e-3
    found = belts.steps_per_travel(i["steps"], i["micro"], pitch, i["teeth"]) / 1e3
    assert found == known.near(out["steps_per_mm"])
    assert belts.travel_per_turn(pitch, i["teeth"]) / i["steps"] * 1e3 == known.near(out["full_step_mm"])


def test_pitches_that_look_alike_do_not_mate() -> None:
    alike = [belts.STANDARD_PITCHES[name] for name in ("GT2-2M", "MXL", "40DP")]
    table = belts.mates(np.array(alike)[:, None], np.array(alike))
    assert np.array_equal(table, np.eye(3, dtype=bool))
    twenty_teeth = [round(20 * pitch * 1e3, 2) for pitch in alike]
    assert twenty_teeth == [40.0, 40.64, 41.45]  # length of 20 teeth in mm; common practice, no source
    assert belts.mates(belts.STANDARD_PITCHES["T5"] * 1.003, belts.STANDARD_PITCHES["T5"])


def drawn_length(distance: float, radius_a: float, radius_b: float) -> float:
    """Length of the hull of two circles, from its corners."""
    spatial = pytest.importorskip("scipy.spatial")
    angle = np.linspace(0, 2 * math.pi, 4000, endpoint=False)
    circle = np.column_stack((np.cos(angle), np.sin(angle)))
    points = np.vstack((radius_a * circle, radius_b * circle + [distance, 0]))
    return float(spatial.ConvexHull(points).area)  # "area" of a plane hull is its perimeter


@pytest.mark.parametrize(("teeth_a", "teeth_b"), [(20, 20), (20, 60), (60, 20), (16, 80)])
def test_loop_length_against_the_drawn_belt(teeth_a: int, teeth_b: int) -> None:
    radii = [belts.pitch_diameter(2e-3, teeth) / 2 for teeth in (teeth_a, teeth_b)]
    expected = drawn_length(0.1, *radii)
    assert belts.loop_length(0.1, 2e-3, teeth_a, teeth_b) == pytest.approx(expected, rel=1e-6)


@given(spare=st.floats(1.01, 20), teeth_a=st.integers(8, 100), teeth_b=st.integers(8, 100))
def test_centre_distance_is_the_inverse(spare: float, teeth_a: int, teeth_b: int) -> None:
    distance = spare * 2e-3 * (teeth_a + teeth_b) / (2 * math.pi) * 1.05
    length = belts.loop_length(distance, 2e-3, teeth_a, teeth_b)
    assert belts.centre_distance(length, 2e-3, teeth_a, teeth_b) == pytest.approx(distance, rel=1e-9)


@given(distance=st.floats(0.1, 2), teeth=st.integers(8, 40), carriage=st.floats(0, 0.05))
def test_travel_of_a_loop_is_the_distance_less_the_carriage(
    distance: float, teeth: int, carriage: float
) -> None:
    length = belts.loop_length(distance, 2e-3, teeth, teeth)
    assert belts.loop_travel(length, 2e-3, teeth, carriage) == pytest.approx(distance - carriage)


def test_a_short_loop_leaves_no_travel() -> None:
    assert belts.loop_travel(0.300, 2e-3, 20, 0.06) < 0.38  # a 300 mm loop never gives 380 mm
    assert belts.loop_travel(0.100, 2e-3, 20, 0.06) < 0


@given(teeth_a=st.integers(8, 80), teeth_b=st.integers(8, 80))
def test_wraps_of_both_pulleys_make_one_turn(teeth_a: int, teeth_b: int) -> None:
    a = belts.teeth_in_mesh(0.2, 2e-3, teeth_a, teeth_b) / teeth_a
    b = belts.teeth_in_mesh(0.2, 2e-3, teeth_b, teeth_a) / teeth_b
    assert a + b == pytest.approx(1)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: belts.pitch_diameter(0.0, 20), "pitch"),
        (lambda: belts.travel_per_turn(2e-3, np.array([20, 0])), "teeth"),
        (lambda: belts.loop_length(0.001, 2e-3, 10, 60), "too short"),
        (lambda: belts.centre_distance(0.02, 2e-3, 20, 20), "too short"),
        (lambda: belts.loop_travel(0.3, 2e-3, 20, -0.1), "carriage"),
        (lambda: belts.pitch_mismatch(0.002, 0.0), "pulley pitch"),
    ],
)
def test_meaningless_input_is_refused(call: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
