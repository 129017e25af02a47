"""Plans against all bundles of all builds, and the case of one rail for two projects.

The judge is exhaustive enumeration, which needs no source: it is the definition of the answer.
"""

from __future__ import annotations

import functools
import itertools
import math
import random
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from exhaustive import (
    LARGEST,
    Shelf,
    TooManyError,
    check_costs,
    every_build,
    graphs,
    random_shelf,
    taken_too_often,
)

from fitter import cli
from fitter.advice.data import shop
from fitter.checks.find import find_checks
from fitter.planning.answers import answer_of, plan
from fitter.planning.bundle import Planner
from fitter.planning.groups import Cost, joined
from fitter.planning.models import PlanAnswer
from fitter.projects import Project, bind
from fitter.recipes import load_recipes, read_recipe
from fitter.shed import Shed
from fitter.solve.builds import State
from fitter.solve.candidates import Pool
from fitter.solve.score import Waste
from fitter.stock.files import Stock, load_stock

DRAWERS = load_recipes()["drawer-rails"]
SOLVE = Path(__file__).parents[1] / "solve"


def alike(number: int, rng: random.Random) -> Project:
    """A drawer under a name of its own, that asks for something of its own."""
    load = rng.choice((8.0, 15.0, 25.0))
    demands = {**DRAWERS.demands, "load": replace(DRAWERS.demands["load"], value=load)}
    return bind(replace(DRAWERS, name=f"drawer-{number}", demands=demands))


def stocked(rng: random.Random) -> Shelf:
    """A few drawer slides, and a shop that has all its sizes."""
    lots = random_shelf(("drawer slide",) * 4, rng).pool.lots
    pool = Pool(lots, (lot for sizes in shop().values() for lot in sizes))
    return Shelf(pool, Waste(pool, shop()), {}, ())


COIL = """
  - {id: coil-NUMBER, condition: CONDITION, kind: electromagnet, count: COUNT,
     rated_voltage: "24 V, datasheet", resistance: "OHMS..OHMS ohm, measured", force: "50 N, datasheet",
     stroke: "10 mm, measured", duty: "1..1, measured"}"""
SWITCH = """
  - {id: switch-NUMBER, condition: working, kind: transistor switch, count: COUNT,
     max_voltage: "60 V, datasheet", continuous_current: "20 A, datasheet", gate_voltage: "3 V, datasheet"}"""
BOARD = """
  - {id: board-NUMBER, condition: CONDITION, kind: controller board, count: COUNT,
     logic_voltage: "5 V, measured", step_outputs: 3, pwm_outputs: 8, inputs: 8,
     supply_voltage: "5..35 V, datasheet", supply_current: "0.05..0.05 A, measured"}"""
UNIT = """
  - {id: unit-NUMBER, condition: working, kind: switch-mode supply, count: COUNT, regulated: yes,
     ripple: "1 mV, measured", total_power: "WATTS..WATTS W, measured",
     rails: [{voltage: "24..24 V, measured", current: "AMPS, measured", isolated: no}]}"""


def lots_at_random(rng: random.Random) -> str:
    """Coils, switches, boards and supply units: few of each, so that several magnets contend for all."""
    text = "lots:"
    for part, most, counts in ((COIL, 2, "1234"), (SWITCH, 1, "3444"), (BOARD, 1, "2344"), (UNIT, 2, "112")):
        for number in range(rng.randint(1, most)):
            amps = rng.choice(("1.6..1.6 A", "2..2 A", "3..3 A", "4..4 A", "3..6 A", "8..8 A"))
            figures = {
                "NUMBER": str(number),
                "COUNT": rng.choice(counts),
                "CONDITION": rng.choice(("working", "working", "untested")),
                "OHMS": rng.choice(("12", "16", "24", "48")),
                "WATTS": rng.choice(("48", "72", "120", "240")),
                "AMPS": amps,
            }
            text += functools.reduce(lambda t, f: t.replace(*f), figures.items(), part)
    return text


def least_of_all(projects: list[Project], shelf: Shelf) -> Cost:
    """The least cost of making some of the projects, all sets of all of them tried together.

    What is ready, open and to be bought is worked out here once more, and rails are judged by the checks
    of the projects taken as one.
    """
    found: list[Cost] = [(len(projects), len(projects), 0)]
    for size in range(1, len(projects) + 1):
        for chosen in itertools.combinations(projects, size):
            marks = [p.recipe.name + "/" for p in chosen] if size > 1 else [""]
            for graph in graphs(joined(chosen)):
                found += _least_of_graph(graph, marks, len(projects) - size, shelf)
    return min(found)


def _least_of_graph(graph: Any, marks: list[str], missing: int, shelf: Shelf) -> list[Cost]:
    roles = [n for n, data in graph.nodes(data=True) if "role" in data]
    candidates = {r: shelf.candidates(r, graph.nodes[r]["role"]) for r in roles}
    shape = tuple(len(candidates[r]) for r in roles)
    if math.prod(shape) > LARGEST:
        raise TooManyError
    if not math.prod(shape):
        return []
    total: Any = np.zeros(shape)
    hindered: dict[str, Any] = {m: np.zeros((1,) * len(roles)) for m in marks}
    for axis, role in enumerate(roles):
        at = [-1 if i == axis else 1 for i in range(len(roles))]
        bought = np.array([float(c.bought) for c in candidates[role]]).reshape(at)
        waste = np.array([shelf.waste.of(c, graph.nodes[role]["role"].count) for c in candidates[role]])
        total = total + 1e12 * bought + waste.reshape(at)
        for mark in marks:
            hindered[mark] = hindered[mark] + bought * role.startswith(mark)
    for check in find_checks(graph):
        cost = check_costs(check, roles, candidates)
        total = total + cost
        for mark in marks:
            if any(role.startswith(mark) for role in check.roles):
                hindered[mark] = hindered[mark] + cost
    allowed = (total < np.inf) & ~taken_too_often(graph, roles, candidates)
    if not allowed.any():
        return []
    late = np.where(
        allowed, missing + sum((h > 0).astype(int) for h in hindered.values()), len(marks) + missing + 1
    )
    fewest = late.min()
    return [(int(fewest), missing, int(total[allowed & (late == fewest)].min()))]


MAGNETS = [(number, seed) for number in (2, 3, 4) for seed in range({2: 14, 3: 12, 4: 4}[number])]


@pytest.mark.parametrize(("number", "seed"), MAGNETS)
def test_plans_on_shared_rails_cost_what_the_best_of_all_sets_together_costs(
    tmp_path: Path, number: int, seed: int
) -> None:
    rng = random.Random(f"magnets {number} {seed}")
    shelf = _magnets_at_random(tmp_path, rng)
    projects = [_magnet(tmp_path, f"magnet-{i}") for i in range(number)]
    try:
        truth = least_of_all(projects, shelf)
    except TooManyError:
        pytest.skip("too many to try")
    planner = Planner(shed_of(shelf, projects), {p.recipe.name: p for p in projects})
    found = planner.search()
    assert planner.cost(found.builds) == truth
    assert found.optimal


def _magnets_at_random(folder: Path, rng: random.Random) -> Shelf:
    (folder / "stock.yaml").write_text(lots_at_random(rng), encoding="utf-8")
    sold = {
        k: sizes[:1]
        for k, sizes in shop().items()
        if k in rng.choice((("switch mode supply",), ("controller board",), ()))
    }
    pool = Pool(load_stock(folder / "stock.yaml").lots, [lot for sizes in sold.values() for lot in sizes])
    return Shelf(pool, Waste(pool, sold), {}, ())


def _magnet(folder: Path, name: str) -> Project:
    (folder / f"{name}.yaml").write_text(MAGNET.replace("NAME", name), encoding="utf-8")
    return bind(read_recipe(folder / f"{name}.yaml"))


def test_random_magnets_contend_in_every_way(tmp_path: Path) -> None:
    """So that the test above cannot pass idly."""
    seen: dict[str, int] = {"pieces": 0, "current": 0, "left out": 0, "ready": 0, "several ready": 0}
    for number, seed in MAGNETS:
        rng = random.Random(f"magnets {number} {seed}")
        shelf = _magnets_at_random(tmp_path, rng)
        projects = [_magnet(tmp_path, f"magnet-{i}") for i in range(number)]
        found = Planner(shed_of(shelf, projects), {p.recipe.name: p for p in projects}).search()
        ready = [b for b in found.builds if b.state is State.READY]
        seen["pieces"] += any(not c.draws for c in found.clashes)
        seen["current"] += any(c.draws for c in found.clashes)
        seen["left out"] += bool(found.left)
        seen["ready"] += 0 < len(ready) < number
        seen["several ready"] += len(ready) > 1
    assert min(seen.values()) >= 3, seen


def shed_of(shelf: Shelf, projects: list[Project]) -> Shed:
    shed = Shed(Stock(tuple(shelf.pool.lots)), {p.recipe.name: p.recipe for p in projects})
    shed.pool, shed.waste = shelf.pool, shelf.waste
    return shed


def every_bundle(projects: list[Project], shelf: Shelf, counts: dict[str, int]) -> Cost:
    """The least cost of all ways to make or leave out each project, within the pieces there are."""
    options: list[list[tuple[Cost, Counter[str]]]] = []
    for project in projects:
        mine: list[tuple[Cost, Counter[str]]] = [((1, 1, 0), Counter())]
        for score, parts in every_build(project, shelf):
            used = Counter[str]()
            for role, lot in parts:
                if lot in counts:
                    pieces = {"slides": 2}[role.rpartition(".")[2]]
                    used[lot] += pieces
            mine.append(((int(score >= 1e7), 0, int(score)), used))
        options.append(mine)
    costs = []
    for bundle in itertools.product(*options):
        used = sum((u for _, u in bundle), Counter[str]())
        if all(n <= counts[lot] for lot, n in used.items()):
            a, b, c = zip(*(cost for cost, _ in bundle), strict=True)
            costs.append((sum(a), sum(b), sum(c)))
    return min(costs)


@pytest.mark.parametrize("seed", range(24))
def test_a_plan_costs_what_the_best_of_all_bundles_costs(seed: int) -> None:
    rng = random.Random(f"plan {seed}")
    shelf = stocked(rng)
    projects = [alike(i, rng) for i in range(rng.choice((2, 3)))]
    counts = {lot.id: lot.count for lot in shelf.pool.lots}
    try:
        truth = every_bundle(projects, shelf, counts)
    except TooManyError:
        pytest.skip("too many to try")
    planner = Planner(shed_of(shelf, projects), {p.recipe.name: p for p in projects})
    found = planner.search()
    assert planner.cost(found.builds) == truth
    assert found.optimal
    used = sum((Counter({lot: n for lot, (n, _) in b.used.items()}) for b in found.builds), Counter[str]())
    assert all(n <= counts[lot] for lot, n in used.items())


ONE_RAIL = """
lots:
  - {id: coil, condition: working, kind: electromagnet, count: 2, rated_voltage: "24 V, datasheet",
     resistance: "16..16 ohm, measured", force: "50 N, datasheet", stroke: "10 mm, measured",
     duty: "1..1, measured"}
  - {id: switch, condition: working, kind: transistor switch, count: 2, max_voltage: "60 V, datasheet",
     continuous_current: "20 A, datasheet", gate_voltage: "3 V, datasheet"}
  - {id: board, condition: working, kind: controller board, count: 2, logic_voltage: "5 V, measured",
     step_outputs: 3, pwm_outputs: 8, inputs: 8, supply_voltage: "5..35 V, datasheet",
     supply_current: "0.05..0.05 A, measured"}
  - {id: unit, condition: working, kind: switch-mode supply, count: UNITS, regulated: yes,
     ripple: "1 mV, measured", total_power: "72..72 W, measured",
     rails: [{voltage: "24..24 V, measured", current: "AMPS..AMPS A, measured", isolated: no}]}
"""
MAGNET = """
recipe: NAME
functions:
  magnet: {function: switch, power: rail, control: control}
  rail: {function: supply, principles: [one unit]}
  control: {function: control, power: rail}
"""


def magnets(folder: Path, amps: str, units: str = "1", names: tuple[str, ...] = ("left", "right")) -> Shed:
    stock = ONE_RAIL.replace("AMPS", amps).replace("UNITS", units)
    (folder / "stock.yaml").write_text(stock, encoding="utf-8")
    for name in names:
        (folder / f"{name}.yaml").write_text(MAGNET.replace("NAME", name), encoding="utf-8")
    recipes = {name: read_recipe(folder / f"{name}.yaml") for name in names}
    return Shed(load_stock(folder / "stock.yaml"), recipes)


def states(answer: PlanAnswer) -> list[str]:
    return [b.state for b in answer.builds]


@pytest.mark.parametrize("name", ["left", "right"])
def test_each_alone_is_ready_on_a_rail_of_24_v_and_3_a(tmp_path: Path, name: str) -> None:
    """24 V over 16 ohm draws 1.5 A and the board 0.05 A: less than 80 % of 3 A (Ohm's law)."""
    answer = plan(magnets(tmp_path, "3"), [name])
    assert states(answer) == ["ready"]
    assert answer.optimal
    assert not answer.shopping


def test_two_together_are_not_and_it_is_said_why(tmp_path: Path) -> None:
    """Twice 1.55 A is 3.1 A, more than the 2.4 A that are 80 % of 3 A (Ohm's law)."""
    answer = plan(magnets(tmp_path, "3"))
    assert states(answer) == ["ready", "buy first"]
    assert [(c.lot, c.about, sorted(c.recipes)) for c in answer.clashes] == [
        ("unit", "current", ["left", "right"])
    ]
    assert answer.optimal
    assert answer.outcome == "complete"
    assert answer.unlocks is not None
    assert answer.unlocks.step == "buy"
    assert len(answer.unlocks.ready) == 1
    assert len(answer.shopping) == 1


@pytest.mark.parametrize(("amps", "units"), [("5", "1"), ("3", "2")])
def test_a_stronger_rail_or_a_second_unit_serves_both(tmp_path: Path, amps: str, units: str) -> None:
    """80 % of 5 A is 4 A, more than twice 1.55 A; the unit's 120 W allow as much."""
    shed = magnets(tmp_path, amps, units)
    text = (tmp_path / "stock.yaml").read_text(encoding="utf-8").replace("72..72 W", "120..120 W")
    (tmp_path / "stock.yaml").write_text(text, encoding="utf-8")
    answer = plan(Shed(load_stock(tmp_path / "stock.yaml"), shed.recipes))
    assert states(answer) == ["ready", "ready"]
    assert answer.optimal
    assert not answer.clashes
    assert not answer.shopping


@pytest.mark.parametrize("amps", ["1.5", "2", "3", "4", "5", "6"])
def test_as_many_are_ready_as_the_rail_carries(tmp_path: Path, amps: str) -> None:
    """Each draws 24 V / 16 ohm + 0.05 A = 1.55 A, all within 80 % of the rail (Ohm's law)."""
    names = ("first", "second", "third")
    shed = magnets(tmp_path, amps, names=names)
    text = (tmp_path / "stock.yaml").read_text(encoding="utf-8")
    text = text.replace("72..72 W", "500..500 W").replace("count: 2", "count: 3")
    (tmp_path / "stock.yaml").write_text(text, encoding="utf-8")
    answer = plan(Shed(load_stock(tmp_path / "stock.yaml"), shed.recipes))
    assert states(answer).count("ready") == min(3, int(0.8 * float(amps) / 1.55))
    assert answer.outcome == "complete"


def test_watts_of_the_whole_unit_are_not_used_twice_either(tmp_path: Path) -> None:
    """A rail of 5 A in a unit of 72 W: 3.1 A at 24 V are 74 W, more than 80 % of it."""
    assert states(plan(magnets(tmp_path, "5"))) == ["ready", "buy first"]


def _answer(shed: Shed) -> PlanAnswer:
    planner = Planner(shed, {n: bind(r) for n, r in shed.recipes.items()})
    return answer_of(planner, planner.search())


def test_a_search_without_time_is_not_called_optimal(tmp_path: Path) -> None:
    shed = magnets(tmp_path, "3")
    shed.limit_nodes = 0
    answer = _answer(shed)
    assert (answer.optimal, answer.outcome) == (False, "stopped")


def test_a_measurement_unlocks_what_a_plan_made_anew_with_it_has_ready(tmp_path: Path) -> None:
    """A rail of 1 to 6 A may carry both magnets (3.1 A within 80 %) once its amps are known (Ohm's law)."""
    shed = magnets(tmp_path, "3")
    text = (tmp_path / "stock.yaml").read_text(encoding="utf-8").replace("72..72 W", "240..240 W")
    open_rail = text.replace("3..3 A, measured", "1..6 A, estimated")
    (tmp_path / "stock.yaml").write_text(open_rail, encoding="utf-8")
    before = plan(Shed(load_stock(tmp_path / "stock.yaml"), shed.recipes))
    assert "ready" not in states(before)
    step = before.unlocks
    assert step is not None
    assert (step.step, step.what, step.replanned) == ("measure", "unit.rails[1].current", True)
    assert step.ready == ["left", "right"]
    (tmp_path / "stock.yaml").write_text(text.replace("3..3 A", "6..6 A"), encoding="utf-8")
    assert states(plan(Shed(load_stock(tmp_path / "stock.yaml"), shed.recipes))) == ["ready", "ready"]


def test_a_measurement_that_cannot_serve_both_unlocks_one(tmp_path: Path) -> None:
    """80 % of 3 A are 2.4 A, which carry one magnet of 1.55 A and not two (Ohm's law)."""
    shed = magnets(tmp_path, "3")
    text = (tmp_path / "stock.yaml").read_text(encoding="utf-8")
    (tmp_path / "stock.yaml").write_text(
        text.replace("3..3 A, measured", "1..3 A, estimated"), encoding="utf-8"
    )
    step = plan(Shed(load_stock(tmp_path / "stock.yaml"), shed.recipes)).unlocks
    assert step is not None
    assert (step.what, len(step.ready)) == ("unit.rails[1].current", 1)


def test_one_board_is_not_used_twice_however_many_outputs_it_has(tmp_path: Path) -> None:
    shed = magnets(tmp_path, "6")
    text = (tmp_path / "stock.yaml").read_text(encoding="utf-8").replace("72..72 W", "240..240 W")
    (tmp_path / "stock.yaml").write_text(
        text.replace("controller board, count: 2", "controller board, count: 1"), encoding="utf-8"
    )
    one_board = Shed(load_stock(tmp_path / "stock.yaml"), shed.recipes)
    for name in ("left", "right"):
        assert states(plan(one_board, [name])) == ["ready"]
    answer = plan(one_board)
    assert states(answer) == ["ready", "buy first"]
    assert answer.optimal
    assert [(c.lot, c.about) for c in answer.clashes] == [("board", "pieces")]
    assert [line.kind for line in answer.shopping] == ["controller board"]
    assert answer.unlocks is not None
    assert answer.unlocks.step == "buy"
    assert len(answer.unlocks.ready) == 1


def test_what_builds_contend_for_is_said_in_plain_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    magnets(tmp_path, "3")
    recipes = tmp_path / "recipes"
    recipes.mkdir()
    for name in ("left", "right"):
        (tmp_path / f"{name}.yaml").rename(recipes / f"{name}.yaml")
    where = ["--stock", str(tmp_path / "stock.yaml"), "--recipes", str(recipes)]
    assert cli.run(["plan", "left", "right", *where]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "left and right cannot all draw on unit: together they take more than it gives for certain" in text
    assert "No plan is better: proved." in text


def test_a_plan_of_more_recipes_than_can_be_proved_says_so() -> None:
    shed = Shed.open(Path(__file__).parents[2] / "inventory_examples" / "small_box.yaml")
    shed.limit_seconds = 2.0
    answer = plan(shed)
    assert (answer.optimal, answer.outcome) == (False, "stopped")
    assert {b.recipe for b in answer.builds} | set(answer.left_out) == set(shed.recipes)
