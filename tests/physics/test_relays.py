"""Relay coils, solenoids and electromagnets, held against data sheets and circuit theory."""

from __future__ import annotations

import math

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import relays
from fitter.physics.thermal import copper_resistance

LAWS = [
    law(relays.coil_current, voltage=(0, 48, "+"), resistance=(1, 5000, "-")),
    law(relays.coil_power, voltage=(0, 48, "+"), resistance=(1, 5000, "-")),
    law(
        relays.pick_up_voltage,
        rated_voltage=(3, 48, "+"),
        resistance_ratio=(0.8, 1.5, "+"),
        fraction=(0.4, 0.9, "+"),
    ),
    law(
        relays.release_time,
        inductance=(0.01, 2, "+"),
        resistance=(10, 1000, "-"),
        start_current=(0.05, 1, "+"),
        end_current=(0.001, 0.05, "-"),
        clamp_voltage=(0, 50, "-"),
    ),
    law(relays.coil_energy, inductance=(0, 2, "+"), current=(0, 1, "+")),
    law(relays.duty_cycle, on_time=(0.1, 60, "+"), off_time=(0, 60, "-")),
    law(relays.allowed_coil_power, continuous_power=(0, 50, "+"), duty=(0.01, 1, "-")),
    law(relays.allowed_coil_voltage, continuous_voltage=(0, 48, "+"), duty=(0.01, 1, "-")),
    law(
        relays.magnet_pull,
        turns=(1, 5000, "+"),
        current=(0, 5, "+"),
        area=(0, 1e-3, "+"),
        gap=(1e-4, 1e-2, "-"),
    ),
    law(relays.saturated_pull, area=(0, 1e-3, "+"), flux_density=(0.1, 2, "+")),
    law(relays.pull_at_gap, pull=(0, 50, "+"), gap=(1e-4, 1e-2, "+"), other_gap=(1e-4, 1e-2, "-")),
    law(relays.hot_coil_pull, resistance_ratio=(1, 2, "-")),
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


def test_relay_coil_table() -> None:
    known = fact("REL-01")
    volts, milliamperes, ohms = np.array(known.outputs["coils"], dtype=float).T
    found = relays.coil_current(volts, ohms) * 1e3
    assert list(found) == known.near(list(milliamperes))
    assert list(found) == pytest.approx(list(milliamperes), rel=0.002)  # the table itself is that exact
    assert list(relays.coil_power(volts, ohms)) == known.near([known.inputs["P_W"]] * len(volts))
    printed = [known.outputs[name] / 100 for name in ("pull_in_max_pct", "drop_out_min_pct", "max_pct")]
    assert printed == [relays.PICK_UP_FRACTION, relays.DROP_OUT_FRACTION, relays.COIL_VOLTAGE_LIMIT]


def test_twelve_volt_relay_pulls_in_by_nine_volts() -> None:
    assert "pull in by 9.0 V" in fact("REL-01").note
    assert relays.pick_up_voltage(12.0) == pytest.approx(9.0)
    hot = copper_resistance(1.0, 353.15)
    assert 9.0 < relays.pick_up_voltage(12.0, hot) < 12.0


def test_automotive_relay_is_not_a_default_one() -> None:
    known = fact("REL-04")
    volts, ohms = known.inputs["Vnom_V"], known.inputs["R_ohm"]
    assert relays.coil_current(volts, ohms) * 1e3 == known.near(known.outputs["I_mA"])
    assert relays.coil_power(volts, ohms) * 1e3 == known.near(known.outputs["P_mW"])
    part = known.outputs["operate_max_V"] / volts
    assert relays.pick_up_voltage(volts, fraction=part) == known.near(known.outputs["operate_max_V"])
    assert relays.pick_up_voltage(volts) > known.outputs["operate_max_V"] * 1.2


def test_release_time_with_diode_and_with_zener() -> None:
    known = fact("REL-05")
    given_ = known.inputs
    start, end = given_["I0_mA"] * 1e-3, given_["I_end_mA"] * 1e-3
    found = relays.release_time(given_["L_H"], given_["R_ohm"], start, end, np.array(given_["clamp_V"]))
    assert list(found * 1e3) == known.near(known.outputs["t_ms"])
    assert relays.coil_energy(given_["L_H"], start) * 1e3 == known.near(known.outputs["E_mJ"])


@FEW
@given(st.floats(0.01, 2), st.floats(10, 1000), st.floats(0.01, 1))
def test_release_by_resistance_alone_is_one_time_constant(henries: float, ohms: float, start: float) -> None:
    time = relays.release_time(henries, ohms, start, start / math.e, clamp_voltage=0.0)
    assert time == pytest.approx(henries / ohms)


@FEW
@given(st.floats(0.01, 2), st.floats(10, 100), st.floats(0.01, 0.1))
def test_a_high_clamp_makes_the_current_fall_in_a_straight_line(
    henries: float, ohms: float, start: float
) -> None:
    time = relays.release_time(henries, ohms, start, 0.0, clamp_voltage=1e5)
    assert time == pytest.approx(henries * start / 1e5, rel=1e-3)


def test_solenoid_duty() -> None:
    known = fact("REL-06")
    duty = relays.duty_cycle(known.inputs["on_s"], known.inputs["off_s"])
    assert duty * 100 == known.near(known.outputs["duty_pct"])
    assert relays.allowed_coil_power(1.0, duty) == known.near(known.outputs["power_factor_vs_continuous"])
    assert relays.allowed_coil_voltage(1.0, duty) == known.near(known.outputs["voltage_factor"])
    assert relays.allowed_coil_power(10.0, 0.1) == known.near(known.outputs["example_10W_at_10pct_W"])
    assert relays.duty_cycle(1.0, 3.0) * 100 == known.near(known.outputs["one_on_three_off_duty_pct"])


def test_duty_is_not_the_time_off() -> None:
    """REL-06: one page takes off over the whole, 75 % for the same numbers."""
    assert "75 %" in fact("REL-06").note
    assert relays.duty_cycle(15.0, 45.0) != pytest.approx(0.75, abs=0.1)


def test_pull_of_an_electromagnet() -> None:
    known = fact("REL-08")
    given_ = known.inputs
    found = relays.magnet_pull(given_["N"], given_["I_A"], given_["A_m2"], given_["gap_m"])
    assert found == known.near(known.outputs["F_N"])
    assert "3.93 N" in known.note
    assert relays.magnet_pull(500, 0.5, 1e-4, 1e-3) == pytest.approx(3.93, rel=0.002)


@FEW
@given(st.floats(100, 5000), st.floats(0.01, 2), st.floats(1e-5, 1e-3), st.floats(1e-4, 1e-2))
def test_pull_by_ampere_turns_is_the_pull_by_flux_density(
    turns: float, current: float, area: float, gap: float
) -> None:
    """B = mu0 N I / g in the gap, then Maxwell's pulling force."""
    density = 4e-7 * math.pi * turns * current / gap
    assert relays.saturated_pull(area, density) == pytest.approx(
        relays.magnet_pull(turns, current, area, gap)
    )


@FEW
@given(st.floats(0.1, 50), st.floats(1e-4, 1e-2), st.floats(1e-4, 1e-2))
def test_pull_at_gap_follows_the_magnet_law_and_returns(pull: float, gap: float, other: float) -> None:
    there = relays.pull_at_gap(pull, gap, other)
    assert relays.pull_at_gap(there, other, gap) == pytest.approx(pull)
    law_ratio = relays.magnet_pull(100, 1.0, 1e-4, other) / relays.magnet_pull(100, 1.0, 1e-4, gap)
    assert there / pull == pytest.approx(law_ratio)


def test_hot_coil_keeps_58_per_cent_of_its_pull() -> None:
    known = fact("REL-10")
    ratio = copper_resistance(1.0, known.inputs["T_C"] + 273.15)
    assert "0.76^2=0.58" in known.note
    assert relays.hot_coil_pull(ratio) == pytest.approx(0.58, rel=0.005)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: relays.coil_current(12.0, 0.0), "resistance"),
        (lambda: relays.release_time(0.8, 400.0, 0.01, 0.03), "end current"),
        (lambda: relays.release_time(0.8, 400.0, 0.03, 0.0, 0.0), "clamp"),
        (lambda: relays.duty_cycle(0.0, 0.0), "cycle"),
        (lambda: relays.allowed_coil_power(10.0, 0.0), "duty"),
        (lambda: relays.magnet_pull(100, 1.0, 1e-4, np.array([1e-3, 0.0])), "gap"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
