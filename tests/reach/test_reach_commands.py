"""What the commands about reach print, whole commands at a time."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fitter import cli

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"


@pytest.fixture(autouse=True)
def stock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FITTER_STOCK", str(EXAMPLES / "small_box.yaml"))
    monkeypatch.setenv("COLUMNS", "200")


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert cli.run(words) == 0
    shown = capsys.readouterr()
    assert not shown.err
    return shown.out


def test_a_pull_list_says_what_is_commonly_outside_the_limits(capsys: pytest.CaptureFixture[str]) -> None:
    text = asked(capsys, "donors", "pen-plotter", "--at", "optical drive")
    assert "commonly outside the limits of pen-plotter x_guide.rods: diameter, length" in text
    document = json.loads(asked(capsys, "donors", "pen-plotter", "--at", "optical drive", "--json"))
    (rods,) = [p for p in document["pulls"] if p["kind"] == "rod"]
    assert not rods["gaps"]
    assert rods["outside"][0] == "pen-plotter x_guide.rods: diameter, length"


def test_donors_are_ranked_with_the_chance_of_each_gap(capsys: pytest.CaptureFixture[str]) -> None:
    text = asked(capsys, "donors", "drawer-rails")
    document = json.loads(asked(capsys, "donors", "drawer-rails", "--json"))
    for machine in document["machines"][:5]:
        (gap,) = machine["gaps"]
        assert 0 < gap["chance"] <= gap["fits"] <= 1
        assert f"{machine['machine']}  closes" in text
        assert f"2 x drawer-rails rails.slides {gap['chance']:.0%}" in text
