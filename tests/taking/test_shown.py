"""What builds hold is marked where the stock is listed and shown, and checked with its files."""

from __future__ import annotations

import json
from pathlib import Path

from magnet_stock import Run, magnets

HELD = """\
set_aside:
  - name: lamp
    recipe: magnet
    parts:
      - {role: magnet.coil, lot: coil, count: 2}
      - {role: rail.supply, lot: unit, rail: 1, current: 1.5 A, power: 36 W}
      - {role: control.board, lot: old-board, count: 1}
"""


def test_lots_say_what_is_held_of_them(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets)
    (stock / "set_aside.yaml").write_text(HELD, encoding="utf-8")
    listed = json.loads(fitter("stock", "list", "--stock", stock, "--json")[1])["lots"]
    assert {lot["id"]: lot["set_aside"] for lot in listed} == {
        "board": [],
        "coil": ["2 for lamp"],
        "switch": [],
        "unit": ["1.5 A of rail 1 for lamp"],
    }
    assert {lot["id"]: lot["count"] for lot in listed}["coil"] == 3  # what is in the house
    assert "SET ASIDE: 2 for lamp" in fitter("stock", "list", "--stock", stock)[1]
    assert "1.5 A of rail 1 for lamp" in fitter("stock", "show", "unit", "--stock", stock)[1]


def test_check_says_what_does_not_go_with_the_lots(fitter: Run, only_magnets: Path) -> None:
    stock = magnets(only_magnets)
    (stock / "set_aside.yaml").write_text(HELD, encoding="utf-8")
    status, out, _ = fitter("stock", "check", "--stock", stock)
    assert status == 0
    assert "set aside: old-board is set aside for lamp but not in the stock" in out
    (stock / "set_aside.yaml").write_text(HELD.replace("count: 2", "count: two"), encoding="utf-8")
    status, out, _ = fitter("stock", "check", "--stock", stock)
    assert status == 2
    assert "set_aside.yaml:5: set_aside lamp magnet.coil.count" in out
