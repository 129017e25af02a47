"""A lot just entered, on a terminal: each word with its meaning, and what is now estimated."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.table import Table

from fitter import words
from fitter.show.terminal import _plain, console, indent

if TYPE_CHECKING:
    from fitter.entering.models import AddAnswer


def added(answer: AddAnswer) -> None:
    """What was understood, what follows from it, and where it was written."""
    out = console()
    out.print(_plain(f"{answer.lot}: {answer.count} x {answer.kind}", "bold"))
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 2, 0, 0))
    said: dict[str, list[str]] = {}
    for each in answer.understood:
        value = f"{words.rating_words(each.field)} {each.value}"
        said.setdefault(each.words, []).append(f"{value} ({each.note})" if each.note else value)
    for typed, values in said.items():
        table.add_row(_plain(typed), _plain("; ".join(values)))
    out.print(indent(table))
    if taken := _from_elsewhere(answer):
        out.print(indent(_plain(f"besides: {'; '.join(taken)}")))
    if answer.estimates:
        out.print("Now estimated from it:")
        for estimate in answer.estimates:
            out.print(indent(_plain(short(estimate.sentence))))
    for problem in answer.contradictions:
        out.print(_plain(f"Look again: {problem}", "bold yellow"))
    if answer.refused:
        out.print(_plain(f"Never placed in a build: {answer.refused}", "bold yellow"))
    for hint in answer.hints:
        out.print(_plain(f"Note: {hint}"))
    written(answer)


def written(answer: AddAnswer) -> None:
    """Where the lot stands now."""
    console().print(_plain(_where(answer)), soft_wrap=True)


def short(sentence: str) -> str:
    """An estimate without the figures it was made from, which stand above it."""
    head, _, rest = sentence.partition(": ")
    return head + "".join(rest.partition("; narrower with ")[1:])


def _from_elsewhere(answer: AddAnswer) -> list[str]:
    """Fields that no word of the line says: figures of a template."""
    said = {each.field for each in answer.understood} | {"id", "kind", "note"}
    return [
        f"{words.rating_words(name)} {value}"
        for name, value in answer.fields.items()
        if name not in said and isinstance(value, str)
    ]


def _where(answer: AddAnswer) -> str:
    why = f" ({answer.why_there})" if answer.why_there else ""
    if answer.written:
        return f"Written to {answer.file}:{answer.line}{why}"
    return f"Nothing written; it would go to {answer.file}{why}"
