"""Stocks that are hard to swallow, kept as data: every question ends in an answer or a clear error."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from fitter import answers
from fitter.errors import FitterError, FitterErrors
from fitter.shed import Shed

STOCKS = yaml.safe_load(Path(__file__).with_name("hard_stocks.yaml").read_text(encoding="utf-8"))["stocks"]
CASES = [
    pytest.param(s, id=s["name"], marks=[pytest.mark.xfail(reason=s["gap"])] if "gap" in s else [])
    for s in STOCKS
]


def opened(file: Path) -> Shed | str:
    """The shed, or what is wrong with its file."""
    try:
        shed = Shed.open(file)
    except (FitterError, FitterErrors) as error:
        return str(error)
    shed.limit_seconds = 1.0
    return shed


@pytest.mark.parametrize("case", CASES)
def test_every_question_about_a_hard_stock_is_answered(case: dict[str, Any], tmp_path: Path) -> None:
    file = tmp_path / "stock.yaml"
    file.write_text(yaml.safe_dump({"lots": case["lots"]}), encoding="utf-8")
    shed = opened(file)
    if isinstance(shed, str):
        assert "stock.yaml" in shed
        return
    rows = answers.builds(shed).builds
    assert {row.recipe for row in rows} == set(shed.recipes)
    for recipe in ("camera-slider", "drawer-rails", "lab-supply"):
        matched = answers.match(shed, recipe, top=2)
        missing = answers.gaps_of(shed, recipe).missing
        assert {m.role for m in missing} <= set(answers.why(shed, recipe).sets[0].parts)
        assert matched.sets or matched.nearest
        for found in matched.sets:
            assert found.state != "ready" or not found.to_buy
