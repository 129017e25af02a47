"""Files that spare the work of reading a large stock again.

A file is found by a key made of the bytes of all stock files and of the program itself, so it can never
be stale: another byte, another name or another version is another key. It holds numbers and text only,
nothing that could be executed. One that is damaged, cut short or of something else is as good as none,
and so is a folder that cannot be written. All of it may be deleted at any time.

``FITTER_CACHE`` names the folder, or says ``off``.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import sys
import tempfile
import time
import zlib
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import yaml

from fitter import __version__

if TYPE_CHECKING:
    import numpy.typing as npt

    Parts: TypeAlias = tuple[Mapping[str, Any], Mapping[str, npt.NDArray[Any]]]

LEAST_BYTES = 100_000  # of stock files; smaller ones are read as quickly
KEPT = 5  # files, the last used
_VARIABLE = "FITTER_CACHE"
_MAGIC = b"fitter cache 1\n"
_OURS = re.compile(r"stock-[0-9a-f]{64}|new-\w+")
_TYPES = ("<f8", "<i8", "<i4", "<u4", "|u1")
_AN_HOUR = 3600.0


def folder() -> Path | None:
    """Where the files are; nothing when there shall be none."""
    wanted = os.environ.get(_VARIABLE, "")
    if wanted.casefold() in ("off", "no", "0"):
        return None
    try:
        return Path(wanted).expanduser() if wanted else _users_folder() / "fitter"
    except RuntimeError:  # nobody's home
        return None


def _users_folder() -> Path:
    """Where this system keeps what programs can do without."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")


def key_of(files: Iterable[tuple[str, bytes]]) -> str:
    """The key of a stock: names and contents of its files, in order, and the program that reads them."""
    digest = hashlib.blake2b(_program(), digest_size=32)
    for name, content in files:
        for piece in (os.fsencode(name), content):
            digest.update(len(piece).to_bytes(8, "little"))
            digest.update(piece)
    return digest.hexdigest()


@cache
def _program() -> bytes:
    """A digest of everything in this package, and of the versions of what it reads with."""
    digest = hashlib.blake2b(f"{__version__} {yaml.__version__} {sys.version}".encode())
    root = Path(__file__).parents[1]
    for file in sorted(f for f in root.rglob("*") if f.suffix in (".py", ".yaml")):
        content = file.read_bytes()
        digest.update(f"{file.relative_to(root)} {len(content)}\n".encode())
        digest.update(content)
    return digest.digest()


# ---------------------------------------------------------------- reading


def fetch(key: str) -> Parts | None:
    """What was kept under a key; nothing when there is none or it is not whole."""
    place = folder()
    if place is None:
        return None
    file = place / f"stock-{key}"
    try:
        content = file.read_bytes()
        found = _unpacked(content, key)
    except (OSError, ValueError, KeyError, TypeError, RecursionError, MemoryError):
        return None
    with contextlib.suppress(OSError):
        os.utime(file)  # the last used are kept
    return found


def _unpacked(content: bytes, key: str) -> Parts:
    """Plain data and arrays of a file.

    Raises:
        ValueError, KeyError, TypeError: It is not whole, or of something else.
    """
    start = len(_head(key, 0, 0))
    length = int.from_bytes(content[start - 16 : start - 8], "little")
    body = memoryview(content)[start:]
    if content[:start] != _head(key, length, zlib.crc32(body)) or length > len(body):
        raise ValueError("not what was kept under this key")
    header = json.loads(bytes(body[:length]))
    arrays = {}
    at = start + length
    for name, kind, shape in header["arrays"]:
        if kind not in _TYPES or not all(isinstance(n, int) and n >= 0 for n in shape):
            raise ValueError("an array of unknown form")
        at += -at % 8
        size = int(np.prod(shape, dtype=np.int64))
        held = np.frombuffer(content, kind, size, at) if size else np.empty(0, kind)
        arrays[name] = held.reshape(shape)
        at += arrays[name].nbytes
    return header["names"], arrays


def _head(key: str, length: int, check: int) -> bytes:
    """What a file starts with: whose it is, the length of its header, and a sum over all that follows."""
    return _MAGIC + key.encode() + length.to_bytes(8, "little") + check.to_bytes(8, "little")


# ---------------------------------------------------------------- writing


def keep(key: str, parts: Parts) -> None:
    """Keep something under a key; where that cannot be done, all goes on without."""
    place = folder()
    if place is None:
        return
    with contextlib.suppress(OSError, ValueError, MemoryError):
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        _written(place, f"stock-{key}", list(_packed(key, *parts)))
        _tidy(place)


def _packed(
    key: str, names: Mapping[str, Any], arrays: Mapping[str, npt.NDArray[Any]]
) -> Iterator[bytes | memoryview]:
    """The pieces of a file, as :func:`_unpacked` reads it."""
    stored = {n: np.ascontiguousarray(a, a.dtype.newbyteorder("<")) for n, a in arrays.items()}
    shapes = [[name, array.dtype.str, array.shape] for name, array in stored.items()]
    header = json.dumps({"names": names, "arrays": shapes}, separators=(",", ":")).encode()
    at = len(_head(key, 0, 0)) + len(header)
    pieces: list[bytes | memoryview] = [header]
    for array in stored.values():
        gap = -at % 8
        pieces += [bytes(gap), array.reshape(-1).view(np.uint8).data]
        at += gap + array.nbytes
    check = 0
    for piece in pieces:
        check = zlib.crc32(piece, check)
    yield _head(key, len(header), check)
    yield from pieces


def _written(place: Path, name: str, pieces: Iterable[bytes | memoryview]) -> None:
    """A whole file under its name at once, so that nobody ever reads half of it."""
    handle, new = tempfile.mkstemp(prefix="new-", dir=place)
    try:
        with os.fdopen(handle, "wb") as stream:
            for piece in pieces:
                stream.write(piece)
        os.replace(new, place / name)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(new)
        raise


def _tidy(place: Path) -> None:
    """Remove all but the files last used, and what a process that was stopped left half written."""
    found = []
    for entry in os.scandir(place):
        if _OURS.fullmatch(entry.name):
            with contextlib.suppress(OSError):
                found.append((entry.stat().st_mtime, entry.path))
    found.sort(reverse=True)
    whole = [path for _, path in found if not Path(path).name.startswith("new-")]
    old = time.time() - _AN_HOUR
    half = [path for when, path in found if Path(path).name.startswith("new-") and when < old]
    for path in [*whole[KEPT:], *half]:
        with contextlib.suppress(OSError):  # another process may have been quicker
            os.unlink(path)
