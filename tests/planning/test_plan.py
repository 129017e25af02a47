"""Plans against all bundles of all builds, and the case of one rail for two projects.

The judge is exhaustive enumeration, which needs no source: it is the definition of the answer.
"""

from __future__ import annotations

import itertools
import random
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from exhaustive import Shelf, TooManyError, every_build, random_shelf

from fitter.advice.data import shop
from fitter.planning.answers import answer_of, plan
from fitter.planning.bundle import Cost, Planner
from fitter.planning.models import PlanAnswer
from fitter.projects import Project, bind
from fitter.recipes import load_recipes, read_recipe
from fitter.shed import Shed
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


def test_a_search_without_time_is_not_called_optimal(tmp_path: Path) -> None:
    shed = magnets(tmp_path, "3")
    shed.limit_nodes = 0
    answer = answer_of(shed, Planner(shed, {n: bind(r) for n, r in shed.recipes.items()}).search())
    assert (answer.optimal, answer.outcome) == (False, "stopped")
