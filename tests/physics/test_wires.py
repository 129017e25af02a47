"""Wire, fuses and traces, held against published tables and worked examples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from electrical_facts import fact
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law

from fitter.physics import wires

LAWS = [
    law(wires.gauge_diameter, gauge=(-3, 40, "-")),
    law(wires.gauge_area, gauge=(-3, 40, "-")),
    law(wires.gauge_from_diameter, diameter=(5e-5, 1e-2, "-")),
    law(
        wires.wire_resistance,
        length=(0, 100, "+"),
        area=(1e-8, 1e-5, "-"),
        resistivity=(1e-8, 1e-6, "+"),
    ),
    law(
        wires.cable_drop,
        one_way_length=(0, 100, "+"),
        current=(0, 10, "+"),
        area=(1e-8, 1e-5, "-"),
        resistivity=(1e-8, 1e-6, "+"),
    ),
    law(wires.bundled_current, area=(0, 1e-5, "+")),
    law(wires.resistance_to_20_celsius, temperature=(250, 400, "-")),
    law(wires.fuse_rating_needed, current=(0, 20, "+"), loading=(0.5, 1, "-")),
    law(wires.pulse_energy, peak_current=(0, 100, "+"), duration=(0, 1, "+")),
    law(wires.melting_energy_needed, pulse=(0, 10, "+"), pulses=(1, 1e6, "+")),
    law(wires.trace_area, current=(0, 20, "+"), rise=(5, 100, "-")),
    law(wires.trace_width, current=(0, 20, "+"), rise=(5, 100, "-"), thickness=(1e-5, 1e-4, "-")),
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


def test_gauge_anchors() -> None:
    known = fact("WIRE-01")
    found = [wires.gauge_diameter(gauge) / 0.0254 for gauge in (36, -3)]
    assert known.inputs["AWG"] == [36, "0000"]
    assert found == known.near(known.outputs["d_inch"])
    assert wires.gauge_diameter(20) / wires.gauge_diameter(21) == known.near(known.outputs["ratio"])
    assert (found[1] / found[0]) == known.near(known.outputs["ratio"] ** known.outputs["steps"])


def test_gauge_table() -> None:
    known = fact("WIRE-02")
    assert {str(gauge) for gauge in wires.AWG_FREE_AIR_CURRENT} == set(known.outputs)
    for gauge, (millimetres, ohms, free_air, bundled) in known.outputs.items():
        number = int(gauge)
        assert wires.gauge_diameter(number) * 1e3 == known.near(millimetres)
        ohms_found = wires.wire_resistance(1e3, wires.gauge_area(number), known.inputs["rho_ohm_m"])
        assert ohms_found == known.near(ohms)
        assert free_air == wires.AWG_FREE_AIR_CURRENT[number]
        assert bundled == wires.AWG_BUNDLED_CURRENT[number]
        assert wires.bundled_current(wires.gauge_area(number)) == known.near(bundled, rel=0.04)  # its note


def test_flexible_cable_lies_above_solid_copper_of_its_area() -> None:
    known = fact("WIRE-04")
    assert {str(area): list(ohms) for area, ohms in wires.FLEXIBLE_CABLE.items()} == {
        str(float(area)): ohms for area, ohms in known.outputs.items()
    }
    for area, (plain, tinned) in wires.FLEXIBLE_CABLE.items():
        solid = wires.wire_resistance(1e3, area * 1e-6)
        assert solid < plain < 1.2 * solid
        assert plain < tinned < 1.06 * plain


def test_temperature_factor() -> None:
    known = fact("WIRE-06")
    found = wires.resistance_to_20_celsius(np.array(known.inputs["T_C"]) + 273.15)
    assert list(found) == known.near(known.outputs["Kt"])
    assert wires.resistance_to_20_celsius(293.15) == pytest.approx(1.0)


def test_voltage_drop_of_a_long_run() -> None:
    known = fact("WIRE-07")
    given_ = known.inputs
    resistivity = given_["rho_ohm_mm2_m"] * 1e-6
    drop = wires.cable_drop(given_["L_one_way_m"], given_["I_A"], given_["A_mm2"] * 1e-6, resistivity)
    assert drop == known.near(known.outputs["dV_V"])
    assert 100 * drop / given_["V_V"] == known.near(known.outputs["pct"])
    exact = wires.cable_drop(given_["L_one_way_m"], given_["I_A"], wires.gauge_area(16), resistivity)
    assert exact == pytest.approx(0.5456, rel=1e-3)  # the same example with the exact area of gauge 16


def test_fuse_opening_times_and_breaking_capacity() -> None:
    known = fact("FUSE-01").outputs
    assert dict(wires.UL_FUSE_OPENING_TIME) == {
        1.35: known["open_135pct_s"],
        2.0: known["open_200pct_s_0_30A"],
    }
    assert wires.UL_FUSE_OPENING_TIME_ABOVE_30_A[2.0] == known["open_200pct_s_35_60A"]
    assert known["interrupt_125V_A"] == wires.UL_INTERRUPT_125_V
    ends = [float(name.removeprefix("<=").split("-")[-1]) for name in known["interrupt_250V_A"]]
    assert list(wires.UL_INTERRUPT_250_V) == list(zip(ends, known["interrupt_250V_A"].values(), strict=True))


def test_fuse_loading() -> None:
    known = fact("FUSE-02")
    normal = known.inputs["I_normal_A"]
    assert wires.fuse_rating_needed(normal) == known.near(known.outputs["I_fuse_UL_A"])
    assert known.near(known.outputs["IEC_may_run_at_pct"] / 100) == wires.IEC_FUSE_LOADING
    assert wires.fuse_rating_needed(normal, wires.IEC_FUSE_LOADING) == normal


def test_pulse_energy_of_each_shape() -> None:
    known = fact("FUSE-03").outputs["I2t"]
    assert known == {
        "rect": "ip^2 t",
        "sine_half": "ip^2 t/2",
        "triangle": "ip^2 t/3",
        "i=kt^2": "ip^2 t/5",
        "exp": "ip^2 t/2",
    }
    parts = {"rectangle": 1, "half sine": 2, "triangle": 3, "parabola": 5, "exponential": 2}
    assert set(parts) == set(wires.PULSE_SHAPE)
    for shape, part in parts.items():
        assert wires.pulse_energy(3.0, 0.5, shape) == pytest.approx(9 * 0.5 / part)


def test_pulse_shapes_are_the_integrals_of_their_squares() -> None:
    """Numerical integral of (i / ip)^2 over the pulse; an exponential over many time constants."""
    time = (np.arange(20000) + 0.5) / 20000
    shapes = {
        "half sine": np.sin(math.pi * time),
        "triangle": 1 - np.abs(2 * time - 1),
        "parabola": time**2,
    }
    for name, current in shapes.items():
        assert np.mean(current**2) == pytest.approx(wires.PULSE_SHAPE[name], rel=1e-4)
    assert 20 * np.mean(np.exp(-20 * time) ** 2) == pytest.approx(wires.PULSE_SHAPE["exponential"], rel=1e-3)


def test_melting_energy_for_many_pulses() -> None:
    known = fact("FUSE-03")
    found = 1 / wires.melting_energy_needed(1.0, np.array(known.inputs["pulses"], dtype=float))
    assert list(found * 100) == known.near(known.outputs["pulse_I2t_as_pct_of_melt"])


def test_trace_for_one_ampere() -> None:
    known = fact("PCB-01")
    current, rise = known.inputs["I_A"], known.inputs["dT_C"]
    thickness = known.inputs["oz"] * wires.COPPER_OUNCE
    for inner, place in ((False, "ext"), (True, "int")):
        area = wires.trace_area(current, rise, inner)
        assert area / 25.4e-6**2 == known.near(known.outputs[f"{place}_area_mil2"])
        width = wires.trace_width(current, rise, thickness, inner)
        assert width * 1e3 == known.near(known.outputs[f"{place}_width_mm"])


def test_older_trace_fits_are_not_used() -> None:
    """PCB-01: the IPC-D-275 fits give 0.249 mm outside and 1.013 mm inside for the same trace."""
    assert "0.249 and 1.013 mm" in fact("PCB-01").note
    assert wires.trace_width(1.0, 10.0) * 1e3 > 0.249 * 1.1
    assert wires.trace_width(1.0, 10.0, inner=True) * 1e3 < 1.013 * 0.9


@FEW
@given(st.floats(-3, 50))
def test_gauge_and_diameter_are_inverse(gauge: float) -> None:
    assert wires.gauge_from_diameter(wires.gauge_diameter(gauge)) == pytest.approx(gauge, abs=1e-9)


@FEW
@given(st.floats(-3, 40))
def test_three_gauges_halve_the_copper(gauge: float) -> None:
    """Trade rule: three numbers up is half the area, ten is a tenth (within 1 %)."""
    assert wires.gauge_area(gauge + 3) == pytest.approx(wires.gauge_area(gauge) / 2, rel=0.01)
    assert wires.gauge_area(gauge + 10) == pytest.approx(wires.gauge_area(gauge) / 10, rel=0.02)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: wires.gauge_diameter(60), "gauge"),
        (lambda: wires.gauge_from_diameter(0.0), "diameter"),
        (lambda: wires.wire_resistance(1.0, np.array([1e-6, 0.0])), "area"),
        (lambda: wires.resistance_to_20_celsius(20.0), "kelvin"),
        (lambda: wires.fuse_rating_needed(1.0, 1.5), "loading"),
        (lambda: wires.pulse_energy(1.0, 1.0, "saw"), "triangle"),
        (lambda: wires.melting_energy_needed(1.0, 0), "pulse"),
        (lambda: wires.trace_area(1.0, 0.0), "rise"),
    ],
)
def test_meaningless_input_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()
