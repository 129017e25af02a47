"""Faults injected into changes of a stock: whatever fails, and whenever it dies, no lot is lost.

A change is made in a child process in which every call to the system goes through a counter. Before the
call of a number the child is killed, or that call fails with an error. What must hold afterwards is
looked at from outside: the files load, hold the old or the new lots and nothing in between, and the next
command is neither blocked nor confused by what was left.
"""

from __future__ import annotations

import builtins
import errno
import io
import os
import resource
import shutil
import signal
import stat
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fitter.errors import FitterError
from fitter.stock import replace
from fitter.stock.edit import AddLot, Change, RemoveLot, SetField, edit, edit_files
from fitter.stock.files import load_stock

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
CALLS = (
    "open", "write", "fsync", "close", "fchmod", "fchown", "link", "replace", "rename", "unlink", "stat",
    "listdir", "umask",
)  # fmt: skip
ERRORS = (errno.ENOSPC, errno.EACCES, errno.EIO)
YAML = "# box\nlots:\n  - id: a\n    kind: rod   # long\n    length: 1 m\n  - {id: b, kind: gear}\n"
TABLE = "id;kind;length [mm]\nc;rod;1,5\nd;rod;2,5\n"
REFUSED, DONE, FAULT = 3, 0, 4


def a_stock(folder: Path) -> Path:
    folder.mkdir()
    (folder / "one.yaml").write_bytes(YAML.encode())
    (folder / "two.csv").write_bytes(TABLE.encode())
    return folder


def set_one(folder: Path) -> None:
    edit(folder / "one.yaml", [SetField("a", "length", "2 m, measured")])


def add_to_table(folder: Path) -> None:
    edit(folder / "two.csv", [AddLot({"id": "n", "kind": "rod"}), SetField("c", "length", "9 mm")])


def take_out(folder: Path) -> None:
    edit(folder / "one.yaml", [RemoveLot("b")])


def new_file(folder: Path) -> None:
    edit(folder / "three.yaml", [AddLot({"id": "n", "kind": "rod"})])


def both(folder: Path) -> None:
    edit_files(of_both(folder))


def of_both(folder: Path) -> dict[Path, list[Change]]:
    return {
        folder / "three.yaml": [AddLot({"id": "n", "kind": "rod"})],
        folder / "one.yaml": [SetField("a", "length", "2 m")],
        folder / "two.csv": [SetField("c", "length", "9 mm")],
    }


def files(folder: Path) -> dict[str, bytes]:
    """What the files of a stock hold, backups and what was left behind aside."""
    names = [n for n in os.listdir(folder) if n.endswith((".yaml", ".csv")) and not n.startswith(".")]
    return {name: (folder / name).read_bytes() for name in names}


def in_child(work: Callable[[], None]) -> int:
    """The status of a process that does some work: minus a signal's number where one ended it."""
    child = os.fork()
    if child == 0:
        status = FAULT
        try:
            work()
            status = DONE
        except FitterError:
            status = REFUSED
        finally:
            os._exit(status)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def struck(at: int, strike: Callable[[], None]) -> list[str]:
    """From now on calls to the system are counted, and one of them is struck instead."""
    calls: list[str] = []

    def wrapped(name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*args: Any, **named: Any) -> Any:
            calls.append(name)
            if len(calls) == at:
                strike()
            return call(*args, **named)

        return counted

    for name in CALLS:
        setattr(os, name, wrapped(name, getattr(os, name)))
    io.open = builtins.open = wrapped("open", io.open)  # type: ignore[assignment]
    return calls


def failing(number: int) -> Callable[[], None]:
    def strike() -> None:
        raise OSError(number, os.strerror(number))

    return strike


def dying() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def calls_of(change: Callable[[Path], None], folder: Path) -> int:
    """How many calls to the system a change makes."""
    read, write = os.pipe()
    send = os.write

    def work() -> None:
        calls = struck(0, dying)
        change(folder)
        send(write, str(len(calls)).encode())

    assert in_child(work) == DONE
    count = int(os.read(read, 20))
    os.close(read)
    os.close(write)
    return count


CHANGES = (set_one, add_to_table, take_out, new_file, both)


@pytest.mark.parametrize("change", CHANGES, ids=lambda c: c.__name__)
def test_killed_before_any_call_each_file_is_the_old_or_the_new_one(
    tmp_path: Path, change: Callable[[Path], None]
) -> None:
    old = files(a_stock(tmp_path / "old"))
    new = after(change, shutil.copytree(tmp_path / "old", tmp_path / "new"))
    total = calls_of(change, a_stock(tmp_path / "counted"))
    seen: Counter[str] = Counter()
    for at in range(1, total + 1):
        folder = a_stock(tmp_path / f"killed-{at}")

        def work(folder: Path = folder, at: int = at) -> None:
            struck(at, dying)
            change(folder)

        assert in_child(work) == -signal.SIGKILL
        now = files(folder)
        assert all(now[name] in (old.get(name), new.get(name)) for name in now)
        assert old.keys() <= now.keys()
        assert len(load_stock(folder).lots) in (3, 4, 5)
        seen["old" if now == old else "new" if now == new else "between files"] += 1
        finish(change, folder)
        assert files(folder) == new
        assert not [name for name in os.listdir(folder) if name.endswith(".tmp")]
    assert seen["old"]
    assert seen["new"]
    assert change is both or not seen["between files"]
    print(f"{change.__name__}: killed at {total} calls, {dict(seen)}")


def after(change: Callable[[Path], None], folder: Path) -> dict[str, bytes]:
    change(folder)
    return files(folder)


def finish(change: Callable[[Path], None], folder: Path) -> None:
    """The command once more, for what it had not done: it neither waits nor minds what was left."""
    with replace.locked(folder, folder, patience=0.0):
        pass
    ids = {lot.id for lot in load_stock(folder).lots}
    undone = {set_one: True, take_out: "b" in ids}.get(change, "n" not in ids)
    if undone:
        change(folder)
    elif change is both:  # the new file was there, the others perhaps not yet
        edit_files({f: c for f, c in of_both(folder).items() if f.name != "three.yaml"})
    for name in files(folder):
        replace.changed(folder / name, lambda content: content)


@pytest.mark.parametrize("change", CHANGES, ids=lambda c: c.__name__)
def test_whichever_call_fails_all_files_are_old_or_all_are_new(
    tmp_path: Path, change: Callable[[Path], None]
) -> None:
    old = files(a_stock(tmp_path / "old"))
    new = after(change, shutil.copytree(tmp_path / "old", tmp_path / "new"))
    total = calls_of(change, a_stock(tmp_path / "counted"))
    seen: Counter[str] = Counter()
    for at in range(1, total + 1):
        for number in ERRORS:
            folder = a_stock(tmp_path / f"{at}-{number}")

            def work(folder: Path = folder, at: int = at, number: int = number) -> None:
                struck(at, failing(number))
                change(folder)

            status = in_child(work)
            now = files(folder)
            assert status in (DONE, REFUSED), (at, number)
            assert now in ((old,) if status == REFUSED else (new,)), (at, number)
            assert len(load_stock(folder).lots) in (2, 3, 4, 5)
            seen["refused" if status == REFUSED else "done"] += 1
    assert seen["refused"] > seen["done"] > 0
    print(f"{change.__name__}: {total * len(ERRORS)} faults, {dict(seen)}")


def test_a_disk_that_is_full_for_good(tmp_path: Path) -> None:
    """The kernel itself refuses to write past a size, as a full disk would in the middle of a file."""
    folder = a_stock(tmp_path / "s")
    old = files(folder)
    for room in (0, 1, 20, len(YAML)):

        def work(room: int = room) -> None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
            set_one(folder)

        assert in_child(work) == REFUSED
        assert files(folder) == old
        assert sorted(os.listdir(folder)) == sorted(old)


@pytest.mark.skipif(os.geteuid() != 0 or shutil.which("mount") is None, reason="mounting takes root")
def test_a_small_disk_filled_to_the_brim(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(disk)]
    if subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("mounting is not allowed here")
    try:
        folder = a_stock(disk / "s")
        with pytest.raises(OSError, match="No space"):
            (disk / "filler").write_bytes(bytes(2**20))
        old = files(folder)
        with pytest.raises(FitterError, match="No space left"):
            set_one(folder)
        assert files(folder) == old
        (disk / "filler").unlink()
        set_one(folder)
        assert files(folder) != old
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_folder_that_may_only_be_read(tmp_path: Path) -> None:
    folder = a_stock(tmp_path / "s")
    for part in (tmp_path, *tmp_path.parents):
        if not os.stat(part).st_mode & stat.S_IXOTH and part != Path("/"):
            if part.stat().st_uid != os.geteuid():
                pytest.skip("another user cannot come here")
            part.chmod(part.stat().st_mode | stat.S_IXOTH | stat.S_IROTH)
    folder.chmod(0o555)
    old = files(folder)

    def work() -> None:
        if os.geteuid() == 0:
            os.setgroups([])
            os.setgid(65534)
            os.setuid(65534)
        set_one(folder)

    try:
        assert in_child(work) == REFUSED
        assert files(folder) == old
    finally:
        folder.chmod(0o755)


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o444, 0o4755])
def test_links_stay_links_and_rights_stay(tmp_path: Path, mode: int) -> None:
    folder = a_stock(tmp_path / "s")
    real = folder / "one.yaml"
    real.chmod(mode)
    outside = tmp_path / "desk"
    outside.mkdir()
    (outside / "hop.yaml").symlink_to(real)
    (outside / "stock.yaml").symlink_to("hop.yaml")
    edit(outside / "stock.yaml", [SetField("a", "length", "2 m")])
    assert (outside / "stock.yaml").readlink() == Path("hop.yaml")
    assert sorted(os.listdir(outside)) == ["hop.yaml", "stock.yaml"]
    assert b"2 m" in real.read_bytes()
    assert stat.S_IMODE(real.stat().st_mode) == mode
    assert sorted(os.listdir(folder)) == ["one.yaml", "one.yaml.bak", "two.csv"]


WRITER = """
import sys
from pathlib import Path
from fitter.stock.edit import AddLot, SetField, edit, edit_files
folder, me, times = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
first, second = (folder / n for n in (("one.yaml", "two.csv") if me == "x" else ("two.csv", "one.yaml")))
for n in range(times):
    edit_files({first: [AddLot({"id": f"{me}{n}f", "kind": "rod"})],
                second: [AddLot({"id": f"{me}{n}s", "kind": "rod"})]})
"""


def test_two_processes_that_add_to_two_files_in_turn_lose_nothing(tmp_path: Path) -> None:
    """They name the files in opposite order, so locks taken in that order would wait for each other."""
    folder, times = a_stock(tmp_path / "s"), 20
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(folder), me, str(times)], env=environment)
        for me in "xy"
    ]
    assert [writer.wait(60) for writer in writers] == [0, 0]
    expected = {*"abcd", *(f"{me}{n}{end}" for me in "xy" for n in range(times) for end in "fs")}
    assert {lot.id for lot in load_stock(folder).lots} == expected
    assert sorted(os.listdir(folder)) == ["one.yaml", "one.yaml.bak", "two.csv", "two.csv.bak"]


def test_what_was_thought_out_before_somebody_else_wrote_is_not_written(tmp_path: Path) -> None:
    folder = a_stock(tmp_path / "s")
    seen = {folder / name: content for name, content in files(folder).items()}
    (folder / "two.csv").write_text(TABLE + "e;rod;1\n", encoding="utf-8")
    old = files(folder)
    with pytest.raises(FitterError, match="changed by another program meanwhile; nothing was written"):
        edit_files(of_both(folder), seen)
    assert files(folder) == old
