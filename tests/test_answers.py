"""Answers: what must hold between the questions, whatever the stock.

The judge is the meaning of the words themselves: a verdict follows from its margin, a state from its
verdicts and purchases, and the answers to different questions about one stock agree.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from fitter import answers, listings
from fitter.errors import FitterError, FitterErrors
from fitter.kinds import KINDS, kind_key
from fitter.models import BuildsAnswer, CheckAnswer, GapsAnswer, MatchAnswer, SetAnswer
from fitter.recipes import load_recipes
from fitter.shed import Shed
from fitter.solve.limits import Watcher
from fitter.units import QUANTITIES

EXAMPLES = Path(__file__).parents[1] / "inventory_examples"
RECIPES = ("camera-slider", "drawer-rails", "lab-supply", "pen-plotter")
STATES = ("ready", "measure first", "buy first", "out of reach")
NEVER = """
lots:
  - {id: las, kind: laser unit}
  - {id: inv, kind: lamp inverter}
  - {id: fly, kind: flyback transformer}
  - {id: mwo, kind: microwave transformer}
  - {id: uni, kind: universal motor}
  - {id: cel, kind: lithium cell, count: 4}
  - {id: fus, kind: fuser heater}
  - {id: bad, kind: stepper motor, condition: faulty}
  - {id: bat, kind: battery pack, voltage: 12..14 V, continuous_current: 9 A}
"""


@pytest.fixture(scope="module")
def shed() -> Shed:
    return Shed.open(EXAMPLES / "repair_shed")


@pytest.fixture(scope="module")
def rows(shed: Shed) -> BuildsAnswer:
    return answers.builds(shed)


@pytest.fixture(scope="module")
def found(shed: Shed) -> dict[str, MatchAnswer]:
    return {name: answers.match(shed, name, top=2) for name in RECIPES}


@pytest.fixture(scope="module")
def missing(shed: Shed) -> dict[str, GapsAnswer]:
    return {name: answers.gaps_of(shed, name) for name in RECIPES}


def sets_of(found: dict[str, MatchAnswer]) -> Iterator[SetAnswer]:
    for answer in found.values():
        yield from answer.sets


def opened(path: Path, text: str) -> Shed:
    file = path / "stock.yaml"
    file.write_text(text, encoding="utf-8")
    return Shed.open(file)


# ------------------------------------------------------------------ one answer


def test_a_verdict_follows_from_its_margin(found: dict[str, MatchAnswer]) -> None:
    seen = Counter()
    for each in sets_of(found):
        for check in each.checks:
            assert check.verdict == _verdict(check), check
            seen[check.verdict] += 1
    assert seen["fits"] > 20
    assert seen["unproven"] > 0


def _verdict(check: CheckAnswer) -> str:
    """Worst case at least 1: fits; best case below 1: fails; otherwise unproven; no end: no limit."""
    worst, best = (math.inf if end is None else end for end in check.margin)
    tiny = 1e-9  # rounding of figures that are equal
    if worst >= 1 - tiny:
        return "fits"
    return "fails" if best < 1 - tiny else "unproven"


def test_intervals_are_in_order_and_carry_si_units(found: dict[str, MatchAnswer]) -> None:
    for each in sets_of(found):
        for check in each.checks:
            for lo, hi in (check.need, check.have, check.margin):
                assert lo is None or hi is None or lo <= hi
            unit = QUANTITIES[check.quantity].unit if check.quantity in QUANTITIES else "1"
            assert check.unit == unit


def test_a_state_follows_from_purchases_and_verdicts(found: dict[str, MatchAnswer]) -> None:
    for each in sets_of(found):
        bought = [role for role, part in each.parts.items() if part.buy]
        assert each.to_buy == len(bought)
        verdicts = {check.verdict for check in each.checks}
        assert "fails" not in verdicts
        expected = "buy first" if bought else "measure first" if "unproven" in verdicts else "ready"
        assert each.state == expected


def test_a_role_holds_a_lot_or_something_to_buy(shed: Shed, found: dict[str, MatchAnswer]) -> None:
    lots = {lot.id: lot for lot in shed.stock.lots}
    for each in sets_of(found):
        for part in each.parts.values():
            assert (part.lot is None) == (part.buy is not None)
            assert part.count >= 1
            if part.lot is not None:
                assert part.lot in lots
                assert part.bin == lots[part.lot].bin


def test_nothing_takes_more_pieces_than_there_are(shed: Shed, found: dict[str, MatchAnswer]) -> None:
    """Rails of one unit are one piece; everything else is counted."""
    lots = {lot.id: lot for lot in shed.stock.lots}
    for each in sets_of(found):
        used: Counter[str] = Counter()
        for part in each.parts.values():
            if part.lot is not None and not lots[part.lot].rails:
                used[part.lot] += part.count
        assert all(count <= lots[lot].count for lot, count in used.items())


def test_open_ratings_are_ratings_of_parts_in_the_set(shed: Shed, found: dict[str, MatchAnswer]) -> None:
    lots = {lot.id: lot for lot in shed.stock.lots}
    for each in sets_of(found):
        inside = {part.lot for part in each.parts.values() if part.lot}
        for path in each.measure:
            lot, _, rating = path.partition(".")
            assert lot in inside
            of = lots[lot].kind_of_part
            assert rating == "condition" or of.spec(rating.rpartition("].")[2]) is not None, path
        for check in each.checks:
            assert set(check.because) <= set(each.measure) or check.verdict == "unproven"


def test_sets_come_best_first_and_differ(found: dict[str, MatchAnswer]) -> None:
    for answer in found.values():
        assert [each.rank for each in answer.sets] == list(range(1, len(answer.sets) + 1))
        assert answer.sets == sorted(answer.sets, key=lambda each: (each.to_buy, each.rank))
        parts = [{r: (p.lot, p.offer, p.name) for r, p in each.parts.items()} for each in answer.sets]
        assert all(one != other for i, one in enumerate(parts) for other in parts[:i])


def test_demands_come_in_si(found: dict[str, MatchAnswer]) -> None:
    assert found["camera-slider"].demands["travel"] == 0.6
    assert found["lab-supply"].demands["ambient"] == pytest.approx(308.15)


# ------------------------------------------------------------------ answers agree


def test_builds_and_match_agree(rows: BuildsAnswer, found: dict[str, MatchAnswer]) -> None:
    by_name = {row.recipe: row for row in rows.builds}
    assert set(RECIPES) < set(by_name) == set(load_recipes())
    for name, answer in found.items():
        best, row = answer.sets[0], by_name[name]
        assert (row.state, row.to_buy, row.to_measure) == (best.state, best.to_buy, best.to_measure)
        assert row.parts == {role: part.lot for role, part in best.parts.items()}
        assert row.title == answer.title
        assert row.why


def test_gaps_and_match_agree(missing: dict[str, GapsAnswer], found: dict[str, MatchAnswer]) -> None:
    for name, answer in missing.items():
        bought = {role: part.buy for role, part in found[name].sets[0].parts.items() if part.buy}
        assert {m.role: (m.kind, m.count) for m in answer.missing} == {
            role: (buy.kind, buy.count) for role, buy in bought.items()
        }
        for gap in answer.missing:
            assert gap.spec == bought[gap.role].spec
            assert kind_key(gap.kind) in KINDS


def test_the_price_of_a_build_is_that_of_its_gaps(rows: BuildsAnswer, missing: dict[str, GapsAnswer]) -> None:
    for row in (r for r in rows.builds if r.recipe in missing):
        prices = [gap.price or 0.0 for gap in missing[row.recipe].missing]
        assert row.price == (pytest.approx(sum(prices), abs=0.02) if prices else None)


def test_a_specification_asks_for_something(missing: dict[str, GapsAnswer]) -> None:
    gaps = [gap for answer in missing.values() for gap in answer.missing]
    assert gaps
    for gap in gaps:
        assert gap.example
        for name, limit in gap.spec.items():
            assert limit.min is not None or limit.max is not None, name
            assert limit.min is None or limit.max is None or limit.min <= limit.max
        for donor in gap.donors:
            assert 0 < donor.chance <= 1


def test_projects_come_nearest_first(rows: BuildsAnswer) -> None:
    order = [(STATES.index(row.state), row.to_buy, row.to_measure) for row in rows.builds]
    assert order == sorted(order)


def test_why_repeats_the_best_set_with_its_parts_fixed(shed: Shed, found: dict[str, MatchAnswer]) -> None:
    for name in ("drawer-rails", "lab-supply"):
        best = found[name].sets[0]
        fixed = {role: part.lot for role, part in best.parts.items() if part.lot}
        (again,) = answers.why(shed, name, fixed=fixed).sets
        assert again.parts == best.parts
        assert again.checks == best.checks


def test_the_same_question_has_the_same_answer(rows: BuildsAnswer) -> None:
    fresh = answers.builds(Shed.open(EXAMPLES / "repair_shed"))
    assert fresh.model_dump_json() == rows.model_dump_json()


# ------------------------------------------------------------------ changing the question


def test_a_lot_left_out_is_not_used(shed: Shed, found: dict[str, MatchAnswer]) -> None:
    used = found["drawer-rails"].sets[0].parts["rails.slides"].lot
    assert used is not None
    without = Shed(shed.stock, shed.recipes, [used])
    answer = answers.match(without, "drawer-rails", top=3)
    assert all(part.lot != used for each in answer.sets for part in each.parts.values())
    assert STATES.index(answer.state) >= STATES.index(found["drawer-rails"].state)


def test_a_lot_that_is_fixed_is_used(shed: Shed) -> None:
    answer = answers.match(shed, "camera-slider", top=1, fixed={"motor": "m4"})
    assert [each.parts["slide.motor"].lot for each in answer.sets] == ["m4"]


def test_a_harder_demand_never_helps(shed: Shed) -> None:
    worst = 0
    for load in ("1 kg", "8 kg", "40 kg", "150 kg"):
        state = STATES.index(answers.match(shed, "drawer-rails", {"load": load}, top=1).state)
        assert state >= worst
        worst = state
    assert worst > 0


def test_what_cannot_be_bought_either_is_out_of_reach_and_says_what_fails(shed: Shed) -> None:
    answer = answers.match(shed, "drawer-rails", {"extension": "1.9 m"})
    assert (answer.state, answer.outcome, answer.sets) == ("out of reach", "complete", [])
    assert answer.nearest is not None
    assert any(check.verdict == "fails" for check in answer.nearest.checks)
    gaps = answers.gaps_of(shed, "drawer-rails", {"extension": "1.9 m"})
    assert gaps.state == "out of reach"
    assert gaps.fails
    (row,) = [r for r in answers.builds(shed, {"extension": "1.9 m"}).builds if r.recipe == "drawer-rails"]
    assert (row.state, row.outcome) == ("out of reach", "complete")


def test_a_setting_that_one_recipe_takes_and_another_does_not_is_told_of_that_one(shed: Shed) -> None:
    rows = {r.recipe: r for r in answers.builds(shed, {"extension": "1.9 m"}).builds}
    assert rows["motor-drawer"].state == "out of reach"
    assert "outside what the recipe allows" in rows["motor-drawer"].why[0]
    assert rows["camera-slider"].parts
    with pytest.raises(FitterError, match="outside what the recipe allows"):
        answers.builds(shed, {"extension": "19 m"})


# ------------------------------------------------------------------ which sets, and how sure


def lots_of(each: SetAnswer) -> dict[str, str]:
    return {role: part.lot or part.name for role, part in each.parts.items()}


def test_diverse_sets_differ_in_what_matters_and_ranked_ones_need_not(shed: Shed) -> None:
    ranked = answers.match(shed, "camera-slider", top=4)
    diverse = answers.match(shed, "camera-slider", top=4, order="diverse")
    assert (ranked.order, diverse.order) == ("ranked", "diverse")
    assert lots_of(ranked.sets[0]) == lots_of(diverse.sets[0])
    matter = ("slide.motor", "slide.driver", "slide.pulley", "slide.screw", "power.supply")
    signatures = [[lots_of(each).get(role) for role in matter] for each in diverse.sets]
    assert len(signatures) == 4
    assert all(one != other for i, one in enumerate(signatures) for other in signatures[:i])
    assert lots_of(ranked.sets[1]) not in [lots_of(each) for each in diverse.sets]
    assert not any(each.substitutes for each in ranked.sets)


def test_a_substitute_put_in_by_hand_keeps_the_set(shed: Shed) -> None:
    """Each substitute of a ready or measurable set, fixed with all other parts, makes a set as good."""
    (best,) = answers.match(shed, "camera-slider", top=1, order="diverse").sets
    own = {role: part.lot for role, part in best.parts.items() if part.lot}
    tried = 0
    for role, others in best.substitutes.items():
        for other in (o for o in others if o.lot):
            again = answers.match(shed, "camera-slider", top=1, fixed={**own, role: str(other.lot)})
            assert STATES.index(again.state) <= STATES.index(best.state), (role, other)
            assert other.price is None
            tried += 1
        assert sum(o.lot is None for o in others) == (0 if others[0].lot else 1)
    assert tried >= 5


def test_a_limit_is_named_and_what_stands_in_is_marked(shed: Shed) -> None:
    hurried = Shed(shed.stock, shed.recipes, limit_nodes=0)
    for row in answers.builds(hurried).builds:
        assert (row.outcome, row.stopped_by, row.stand_in) == ("stopped", "nodes", True)
    matched = answers.match(hurried, "pen-plotter")
    assert (matched.outcome, matched.stopped_by, matched.stand_in) == ("stopped", "nodes", True)
    assert len(matched.sets) == 1
    missing = answers.gaps_of(hurried, "pen-plotter")
    assert (missing.outcome, missing.stopped_by, missing.stand_in) == ("stopped", "nodes", True)
    why = answers.why(hurried, "pen-plotter")
    assert (why.outcome, why.stopped_by, why.stand_in) == ("stopped", "nodes", True)
    slow = Shed(shed.stock, shed.recipes, limit_seconds=-1.0)
    assert answers.match(slow, "drawer-rails").stopped_by == "seconds"


def test_a_search_that_ends_says_so(shed: Shed, rows: BuildsAnswer) -> None:
    why = answers.why(shed, "drawer-rails", fixed={"slides": "sl2"})
    for answer in (*rows.builds, answers.gaps_of(shed, "lab-supply"), why):
        assert (answer.outcome, answer.stopped_by, answer.stand_in) == ("complete", None, False)


def test_what_was_interrupted_before_it_began_is_not_known(shed: Shed) -> None:
    """Never out of reach, nothing made up, and no error."""
    stopped = Shed(shed.stock, shed.recipes)
    stopped.watcher.stop = True
    try:
        for row in answers.builds(stopped).builds:
            assert (row.state, row.stopped_by, row.parts) == ("not known", "interrupt", {})
            assert row.why == ["interrupted before anything was found"]
        for question in (answers.match, answers.why):
            answer = question(stopped, "camera-slider")
            assert (answer.state, answer.stopped_by, answer.sets) == ("not known", "interrupt", [])
        missing = answers.gaps_of(stopped, "camera-slider")
        assert (missing.state, missing.stopped_by, missing.missing) == ("not known", "interrupt", [])
    finally:
        stopped.watcher.stop = False


def test_a_search_interrupted_under_way_shows_what_it_has(shed: Shed) -> None:
    """One that has sets keeps them; one that has none puts one together at once."""

    class Impatient(Watcher):
        """Stops after so many sets judged or looks taken."""

        def __init__(self, after: int) -> None:
            self.asked = 0
            self.after = after

        @property
        def stop(self) -> bool:  # type: ignore[override]
            self.asked += 1
            return self.asked > self.after

    for after, stand_in in ((1, True), (10_000, False)):
        watched = Shed(shed.stock, shed.recipes, watcher=Impatient(after))
        answer = answers.match(watched, "pen-plotter", top=2, order="diverse")
        assert answer.stand_in is stand_in
        assert answer.sets
        assert answer.state != "out of reach"


# ------------------------------------------------------------------ what is never placed


def test_dangerous_and_faulty_parts_are_refused_with_the_reason(tmp_path: Path) -> None:
    shed = opened(tmp_path, NEVER)
    rows = answers.builds(shed)
    assert set(rows.refused) == {lot.id for lot in shed.stock.lots}
    assert all(part is None for row in rows.builds for part in row.parts.values())
    assert all(reason.partition(": ")[2] for reason in rows.refused.values())
    for lot in ("bad", "uni"):
        with pytest.raises(FitterError, match="never placed"):
            answers.why(shed, "camera-slider", fixed={"slide.motor": lot})


def test_an_empty_stock_still_has_answers(tmp_path: Path) -> None:
    shed = opened(tmp_path, "lots: []\n")
    rows = answers.builds(shed)
    assert {row.recipe for row in rows.builds} == set(load_recipes())
    assert {row.state for row in rows.builds} <= {"buy first", "out of reach"}
    assert listings.list_stock(shed.stock).lots == []


def test_a_lot_of_no_pieces_is_not_used(tmp_path: Path) -> None:
    slide = "kind: drawer slide, travel: 400 mm, closed_length: 400 mm, load: 30 kg"
    for count, enough in ((2, True), (1, False), (0, False)):
        shed = opened(tmp_path, f"lots:\n  - {{id: s, count: {count}, {slide}}}\n")
        (best,) = answers.match(shed, "drawer-rails", top=1).sets
        assert (best.parts["rails.slides"].lot == "s") is enough


# ------------------------------------------------------------------ wrong questions


@pytest.mark.parametrize(
    ("recipe", "settings", "fixed", "problem"),
    [
        ("pen-ploter", {}, {}, "no recipe 'pen-ploter'; did you mean 'pen-plotter'?"),
        ("pen-plotter", {"sped": "1 m/s"}, {}, "pen-plotter has no demand 'sped'; did you mean 'speed'?"),
        ("pen-plotter", {"speed": "1 kg"}, {}, "--set speed: 'kg' is a unit of mass"),
        ("camera-slider", {}, {"mottor": "m1"}, "no role 'mottor'"),
        ("pen-plotter", {}, {"motor": "m1"}, "'motor' may be x.motor or y.motor"),
        ("camera-slider", {}, {"slide.motor": "m111"}, "no lot 'm111' in stock; did you mean 'm11'?"),
        ("camera-slider", {}, {"slide.motor": "rod1"}, "rod1 is a rod; this role takes: "),
    ],
)
@pytest.mark.parametrize("question", [answers.match, answers.why], ids=["match", "why"])
def test_wrong_question(shed: Shed, recipe, settings, fixed, problem: str, question) -> None:
    with pytest.raises(FitterError) as caught:
        question(shed, recipe, settings, fixed=fixed)
    assert problem in str(caught.value)


def test_unknown_lots_kinds_and_demands_are_told_the_nearest(shed: Shed) -> None:
    with pytest.raises(
        FitterError, match=r"--without: no lot 'psu-lapto' in stock; did you mean 'psu-laptop'\?"
    ):
        Shed(shed.stock, shed.recipes, ["psu-lapto"])
    with pytest.raises(FitterError, match=r"unknown kind 'steper motor'; did you mean 'stepper motor'\?"):
        listings.list_stock(shed.stock, "steper motor")
    with pytest.raises(FitterError, match=r"no recipe has a demand 'paylod'; did you mean 'payload'\?"):
        answers.builds(shed, {"paylod": "1 kg"})


# ------------------------------------------------------------------ stock and recipes


def test_the_list_shows_every_lot_as_written(shed: Shed) -> None:
    listed = listings.list_stock(shed.stock)
    assert sorted(lot.id for lot in listed.lots) == sorted(lot.id for lot in shed.stock.lots)
    m1 = next(lot for lot in listed.lots if lot.id == "m1")
    assert m1.ratings["resistance"].shown == "2.1 ohm, measured"
    assert (m1.ratings["resistance"].unit, m1.ratings["resistance"].evidence) == ("ohm", "measured")
    for lot in listed.lots:
        for rating in lot.ratings.values():
            assert rating.min is None or rating.likely is None or rating.min <= rating.likely
            assert rating.shown


def test_one_kind_of_the_list(shed: Shed) -> None:
    motors = listings.list_stock(shed.stock, "Stepper_Motor").lots
    assert motors
    assert {lot.kind for lot in motors} == {"stepper motor"}


def test_checking_a_stock_counts_and_quotes_every_error(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("lots:\n  - {id: a, kind: gear}\n  - {id: b, kind: geer}\n")
    (tmp_path / "b.csv").write_text("id,kind,teeth\nc,gear,many\n")
    checked = listings.check_stock(tmp_path)
    assert (checked.files, checked.lots, len(checked.errors)) == (2, 1, 2)
    with pytest.raises(FitterErrors) as caught:
        Shed.open(tmp_path)
    assert checked.errors == [str(error) for error in caught.value.errors]
