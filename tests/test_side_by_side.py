"""Work in copies of the process: the same results in the same order, whatever becomes of a copy."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from fitter import answers
from fitter.shed import Shed
from fitter.side_by_side import cores, side_by_side
from fitter.solve.limits import Watcher

SHED = Path(__file__).parents[1] / "inventory_examples" / "repair_shed"

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot copy a process")


@pytest.mark.parametrize("processes", [1, 2, 3, 9])
def test_results_come_in_the_order_of_the_tasks(processes: int) -> None:
    found = side_by_side([3, 1, 2, 5, 4], lambda n: n * n, float, Watcher(), processes)
    assert found == [9, 1, 4, 25, 16]
    assert side_by_side([], lambda n: n, float, Watcher(), processes) == []


def test_work_is_done_in_several_processes() -> None:
    found = side_by_side([2, 1], lambda n: os.getpid(), float, Watcher(), 2)
    assert found[0] == os.getpid() != found[1]


def test_what_a_copy_leaves_undone_is_done_here() -> None:
    here = os.getpid()

    def work(n: int) -> int:
        if os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return n

    assert side_by_side([1, 2, 3], work, float, Watcher(), 3) == [1, 2, 3]


def test_a_failure_in_a_copy_is_raised_here() -> None:
    def work(n: int) -> float:
        return 1 / n

    with pytest.raises(ZeroDivisionError):
        side_by_side([2, 0], work, lambda n: float(n + 1), Watcher(), 2)


def test_a_watcher_that_stops_ends_the_copies_too() -> None:
    here = os.getpid()

    class Stopped(Watcher):
        stop = False

    watcher = Stopped()

    def work(n: int) -> str:
        if os.getpid() == here:
            watcher.stop = True
            return "here"
        while not watcher.stop:
            time.sleep(0.01)
        return "stopped"

    assert side_by_side([2, 1], work, float, watcher, 2) == ["here", "stopped"]


def test_no_copy_is_left_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []
    fork = os.fork

    def noted() -> int:
        made.append(fork())
        return made[-1]

    monkeypatch.setattr(os, "fork", noted)
    side_by_side([1, 2, 3], lambda n: n, float, Watcher(), 3)
    assert len(made) == 2
    for process in made:
        with pytest.raises(ChildProcessError):
            os.waitpid(process, os.WNOHANG)


def test_answers_are_the_same() -> None:
    shed = Shed.open(SHED)
    assert cores() >= 1
    assert answers.builds(shed, processes=3) == answers.builds(shed)
