"""Changes of stock files: only what is meant changes, and nothing is lost whatever happens meanwhile."""

from __future__ import annotations

import difflib
import os
import random
import shutil
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
import yaml

from fitter.documents import nearest
from fitter.errors import FitterError
from fitter.ratings import Evidence
from fitter.stock import replace
from fitter.stock.edit import AddLot, Change, RemoveLot, SetField, edit, file_of
from fitter.stock.files import load_stock
from fitter.stock.lots import Lot
from fitter.stock.yaml_edit import scalar

SHED = Path(__file__).parents[1] / "inventory_examples" / "repair_shed"
SHELF = "shelf-1-motors.yaml"
MEASURED = "0.42 N m, measured"


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SHED, tmp_path / "shed"))


def changed_lines(old: str, new: str) -> tuple[list[str], list[str]]:
    """Lines that went and lines that came."""
    diff = list(difflib.ndiff(old.splitlines(), new.splitlines()))
    return [d[2:] for d in diff if d[:2] == "- "], [d[2:] for d in diff if d[:2] == "+ "]


def after(file: Path, text: str, *changes: Change) -> str:
    file.write_bytes(text.encode())
    edit(file, changes)
    return file.read_bytes().decode()


# ---------------------------------------------------------------- what is changed, and nothing else


def test_setting_any_field_of_any_lot_changes_one_line_and_one_value(shed: Path) -> None:
    """Every rating that stands in the example stock, set to the words of a sibling, one after the other."""
    tried = 0
    for lot in load_stock(shed).lots:
        file = Path(lot.file)
        for name, rating in lot.ratings.items():
            if name.endswith((".min", ".max")) or not rating.text or "," not in rating.text:
                continue
            old = file.read_text(encoding="utf-8")
            value = rating.text.rpartition(",")[0] + ", estimated"
            edit(file, [SetField(lot.id, name, value)])
            went, came = changed_lines(old, file.read_text(encoding="utf-8"))
            assert len(went) == len(came) == (rating.evidence is not Evidence.ESTIMATED)
            tried += 1
    assert tried > 100


def test_a_comment_behind_a_value_stays_in_its_column(shed: Path) -> None:
    old = (shed / SHELF).read_text(encoding="utf-8")
    edit(shed / SHELF, [SetField("m1", "step_angle", "0.9 deg, measured")])
    went, came = changed_lines(old, (shed / SHELF).read_text(encoding="utf-8"))
    assert came == [went[0].replace("1.8 deg", "0.9 deg")]
    edit(shed / SHELF, [SetField("m1", "step_angle", "0.9 deg")])
    line = next(x for x in (shed / SHELF).read_text(encoding="utf-8").splitlines() if "0.9 deg" in x)
    assert line.index("#") == went[0].index("#")


def test_a_new_rating_stands_below_the_others_and_above_a_note(shed: Path) -> None:
    edit(shed / SHELF, [SetField("bl1", "rated_speed", "2000 rpm, nameplate")])
    lines = (shed / SHELF).read_text(encoding="utf-8").splitlines()
    place = lines.index("    rated_speed: 2000 rpm, nameplate")
    assert lines[place + 1].startswith("    note:")
    assert load_stock(shed).lot("bl1").ratings["rated_speed"].evidence is Evidence.NAMEPLATE


def test_one_figure_of_one_rail(shed: Path) -> None:
    file = file_of(shed, "psu-copier")
    old = file.read_text(encoding="utf-8")
    edit(file, [SetField("psu-copier", "rails[2].current", "0.8 A, measured")])
    went, came = changed_lines(old, file.read_text(encoding="utf-8"))
    assert came == [went[0].replace("1 A, nameplate", "0.8 A, measured")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "lots: [{id: a, kind: rod}, {id: b, kind: rod}]",
            "lots: [{id: a, kind: rod, length: 1 m}, {id: b, kind: rod}]",
        ),
        ("lots:\n  - {id: a, kind: rod,}\n", "lots:\n  - {id: a, kind: rod, length: 1 m,}\n"),
        ("lots:\n- id: a\n  kind: rod", "lots:\n- id: a\n  kind: rod\n  length: 1 m\n"),
        ("lots:\r\n- id: a\r\n  kind: rod\r\n", "lots:\r\n- id: a\r\n  kind: rod\r\n  length: 1 m\r\n"),
        ("\ufefflots:\n- id: a\n  kind: rod\n", "\ufefflots:\n- id: a\n  kind: rod\n  length: 1 m\n"),
        (
            "lots:\n- id: a\n  kind: rod\n  length:   # ?\n",
            "lots:\n- id: a\n  kind: rod\n  length: 1 m  # ?\n",
        ),
        ("lots:\n- id: a\n  length: '2 m'\n  kind: rod\n", 'lots:\n- id: a\n  length: "1 m"\n  kind: rod\n'),
        (
            "lots:\n- id: a\n  length: >\n    2\n    m\n  kind: rod\n",
            "lots:\n- id: a\n  length: 1 m\n  kind: rod\n",
        ),
        (
            "lots:\n- id: a # ü€😀\n  length: 2 m\n  kind: rod\n",
            "lots:\n- id: a # ü€😀\n  length: 1 m\n  kind: rod\n",
        ),
    ],
)
def test_layouts(tmp_path: Path, text: str, expected: str) -> None:
    assert after(tmp_path / "s.yaml", text, SetField("a", "length", "1 m")) == expected


TABLE = """id;kind;count;rated current [A];ratings
m2;stepper motor;1;1,7;"resistance=1,5 ohm, measured; frame=NEMA 17"
p2;switch-mode supply;1;;"rails=24 V 3 A | 5 V 2 A isolated; total_power=90 W, nameplate"
"""


@pytest.mark.parametrize(
    ("change", "old", "new"),
    [
        (SetField("m2", "rated_current", "1.8 A, measured"), ";1,7;", ";1,8 A, measured;"),
        (SetField("m2", "resistance", "1.6 ohm, measured"), "1,5 ohm", "1,6 ohm"),
        (SetField("m2", "holding_torque", "0.3 N m"), "=NEMA 17", "=NEMA 17; holding_torque=0,3 N m"),
        (SetField("p2", "rails[2].current", "2.5 A"), "5 V 2 A", "5 V 2,5 A"),
        (
            SetField("p2", "rails[2].current", "2 A, measured"),
            "5 V 2 A isolated",
            "5 V, stated 2 A isolated, measured",
        ),
        (SetField("p2", "rails[1].voltage", "24 V, measured"), "24 V 3 A", "24 V, measured 3 A"),
    ],
)
def test_one_cell_of_a_table(tmp_path: Path, change: SetField, old: str, new: str) -> None:
    assert after(tmp_path / "s.csv", TABLE, change) == TABLE.replace(old, new)


def test_a_column_is_added_where_there_is_none(tmp_path: Path) -> None:
    text = "id,kind\nr1,rod\nr2,rod\n"
    new = after(tmp_path / "s.csv", text, SetField("r2", "length", "1.5 m"), SetField("r1", "note", "a, b"))
    assert new == 'id,kind,ratings,note\nr1,rod,,"a, b"\nr2,rod,length=1.5 m\n'


# ---------------------------------------------------------------- lots added and taken out

NEW: dict[str, Any] = {
    "id": "n1",
    "kind": "switch-mode supply",
    "bin": "shelf: 3",
    "rails": [{"voltage": "24 V, measured", "current": "2 A"}],
    "note": "- none -",
}


@pytest.mark.parametrize("name", ["s.yaml", "flow.yaml", "empty.yaml", "list.yaml", "s.csv"])
def test_a_lot_added_is_read_back_and_taken_out_again(tmp_path: Path, name: str) -> None:
    text = {
        "s.yaml": "# top\nlots:\n  - id: a\n    kind: rod   # long\n\n  - id: b\n    kind: rod\n# end\n",
        "flow.yaml": "lots: [{id: a, kind: rod}]\n",
        "empty.yaml": "",
        "list.yaml": "lots:\n",
        "s.csv": "id\tkind\tbin\na\trod\tx\n",
    }[name]
    file = tmp_path / name
    new = after(file, text, AddLot(NEW))
    lot = load_stock(file).lot("n1")
    assert (lot.bin, lot.note) == ("shelf: 3", "- none -")
    assert lot.rails[0]["voltage"].evidence is Evidence.MEASURED
    assert set(changed_lines(text, new)[0]) <= {"id\tkind\tbin", "lots: [{id: a, kind: rod}]"}
    edit(file, [RemoveLot("n1")])
    if name in ("s.yaml", "flow.yaml"):
        assert file.read_text(encoding="utf-8") == text
    assert "n1" not in file.read_text(encoding="utf-8")


def test_taking_out_each_lot_leaves_all_others(shed: Path) -> None:
    file = shed / "shelf-2-mechanics.yaml"
    ids = [lot.id for lot in load_stock(file).lots]
    random.Random(1).shuffle(ids)
    for number, lot in enumerate(ids[:-1], start=1):
        edit(file, [RemoveLot(lot)])
        assert {each.id for each in load_stock(file).lots} == set(ids[number:])
    assert "# --- screws, gears, rack" in file.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "change",
    [
        SetField("nobody", "note", "x"),
        SetField("m1", "nothing", "x"),
        SetField("m1", "resistance", "2 A"),
        SetField("m1", "rails[1].voltage", "2 V"),
        AddLot({"id": "m1", "kind": "rod"}),
        AddLot({"id": "psu-copier", "kind": "stepper"}),
        RemoveLot("nobody"),
    ],
)
def test_what_cannot_be_done_is_refused_and_writes_nothing(shed: Path, change: Change) -> None:
    old = (shed / SHELF).read_bytes()
    with pytest.raises(FitterError):
        edit(shed / SHELF, [SetField("m1", "note", "half of it"), change])
    assert (shed / SHELF).read_bytes() == old
    assert sorted(os.listdir(shed)) == sorted(os.listdir(SHED))


def test_the_file_of_a_lot(shed: Path) -> None:
    assert file_of(shed, "hs1").name == "drawer-b-lab.yaml"
    with pytest.raises(FitterError) as error:
        file_of(shed, "hs11")
    assert error.value.expected == nearest("hs11", [lot.id for lot in load_stock(shed).lots])


WORDS = [
    "yes",
    "8..35 V, datasheet",
    "1,4 A",
    "a: b",
    "#1",
    " x",
    "",
    "~",
    "'a'",
    "{a}",
    "é",
    "a #b",
    "- x",
    "a\\b",
]


@pytest.mark.parametrize("value", WORDS)
def test_a_value_is_read_back_as_it_was_written(value: str) -> None:
    """The judge is the parser in its plainest form, which takes every scalar as text."""
    assert yaml.load(f"x: {scalar(value)}", yaml.BaseLoader) == {"x": value}
    assert yaml.load(f"[{scalar(value, flow=True)}]", yaml.BaseLoader) == [value]


def test_a_value_is_quoted_only_where_it_must_be() -> None:
    assert [w for w in WORDS if scalar(w) == w] == ["yes", "8..35 V, datasheet", "1,4 A", "é", "a\\b"]
    assert scalar("a, b", flow=True) == '"a, b"'


# ---------------------------------------------------------------- on the disk


def test_rights_links_and_one_backup_stay(tmp_path: Path, shed: Path) -> None:
    file = shed / SHELF
    file.chmod(0o640)
    link = tmp_path / "link.yaml"
    link.symlink_to(file)
    old = file.read_bytes()
    edit(link, [SetField("m9", "holding_torque", MEASURED)])
    assert link.is_symlink()
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    assert (shed / (SHELF + ".bak")).read_bytes() == old
    middle = file.read_bytes()
    edit(file, [SetField("m9", "rated_current", "0.4 A")])
    assert (shed / (SHELF + ".bak")).read_bytes() == middle
    assert len(os.listdir(shed)) == len(os.listdir(SHED)) + 1
    assert len(load_stock(shed).lots) == len(load_stock(SHED).lots)


def test_what_another_program_wrote_meanwhile_is_not_lost(
    shed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = shed / SHELF
    write = replace._write

    def slow(*given: Any) -> None:
        write(*given)
        file.write_text("lots:\n", encoding="utf-8")

    monkeypatch.setattr(replace, "_write", slow)
    with pytest.raises(FitterError, match="changed by another program meanwhile"):
        edit(file, [SetField("m1", "note", "x")])
    assert file.read_text(encoding="utf-8") == "lots:\n"


def test_a_lock_that_is_held_too_long_is_said(shed: Path) -> None:
    def another() -> None:
        with replace.locked(shed, shed, patience=0.05):
            pass

    with (
        ThreadPoolExecutor() as threads,
        replace.locked(shed, shed),
        replace.locked(shed, shed, patience=0.05),  # within a hold of one's own there is nothing to wait for
        pytest.raises(FitterError, match="another command"),
    ):
        threads.submit(another).result()
    another()


def test_a_folder_that_cannot_be_written(shed: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("root may write everywhere")
    shed.chmod(0o500)
    try:
        with pytest.raises(FitterError, match="cannot be written"):
            edit(shed / SHELF, [SetField("m1", "note", "x")])
    finally:
        shed.chmod(0o700)


STEPS = ("open", "write", "fsync", "close", "fchmod", "link", "replace", "stat")


def count_or_strike(monkeypatch: pytest.MonkeyPatch, at: int, strike: Callable[[], None]) -> list[str]:
    """Count the calls to the system, and strike before the one of a number."""
    calls: list[str] = []

    def wrapped(name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*args: Any, **named: Any) -> Any:
            calls.append(name)
            if len(calls) == at:
                strike()
            return call(*args, **named)

        return counted

    for name in STEPS:
        monkeypatch.setattr(os, name, wrapped(name, getattr(os, name)))
    return calls


def full_disk() -> None:
    raise OSError(28, "No space left on device")


def test_whichever_call_to_the_system_fails_the_file_is_the_old_or_the_new_one(
    shed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = shed / SHELF
    old = file.read_bytes()
    with monkeypatch.context() as patched:
        calls = count_or_strike(patched, 0, full_disk)
        edit(file, [SetField("m9", "holding_torque", MEASURED)])
        total = len(calls)
    new = file.read_bytes()
    assert {"write", "fsync", "link", "replace"} <= set(calls)
    outcomes = set()
    for at in range(1, total + 1):
        file.write_bytes(old)
        with monkeypatch.context() as patched:
            count_or_strike(patched, at, full_disk)
            try:
                edit(file, [SetField("m9", "holding_torque", MEASURED)])
                outcomes.add("done")
            except FitterError:
                outcomes.add("refused")
        assert file.read_bytes() in (old, new), at
        load_stock(shed)
    assert outcomes == {"done", "refused"}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
def test_killed_before_each_call_to_the_system_the_file_is_the_old_or_the_new_one(
    shed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = shed / SHELF
    old = file.read_bytes()
    states = []
    for at in range(1, 60):
        file.write_bytes(old)
        child = os.fork()
        if child == 0:
            count_or_strike(monkeypatch, at, lambda: os.kill(os.getpid(), signal.SIGKILL))
            edit(file, [SetField("m9", "holding_torque", MEASURED)])
            os._exit(0)
        killed = os.waitpid(child, 0)[1] != 0
        states.append(file.read_bytes() == old)
        assert states[-1] or MEASURED.encode() in file.read_bytes()
        assert len(load_stock(shed).lots) == len(load_stock(SHED).lots)
        if not killed:
            break
    assert not killed
    assert states[0]
    assert not states[-2]  # killed after the new file was in place
    edit(file, [SetField("m9", "note", "x")])
    assert not [name for name in os.listdir(shed) if name.endswith(".tmp")]  # what was left is swept away


LOOP = """
import sys
from pathlib import Path
from fitter.stock.edit import SetField, edit
file, lot, times = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
for number in range(1, times + 1):
    edit(file, [SetField(lot, "count", str(number))])
    print(number, flush=True)
"""


def loop(file: Path, lot: str, times: int) -> subprocess.Popen[bytes]:
    environment = {**os.environ, "PYTHONPATH": str(SHED.parents[1])}
    return subprocess.Popen(
        [sys.executable, "-c", LOOP, str(file), lot, str(times)], stdout=subprocess.PIPE, env=environment
    )


def test_two_writers_at_once_lose_nothing(shed: Path) -> None:
    times = 25
    writers = [loop(shed / SHELF, lot, times) for lot in ("m1", "m9")]
    assert [w.wait(120) for w in writers] == [0, 0]
    lots = load_stock(shed)
    assert [lots.lot(lot).count for lot in ("m1", "m9")] == [times, times]
    assert len(lots.lots) == len(load_stock(SHED).lots)


def test_killed_at_any_time_what_was_said_to_be_written_is_there(shed: Path) -> None:
    """A process that writes without end is killed at random times; the file always loads, nothing is lost."""
    dice = random.Random(5)
    whole: dict[str, Lot] = {lot.id: lot for lot in load_stock(SHED).lots}
    for _ in range(6):
        writer = loop(shed / SHELF, "m9", 10**6)
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(dice.random() * 0.1)
        writer.kill()
        said = [int(line) for line in writer.stdout.read().split()]
        writer.wait()
        now = load_stock(shed)
        assert {lot.id for lot in now.lots} == set(whole)
        assert now.lot("m9").count >= max(said, default=1)
