"""Where the verdict flips, against plain bisection that judges one value at a time."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitter.measuring.card import card
from fitter.measuring.flips import flips
from fitter.measuring.rejudge import FAILS, OPEN, PASSES
from fitter.measuring.truths import Open, exactly, open_of, recorded, used
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.solve.builds import Build, judge_check

SHED = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"


@pytest.fixture(scope="module")
def shed() -> Shed:
    return Shed.open(SHED)


def passes_at(build: Build, open_: Open, value: float) -> bool:
    parts = dict(build.parts)
    for role, candidate in build.parts.items():
        if not candidate.bought and candidate.lot.id == open_.lot.id:
            lot = recorded(open_.lot, dict.fromkeys(open_.ratings, value), exactly)
            parts[role] = next(used(candidate, lot))
    return all(judge_check(c.check, parts).verdict.value == "fits" for c in build.unproven)


def test_a_flip_point_against_bisection(shed: Shed) -> None:
    build = shed.sets(bind(shed.recipe("lab-supply")), 1, {"output.supply": "psu-till"}).builds[0]
    ripple = open_of(shed.stock.lot("psu-till"))["ripple"]
    low, high = ripple.ratings["ripple"].lo, ripple.ratings["ripple"].hi
    assert passes_at(build, ripple, low)
    assert not passes_at(build, ripple, high)
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if passes_at(build, ripple, middle) else (low, middle)
    found = flips(build, ripple)
    assert found[0].verdict == PASSES
    assert found[0].high == pytest.approx(low, rel=1e-3)
    assert {each.verdict for each in found} <= {PASSES, OPEN, FAILS}
    assert found[0].low == ripple.ratings["ripple"].lo
    assert found[-1].high == ripple.ratings["ripple"].hi


def test_travel_of_a_slide_flips_where_it_is_needed(tmp_path: Path) -> None:
    """350 mm are asked for: below nothing helps, from there on all is well."""
    file = tmp_path / "s.yaml"
    file.write_text(
        "lots:\n  - {id: s1, kind: drawer slide, count: 2, closed_length: 400 mm,\n"
        "     load: 30 kg, play: 0.3 mm}\n",
        encoding="utf-8",
    )
    small = Shed.open(file)
    made = card(small, small.stock.lot("s1"))
    (travel,) = [r for r in made.open if r.rating == "travel"]
    below, above = (flip for flip in travel.flips if flip.recipe == "drawer-rails")
    assert (below.verdict, above.verdict) == ("fails", "fits")
    assert below.max == pytest.approx(0.350, rel=1e-3)
    assert above.min == pytest.approx(0.350, rel=1e-3)
    assert (below.min, above.max) == (None, None)
    assert "drawer-rails" in [use.recipe for use in made.uses]
    assert travel.basis.startswith("nothing known")


def test_a_card_has_all_ratings_of_the_kind(shed: Shed) -> None:
    for lot in ("m9", "psu-copier", "bl1", "las1", "hs1"):
        made = card(shed, shed.stock.lot(lot))
        names = {r.rating for r in (*made.known, *made.open)}
        kind = shed.stock.lot(lot).kind_of_part
        assert {n.removesuffix(".min").removesuffix(".max") for n in names if "]." not in n} == set(
            kind.ratings
        )
        assert all(r.certain for r in made.known)
        assert not any(r.certain for r in made.open)
    assert card(shed, shed.stock.lot("las1")).refused


def test_the_card_shows_the_formula_with_what_is_known(shed: Shed) -> None:
    made = card(shed, shed.stock.lot("m9"))
    (inductance,) = [r for r in made.open if r.rating == "inductance"]
    assert any("resistance = 29.1..30.9 ohm" in m.filled for m in inductance.methods)
    (torque,) = [r for r in made.open if r.rating == "holding_torque"]
    assert torque.procedure is not None
    assert torque.procedure.code == "P4"
    assert "fitter record m9 hold_mass=... arm=..." in [m.command for m in torque.methods]
