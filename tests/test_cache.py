"""The cache of large stocks: the same answers with and without, never stale, whatever happens to its files.

The example stock is small, so these tests lower the size from which stocks are kept.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import pickle
import random
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fitter import answers, listings
from fitter.advice.data import shop
from fitter.errors import FitterError, FitterErrors
from fitter.shed import Shed
from fitter.solve.score import Prices
from fitter.stock import cache, files
from fitter.stock.files import Stock, load_stock, open_stock

ROOT = Path(__file__).parents[1]
SHED = ROOT / "inventory_examples" / "repair_shed"
MOTOR = "lots:\n  - id: {id}\n    kind: stepper motor\n    resistance: {ohms} ohm\n"


@pytest.fixture(autouse=True)
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for the cache alone; every stock counts as large."""
    monkeypatch.setattr(cache, "LEAST_BYTES", 0)
    monkeypatch.setenv("FITTER_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    """A folder of two files, a lot in each."""
    folder = tmp_path / "stock"
    folder.mkdir()
    for name, ohms in (("a", "2.8"), ("b", "4.7")):
        (folder / f"{name}.yaml").write_text(MOTOR.format(id=name, ohms=ohms))
    return folder


def opened(path: Path, **options: bool) -> Stock:
    return open_stock(path, Prices(shop()).of, **options)


def ohms(path: Path) -> dict[str, float]:
    return {lot.id: lot.ratings["resistance"].likely for lot in opened(path).lots}


def kept(place: Path) -> list[Path]:
    return sorted(place.glob("*")) if place.is_dir() else []


class Reads:
    """Counts the stocks that were read from their files."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.count = 0
        self._read = files.read_entries
        monkeypatch.setattr(files, "read_entries", self)

    def __call__(self, content: bytes, file: Path, errors: list[FitterError]) -> Any:
        self.count += 1
        return self._read(content, file, errors)

    def taken(self) -> int:
        """Files read since the last time."""
        count, self.count = self.count, 0
        return count


# ------------------------------------------------------------------ the same answers


def asked(path: Path) -> list[str]:
    """What the questions are answered with, as JSON."""
    shed = Shed.open(path)
    found = [
        answers.builds(shed),
        answers.match(shed, "camera-slider", top=10),
        answers.match(shed, "drawer-rails", top=10),
        answers.why(shed, "lab-supply"),
        answers.gaps_of(shed, "pen-plotter").model_copy(update={"alternatives": []}),  # cut short by time
        listings.list_stock(load_stock(path)),
        listings.list_stock(shed.stock),
    ]
    return [json.dumps(answer.model_dump(mode="json")) for answer in found]


def test_answers_do_not_depend_on_the_cache(monkeypatch: pytest.MonkeyPatch, place: Path) -> None:
    reads = Reads(monkeypatch)
    cold = asked(SHED)
    assert len(kept(place)) == 1
    reads.taken()
    warm = asked(SHED)
    assert reads.taken() == len(list(SHED.glob("*.yaml")))  # by load_stock alone
    monkeypatch.setattr(cache, "LEAST_BYTES", 10**9)
    off = asked(SHED)
    assert cold == warm == off


def test_without_and_with_name_lots_of_a_kept_stock(place: Path) -> None:
    for _ in ("cold", "warm"):
        shed = Shed.open(SHED, without=["m1"])
        found = answers.match(shed, "camera-slider", fixed={"motor": "m9"})
        assert any(part.lot == "m9" for part in found.sets[0].parts.values())
        with pytest.raises(FitterError, match="no lot 'm77'"):
            Shed.open(SHED, without=["m77"])
        refused = next(iter(shed.refused))
        with pytest.raises(FitterError, match="never placed"):
            answers.match(shed, "camera-slider", fixed={"motor": refused})


def test_tables_are_kept_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "stock.csv"
    file.write_text("id;kind;rated_current [A];ratings\nx;stepper motor;1,4;resistance=2.8 ohm, measured\n")
    cold = list(opened(file).lots)
    reads = Reads(monkeypatch)
    assert [vars(lot) for lot in opened(file).lots] == [vars(lot) for lot in cold]
    assert reads.taken() == 0
    assert cold[0].ratings["rated_current"].likely == 1.4


# ------------------------------------------------------------------ never stale


def touch(stock: Path) -> None:
    os.utime(stock / "a.yaml", (1e9, 1e9))


def one_byte(stock: Path) -> None:
    """Another digit, with the size and the time of the file as they were."""
    file = stock / "a.yaml"
    before = file.stat()
    file.write_text(file.read_text().replace("2.8", "2.9"))
    os.utime(file, ns=(before.st_atime_ns, before.st_mtime_ns))


def swap(stock: Path) -> None:
    a, b = (stock / "a.yaml").read_bytes(), (stock / "b.yaml").read_bytes()
    (stock / "a.yaml").write_bytes(b)
    (stock / "b.yaml").write_bytes(a)


def rename(stock: Path) -> None:
    (stock / "a.yaml").rename(stock / "c.yaml")


def add(stock: Path) -> None:
    (stock / "c.yaml").write_text(MOTOR.format(id="c", ohms="1.0"))


def remove(stock: Path) -> None:
    (stock / "a.yaml").unlink()


def move_a_line(stock: Path) -> None:
    """The same bytes in all, the border between two files elsewhere."""
    text = (stock / "b.yaml").read_text()
    (stock / "a.yaml").write_text((stock / "a.yaml").read_text() + "#\n")
    (stock / "b.yaml").write_text(text)


@pytest.mark.parametrize(
    ("change", "anew"),
    [(touch, 0), (one_byte, 2), (swap, 2), (rename, 2), (add, 3), (remove, 1), (move_a_line, 2)],
)
def test_what_was_changed_is_read_anew(
    stock: Path, monkeypatch: pytest.MonkeyPatch, change: Callable[[Path], None], anew: int
) -> None:
    reads = Reads(monkeypatch)
    opened(stock)
    assert reads.taken() == 2
    opened(stock)
    assert reads.taken() == 0
    change(stock)
    found = ohms(stock)
    assert reads.taken() == anew
    assert found == {lot.id: lot.ratings["resistance"].likely for lot in load_stock(stock).lots}


def test_lots_name_the_files_as_they_are_called_now(stock: Path, tmp_path: Path) -> None:
    opened(stock)
    stock.rename(tmp_path / "moved")
    found = opened(tmp_path / "moved")
    assert [Path(lot.file).parent.name for lot in found.lots] == ["moved", "moved"]
    assert [vars(lot) for lot in found.lots] == [vars(lot) for lot in load_stock(tmp_path / "moved").lots]


def test_another_program_reads_anew(stock: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened(stock)
    reads = Reads(monkeypatch)
    monkeypatch.setattr(cache, "_program", lambda: b"the next version")
    opened(stock)
    assert reads.taken() == 2


def test_the_program_is_all_of_its_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Any file of the package that is changed, sizes in shops among them, makes another key."""
    copy = tmp_path / "fitter"
    shutil.copytree(Path(cache.__file__).parents[1], copy, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(cache, "__file__", str(copy / "stock" / "cache.py"))
    made = cache._program.__wrapped__
    digests = [made()]
    assert made() == digests[0]
    for name in ("advice/shop.yaml", "kinds/motors.py", "tolerances.yaml", "physics/frames.py"):
        (copy / name).write_bytes((copy / name).read_bytes() + b"\n# \n")
        digests.append(made())
    assert len(set(digests)) == 5


# ------------------------------------------------------------------ damaged, foreign, not to be written


def assert_recovers(stock: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What lies in the cache is of no use: the stock is read, kept whole, and found the next time."""
    reads = Reads(monkeypatch)
    assert ohms(stock) == {"a": 2.8, "b": 4.7}
    assert reads.taken() == 2
    assert ohms(stock) == {"a": 2.8, "b": 4.7}
    assert reads.taken() == 0


@pytest.mark.parametrize("seed", range(30))
def test_a_damaged_file_is_as_good_as_none(
    stock: Path, place: Path, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    pick = random.Random(seed)
    opened(stock)
    (file,) = kept(place)
    content = bytearray(file.read_bytes())
    match seed % 3:
        case 0:
            del content[pick.randrange(len(content)) :]
        case 1:
            at = pick.randrange(len(content))
            content[at] ^= 1 << pick.randrange(8)
        case _:
            content += pick.randbytes(pick.randint(1, 20))
    file.write_bytes(content)
    assert_recovers(stock, monkeypatch)


def test_every_short_file_is_as_good_as_none(stock: Path, place: Path) -> None:
    opened(stock)
    (file,) = kept(place)
    content, key = file.read_bytes(), file.name.removeprefix("stock-")
    assert cache.fetch(key) is not None
    for length in (*range(200), *range(200, len(content), 97)):
        file.write_bytes(content[:length])
        assert cache.fetch(key) is None, length


class Trap:
    """An object that leaves a mark when it is unpickled."""

    def __init__(self, mark: Path) -> None:
        self.mark = mark

    def __reduce__(self) -> tuple[Any, ...]:
        return Path.touch, (self.mark,)


def test_a_file_of_something_else_is_as_good_as_none(
    stock: Path, place: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(stock)
    (file,) = kept(place)
    add(stock)
    opened(stock)
    (other,) = set(kept(place)) - {file}
    remove(stock)
    (stock / "c.yaml").unlink()
    (stock / "a.yaml").write_text(MOTOR.format(id="a", ohms="2.8"))
    mark = tmp_path / "mark"
    for content in (other.read_bytes(), b"", b"{}", pickle.dumps(Trap(mark)), b"\x00" * 10_000):
        file.write_bytes(content)
        assert_recovers(stock, monkeypatch)
    assert not mark.exists()


def forged(parts: cache.Parts, part: str) -> cache.Parts:
    """Parts with one of them that leads nowhere, under a right sum."""
    names, arrays = parts[0], {n: np.array(a) for n, a in parts[1].items()}
    match part:
        case "no names":
            return {}, arrays
        case "refused":
            return {**names, "refused": [[99, "faulty"]]}, arrays
        case "kind":
            return {**names, "blocks": {"no such kind": names["blocks"]["stepper motor"]}}, arrays
        case "missing":
            del arrays["count"]
        case "flat":
            arrays["codes 0"] = arrays["codes 0"].reshape(-1)
        case _:
            arrays[part].reshape(-1)[0] = (
                -1 if arrays[part].dtype.kind == "i" else np.iinfo(arrays[part].dtype).max
            )
    return names, arrays


@pytest.mark.parametrize(
    "part",
    ["no names", "refused", "kind", "missing", "flat", "condition", "ends", "starts", "rows 0", "codes 0"],
)
def test_parts_that_do_not_fit_together_are_not_used(
    stock: Path, place: Path, monkeypatch: pytest.MonkeyPatch, part: str
) -> None:
    opened(stock)
    key = kept(place)[0].name.removeprefix("stock-")
    parts = cache.fetch(key)
    assert parts is not None
    cache.keep(key, forged(parts, part))
    assert cache.fetch(key) is not None
    assert_recovers(stock, monkeypatch)


def test_where_nothing_can_be_written_all_goes_on(
    stock: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    for name in (tmp_path / "file", tmp_path / "file" / "below", "~nobody-of-that-name/x"):
        monkeypatch.setenv("FITTER_CACHE", str(name))
        assert ohms(stock) == {"a": 2.8, "b": 4.7}
    assert (tmp_path / "file").read_text() == ""


@pytest.mark.parametrize("call", ["replace", "fdopen", "utime"])
def test_a_write_that_fails_leaves_nothing_behind(
    stock: Path, place: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(cache.os, call, full)
        assert ohms(stock) == {"a": 2.8, "b": 4.7}
    assert [file for file in kept(place) if file.name.startswith("new-")] == []
    assert ohms(stock) == {"a": 2.8, "b": 4.7}


def test_a_folder_in_the_place_of_a_file_is_let_be(stock: Path, place: Path) -> None:
    opened(stock)
    (file,) = kept(place)
    file.unlink()
    file.mkdir()
    assert ohms(stock) == {"a": 2.8, "b": 4.7}
    assert [each.name for each in kept(place)] == [file.name]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read and write all")
def test_a_read_only_folder_is_done_without(stock: Path, place: Path) -> None:
    place.mkdir(mode=0o500)
    assert ohms(stock) == {"a": 2.8, "b": 4.7}
    assert kept(place) == []


# ------------------------------------------------------------------ what is kept, and where


@pytest.mark.parametrize("word", ["off", "OFF", "no", "0"])
def test_it_can_be_turned_off(
    stock: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, word: str
) -> None:
    monkeypatch.setenv("FITTER_CACHE", word)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    before = set(tmp_path.iterdir())
    assert ohms(stock) == {"a": 2.8, "b": 4.7}
    assert set(tmp_path.iterdir()) == before


@pytest.mark.skipif(os.name != "posix", reason="other systems keep it elsewhere")
def test_it_is_in_the_users_folder_for_such_files(
    stock: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("FITTER_CACHE")
    monkeypatch.setattr(cache.sys, "platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "mine"))
    opened(stock)
    assert len(kept(tmp_path / "mine" / "fitter")) == 1
    assert (tmp_path / "mine" / "fitter").stat().st_mode & 0o077 == 0


def test_a_small_stock_leaves_no_file(monkeypatch: pytest.MonkeyPatch, place: Path) -> None:
    monkeypatch.undo()
    monkeypatch.setenv("FITTER_CACHE", str(place))
    assert opened(SHED).figures is None
    assert kept(place) == []


def test_only_the_files_last_used_are_kept(stock: Path, place: Path) -> None:
    opened(stock)
    first = kept(place)[0]
    (place / "mine.txt").write_text("not ours")
    half, fresh = place / "new-half", place / "new-fresh"
    half.write_text("left by a process that was stopped")
    fresh.write_text("being written by another process")
    os.utime(half, (1e9, 1e9))
    for number in range(cache.KEPT + 2):
        for file in kept(place):
            if file.name.startswith("stock-"):
                os.utime(file, (time.time() - 1000 + number, file.stat().st_mtime - 1000))
        (stock / "a.yaml").write_text(MOTOR.format(id="a", ohms="2.8"))
        opened(stock)  # the first stock is used again each time, so it stays
        (stock / "a.yaml").write_text(MOTOR.format(id="a", ohms=f"{number + 1}.1"))
        opened(stock)
    names = [file.name for file in kept(place)]
    assert first.name in names
    assert "mine.txt" in names
    assert "new-fresh" in names
    assert "new-half" not in names
    assert len(names) == cache.KEPT + 2


def test_all_of_it_may_be_deleted(stock: Path, place: Path) -> None:
    found = opened(stock)
    shutil.rmtree(place)
    assert [lot.id for lot in found.lots] == ["a", "b"]
    assert ohms(stock) == {"a": 2.8, "b": 4.7}
    assert len(kept(place)) == 1


# ------------------------------------------------------------------ stocks with errors


def test_errors_are_never_kept(stock: Path, place: Path) -> None:
    (stock / "c.yaml").write_text(
        MOTOR.format(id="a", ohms="1") + "    nonsense: 3\n  - id: x\n    kind: y\n"
    )
    with pytest.raises(FitterErrors) as plain:
        load_stock(stock)
    for _ in range(2):
        with pytest.raises(FitterErrors) as found:
            opened(stock)
        assert str(found.value) == str(plain.value)
        skipped = opened(stock, skip_bad=True)
        assert [str(e) for e in skipped.skipped] == [str(e) for e in load_stock(stock, skip_bad=True).skipped]
        assert [lot.id for lot in skipped.lots] == ["a", "b"]
    assert kept(place) == []


def test_a_file_that_cannot_be_read_is_an_error(stock: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (stock / "c.yaml").symlink_to(stock / "nothing.yaml")
    with pytest.raises(FitterError) as found:
        opened(stock)
    with pytest.raises(FitterError) as plain:
        load_stock(stock)
    assert str(found.value) == str(plain.value)


# ------------------------------------------------------------------ several processes


def _open_often(stock: Path, rounds: int) -> list[str]:
    """Open a stock again and again, deleting what is kept now and then; what was read each time."""
    cache.LEAST_BYTES = 0
    pick = random.Random(os.getpid())
    found = []
    for _ in range(rounds):
        lots = opened(stock).lots
        found.append(" ".join(f"{lot.id}={lot.ratings['resistance'].likely}" for lot in lots))
        for file in kept(cache.folder() or stock):
            if pick.random() < 0.3:
                file.unlink(missing_ok=True)
    return found


def test_processes_do_not_disturb_each_other(stock: Path, place: Path) -> None:
    rounds, at_once = 25, 4
    with multiprocessing.get_context("spawn").Pool(at_once) as pool:
        found = pool.starmap(_open_often, [(stock, rounds)] * at_once)
    assert {line for lines in found for line in lines} == {"a=2.8 b=4.7"}
    assert sum(map(len, found)) == rounds * at_once
    assert [file for file in kept(place) if file.name.startswith("new-")] == []
