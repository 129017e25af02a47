"""Reasons and least changes that a maker would believe, on the example stocks, kept as data."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from fitter import answers
from fitter.models import ExplanationAnswer
from fitter.shed import Shed

HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "inventory_examples"
CASES = yaml.safe_load((HERE / "explanations.yaml").read_text(encoding="utf-8"))["cases"]


def explained(case: dict[str, Any]) -> list[ExplanationAnswer]:
    shed = Shed.open(EXAMPLES / case["stock"])
    return answers.match(shed, case["recipe"], case.get("settings", {}), top=1).explanations


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["name"])
def test_reasons_and_changes(case: dict[str, Any]) -> None:
    found = explained(case)
    first, from_stock = found[0], found[-1]
    assert from_stock.from_stock
    assert [r.name for r in first.clashes[0].requirements] == case["clash"]
    assert first.clashes[0].smallest
    said = " ".join(c.text for c in first.clashes)
    for words in case["says"]:
        assert words in said
    assert from_stock.hopeless == case.get("hopeless", False)
    changes = {r.changes[0].demand: r for r in from_stock.relaxations if len(r.changes) == 1}
    for demand, (low, high) in case["changes"].items():
        assert low <= changes[demand].changes[0].value <= high
        assert changes[demand].state == "measure first"
        assert None not in changes[demand].parts.values()


def test_nothing_is_explained_where_the_stock_will_do() -> None:
    shed = Shed.open(EXAMPLES / "repair_shed")
    assert answers.match(shed, "drawer-rails", top=1).explanations == []
    assert answers.why(shed, "camera-slider").explanations == []


def test_a_lot_left_out_by_hand_may_be_allowed_again() -> None:
    """Without sl1 only a shorter pair is left, which other demands rule out as well."""
    shed = Shed.open(EXAMPLES / "repair_shed", without=["sl1"])
    found = answers.match(shed, "drawer-rails", top=1).explanations
    assert [r.name for r in found[0].clashes[0].requirements] == ["extension", "sl1", "rails"]
    assert [r.name for r in found[0].relaxations[0].let_go] == ["sl1"]
