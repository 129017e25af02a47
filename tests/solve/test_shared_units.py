"""One supply unit in several roles: all that it feeds together must stay within what it gives.

Each stock holds one unit and nothing else to power from, so that no set exists unless the unit
carries everything; the sums are worked out in the docstrings (definition of power).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fitter.projects import bind
from fitter.recipes import read_recipe
from fitter.solve.builds import judge
from fitter.solve.candidates import Pool
from fitter.solve.score import Waste
from fitter.solve.tables import Tables
from fitter.solve.variants import Found, Limit, ranked_builds
from fitter.stock.files import load_stock

PARTS = """
lots:
  - {id: coil, kind: electromagnet, count: 3, rated_voltage: "12 V, datasheet",
     resistance: "7.2..7.2 ohm, measured", force: "50 N, datasheet", stroke: "10 mm, measured", duty: 1}
  - {id: switch, kind: transistor switch, count: 3, max_voltage: "60 V, datasheet",
     continuous_current: "20 A, datasheet", gate_voltage: "3 V, datasheet"}
  - {id: board, kind: controller board, logic_voltage: "5 V, measured", step_outputs: 3, pwm_outputs: 8,
     inputs: 8, supply_voltage: "5..30 V, datasheet", supply_current: "0.05..0.05 A, measured"}
  - {id: regulator, kind: linear regulator, output_voltage: "1.25..37 V, datasheet",
     dropout: "2 V, datasheet", max_input_voltage: "40 V, datasheet", max_current: "3 A, datasheet",
     thermal_resistance_jc: "0.5 K/W, datasheet", max_junction: "200 degC, datasheet",
     ripple_rejection: "80 dB, datasheet"}
  - {id: sink, kind: heat sink, thermal_resistance: "0.3 K/W, datasheet"}
  - {id: unit, kind: switch-mode supply, regulated: yes, ripple: "1 mV, measured",
     total_power: "WATTS W, measured", rails: [RAILS]}
"""
RAIL = '{voltage: "12..12 V, measured", current: "4..4 A, measured", isolated: no}'

COILS = """
recipe: coils
functions:
"""
SWITCHED = """
  magnet{0}: {{function: switch, power: rail{0}, control: control}}
  rail{0}: {{function: supply, principles: [one unit]}}
"""
CONTROL = """
  control: {function: control, power: rail0}
"""
OUTPUT = """
  output: {function: adjustable_supply, voltage: 5 V, current: 1 A, ripple: 50 mV, ambient: 25 degC}
"""


def sets(folder: Path, recipe: str, watts: int, rails: int) -> list[Found]:
    """All sets of a recipe from one unit of some rails alike, each of 12 V and 4 A."""
    stock = PARTS.replace("WATTS", f"{watts}..{watts}").replace("RAILS", ", ".join([RAIL] * rails))
    (folder / "stock.yaml").write_text(stock, encoding="utf-8")
    (folder / "recipe.yaml").write_text(recipe, encoding="utf-8")
    pool = Pool(load_stock(folder / "stock.yaml").lots)
    limit = Limit()
    found = list(
        ranked_builds(bind(read_recipe(folder / "recipe.yaml")), Tables(pool, Waste(pool, {})), limit)
    )
    assert not limit.reached
    return found


@pytest.mark.parametrize(("watts", "passes"), [(60, True), (40, False)])
def test_two_rails_of_one_unit(tmp_path: Path, watts: int, passes: bool) -> None:
    """Two coils of 12 V x 12/7.2 A = 20 W each and 0.6 W, at 80 % loading: 50.75 W asked of the unit."""
    recipe = COILS + "".join(SWITCHED.format(i) for i in range(2)) + CONTROL
    found = sets(tmp_path, recipe, watts, rails=2)
    assert bool(found) == passes
    assert all(len({f.parts[f"rail{i}.supply"].offer.rail for i in range(2)}) == 2 for f in found[:1])


def test_one_rail_for_two_roles_carries_both(tmp_path: Path) -> None:
    """Twice 1.67 A and 0.05 at 80 %: 4.2 A asked of a rail of 4 A, plenty of power or not."""
    recipe = COILS + "".join(SWITCHED.format(i) for i in range(2)) + CONTROL
    assert not sets(tmp_path, recipe, 500, rails=1)


def test_three_rails_of_one_unit(tmp_path: Path) -> None:
    """Three coils ask 75.75 W of a unit of 60 W, any two of them only 50.75."""
    recipe = COILS + "".join(SWITCHED.format(i) for i in range(3)) + CONTROL
    assert not sets(tmp_path, recipe, 60, rails=3)
    assert sets(tmp_path, recipe, 80, rails=3)


@pytest.mark.xfail(reason="the front end of a linear supply is not counted as something that a unit feeds")
def test_the_front_end_of_a_linear_supply_shares_its_unit_too(tmp_path: Path) -> None:
    """12 V x (1 + 1.67 + 0.05) A at 80 % asks 40.75 W of a unit of 30 W; each alone is content with it."""
    recipe = COILS + SWITCHED.format(0) + CONTROL + OUTPUT
    assert not sets(tmp_path, recipe, 30, rails=2)
    assert sets(tmp_path, recipe, 50, rails=2)


STACKS = """
lots:
  - {id: coil, kind: electromagnet, rated_voltage: "24 V, datasheet", resistance: "28.8..28.8 ohm, measured",
     force: "50 N, datasheet", stroke: "10 mm, measured", duty: 1}
  - {id: switch, kind: transistor switch, max_voltage: "60 V, datasheet",
     continuous_current: "20 A, datasheet", gate_voltage: "3 V, datasheet"}
  - {id: board, kind: controller board, logic_voltage: "5 V, measured", step_outputs: 3, pwm_outputs: 8,
     inputs: 8, supply_voltage: "9..14 V, datasheet", supply_current: "0.05..0.05 A, measured"}
"""
ADAPTERS = """
  - {id: unit, kind: adapter, count: COUNT, regulated: yes, voltage: "12..12 V, measured",
     current: "4..4 A, measured", isolated: ISOLATED}
"""
UNIT = """
  - {id: unit, kind: switch-mode supply, count: COUNT, regulated: yes, total_power: "100..100 W, measured",
     rails: [{voltage: "12..12 V, measured", current: "4..4 A, measured", isolated: ISOLATED},
             {voltage: "12..12 V, measured", current: "4..4 A, measured", isolated: ISOLATED}]}
"""
TWO_RAILS = """
recipe: stacked
functions:
  magnet0: {function: switch, power: rail0, control: control}
  rail0: {function: supply, principles: [one unit]}
  rail1: {function: supply, principles: [one unit]}
  control: {function: control, power: rail1}
"""


def stacked(folder: Path, supply: str, count: int, isolated: str) -> list[Found]:
    """Sets for a coil of 24 V and a board of 12 V from supplies of 12 V."""
    text = STACKS + supply.replace("COUNT", str(count)).replace("ISOLATED", isolated)
    (folder / "stock.yaml").write_text(text, encoding="utf-8")
    (folder / "recipe.yaml").write_text(TWO_RAILS, encoding="utf-8")
    pool = Pool(load_stock(folder / "stock.yaml").lots)
    limit = Limit()
    tables = Tables(pool, Waste(pool, {}))
    found = list(ranked_builds(bind(read_recipe(folder / "recipe.yaml")), tables, limit))
    assert not limit.reached
    return found


@pytest.mark.parametrize(("supply", "enough"), [(ADAPTERS, 3), (UNIT, 2)])
def test_supplies_in_series_take_their_pieces(tmp_path: Path, supply: str, enough: int) -> None:
    """24 V is two adapters, or both rails of one unit; the board at 12 V takes one more of either."""
    for count in range(1, enough + 2):
        found = stacked(tmp_path, supply, count, "yes")
        assert bool(found) == (count >= enough), count
        for each in found:
            taken = sum(each.parts[f"rail{i}.supply"].offer.pieces for i in range(2))
            assert taken <= count
            assert each.parts["rail0.supply"].rating("voltage.low").likely == 24.0


def test_a_stack_whose_isolation_nobody_knows_is_unproven(tmp_path: Path) -> None:
    assert not stacked(tmp_path, ADAPTERS, 3, "no")
    pool = Pool(load_stock(tmp_path / "stock.yaml").lots)
    found = stacked(tmp_path, ADAPTERS, 3, "unknown")[0]
    build = judge(found, Tables(pool, Waste(pool, {})))
    (open_check,) = [c for c in build.unproven if c.check.name == "isolation of the outputs in series"]
    assert open_check.because == ("unit.isolated",)
    known = stacked(tmp_path, ADAPTERS, 3, "yes")[0]
    listed = {c.check.name for c in judge(known, Tables(pool, Waste(pool, {}))).tightest}
    assert "isolation of the outputs in series" not in listed
