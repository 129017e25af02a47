"""Adapters: a set completed by one at the worst corner of its limits goes, just outside it does not.

Judges: the checks of a drive, run anew with a reduction put at the corners of what was said of it; torque and
speed behind a reduction worked by hand; and the stock as written, for what it holds already.
"""

from __future__ import annotations

import itertools
import math
import random
import time
from dataclasses import replace
from pathlib import Path

import pytest
from weak_drive import EXAMPLES, HEAVY, WEAK, stocked

from fitter.advice.reductions import exactly, reductions
from fitter.checks.base import Verdict
from fitter.explain.alternatives import Way, alternatives
from fitter.explain.gearing import geared_sets, with_reductions
from fitter.kinds.mechanics import REDUCTION
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.solve.adapters import CONVERTER, SLEEVE, STUB, adapters, reduction, whole
from fitter.solve.builds import Build, Checked, judge, judge_check
from fitter.solve.candidates import Candidate
from fitter.solve.reductions import Geared
from fitter.solve.tables import Filters, Tables
from fitter.solve.variants import ranked_builds
from fitter.stock.files import Stock
from fitter.stock.lots import Lot

JUST = 1e-3  # outside a limit, as a share of it

WHEELS = """
  - {id: g20, kind: gear, module: "1 mm, measured", teeth: "20", bore: "5 mm, measured",
     width: "8 mm, measured", material: metal, bin: drawer 4}
  - {id: g60, kind: gear, module: "1 mm, measured", teeth: "60", bore: "5 mm, measured",
     width: "8 mm, measured", material: metal, bin: drawer 4}
"""
LOOP = """
  - {id: p24, kind: pulley, belt_pitch: "2 mm, measured", teeth: "24", bore: "5 mm, measured",
     width: "7 mm, measured"}
  - {id: p60, kind: pulley, belt_pitch: "2 mm, measured", teeth: "60", bore: "5 mm, measured",
     width: "7 mm, measured"}
  - {id: loop, kind: timing belt, belt_pitch: "2 mm, measured", width: "6 mm, measured",
     length: "LENGTH, measured", closed: "yes", working_force: "60 N, datasheet"}
"""


def all_geared(
    shed: Shed, recipe: str, settings: dict[str, str], filters: Filters | None = None
) -> list[Geared]:
    project = bind(shed.recipe(recipe), settings)
    end = time.process_time() + 20
    return list(geared_sets(shed, project, with_reductions(shed), Filters(), end))


def parts_of(full: Shed, seed: int) -> Shed:
    """A random part of an example stock."""
    lots = [lot for lot in full.stock.lots if random.Random(f"{seed} {lot.id}").random() < 0.6]
    return Shed(Stock(lots), full.recipes)


@pytest.fixture(scope="module")
def geared() -> list[Geared]:
    """Sets with a reduction that do not go without it, from example stocks and random parts of one."""
    hard = {"payload": "8 kg", "incline": "60 deg"}
    full = Shed.open(EXAMPLES / "repair_shed")
    found = all_geared(full, "camera-slider", hard)
    for seed, settings in itertools.product(range(3), ({}, hard)):
        found += all_geared(parts_of(full, seed), "camera-slider", settings)
    return found


def with_ratings(found: Geared, **ratings: float) -> list[Checked]:
    """The checks of the reduction, judged anew with one of such figures."""
    now = found.build.parts[found.role]
    known = {n: now.rating(n) for n in ("ratio", "torque", "bore", "shaft_diameter")}
    lot = Lot("other", REDUCTION, ratings=known | {n: exactly(v) for n, v in ratings.items()})
    parts = {**found.build.parts, found.role: Candidate(lot, lot.offers()[0])}
    return [judge_check(c.check, parts) for c in found.build.checks if found.role in c.check.roles]


def no_worse(found: Geared, after: list[Checked]) -> bool:
    before = [c for c in found.build.checks if found.role in c.check.roles]
    return all(a.verdict in (Verdict.FITS, b.verdict) for a, b in zip(after, before, strict=True))


@pytest.mark.slow
def test_enough_sets_are_tried(geared: list[Geared]) -> None:
    assert len(geared) >= 5


def test_at_the_corners_of_its_limits_a_reduction_does(geared: list[Geared]) -> None:
    for found in geared:
        assert not found.build.failing
        adapter = reduction(found)
        assert adapter is not None
        spec = {n: at for n, (at, _) in adapter.spec.items()}
        for ratio, bore, shaft in itertools.product(("low", "high"), repeat=3):
            figures = {
                "ratio": getattr(spec["ratio"], ratio),
                "torque": spec["torque at the slow side"].low,
                "bore": getattr(spec["bore"], bore),
                "shaft_diameter": getattr(spec["shaft"], shaft),
            }
            after = with_ratings(found, **figures)
            assert no_worse(found, after), figures
            assert not any(c.verdict is Verdict.FAILS for c in after)


def test_just_outside_its_limits_a_reduction_does_not(geared: list[Geared]) -> None:
    tried = 0
    for found in geared:
        for end, factor in ((found.ratio.low, 1 - JUST), (found.ratio.high, 1 + JUST)):
            if 0.01 < end < 100:
                assert not no_worse(found, with_ratings(found, ratio=end * factor))
                tried += 1
        assert not no_worse(found, with_ratings(found, torque=found.torque.low * (1 - JUST)))
    assert tried >= len(geared)


def test_between_the_ends_every_ratio_does(geared: list[Geared]) -> None:
    for found in geared:
        low, high = found.ratio.low, found.ratio.high
        for step in range(1, 10):
            assert no_worse(found, with_ratings(found, ratio=low * (high / low) ** (step / 10)))


def test_without_it_the_same_parts_fail(geared: list[Geared]) -> None:
    for found in geared:
        assert found.closes
        assert any(name != "shaft and bore" for name in found.closes)


def test_ratios_are_made_of_wheels_that_shops_carry() -> None:
    for lot in reductions():
        slow, fast = (int(teeth) for teeth in lot.id.split("-")[-2:])
        assert lot.ratings["ratio"].likely == pytest.approx(slow / fast)


def test_torque_behind_a_reduction_by_hand(tmp_path: Path) -> None:
    """``(F r / eta_belt) / (i eta) + J a i / r`` and ``w = v i / r`` (power balance), eta 0.85 to 0.95.

    F = 9.4 kg x 0.9 m/s2 and rolling friction of 0.01; r = 20 teeth x 2 mm / 2 pi.
    """
    shed = stocked(tmp_path, WEAK)
    (found,) = all_geared(shed, "camera-slider", HEAVY)
    ratio = found.build.parts[found.role].rating("ratio").likely
    (torque,) = (c for c in found.build.checks if c.check.name == "torque at speed")
    radius = 20 * 0.002 / (2 * math.pi)
    force = 9.4 * (0.9 + 0.01 * 9.80665)
    for end, eta in ((torque.judgement.need.lo, 0.95), (torque.judgement.need.hi, 0.85)):
        by_hand = 2 * (force * radius / eta / (ratio * eta) + 20e-7 * 0.9 * ratio / radius)
        assert float(end) == pytest.approx(by_hand, rel=0.03)
    rpm = 0.04 / radius * ratio * 60 / (2 * math.pi)
    assert f"{rpm:.0f} rpm" in torque.sentence


@pytest.mark.parametrize(
    ("more", "made_of"),
    [
        (WHEELS, ["g20", "g60"]),
        (LOOP.replace("LENGTH", "300 mm"), ["p60", "loop"]),
        (LOOP.replace("LENGTH", "120 mm"), []),  # shorter than the way round both pulleys side by side
        (WHEELS.replace('id: g60, kind: gear, module: "1 mm', 'id: g60, kind: gear, module: "0.8 mm'), []),
        (WHEELS.replace('teeth: "60"', 'teeth: "21"'), []),
    ],
)
def test_wheels_in_stock_need_not_be_bought(more: str, made_of: list[str], tmp_path: Path) -> None:
    shed = stocked(tmp_path, WEAK + more)
    (found,) = all_geared(shed, "camera-slider", HEAVY)
    adapter = reduction(found)
    assert adapter is not None
    assert set(made_of) <= {lot.id for lot in adapter.from_stock}
    assert bool(adapter.from_stock) == bool(made_of)
    assert (adapter.price == 0) == bool(made_of)
    assert found.build.to_buy == (0 if made_of else 1)


def ways_of(shed: Shed, recipe: str, settings: dict[str, str]) -> list[Way]:
    project = bind(shed.recipe(recipe), settings)
    sets = shed.sets(project, 1)
    best = (sets if sets.builds else shed.nearest(project)).best
    assert best is not None
    return alternatives(shed, project, best)


def test_what_is_in_stock_is_no_purchase(tmp_path: Path) -> None:
    ways = ways_of(stocked(tmp_path, WEAK + WHEELS), "camera-slider", HEAVY)
    (way,) = (w for w in ways if any(a.kind == REDUCTION for a in w.adapters))
    assert way.items == 0
    assert way.price == 0


def forced(shed: Shed, *names: str) -> Build:
    """The slider's best set with the drive forced and some checks left out."""
    fixed = {"slide.motor": "mot", "slide.pulley": "pul", "control.board": "ctl", "power.supply": "psu"}
    tables = Tables(shed.pool, shed.waste, Filters(fixed, unchecked=names))
    project = bind(shed.recipe("camera-slider"), {"payload": "1 kg"})
    return whole(judge(next(ranked_builds(project, tables)), tables))


COUPLER = """
  - {id: cp, kind: coupler, bore_a: "5 mm, measured", bore_b: "8 mm, measured", torque: "2 N m, datasheet",
     bin: tin 2}
"""


def test_a_shaft_too_thick_for_its_bore_takes_a_coupler_and_a_stub(tmp_path: Path) -> None:
    """A coupler stands the holding torque of its stepper, as its own check has it."""
    text = WEAK.replace('shaft_diameter: "5 mm', 'shaft_diameter: "8 mm')
    build = forced(stocked(tmp_path, text), "shaft and bore")
    (stub,) = adapters(build) or []
    assert stub.kind == STUB
    spec = {n: at for n, (at, _) in stub.spec.items()}
    assert spec["bore a"].low < 0.008 < spec["bore a"].high
    assert spec["bore b"].low < 0.005 < spec["bore b"].high
    assert spec["torque"].low == pytest.approx(build.parts["slide.motor"].rating("holding_torque").hi)


@pytest.mark.parametrize("torque", ["2 N m", "0.1 N m"])
def test_a_coupler_in_stock_is_taken_where_it_is_strong_enough(torque: str, tmp_path: Path) -> None:
    text = WEAK.replace('shaft_diameter: "5 mm', 'shaft_diameter: "8 mm') + COUPLER.replace("2 N m", torque)
    shed = stocked(tmp_path, text)
    (stub,) = adapters(forced(shed, "shaft and bore"), shed.pool) or []
    assert [lot.id for lot in stub.from_stock] == (["cp"] if torque == "2 N m" else [])


BUCK = """
  - {id: bk, kind: buck converter, input_voltage: "6..36 V, datasheet", output_voltage: "2..30 V, datasheet",
     current: "CURRENT, datasheet"}
"""


@pytest.mark.parametrize(("current", "taken"), [("2 A", True), ("0.1 A", False)])
def test_a_converter_in_stock_is_taken_where_it_does(current: str, taken: bool, tmp_path: Path) -> None:
    text = WEAK.replace('"7..30 V', '"7..12 V') + BUCK.replace("CURRENT", current)
    shed = stocked(tmp_path, text)
    found = adapters(forced(shed, "highest supply voltage"), shed.pool) or []
    assert [a.kind for a in found] == [CONVERTER]
    assert bool(found[0].from_stock) == taken


@pytest.mark.slow
@pytest.mark.parametrize("recipe", ["camera-slider", "drawer-rails", "lab-supply", "pen-plotter"])
@pytest.mark.parametrize("stock", ["repair_shed", "small_box.yaml"])
def test_every_way_of_the_examples_passes_with_its_adapters(recipe: str, stock: str) -> None:
    """What fails in a set with adapters is closed by one of them; a reduction at any corner fails nothing."""
    shed = Shed.open(EXAMPLES / stock)
    for way in ways_of(shed, recipe, {}):
        closed = {name for a in way.adapters for name in a.closes if a.kind != REDUCTION}
        assert {c.check.name for c in way.build.failing} <= closed
        for adapter in (a for a in way.adapters if a.kind == REDUCTION):
            for end in ("low", "high"):
                ratio = getattr(adapter.spec["ratio"][0], end)
                assert not failing_at(way.build, ratio, adapter.spec["torque at the slow side"][0].low)


def failing_at(build: Build, ratio: float, torque: float) -> list[str]:
    role = next(r for r in build.parts if r.endswith(".reduction"))
    part = build.parts[role]
    known = {n: part.rating(n) for n in ("bore", "shaft_diameter")}
    lot = Lot("other", REDUCTION, ratings=known | {"ratio": exactly(ratio), "torque": exactly(torque)})
    parts = {**build.parts, role: replace(part, lot=lot, offer=lot.offers()[0])}
    judged = (judge_check(c.check, parts) for c in build.checks)
    return [c.check.name for c in judged if c.verdict is Verdict.FAILS]


def test_a_sleeve_stays_the_least_for_a_wide_bore(tmp_path: Path) -> None:
    text = WEAK.replace('bore: "5 mm', 'bore: "8 mm')
    found = adapters(forced(stocked(tmp_path, text), "shaft and bore")) or []
    assert [a.kind for a in found] == [SLEEVE]
