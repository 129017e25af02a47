"""Battery windows and run times, held against published examples."""

from __future__ import annotations

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import batteries

LAWS = [
    law(batteries.run_time, capacity=(100, 1e5, "+"), current=(0.01, 20, "-"), usable=(0, 1, "+")),
    law(
        batteries.peukert_one_ampere_time,
        capacity=(100, 1e5, "+"),
        current=(1, 20, "-"),
        exponent=(1, 1.4, "-"),
    ),
    law(
        batteries.peukert_rated_time,
        capacity=(100, 1e5, "+"),
        rated_time=(3600, 72000, "0"),
        current=(0.01, 20, "-"),
        exponent=(1, 1.4, "0"),
    ),
    law(
        batteries.peukert_exponent,
        first_current=(1, 5, "0"),
        first_time=(36000, 72000, "+"),
        second_current=(6, 20, "0"),
        second_time=(3600, 18000, "-"),
    ),
    law(
        batteries.pack_resistance,
        rest_voltage=(12, 13, "+"),
        loaded_voltage=(10, 12, "-"),
        current=(0.1, 10, "-"),
    ),
    law(
        batteries.sagging_voltage,
        rest_voltage=(10, 15, "+"),
        resistance=(0, 0.5, "-"),
        current=(0, 10, "-"),
    ),
]


@pytest.mark.parametrize("one", LAWS, ids=str)
@FEW
@given(data=st.data())
def test_arrays_give_what_scalars_give(one: Law, data: st.DataObject) -> None:
    check_vector_equals_scalar(one, data)


@pytest.mark.parametrize("one", LAWS, ids=str)
@FEW
@given(data=st.data())
def test_each_argument_pulls_its_way(one: Law, data: st.DataObject) -> None:
    check_monotone(one, data)


def test_voltage_windows() -> None:
    known = fact("BAT-01")
    printed = known.outputs
    assert list(batteries.cell_window("lithium iron phosphate")) == known.near(printed["LiFePO4_cell"])
    assert list(batteries.cell_window("lithium ion")) == known.near(printed["LiIon_cell"])
    assert list(batteries.pack_window("lithium iron phosphate", 4)) == known.near(printed["LiFePO4_4S"])
    assert list(batteries.pack_window("lithium ion", 2)) == known.near(printed["LiIon_2S"])
    empty, nominal, full = batteries.pack_window("lead acid", 6)
    assert [empty, full] == known.near(printed["lead_acid_12V"])
    assert nominal == pytest.approx(12.0)


def test_every_window_is_ordered() -> None:
    for window in batteries.CELLS.values():
        assert 0 < window.empty < window.nominal < window.full


def test_chemistry_as_people_write_it() -> None:
    assert batteries.cell_window("Lithium-Ion") == batteries.cell_window("lithium_ion")
    with pytest.raises(ValueError, match="lead acid"):
        batteries.cell_window("lemon")


def test_packs_of_an_array_of_cell_counts() -> None:
    empty, _, full = batteries.pack_window("lithium ion", np.array([1.0, 3.0]))
    np.testing.assert_allclose(empty, [3.0, 9.0])
    np.testing.assert_allclose(full, [4.2, 12.6])


def test_peukert_one_ampere_form() -> None:
    known = fact("BAT-03")
    given_ = known.inputs
    seconds = batteries.peukert_one_ampere_time(given_["Cp_Ah"] * 3600, given_["I_A"], given_["k"])
    assert seconds / 3600 == known.near(known.outputs["t_h"])


def test_the_two_peukert_forms_are_kept_apart() -> None:
    """BAT-03, note: a label of 100 Ah at 20 h gives 20 h at 5 A, not 14.5 h."""
    assert "answer at 5 A is 20 h" in fact("BAT-03").note
    seconds = batteries.peukert_rated_time(100 * 3600, 20 * 3600, 5.0, 1.2)
    assert seconds / 3600 == pytest.approx(20.0)


def test_peukert_exponent_from_two_tests() -> None:
    known = fact("BAT-05")
    given_ = known.inputs
    found = batteries.peukert_exponent(
        given_["I1_A"], given_["t1_h"] * 3600, given_["I2_A"], given_["t2_h"] * 3600
    )
    assert found == known.near(known.outputs["n"])
    assert "1.25" in known.evidence
    assert batteries.PEUKERT_LEAD_ACID == 1.25


@FEW
@given(st.floats(1, 3), st.floats(5, 30), st.floats(1, 1.4))
def test_rated_form_and_exponent_are_inverse(current: float, heavy: float, exponent: float) -> None:
    times = [batteries.peukert_rated_time(3.6e5, 72000, amperes, exponent) for amperes in (current, heavy)]
    found = batteries.peukert_exponent(current, times[0], heavy, times[1])
    assert found == pytest.approx(exponent, rel=1e-9)


@FEW
@given(st.floats(100, 1e5), st.floats(0.01, 20), st.floats(3600, 72000))
def test_exponent_one_is_plain_charge_balance(capacity: float, current: float, rated: float) -> None:
    plain = batteries.run_time(capacity, current, usable=1.0)
    assert batteries.peukert_rated_time(capacity, rated, current, 1.0) == pytest.approx(plain)


@FEW
@given(st.floats(10, 15), st.floats(0, 0.5), st.floats(0.1, 10))
def test_sag_and_resistance_are_inverse(rest: float, ohms: float, current: float) -> None:
    loaded = batteries.sagging_voltage(rest, ohms, current)
    assert batteries.pack_resistance(rest, loaded, current) == pytest.approx(ohms, abs=1e-9)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: batteries.pack_window("lithium ion", 0), "cell"),
        (lambda: batteries.run_time(3600.0, np.array([1.0, 0.0])), "current"),
        (lambda: batteries.peukert_rated_time(3600.0, 72000.0, 1.0, 0.9), "exponent"),
        (lambda: batteries.peukert_exponent(5.0, 3600.0, 5.0, 1800.0), "different"),
        (lambda: batteries.sagging_voltage(12.0, -0.1, 1.0), "resistance"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
