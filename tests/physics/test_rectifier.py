"""Bridge, reservoir capacitor and transformer, held against published examples and closed-form limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import loaded_rectifier as loaded
from fitter.physics import rectifier, transformers
from fitter.physics.rectifier import MAINS_HIGH, MAINS_LOW, SQRT2

VOLTS, AMPERES = (6.0, 60.0, "+"), (0.01, 10.0, "-")
FARADS, HERTZ = (1e-5, 0.1, "+"), (40.0, 70.0, "+")
LAWS = [
    law(rectifier.ripple_bound, current=(0, 10, "+"), capacitance=(1e-5, 0.1, "-"), frequency=(40, 70, "-")),
    law(rectifier.peak_voltage, secondary_voltage=(0, 60, "+"), diode_drop=(0, 1.2, "-")),
    law(
        rectifier.trough_voltage,
        secondary_voltage=VOLTS,
        current=AMPERES,
        capacitance=FARADS,
        frequency=HERTZ,
        diode_drop=(0, 1.2, "-"),
    ),
    law(rectifier.average_voltage, peak=(0, 60, "+"), ripple=(0, 10, "-")),
    law(
        rectifier.no_load_voltage,
        secondary_voltage=VOLTS,
        regulation=(0, 0.4, "+"),
        diode_drop=(0, 1, "-"),
    ),
    law(rectifier.direct_current_limit, alternating_current=(0, 20, "+"), factor=(0.1, 1.5, "+")),
    law(rectifier.direct_current_factor_range, regulation=(0, 0.6, "+")),
    law(rectifier.rms_ripple, peak_to_peak=(0, 10, "+")),
    law(
        rectifier.capacitance_for_ripple, current=(0, 10, "+"), ripple=(0.1, 10, "-"), frequency=(40, 70, "-")
    ),
    law(rectifier.regulation, no_load=(10, 20, "+"), full_load=(5, 10, "-")),
    law(rectifier.core_volt_amperes, core_area=(1e-4, 3e-3, "+"), frequency=(40, 70, "+")),
    law(rectifier.mains_range, nominal=(100, 240, "+"), low=(0.8, 1, "+"), high=(1, 1.2, "+")),
    law(
        loaded.source_resistance,
        secondary_voltage=VOLTS,
        alternating_current=(0.1, 10, "-"),
        regulation=(0, 0.5, "+"),
    ),
    law(
        loaded.flat_topped_voltage,
        open_voltage=VOLTS,
        resistance=(0, 5, "-"),
        current=AMPERES,
        diode_drop=(0, 1.2, "-"),
    ),
    law(
        loaded.mean_bound,
        open_voltage=VOLTS,
        resistance=(0, 5, "-"),
        current=AMPERES,
        diode_drop=(0, 1.2, "-"),
    ),
    law(
        loaded.trough_bound,
        open_voltage=VOLTS,
        resistance=(0, 5, "-"),
        current=AMPERES,
        capacitance=FARADS,
        frequency=HERTZ,
        diode_drop=(0, 1.2, "-"),
    ),
    law(transformers.bridge_transformer, direct_voltage=(1, 60, "+"), direct_current=(0, 10, "+")),
    law(transformers.centre_tap_transformer, direct_voltage=(1, 60, "+"), direct_current=(0, 10, "+")),
    law(
        transformers.half_wave_capacitance,
        peak=(5, 300, "+"),
        ripple=(0.1, 10, "-"),
        frequency=(40, 70, "-"),
        load_resistance=(10, 1e5, "-"),
    ),
    law(transformers.conduction_angle, peak=(5, 300, "-"), ripple=(0.1, 5, "+")),
    law(transformers.diode_current, load_current=(0, 10, "+"), peak=(5, 300, "+"), ripple=(0.1, 5, "-")),
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


def test_multiplier_table_of_a_transformer_maker() -> None:
    known = fact("RECT-01")
    names = {
        "half_wave_resistive": "half wave, resistive",
        "half_wave_cap_input": "half wave, capacitor",
        "centre_tap_resistive": "centre tap, resistive",
        "centre_tap_cap_input": "centre tap, capacitor",
        "centre_tap_choke_input": "centre tap, choke",
        "bridge_resistive": "bridge, resistive",
        "bridge_cap_input": "bridge, capacitor",
        "bridge_choke_input": "bridge, choke",
    }
    assert set(names.values()) == set(transformers.MULTIPLIERS)
    for printed, ours in names.items():
        row, table = transformers.MULTIPLIERS[ours], known.outputs[printed]
        assert row.average == known.near(table.get("Vdc", table.get("Vavg")))
        assert row.current == known.near(table["Idc"])
        assert row.peak == table.get("Vpk")
    assert known.outputs["bridge_cap_input"]["Idc"] == rectifier.DIRECT_CURRENT_FACTOR_HIGH


def test_multipliers_without_capacitor_follow_from_the_sine() -> None:
    """Mean of a rectified sine: 2 sqrt(2) / pi full wave, half of that half wave; current ratio 2 / pi."""
    table = transformers.MULTIPLIERS
    assert table["bridge, resistive"].average == pytest.approx(2 * SQRT2 / math.pi, abs=0.005)
    assert table["half wave, resistive"].average == pytest.approx(SQRT2 / math.pi, abs=0.005)
    assert table["half wave, resistive"].current == pytest.approx(2 / math.pi, abs=0.005)
    assert table["bridge, capacitor"].peak == pytest.approx(SQRT2, abs=0.005)


def test_centre_tap_rule() -> None:
    known = fact("RECT-02")
    voltage, current = known.inputs["Vdc_V"], known.inputs["Idc_A"]
    for capacitor, printed in ((True, known.outputs["with_cap"]), (False, known.outputs["no_cap"])):
        need = transformers.centre_tap_transformer(voltage, current, capacitor)
        assert need.voltage == known.near(printed["Vac_end_to_end_V"])
        assert need.current == known.near(printed["Iac_A"])
        assert need.apparent_power == known.near(printed["VA_core"])


def test_bridge_rule() -> None:
    known = fact("RECT-04")
    for case, printed in zip(known.inputs["cases"], known.outputs["cases"], strict=True):
        need = transformers.bridge_transformer(case["Vdc_V"], case["Idc_A"])
        assert need == known.near((printed["Vac_V"], printed["Iac_A"], printed["VA"]))
    factor = case["Idc_A"] / need.current
    assert factor == pytest.approx(rectifier.DIRECT_CURRENT_FACTOR_LOW, rel=0.02)


def test_misprinted_centre_tap_current_factor_is_not_used() -> None:
    """RECT-04: one maker's page prints 0.8 for a centre tap with capacitor; the right factor is 1.2."""
    assert "misprinted" in fact("RECT-04").note
    assert transformers.centre_tap_transformer(5.0, 2.0).current != pytest.approx(0.8 * 2.0, rel=0.1)


def test_mean_voltage_from_measured_ripple() -> None:
    known = fact("RECT-05")
    peak = rectifier.peak_voltage(known.inputs["Vac_rms_V"], diode_drop=0.0)
    assert rectifier.average_voltage(peak, known.inputs["ripple_pp_V"]) == known.near(known.outputs["Vdc_V"])


def test_rms_ripple_and_capacitor() -> None:
    known = fact("RECT-07")
    first, second = known.inputs["case1"], known.inputs["case2"]
    ripple = rectifier.ripple_bound(first["Idc_mA"] * 1e-3, first["C_uF"] * 1e-6, 60.0)
    assert rectifier.rms_ripple(ripple) == known.near(known.outputs["case1_Vr_rms_V"])
    peak_to_peak = second["Vr_rms_V"] / rectifier.rms_ripple(1.0)
    farads = rectifier.capacitance_for_ripple(second["Idc_mA"] * 1e-3, peak_to_peak, 60.0)
    assert farads * 1e6 == known.near(known.outputs["case2_C_uF"])


def test_misprinted_ripple_factor_is_not_reproduced() -> None:
    """RECT-07: the book prints 0.048 % for 500 ohm and 100 uF at 60 Hz; its own formula gives 4.8 %."""
    assert "MISPRINT" in fact("RECT-07").note
    per_volt = rectifier.rms_ripple(rectifier.ripple_bound(1.0 / 500.0, 100e-6, 60.0))
    assert per_volt == pytest.approx(0.048, rel=0.005)
    assert per_volt > 50 * 0.00048


def test_half_wave_peak_rectifier() -> None:
    known = fact("RECT-09")
    peak, ripple, load = known.inputs["Vp_V"], known.inputs["ripple_pp_V"], known.inputs["R_ohm"]
    farads = transformers.half_wave_capacitance(peak, ripple, known.inputs["f_Hz"], load)
    assert farads * 1e6 == known.near(known.outputs["C_uF"])
    angle = transformers.conduction_angle(peak, ripple)
    assert angle == known.near(known.outputs["conduction_angle_rad"])
    mean, most = transformers.diode_current(peak / load, peak, ripple)
    assert mean * 1e3 == known.near(known.outputs["iD_av_mA"])
    assert most * 1e3 == known.near(known.outputs["iD_max_mA"])


def test_mains_range() -> None:
    known = fact("RECT-11")
    assert pytest.approx(1 - known.inputs["tol_pct"] / 100) == MAINS_LOW
    assert pytest.approx(1 + known.inputs["tol_pct"] / 100) == MAINS_HIGH
    now = rectifier.mains_range(known.inputs["Vnom_V"])
    assert now == known.near((known.outputs["Vmin_V"], known.outputs["Vmax_V"]))
    assert rectifier.mains_range(240.0, 0.94, 1.06) == known.near(tuple(known.outputs["pre1995_240V_6pct"]))
    assert rectifier.mains_range(230.0, 0.94, 1.10) == known.near(tuple(known.outputs["1995_230V_+10_-6"]))


def test_peak_of_a_twelve_volt_winding_over_the_mains_range() -> None:
    """RECT-11, note: 13.47, 15.17 and 16.87 V at -10, 0 and +10 %."""
    assert "13.47 / 15.17 / 16.87" in fact("RECT-11").note
    found = rectifier.peak_voltage(12.0 * np.array([MAINS_LOW, 1.0, MAINS_HIGH]))
    np.testing.assert_allclose(found, [13.47, 15.17, 16.87], atol=0.006)
    assert rectifier.trough_voltage(12.0, 0.0, 4700e-6, 50.0) == pytest.approx(15.17, abs=0.006)


def test_regulation_divides_by_the_full_load_voltage() -> None:
    known = fact("RECT-12")
    found = rectifier.regulation(known.inputs["V_no_load_V"], known.inputs["V_full_load_V"])
    assert found * 100 == known.near(known.outputs["regulation_pct"])
    assert found != pytest.approx(0.091, abs=0.002)  # what dividing by the no-load voltage would give


def test_capacitor_voltage_of_an_unloaded_transformer() -> None:
    """RECT-12, note: 18 V, 10 % regulation, 253 V mains gives 30.8 V before the diodes."""
    assert "30.8 V" in fact("RECT-12").note
    assert rectifier.no_load_voltage(18.0 * MAINS_HIGH, 0.1, diode_drop=0.0) == pytest.approx(30.8, abs=0.05)


def test_volt_amperes_from_the_core() -> None:
    known = fact("RECT-14")
    area = known.inputs["core_area_mm2"] * 1e-6
    assert rectifier.core_volt_amperes(area, known.inputs["f_Hz"]) == known.near(known.outputs["VA"])
    assert rectifier.core_volt_amperes(1e-6 * math.sqrt(16042.0), 50.0) == pytest.approx(1.0, rel=0.001)


def test_ripple_bound_lies_above_simulated_ripple() -> None:
    known = fact("RECT-16")
    bound = rectifier.ripple_bound(known.inputs["I_A"], known.inputs["C_uF"] * 1e-6, known.inputs["f_Hz"])
    assert bound == known.near(known.outputs["formula_pp_V"])
    for simulated in known.outputs["sim_pp_V"]:
        assert 0.4 * bound <= simulated <= bound


def test_simulated_factors_lie_in_the_range() -> None:
    known = fact("RECT-16")
    direct, volts = known.inputs["I_A"], known.inputs["Vac_rms_V"]
    for resistance, factor in zip(known.inputs["Rs_ohm"], known.outputs["Idc_over_Iac"], strict=True):
        lost = direct / factor * resistance
        low, high = rectifier.direct_current_factor_range(rectifier.regulation(volts, volts - lost))
        assert low < factor < high


def test_published_factors_lie_in_the_range() -> None:
    """0.46 at 2 % and 0.62 at 19 % (RECT-01), 1/1.8 between (RECT-04)."""
    for regulation, factor in ((0.02, rectifier.DIRECT_CURRENT_FACTOR_STIFF), (0.19, 0.623), (0.08, 1 / 1.8)):
        low, high = rectifier.direct_current_factor_range(regulation)
        assert low < factor < high
        assert high - low < 0.1


def test_flat_topped_voltage_is_the_peak_without_resistance() -> None:
    stiff = loaded.flat_topped_voltage(12.0, 0.0, 1.0, diode_drop=0.9)
    assert stiff == pytest.approx(rectifier.peak_voltage(12.0, 0.9))


def test_flat_topped_voltage_ends_at_the_short_circuit_current() -> None:
    """A shorted bridge without drops carries the mean of the rectified sine over R: 2 sqrt(2) V / (pi R)."""
    short = 2 * SQRT2 * 12.0 / (math.pi * 2.0)
    assert loaded.flat_topped_voltage(12.0, 2.0, short, diode_drop=0.0) == pytest.approx(0.0, abs=1e-6)
    assert loaded.flat_topped_voltage(12.0, 2.0, 0.9 * short, diode_drop=0.0) > 0.5


@FEW
@given(st.floats(6, 40), st.floats(0.01, 2), st.floats(0.05, 0.95))
def test_flat_topped_voltage_carries_the_current_it_was_solved_for(
    volts: float, resistance: float, part: float
) -> None:
    """Numerical mean of (|sine| - V) / R over a half cycle, where positive, against the load current."""
    current = part * 2 * SQRT2 * volts / (math.pi * resistance)
    level = loaded.flat_topped_voltage(volts, resistance, current, diode_drop=0.0)
    angle = (np.arange(20000) + 0.5) * math.pi / 20000
    charging = np.maximum(SQRT2 * volts * np.sin(angle) - level, 0.0) / resistance
    assert charging.mean() == pytest.approx(current, rel=1e-3)


@FEW
@given(st.floats(0.01, 10), st.floats(1e-5, 0.1), st.sampled_from([50.0, 60.0]))
def test_capacitor_and_ripple_are_inverse(current: float, capacitance: float, frequency: float) -> None:
    ripple = rectifier.ripple_bound(current, capacitance, frequency)
    assert rectifier.capacitance_for_ripple(current, ripple, frequency) == pytest.approx(capacitance)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: rectifier.ripple_bound(1.0, 0.0, 50.0), "capacitance"),
        (lambda: rectifier.ripple_bound(1.0, np.array([1e-3, -1e-3]), 50.0), "capacitance"),
        (lambda: rectifier.ripple_bound(float("nan"), 1e-3, 50.0), "current"),
        (lambda: rectifier.peak_voltage(-1.0), "voltage"),
        (lambda: rectifier.direct_current_limit(1.0, 5.0), "factor"),
        (lambda: rectifier.mains_range(230.0, 1.1, 0.9), "low"),
        (lambda: rectifier.regulation(11.0, 0.0), "full-load"),
        (lambda: loaded.flat_topped_voltage(12.0, -1.0, 1.0), "resistance"),
        (lambda: transformers.bridge_transformer(-1.0, 1.0), "voltage"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
