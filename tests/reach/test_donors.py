"""Expected gaps closed, against every outcome counted out; order and hazards of pull lists."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import pytest

from fitter.advice.data import cautions
from fitter.advice.machines import UNLIKELY, Inside, Machine, machine, machines
from fitter.answers import gaps_of
from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.kinds import KINDS, kind_key
from fitter.reach.donors import Lack, closed_by, donors, lacks, pull_list
from fitter.shed import Shed

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"


def shed(name: str = "small_box.yaml") -> Shed:
    return Shed.open(EXAMPLES / name)


def most_closed(gaps: list[int], pieces: int) -> int:
    """The most gaps that so many pieces close, by trying every choice."""
    return max(n for n in range(len(gaps) + 1) for c in itertools.combinations(gaps, n) if sum(c) <= pieces)


def expected(each: Machine, wanted: tuple[Lack, ...]) -> float:
    """Expected number of gaps closed if all parts kept to the limits, all numbers of pieces counted out."""
    total = 0.0
    for inside in each.parts:
        gaps = [g.count for g in wanted if kind_key(g.kind) == kind_key(inside.kind)]
        numbers = range(inside.fewest, inside.most + 1)
        total += inside.chance * sum(most_closed(gaps, n) for n in numbers) / len(numbers)
    return total


def unlimited(opened: Shed) -> tuple[Lack, ...]:
    """What is missing, whatever its size."""
    return tuple(replace(g, limits={}) for g in lacks(opened).lacks)


@pytest.mark.parametrize("stock", ["small_box.yaml", "repair_shed"])
def test_without_limits_gaps_closed_are_those_of_all_outcomes_counted_out(stock: str) -> None:
    wanted = unlimited(shed(stock))
    for each in machines():
        worth = sum(chance for inside in each.parts for chance in closed_by(inside, wanted).values())
        assert worth == pytest.approx(expected(each, wanted))


@pytest.mark.parametrize("stock", ["small_box.yaml", "repair_shed"])
def test_no_machine_closes_more_within_limits_than_without(stock: str) -> None:
    opened = shed(stock)
    wanted = unlimited(opened)
    answer = donors(opened)
    assert answer.machines
    for each in answer.machines:
        assert 0 < each.gaps_closed <= expected(machine(each.machine), wanted) + 1e-9
    order = [round(m.gaps_closed, 2) for m in answer.machines]
    assert order == sorted(order, reverse=True)


def rod_of(name: str) -> Inside:
    return next(p for p in machine(name).parts if p.kind == "rod")


def test_what_a_machine_commonly_holds_is_held_against_the_limits() -> None:
    """Rods of 8 mm and 400 mm or more: an optical drive's are 3 mm, an inkjet's 6 to 9 mm and 350 to 450 mm.

    The ranges are those of the data file (common practice, no source); of four sizes one is 8 mm, and half
    of 350..450 mm is 400 mm or more.
    """
    limits = {"diameter": Interval(0.0079, 0.0081), "length": Interval(0.4, math.inf)}
    assert rod_of("optical drive").fits(limits) == 0
    assert rod_of("optical drive").outside(limits) == ["diameter", "length"]
    assert rod_of("inkjet printer").fits(limits) == pytest.approx(0.25 * 0.5)
    assert rod_of("inkjet printer").fits({"length": Interval(0.3, 0.5)}) == 1
    assert rod_of("inkjet printer").fits({"straightness": Interval(0, 1)}) == 1


@pytest.mark.parametrize(
    ("low", "high", "share"),
    [(0.0, 1.0, 0.0), (0.0, 3.0, 0.5), (2.5, 3.0, 0.25), (0.0, 9.0, 1.0), (4.0, 9.0, 0.0), (5.0, 9.0, 0.0)],
)
def test_the_share_of_a_range_between_limits(low: float, high: float, share: float) -> None:
    held = Inside("rod", 1.0, 1, 1, "", {"length": (Interval(2.0, 4.0),)})
    assert held.fits({"length": Interval(low, high)}) == pytest.approx(share)


def test_both_limits_of_a_voltage_speak_of_one_rail() -> None:
    """19 V lie between 18 and 20 V; of 5, 12 and 24 V none does, though some keep to either limit."""
    limits = {"voltage.low": Interval(18.0, math.inf), "voltage.high": Interval(-math.inf, 20.0)}
    held = {
        each.name: p for each in machines() for p in each.parts if p.kind in ("adapter", "switch-mode supply")
    }
    assert held["laptop"].fits(limits) == 1
    assert held["monitor"].fits(limits) == 0


def test_a_gap_that_nothing_in_a_machine_fits_takes_no_pieces() -> None:
    held = Inside("rod", 1.0, 2, 2, "", {"length": (Interval(0.3, 0.4),)})
    short = Lack("a", "x.rods", "rod", 2, {"length": Interval(0.3, math.inf)})
    long = Lack("b", "x.rods", "rod", 1, {"length": Interval(0.5, math.inf)})
    assert closed_by(held, [short, long]) == {short: 1.0}


def test_gaps_and_donors_name_the_same_machines() -> None:
    opened = shed()
    (slides,) = gaps_of(opened, "drawer-rails").missing
    ranked = donors(opened, ["drawer-rails"]).machines
    assert {d.machine: d.chance for d in slides.donors} == {
        m.machine: pytest.approx(g.chance) for m in ranked for g in m.gaps
    }


def test_typical_ranges_are_of_the_size_plausible_for_the_kind() -> None:
    """Within ten times of it, which tells a slip of units."""
    for each in machines():
        for part in each.parts:
            for name, ranges in part.typical.items():
                spec = KINDS[kind_key(part.kind)].spec(name)
                assert spec is not None
                plausible = spec.high_range if name.endswith(".max") else spec.range
                for at in ranges:
                    assert at.lo <= at.hi
                    assert at.hi >= plausible.lo / 10, (each.name, part.kind, name)
                    assert at.lo <= plausible.hi * 10, (each.name, part.kind, name)


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
    by_name = {f"{g.recipe} {g.role}: {g.kind}": g for g in wanted}
    for gap in answer.nowhere:
        kind = kind_key(by_name[gap].kind)
        held = [p for m in machines() for p in m.parts if kind_key(p.kind) == kind]
        total = sum(g.count for g in wanted if kind_key(g.kind) == kind)
        for each in held:
            chance = each.at_least(by_name[gap].count) * each.fits(by_name[gap].limits)
            assert chance < UNLIKELY or each.most < total


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
