"""Expected gaps closed, against every outcome counted out; order and hazards of pull lists."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest

from fitter.advice.data import cautions
from fitter.advice.machines import Machine, machine, machines
from fitter.errors import FitterError
from fitter.kinds import KINDS, kind_key
from fitter.reach.donors import Lack, donors, lacks, pull_list
from fitter.shed import Shed

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"


def shed(name: str = "small_box.yaml") -> Shed:
    return Shed.open(EXAMPLES / name)


def most_closed(gaps: list[int], pieces: int) -> int:
    """The most gaps that so many pieces close, by trying every choice."""
    return max(n for n in range(len(gaps) + 1) for c in itertools.combinations(gaps, n) if sum(c) <= pieces)


def expected(each: Machine, wanted: tuple[Lack, ...]) -> float:
    """Expected number of gaps closed, all numbers of pieces of each kind counted out."""
    total = 0.0
    for inside in each.parts:
        gaps = [g.count for g in wanted if kind_key(g.kind) == kind_key(inside.kind)]
        numbers = range(inside.fewest, inside.most + 1)
        total += inside.chance * sum(most_closed(gaps, n) for n in numbers) / len(numbers)
    return total


@pytest.mark.parametrize("stock", ["small_box.yaml", "repair_shed"])
def test_gaps_closed_are_those_of_all_outcomes_counted_out(stock: str) -> None:
    opened = shed(stock)
    wanted = lacks(opened).lacks
    answer = donors(opened)
    worth = {m.machine: m.gaps_closed for m in answer.machines}
    assert worth
    for each in machines():
        assert worth.get(each.name, 0.0) == pytest.approx(expected(each, wanted))
    order = [round(m.gaps_closed, 2) for m in answer.machines]
    assert order == sorted(order, reverse=True)


def test_gaps_are_what_the_best_set_buys() -> None:
    opened = shed()
    found = lacks(opened, ["drawer-rails"])
    assert found.states == {"drawer-rails": "buy first"}
    assert [(g.role, g.kind, g.count) for g in found.lacks] == [("rails.slides", "drawer slide", 2)]
    best = donors(opened, ["drawer-rails"]).machines[0]
    assert {g.kind for g in best.gaps} == {"drawer slide"}


def test_nothing_is_missing_where_all_is_ready() -> None:
    answer = donors(shed("repair_shed"), ["drawer-rails"])
    assert (answer.machines, answer.nowhere) == ([], [])


def test_a_gap_that_no_machine_closes_is_said() -> None:
    wanted = lacks(shed()).lacks
    answer = donors(shed())
    assert answer.nowhere
    closed = {f"{g.recipe} {g.role}: {g.kind}" for m in answer.machines for g in m.gaps}
    assert closed.isdisjoint(answer.nowhere)
    assert closed | set(answer.nowhere) == {f"{g.recipe} {g.role}: {g.kind}" for g in wanted}
    for gap in answer.nowhere:
        kind = kind_key(gap.rpartition(": ")[2])
        most = max((p.most for m in machines() for p in m.parts if kind_key(p.kind) == kind), default=0)
        assert most < sum(g.count for g in wanted if kind_key(g.kind) == kind)


def test_a_pull_list_is_in_order_of_use_with_every_hazard() -> None:
    opened = machine("office copier")
    answer = pull_list(shed(), "office copier")
    assert list(answer.hazards) == list(opened.cautions)
    assert all(answer.hazards[key] == cautions()[key] for key in answer.hazards)
    ranks = ["closes a gap", "used by projects", "no use here", "leave alone"]
    order = [ranks.index(p.use) for p in answer.pulls]
    assert order == sorted(order)
    assert sorted(p.kind for p in answer.pulls) == sorted(p.kind for p in opened.parts)
    for pull in answer.pulls:
        kind = KINDS[kind_key(pull.kind)]
        assert (pull.use == "leave alone") == bool(kind.refused)
        assert list(pull.hazards) == list(dict.fromkeys(kind.cautions))


def test_a_machine_goes_by_all_its_names() -> None:
    for each in machines():
        for name in (each.name, each.name.upper(), *each.also):
            assert machine(name).name == each.name
    with pytest.raises(FitterError, match="no machine 'flatbed scaner'; did you mean 'flatbed scanner'"):
        machine("flatbed scaner")


def test_chances_of_pieces_add_up() -> None:
    for each in machines():
        for part in each.parts:
            chances = [part.at_least(n) for n in range(1, part.most + 2)]
            mean = part.chance * (part.fewest + part.most) / 2
            assert math.isclose(sum(chances), mean)
            assert chances[-1] == 0.0
