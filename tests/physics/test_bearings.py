"""Bearings held against worked examples and published sizes, two of them known to be misread."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law
from motion_facts import fact, from_rpm

from fitter.physics import bearings

LAWS = [
    law(
        bearings.basic_life, load=(10, 1000, "-"), dynamic_rating=(500, 5000, "+"), exponent=(3, 10 / 3, "0")
    ),
    law(bearings.life_time, load=(10, 1000, "-"), dynamic_rating=(500, 5000, "+"), speed=(1, 300, "-")),
    law(bearings.required_rating, load=(10, 1000, "+"), speed=(1, 300, "+"), life=(3600, 1e8, "+")),
    law(bearings.static_safety, load=(10, 1000, "-"), static_rating=(0, 5000, "+")),
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


def test_sizes_and_ratings() -> None:
    known = fact("BR-01")
    for name, (bore, outer, width, dynamic, static) in known.outputs.items():
        found = bearings.BEARINGS[name]
        assert [size * 1e3 for size in found[:3]] == known.near([bore, outer, width])
        ratings = [found.dynamic_rating / 1e3, found.static_rating / 1e3]
        assert ratings == pytest.approx([dynamic, static], rel=known.tolerance["rating_rel"])


def test_misread_data_of_the_608_is_not_taken_over() -> None:
    wrong = fact("BR-01").known_wrong
    found = bearings.BEARINGS["608"]
    assert found.dynamic_rating / 1e3 != pytest.approx(wrong["608_C_kN"], rel=0.05)
    assert found.static_rating / 1e3 != pytest.approx(wrong["608_C0_kN"], rel=0.05)
    assert found.bore * 1e3 != pytest.approx(wrong["608_bore_mm"])


def test_rating_of_a_worked_example() -> None:
    known = fact("BR-03")
    i = known.inputs
    found = bearings.required_rating(i["P_lbf"], from_rpm(i["n_rpm"]), i["L_h"] * 3600, i["a"])
    assert found == known.near(known.outputs["C_lbf"])
    assert found * 4.4482216 / 1e3 == known.near(known.outputs["C_kN"])


def test_ball_and_roller_ratings_of_worked_examples() -> None:
    known = fact("BR-04")
    ball, roller = known.inputs["case1"], known.inputs["case2"]
    found = bearings.required_rating(ball["P_lb"], from_rpm(ball["n"]), ball["h"] * 3600, ball["k"])
    assert found == known.near(known.outputs["C1_lb"])
    one_turn_a_second = 2 * math.pi
    found = bearings.required_rating(roller["P_kN"], one_turn_a_second, roller["L"] * 1e6, roller["a"])
    assert found == known.near(known.outputs["C2_kN"])
    assert pytest.approx(roller["a"]) == bearings.ROLLER_EXPONENT
    assert ball["k"] == bearings.BALL_EXPONENT


@given(
    load=st.floats(1, 1000),
    rating=st.floats(100, 1e4),
    speed=st.floats(0.1, 1000),
    exponent=st.floats(3, 10 / 3),
)
def test_life_and_rating_are_inverse(load: float, rating: float, speed: float, exponent: float) -> None:
    life = bearings.life_time(load, rating, speed, exponent)
    assert bearings.required_rating(load, speed, life, exponent) == pytest.approx(rating)


def test_load_equal_to_the_rating_gives_a_million_turns() -> None:
    assert bearings.basic_life(1000.0, 1000.0) == pytest.approx(1e6)


def test_table_is_plausible() -> None:
    for name, bearing in bearings.BEARINGS.items():
        assert bearing.bore < bearing.outer_diameter, name
        assert bearing.width < (bearing.outer_diameter - bearing.bore), name
        assert bearing.static_rating < bearing.dynamic_rating, name


def test_calipers_find_the_bearing() -> None:
    for name, bearing in bearings.BEARINGS.items():
        found = bearings.bearings_of_size(bearing.bore + 4e-5, bearing.outer_diameter - 4e-5, bearing.width)
        assert found == [name]
    assert bearings.bearings_of_size(0.008, 0.022, 0.009) == []


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: bearings.basic_life(0.0, 100.0), "load"),
        (lambda: bearings.basic_life(np.array([1.0, -1.0]), 100.0), "load"),
        (lambda: bearings.life_time(1.0, 100.0, 0.0), "speed"),
        (lambda: bearings.required_rating(1.0, 1.0, 0.0), "life"),
        (lambda: bearings.static_safety(0.0, 1.0), "load"),
    ],
)
def test_meaningless_input_is_refused(call: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
