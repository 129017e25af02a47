"""Several pieces of work at once, one process for each of the machine's cores.

Searches are pure Python and share nothing but what was read before they start, so each can run in a
copy of the process (``fork``). Where there is no such thing, or only one core, the work is done one
piece after the other.
"""

from __future__ import annotations

import os
import pickle
import select
import signal
from collections.abc import Callable, Sequence
from typing import TypeVar

from fitter.solve.limits import Watcher

Task = TypeVar("Task")
Result = TypeVar("Result")
CHUNK = 1 << 16


def cores() -> int:
    """How many processes may run at once; one where a process cannot be copied."""
    if not hasattr(os, "fork"):
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def side_by_side(
    tasks: Sequence[Task],
    work: Callable[[Task], Result],
    weigh: Callable[[Task], float],
    watcher: Watcher,
    processes: int,
) -> list[Result]:
    """The result of each task, in their order.

    Args:
        tasks: What is to be done.
        work: Does one; its result must be such as pickle can carry.
        weigh: About how long one takes, in whatever unit.
        watcher: Told to stop, it stops the copies too; only this process shows how far it is.
        processes: At most so many, this one included.
    """
    shares = _shares(tasks, weigh, min(processes, len(tasks)))
    copies = [_Copy([(i, tasks[i]) for i in share], work, watcher) for share in shares[1:]]
    try:
        found = {i: work(tasks[i]) for i in (shares[0] if shares else [])}
        for copy, share in zip(copies, shares[1:], strict=True):
            done: dict[int, Result] = copy.results(watcher)
            found |= {i: done[i] if i in done else work(tasks[i]) for i in share}
    finally:
        for copy in copies:
            copy.end()
    return [found[i] for i in range(len(tasks))]


def _shares(tasks: Sequence[Task], weigh: Callable[[Task], float], count: int) -> list[list[int]]:
    """Heaviest first, each to whoever has least so far; the first share is the heaviest."""
    shares: list[tuple[float, list[int]]] = [(0.0, []) for _ in range(count)]
    for i in sorted(range(len(tasks)), key=lambda i: -weigh(tasks[i])):
        least = min(range(count), key=lambda s: (shares[s][0], s))
        total, share = shares[least]
        shares[least] = total + weigh(tasks[i]), [*share, i]
    return [share for _, share in sorted(shares, key=lambda s: -s[0])]


class _Copy:
    """A copy of this process that does some tasks and sends back what it found."""

    def __init__(
        self, tasks: Sequence[tuple[int, Task]], work: Callable[[Task], Result], watcher: Watcher
    ) -> None:
        self._reader, writer = os.pipe()
        # an interrupt that comes while the copy is made waits until it knows what to do with one
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        self.process = os.fork()
        if self.process == 0:
            signal.signal(signal.SIGINT, lambda number, frame: setattr(watcher, "stop", True))
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
            os.close(self._reader)
            _answer(tasks, work, watcher, writer)
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
        os.close(writer)

    def results(self, watcher: Watcher) -> dict[int, Result]:
        """What it found, by place; nothing of a task in which it failed or died."""
        received = bytearray()
        while True:
            if watcher.stop:
                os.kill(self.process, signal.SIGINT)
            if not select.select([self._reader], [], [], 0.1)[0]:
                continue
            chunk = os.read(self._reader, CHUNK)
            if not chunk:
                break
            received += chunk
        try:
            return dict(pickle.loads(received))
        except (pickle.UnpicklingError, EOFError):
            return {}

    def end(self) -> None:
        """Make sure that it is gone."""
        os.close(self._reader)
        os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)


def _answer(
    tasks: Sequence[tuple[int, Task]], work: Callable[[Task], Result], watcher: Watcher, writer: int
) -> None:
    """Do the tasks in the copy, silently, and end it without any of the usual last rites."""
    try:
        watcher.look = lambda progress: None  # type: ignore[method-assign]
        found: dict[int, Result] = {}
        try:
            for i, task in tasks:
                found[i] = work(task)
        finally:
            with os.fdopen(writer, "wb") as pipe:
                pickle.dump(found, pipe)
    finally:
        os._exit(0)
