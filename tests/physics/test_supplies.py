"""Supplies: rails, series connection, power balance and returned energy, held against published values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import drivers, supplies

LAWS = [
    law(supplies.usable_current, rated_current=(0, 20, "+"), loading=(0, 1, "+")),
    law(
        supplies.output_resistance,
        first_voltage=(24, 26, "+"),
        first_current=(0, 1, "+"),
        second_voltage=(20, 24, "-"),
        second_current=(2, 5, "-"),
    ),
    law(
        supplies.loaded_voltage,
        voltage=(5, 48, "+"),
        current=(0, 1, "+"),
        resistance=(0, 1, "-"),
        load_current=(1, 5, "-"),
    ),
    law(
        supplies.buck_input_current,
        output_voltage=(1, 12, "+"),
        output_current=(0, 5, "+"),
        input_voltage=(12, 48, "-"),
        efficiency=(0.5, 1, "-"),
    ),
    law(
        supplies.power_balance_current,
        copper_loss=(0, 20, "+"),
        mechanical_power=(0, 50, "+"),
        efficiency=(0.3, 1, "-"),
        driver_loss=(0, 5, "+"),
        voltage=(5, 48, "-"),
    ),
    law(supplies.regulator_input_needed, output_voltage=(0, 24, "+"), dropout=(0, 3, "+")),
    law(
        supplies.voltage_after_return,
        capacitance=(1e-4, 0.1, "-"),
        voltage=(5, 48, "+"),
        energy=(0, 5, "+"),
    ),
    law(
        supplies.capacitance_for_return,
        voltage=(5, 24, "+"),
        voltage_limit=(26, 60, "-"),
        energy=(0, 5, "+"),
    ),
    law(supplies.rail_from_capacitor_rating, rating=(0, 100, "+")),
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


def test_atx_tolerances() -> None:
    known = fact("SMPS-01")
    names = {name.replace("_at_peak_load", " at peak load"): value for name, value in known.outputs.items()}
    assert set(names) == set(supplies.ATX_TOLERANCE)
    for name, (low, high) in names.items():
        assert supplies.ATX_TOLERANCE[name] == known.near((low, high))


def test_atx_tolerances_are_five_and_ten_per_cent() -> None:
    for name, nominal, part in (
        ("+12V", 12, 0.05),
        ("+5V", 5, 0.05),
        ("+3.3V", 3.3, 0.05),
        ("-12V", -12, 0.1),
    ):
        ends = sorted((nominal * (1 - part), nominal * (1 + part)))
        assert list(supplies.ATX_TOLERANCE[name]) == pytest.approx(ends, abs=0.006)


def test_atx_load_table_and_the_sum_of_its_maxima() -> None:
    known = fact("SMPS-02")
    printed = known.outputs["rail_A_min_max_peak"]
    assert {name: list(limits) for name, limits in supplies.ATX_300_WATT.items()} == printed
    positive = ["+12V1", "+12V2", "+5V", "+3.3V"]
    volts = [12.0, 12.0, 5.0, 3.3]
    most = supplies.rail_power(volts, [supplies.ATX_300_WATT[name].most for name in positive])
    assert most == pytest.approx(430.0)
    assert most > 300.0  # so the sum of maxima is never the power that can be had


def test_series_connection_of_unequal_supplies() -> None:
    known = fact("SMPS-04")
    given_ = known.inputs
    found = supplies.series_supply([given_["V1_V"], given_["V2_V"]], [given_["I1_A"], given_["I2_A"]])
    assert found == known.near((known.outputs["V_V"], known.outputs["I_A"]))


def test_series_connection_of_arrays() -> None:
    volts, amperes = supplies.series_supply([np.array([5.0, 12.0]), 12.0], [np.array([1.0, 3.0]), 2.0])
    np.testing.assert_allclose(volts, [17.0, 24.0])
    np.testing.assert_allclose(amperes, [1.0, 2.0])


def test_power_and_least_loads_of_a_three_output_supply() -> None:
    known = fact("SMPS-06")
    table = known.inputs["outputs"]
    most = supplies.rail_power([row[0] for row in table], [row[2] for row in table])
    assert most == known.near(known.outputs["P_max_W"])
    fractions = [row[1] / row[2] for row in table]
    assert fractions == known.near(known.outputs["min_load_fraction"])
    assert supplies.SENSED_RAIL.least_load == known.near(fractions[0])
    assert supplies.OTHER_RAIL.least_load == known.near(fractions[1])
    assert supplies.SENSED_RAIL.spread[1] * 100 == known.near(table[0][3])
    assert supplies.OTHER_RAIL.spread[1] * 100 == known.near(table[1][3])


def test_output_resistance_from_two_loads() -> None:
    known = fact("SMPS-07")
    given_ = known.inputs
    ohms = supplies.output_resistance(given_["V1_V"], given_["I1_A"], given_["V2_V"], given_["I2_A"])
    assert ohms == known.near(known.outputs["Rout_ohm"])
    volts = supplies.loaded_voltage(given_["V1_V"], given_["I1_A"], ohms, 4.0)
    assert volts == known.near(known.outputs["V_at_4A_V"])


def test_continuous_loading() -> None:
    known = fact("SMPS-08")
    assert supplies.usable_current(known.inputs["breaker_A"]) == known.near(known.outputs["continuous_A"])
    low, high = supplies.CLOSED_BOX_LOADING
    assert "50-60 %" in known.note
    assert (low, high) == (0.5, 0.6)


def test_regulator_table() -> None:
    known = fact("LIN-05")
    printed, ours = known.outputs, supplies.LINEAR_REGULATORS
    five, twelve, adjustable = printed["LM7805"], printed["LM7812"], printed["LM317"]
    assert ours["LM7805"].least_input == five["Vin_min_V"]
    assert ours["LM7805"].most_input == five["Vin_max_V"]
    assert (ours["LM7805"].dropout, ours["LM7805"].current) == (five["dropout_1A_V"], five["I_A"])
    assert list(ours["LM7812"].output) == twelve["Vout_V"]
    assert (ours["LM7812"].least_input, ours["LM7812"].dropout) == (
        twelve["Vin_for_spec_V"][0],
        twelve["dropout_1A_V"],
    )
    assert list(ours["LM317"].output) == adjustable["Vout_range_V"]
    assert (ours["LM317"].most_input, ours["LM317"].current) == (adjustable["Vdiff_max_V"], adjustable["I_A"])
    assert supplies.regulator_input_needed(12.5, 2.0) == known.near(14.5)


def test_returned_energy_follows_the_servo_manual() -> None:
    """DRV-10: E = C (U1^2 - U2^2) / 2, with the energy of the same example into 1000 uF at 24 V."""
    known = fact("DRV-10")
    energy = drivers.braking_energy(known.inputs["J_kgm2"], known.inputs["n_rpm"] * 2 * math.pi / 60)
    after = supplies.voltage_after_return(1e-3, 24.0, energy)
    assert 0.5 * 1e-3 * (after**2 - 24.0**2) == known.near(known.outputs["E_J"])
    assert after > 40.0  # enough to end a 35 V driver


@FEW
@given(st.floats(1e-4, 0.1), st.floats(5, 48), st.floats(0.01, 10))
def test_capacitor_for_returned_energy_is_the_inverse(farads: float, volts: float, energy: float) -> None:
    after = supplies.voltage_after_return(farads, volts, energy)
    assert supplies.capacitance_for_return(volts, after, energy) == pytest.approx(farads, rel=1e-6)


@FEW
@given(st.floats(0, 20), st.floats(0, 50), st.floats(0.3, 1), st.floats(0, 5), st.floats(5, 48))
def test_supply_power_covers_all_losses(
    copper: float, mechanical: float, efficiency: float, driver: float, volts: float
) -> None:
    current = supplies.power_balance_current(copper, mechanical, efficiency, driver, volts)
    assert current * volts >= copper + mechanical + driver - 1e-9


def test_ideal_step_down_converter_keeps_the_power() -> None:
    assert supplies.buck_input_current(5.0, 4.8, 24.0, 1.0) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: supplies.usable_current(1.0, 1.2), "loading"),
        (lambda: supplies.series_supply([], []), "at least one"),
        (lambda: supplies.series_supply([5.0, 12.0], [1.0]), "one current for each"),
        (lambda: supplies.rail_power([5.0], [-1.0]), "current"),
        (lambda: supplies.output_resistance(24.0, 1.0, 23.0, np.array([2.0, 1.0])), "second load"),
        (lambda: supplies.buck_input_current(24.0, 1.0, 12.0, 0.9), "raise"),
        (lambda: supplies.buck_input_current(5.0, 1.0, 12.0, 1.1), "efficiency"),
        (lambda: supplies.capacitance_for_return(24.0, 24.0, 1.0), "limit"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
