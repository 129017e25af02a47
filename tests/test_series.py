"""Supplies and packs in series: what adds up, what is refused, and why (series connection: definition)."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from fitter.advice.data import cautions
from fitter.kinds import KINDS, Offer, kind_key
from fitter.ratings import Rating, parse_choice, parse_rating, parse_window
from fitter.stock.lots import Lot


def lot(
    kind: str,
    ratings: dict[str, str],
    rails: Sequence[dict[str, str]] = (),
    count: int = 1,
    condition: str = "working",
) -> Lot:
    """A lot with ratings as a stock file states them."""
    read: dict[str, Rating] = {}
    for name, text in ratings.items():
        spec = KINDS[kind_key(kind)].ratings[name]
        if spec.window:
            read[f"{name}.min"], read[f"{name}.max"] = parse_window(
                text,
                spec.quantity,
                tolerance=spec.tolerance,
                plausible_low=spec.range,
                plausible_high=spec.high_range,
            )
        else:
            read[name] = one(kind, name, text)
    each = tuple({name: one(kind, name, text) for name, text in rail.items()} for rail in rails)
    return Lot("lot", kind, count, condition=condition, ratings=read, rails=each)


def one(kind: str, name: str, text: str) -> Rating:
    spec = KINDS[kind_key(kind)].spec(name)
    assert spec is not None
    if spec.choices:
        return spec.unknown() if text == "unknown" else parse_choice(text, spec.choices)
    return parse_rating(text, spec.quantity, plausible=spec.range)


def offers(of: Lot) -> dict[str, Offer]:
    return {offer.key: offer for offer in of.offers()}


def ends(offer: Offer, rating: str) -> tuple[float, float]:
    return offer.ratings[rating].lo, offer.ratings[rating].hi


ISOLATED_RAILS = [
    {"voltage": "22..26 V", "current": "3..4 A", "isolated": "yes"},
    {"voltage": "11..13 V", "current": "1..2 A", "isolated": "yes"},
]


def test_volts_and_ripple_of_rails_in_series_add_and_the_smaller_current_counts() -> None:
    """Series connection: definition of voltage and current; the unit's power is what it is."""
    unit = {"regulated": "yes", "total_power": "60..60 W", "ripple": "10..20 mV"}
    stack = offers(lot("switch-mode supply", unit, ISOLATED_RAILS))["rails 1+2"]
    assert ends(stack, "voltage.low") == ends(stack, "voltage.high") == (33.0, 39.0)
    assert ends(stack, "current") == (1.0, 2.0)
    assert ends(stack, "ripple") == pytest.approx((0.02, 0.04))
    assert ends(stack, "unit_power") == (60.0, 60.0)
    assert ends(stack, "free_outputs") == (1.0, 1.0)
    assert stack.pieces == 1
    assert stack.cautions
    assert set(stack.cautions) <= set(cautions())


def test_two_units_in_series_give_the_power_of_both() -> None:
    unit = {"regulated": "yes", "total_power": "60..60 W"}
    found = offers(lot("switch-mode supply", unit, ISOLATED_RAILS, count=5))
    stack = found["rail 2, 2 in series"]
    assert ends(stack, "voltage.low") == (22.0, 26.0)
    assert ends(stack, "current") == (1.0, 2.0)
    assert ends(stack, "unit_power") == (120.0, 120.0)
    assert stack.pieces == 2
    assert len(found) == 5  # two rails, both together, and each of two units


@pytest.mark.parametrize(("isolated", "free"), [("yes", (1.0, 1.0)), ("unknown", (0.0, 1.0)), ("no", None)])
def test_outputs_that_are_tied_together_are_never_stacked(
    isolated: str, free: tuple[float, float] | None
) -> None:
    ratings = {"voltage": "12 V", "current": "1 A", "regulated": "yes", "isolated": isolated}
    pair = lot("adapter", ratings, count=2)
    found = offers(pair)
    assert list(found) == (["", "2 in series"] if free else [""])
    if free:
        assert ends(found["2 in series"], "free_outputs") == free
        assert found["2 in series"].sources["free_outputs"] == "isolated"
        assert pair.kind_of_part.ruled_out(pair) == []
    else:
        (reason,) = pair.kind_of_part.ruled_out(pair)
        assert "not isolated" in reason


def test_what_exceeds_extra_low_voltage_is_left_to_licensed_people() -> None:
    """60 V DC may be touched: IEC 62368-1, ES1, from memory. Two of 29 V stay below, two of 31 V may not."""
    for volts, offered in [("28..29 V", True), ("28..31 V", False)]:
        ratings = {"voltage": volts, "current": "1 A", "regulated": "yes", "isolated": "yes"}
        pair = lot("adapter", ratings, count=2)
        assert ("2 in series" in offers(pair)) == offered
        assert any("licensed" in reason for reason in pair.kind_of_part.ruled_out(pair)) != offered


SIX_CELLS = {
    "chemistry": "nickel-metal hydride",
    "cells": "6",
    "voltage": "6..9 V",
    "continuous_current": "2..3 A",
}


def test_at_most_four_packs_stand_in_series_however_many_there_are() -> None:
    found = offers(lot("battery pack", SIX_CELLS, count=100))
    volts = {o.pieces: ends(o, "voltage.high") for o in found.values()}
    assert volts == {n: (9.0 * n, 9.0 * n) for n in (1, 2, 3, 4)}
    stack = found["3 in series"]
    assert ends(stack, "voltage.low") == (18.0, 18.0)
    assert ends(stack, "current") == (2.0, 3.0)
    assert stack.ratings["cells"].likely == 18
    assert ends(stack, "capacity") == ends(found[""], "capacity")
    assert set(stack.cautions) <= set(cautions())
    assert [o.pieces for o in lot("battery pack", SIX_CELLS, count=2).offers()] == [1, 2]


@pytest.mark.parametrize(
    ("change", "condition", "word"),
    [
        ({"chemistry": "lithium-ion", "capacity": "2 A h, measured"}, "working", "balancing"),
        ({}, "worn", "weak"),
        ({}, "untested", "weak"),
        ({"voltage": "10..16 V"}, "working", "licensed"),
    ],
)
def test_packs_that_nobody_should_stack(change: dict[str, str], condition: str, word: str) -> None:
    packs = lot("battery pack", {**SIX_CELLS, **change}, count=4, condition=condition)
    assert max(o.pieces for o in packs.offers()) == (3 if word == "licensed" else 1)
    (reason,) = packs.kind_of_part.ruled_out(packs)
    assert word in reason
