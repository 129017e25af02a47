"""Lots entered on the command line: what is written is what was echoed, and nothing else is touched."""

from __future__ import annotations

import contextlib
import io
import json
import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter import cli
from fitter.entering.add import add
from fitter.errors import FitterError
from fitter.stock.files import load_stock
from fitter.stock.lots import Lot
from fitter.stock.tables import table_of

ROOT = Path(__file__).parents[2]
SHED = ROOT / "inventory_examples" / "repair_shed"
LINES = yaml.safe_load((Path(__file__).parent / "one_liners.yaml").read_text(encoding="utf-8"))["understood"]


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SHED, tmp_path / "shed"))


def texts(folder: Path) -> dict[str, str]:
    return {f.name: f.read_text(encoding="utf-8") for f in sorted(folder.glob("*.yaml"))}


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = cli.run(["stock", "add", *words])
    out, err = capsys.readouterr()
    return status, out, err


def as_text(lot: Lot) -> dict[str, Any]:
    """What a lot read from a file says, in the words it was written in."""
    plain = {n: str(getattr(lot, n)) for n in ("id", "kind", "count", "bin", "donor", "condition", "note")}
    ratings = {n.removesuffix(".min"): r.text for n, r in lot.ratings.items() if not n.endswith(".max")}
    return plain | ratings


@pytest.mark.parametrize("suffix", [".yaml", ".csv"])
def test_what_is_written_reads_back_as_echoed(tmp_path: Path, suffix: str) -> None:
    file = tmp_path / f"parts{suffix}"
    told = [add(file, shlex.split(c["line"]) if "'" in c["line"] else c["line"].split()) for c in LINES]
    stock = load_stock(file)
    assert len(stock.lots) == len(LINES)
    for answer in told:
        lot = stock.lot(answer.lot)
        said = as_text(lot)
        for name, value in answer.fields.items():
            if isinstance(value, str) and name not in ("name", "price_new", "mass"):
                assert said[name] == value, (answer.lot, name)
        assert (lot.line, lot.kind) == (answer.line, answer.kind)
        for stated, rail in zip(answer.fields.get(lot.kind_of_part.rails_name, []), lot.rails, strict=True):
            assert isinstance(stated, dict)
            assert {n: rail[n].text for n in stated} == stated


def test_a_file_gains_the_lot_and_keeps_all_else(shed: Path) -> None:
    before = texts(shed)
    answer = add(shed, ["stepper", "42x40", "4", "wires", "2.9", "ohm", "measured", "bin", "B3", "x8"])
    after = texts(shed)
    assert answer.file == str(shed / "shelf-1-motors.yaml")
    assert {n for n in before if before[n] != after[n]} == {"shelf-1-motors.yaml"}
    old = before["shelf-1-motors.yaml"].rstrip("\n")
    assert after["shelf-1-motors.yaml"].startswith(old)
    assert after["shelf-1-motors.yaml"].count("#") == old.count("#")
    new = after["shelf-1-motors.yaml"].splitlines()[answer.line - 1 :] if answer.line else []
    assert new[0].strip() == "- id: m16"
    assert new[-1].strip() == "body_length: 40 mm"


def test_estimates_and_contradictions_are_told(shed: Path) -> None:
    answer = add(shed, ["stepper", "42x40", "4", "wires", "2.9", "ohm", "measured"])
    current = next(e for e in answer.estimates if e.rating == "rated_current")
    assert current.min is not None
    assert current.max is not None
    # 0.10 W/cm2 over body and ends: sqrt(0.10 * (4*4.2*4.0 + 4.2^2) / (2 * 2.9)) = 1.21 A, worked by hand
    assert current.min < 1.21 < current.max
    assert current.likely == pytest.approx(1.21, abs=0.01)
    assert add(shed, ["bearing", "bore", "12", "outer", "10"]).contradictions


def test_a_dry_run_writes_nothing(shed: Path, tmp_path: Path) -> None:
    before = texts(shed)
    answer = add(shed, ["608", "x10"], dry_run=True)
    assert (answer.written, answer.line, answer.lot) == (False, None, "bb3")
    assert texts(shed) == before
    assert add(tmp_path / "none", ["608", "x10"], dry_run=True).file == str(tmp_path / "none" / "parts.yaml")
    assert not (tmp_path / "none").exists()


def test_a_file_is_chosen_by_kind_then_by_what_is_alike_and_said(shed: Path) -> None:
    for line, file, why in (
        ("608 x2", "shelf-2-mechanics.yaml", "it has most lots of ball bearing"),
        ("electromagnet 24V", "shelf-1-motors.yaml", "it has most motors"),
    ):
        answer = add(shed, line.split(), dry_run=True)
        assert (Path(answer.file).name, answer.why_there) == (file, why)
    answer = add(shed, ["608", "x2"], file="new-drawer.yaml")
    assert load_stock(shed / "new-drawer.yaml").lot(answer.lot).count == 2
    for name in ("../outside.yaml", "notes.txt"):
        with pytest.raises(FitterError):
            add(shed, ["608"], file=name)


def test_ids_are_the_next_of_their_kind_or_as_given(shed: Path) -> None:
    assert add(shed, ["rod", "8x400"]).lot == "rod6"
    assert add(shed, ["rod", "8x400", "id=long-one"]).lot == "long-one"
    with pytest.raises(FitterError, match="there is a lot 'm1' already"):
        add(shed, ["rod", "8x400", "id=m1"])


def test_a_new_stock_is_begun(tmp_path: Path) -> None:
    for path in (tmp_path / "box", tmp_path / "deep" / "er" / "box.yaml", tmp_path / "box.csv"):
        assert add(path, ["rod", "8x400", "x2"]).lot == "rod1"
        assert add(path, ["rod", "8x500", "x2"]).lot == "rod2"
        assert [lot.id for lot in load_stock(path).lots] == ["rod1", "rod2"]
    assert table_of((tmp_path / "box.csv").read_bytes(), "box.csv")


def test_a_line_that_is_refused_begins_no_file(tmp_path: Path) -> None:
    with pytest.raises(FitterError):
        add(tmp_path / "box", ["rod", "8x400", f"id={'x' * 70}"])
    assert not (tmp_path / "box").exists()


@settings(max_examples=40, deadline=None)
@given(st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=12), max_size=8))
def test_any_words_are_understood_or_refused(words: list[str]) -> None:
    for before in ([], ["stepper"], ["psu"]):
        with contextlib.suppress(FitterError):
            assert not add(Path("/nonexistent/stock.yaml"), [*before, *words], dry_run=True).written


# ------------------------------------------------------------------ on the command line


def test_the_command_echoes_each_word(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    line = "stepper 42x40 4 wires 2.9 ohm shaft 5D copier 24V bin B3 x8 tested"
    status, out, err = run(capsys, *line.split(), "--stock", str(shed))
    assert (status, err) == (0, "")
    rows = [r.rstrip() for r in out.splitlines()]
    assert rows[0] == "m16: 8 x stepper motor"
    assert "  42x40     frame width 42 mm; body length 40 mm" in rows
    assert "  24V       note ran on 24 V in its machine" in rows
    assert any(r.startswith("  rated current 0.8") for r in rows)
    assert rows[-1].startswith(f"Written to {shed / 'shelf-1-motors.yaml'}:")


def test_the_command_gives_json(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "608", "x10", "--json", "--dry-run", "--stock", str(shed))
    answer = json.loads(out)
    assert (status, answer["lot"], answer["fields"]["bore"]) == (0, "bb3", "8 mm")


def test_without_words_and_terminal_there_is_one_clear_line(
    shed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("stepper\n"))
    status, out, err = run(capsys, "--stock", str(shed))
    assert (status, out, err.count("\n")) == (2, "", 1)
    assert "no terminal to ask at" in err


def answers(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


ASKED = ("stepper 42x40", "", "2.9", "2.9 ohm measured", "5D", "", "", "printer", "copier", "B3", "8", "ok")


def test_it_asks_for_what_matters_and_writes_when_told(
    shed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    answers(monkeypatch, *ASKED, "yes")
    status, out, err = run(capsys, "--ask", "--stock", str(shed))
    assert status == 0, err
    lot = load_stock(shed).lot("m16")
    assert (lot.count, lot.bin, lot.donor, lot.condition) == (8, "B3", "office copier", "working")
    assert lot.ratings["resistance"].text == "2.9 ohm, measured"
    assert (lot.ratings["shaft_diameter"].likely, lot.note) == (0.005, "shaft with a flat")
    assert "no unit" in err
    assert "may be inkjet printer" in err
    assert "Ohms across one coil" in err
    assert out.count("Nothing written") == 1
    assert out.count("Written to") == 1


@pytest.mark.parametrize("last", [("no",), ()])
def test_it_writes_nothing_when_stopped(
    shed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, last: tuple[str, ...]
) -> None:
    before = texts(shed)
    answers(monkeypatch, *ASKED, *last)
    status, _, err = run(capsys, "--ask", "--stock", str(shed))
    assert (status, err.splitlines()[-1]) == (130, "stopped")
    assert texts(shed) == before


# ---------------------------------------------------------------- at the same time

ADDER = """
import sys
from pathlib import Path
from fitter.entering.add import add
for _ in range(int(sys.argv[3])):
    add(Path(sys.argv[1]), ["rod", "8", "mm", "300mm"], file=sys.argv[2])
"""


def test_two_that_add_to_two_files_of_a_folder_never_make_the_same_id(tmp_path: Path) -> None:
    times = 15
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    adders = [
        subprocess.Popen([sys.executable, "-c", ADDER, str(tmp_path), name, str(times)], env=environment)
        for name in ("left.yaml", "right.yaml")
    ]
    assert [adder.wait(60) for adder in adders] == [0, 0]
    assert {lot.id for lot in load_stock(tmp_path).lots} == {f"rod{n + 1}" for n in range(2 * times)}


def test_an_id_that_a_lot_with_errors_has_is_not_given_again(tmp_path: Path) -> None:
    file = tmp_path / "stock.yaml"
    file.write_text("lots:\n  - {id: rod1, kind: rod, length: long}\n", encoding="utf-8")
    assert add(file, ["rod", "8", "mm", "300mm"]).lot == "rod2"


def test_a_folder_that_cannot_be_looked_through_gets_no_lot(tmp_path: Path) -> None:
    """Otherwise its ids would be given again."""
    tmp_path.joinpath(*["a"] * 60).mkdir(parents=True)
    with pytest.raises(FitterError, match="folders deep"):
        add(tmp_path, ["rod", "8", "mm", "300mm"])
