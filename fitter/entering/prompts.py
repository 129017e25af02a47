"""A lot entered step by step: what it is, the few ratings that matter, where it came from, where it lies."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import typer

from fitter.documents import visible
from fitter.entering import lexicon
from fitter.entering.add import enter
from fitter.entering.lexicon import KindWords, kind_words
from fitter.entering.line import understand
from fitter.entering.meaning import Meant, Understood, ordered
from fitter.entering.models import AddAnswer
from fitter.errors import FitterError
from fitter.kinds import kind_key
from fitter.stock.lots import CONDITIONS


def guided(
    stock: Path,
    typed: Sequence[str],
    *,
    file: str | None,
    dry_run: bool,
    forced: bool,
    show: Callable[[AddAnswer], None],
) -> AddAnswer:
    """Ask for a lot, show it, and write it when that is wanted.

    Args:
        stock: File or folder of the stock.
        typed: Words given already; only what they leave open is asked for.
        file: The file of a folder to write to; chosen by kind when left out.
        dry_run: Only say what would be written.
        forced: Ask even where nobody seems to sit at a terminal.
        show: Shows what would be written before it is.

    Raises:
        FitterError: There is no terminal to ask at; and as :func:`fitter.entering.add.add`.
        KeyboardInterrupt: The answers ended, or the maker stopped.
    """
    if not forced and not (sys.stdin is not None and sys.stdin.isatty()):
        remedy = (
            "such as `fitter stock add stepper 42x40 4 wires bin B3 x8`, or --ask to be asked all the same"
        )
        raise FitterError("nothing to add, and no terminal to ask at", field="WORDS", expected=remedy)
    try:
        meant = _asked_for(typed)
        if dry_run:
            return enter(stock, meant, file=file, dry_run=True)
        show(enter(stock, meant, file=file, dry_run=True))
        if _prompt("Write it? (Enter for yes, or no)").casefold() not in ("", "y", "yes"):
            raise KeyboardInterrupt
        return enter(stock, meant, file=file, dry_run=False)
    except typer.Abort as stopped:
        raise KeyboardInterrupt from stopped


def _asked_for(typed: Sequence[str]) -> Understood:
    """The lot, as one line put together from the answers."""
    first = _first(typed)
    of = kind_words(kind_key(first.kind))
    _say(f"{of.kind.name}: {of.kind.about} Enter skips a question.")
    found = first
    for name in of.ask:
        if name not in found.fields and not (name == "frame_width" and "frame" in found.fields):
            found = _ask(_question(of, name), partial(_with_rating, of, found, name), found)
    for name, question in _PLACES.items():
        if name not in found.fields:
            found = _ask(question, partial(_with_place, of, found, name), found)
    return found


def _first(typed: Sequence[str]) -> Understood:
    """What it is: a kind, or as much of a line as the maker likes to type."""
    words = list(typed)
    while True:
        words = words or _prompt("What is it? (such as stepper, or a line)").split()
        try:
            return understand(words)
        except FitterError as error:
            _say(str(error))
            words = []


_PLACES = {
    "donor": "Out of which machine?",
    "bin": "In which bin?",
    "count": "How many pieces? (1)",
    "condition": f"Condition? ({', '.join(CONDITIONS)})",
}


def _question(of: KindWords, name: str) -> str:
    """The name of a rating, what it is of, and how to find it out."""
    spec = of.kind.ratings[name]
    about = f", {spec.help}" if spec.help else ""
    choices = f" ({', '.join(spec.choices)})" if spec.choices else ""
    how = f" [{spec.how.rstrip('.')}]" if spec.how else ""
    return f"{name.replace('_', ' ')}{about}{choices}{how}?"


def _with_rating(of: KindWords, found: Understood, name: str, text: str) -> Understood:
    """A lot with one rating more, read as in a line.

    Raises:
        FitterError: What is wrong with it.
    """
    answer = understand([*of.kind.name.split(), f"{name}={text}"]).fields
    note = "; ".join(str(each["note"]) for each in (found.fields, answer) if "note" in each)
    more = {name: answer[name], **({"note": note} if note else {})}
    return _more(of, found, more)


def _with_place(of: KindWords, found: Understood, name: str, text: str) -> Understood:
    return _more(of, found, {name: _plain(name, text)})


def _more(of: KindWords, found: Understood, more: Mapping[str, Any]) -> Understood:
    """A lot with more fields, each of them told as asked for."""
    meant = [*found.meant, *(Meant("asked", name, str(value), "") for name, value in more.items())]
    return Understood(found.kind, ordered(of, {**found.fields, **more}), tuple(meant), found.template)


def _plain(name: str, text: str) -> str:
    """An answer about the lot itself, as it is written."""
    if name == "count" and not text.isdecimal():
        raise FitterError("not a count", got=text[:40], expected="a whole number of pieces")
    if name == "condition":
        meant = lexicon.meanings("conditions").get(lexicon.plain(text))
        if meant is None:
            raise FitterError("not a condition", got=text[:40], expected=", ".join(CONDITIONS))
        return meant
    if name == "donor":
        known = lexicon.donors_called().get(lexicon.plain(text), (text,))
        if len(known) > 1:
            raise FitterError(f"{text!r} may be {' or '.join(known)}", expected="name it in full")
        return known[0]
    return text


# ---------------------------------------------------------------- asking


def _ask(question: str, read: Callable[[str], Understood], otherwise: Understood) -> Understood:
    """The lot with an answer that makes sense; as it was where the question was skipped."""
    while text := _prompt(question):
        try:
            return read(text)
        except FitterError as error:
            _say(str(error))
    return otherwise


def _prompt(question: str) -> str:
    """A line typed; nothing but answers is read from a pipe, and nothing goes to standard output.

    Raises:
        typer.Abort: The answers ended.
    """
    if sys.stdin.isatty():
        return str(
            typer.prompt(question, default="", show_default=False, prompt_suffix=" ", err=True)
        ).strip()
    _say(question)
    line = sys.stdin.readline()
    if not line:
        raise typer.Abort
    return line.strip()


def _say(text: str) -> None:
    print(visible(text), file=sys.stderr)
