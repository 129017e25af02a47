"""Changing a file of what is set aside: entries added and taken out in the text, all else left as it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from fitter.documents import shown_path, text_of
from fitter.errors import FitterError
from fitter.stock.replace import changed_all
from fitter.stock.set_aside import Event, Part, SetAside, SetAsideFile, holds_nothing, read_file
from fitter.stock.yaml_edit import Value, add_entries, pieces, remove_entry

HEADER = """\
# What is set aside for builds, and what became of it: `fitter stock take`, `put-back`, `used-up`.
# It may be changed by hand: an entry taken out puts its parts back.
"""
LISTS = "set_aside:\nhistory:\n"


class ChangedMeanwhileError(FitterError):
    """Somebody else changed what is set aside between reading and writing it."""


def store(
    file: SetAsideFile,
    builds: Sequence[SetAside],
    event: Event | None = None,
    removed: str = "",
    others: Sequence[SetAsideFile] = (),
) -> SetAsideFile:
    """Make a file hold these builds, with one line more in its history; gives it as it is then.

    Args:
        file: As it was read; it may not be there yet.
        builds: All it shall hold.
        event: What happened, with ``removed`` as the text of lots that left the stock.
        others: Files of the same stock that must not have changed either.

    Raises:
        ChangedMeanwhileError: It is not as it was read any more; nothing was written.
        FitterError: It cannot be written, or not without changing more than what was meant.
    """

    def change(old: bytes) -> bytes:
        if old != file.content or any(o.file.read_bytes() != o.content for o in others):
            problem = "what is set aside was changed by another command meanwhile"
            raise ChangedMeanwhileError(problem, file=shown_path(file.file), expected="run it again")
        new = _changed(old, file, builds, event, removed).encode("utf-8")
        _as_meant(read_file(file.file, new), file, builds, event)
        return new

    new = changed_all({file.file: change}, may_be_new=[file.file])
    return read_file(file.file, new[file.file])


def _changed(
    old: bytes, file: SetAsideFile, builds: Sequence[SetAside], event: Event | None, removed: str
) -> str:
    text = text_of(old, shown_path(file.file))
    if holds_nothing(old):
        text = text + LISTS if text else HEADER + LISTS
    for each in file.builds:
        if each not in builds:
            text = remove_entry(text, "set_aside", "name", each.name)
    for each in builds:
        if each not in file.builds:
            text = _added(text, "set_aside", dict(_fields(each)))
    if event is None:
        return text
    line = {"date": event.date, "what": event.what, "build": event.build, "recipe": event.recipe}
    more = {"parts": event.parts} | ({"removed": removed.rstrip()} if removed else {})
    return _added(text, "history", line | more)


def _added(text: str, top: str, fields: Mapping[str, Value]) -> str:
    """An entry more; the name of the list too, where a hand left it out."""
    if pieces(text).of(top) is None:
        text = f"{text.rstrip()}\n{top}:\n"
    return add_entries(text, top, [{name: value for name, value in fields.items() if value}])


def _fields(build: SetAside) -> Iterator[tuple[str, Value]]:
    yield from (("name", build.name), ("recipe", build.recipe), ("date", build.date), ("state", build.state))
    yield "demands", build.demands
    yield "parts", [dict(_part(part)) for part in build.parts]
    yield "to_buy", [{"role": role, "what": what} for role, what in build.to_buy]
    yield "to_measure", build.to_measure


def _part(part: Part) -> Iterator[tuple[str, str]]:
    shown = {
        "role": part.role,
        "lot": part.lot,
        "count": str(part.count or ""),
        "offer": part.offer,
        "rail": str(part.rail or ""),
        "current": f"{part.current:.10g} A" if part.shares else "",
        "power": f"{part.power:.10g} W" if part.shares else "",
        "outputs": part.outputs,
        "leaving": part.leaving,
        "was": str(part.was) if part.leaving else "",
        "gone": part.gone,
    }
    return ((name, value) for name, value in shown.items() if value)


def _as_meant(new: SetAsideFile, old: SetAsideFile, builds: Sequence[SetAside], event: Event | None) -> None:
    """What comes out must be what was meant, nothing else changed.

    Raises:
        FitterError: It is not.
    """
    by_name = {b.name: b for b in builds}
    grown = (*old.history, event) if event else old.history
    if {b.name: b for b in new.builds} != by_name or new.history != grown:
        problem = "this change would not come out as meant; nothing was written"
        raise FitterError(problem, file=shown_path(new.file), expected="change it by hand")
