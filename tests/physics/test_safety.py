"""Limits and hazard classes, held against published limits and examples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import rectifier, safety

LAWS = [
    law(safety.stored_energy, capacitance=(0, 0.1, "+"), voltage=(0, 400, "+")),
    law(
        safety.discharge_time,
        capacitance=(1e-5, 0.1, "+"),
        resistance=(100, 1e6, "+"),
        voltage=(10, 400, "+"),
        safe_voltage=(10, 100, "-"),
    ),
    law(
        safety.bleeder_resistance,
        capacitance=(1e-5, 0.1, "-"),
        fraction=(0.01, 0.9, "+"),
        time=(1, 60, "+"),
    ),
    law(safety.bleeder_power, voltage=(0, 400, "+"), resistance=(100, 1e6, "-")),
    law(safety.charge_class, capacitance=(0, 1e-6, "+"), voltage=(0, 2000, "+")),
    law(safety.accessible_charge_allowed, capacitance=(0, 1e-6, "-"), voltage=(0, 20000, "0")),
    law(safety.energy_hazard, voltage=(0, 48, "+"), current=(0, 50, "+")),
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


def test_extra_low_voltage_limits() -> None:
    known = fact("SAFE-01")
    printed = known.outputs
    assert printed["ELV_ac_rms_V"] == safety.EXTRA_LOW_VOLTAGE_AC
    assert printed["ELV_dc_V"] == safety.EXTRA_LOW_VOLTAGE_DC
    assert printed["touchable_dry_ac_V"] == safety.TOUCHABLE_AC
    assert printed["touchable_dry_dc_V"] == safety.TOUCHABLE_DC
    assert printed["SELV_60950_peak_V"] == safety.SAFE_PEAK
    assert known.near(30 * math.sqrt(2)) == safety.SAFE_PEAK
    assert known.near(printed["fault_abs_peak_V"]) == 50 * math.sqrt(2)
    assert "12 V ac/30 V dc" in known.note
    assert (safety.TOUCHABLE_AC_WET, safety.TOUCHABLE_DC_WET) == (12.0, 30.0)


def test_charge_classes_at_and_beside_every_row() -> None:
    known = fact("SAFE-02")
    for nanofarads, first, second in known.outputs["cap_nF_ES1_ES2_Vpeak"]:
        farads = nanofarads * 1e-9
        volts = np.array([first, first * 1.01, second, second * 1.01], dtype=float)
        assert list(safety.charge_class(farads, volts)) == [1, 2, 2, 3]


def test_big_capacitors_have_the_steady_limits() -> None:
    known = fact("SAFE-02").outputs
    limits = (known["ES1"]["dc_V"], known["ES2"]["dc_V"])
    volts = np.array([limits[0], limits[0] + 1, limits[1], limits[1] + 1], dtype=float)
    assert list(safety.charge_class(1e-2, volts)) == [1, 2, 2, 3]


def test_capacitance_between_two_rows_is_judged_by_the_larger() -> None:
    """100 nF lies between 91 nF (100 V) and 170 nF (75 V): 80 V is class 2."""
    assert safety.charge_class(100e-9, 80.0) == 2


def test_accessible_charge_limits() -> None:
    known = fact("SAFE-03").outputs
    micro = known["C_max_uF_42.4_450V"] * 1e-6
    assert safety.accessible_charge_allowed(micro, 450.0)
    assert not safety.accessible_charge_allowed(micro * 1.01, 450.0)
    assert safety.accessible_charge_allowed(1.0, 42.4)
    charge = known["Q_max_uC_450V_15kV"] * 1e-6
    assert safety.accessible_charge_allowed(charge / 1000 * 0.999, 1000.0)
    assert not safety.accessible_charge_allowed(charge / 1000 * 1.001, 1000.0)
    energy = known["E_max_mJ_over_15kV"] * 1e-3
    assert safety.accessible_charge_allowed(2 * energy / 20e3**2 * 0.999, 20e3)
    assert not safety.accessible_charge_allowed(2 * energy / 20e3**2 * 1.001, 20e3)


def test_energy_hazard() -> None:
    known = fact("SAFE-05")
    cases = np.array(known.inputs["cases_V_A"], dtype=float)
    assert list(cases[:, 0] * cases[:, 1]) == known.near(known.outputs["VA"])
    assert list(safety.energy_hazard(cases[:, 0], cases[:, 1])) == known.outputs["hazard"]
    assert not safety.energy_hazard(known.outputs["min_V"] - 0.1, 1000.0)
    assert known.outputs["threshold_VA"] == safety.ENERGY_HAZARD_POWER
    assert known.outputs["threshold_J"] == safety.ENERGY_HAZARD_CHARGE


def test_limited_power_sources() -> None:
    known = fact("SAFE-05").outputs["LPS"]
    assert known == {"<=20V": "8 A, 5*Uoc VA", "20-30V": "8 A, 100 VA", "30-60Vdc": "150/Uoc A, 100 VA"}
    assert safety.limited_power(5.0) == (8.0, 25.0)
    assert safety.limited_power(24.0) == (8.0, 100.0)
    assert safety.limited_power(48.0) == pytest.approx((3.125, 100.0))
    with pytest.raises(ValueError, match="60 V"):
        safety.limited_power(61.0)


def test_bleeder_for_ninety_per_cent() -> None:
    known = fact("SAFE-07")
    farads, volts = known.inputs["C_uF"] * 1e-6, known.inputs["V_V"]
    assert safety.stored_energy(farads, volts) == known.near(known.outputs["E_J"])
    ohms = safety.bleeder_resistance(farads, known.inputs["fraction"], known.inputs["t_s"])
    assert ohms == known.near(known.outputs["R_ohm"])
    assert ohms * farads == known.near(known.outputs["tau_s"])
    assert safety.bleeder_power(volts, ohms) == known.near(known.outputs["P_W"])


def test_bleeder_on_an_audio_rail() -> None:
    known = fact("SAFE-09")
    assert safety.bleeder_power(known.inputs["V_V"], known.inputs["R_ohm"]) == known.near(
        known.outputs["P_W"]
    )


def test_five_seconds_of_a_bleeder_page_are_not_reproduced() -> None:
    """SAFE-09: the page says 28 mA empties 4700 uF from 56 to 10 V in 5 s; 2 kohm takes three times that."""
    assert "MISMATCH" in fact("SAFE-09").note
    seconds = safety.discharge_time(4700e-6, 2000.0, 56.0, safe_voltage=10.0)
    constant_current = 4700e-6 * (56.0 - 10.0) / 0.028
    assert constant_current == pytest.approx(7.7, abs=0.05)
    assert seconds > constant_current > 5.0


def test_off_line_bulk_capacitor() -> None:
    known = fact("SAFE-10")
    mains, farads = known.inputs["Vac_V"], known.inputs["C_uF"] * 1e-6
    assert rectifier.peak_voltage(mains, 0.0) == known.near(known.outputs["Vpk_V"])
    high = rectifier.peak_voltage(mains * rectifier.MAINS_HIGH, 0.0)
    assert high == known.near(known.outputs["Vpk_high_line_V"])
    assert safety.stored_energy(farads, 325.0) == known.near(known.outputs["E_325V_J"])
    assert safety.stored_energy(farads, 400.0) == known.near(known.outputs["E_400V_J"])
    ohms = known.inputs["R_bleed_kohm"] * 1e3
    assert safety.discharge_time(farads, ohms, 325.0, 60.0) == known.near(known.outputs["t_to_60V_s"])
    assert safety.charge_class(farads, 325.0) == 3


@FEW
@given(st.floats(1e-5, 0.1), st.floats(0.01, 0.95), st.floats(0.1, 60), st.floats(10, 400))
def test_bleeder_and_discharge_time_are_inverse(
    farads: float, fraction: float, seconds: float, volts: float
) -> None:
    ohms = safety.bleeder_resistance(farads, fraction, seconds)
    assert safety.discharge_time(farads, ohms, volts, fraction * volts) == pytest.approx(seconds)


def test_below_the_safe_voltage_no_wait() -> None:
    assert safety.discharge_time(1e-3, 1e5, 50.0) == 0.0


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: safety.stored_energy(np.array([1e-3, -1e-3]), 10.0), "capacitance"),
        (lambda: safety.discharge_time(1e-3, 0.0, 100.0), "resistance"),
        (lambda: safety.bleeder_resistance(1e-3, 1.0, 10.0), "fraction"),
        (lambda: safety.bleeder_power(10.0, 0.0), "resistance"),
        (lambda: safety.charge_class(1e-3, -5.0), "voltage"),
        (lambda: safety.energy_hazard(12.0, -1.0), "current"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
