"""NEMA frames held against a published table."""

from __future__ import annotations

import pytest
from motion_facts import fact

from fitter.physics import frames


def test_mounting_dimensions() -> None:
    known = fact("NM-01")
    out = known.outputs
    assert list(frames.FRAMES) == known.inputs["frames"]
    for index, frame in enumerate(frames.FRAMES.values()):
        assert frame.bolt_square * 1e3 == known.near(out["bolt_square"][index])
        assert frame.pilot_diameter * 1e3 == pytest.approx(out["pilot_dia"][index])
        assert frame.shaft_diameter * 1e3 == pytest.approx(out["shaft_dia"][index])
        assert frame.body_nominal * 1e3 == pytest.approx(out["body_nominal"][index])
        assert frame.hole.split()[0] == out["hole"][index].split()[0]


def test_real_bodies_are_near_the_nominal_size() -> None:
    # 20/28/35/42/57/86 mm: the note of NM-01
    assert [round(width * 1e3) for width in frames.BODY_WIDTH.values()] == [20, 28, 35, 42, 57, 86]
    for number, frame in frames.FRAMES.items():
        assert frame.body_nominal == pytest.approx(number * 2.54e-3, abs=5e-5)
        assert frame.bolt_square < frames.BODY_WIDTH[number] == pytest.approx(frame.body_nominal, rel=0.03)


@pytest.mark.parametrize("number", frames.FRAMES)
def test_frame_is_found_by_calipers(number: int) -> None:
    for share in (0.98, 1.0, 1.02):
        assert frames.frame_of_width(frames.BODY_WIDTH[number] * share) == number
    for off in (-1.5e-4, 0.0, 1.5e-4):
        assert frames.frame_of_bolts(frames.FRAMES[number].bolt_square + off) == number


def test_other_flanges_are_not_guessed() -> None:
    assert frames.frame_of_bolts(0.0435) is None  # a round flange of a can motor
    with pytest.raises(ValueError, match="width"):
        frames.frame_of_width(0.005)
