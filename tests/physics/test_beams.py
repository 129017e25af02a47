"""Rods held against worked examples and an independent beam library."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law
from motion_facts import fact

from fitter.physics import beams

ROD = {"length": (0.05, 2, "+"), "diameter": (0.003, 0.05, "-"), "modulus": (5e10, 2.2e11, "-")}
LAWS = [
    law(beams.rod_second_moment, diameter=(0.02, 0.05, "+"), bore=(0, 0.015, "-")),
    *[
        law(formula, force=(0, 100, "+"), **ROD)
        for formula in (
            beams.sag_supported_ends,
            beams.sag_fixed_ends,
            beams.sag_cantilever,
            beams.slope_supported_ends,
        )
    ],
    law(beams.sag_at, force=(0, 100, "+"), place=(0, 0.5, "0"), **ROD | {"length": (0.5, 2, "+")}),
    law(beams.sag_own_weight, **ROD, density=(0, 8000, "+")),
    law(beams.bending_stress, force=(0, 100, "+"), length=(0.05, 2, "+"), diameter=(0.003, 0.05, "-")),
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


@pytest.mark.parametrize(
    ("name", "formula"), [("BM-01", beams.sag_supported_ends), ("BM-02", beams.sag_fixed_ends)]
)
def test_shaft_of_a_worked_example(name: str, formula: Any) -> None:
    known = fact(name)
    i = known.inputs
    found = formula(i["F_N"], i["L_mm"] * 1e-3, i["d_mm"] * 1e-3, i["E_GPa"] * 1e9)
    assert found * 1e3 == known.near(known.outputs["deflection_mm"])


def test_rods_of_printers() -> None:
    # own arithmetic of a trade list: 600 mm, 7.5 N: 0.84 mm for 8 mm, 0.34 mm for 10 mm
    for diameter, sag in ((0.008, 0.84), (0.010, 0.34)):
        assert beams.sag_supported_ends(7.5, 0.6, diameter) * 1e3 == pytest.approx(sag, abs=0.006)


def library_beam(length: float, diameter: float, load: Any, fixed: bool = False) -> Any:
    """The same rod in indeterminatebeam, solved."""
    library = pytest.importorskip("indeterminatebeam")
    beam = library.Beam(length, E=beams.STEEL_MODULUS, I=math.pi * diameter**4 / 64)
    held = (1, 1, 1) if fixed else (1, 1, 0)
    beam.add_supports(library.Support(0, held), library.Support(length, held if fixed else (0, 1, 0)))
    beam.add_loads(load(library))
    beam.analyse()
    return beam


@pytest.mark.parametrize(
    ("fixed", "formula"), [(False, beams.sag_supported_ends), (True, beams.sag_fixed_ends)]
)
def test_middle_load_against_a_beam_library(fixed: bool, formula: Any) -> None:
    beam = library_beam(0.6, 0.008, lambda b: b.PointLoadV(-7.5, 0.3), fixed)
    assert formula(7.5, 0.6, 0.008) == pytest.approx(-beam.get_deflection(0.3), rel=1e-5)


def test_load_anywhere_against_a_beam_library() -> None:
    beam = library_beam(0.6, 0.008, lambda b: b.PointLoadV(-7.5, 0.2))
    assert beams.sag_at(7.5, 0.2, 0.6, 0.008) == pytest.approx(-beam.get_deflection(0.2), rel=1e-5)


def test_slope_against_a_beam_library() -> None:
    beam = library_beam(0.6, 0.008, lambda b: b.PointLoadV(-7.5, 0.3))
    step = 5e-3
    assert beams.slope_supported_ends(7.5, 0.6, 0.008) == pytest.approx(
        -beam.get_deflection(step) / step, rel=1e-3
    )


@pytest.mark.parametrize("fixed", [False, True])
def test_own_weight_against_a_beam_library(fixed: bool) -> None:
    weight = beams.STEEL_DENSITY * beams.GRAVITY * math.pi * 0.008**2 / 4
    beam = library_beam(0.6, 0.008, lambda b: b.UDLV(-weight, (0, 0.6)), fixed)
    assert beams.sag_own_weight(0.6, 0.008, fixed_ends=fixed) == pytest.approx(
        -beam.get_deflection(0.3), rel=1e-5
    )


def test_bending_stress_against_a_beam_library() -> None:
    beam = library_beam(0.6, 0.008, lambda b: b.PointLoadV(-7.5, 0.3))
    stress = beam.get_bending_moment(0.3) * 0.004 / (math.pi * 0.008**4 / 64)
    assert beams.bending_stress(7.5, 0.6, 0.008) == pytest.approx(stress, rel=1e-6)


@given(place=st.floats(0.0, 0.6), force=st.floats(0.1, 100))
def test_the_middle_is_the_worst_place(place: float, force: float) -> None:
    assert beams.sag_at(force, place, 0.6, 0.008) <= beams.sag_supported_ends(force, 0.6, 0.008) * (1 + 1e-12)
    assert beams.sag_at(force, 0.3, 0.6, 0.008) == pytest.approx(beams.sag_supported_ends(force, 0.6, 0.008))


@given(length=st.floats(0.05, 2), diameter=st.floats(0.003, 0.05))
def test_a_cantilever_is_half_a_supported_rod(length: float, diameter: float) -> None:
    # by symmetry each half of a supported rod is a cantilever bent up by half the force
    tip = beams.sag_cantilever(5.0, length, diameter)
    assert beams.sag_supported_ends(10.0, 2 * length, diameter) == pytest.approx(tip)


def test_a_thin_tube_is_weaker_than_a_rod() -> None:
    assert beams.rod_second_moment(0.01, bore=0.005) == pytest.approx(beams.rod_second_moment(0.01) * 15 / 16)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: beams.rod_second_moment(0.01, bore=0.01), "diameter"),
        (lambda: beams.sag_supported_ends(1.0, -0.1, 0.008), "length"),
        (lambda: beams.sag_supported_ends(1.0, 0.1, np.array([0.008, 0.0])), "diameter"),
        (lambda: beams.sag_supported_ends(1.0, 0.1, 0.008, modulus=0.0), "modulus"),
        (lambda: beams.sag_at(1.0, 0.7, 0.6, 0.008), "place"),
    ],
)
def test_meaningless_input_is_refused(call: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()


@given(diameter=st.floats(2e-3, 30e-3), slenderness=st.floats(1.0, 200.0))
def test_shear_adds_the_share_of_timoshenkos_beam(diameter: float, slenderness: float) -> None:
    """Shear over bending in the middle is 12 E I / (k G A L^2), that is 12 (E/G)/(16 k) (d/L)^2: textbook."""
    length = slenderness * diameter
    share = beams.shear_sag(10.0, length, diameter) / beams.sag_supported_ends(10.0, length, diameter)
    assert share == pytest.approx(12 * 200 / 79 / (16 * 0.886) / slenderness**2, rel=1e-3)
