"""Changes of YAML text that touch nothing but what is changed: comments, order and layout stay.

The places come from the marks of the parser's events, so they are where YAML itself sees them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import yaml

from fitter.documents import DEEPEST
from fitter.errors import FitterError

Value = str | Sequence[Mapping[str, str]]  # of a field: one text, or rails
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_BY_HAND = "change it by hand"


@dataclass
class Piece:
    """A node with its place, ``text[start:end]``; for blocks ``end`` is that of the last thing in it."""

    start: int
    end: int
    flow: bool = False
    value: str | None = None
    quoted: bool = False
    fields: list[tuple[Piece, Piece]] = field(default_factory=list)
    items: list[Piece] = field(default_factory=list)

    def of(self, name: str) -> Piece | None:
        """The value of a field."""
        return next((v for k, v in self.fields if k.value == name), None)


def pieces(text: str) -> Piece:
    """The only document of a text.

    Raises:
        FitterError: No YAML, or of a sort that is not edited (anchors, aliases).
    """
    try:
        events = iter([e for e in yaml.parse(text, Loader=_LOADER) if isinstance(e, _PARTS)])
        return _piece(next(events), lambda: next(events), 0)
    except (yaml.YAMLError, StopIteration) as error:
        raise FitterError("not valid YAML", expected="run `fitter stock check`") from error


_PARTS = (yaml.NodeEvent, yaml.CollectionEndEvent)


def _piece(event: yaml.Event, following: Callable[[], yaml.Event], depth: int) -> Piece:
    if depth > DEEPEST or isinstance(event, yaml.AliasEvent):
        raise FitterError("this file is written in a way that is not edited here", expected=_BY_HAND)
    start, end = _span(event)
    if isinstance(event, yaml.ScalarEvent):
        return Piece(start, end, value=event.value, quoted=event.style in ("'", '"'))
    made = Piece(start, start, flow=isinstance(event, yaml.CollectionStartEvent) and bool(event.flow_style))
    last: yaml.Event = following()
    while not isinstance(last, yaml.CollectionEndEvent):
        child = _piece(last, following, depth + 1)
        if isinstance(event, yaml.MappingStartEvent):
            value = _piece(following(), following, depth + 1)
            made.fields.append((child, value))
            child = value
        else:
            made.items.append(child)
        made.end = max(made.end, child.end)
        last = following()
    if made.flow:
        made.end = _span(last)[1]
    return made


def _span(event: yaml.Event) -> tuple[int, int]:
    """The place of an event in the text."""
    assert event.start_mark is not None
    assert event.end_mark is not None
    return event.start_mark.index, event.end_mark.index


# ---------------------------------------------------------------- fields


def set_field(text: str, lot: str, path: Sequence[str | int], value: str) -> str:
    """A text in which one field of a lot has another value; a field that is not there is added.

    Args:
        text: The file.
        lot: Id of the lot.
        path: The name, or the name of a list, a number from 0 and a name: ``("rails", 0, "voltage")``.
        value: The new value.

    Raises:
        FitterError: There is no such lot or rail.
    """
    place = _lot(pieces(text), lot)[1]
    for step in path[:-1]:
        inner = place.of(step) if isinstance(step, str) else _at(place, step)
        if inner is None or (not inner.fields and not inner.items):
            raise FitterError(f"nothing to change at {step!r}", lot=lot, expected=_BY_HAND)
        place = inner
    name = str(path[-1])
    old = place.of(name)
    if old is None:
        return _added(text, place, name, value)
    written = scalar(value, flow=place.flow, quoted=old.quoted)
    gap = " " if old.start == old.end and text[old.start - 1 : old.start] == ":" else ""
    kept_end = "\n" if text[old.start : old.end].endswith("\n") else ""  # of text written over several lines
    new = gap + written + kept_end
    return text[: old.start] + new + _in_its_column(text[old.end :], len(new) - (old.end - old.start))


def _in_its_column(rest: str, longer: int) -> str:
    """What follows a value, with a comment behind it left in its column where there is room."""
    match = re.match(" +(?=#)", rest)
    if match is None:
        return rest
    return " " * max(len(match[0]) - longer, 2) + rest[match.end() :]


def _at(place: Piece, number: int) -> Piece | None:
    return place.items[number] if 0 <= number < len(place.items) else None


def _lot(document: Piece, lot: str) -> tuple[int, Piece, Piece]:
    """Number and piece of a lot, and the list it is in."""
    lots = document.of("lots")
    for number, each in enumerate(lots.items if lots else ()):
        found = each.of("id")
        if found is not None and (found.value or "").strip() == lot:
            assert lots is not None
            return number, each, lots
    raise FitterError(f"no lot {lot!r} in this file", expected="run `fitter stock check`")


def _added(text: str, place: Piece, name: str, value: str) -> str:
    """A field more: before a note at the end, else the last one."""
    written = f"{name}: {scalar(value, flow=place.flow)}"
    if place.flow:
        last = place.fields[-1][1].end
        return f"{text[:last]}, {written}{text[last:]}"
    fields = place.fields
    before_note = name != "note" and len(fields) > 1 and fields[-1][0].value == "note"
    last = fields[-2 if before_note else -1][1].end
    indent = " " * _column(text, fields[0][0].start)
    return _line_after(text, last, f"{indent}{written}")


def _column(text: str, at: int) -> int:
    return at - max(text.rfind("\n", 0, at), text.rfind("\r", 0, at)) - 1


def _line_after(text: str, at: int, line: str) -> str:
    """A line put in below the one in which a piece ends."""
    newline = newline_of(text)
    if text[at - 1 : at] == "\n":  # the piece holds the end of its line
        return f"{text[:at]}{line}{newline}{text[at:]}"
    found = re.compile("\r\n|\n|\r").search(text, at)
    if found is None:
        return f"{text}{newline}{line}{newline}"
    return f"{text[: found.end()]}{line}{newline}{text[found.end() :]}"


def newline_of(text: str) -> str:
    """How the lines of a text end."""
    return "\r\n" if "\r\n" in text else "\n"


# ---------------------------------------------------------------- lots


def add_lot(text: str, fields: Mapping[str, Value]) -> str:
    """A text with one lot more, below the others."""
    newline = newline_of(text)
    if not text.strip():
        return newline.join(["lots:", *_block(fields, "  "), ""])
    lots = pieces(text).of("lots")
    if lots is None:
        raise FitterError("no `lots:` at the top", expected="start the file with `lots:`")
    if not lots.items:
        return (
            f"{text[: lots.start].rstrip(' ')}{newline}{newline.join(_block(fields, '  '))}{text[lots.end :]}"
        )
    last = lots.items[-1]
    if lots.flow:
        return f"{text[: last.end]}, {_in_line(fields)}{text[last.end :]}"
    indent = " " * _column(text, _dash(text, last))
    apart = [""] if len(lots.items) > 1 and _blank_before(text, _dash(text, last)) else []
    return _line_after(text, last.end, newline.join([*apart, *_block(fields, indent)]))


def remove_lot(text: str, lot: str) -> str:
    """A text without one lot and the comments on its own lines."""
    number, piece, lots = _lot(pieces(text), lot)
    others = lots.items
    if lots.flow:
        start = others[number - 1].end if number else piece.start
        end = piece.end if number or len(others) == 1 else others[1].start
        return text[:start] + text[end:]
    start = _line_start(text, _dash(text, piece))
    end = _line_end(text, piece.end)
    if number and _blank_before(text, _dash(text, piece)):
        start = _line_start(text, start - 1)
    return text[:start] + text[end:]


def _dash(text: str, item: Piece) -> int:
    """The place of the dash before an item of a block list."""
    return text.rindex("-", 0, item.start)


def _line_start(text: str, at: int) -> int:
    return at - _column(text, at)


def _line_end(text: str, at: int) -> int:
    if text[at - 1 : at] == "\n":
        return at
    found = re.compile("\r\n|\n|\r").search(text, at)
    return found.end() if found else len(text)


def _blank_before(text: str, at: int) -> bool:
    """Whether an empty line stands above the one of a place."""
    above = text[: _line_start(text, at)]
    return bool(re.search(r"(?:\n|\r|\r\n)[ ]*(?:\r\n|\n|\r)\Z", above))


def _block(fields: Mapping[str, Value], indent: str) -> list[str]:
    """A lot as lines."""
    lines = []
    for name, value in fields.items():
        if isinstance(value, str):
            lines.append(f"{name}: {scalar(value)}")
        else:
            lines += [f"{name}:", *(f"  - {_in_line(each)}" for each in value)]
    return [f"{indent}{'  ' if number else '- '}{line}" for number, line in enumerate(lines)]


def _in_line(fields: Mapping[str, Value]) -> str:
    written = (
        f"{n}: {scalar(v, flow=True)}" if isinstance(v, str) else f"{n}: [{', '.join(map(_in_line, v))}]"
        for n, v in fields.items()
    )
    return "{" + ", ".join(written) + "}"


def scalar(value: str, *, flow: bool = False, quoted: bool = False) -> str:
    """A text as YAML writes it: plain where it would be read back as it is.

    >>> scalar("1.4 A, measured"), scalar("1.4 A, measured", flow=True), scalar(">= 0.5 N m")
    ('1.4 A, measured', '"1.4 A, measured"', '">= 0.5 N m"')
    """
    if quoted or not _reads_back(value, flow):
        return json.dumps(value, ensure_ascii=False)
    return value


def _reads_back(value: str, flow: bool) -> bool:
    if not value or value in ("~", "null", "Null", "NULL") or "\n" in value or "\r" in value:
        return False
    try:
        events = list(yaml.parse(f"[{value}]" if flow else f"a: {value}", Loader=_LOADER))
    except yaml.YAMLError:
        return False
    scalars = [e for e in events if isinstance(e, yaml.ScalarEvent)]
    plain = len(scalars) == (1 if flow else 2) and len(events) == len(scalars) + 6
    last = scalars[-1] if scalars else None
    return bool(
        plain and last and last.value == value and not last.style and not last.anchor and not last.tag
    )
