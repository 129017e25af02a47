"""What is the least to change without buying: each change is made, and the project asked for again.

Judges: the whole search, run anew with the change in place; figures worked by hand from the stock as written;
and the checks of the same parts without the change.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from weak_drive import EXAMPLES, HEAVY, WEAK, stocked

from fitter import answers
from fitter.checks.base import Verdict
from fitter.explain.said import MOST
from fitter.explain.said import steps_of as bounded
from fitter.explain.steps import Steps
from fitter.intervals import Interval
from fitter.kinds.model import USE
from fitter.models import MatchAnswer, StepAnswer, StepsAnswer
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.solve.builds import PinnedPart
from fitter.stock.files import Stock

GOES = ("ready", "measure first")
FAST = {"payload": "2 kg", "travel": "500 mm", "speed": "200 mm/s"}
LOW = WEAK.replace('voltage: "24 V', 'voltage: "12 V').replace("3 mH", "60 mH")
ISOLATED = LOW.replace('regulated: "yes"', 'regulated: "yes", isolated: "yes"')
SECOND = """
  - {id: psu2, kind: adapter, voltage: "12 V, measured", current: "2 A, nameplate", regulated: "yes",
     isolated: "YES"}
"""


def steps_of(shed: Shed, settings: dict[str, str], **fixed: str) -> StepsAnswer:
    answer = answers.why(shed, "camera-slider", settings, fixed=fixed)
    assert answer.steps is not None
    return answer.steps


def of_sort(found: StepsAnswer, sort: str) -> StepAnswer:
    (step,) = (s for s in found.steps if s.sort == sort)
    return step


def test_a_reduction_is_named_with_the_torque_before_and_after(tmp_path: Path) -> None:
    """Behind 2.5:1 the motor gives 2.5 times less, and more again for what the wheels lose."""
    found = steps_of(stocked(tmp_path, WEAK), HEAVY)
    step = of_sort(found, "gear")
    torque = next(f for f in step.figures if f.check == "torque at speed")
    assert torque.need_before[0] is not None
    assert torque.need is not None
    assert torque.need[0] is not None
    ratio = step.spec["ratio"]
    assert ratio.min is not None
    assert ratio.max is not None
    assert 1 / ratio.max < torque.need[0] / torque.need_before[0] < 1 / (0.85 * ratio.min)
    assert step.price > 0
    assert step.state == "buy first"
    assert "reduction between mot and slide.pulley" in step.text


def test_the_least_rail_is_where_it_starts_to_do(tmp_path: Path) -> None:
    """The torque check of the set, judged anew on rails just above and just below: there it fails."""
    shed = stocked(tmp_path, LOW)
    search = Steps(shed, bind(shed.recipe("camera-slider"), FAST), {}, 5.0)
    (step,) = (s for s in search.found() if s.sort == "rail")
    assert step.rail is not None
    least = step.rail["voltage"].low
    assert 12 < least < 24
    check = next(c.check for c in step.build.checks if c.check.name == "torque at speed")
    for share, fails in ((1.001, False), (0.999, True)):
        at = Interval.point(least * share)
        pinned = {"voltage.low": at, "voltage.high": at}
        views = {r: PinnedPart(step.build.parts[r], pinned if r == step.about else {}) for r in check.roles}
        assert (check.judge(views).verdict is Verdict.FAILS) == fails


@pytest.mark.parametrize(("isolated", "pair"), [("yes", ["psu", "psu2"]), ("no", [])])
def test_two_isolated_supplies_make_the_rail(isolated: str, pair: list[str], tmp_path: Path) -> None:
    shed = stocked(tmp_path, ISOLATED + SECOND.replace("YES", isolated))
    step = of_sort(steps_of(shed, FAST), "rail")
    assert [lot.lot for lot in step.from_stock] == pair
    assert (step.price == 0) == bool(pair)
    assert (step.state in GOES) == bool(pair)
    assert ("in series" in step.text) == bool(pair)


EIGHT = LOW.replace("wires: 4", "wires: 8").replace("60 mH", "30 mH")


def test_another_connection_of_the_coils(tmp_path: Path) -> None:
    shed = stocked(tmp_path, EIGHT)
    step = of_sort(steps_of(shed, FAST, motor="mot/series"), "coils")
    assert step.price == 0
    (torque,) = (f for f in step.figures if f.check == "torque at speed")
    assert torque.have is not None
    assert torque.have[1] is not None
    assert torque.have_before[1] is not None
    assert torque.have[1] > torque.have_before[1]
    use = step.text.removeprefix("mot ").partition(" (")[0]
    answer = answers.why(shed, "camera-slider", FAST, fixed={"motor": f"mot/{use}"})
    assert answer.state in GOES


def test_a_use_is_fixed_as_it_is_named(tmp_path: Path) -> None:
    shed = stocked(tmp_path, EIGHT)
    for use in ("series", "parallel"):
        answer = answers.match(shed, "camera-slider", FAST, fixed={"motor": f"mot{USE}{use}"})
        shown = [s.parts["slide.motor"] for s in answer.sets] or [answer.nearest.parts["slide.motor"]]  # type: ignore[union-attr]
        assert all(part.offer.startswith("both") or use in part.offer for part in shown)


def test_what_the_recipe_wants_beyond_its_demands_is_given_up(tmp_path: Path) -> None:
    """A rod of 6 mm on 0.8 m sags by five times the 2 mm that the recipe allows; 12 mm would not."""
    thin = WEAK.replace('diameter: "12 mm', 'diameter: "6 mm').replace('bore: "12 mm', 'bore: "6 mm')
    found = steps_of(stocked(tmp_path, thin), {"payload": "2 kg", "travel": "700 mm"})
    step = of_sort(found, "preference")
    assert step.about == "rail.max_sag"
    assert step.price == 0
    assert step.state in GOES
    assert "2 mm" in step.text
    (sag,) = step.figures
    assert sag.have_before[0] is not None
    assert sag.have_before[0] > 0.002
    assert any("sag" in line for line in found.lacking)


def parts_of(full: Shed, seed: int) -> Shed:
    lots = [lot for lot in full.stock.lots if random.Random(f"{seed} {lot.id}").random() < 0.7]
    return Shed(Stock(lots), full.recipes)


def test_every_lower_demand_of_random_stocks_does_and_changes_are_in_order() -> None:
    """On random parts of an example stock: the demand as lowered is asked for again, from stock alone."""
    full = Shed.open(EXAMPLES / "repair_shed")
    tried = 0
    for seed in (2, 4):
        shed = parts_of(full, seed)
        answer = answers.gaps_of(shed, "camera-slider", {"payload": "8 kg", "incline": "40 deg"})
        if answer.steps is None:
            assert answer.state in GOES
            continue
        steps = answer.steps.steps
        assert len(steps) <= MOST
        assert [s.price for s in steps] == sorted(s.price for s in steps)
        for step in (s for s in steps if s.sort == "demand"):
            settings = {"payload": "8 kg", "incline": "40 deg"}
            settings |= {c.demand: f"{c.value!r} {c.unit}" for c in step.changes}
            again = answers.match(shed, "camera-slider", settings, top=1)
            assert again.state in GOES
            tried += 1
        for step in (s for s in steps if s.sort in ("demand", "preference", "coils")):
            assert None not in step.parts.values()
    assert tried


def test_time_that_runs_out_is_said(tmp_path: Path) -> None:
    shed = stocked(tmp_path, WEAK)
    shed.limit_seconds = 0.0
    found = bounded(shed, bind(shed.recipe("camera-slider"), HEAVY), None, 0.0)
    assert found.outcome == "stopped"


def test_a_project_that_goes_wants_no_change(tmp_path: Path) -> None:
    answer = answers.why(stocked(tmp_path, WEAK), "camera-slider", {"payload": "1 kg", "travel": "500 mm"})
    assert isinstance(answer, MatchAnswer)
    assert answer.steps is None
