"""Every build is judged again, apart from the search; limits and the maker's own choices are kept to."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from exhaustive import Shelf, every_build

from fitter import answers
from fitter.advice.data import shop
from fitter.projects import Project, bind
from fitter.recipes import load_recipes, read_recipe
from fitter.shed import Shed
from fitter.solve import sweeps, tables
from fitter.solve.builds import judge
from fitter.solve.candidates import Pool
from fitter.solve.score import Waste
from fitter.solve.variants import Found, Limit, ranked_builds
from fitter.stock.files import load_stock

HERE = Path(__file__).parent
SHED = HERE.parents[1] / "inventory_examples" / "repair_shed"
RECIPES = load_recipes()


def shelf_of(stock: Path, fixed: Mapping[str, str] | None = None, without: tuple[str, ...] = ()) -> Shelf:
    """A stock without any shop."""
    pool = Pool(load_stock(stock).lots)
    return Shelf(pool, Waste(pool, shop()), fixed or {}, without)


@pytest.fixture(scope="module")
def drawer() -> tuple[Project, Shelf]:
    return bind(RECIPES["drawer-rails"], {"extension": "200 mm", "max_play": "2 mm"}), shelf_of(SHED)


@pytest.fixture(scope="module")
def lab() -> tuple[Project, Shelf]:
    return bind(RECIPES["lab-supply"]), shelf_of(SHED)


def best(project: Project, shelf: Shelf) -> Found:
    return next(ranked_builds(project, shelf.tables()))


@pytest.mark.parametrize("by", [-1e7, -1.0, 1.0, 1e12])
def test_a_score_that_is_not_that_of_the_parts_is_a_fault(lab: tuple[Project, Shelf], by: float) -> None:
    found = best(*lab)
    judge(found, lab[1].tables())
    with pytest.raises(RuntimeError, match="scored"):
        judge(dataclasses.replace(found, score=found.score + by), lab[1].tables())


def test_a_part_put_in_behind_the_searchs_back_is_a_fault(lab: tuple[Project, Shelf]) -> None:
    """Every other candidate of every role: let pass only if that set is allowed and has the same score."""
    project, shelf = lab
    found = best(project, shelf)
    allowed = set(every_build(project, shelf))
    raised = 0
    for role, was in found.parts.items():
        for other in shelf.candidates(role, found.model.roles[role]):
            parts = {**found.parts, role: other}
            same = (found.score, frozenset((r, c.id) for r, c in parts.items())) in allowed
            changed = dataclasses.replace(found, parts=parts)
            if same:
                judge(changed, shelf.tables())
                continue
            raised += 1
            with pytest.raises(RuntimeError, match=r"let through|scored"):
                judge(changed, shelf.tables())
        assert was is found.parts[role]
    assert raised > 10


def test_a_search_that_overlooks_checks_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    def blind(judgement, minutes, *, soft):  # type: ignore[no-untyped-def]
        return np.zeros(np.broadcast_shapes(np.shape(judgement.margin.lo), np.shape(minutes)))

    project, shelf = bind(RECIPES["drawer-rails"], {"load": "150 kg"}), shelf_of(SHED)
    assert not list(ranked_builds(project, shelf.tables()))
    for module in (sweeps, tables):
        if hasattr(module, "check_cost"):
            monkeypatch.setattr(module, "check_cost", blind)
    with pytest.raises(RuntimeError, match="let through"):
        judge(best(project, shelf), shelf.tables())


# ---------------------------------------------------------------- what the maker fixes or rules out


def test_lots_fixed_and_ruled_out_by_hand_are_kept_to() -> None:
    project = bind(RECIPES["lab-supply"], {"voltage": "9 V", "current": "0.5 A"})
    free = every_build(project, shelf_of(SHED))
    supply, sink = "output.supply", "output.sink"
    named = next(dict(parts)[supply].partition(" / ")[0] for _, parts in free[1:] if supply in dict(parts))
    shelf = shelf_of(SHED, {supply: named}, ("hs4",))
    found = list(itertools.islice(ranked_builds(project, shelf.tables()), 10))
    truth = every_build(project, shelf)
    assert found
    assert [f.score for f in found] == [score for score, _ in truth[:10]]
    for build in found:
        assert build.parts[supply].lot.id == named
        assert build.parts[sink].lot.id != "hs4"
    kept = [t for t in free if dict(t[1]).get(supply, "").partition(" / ")[0] == named]
    assert truth == [t for t in kept if dict(t[1])[sink] != "hs4"], "ruling out changes nothing else"


def test_a_lot_ruled_out_is_in_no_answer() -> None:
    shed = Shed.open(SHED, without=("m9", "rod1"))
    answer = answers.match(shed, "camera-slider", top=5)
    used = {p.lot for s in answer.sets for p in s.parts.values()}
    assert answer.sets
    assert not used & {"m9", "rod1"}
    assert not {n.lot.partition(" / ")[0] for s in answer.sets for n in s.near_misses} & {"m9", "rod1"}


# ---------------------------------------------------------------- outcomes


def test_no_set_is_told_from_a_search_that_was_stopped() -> None:
    """Proof of none: the iteration ends with the limit not reached. Stopped: it ends with it reached."""
    shelf = shelf_of(SHED)
    impossible = bind(RECIPES["drawer-rails"], {"load": "200 kg"})
    limit = Limit()
    assert list(ranked_builds(impossible, shelf.tables(), limit)) == []
    assert not limit.reached
    assert every_build(impossible, shelf) == []
    stopped = Limit(nodes=0)
    assert list(ranked_builds(bind(RECIPES["drawer-rails"]), shelf.tables(), stopped)) == []
    assert stopped.reached


@pytest.fixture(scope="module")
def hurried() -> Shed:
    """A shed whose searches stop after one node."""
    shed = Shed.open(SHED)
    shed.limit_nodes = 1
    return shed


def test_one_node_is_never_proof(hurried: Shed) -> None:
    assert answers.match(hurried, "camera-slider").outcome == "stopped"
    assert answers.gaps_of(hurried, "lab-supply").outcome == "stopped"
    rows = [r for r in answers.builds(hurried).builds if r.recipe != "drawer-rails"]
    assert {r.outcome for r in rows} == {"stopped"}
    assert not any("no part" in reason for r in rows for reason in r.why), "a limit is no lack of parts"


def test_a_stopped_search_does_not_say_out_of_reach(hurried: Shed) -> None:
    answer = answers.match(hurried, "camera-slider")
    assert answer.outcome == "stopped"
    assert answer.state == answer.sets[0].state == "measure first"


# ---------------------------------------------------------------- pieces


STOCK = """
lots:
  - {{id: servo, kind: servo, supply_voltage: "4.5..6 V, datasheet", torque: "1 N m, datasheet",
     stall_current: "1 A, datasheet"}}
  - {{id: mcu, kind: controller board, logic_voltage: "5 V, measured", step_outputs: 3, pwm_outputs: 3,
     inputs: 8, supply_voltage: "4.5..28 V, datasheet", supply_current: "0.1 A, measured"}}
  - {{id: sol, kind: solenoid, rated_voltage: "12 V, datasheet", resistance: "40 ohm, measured",
     force: "5 N, measured", stroke: "5 mm, measured", duty: 1}}
  - {{id: sw, kind: transistor switch, max_voltage: "60 V, datasheet", continuous_current: "5 A, datasheet",
     gate_voltage: "4 V, datasheet"}}
  - {{id: tr, kind: transformer, count: 2, apparent_power: 50 VA, regulation: "0.1, measured",
     secondaries: [{{voltage: "9 V, measured", current: "4 A, measured"}}]}}
  - {{id: br, kind: bridge rectifier, count: 2, max_voltage: "400 V, datasheet", current: "25 A, datasheet"}}
  - {{id: cap, kind: capacitor, count: {capacitors}, capacitance: "47000 uF, measured",
     max_voltage: "63 V, datasheet"}}
"""


def two_rectifiers(folder: Path, capacitors: int) -> list[Found]:
    """All sets of a coil on one rectified rail and its controller on another."""
    (folder / "stock.yaml").write_text(STOCK.format(capacitors=capacitors), encoding="utf-8")
    project = bind(read_recipe(HERE / "stamp.yaml"))
    return list(ranked_builds(project, shelf_of(folder / "stock.yaml").tables()))


def test_two_rectified_rails_take_two_of_everything(tmp_path: Path) -> None:
    assert two_rectifiers(tmp_path, capacitors=2)


def test_one_capacitor_does_not_serve_two_rails(tmp_path: Path) -> None:
    assert two_rectifiers(tmp_path, capacitors=1) == []
