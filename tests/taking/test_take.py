"""Parts taken for a build, put back, used up: what every other command then answers.

The judge is the stock itself: after put-back the answers are those from before, byte for byte; after used-up
those of a stock from which the pieces were taken by hand.
"""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from magnet_stock import Run, magnets

from fitter.stock.files import load_stock


def taken(fitter: Run, *words: Any) -> dict[str, Any]:
    status, out, err = fitter("stock", "take", *words, "--json")
    assert status == 0, err
    return dict(json.loads(out)["build"])


def answers(fitter: Run, stock: Path, *words: Any) -> list[str]:
    """What some commands print, whole."""
    return [
        fitter(*command.split(), "--stock", stock, "--json", *words)[1]
        for command in ("match camera-slider", "gaps drawer-rails")
    ]


def test_put_back_restores_the_answers_byte_for_byte(fitter: Run, shed: Path) -> None:
    before = answers(fitter, shed)
    made = taken(fitter, "camera-slider", "--stock", shed)
    held = {p["lot"] for p in made["parts"]}
    during = answers(fitter, shed)
    assert during != before
    assert json.loads(during[0])["set_aside"] == ["camera-slider"]
    assert "m9" in held
    assert all("m9" not in {p["lot"] for p in s["parts"].values()} for s in json.loads(during[0])["sets"])
    assert answers(fitter, shed, "--with-set-aside") == before
    assert fitter("stock", "put-back", "camera-slider", "--stock", shed)[0] == 0
    assert answers(fitter, shed) == before


def test_used_up_is_as_if_the_pieces_had_been_taken_out_by_hand(fitter: Run, shed: Path) -> None:
    by_hand = shutil.copytree(shed, shed.with_name("by-hand"))
    made = taken(fitter, "camera-slider", "--stock", shed, "--as", "slider")
    status, out, _ = fitter("stock", "used-up", "slider", "--stock", shed, "--json")
    assert status == 0
    used: dict[str, int] = {}
    for part in made["parts"]:
        used[part["lot"]] = used.get(part["lot"], 0) + part["count"]
    for file in by_hand.glob("*.yaml"):
        text = file.read_text(encoding="utf-8")
        for lot in re.findall(r"- id: (\S+)", text):
            text = without(text, lot, used.get(lot, 0))
        file.write_text(text, encoding="utf-8")
    assert answers(fitter, shed) == answers(fitter, by_hand)
    gone = set(json.loads(out)["removed"])
    assert gone == used.keys() - {lot.id for lot in load_stock(by_hand).lots}
    history = (shed / "set_aside.yaml").read_text(encoding="utf-8")
    assert "resistance: 30 ohm, measured" in history  # of m9, which is no more


def without(text: str, lot: str, pieces: int) -> str:
    """A file of the shed with fewer pieces of a lot, by plain search in its lines."""
    match = re.search(rf"  - id: {lot}\n(    .*\n)+", text)
    assert match is not None
    count = re.search(r"count: (\d+)", match[0])
    left = (int(count[1]) if count else 1) - pieces
    if left > 0:
        new = re.sub(r"count: \d+", f"count: {left}", match[0])
        return text.replace(match[0], new)
    return text.replace(match[0], "")


def test_two_builds_share_a_rail_as_far_as_it_goes(fitter: Run, only_magnets: Path) -> None:
    """80 % of 4 A are 3.2 A: enough for two magnets of 1.55 A, not for three (Ohm's law)."""
    stock = magnets(only_magnets, amps=(4,))
    words = ("magnet", "--stock", stock)
    states = [taken(fitter, *words)["state"] for _ in range(3)]
    assert states == ["ready", "ready", "buy first"]
    kept = json.loads(fitter("stock", "set-aside", "--stock", stock, "--json")[1])["builds"]
    assert [b["name"] for b in kept] == ["magnet", "magnet-2", "magnet-3"]
    amps = [p["current"] for b in kept for p in b["parts"] if p["lot"] == "unit"]
    assert amps == pytest.approx([1.55 / 0.8] * 2, rel=0.005)  # loaded to 80 %
    assert all(a >= 1.55 / 0.8 for a in amps)


def test_watts_of_the_unit_are_kept_as_well(fitter: Run, only_magnets: Path) -> None:
    """Two rails of 4 A, but 72 W in all: 24 V x 3.1 A = 74 W do not go together."""
    stock = magnets(only_magnets, amps=(4, 4), watts=72)
    words = ("magnet", "--stock", stock)
    assert [taken(fitter, *words)["state"] for _ in range(2)] == ["ready", "buy first"]


def test_a_unit_that_two_builds_share_leaves_with_the_first(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets, amps=(4,))
    words = ("magnet", "--stock", stock)
    taken(fitter, *words, "--as", "a")
    taken(fitter, *words, "--as", "b")
    answer = json.loads(fitter("stock", "used-up", "a", "--stock", stock, "--json")[1])
    assert answer["removed"] == ["unit"]
    assert answer["notes"] == ["unit feeds b as well: it leaves the stock with a"]
    status, out, err = fitter("stock", "set-aside", "--stock", stock)
    assert (status, err) == (0, "")
    assert "gone with a" in out
    assert "look at this" not in out
    assert fitter("stock", "put-back", "b", "--stock", stock)[0] == 0
    counts = {lot.id: lot.count for lot in load_stock(stock).lots}
    assert counts == {"coil": 2, "switch": 2, "board": 2}


def test_only_some_roles_are_used_up(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets, coils=1)
    taken(fitter, "magnet", "--stock", stock)
    answer = json.loads(fitter("stock", "used-up", "magnet", "magnet.coil", "--stock", stock, "--json")[1])
    assert answer["removed"] == ["coil"]
    assert {p["role"] for p in answer["still_held"]} >= {"rail.supply", "control.board"}
    status, _, err = fitter("stock", "used-up", "magnet", "magnet.coil", "--stock", stock)
    assert status == 2
    assert "holds nothing for 'magnet.coil'" in err
    assert fitter("stock", "put-back", "magnet", "--stock", stock)[0] == 0
    assert {lot.id for lot in load_stock(stock).lots} == {"switch", "board", "unit"}


def test_a_part_that_broke_is_faulty_or_gone(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets)
    taken(fitter, "magnet", "--stock", stock)
    words = ("stock", "put-back", "magnet", "--faulty", "unit", "--faulty", "coil", "--stock", stock)
    assert fitter(*words)[0] == 0
    lots = {lot.id: lot for lot in load_stock(stock).lots}
    assert lots["unit"].condition == "faulty"
    assert (lots["coil"].count, lots["coil"].condition) == (2, "working")
    assert lots["board"].count == 3
    assert json.loads(fitter("stock", "set-aside", "--stock", stock, "--json")[1])["builds"] == []


def test_what_is_still_to_be_bought_is_kept_and_said(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets, amps=(1,))
    status, out, _ = fitter("stock", "take", "magnet", "--stock", stock)
    assert status == 0
    assert "to buy: rail.supply" in out
    kept = json.loads(fitter("stock", "set-aside", "--stock", stock, "--json")[1])["builds"][0]
    assert [each["role"] for each in kept["to_buy"]] == ["rail.supply"]
    assert kept["state"] == "buy first"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--set-number", "99"], "there is no set 99 for magnet"),
        (["--as", "magnet"], "there is a build 'magnet' already"),
        (["--as", ""], "a name of one line"),
        (["--with-set-aside"], "cannot be taken again"),
        (["--with", "supply=unit2"], "no lot 'unit2' in stock"),
    ],
)
def test_what_cannot_be_taken(fitter: Run, only_magnets: Path, words: list[str], said: str) -> None:
    stock = magnets(only_magnets)
    recipe = ("magnet", "--stock", stock)
    taken(fitter, *recipe)
    before = (stock / "set_aside.yaml").read_bytes()
    status, out, err = fitter("stock", "take", *recipe, *words)
    assert (status, out) == (2, "")
    assert said in err
    assert (stock / "set_aside.yaml").read_bytes() == before


def test_a_lot_set_aside_cannot_be_asked_for_by_hand(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets, coils=1)
    recipe = ("magnet", "--stock", stock)
    taken(fitter, *recipe)
    status, _, err = fitter("match", *recipe, "--with", "coil=coil")
    assert status == 2
    assert "coil is set aside for magnet; `fitter stock put-back magnet`" in err
    answer = json.loads(fitter("uses", "coil", "--stock", stock, "--json")[1])
    assert answer["refused"] == "set aside for magnet"


QUESTIONS = [
    "builds",
    "plan",
    "measure",
    "measure coil",
    "gaps magnet",
    "match magnet",
    "match magnet --compare",
    "why magnet",
    "uses coil",
    "donors",
]


@pytest.mark.parametrize("command", QUESTIONS)
def test_every_question_says_what_it_leaves_out(fitter: Run, only_magnets: Path, command: str) -> None:
    stock = magnets(only_magnets)
    recipe = ("--stock", stock)
    taken(fitter, "magnet", *recipe)
    status, out, err = fitter(*command.split(), *recipe, "--json")
    assert status == 0
    assert "left out: 4 lots for magnet (--with-set-aside counts them in)" in err
    assert json.loads(out)["set_aside"] == ["magnet"]


def test_a_single_file_has_its_own_record_beside_it(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets) / "parts.yaml"
    recipe = ("--stock", stock)
    taken(fitter, "magnet", *recipe)
    assert (stock.with_name("parts.set_aside.yaml")).is_file()
    folder = fitter("builds", "--stock", stock.parent)
    assert "for magnet" in folder[2]  # whoever asks the whole folder sees it too
    assert fitter("stock", "put-back", "magnet", "--stock", stock.parent)[0] == 0
