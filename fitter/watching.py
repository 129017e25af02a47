"""Progress on a terminal while a search runs, and Ctrl-C, which ends it with the best so far."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from types import FrameType, TracebackType
from typing import TYPE_CHECKING, Any

from fitter.solve.limits import Progress, Watcher

if TYPE_CHECKING:
    from rich.status import Status

PATIENCE = 1.0  # seconds of work before anything is shown


class Watch(Watcher):
    """Looks on while questions are answered; shows how far they are on a terminal, and nowhere else.

    The first interrupt ends the search, whose best sets so far are then the answer; the second ends
    the program, also while that answer is being printed.
    """

    def __init__(self) -> None:
        self.stop = False
        self._started = time.monotonic()
        self._status: Status | None = None
        self._before: Any = None

    def __enter__(self) -> Watch:
        if threading.current_thread() is threading.main_thread() and _interrupts():
            self._before = signal.signal(signal.SIGINT, self._interrupted)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None
    ) -> None:
        if self._status is not None:
            self._status.stop()
        if self._before is not None and not self.stop:
            signal.signal(signal.SIGINT, self._before)

    def look(self, progress: Progress) -> None:
        if time.monotonic() - self._started >= PATIENCE and on_terminal():
            self._show(f"{self.about}: {self._words(progress)}")

    def _words(self, progress: Progress) -> str:
        if progress.best is None:
            best = "nothing found yet"
        else:
            best = f"best so far: {progress.to_buy} to buy, {progress.minutes} min to measure"
        return f"{progress.variants} ways, {progress.nodes:,} steps; {best}"

    def _show(self, text: str) -> None:
        from rich.console import Console
        from rich.status import Status
        from rich.text import Text

        if self._status is None:
            self._status = Status("", console=Console(stderr=True, highlight=False))
            self._status.start()
        self._status.update(Text(text))

    def _interrupted(self, number: int, frame: FrameType | None) -> None:
        if self.stop:
            signal.signal(signal.SIGINT, signal.SIG_IGN)  # it ends now: a third one must not tear that apart
            raise KeyboardInterrupt
        self.stop = True
        if self._status is not None:
            self._show("stopping with the best so far; Ctrl-C again ends at once")


def _interrupts() -> bool:
    """Whether interrupts end the program, as usual; not where it was started to ignore them."""
    return signal.getsignal(signal.SIGINT) is signal.default_int_handler


def on_terminal() -> bool:
    """Whether standard error is a terminal that can take back what it shows."""
    return sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
