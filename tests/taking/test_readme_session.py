"""The session that the README shows is what the commands print, one after the other."""

from __future__ import annotations

import os
import re
import shlex
from pathlib import Path

import pytest
from magnet_stock import Run

README = Path(__file__).parents[2] / "README.md"
BLOCK = re.compile(r"(<!-- session: taking -->\n```text\n)(.*?)(```)", re.S)
STEPS = (
    "fitter stock take drawer-rails --as tool-drawer",
    "fitter stock set-aside",
    "fitter stock used-up tool-drawer",
)


def test_the_session_of_the_readme(fitter: Run, shed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fitter.taking.take.today", lambda: "2026-05-01")
    monkeypatch.setenv("FITTER_STOCK", shed.name)
    monkeypatch.chdir(shed.parent)
    printed = ""
    for step in STEPS:
        status, out, err = fitter(*shlex.split(step)[1:])
        assert (status, err) == (0, "")
        printed += f"$ {step}\n" + "".join(f"{line.rstrip()}\n" for line in out.splitlines())
    text = README.read_text(encoding="utf-8")
    match = BLOCK.search(text)
    assert match is not None
    if os.environ.get("FITTER_UPDATE_DOCS"):
        README.write_text(text[: match.start(2)] + printed + text[match.start(3) :], encoding="utf-8")
    else:
        assert match[2] == printed
