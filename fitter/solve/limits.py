"""Where a search gives up, and who looks on meanwhile."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import Literal

from fitter.solve.score import BUY, FAIL, MINUTE

StoppedBy = Literal["nodes", "seconds", "interrupt"]
AT_ONCE = 100  # nodes opened before anybody looks at the clock again
BETWEEN_LOOKS = 0.1  # seconds


@dataclass(frozen=True)
class Progress:
    """How far a search has come: variants begun, nodes opened, and the best score found, if any."""

    variants: int
    nodes: int
    best: float | None

    @property
    def to_buy(self) -> int | None:
        """Purchases of the best set found."""
        return None if self.best is None else int(self.best % FAIL // BUY)

    @property
    def minutes(self) -> int | None:
        """Minutes of open measurements of the best set found."""
        return None if self.best is None else int(self.best % BUY // MINUTE)


class Watcher:
    """Looks on while searches run, and may end them by setting ``stop``; this one does neither."""

    stop: bool = False
    about: str = ""  # what is searched for

    def look(self, progress: Progress) -> None:
        """Called now and then while a search runs, at most every tenth of a second."""


@dataclass
class Limit:
    """Where a search gives up; reaching it is never taken for 'none exists'.

    One limit may serve several searches one after the other: they share its nodes and its time, which is
    processor time of this process: a busy machine takes longer but finds no less.
    """

    nodes: int = 200_000
    seconds: float = 20.0
    watcher: Watcher = field(default_factory=Watcher)
    stopped_by: StoppedBy | None = None
    used: int = 0
    variants: int = 0
    best: float | None = None
    _started: float = field(default_factory=time.process_time)
    _looked: float = field(default_factory=time.monotonic)

    @property
    def reached(self) -> bool:
        """Whether a search was cut short."""
        return self.stopped_by is not None

    def left(self) -> int:
        """Nodes that may be opened next; notes what ended the search when there are none."""
        now = time.monotonic()
        if now - self._looked >= BETWEEN_LOOKS:
            self._looked = now
            self.watcher.look(Progress(self.variants, self.used, self.best))
        self.stopped_by = self._end()
        return 0 if self.stopped_by else min(self.nodes - self.used, AT_ONCE)

    def _end(self) -> StoppedBy | None:
        if self.watcher.stop:
            return "interrupt"
        if self.used >= self.nodes:
            return "nodes"
        return "seconds" if time.process_time() - self._started > self.seconds else None

    def note(self, score: float) -> None:
        """A set of that score was found."""
        self.best = score if self.best is None else min(score, self.best)
