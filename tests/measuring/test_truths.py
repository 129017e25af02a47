"""How true values are drawn: inside what is known, as often as the distribution says."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fitter.kinds import KINDS, Spec
from fitter.measuring.truths import Worlds, chance_it_works, open_of, quantile
from fitter.ratings import Evidence, Rating
from fitter.stock.files import load_stock
from fitter.stock.lots import Lot

SHED = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
LOTS = load_stock(SHED).lots


def rating(lo: float, likely: float, hi: float) -> Rating:
    return Rating(lo, hi, likely, Evidence.ESTIMATED)


@given(st.floats(1.0, 2.9), st.floats(0.0, 1.0), st.floats(0.001, 0.999))
def test_a_narrow_range_is_triangular(hi: float, place: float, share: float) -> None:
    """The judge is the triangular distribution of a statistics library."""
    if hi - 1.0 < 1e-3:
        return
    likely = 1.0 + place * (hi - 1.0)
    expected = stats.triang(place, loc=1.0, scale=hi - 1.0).ppf(share)
    assert quantile(rating(1.0, likely, hi), None, share) == pytest.approx(expected, rel=1e-6)


@given(st.floats(3.1, 1e4), st.floats(0.0, 1.0), st.floats(0.001, 0.999))
def test_a_wide_range_is_triangular_in_the_logarithm(hi: float, place: float, share: float) -> None:
    likely = hi**place
    expected = math.exp(stats.triang(place, loc=0.0, scale=math.log(hi)).ppf(share))
    assert quantile(rating(1.0, likely, hi), None, share) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("lot", LOTS, ids=lambda lot: lot.id)
def test_every_draw_lies_inside_what_is_known(lot: Lot) -> None:
    known = {n: r for each in open_of(lot).values() for n, r in each.ratings.items()}
    for values in Worlds(number=16, seed=3).of(lot):
        assert values.keys() == known.keys()
        assert all(known[name].lo <= value <= known[name].hi for name, value in values.items())


def test_detent_torque_follows_the_holding_torque_drawn_for_it() -> None:
    """3 to 12 % of it, as the rule of the kind says."""
    lot = next(lot for lot in LOTS if lot.id == "m1")
    shares = [v["detent_torque"] / v["holding_torque"] for v in Worlds(seed=2).of(lot)]
    assert 0.03 - 1e-9 <= min(shares) < 0.05
    assert 0.08 < max(shares) <= 0.12 + 1e-9


def test_untested_parts_work_as_often_as_said() -> None:
    lot = next(lot for lot in LOTS if lot.id == "m10")
    assert lot.condition == "worn"
    works = [values["condition"] for values in Worlds(number=100).of(lot)]
    assert sum(works) == pytest.approx(100 * chance_it_works(lot), abs=1)


def test_counts_and_words_are_drawn_whole() -> None:
    wires = KINDS["stepper motor"].ratings["wires"]
    drawn = {quantile(rating(4.0, 5.0, 8.0), wires, share / 50) for share in range(1, 50)}
    assert drawn == {4.0, 5.0, 6.0, 8.0}
    words = Spec("choice", choices=("no", "yes"))
    assert {quantile(rating(0.0, 0.0, 1.0), words, share / 9) for share in range(1, 9)} == {0.0, 1.0}


def test_a_rating_has_the_same_draws_whatever_else_is_asked() -> None:
    one, other = Worlds(seed=5), Worlds(seed=5)
    for lot in LOTS[:5]:
        other.of(lot)
    assert one.of(LOTS[4]) == other.of(LOTS[4])
    assert Worlds(seed=6).of(LOTS[4]) != one.of(LOTS[4])
