"""ISO 286 limits and ISO 273 holes held against published tables, misprints included."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from motion_facts import fact

from fitter.physics import fits

BANDS = [(0.0, 3.0), (3.0, 6.0), (6.0, 10.0), (10.0, 18.0), (18.0, 30.0)]
SYMBOLS = [f"{letter}{grade}" for letter in ("H", *fits.SHAFT_DEVIATIONS) for grade in fits.GRADES]
DIAMETER = st.floats(1e-3, fits.LARGEST)


def micrometres(diameter: float, symbol: str) -> list[float]:
    return [float(value) * 1e6 for value in fits.limits(diameter, symbol)]


@pytest.mark.parametrize("band", range(5))
def test_published_limits(band: int) -> None:
    known = fact("FT-01")
    out = known.outputs
    over, up_to = BANDS[band]
    for millimetres in (over + 0.001, (over + up_to) / 2, up_to):
        diameter = millimetres * 1e-3
        assert micrometres(diameter, "H7") == pytest.approx([0, out["H7_upper"][band]], abs=1e-6)
        assert micrometres(diameter, "H8") == pytest.approx([0, out["IT8"][band]], abs=1e-6)
        assert micrometres(diameter, "h6") == pytest.approx([out["h6_lower"][band], 0], abs=1e-6)
        assert micrometres(diameter, "g6") == pytest.approx(out["g6"][band][::-1], abs=1e-6)
    for grade in (6, 7, 8):
        assert fits.GRADES[grade][band] == out[f"IT{grade}"][band]


def test_misprinted_limits_are_not_taken_over() -> None:
    wrong = fact("FT-01").known_wrong
    for diameter, value in zip((0.005, 0.008, 0.015), wrong["h6_lower_3_to_18_um"], strict=True):
        assert micrometres(diameter, "h6")[0] != pytest.approx(value, abs=0.5)
    assert micrometres(0.025, "h6")[0] != pytest.approx(wrong["h6_lower_18_to_30_um"], abs=0.5)


@given(diameter=DIAMETER, symbol=st.sampled_from(SYMBOLS))
def test_limits_hang_from_the_fundamental_deviation(diameter: float, symbol: str) -> None:
    out = fact("FT-03").outputs
    lower, upper = fits.limits(diameter, symbol)
    letter, grade = symbol[0], int(symbol[1:])
    band = int(np.searchsorted([3.0, 6.0, 10.0, 18.0], diameter * 1e3 / (1 + 1e-12)))
    assert upper - lower == pytest.approx(fits.GRADES[grade][band] * 1e-6)
    if letter == "H":
        assert lower == 0
        return
    deviation = fits.SHAFT_DEVIATIONS[letter][band] * 1e-6
    assert letter in out["clearance_letters"] + out["interference_letters"]
    assert deviation == pytest.approx(upper if letter in out["clearance_letters"] else lower)


@given(diameter=DIAMETER, shaft=st.sampled_from([s for s in SYMBOLS if s[0] != "H"]))
def test_kind_of_fit_follows_the_letter(diameter: float, shaft: str) -> None:
    kind = fits.kind_of_fit(*fits.clearance_range(diameter, "H7", shaft))
    if shaft[0] in "fgh":
        assert kind == "clearance"
    else:
        assert kind in ("transition", "interference")


@pytest.mark.parametrize(
    ("shaft", "least", "greatest"),
    # ISO 286-2 from memory: 18 to 30 mm with H7: f7 20..62, k6 -15..19, n6 -28..6, p6 -35..-1, s6 -48..-14
    [("f7", 20, 62), ("k6", -15, 19), ("n6", -28, 6), ("p6", -35, -1), ("s6", -48, -14)],
)
def test_clearances_of_a_hole_basis_at_25_mm(shaft: str, least: int, greatest: int) -> None:
    found = [value * 1e6 for value in fits.clearance_range(0.025, "H7", shaft)]
    assert found == pytest.approx([least, greatest], abs=1e-6)


@given(
    diameter=DIAMETER,
    hole=st.sampled_from(["H6", "H7", "H8", "H9"]),
    shaft=st.sampled_from(["f7", "g6", "k6"]),
)
def test_measured_clearance_agrees_with_the_limits(diameter: float, hole: str, shaft: str) -> None:
    low, high = (diameter + deviation for deviation in fits.limits(diameter, hole))
    thin, thick = (diameter + deviation for deviation in fits.limits(diameter, shaft))
    found = fits.measured_clearance(low, high, thin, thick)
    assert found == pytest.approx(fits.clearance_range(diameter, hole, shaft), abs=1e-12)


@pytest.mark.parametrize("symbol", ["H7", "g6", "k6"])
def test_arrays_give_what_numbers_give(symbol: str) -> None:
    diameters = np.array([0.002, 0.003, 0.0031, 0.010, 0.0101, 0.030])
    lower, upper = fits.limits(diameters, symbol)
    single = [fits.limits(float(d), symbol) for d in diameters]
    assert list(zip(lower, upper, strict=True)) == single
    assert isinstance(single[0][0], float)


def test_clearance_holes() -> None:
    known = fact("FS-01")
    for screw in known.inputs["sizes"]:
        assert [hole * 1e3 for hole in fits.CLEARANCE_HOLES[screw]] == known.near(known.outputs[screw])
    for screw, holes in fits.CLEARANCE_HOLES.items():
        assert float(screw[1:]) * 1e-3 < holes[0] < holes[1] < holes[2]
        assert list(fits.passes(np.array([holes[0], float(screw[1:]) * 1e-3]), screw)) == [True, False]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: fits.limits(0.031, "H7"), "diameter"),
        (lambda: fits.limits(np.array([0.01, 0.0]), "H7"), "diameter"),
        (lambda: fits.limits(0.01, "H5"), "not in the tables"),
        (lambda: fits.limits(0.01, "z6"), "not in the tables"),
        (lambda: fits.limits(0.01, "loose"), "not in the tables"),
        (lambda: fits.measured_clearance(0.008, 0.007, 0.008, 0.008), "bore"),
        (lambda: fits.kind_of_fit(1e-6, 0.0), "greatest"),
        (lambda: fits.passes(0.003, "M99"), "not in the table"),
    ],
)
def test_meaningless_input_is_refused(call: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
