"""Why a project cannot be built as asked, and what would make it go, on a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.text import Text

if TYPE_CHECKING:
    from rich.console import Console

    from fitter.models import ExplanationAnswer, StepsAnswer

MOST_SHOWN = 5


def steps(out: Console, answer: StepsAnswer, margin: int = 0) -> set[str]:
    """What is short from stock alone, and the least changes that make it go; gives what was said."""
    pad = (0, 0, 0, margin)
    if answer.steps:
        out.print(Padding(Text("Without buying, the cheapest change first:", style="bold"), pad))
        lines = [*answer.lacking, *(f"- {step.text}" for step in answer.steps)]
        for line in lines:
            out.print(Padding(Text(line), (0, 0, 0, margin + 2)))
    if answer.outcome == "stopped":
        what = "more changes" if answer.steps else "any change"
        out.print(Padding(Text(f"Time ran out before {what} without buying could be tried."), pad))
    return {step.text for step in answer.steps}


def explanations(out: Console, found: Iterable[ExplanationAnswer], said: set[str]) -> None:
    """One block for each question: whether any set will do, and whether the stock alone will.

    What was ``said`` before is left out.
    """
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
