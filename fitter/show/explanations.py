"""Why a project cannot be built as asked, and what would make it go, on a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text

if TYPE_CHECKING:
    from rich.console import Console

    from fitter.models import ExplanationAnswer

MOST_SHOWN = 5


def explanations(out: Console, found: Iterable[ExplanationAnswer]) -> None:
    """One block for each question: whether any set will do, and whether the stock alone will."""
    said: set[str] = set()
    for each in found:
        where = "from stock alone" if each.from_stock else "even with parts bought"
        out.print()
        _block(out, f"Why not {where}; cannot be had:", [c.text for c in each.clashes])
        texts = [r.text for r in each.relaxations[:MOST_SHOWN] if r.text not in said]
        end = "from stock alone" if each.from_stock else "with parts bought"
        _block(out, f"Would go {end}, the least change first:", texts)
        said.update(texts)
        if each.hopeless:
            out.print(f"No change of what is asked makes it go {where}.")
        if each.outcome == "stopped":
            out.print("Time ran out before all of this was tried.")


def _block(out: Console, head: str, lines: Sequence[str]) -> None:
    if lines:
        out.print(Text(head, style="bold"))
        for line in lines:
            out.print(Padding(Text(line), (0, 0, 0, 2)))
