"""Scenarios that must hold, kept as data in ``tests/scenarios``: stock, recipe, expected answer."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
import yaml

from fitter import answers
from fitter.shed import Shed

HERE = Path(__file__).parent / "scenarios"
PARTS = HERE / "slider_parts.yaml"
SCENARIOS = yaml.safe_load((HERE / "must_hold.yaml").read_text(encoding="utf-8"))["scenarios"]


@pytest.fixture(scope="module")
def shed() -> Shed:
    return Shed.open(PARTS)


@pytest.mark.parametrize("case", SCENARIOS, ids=[s["name"] for s in SCENARIOS])
def test_scenario(shed: Shed, case: dict[str, Any]) -> None:
    answer = answers.why(shed, case["recipe"], case.get("set", {}), fixed=case["with"])
    assert answer.state == case["state"]
    checks = answer.sets[0].checks
    worst = {c.check: c for c in reversed(checks)}  # tightest first, so the worst of each name wins
    for name, verdict in case.get("checks", {}).items():
        assert worst[name].verdict == verdict
    for name, words in case.get("says", {}).items():
        assert words in worst[name].sentence
    for name, words in case.get("says_not", {}).items():
        assert words not in worst[name].sentence
    for name, (low, high) in case.get("short", {}).items():
        need, have = worst[name].need, worst[name].have
        assert low < need[0] - have[1] < high


def with_changes(tmp_path: Path, changes: dict[str, Any], extra: Sequence[dict[str, Any]] = ()) -> Shed:
    """The slider's parts with some lots changed and some added."""
    stock = copy.deepcopy(yaml.load(PARTS.read_text(encoding="utf-8"), Loader=yaml.BaseLoader))
    for lot in stock["lots"]:
        lot.update(changes.get(lot["id"], {}))
    stock["lots"] += list(extra)
    (tmp_path / "stock.yaml").write_text(yaml.safe_dump(stock), encoding="utf-8")
    return Shed.open(tmp_path / "stock.yaml")


@pytest.mark.parametrize("condition", ["untested", "worn"])
def test_untested_and_worn_parts_never_give_a_plain_fit(tmp_path: Path, condition: str) -> None:
    changed = with_changes(tmp_path, {"mgood": {"condition": condition}, "m30": {"condition": "faulty"}})
    answer = answers.match(changed, "camera-slider", top=3)
    for found in answer.sets:
        if "mgood" in {p.lot for p in found.parts.values()}:
            assert found.state != "ready"
            assert any(c.check == "condition" and c.verdict == "unproven" for c in found.checks)
    assert "m30" not in {p.lot for s in answer.sets for p in s.parts.values()}
    assert answer.refused["m30"] == "stepper motor: faulty"


def test_a_laser_unit_is_never_placed_and_says_why(shed: Shed) -> None:
    found = answers.builds(shed)
    assert all("las" not in row.parts.values() for row in found.builds)
    assert "invisible laser light" in found.refused["las"]


def test_one_piece_is_not_used_twice(tmp_path: Path) -> None:
    one = with_changes(tmp_path, {"pul": {"count": "1"}})
    best = answers.match(one, "camera-slider", fixed={"belt": "belt"}).sets[0]
    assert [p.lot for r, p in best.parts.items() if r in ("slide.pulley", "slide.idler")].count("pul") == 1


RAILS = [
    {"voltage": "24 V, measured", "current": "2 A, measured"},
    {"voltage": "5 V, measured", "current": "2 A, measured"},
]


@pytest.mark.parametrize(("watts", "verdict"), [("80 W, measured", "fits"), ("10 W, measured", "fails")])
def test_two_rails_of_one_unit_serve_two_roles_and_share_its_power(
    tmp_path: Path, watts: str, verdict: str
) -> None:
    """Each rail alone is strong enough; the unit's total power decides."""
    unit = {
        "id": "both",
        "kind": "switch-mode supply",
        "regulated": "yes",
        "total_power": watts,
        "rails": RAILS,
    }
    board = {"supply_voltage": "4.5..5.5 V, datasheet", "supply_current": "0.6 A, measured"}
    changed = with_changes(tmp_path, {"mcu": board}, [unit])
    fixed = {
        "power.supply": "both",
        "logic.supply": "both",
        "x.motor": "mgood",
        "x.driver": "drv",
        "control.board": "mcu",
    }
    answer = answers.why(changed, "pen-plotter", fixed=fixed)
    shared = next(c for c in answer.sets[0].checks if c.check == "shared supply")
    assert {answer.sets[0].parts[r].offer for r in ("power.supply", "logic.supply")} == {
        "24 V rail",
        "5 V rail",
    }
    assert shared.verdict == verdict
    assert shared.need[0] > 8  # watts: motors and board together, definition of the power balance
