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
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from fitter.documents import read_bytes, shown_path
from fitter.errors import FitterError

BACKUP = ".bak"
PATIENCE = 10.0  # seconds to wait for another command
_AGAIN = 0.02  # seconds between two looks at the lock


def changed(file: Path, change: Callable[[bytes], bytes]) -> bytes:
    """Change a file by a function from its old bytes to its new ones; gives the new ones.

    Where ``file`` is a symbolic link, what it points to is changed and the link stays. Access rights are
    kept. Nothing is written when the bytes stay the same.

    Raises:
        FitterError: The file cannot be read or written, another command holds it, or another program
            changed it meanwhile. The file is then as it was.
    """
    real = Path(os.path.realpath(file))
    with _failing_clearly(file), locked(real.parent, file):
        _sweep(real)
        old = read_bytes(real)
        new = change(old)
        if new != old:
            _replace(real, old, new, file)
        return new


@contextlib.contextmanager
def _failing_clearly(file: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        problem = f"cannot be written: {error.strerror or error}"
        raise FitterError(problem, file=shown_path(file), expected="the file is as it was") from error


def _replace(real: Path, old: bytes, new: bytes, file: Path) -> None:
    spare = _spare(real, str(os.getpid()))
    try:
        _write(spare, new, real)
        if read_bytes(real) != old:
            raise FitterError(
                "the file was changed by another program meanwhile",
                file=shown_path(file),
                expected="nothing was written; run it again",
            )
        _back_up(real)
        os.replace(spare, real)
    except BaseException:
        spare.unlink(missing_ok=True)
        raise
    _flush_folder(real.parent)


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
    """A new file with some content and the access rights of another, safe on the disk."""
    handle = os.open(spare, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    try:
        rest = memoryview(content)
        while rest:
            rest = rest[os.write(handle, rest) :]
        state = os.stat(like)
        if hasattr(os, "fchmod"):
            with contextlib.suppress(PermissionError):  # of another user: the rights still count
                os.fchown(handle, state.st_uid, state.st_gid)
            os.fchmod(handle, state.st_mode & 0o7777)
        os.fsync(handle)
    finally:
        os.close(handle)


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


@contextlib.contextmanager
def locked(folder: Path, file: Path, patience: float = PATIENCE) -> Iterator[None]:
    """Hold a folder against other commands of this sort; the lock ends with the process, however it ends.

    Raises:
        FitterError: Somebody else holds it for longer than ``patience`` seconds.
        OSError: There is no such folder.
    """
    handle = _open_lock(folder)
    try:
        end = time.monotonic() + patience
        while not _try_lock(handle):
            if time.monotonic() > end:
                raise FitterError(
                    "another command is changing this stock", file=shown_path(file), expected="try again"
                )
            time.sleep(_AGAIN)
        yield
    finally:
        os.close(handle)
