"""Changing a file so that an interrupt at any point leaves either the old file or the new one.

The new text is written beside the file under a hidden name, flushed to the disk, and takes the file's
place in one step; the old file stays beside it as ``NAME.bak``. The folder is locked meanwhile, so that
two commands at once come one after the other and neither loses what the other wrote.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import threading
import time
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fitter.documents import read_bytes, shown_path
from fitter.errors import FitterError

BACKUP = ".bak"
PATIENCE = 10.0  # seconds to wait for another command
_AGAIN = 0.02  # seconds between two looks at the lock


def changed(file: Path, change: Callable[[bytes], bytes]) -> bytes:
    """Change a file by a function from its old bytes to its new ones; gives the new ones.

    Raises:
        FitterError: As :func:`changed_all`.
    """
    return changed_all({file: change})[file]


def changed_all(
    changes: Mapping[Path, Callable[[bytes], bytes]], may_be_new: Collection[Path] = ()
) -> dict[Path, bytes]:
    """Change files, each by a function from its old bytes to its new ones; gives the new ones.

    Where a file is a symbolic link, what it points to is changed and the link stays. Access rights are
    kept. Nothing is written when the bytes stay the same. All new texts are on the disk before the first
    takes its place; when one of several cannot, those before it are put back.

    Args:
        changes: The files with their functions.
        may_be_new: Files that are made when they are not there; their old bytes are none.

    Raises:
        FitterError: A file cannot be read or written, another command holds it, or another program
            changed it meanwhile. The files are then as they were.
    """
    new_ones = {Path(os.path.realpath(file)) for file in may_be_new}
    swaps = []
    with contextlib.ExitStack() as held:
        files = {Path(os.path.realpath(file)): file for file in changes}
        for folder in sorted(
            {real.parent for real in files}
        ):  # in one order, so that no two wait for each other
            file = next(file for real, file in files.items() if real.parent == folder)
            held.enter_context(_failing_clearly(file))
            held.enter_context(locked(folder, file))
        for real, file in files.items():
            with _failing_clearly(file):
                _sweep(real)
                old = None if real in new_ones and not real.exists() else read_bytes(real)
                swaps.append(_Swap(file, real, old, changes[file](old or b"")))
        _replace_all([swap for swap in swaps if swap.new != swap.old])
    return {swap.file: swap.new for swap in swaps}


@dataclass(frozen=True)
class _Swap:
    """A file, where it really is, what it holds (nothing where it is not there) and what it shall hold."""

    file: Path
    real: Path
    old: bytes | None
    new: bytes

    @property
    def spare(self) -> Path:
        """Where the new text waits."""
        return _spare(self.real, str(os.getpid()))


@contextlib.contextmanager
def _failing_clearly(file: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        problem = f"cannot be written: {error.strerror or error}"
        raise FitterError(problem, file=shown_path(file), expected="the file is as it was") from error


def meanwhile(file: Path) -> FitterError:
    """The error about a file that somebody else wrote to."""
    return FitterError(
        "the file was changed by another program meanwhile",
        file=shown_path(file),
        expected="nothing was written; run it again",
    )


def _replace_all(swaps: Sequence[_Swap]) -> None:
    done: list[_Swap] = []
    try:
        for swap in swaps:
            with _failing_clearly(swap.file):
                _write(swap.spare, swap.new, swap.real)
        for swap in swaps:
            if (read_bytes(swap.real) if swap.old is not None or swap.real.exists() else None) != swap.old:
                raise meanwhile(swap.file)
        for swap in swaps:
            with _failing_clearly(swap.file):
                if swap.old is not None:
                    _back_up(swap.real)
        for swap in swaps:  # nothing but this between the first new file and the last
            with _failing_clearly(swap.file):
                done.append(swap)
                os.replace(swap.spare, swap.real)
    except BaseException:
        _put_back(done[:-1] if done and done[-1].spare.exists() else done)
        for swap in swaps:
            with contextlib.suppress(OSError):
                swap.spare.unlink(missing_ok=True)
        raise
    for folder in {swap.real.parent for swap in swaps}:
        _flush_folder(folder)


def _put_back(swaps: Sequence[_Swap]) -> None:
    """Old files in their places again; their backups are what they were, so that takes no room on the disk.

    Raises:
        FitterError: Not even that is possible; it says which file holds what.
    """
    for swap in reversed(swaps):
        try:
            if swap.old is None:
                swap.real.unlink(missing_ok=True)
            else:
                os.replace(swap.real.with_name(swap.real.name + BACKUP), swap.real)
        except OSError as error:
            raise FitterError(
                f"changed, but not all files of this change could be: {error.strerror or error}",
                file=shown_path(swap.file),
                expected=f"what it was is in {swap.file.name}{BACKUP}; or run it again",
            ) from error


def _spare(real: Path, word: str) -> Path:
    """A hidden name beside a file, which no stock takes for its own."""
    return real.with_name(f".{real.name}.{word}.tmp")


def _sweep(real: Path) -> None:
    """Remove what an interrupted change left behind; the lock is held, so nobody uses it."""
    head, tail = f".{real.name}.", ".tmp"
    for name in os.listdir(real.parent):
        word = name[len(head) : -len(tail)]
        if name.startswith(head) and name.endswith(tail) and (word.isdigit() or word == "bak"):
            real.with_name(name).unlink(missing_ok=True)


def _write(spare: Path, content: bytes, like: Path) -> None:
    """A new file with some content and the rights of another, safe on the disk."""
    handle = os.open(spare, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    try:
        rest = memoryview(content)
        while rest:
            rest = rest[os.write(handle, rest) :]
        _rights_like(handle, like)
        os.fsync(handle)
    finally:
        os.close(handle)


def _rights_like(handle: int, like: Path) -> None:
    """Owner and access rights of another file; those usual for new ones where it is not there."""
    if not hasattr(os, "fchmod"):
        return
    try:
        state = os.stat(like)
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        os.fchmod(handle, 0o666 & ~mask)
        return
    with contextlib.suppress(PermissionError):  # of another user: the rights still count
        os.fchown(handle, state.st_uid, state.st_gid)
    os.fchmod(handle, state.st_mode & 0o7777)


def _back_up(real: Path) -> None:
    """Keep the old file as ``NAME.bak``: as a second name for it, or as a copy where that is not possible."""
    spare = _spare(real, "bak")
    spare.unlink(missing_ok=True)
    try:
        os.link(real, spare)
    except OSError:
        shutil.copy2(real, spare)
    os.replace(spare, real.with_name(real.name + BACKUP))


def _flush_folder(folder: Path) -> None:
    """Make sure that the disk knows of new names; some systems have no such call and need none."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


if sys.platform == "win32":
    import msvcrt

    def _open_lock(folder: Path) -> int:
        return os.open(folder / ".fitter.lock", os.O_RDWR | os.O_CREAT)

    def _try_lock(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _open_lock(folder: Path) -> int:
        return os.open(folder, os.O_RDONLY)

    def _try_lock(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


_held: set[tuple[int, str]] = set()  # threads with the folders that they hold and need not wait for


@contextlib.contextmanager
def stock_locked(stock: Path) -> Iterator[None]:
    """Hold a whole stock, file or folder, while what is written depends on all of its lots, such as a new id.

    Raises:
        FitterError: As :func:`locked`, or its folder is not there.
    """
    folder = stock if stock.is_dir() else Path(os.path.realpath(stock)).parent
    with _failing_clearly(stock), locked(folder, stock):
        yield


@contextlib.contextmanager
def locked(folder: Path, file: Path, patience: float = PATIENCE) -> Iterator[None]:
    """Hold a folder against other commands of this sort; the lock ends with the process, however it ends.

    Held within a hold of the same folder it is the same hold.

    Raises:
        FitterError: Somebody else holds it for longer than ``patience`` seconds.
        OSError: There is no such folder.
    """
    hold = threading.get_ident(), os.path.realpath(folder)
    if hold in _held:
        yield
        return
    handle = _open_lock(folder)
    try:
        end = time.monotonic() + patience
        while not _try_lock(handle):
            if time.monotonic() > end:
                raise FitterError(
                    "another command is changing this stock", file=shown_path(file), expected="try again"
                )
            time.sleep(_AGAIN)
        _held.add(hold)
        yield
    finally:
        _held.discard(hold)
        with contextlib.suppress(OSError):  # what was written is written
            os.close(handle)
