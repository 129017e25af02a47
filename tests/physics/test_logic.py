"""Logic levels, photo-interrupter resistors and connectors, held against published tables."""

from __future__ import annotations

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import logic
from fitter.physics.logic import LEVELS, drives, noise_margins

LAWS = [
    law(
        logic.series_resistance,
        supply_voltage=(3, 24, "+"),
        forward_voltage=(1, 2, "-"),
        current=(1e-3, 0.05, "-"),
    ),
    law(
        logic.series_current,
        supply_voltage=(3, 24, "+"),
        forward_voltage=(0, 2, "-"),
        resistance=(100, 1e4, "-"),
    ),
    law(logic.connector_current, pin_current=(0, 10, "+"), pins=(1, 64, "+")),
]
NAMES = {"TTL": "TTL 5 V", "CMOS5": "CMOS 5 V", "LV33": "CMOS 3.3 V"}


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


def test_level_table() -> None:
    known = fact("LOG-01")
    printed = {"TTL 5 V": "TTL_5V", "CMOS 5 V": "CMOS_5V", "CMOS 3.3 V": "LVCMOS_3V3"}
    assert set(printed) == set(LEVELS)
    for ours, theirs in printed.items():
        row, levels = known.outputs[theirs], LEVELS[ours]
        found = (levels.input_low, levels.input_high, levels.output_low, levels.output_high)
        assert found == known.near((row["VIL"], row["VIH"], row["VOL"], row["VOH"]))


def test_noise_margins() -> None:
    known = fact("LOG-01")
    for short, (high, low) in known.outputs["noise_margin_V"].items():
        family = LEVELS[NAMES[short]]
        found = noise_margins(family, family)
        assert found == known.near((low, high))


def test_who_drives_whom() -> None:
    known = fact("LOG-01").outputs["drives"]
    for pair, verdict in known.items():
        sender, receiver = (LEVELS[NAMES[name]] for name in pair.split("->"))
        match = drives(sender, receiver)
        if verdict.startswith("NO"):
            assert not match.levels, pair
        elif verdict == "YES":
            assert match.works, pair
        else:
            assert "5 V tolerant" in verdict
            assert match.levels, pair
            assert not match.works, pair
            assert drives(sender, receiver, tolerates=5.5).works, pair


def test_every_family_drives_itself() -> None:
    for family in LEVELS.values():
        assert drives(family, family).works


@FEW
@given(st.floats(1.5, 15))
def test_levels_of_any_supply_are_ordered_and_drive_themselves(supply: float) -> None:
    levels = logic.levels_for_supply(supply)
    assert 0 < levels.input_low < levels.input_high < supply
    if supply > 1.9:  # below, the fixed output drops eat the margins
        assert drives(levels, levels).works


def test_levels_of_five_volts_are_the_table_s() -> None:
    assert logic.levels_for_supply(5.0) == pytest.approx(LEVELS["CMOS 5 V"])


def test_photo_interrupter_resistors() -> None:
    known = fact("OPT-01")
    given_, printed = known.inputs, known.outputs
    exact = logic.series_resistance(given_["Vcc_V"], given_["Vf_V"], given_["If_mA"] * 1e-3)
    assert exact == known.near(printed["R1_exact_ohm"])
    led = logic.series_current(given_["Vcc_V"], given_["Vf_V"], printed["R1_used_ohm"])
    assert led * 1e3 == known.near(printed["If_actual_mA"])
    collector = logic.series_current(given_["Vcc_V"], 0.0, given_["R2_ohm"])
    assert collector * 1e3 == known.near(printed["Ic_mA"])


def test_misadded_total_of_the_photo_interrupter_page_is_not_used() -> None:
    """OPT-01: the page says 22 mA in total; its own two currents add up to 23.9 mA."""
    assert "sum is 23.9 mA" in fact("OPT-01").note
    total = logic.series_current(5.0, 1.1, 180.0) + logic.series_current(5.0, 0.0, 2200.0)
    assert total * 1e3 == pytest.approx(23.9, abs=0.05)
    assert total * 1e3 > 23


@FEW
@given(st.floats(3, 24), st.floats(0.5, 2), st.floats(1e-3, 0.1))
def test_series_resistance_and_current_are_inverse(supply: float, forward: float, current: float) -> None:
    ohms = logic.series_resistance(supply, forward, current)
    assert logic.series_current(supply, forward, ohms) == pytest.approx(current)


def test_connector_derating() -> None:
    known = fact("CONN-01")
    one = known.inputs["single_pair_A"]
    assert logic.connector_current(one, 1) == one
    assert logic.connector_current(one, 2) == known.near(known.outputs["A_2pairs"])
    assert logic.connector_current(one, 4) == known.near(known.outputs["A_4pairs"])
    assert known.near(known.outputs["derate_per_doubling"]) == logic.CURRENT_KEPT_PER_DOUBLING


def test_connector_table() -> None:
    known = fact("CONN-01").outputs
    assert dict(logic.CONNECTOR_CURRENT) == {
        "4.2 mm power connector": known["4.2mm_power_A_per_circuit"],
        "3.0 mm power connector": known["3.0mm_power_A"],
        "1.5 mm wire-to-board": known["1.5mm_wire_to_board_A"],
        "2.54 mm pin header": known["pin_header_2.54_A"],
        "peripheral 4-pin, AWG 18": known["peripheral_4pin_18AWG_all_loaded_A"],
        "peripheral 4-pin, AWG 14": known["peripheral_4pin_14AWG_A"],
    }


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: logic.series_resistance(5.0, 1.1, 0.0), "current"),
        (lambda: logic.series_current(1.0, np.array([0.5, 1.1]), 100.0), "supply"),
        (lambda: logic.connector_current(3.0, 0), "pin"),
        (lambda: logic.levels_for_supply(1.0), "supply"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
