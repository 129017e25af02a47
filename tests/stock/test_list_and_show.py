"""Lots listed by what is known of them, one lot in full, and what is missing."""

from __future__ import annotations

import json
import operator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter import cli, listings
from fitter.errors import FitterError
from fitter.kinds import KINDS
from fitter.lot_views import show_lot
from fitter.ratings import Evidence, Rating
from fitter.stock.conditions import Condition, Met, condition
from fitter.stock.files import load_stock
from fitter.stock.filters import filters
from fitter.stock.lots import Lot
from fitter.units import parse

SHED = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
STOCK = load_stock(SHED)
SIGNS = {"<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge}


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = cli.run(["stock", *words, "--stock", str(SHED)])
    out, err = capsys.readouterr()
    return status, out, err


def listed(*where: str, **more: str) -> dict[str, list[str]]:
    answer = listings.list_stock(STOCK, wanted=filters(where=where, **more))
    return {
        "surely": [lot.id for lot in answer.lots if not lot.possibly],
        "possibly": [lot.id for lot in answer.lots if lot.possibly],
        "unknown": answer.unknown,
    }


def by_sampling(lot: Lot, name: str, sign: str, value: float) -> str:
    """What a lot is said to meet, by trying a hundred values of its rating one by one."""
    rating = lot.kind_of_part.complete(lot.ratings, lot.mass).get(name)
    if rating is None:
        return "not"
    tried = [rating.lo + (rating.hi - rating.lo) * i / 100 for i in range(100)] + [rating.hi]
    met = [SIGNS[sign](x, value) for x in tried]
    if not any(met):
        return "not"
    if rating.evidence is Evidence.UNKNOWN:
        return "unknown"
    return "surely" if all(met) else "possibly"


@pytest.mark.parametrize(
    "text",
    [
        "holding_torque > 0.5 N m",
        "holding torque >= 20 N cm",
        "shaft_diameter <= 5 mm",
        "resistance < 3 ohm",
        "length > 400 mm",
        "diameter >= 3/8 in",
        "rated_current < 1,5 A",
        "contact-current > 1 A",
    ],
)
def test_a_filter_lists_what_trying_every_lot_and_value_does(text: str) -> None:
    wanted = condition(text)
    spec = next(s for kind in KINDS.values() if (s := kind.ratings.get(wanted.name)))
    value = parse(wanted.value, spec.quantity)
    expected: dict[str, list[str]] = {"surely": [], "possibly": [], "unknown": []}
    for lot in STOCK.lots:
        if (how := by_sampling(lot, wanted.name, wanted.sign, value)) != "not":
            expected[how].append(lot.id)
    found = listed(text)
    assert {how: sorted(ids) for how, ids in found.items()} == {h: sorted(i) for h, i in expected.items()}
    assert any(found.values())


def test_a_window_meets_a_condition_with_any_value_in_it() -> None:
    assert "drv2" in listed("supply_voltage >= 34 V", kind="stepper driver")["surely"]  # 8..35 V
    assert "drv2" not in listed("supply_voltage >= 36 V", kind="stepper driver")["surely"]
    assert "drv2" in listed("supply_voltage = 24 V", kind="stepper driver")["surely"]
    assert "drv2" in listed("supply_voltage <= 8 V", kind="stepper driver")["surely"]


def test_a_rail_meets_it_where_any_of_them_does() -> None:
    assert {"psu-copier", "psu-till", "tr1"} <= set(listed("voltage = 24 V")["surely"])
    assert "psu-pc" not in listed("voltage = 24 V")["surely"]
    assert listed("voltage > 36 V", kind="switch-mode supply")["surely"] == ["psu-copier", "psu-inkjet"]


def test_words_and_plain_fields() -> None:
    assert listed("closed = yes")["surely"]
    assert set(listed("count >= 6")["surely"]) == {lot.id for lot in STOCK.lots if lot.count >= 6}
    assert "hs2" in listed("mass > 300 g")["surely"]
    assert "hs1" in listed("mass > 300 g")["unknown"]


def test_what_is_only_possible_is_marked_with_its_figure(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "list", "--where", "holding_torque > 0.2 N m", "--kind", "stepper motor")
    assert "possibly: holding torque" in out
    assert "8 lots, 14 pieces; 6 of them only possibly" in out
    _, out, _ = run(capsys, "list", "--where", "flow > 50 m3/h")
    assert out.splitlines()[-1] == "not known of 1 more: fan1"


def test_several_conditions_must_all_hold() -> None:
    one, other, both = (
        listed("wires = 4"),
        listed("resistance < 3 ohm"),
        listed("wires = 4", "resistance < 3 ohm"),
    )
    assert set(both["surely"]) == set(one["surely"]) & set(other["surely"])


LEVEL = {"surely": Met.SURELY, "possibly": Met.POSSIBLY, "not": Met.NO}


@settings(max_examples=200, deadline=None)
@given(st.floats(0.001, 15), st.floats(0.001, 15), st.floats(0.001, 15), st.sampled_from(sorted(SIGNS)))
def test_the_answer_is_that_of_the_ends(a: float, b: float, value: float, sign: str) -> None:
    lo, hi = sorted((a, b))
    lot = Lot("m1", "stepper motor", ratings={"holding_torque": Rating(lo, hi, lo, Evidence.MEASURED)})
    met = [SIGNS[sign](x, value) for x in (lo, hi)]
    expected = "surely" if all(met) else "possibly" if any(met) else "not"
    assert Condition("holding_torque", sign, f"{value!r} N m").met(lot) is LEVEL[expected]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("holdng_torque > 3 N m", "did you mean 'holding_torque'"),
        ("holding_torque > 3 V", "'V' is a unit of voltage"),
        ("holding_torque > ", "a rating, a sign and a value"),
        ("holding_torque 3 N m", "a rating, a sign and a value"),
        ("thread > metric", "one of a few words"),
        ("a > b > c", "a rating, a sign and a value"),
        ("x" * 200, "a rating, a sign and a value"),
        ("holding_torque > __import__('os')", "not a number"),
    ],
)
def test_a_bad_condition_is_one_clear_line(capsys: pytest.CaptureFixture[str], text: str, says: str) -> None:
    status, out, err = run(capsys, "list", "--where", text)
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert err.startswith("--where: ")
    assert says in err


@given(st.text(max_size=30))
def test_any_condition_is_read_or_refused(text: str) -> None:
    try:
        wanted = condition(text)
    except FitterError:
        return
    assert all(wanted.met(lot) in Met for lot in STOCK.lots[:5])


def test_bins_donors_and_conditions_filter() -> None:
    assert listed(state="faulty")["surely"] == ["cap3", "drv4"]
    by_bin = {lot.id for lot in STOCK.lots if "shelf 1" in lot.bin}
    assert set(listed(bin_="Shelf 1")["surely"]) == by_bin
    by_donor = {lot.id for lot in STOCK.lots if lot.donor == "treadmill"}
    assert set(listed(donor="treadmill")["surely"]) == by_donor
    with pytest.raises(FitterError, match="unknown condition"):
        filters(state="brokn")


def test_lots_are_sorted_by_fields_and_ratings() -> None:
    def order(by: str | None, *, reverse: bool = False) -> list[str]:
        answer = listings.list_stock(STOCK, "rod", by=by, reverse=reverse)
        return [lot.id for lot in answer.lots]

    assert order(None) == ["rod1", "rod2", "rod3", "rod4", "rod5"]
    assert order("length") == ["rod2", "rod3", "rod4", "rod5", "rod1"]  # 342, 406, 438, 465, 820 mm
    assert order("length", reverse=True) == order("length")[::-1]
    motors = listings.list_stock(STOCK, "stepper motor").lots
    assert [m.id for m in motors][-1] == "m12"  # m2 before m10
    with pytest.raises(FitterError, match="did you mean 'length'"):
        order("lenght")


# ------------------------------------------------------------------ one lot


@pytest.mark.parametrize("lot", [lot.id for lot in STOCK.lots])
def test_every_lot_is_shown_whole(lot: str, capsys: pytest.CaptureFixture[str]) -> None:
    answer = show_lot(STOCK, lot)
    found = STOCK.lot(lot)
    stated = {n.removesuffix(".min").removesuffix(".max") for n, r in found.ratings.items() if r.known}
    named = stated | {e.rating for e in answer.estimates} | {o.rating for o in answer.open}
    assert set(found.kind_of_part.ratings) <= named
    assert (answer.file, answer.line) == (found.file, found.line)


def test_a_lot_is_shown_with_ranges_estimates_and_the_next_step(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = run(capsys, "show", "m1")
    assert (status, err) == (0, "")
    rows = [row.strip() for row in out.splitlines()]
    assert "resistance 2.1 ohm, measured (2.04..2.16 ohm)" in rows
    assert any(row.startswith("holding torque 0.18..0.52 N m, likely 0.38 N m") for row in rows)
    assert "four wires, one coil to each bridge" in rows
    assert any(row.startswith("Measure next: holding torque, 5 min") for row in rows)
    assert any("shelf-1-motors.yaml:5" in row for row in rows)


def test_a_lot_never_placed_says_why(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "show", "las1")
    assert "Never placed in a build: invisible laser light" in out
    assert "Measure next" not in out
    status, _, err = run(capsys, "show", "las2")
    assert status == 2
    assert "no lot 'las2' in stock" in err


def test_show_gives_json(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "show", "m1", "--json")
    answer = json.loads(out)
    assert answer["lot"]["ratings"]["resistance"]["taken"] == "2.04..2.16 ohm"
    assert answer["line"] == 5


# ------------------------------------------------------------------ what is missing


def test_check_names_the_missing_figures_that_matter_most(capsys: pytest.CaptureFixture[str]) -> None:
    answer = listings.check_stock(SHED)
    assert 0 < len(answer.missing) <= listings.MOST_MISSING
    for each in answer.missing:
        for lot in each.lots:
            stated = STOCK.lot(lot).ratings.get(each.rating)
            assert stated is None or stated.evidence is Evidence.ESTIMATED
            assert not STOCK.lot(lot).refusal()
    torque = next(m for m in answer.missing if m.rating == "holding_torque")
    assert torque.lots == [lot.id for lot in STOCK.lots if lot.kind == "stepper motor"]
    _, out, _ = run(capsys, "check")
    assert "Missing figures that matter most:" in out


def test_what_is_set_aside_can_be_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "a.yaml").write_text(
        "lots:\n  - {id: r1, kind: rod, count: 4}\n  - {id: r2, kind: rod}\n", encoding="utf-8"
    )
    (tmp_path / "set_aside.yaml").write_text(
        "set_aside:\n  - {name: slider, recipe: camera-slider, parts: [{role: guide, lot: r1, count: 2}]}\n",
        encoding="utf-8",
    )
    for word, expected in (("--set-aside", ["r1"]), ("--not-set-aside", ["r2"])):
        assert cli.run(["stock", "list", "--stock", str(tmp_path), word, "--json"]) == 0
        assert [lot["id"] for lot in json.loads(capsys.readouterr().out)["lots"]] == expected
