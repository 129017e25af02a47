"""What a measurement would settle: chances against formulas by hand, verdicts against judging one by one."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from fitter.measuring.answers import FAR, measure
from fitter.measuring.cases import asked, case_of
from fitter.measuring.models import MeasureAnswer
from fitter.measuring.ranking import Measurement, Ranking
from fitter.measuring.rejudge import FAILS, OPEN, PASSES, Rejudge
from fitter.measuring.truths import Worlds, open_of, recorded, used
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.solve.builds import Build, judge_check

SHED = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
DRAWER = """lots:
  - {{id: s1, kind: drawer slide, count: 2, travel: "{travel}", closed_length: "400 mm, datasheet",
     load: "{load}", play: "0.3 mm, datasheet"}}
"""


def ranking(tmp_path: Path, travel: str, load: str, worlds: int = 480) -> Ranking:
    file = tmp_path / "stock.yaml"
    file.write_text(DRAWER.format(travel=travel, load=load), encoding="utf-8")
    shed = Shed.open(file)
    return Ranking([case_of(shed, bind(shed.recipe("drawer-rails")))], Worlds(worlds))


def named(found: list[Measurement]) -> dict[tuple[str, ...], Measurement]:
    return {tuple(sorted(step.field for step in m.steps)): m for m in found}


def test_one_open_rating_against_its_distribution(tmp_path: Path) -> None:
    """350 mm are needed; a ruler is off by 0.7 mm at 350 mm, so the rest stays open."""
    found = ranking(tmp_path, "300..400 mm", "20 kg, datasheet").measurements
    assert [m.steps[0].path for m in found] == ["s1.travel"]
    (effect,) = found[0].effects
    travel = stats.triang(0.5, loc=300, scale=100)
    assert effect.passes == pytest.approx(1 - travel.cdf(350.7), abs=0.005)
    assert effect.rules_out == pytest.approx(travel.cdf(349.3), abs=0.005)  # then slides are bought, and fit
    assert effect.best_fails if hasattr(effect, "best_fails") else effect.loses_best == effect.rules_out
    assert found[0].per_minute == pytest.approx((effect.passes + effect.rules_out) / 1.0)


def test_two_that_only_together_prove_a_set(tmp_path: Path) -> None:
    """8 kg with a quarter to spare are 10 kg; a scale is off by a tenth."""
    found = named(ranking(tmp_path, "300..400 mm", "5..20 kg").measurements)
    travel, load = stats.triang(0.5, loc=300, scale=100), stats.triang(0.5, loc=np.log(5), scale=np.log(4))
    fits = (1 - travel.cdf(350.7)) * (1 - load.cdf(np.log(10 / 0.9)))
    fails_travel, fails_load = travel.cdf(349.3), load.cdf(np.log(10 / 1.1))
    for name, fails in (("travel", fails_travel), ("load", fails_load)):
        (effect,) = found[(name,)].effects
        assert effect.passes == 0
        assert effect.rules_out == pytest.approx(fails, abs=0.005)
    both = found["load", "travel"]
    assert both.effects[0].passes == pytest.approx(fits, abs=0.03)
    assert both.effects[0].rules_out == pytest.approx(1 - (1 - fails_travel) * (1 - fails_load), abs=0.03)
    assert [step.field for step in both.steps] == ["travel", "load"]  # a minute before ten
    assert both.minutes == 11


def test_nothing_to_measure_where_all_is_settled(tmp_path: Path) -> None:
    made = ranking(tmp_path, "500 mm, datasheet", "20 kg, datasheet")
    assert made.cases[0].settled
    assert made.measurements == []


@pytest.fixture(scope="module")
def shed() -> Shed:
    return Shed.open(SHED)


@pytest.fixture(scope="module")
def sets(shed: Shed) -> list[Build]:
    return [
        b for name in ("camera-slider", "lab-supply") for b in case_of(shed, bind(shed.recipe(name))).sets
    ]


def one_by_one(build: Build, known: frozenset[tuple[str, str]], worlds: Worlds, world: int) -> int:
    """The verdict on a set whose lots are replaced by measured ones, each check judged by itself."""
    parts = dict(build.parts)
    for role, candidate in build.parts.items():
        fields = {name for lot, name in known if not candidate.bought and lot == candidate.lot.id}
        values = {
            n: worlds.of(candidate.lot)[world][n]
            for name in fields
            for n in open_of(candidate.lot)[name].ratings
        }
        if values:
            parts[role] = next(used(candidate, recorded(candidate.lot, values)))
    verdicts = {judge_check(c.check, parts).verdict.value for c in build.checks}
    return FAILS if "fails" in verdicts else OPEN if "unproven" in verdicts else PASSES


def test_verdicts_in_many_worlds_are_those_of_judging_one_by_one(sets: list[Build]) -> None:
    dice = random.Random(4)
    worlds = Worlds(number=8, seed=9)
    rejudge = Rejudge(worlds)
    seen = set()
    for build in sets:
        everything = [
            (c.lot.id, name) for c in build.parts.values() if not c.bought for name in open_of(c.lot)
        ]
        for known in (asked(build), dice.sample(everything, min(4, len(everything))), everything):
            chosen = frozenset(known)
            found = rejudge.outcome(build, chosen)
            for world in range(worlds.number):
                assert found[world] == one_by_one(build, chosen, worlds, world), (build.parts, chosen)
                seen.add(int(found[world]))
    assert seen == {PASSES, OPEN, FAILS}


FEW = ("bell-set", "camera-slider", "drawer-rails", "lab-supply")


def opened() -> Shed:
    """A ready recipe, two to be measured for, and one that must buy much."""
    shed = Shed.open(SHED)
    shed.recipes = {name: shed.recipes[name] for name in FEW}
    return shed


@pytest.fixture(scope="module")
def few() -> Shed:
    return opened()


@pytest.fixture(scope="module")
def answer(few: Shed) -> MeasureAnswer:
    return measure(few)


def test_suggestions_for_the_shed(few: Shed, answer: MeasureAnswer) -> None:
    order = [m.per_minute for m in answer.measurements]
    assert order == sorted(order, reverse=True)
    assert len({tuple(s.lot + s.rating for s in m.steps) for m in answer.measurements}) == len(order)
    for each in answer.measurements:
        assert each.minutes == sum(step.minutes for step in each.steps)
        assert each.expected == pytest.approx(sum(r.passes + r.rules_out for r in each.recipes))
        for step in each.steps:
            assert step.rating in open_of(few.stock.lot(step.lot))
    settled = {r.recipe for r in answer.recipes if r.settled}
    assert not settled & {r.recipe for m in answer.measurements for r in m.recipes}


def test_two_processes_suggest_what_one_does(few: Shed, answer: MeasureAnswer) -> None:
    assert measure(few, processes=2) == answer


def test_recipes_far_from_going_are_said_not_to_be_looked_at(answer: MeasureAnswer) -> None:
    far = {r.recipe for r in answer.recipes if not r.looked_at}
    assert far == {r.recipe for r in answer.recipes if r.to_buy > FAR}
    assert far
    assert not far & {r.recipe for m in answer.measurements for r in m.recipes}


def test_of_recipes_that_are_all_far_the_nearest_are_looked_at() -> None:
    small = Shed.open(SHED.parent / "small_box.yaml")
    small.recipes = {n: small.recipes[n] for n in ("camera-slider", "lab-supply")}
    to_buy = {r.recipe: (r.to_buy, r.looked_at) for r in measure(small, processes=2).recipes}
    least = min(n for n, _ in to_buy.values())
    assert least > FAR
    assert all(looked_at == (n == least) for n, looked_at in to_buy.values())


def test_the_same_stock_gives_the_same_suggestions(answer: MeasureAnswer) -> None:
    assert measure(opened()) == answer
