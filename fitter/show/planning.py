"""Several builds from one stock, on a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from fitter.shopping import spec_text
from fitter.show.terminal import _STATE_STYLE, console

if TYPE_CHECKING:
    from fitter.planning.models import PlanAnswer, PlannedBuild
    from fitter.shopping import ShoppingLine


def plan(answer: PlanAnswer) -> None:
    """Builds with their parts, what they contend for, what to buy, and the step to take first."""
    out = console()
    for build in answer.builds:
        _build(out, build)
    for recipe in answer.left_out:
        out.print(Text.assemble((recipe, "bold"), "  left out: no set was found in what the others leave"))
    for clash in answer.clashes:
        who = " and ".join(clash.recipes)
        draws = f"{who} cannot all draw on {clash.lot}: together they take more than it gives for certain"
        wants = f"{who} all want {clash.lot} first, and there is not enough of it"
        _line(out, draws if clash.about == "current" else wants)
    _shopping(out, answer.shopping, answer.price)
    if answer.unlocks:
        step = answer.unlocks
        can = "can make ready" if step.step == "measure" else "makes ready"
        gain = f"{can}: {', '.join(step.ready)}" if step.ready else f"helps {', '.join(step.helps)}"
        out.print(Text.assemble(("First step: ", "bold"), f"{step.step} {step.what}; {gain}"))
    out.print(Text(_proof(answer)))


def _proof(answer: PlanAnswer) -> str:
    if answer.optimal:
        return "No plan is better: proved."
    cut = "The search was cut short; " if answer.outcome == "stopped" else ""
    return f"{cut}not proved to be the best plan."


def _build(out: Console, build: PlannedBuild) -> None:
    out.print(Text.assemble((build.title, "bold"), "  ", (build.state, _STATE_STYLE.get(build.state, ""))))
    for role, lot in build.parts.items():
        _line(out, f"{role}: {lot or 'to buy'}")
    for path in build.measure:
        _line(out, f"to measure: {path}")
    for check in build.tests:
        _line(out, f"to try: {check}")


def _shopping(out: Console, lines: Sequence[ShoppingLine], price: float | None) -> None:
    if not lines:
        return
    out.print(Text("Shopping list" + (f", about {price:g} EUR" if price else ""), style="bold"))
    for line in lines:
        _line(out, f"{line.count} x {line.kind}, such as {line.example}, for {', '.join(line.used_for)}")
        if line.spec:
            _line(out, spec_text(line), 4)


def _line(out: Console, text: str, indent: int = 2) -> None:
    out.print(Padding(Text(text), (0, 0, 0, indent)))
