"""Heat of pass devices and windings, held against published examples and closed-form limits."""

from __future__ import annotations

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import thermal
from fitter.physics.thermal import ZERO_CELSIUS

KELVIN, PATH = (260.0, 330.0, "+"), (0.1, 10.0, "+")
LAWS = [
    law(
        thermal.series_pass_dissipation,
        input_voltage=(20, 40, "+"),
        output_voltage=(0, 20, "-"),
        current=(0, 5, "+"),
    ),
    law(
        thermal.junction_temperature,
        ambient=KELVIN,
        power=(0, 50, "+"),
        resistance_junction_case=PATH,
        resistance_case_sink=PATH,
        resistance_sink=PATH,
        devices=(1, 6, "-"),
    ),
    law(
        thermal.sink_resistance_needed,
        ambient=(260, 330, "-"),
        junction_limit=(380, 480, "+"),
        power=(1, 50, "-"),
        resistance_junction_case=(0.1, 10, "-"),
        resistance_case_sink=(0.1, 10, "-"),
        devices=(1, 6, "+"),
    ),
    law(
        thermal.allowed_power,
        case_temperature=(260, 500, "-"),
        junction_limit=(380, 480, "+"),
        resistance_junction_case=(0.1, 10, "-"),
    ),
    law(
        thermal.derated_power,
        rated_power=(1, 200, "+"),
        slope=(0, 2, "-"),
        case_temperature=(260, 500, "-"),
        rated_at=(280, 320, "+"),
    ),
    law(thermal.supply_derating, ambient=(260, 400, "-"), full_up_to=(300, 330, "+"), slope=(0, 0.1, "-")),
    law(
        thermal.copper_resistance,
        resistance=(0, 100, "+"),
        temperature=(250, 450, "+"),
        reference=(250, 350, "-"),
    ),
    law(
        thermal.copper_temperature,
        cold_resistance=(5, 10, "-"),
        hot_resistance=(10, 20, "+"),
        cold_temperature=(250, 320, "+"),
    ),
    law(
        thermal.safe_area_current,
        voltage=(1, 80, "-"),
        max_current=(1, 20, "+"),
        max_power=(10, 200, "+"),
        breakdown_voltage=(20, 50, "+"),
        breakdown_current=(0.5, 5, "+"),
        max_voltage=(40, 80, "+"),
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


def test_regulator_with_and_without_heat_sink() -> None:
    known = fact("LIN-01")
    given_ = known.inputs
    power = thermal.series_pass_dissipation(given_["Vin_V"], given_["Vout_V"], given_["I_A"])
    assert power == known.near(known.outputs["P_W"])
    ambient = given_["Ta_C"] + ZERO_CELSIUS
    bare = thermal.junction_temperature(ambient, power, given_["theta_JA"], 0.0, 0.0)
    assert bare - ZERO_CELSIUS == known.near(known.outputs["Tj_no_sink_C"])
    cooled = thermal.junction_temperature(
        ambient, power, given_["theta_JC"], given_["theta_CS"], given_["theta_SA"]
    )
    assert cooled - ZERO_CELSIUS == known.near(known.outputs["Tj_sink_C"])
    assert cooled < 125.0 + ZERO_CELSIUS < bare


def test_power_and_current_from_total_thermal_resistance() -> None:
    known = fact("LIN-03")
    air = np.array(known.inputs["Ta_C"]) + ZERO_CELSIUS
    power = thermal.allowed_power(air, known.inputs["Tjmax_C"] + ZERO_CELSIUS, known.inputs["theta_total"])
    assert list(power) == known.near(known.outputs["P_W"])
    assert list(power / known.inputs["Vce_V"]) == known.near(known.outputs["Ic_A"])


def test_derating_line_of_a_power_transistor() -> None:
    known = fact("LIN-04")
    case = known.inputs["Tc_C"] + ZERO_CELSIUS
    derated = thermal.derated_power(known.inputs["PD25_W"], known.inputs["derate_W_per_C"], case)
    assert derated == known.near(known.outputs["PD_at_Tc_W"])
    limit = known.inputs["Tjmax_C"] + ZERO_CELSIUS
    assert thermal.allowed_power(case, limit, known.inputs["theta_JC"]) == known.near(derated)


def test_supply_derating_guide_line() -> None:
    known = fact("LIN-08")
    air = np.array(known.inputs["T_C"]) + ZERO_CELSIUS
    found = thermal.supply_derating(
        air, known.inputs["full_to_C"] + ZERO_CELSIUS, known.inputs["slope_pct_per_C"] / 100
    )
    assert list(found * 100) == known.near(known.outputs["pct"])
    assert thermal.supply_derating(air[1]) == pytest.approx(found[1])  # the guide line is the default


def test_ten_ampere_regulator_has_seven_volts_to_spend() -> None:
    known = fact("LIN-10")
    output, current = known.inputs["Vout_V"], known.inputs["I_A"]
    burnt = thermal.series_pass_dissipation(output + 7.0, output, current)
    assert burnt == known.near(known.inputs["reg_Pmax_W"])


def test_hot_copper() -> None:
    known = fact("REL-10")
    ratio = thermal.copper_resistance(1.0, known.inputs["T_C"] + ZERO_CELSIUS)
    assert ratio == known.near(known.outputs["RF"])
    assert 1 / ratio == known.near(known.outputs["I_at_const_V"])
    assert 1 / ratio == known.near(known.outputs["P_at_const_V"])


def test_resistance_rise_of_a_quarter_is_about_64_kelvin() -> None:
    """Common practice, no source: from 20 degC, 25 % more resistance means about 64 K."""
    rise = thermal.copper_temperature(1.0, 1.25, 293.15) - 293.15
    assert rise == pytest.approx(64.0, abs=0.5)


@FEW
@given(st.floats(0.1, 100), st.floats(253.15, 423.15))
def test_both_copper_rules_agree(resistance: float, temperature: float) -> None:
    """0.00393 per kelvin and the 234.5 rule are two roundings of one line."""
    hot = thermal.copper_resistance(resistance, temperature)
    found = thermal.copper_temperature(resistance, hot, thermal.ROOM)
    assert found == pytest.approx(temperature, abs=0.15)


@FEW
@given(st.floats(270, 320), st.floats(350, 470), st.floats(1, 60), st.floats(0.2, 5), st.integers(1, 4))
def test_sink_that_is_just_enough(
    ambient: float, limit: float, power: float, path: float, devices: int
) -> None:
    sink = thermal.sink_resistance_needed(ambient, limit, power, path, 0.5, devices)
    if sink >= 0:
        assert thermal.junction_temperature(ambient, power, path, 0.5, sink, devices) == pytest.approx(limit)
    else:
        assert thermal.junction_temperature(ambient, power, path, 0.5, 0.0, devices) > limit


def test_safe_area_meets_its_three_limits() -> None:
    """2N3055: 15 A, 115 W, 60 V; second breakdown from 40 V up (data sheet, from memory)."""
    known = fact("LIN-04").inputs
    transistor = (known["Ic_A"], known["PD25_W"], 40.0, known["PD25_W"] / 40.0, known["Vceo_V"])
    volts = np.array([1.0, 20.0, 40.0, 59.9, 60.1])
    found = thermal.safe_area_current(volts, *transistor)
    assert found[0] == known["Ic_A"]
    assert found[1] == pytest.approx(115 / 20)
    assert found[2] == pytest.approx(115 / 40)
    assert 0.5 * 115 / 59.9 < found[3] < 115 / 59.9
    assert found[4] == 0.0


def test_mounting_table_is_ordered_and_insulation_costs() -> None:
    table = thermal.CASE_TO_SINK
    assert all(0 < low < high for low, high in table.values())
    for case in ("TO-220", "TO-3"):
        bare, mica = table[f"{case}, bare with grease"], table[f"{case}, mica with grease"]
        assert bare[1] <= mica[0]
    one_kelvin_per_watt = fact("LIN-01").inputs["theta_CS"]  # a published TO-220 mounting
    low = min(low for name, (low, _) in table.items() if name.startswith("TO-220"))
    high = max(high for name, (_, high) in table.items() if name.startswith("TO-220"))
    assert low < one_kelvin_per_watt < high


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: thermal.series_pass_dissipation(5.0, 12.0, 1.0), "output"),
        (lambda: thermal.series_pass_dissipation(12.0, 5.0, np.array([1.0, -1.0])), "current"),
        (lambda: thermal.junction_temperature(-25.0, 1.0, 1.0, 1.0, 1.0), "kelvin"),
        (lambda: thermal.junction_temperature(300.0, 1.0, 1.0, 1.0, 1.0, devices=0), "device"),
        (lambda: thermal.sink_resistance_needed(300.0, 400.0, 0.0, 1.0, 1.0), "power"),
        (lambda: thermal.allowed_power(300.0, 400.0, 0.0), "resistance"),
        (lambda: thermal.copper_temperature(0.0, 1.0, 293.15), "cold"),
        (lambda: thermal.safe_area_current(0.0, 1.0, 1.0, 1.0, 1.0, 1.0), "voltage"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
