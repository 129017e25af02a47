"""What `fitter identify` says, on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitter.show.terminal import _plain, console, indent
from fitter.units import show_span

if TYPE_CHECKING:
    from rich.console import Console

    from fitter.identify import CardAnswer, CoilAnswer, StepsAnswer, WiresAnswer


def wires(answer: WiresAnswer) -> None:
    """The wiring, the ways to connect it, and what is open."""
    out = console()
    out.print(_plain(f"{len(answer.wires)} wires: {answer.form or 'not told yet'}  {answer.state}"))
    for coil in answer.coils:
        out.print(indent(_plain(_coil(coil))))
    _list(out, "What fits the readings:", answer.candidates)
    if answer.state == "no match":
        _list(out, "These conduct to each other:", [" ".join(g) for g in answer.groups])
    _list(out, "Ways to connect it:", [f"{c.name}: {c.how} ({c.driver})" for c in answer.connections])
    for question in answer.questions:
        _list(out, f"Ohms cannot tell {question.question}:", [question.trial])
    if answer.measure_next:
        _list(out, "Measure next:", [", ".join(answer.measure_next)])
    _list(out, "Note:", answer.notes)


def _coil(coil: CoilAnswer) -> str:
    text = "coil " + (" - ".join(coil.ends) if len(coil.ends) == 2 else ", ".join(coil.ends))
    if coil.tap:
        text += f", tap {' and '.join(coil.tap)}"
    if coil.resistance and coil.resistance[0] is not None and coil.resistance[1] is not None:
        half = " each half" if coil.tap else ""
        text += f", {show_span(coil.resistance[0], coil.resistance[1], 'resistance')}{half}"
    return text


def _list(out: Console, head: str, lines: list[str]) -> None:
    if lines:
        out.print(_plain(head))
        for line in lines:
            out.print(indent(_plain(line)))


def card(answer: CardAnswer) -> None:
    """A card: what the readings say, cautions, then each procedure."""
    out = console()
    out.print(_plain(answer.title, "bold"))
    _list(out, "Your readings say:", [f.sentence for f in answer.findings])
    _list(out, "Take care:", list(answer.cautions.values()))
    for procedure in answer.procedures:
        _procedure(out, procedure)


def _procedure(out: Console, procedure: StepsAnswer) -> None:
    out.print()
    out.print(_plain(f"{procedure.code}  {procedure.title}, {procedure.minutes:g} minutes", "bold"))
    if procedure.tools:
        out.print(indent(_plain("tools: " + ", ".join(procedure.tools))))
    for number, step in enumerate(procedure.steps, start=1):
        out.print(indent(_plain(f"{number}. {step}")))
    if procedure.formula:
        out.print(indent(_plain(f"formula: {procedure.formula}")))
    for name, about in procedure.readings.items():
        out.print(indent(_plain(f"reading {name}: {about}")))
    for text in procedure.mind:
        out.print(indent(_plain(f"mind: {text}")))
