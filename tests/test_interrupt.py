"""Ctrl-C and progress, with real processes: a search that lasts, a terminal to watch it, a signal to end it.

A set asked for a hundred times over, each unlike the others, keeps the search at work for seconds; the
signal is sent once the terminal shows that a set is found, so no time is assumed.
"""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent / "benchmarks"))
import synthetic

pty = pytest.importorskip("pty", reason="no terminals of that sort on this system")
ROOT = Path(__file__).parents[1]
LONG = ["match", "pen-plotter", "--top", "100", "--limit-seconds", "900", "--limit-nodes", "1000000000"]
FOUND = b"best so far"


@dataclass
class Watched:
    """A process whose standard error is a terminal, and what the terminal was sent."""

    process: subprocess.Popen[bytes]
    shown: bytearray = field(default_factory=bytearray)
    news: threading.Condition = field(default_factory=threading.Condition)
    ended: bool = False

    def watch(self, terminal: int) -> None:
        """Keep what the terminal is sent until the process closes it."""
        try:
            while data := os.read(terminal, 4096):
                with self.news:
                    self.shown += data
                    self.news.notify_all()
        except OSError:  # how a terminal says that nobody writes to it any more
            pass
        with self.news:
            self.ended = True
            self.news.notify_all()

    def wait_for(self, text: bytes) -> None:
        """Return once the terminal was sent a text."""
        with self.news:
            self.news.wait_for(lambda: text in self.shown or self.ended, 240)
            if text not in self.shown and self.process.poll() == 0:
                pytest.skip("the search is too quick here to be interrupted")
            assert text in self.shown, bytes(self.shown)


@pytest.fixture(scope="module")
def stock(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return synthetic.write(tmp_path_factory.mktemp("large") / "stock.yaml", 200)


@pytest.fixture
def long_search(stock: Path, request: pytest.FixtureRequest) -> Iterator[Watched]:
    """A search that lasts, at a terminal of 80 columns."""
    ours, theirs = pty.openpty()
    kept = {k: v for k, v in os.environ.items() if not k.startswith("FITTER_")}
    environment = {**kept, "PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "80"}
    words = [sys.executable, "-m", "fitter", *LONG, *getattr(request, "param", []), "--stock", str(stock)]
    process = subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=theirs, stdin=subprocess.DEVNULL, env=environment
    )
    os.close(theirs)
    watched = Watched(process)
    watcher = threading.Thread(target=watched.watch, args=[ours], daemon=True)
    watcher.start()
    yield watched
    process.kill()
    process.wait(30)
    watcher.join(30)
    os.close(ours)


@pytest.mark.parametrize("long_search", [["--json"]], indirect=True)
def test_an_interrupt_gives_the_best_so_far_in_json(long_search: Watched) -> None:
    long_search.wait_for(FOUND)
    long_search.process.send_signal(signal.SIGINT)
    out, _ = long_search.process.communicate(timeout=240)
    assert long_search.process.returncode == 0
    answer: dict[str, Any] = json.loads(out)
    assert (answer["outcome"], answer["stopped_by"]) == ("stopped", "interrupt")
    assert 1 <= len(answer["sets"]) < 100
    assert not answer["stand_in"], "what was found by then is the best there is"
    assert answer["state"] == answer["sets"][0]["state"] != "out of reach"


def test_an_interrupt_gives_the_best_so_far_and_says_so(long_search: Watched) -> None:
    long_search.wait_for(FOUND)
    long_search.process.send_signal(signal.SIGINT)
    out, _ = long_search.process.communicate(timeout=240)
    assert long_search.process.returncode == 0
    text = out.decode()
    assert "Set 1: " in text
    assert "Interrupted: the sets shown are the best, further ones may exist." in text
    assert b"Traceback" not in long_search.shown


def test_a_second_interrupt_ends_it_at_once(long_search: Watched) -> None:
    """Both may be seen as one, or the answer be there first: it ends either way, and cleanly."""
    long_search.wait_for(FOUND)
    for _ in range(50):
        if long_search.process.poll() is not None:
            break
        long_search.process.send_signal(signal.SIGINT)
        try:
            long_search.process.wait(0.02)
        except subprocess.TimeoutExpired:
            continue
    long_search.process.communicate(timeout=240)
    assert long_search.process.returncode in (0, 130)
    assert b"Traceback" not in long_search.shown
    assert b"KeyboardInterrupt" not in long_search.shown


def test_progress_is_taken_back(long_search: Watched) -> None:
    """The line with the progress is erased, and what was shown names the project."""
    long_search.wait_for(FOUND)
    long_search.process.send_signal(signal.SIGINT)
    long_search.process.communicate(timeout=240)
    assert b"pen-plotter: " in long_search.shown
    end = bytes(long_search.shown).rpartition(FOUND)[2]
    assert re.search(rb"\x1b\[(?:1A\x1b\[)?2K", end), "erased"
    assert b"\x1b[?25h" in end, "the cursor is shown again"
