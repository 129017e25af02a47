"""Chopper setting, winding current and bridge losses, held against published examples and limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import drivers
from fitter.physics.thermal import ZERO_CELSIUS, junction_temperature

LAWS = [
    law(
        drivers.chopper_reference,
        current=(0, 3, "+"),
        sense_resistance=(0.02, 0.5, "+"),
        gain=(1, 10, "+"),
    ),
    law(
        drivers.chopper_current,
        reference_voltage=(0, 3.5, "+"),
        sense_resistance=(0.02, 0.5, "-"),
        gain=(1, 10, "-"),
    ),
    law(
        drivers.current_rise_time,
        voltage=(5, 48, "-"),
        resistance=(0.5, 30, "+"),
        inductance=(1e-4, 0.1, "+"),
        current=(0, 3, "+"),
    ),
    law(drivers.sense_resistor_loss, current=(0, 3, "+"), resistance=(0, 1, "+")),
    law(drivers.bipolar_bridge_drop, current=(0, 2, "+")),
    law(drivers.bridge_loss, current=(0, 3, "+"), drop=(0, 5, "+")),
    law(drivers.stall_current, voltage=(0, 48, "+"), resistance=(0.1, 50, "-")),
    law(drivers.braking_energy, inertia=(0, 1e-2, "+"), speed=(0, 300, "+")),
    law(drivers.supply_voltage_guard, inductance=(0, 0.1, "+")),
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


def test_chopper_of_gain_five() -> None:
    known = fact("DRV-01")
    found = drivers.chopper_current(known.inputs["Vref_V"], known.inputs["Rs_ohm"], drivers.CHOPPER_GAIN_5)
    assert found == known.near(known.outputs["I_A"])


def test_chopper_of_gain_eight() -> None:
    known = fact("DRV-03")
    current = known.inputs["rated_A"] * known.inputs["fraction"]
    assert current == known.near(known.outputs["I_A"])
    found = drivers.chopper_reference(current, known.inputs["Rs_ohm"], drivers.CHOPPER_GAIN_8)
    assert found == known.near(known.outputs["Vref_V"])
    for resistance, volts in known.outputs["Vref_per_A"].items():
        found = drivers.chopper_reference(1.0, float(resistance), drivers.CHOPPER_GAIN_8)
        assert found == known.near(volts)


def test_full_step_current_is_the_published_share() -> None:
    assert "70.71 %" in fact("DRV-03").note
    assert pytest.approx(0.7071, rel=1e-4) == drivers.FULL_STEP_FRACTION


def test_bipolar_bridge_drop_and_heat() -> None:
    known = fact("DRV-05")
    least, most = drivers.bipolar_bridge_drop(1.0)
    assert [least, most] == known.near(known.outputs["total_drop_V"]["1A_min_max"])
    assert drivers.bipolar_bridge_drop(2.0)[1] == known.near(known.outputs["total_drop_V"]["2A_max"])
    assert [12 - most, 12 - least] == known.near(known.outputs["motor_V_from_12V_1A"])
    heat = [drivers.bridge_loss(1.0, drop) for drop in (least, most)]
    assert heat == known.near(known.outputs["P_bridge_W"]["1A"])
    worst = drivers.bridge_loss(2.0, drivers.bipolar_bridge_drop(2.0)[1])
    assert worst == known.near(known.outputs["P_bridge_W"]["2A_max"])
    case = 75.0 + ZERO_CELSIUS
    junction = junction_temperature(case, known.inputs["Ptot_W_at_Tc75"], known.inputs["theta_JC"], 0.0, 0.0)
    assert junction - ZERO_CELSIUS == known.near(known.outputs["Tj_at_25W_C"])


def test_optimistic_bridge_drop_of_a_review_is_not_used() -> None:
    """DRV-05: a review gives 1.5 to 2.5 V; the data sheet's worst at 1 A is 3.2 V."""
    assert "understates" in fact("DRV-05").note
    least, most = drivers.bipolar_bridge_drop(1.0)
    assert least > 1.5
    assert most > 2.5


def test_sense_resistor_heat() -> None:
    known = fact("DRV-07")
    for case, printed in zip(known.inputs["cases"], known.outputs["P_W"], strict=True):
        assert drivers.sense_resistor_loss(case["Irms_A"], case["R_ohm"]) == known.near(printed)


def test_current_rise_time() -> None:
    known = fact("DRV-09")
    found = drivers.current_rise_time(
        known.inputs["V_V"], known.inputs["R_ohm"], known.inputs["L_mH"] * 1e-3, known.inputs["I_A"]
    )
    assert found * 1e6 == known.near(known.outputs["t_us"])
    guard = drivers.supply_voltage_guard(known.inputs["L_mH"] * 1e-3)
    assert guard == pytest.approx(58.0, rel=0.02)  # the note's 32 sqrt(L in mH)


def test_current_never_rises_past_what_the_supply_can_drive() -> None:
    """30 ohm, 0.4 A at 12 V: the resistance alone uses up the supply."""
    assert drivers.current_rise_time(12.0, 30.0, 37e-3, 0.4) == math.inf
    found = drivers.current_rise_time(np.array([12.0, 24.0]), 30.0, 37e-3, 0.5)
    assert found[0] == math.inf
    assert 0 < found[1] < math.inf


@FEW
@given(st.floats(5, 48), st.floats(0.5, 20), st.floats(1e-4, 0.1))
def test_rise_to_63_percent_takes_one_time_constant(volts: float, ohms: float, henries: float) -> None:
    current = volts / ohms * (1 - math.exp(-1))
    assert drivers.current_rise_time(volts, ohms, henries, current) == pytest.approx(henries / ohms)


@FEW
@given(st.floats(5, 48), st.floats(0.5, 20), st.floats(1e-4, 0.1))
def test_small_currents_rise_as_without_resistance(volts: float, ohms: float, henries: float) -> None:
    current = 1e-4 * volts / ohms
    expected = henries * current / volts
    assert drivers.current_rise_time(volts, ohms, henries, current) == pytest.approx(expected, rel=1e-3)


@FEW
@given(st.floats(0.01, 3), st.floats(0.02, 0.5), st.sampled_from([5.0, 8.0]))
def test_reference_and_current_are_inverse(current: float, ohms: float, gain: float) -> None:
    volts = drivers.chopper_reference(current, ohms, gain)
    assert drivers.chopper_current(volts, ohms, gain) == pytest.approx(current)


def test_braking_energy() -> None:
    known = fact("DRV-10")
    speed = known.inputs["n_rpm"] * 2 * math.pi / 60
    assert drivers.braking_energy(known.inputs["J_kgm2"], speed) == known.near(known.outputs["E_J"])


def test_stall_current() -> None:
    known = fact("DRV-12")
    found = drivers.stall_current(np.array(known.inputs["V_V"], dtype=float), known.inputs["R_ohm"])
    assert list(found) == known.near(known.outputs["I_A"])


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: drivers.chopper_reference(-1.0, 0.1, 8.0), "current"),
        (lambda: drivers.chopper_current(1.0, np.array([0.1, 0.0]), 8.0), "sense"),
        (lambda: drivers.current_rise_time(0.0, 1.0, 1e-3, 1.0), "voltage"),
        (lambda: drivers.bipolar_bridge_drop(2.5), "2 A"),
        (lambda: drivers.stall_current(12.0, 0.0), "resistance"),
        (lambda: drivers.braking_energy(-1e-4, 10.0), "inertia"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
