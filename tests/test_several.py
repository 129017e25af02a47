"""Several recipes at once: the same answers as one by one, but for what a shared budget cuts short."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fitter import answers, cli, several
from fitter.reach.donors import donors
from fitter.shed import Shed

STOCK = Path(__file__).parents[1] / "inventory_examples" / "small_box.yaml"
FOUR = ("camera-slider", "drawer-rails", "lab-supply", "motor-drawer")
CUT = {"alternatives", "steps", "cut_short"}  # what the budget may cut short


@pytest.fixture(scope="module")
def shed() -> Shed:
    return Shed.open(STOCK)


@pytest.mark.parametrize("processes", [1, 2])
def test_of_several_no_more_is_cut_than_what_is_said_to_be(
    shed: Shed, processes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(several, "SECONDS", 0.1)
    found = several.gaps_of_several(shed, [shed.recipe(n) for n in FOUR], processes=processes)
    assert [a.recipe for a in found] == list(FOUR)
    for answer in found:
        alone = answers.gaps_of(shed, answer.recipe, seconds=0.0)
        assert answer.model_dump(exclude=CUT) == alone.model_dump(exclude=CUT)
    assert any(a.cut_short for a in found)


def test_one_alone_has_all_its_time(shed: Shed) -> None:
    (found,) = several.gaps_of_several(shed, [shed.recipe("drawer-rails")])
    assert not found.cut_short
    assert found.steps is not None
    assert found.steps.outcome == "complete"


def test_it_is_said_where_the_time_ran_out(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(several, "SECONDS", 0.0)
    assert cli.run(["gaps", "drawer-rails", "motor-drawer", "--stock", str(STOCK)]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "alone it has more: fitter gaps motor-drawer" in text
    assert cli.run(["gaps", "drawer-rails", "motor-drawer", "--stock", str(STOCK), "--json"]) == 0
    assert all(a["cut_short"] for a in json.loads(capsys.readouterr().out)["gaps"])


def test_donors_are_the_same_however_many_processes_look(shed: Shed) -> None:
    assert donors(shed, FOUR, processes=2) == donors(shed, FOUR)


def test_builds_of_some_recipes_are_those_rows_of_all(shed: Shed) -> None:
    rows = {b.recipe: b for b in answers.builds(shed, names=FOUR).builds}
    assert set(rows) == set(FOUR)
    again = answers.builds(shed, names=("lab-supply", "drawer-rails"), processes=2).builds
    assert again == [rows[b.recipe] for b in again]
    assert len(again) == 2
