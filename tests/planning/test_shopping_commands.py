"""Lists that ``fitter gaps`` and ``fitter plan`` write, read back and held against the answer printed."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest

from fitter import cli

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
COMMANDS = [
    ("gaps", "lab-supply"),
    ("gaps", "drawer-rails", "lab-supply"),
    ("plan", "drawer-rails", "lab-supply"),
]
LINE = re.compile(r"- \[ \] (\d+) x ([^,]+), such as (.+?)(?:, about ([\d.]+) EUR)?")


@pytest.fixture(autouse=True)
def stock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FITTER_STOCK", str(EXAMPLES / "small_box.yaml"))


def wanted(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """Recipe and role of everything that an answer says is to be bought."""
    if "builds" in answer:
        return sorted(
            (b["recipe"], r) for b in answer["builds"] for r, lot in b["parts"].items() if lot is None
        )
    return sorted((g["recipe"], m["role"]) for g in answer.get("gaps", [answer]) for m in g["missing"])


def pieces_and_price(answer: dict[str, Any]) -> tuple[int, float]:
    if "builds" in answer:
        return sum(x["count"] for x in answer["shopping"]), answer["price"]
    missing = [m for g in answer.get("gaps", [answer]) for m in g["missing"]]
    return sum(m["count"] for m in missing), sum(m["price"] for m in missing)


def read(path: Path) -> tuple[list[tuple[int, str, str, float]], list[tuple[str, str]]]:
    """Count, kind, example and price of every line of a list, and all it is for, from any of its forms."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".json":
        lines = json.loads(text)["shopping"]
        rows = [(x["count"], x["kind"], x["example"], x["price"]) for x in lines]
        uses = [use for x in lines for use in x["used_for"]]
    elif path.suffix == ".csv":
        table = list(csv.DictReader(text.splitlines()))
        rows = [(int(r["count"]), r["kind"], r["such as"], float(r["price [EUR]"])) for r in table]
        uses = [use for r in table for use in r["used for"].split("; ")]
    else:
        plain = text.replace("\\", "")
        found = [m for line in plain.splitlines() if (m := LINE.fullmatch(line))]
        rows = [(int(m[1]), m[2], m[3], float(m[4])) for m in found]
        uses = [
            use for line in plain.splitlines() if line.startswith("  - for ") for use in line[8:].split(", ")
        ]
    return rows, sorted((use.partition(" ")[0], use.partition(" ")[2]) for use in uses)


@pytest.mark.parametrize("words", COMMANDS)
def test_every_form_has_what_the_answer_says(
    words: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lists = []
    for name in ("list.md", "list.csv", "list.json"):
        assert cli.run([*words, "--shopping", str(tmp_path / name), "--json"]) == 0
        shown = capsys.readouterr()
        answer = json.loads(shown.out)
        assert re.fullmatch(rf"Wrote .*{re.escape(name)}: \d+ things? to buy\n", shown.err)
        rows, uses = read(tmp_path / name)
        assert uses == wanted(answer)
        pieces, price = pieces_and_price(answer)
        assert sum(row[0] for row in rows) == pieces
        assert sum(row[3] for row in rows) == pytest.approx(price, abs=0.5 if name.endswith("md") else 0.01)
        lists.append([row[:3] for row in rows])
    assert lists[0] == lists[1] == lists[2]
    assert lists[0]


def test_a_list_that_was_there_is_replaced_and_that_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "list.csv"
    path.write_text("mine", encoding="utf-8")
    assert cli.run(["gaps", "drawer-rails", "--shopping", str(path)]) == 0
    assert capsys.readouterr().err.startswith(f"Replaced {path}: 1 thing to buy")
    assert read(path)[0][0][1] == "drawer slide"


@pytest.mark.parametrize("command", ["gaps", "plan"])
@pytest.mark.parametrize("name", ["list.pdf", "list", ".md"])
def test_an_ending_that_tells_no_form_is_refused(
    command: str, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / name
    assert cli.run([command, "drawer-rails", "--shopping", str(path)]) == 2
    shown = capsys.readouterr()
    assert not shown.out
    (line,) = shown.err.splitlines()
    assert ".md, .csv, .json" in line
    assert str(path) in line
    assert not path.exists()


def test_a_list_that_cannot_be_written_is_one_clear_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.run(["gaps", "drawer-rails", "--shopping", str(tmp_path / "none" / "list.md")]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "cannot write" in line
