"""Using up changes several files: whatever fails or dies in between, nothing is lost and it can be finished.

Fault injection: the same command with each call to the system failing in turn, and killed before each.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from magnet_stock import Run, magnets

from fitter.errors import FitterError
from fitter.shed import Shed
from fitter.stock.files import load_stock, set_aside_files
from fitter.stock.left import left_of
from fitter.stock.set_aside import read_all
from fitter.taking.leave import used_up
from fitter.taking.take import Wanted, take

STEPS = ("open", "write", "fsync", "link", "replace")
AFTER = {"coil": 2, "switch": 2, "board": 2}  # the unit is used up with the first magnet


def in_two_files(folder: Path, *own: Path) -> Path:
    """Magnets whose supply is in a file of its own, one of them set aside."""
    stock = magnets(folder)
    text = (stock / "parts.yaml").read_text(encoding="utf-8")
    head, unit = text[: text.index("  - {id: unit")], text[text.index("  - {id: unit") :]
    (stock / "parts.yaml").write_text(head, encoding="utf-8")
    (stock / "power.yaml").write_text("lots:\n" + unit, encoding="utf-8")
    take(stock, lambda: Shed.open(stock, *own), Wanted("magnet", {}))
    return stock


def strike_at(at: int, strike: Callable[[], None], setattr_: Callable[[Any, str, Any], None]) -> list[str]:
    calls: list[str] = []

    def wrapped(name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*args: Any, **named: Any) -> Any:
            calls.append(name)
            if len(calls) == at:
                strike()
            return call(*args, **named)

        return counted

    for name in STEPS:
        setattr_(os, name, wrapped(name, getattr(os, name)))
    return calls


def counts(stock: Path) -> dict[str, int]:
    return {lot.id: lot.count for lot in load_stock(stock).lots}


def free(stock: Path) -> dict[str, int]:
    """Pieces that an answer counts with."""
    builds = [b for file in read_all(set_aside_files(stock)) for b in file.builds]
    return {lot.id: lot.count for lot in left_of(load_stock(stock), builds).lots if lot.drawn is None}


def check_between(stock: Path) -> None:
    """At no time may an answer count with a piece that is in the build, nor miss one that is not."""
    assert {**free(stock), "unit": 0} == {**AFTER, "unit": 0}


def finished(stock: Path) -> None:
    text = (stock / "set_aside.yaml").read_text(encoding="utf-8")
    if "name: magnet" in text:
        used_up(stock, "magnet")
    assert counts(stock) == AFTER
    text = (stock / "set_aside.yaml").read_text(encoding="utf-8")
    assert text.count("what: used up") == 1
    assert "id: unit" in text
    assert "name: magnet" not in text


def test_whichever_call_fails_it_can_be_finished(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full() -> None:
        raise OSError(28, "No space left on device")

    stock = in_two_files(tmp_path, tmp_path / "recipes")
    start = shutil.copytree(stock, tmp_path / "start")
    failed = 0
    for at in range(1, 200):
        shutil.rmtree(stock)
        shutil.copytree(start, stock)
        with monkeypatch.context() as patched:
            calls = strike_at(at, full, patched.setattr)
            with contextlib.suppress(OSError, FitterError):
                used_up(stock, "magnet")
        if len(calls) < at:
            break
        failed += 1
        check_between(stock)
        finished(stock)
    assert failed > 30


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
def test_killed_before_each_call_it_can_be_finished(tmp_path: Path) -> None:
    stock = in_two_files(tmp_path, tmp_path / "recipes")
    start = shutil.copytree(stock, tmp_path / "start")
    for at in range(1, 200):
        shutil.rmtree(stock)
        shutil.copytree(start, stock)
        child = os.fork()
        if child == 0:
            strike_at(at, lambda: os.kill(os.getpid(), signal.SIGKILL), setattr)
            used_up(stock, "magnet")
            os._exit(0)
        killed = os.waitpid(child, 0)[1] != 0
        check_between(stock)
        finished(stock)
        if not killed:
            break
    assert not killed
    assert at > 30


def test_half_used_up_is_said_and_not_put_back(
    fitter: Run, only_magnets: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stock = in_two_files(only_magnets)

    def dies(*_: Any) -> None:
        raise RuntimeError("the lamp went out")

    with monkeypatch.context() as patched:
        patched.setattr("fitter.taking.leave.edit_files", dies)
        with pytest.raises(RuntimeError):
            used_up(stock, "magnet")
    status, _, err = fitter("builds", "--stock", stock)
    assert status == 0
    assert "magnet is half used up: finish with `fitter stock used-up magnet`" in err
    status, _, err = fitter("stock", "put-back", "magnet", "--stock", stock)
    assert status == 2
    assert "half used up and cannot be put back" in err
    assert fitter("stock", "used-up", "magnet", "--stock", stock)[0] == 0
    finished(stock)


TAKE = """
import sys
from pathlib import Path
from fitter import recipes
from fitter.shed import Shed
from fitter.taking.take import Wanted, take
stock, own = Path(sys.argv[1]), Path(sys.argv[2])
recipes.SHIPPED = own
take(stock, lambda: Shed.open(stock), Wanted("magnet", {}, name=sys.argv[3]))
"""


def test_two_processes_at_once_never_take_the_same_piece(tmp_path: Path) -> None:
    stock = magnets(tmp_path, coils=2)
    words = [sys.executable, "-c", TAKE, str(stock), str(tmp_path / "recipes")]
    running = [subprocess.Popen([*words, f"n{i}"], stderr=subprocess.PIPE, text=True) for i in range(3)]
    said = [process.communicate(timeout=60)[1] for process in running]
    done = [process.returncode == 0 for process in running]
    text = (stock / "set_aside.yaml").read_text(encoding="utf-8")
    assert sum(done) == text.count("what: taken")
    assert text.count("lot: coil, count: 1") == 2 if all(done) else text.count("lot: coil, count: 1") <= 2
    for ok, each in zip(done, said, strict=True):
        assert ok or "changed by another command" in each
    assert Shed.open(stock).stock.lot("coil").count == 2 - min(2, sum(done))
