"""Files that commands make for people: written whole or not at all, and only in the place of a file."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from fitter.documents import shown_path
from fitter.errors import FitterError


def write_output(file: Path, text: str, field: str) -> bool:
    """Write a file; whether it took the place of another. A symbolic link stays, what it points to is new.

    Args:
        file: Where to.
        text: What to write, line ends as they are.
        field: The option that named the file, for errors.

    Raises:
        FitterError: It cannot be written, or is a folder, a pipe or a device. What was there is still there.
    """
    shown, remedy = shown_path(file), "a file that can be written"
    try:
        real = Path(os.path.realpath(file))
        replaced = os.path.lexists(real)
        if replaced and not stat.S_ISREG(real.stat().st_mode):
            raise FitterError(f"cannot write {shown}: not a file", field=field, expected=remedy)
        _replace(real, text)
    except FitterError:
        raise
    except (OSError, ValueError) as error:
        problem = f"cannot write {shown}: {getattr(error, 'strerror', None) or error}"
        raise FitterError(problem, field=field, expected=remedy) from error
    return replaced


def _replace(file: Path, text: str) -> None:
    spare = file.with_name(f".{file.name[:80]}.{os.getpid()}.tmp")
    try:
        spare.write_text(text, encoding="utf-8", newline="")
        os.replace(spare, file)
    except BaseException:
        spare.unlink(missing_ok=True)
        raise
