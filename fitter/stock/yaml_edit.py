"""Changes of YAML text that touch nothing but what is changed: comments, order and layout stay.

The places come from the marks of the parser's events, so they are where YAML itself sees them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import yaml

from fitter.documents import DEEPEST, utf8
from fitter.errors import FitterError

Value = str | Sequence[Mapping[str, str]]  # of a field: one text, or rails
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_BY_HAND = "change it by hand"
_LINE_END = re.compile("\r\n|\n|\r")
_BEFORE_COMMENT = re.compile(" +(?=#)")
_PLAIN = re.compile(r"[0-9A-Za-z](?:[\w .%/()+*=<>-]*[\w.%)])?(?:, [a-z]+)?", re.ASCII)
_COMMENT_LINE = re.compile(r"(?:(?P<above>above )?(?P<label>[\w\[\]]+) )?(?P<comment>#.*)")
COMMENT = "file_comment"  # what stands beside a lot as comments, where it is carried as a field
FieldSet = tuple[str, Sequence[str | int], str]  # a lot, the way to a field, its new value


@dataclass(slots=True)
class Piece:
    """A node with its place, ``text[start:end]``; for blocks ``end`` is that of the last thing in it."""

    start: int
    end: int
    flow: bool = False
    value: str | None = None
    quoted: bool = False
    fields: Sequence[tuple[Piece, Piece]] = ()
    items: Sequence[Piece] = ()

    def of(self, name: str) -> Piece | None:
        """The value of a field."""
        return next((v for k, v in self.fields if k.value == name), None)


@dataclass(frozen=True)
class Splice:
    """A stretch of a text, ``text[start:end]``, and what takes its place."""

    start: int
    end: int
    new: str


def spliced(text: str, splices: Iterable[Splice]) -> str:
    """A text with stretches replaced that do not overlap; of those at one place the first comes first."""
    made: list[str] = []
    at = 0
    for each in sorted(splices, key=lambda s: s.start):
        made += [text[at : each.start], each.new]
        at = each.end
    return "".join([*made, text[at:]])


def pieces(text: str) -> Piece:
    """The only document of a text.

    Raises:
        FitterError: No YAML, or of a sort that is not edited (anchors, aliases).
    """
    try:
        events = _events(text)
        root = _piece(next(events), events.__next__, 0)
        for _ in events:  # what comes after it must be YAML as well
            pass
    except (yaml.YAMLError, StopIteration) as error:
        raise FitterError("not valid YAML", expected="run `fitter stock check`") from error
    return root


_PARTS = (yaml.NodeEvent, yaml.CollectionEndEvent)


def _events(text: str) -> Iterator[yaml.Event]:
    """The events of values, one by one: a large file has too many to keep them."""
    loader = _LOADER(text)
    while (event := loader.get_event()) is not None:
        if isinstance(event, _PARTS):
            yield event


def _piece(event: yaml.Event, following: Callable[[], yaml.Event], depth: int) -> Piece:
    if depth > DEEPEST or isinstance(event, yaml.AliasEvent):
        raise FitterError("this file is written in a way that is not edited here", expected=_BY_HAND)
    start, end = _span(event)
    if isinstance(event, yaml.ScalarEvent):
        return Piece(start, end, value=event.value, quoted=event.style in ("'", '"'))
    fields: list[tuple[Piece, Piece]] = []
    items: list[Piece] = []
    flow = isinstance(event, yaml.CollectionStartEvent) and bool(event.flow_style)
    end = start
    while not isinstance(last := following(), yaml.CollectionEndEvent):
        child = _piece(last, following, depth + 1)
        if isinstance(event, yaml.MappingStartEvent):
            value = _piece(following(), following, depth + 1)
            fields.append((child, value))
            child = value
        else:
            items.append(child)
        end = max(end, child.end)
    return Piece(start, _span(last)[1] if flow else end, flow, fields=fields, items=items)


def _span(event: yaml.Event) -> tuple[int, int]:
    """The place of an event in the text."""
    assert event.start_mark is not None
    assert event.end_mark is not None
    return event.start_mark.index, event.end_mark.index


# ---------------------------------------------------------------- fields


def set_fields(text: str, sets: Iterable[FieldSet]) -> str:
    """A text in which fields of lots have other values; fields that are not there are added.

    Args:
        text: The file.
        sets: Id of a lot, the way to a field, and its new value. The way is the name, or the name of a
            list, a number from 0 and a name: ``("rails", 0, "voltage")``. The last of several for one field
            counts.

    Raises:
        FitterError: There is no such lot or rail.
    """
    lots = _by_id(pieces(text))
    splices: list[Splice] = []
    added: dict[int, tuple[Piece, int, dict[str, str]]] = {}
    for (lot, path), value in {(lot, tuple(path)): value for lot, path, value in sets}.items():
        place = _place(lots, lot, path)
        old = place.of(str(path[-1]))
        if old is None:
            added.setdefault(id(place), (place, len(path), {}))[2][str(path[-1])] = value
        else:
            splices.append(_replaced(text, old, place.flow, value))
    if any(not place.flow for place, _, _ in added.values()) and not text.endswith(("\n", "\r")):
        text += newline_of(text)
    inner_first = sorted(added.values(), key=lambda a: -a[1])  # a list and its lot may end on the same line
    return spliced(text, [*splices, *(_added(text, place, values) for place, _, values in inner_first)])


def _by_id(document: Piece, top: str = "lots", key: str = "id") -> dict[str, tuple[int, Piece]]:
    """Number and piece of each lot, or of each entry of another list, by the field that names it."""
    entries = document.of(top)
    found: dict[str, tuple[int, Piece]] = {}
    for number, each in enumerate(entries.items if entries else ()):
        name = each.of(key)
        if name is not None:
            found.setdefault((name.value or "").strip(), (number, each))
    return found


def _lot(lots: Mapping[str, tuple[int, Piece]], lot: str) -> tuple[int, Piece]:
    if lot not in lots:
        raise FitterError(f"no lot {lot!r} in this file", expected="run `fitter stock check`")
    return lots[lot]


def _place(lots: Mapping[str, tuple[int, Piece]], lot: str, path: Sequence[str | int]) -> Piece:
    """The piece whose field is meant: a lot, or a rail of it."""
    place = _lot(lots, lot)[1]
    for step in path[:-1]:
        inner = place.of(step) if isinstance(step, str) else _at(place, step)
        if inner is None or (not inner.fields and not inner.items):
            raise FitterError(f"nothing to change at {step!r}", lot=lot, expected=_BY_HAND)
        place = inner
    return place


def _replaced(text: str, old: Piece, flow: bool, value: str) -> Splice:
    """A value in the place of another; a comment behind it stays in its column where there is room."""
    gap = " " if old.start == old.end and text[old.start - 1 : old.start] == ":" else ""
    kept_end = "\n" if text[old.start : old.end].endswith("\n") else ""  # of text written over several lines
    new = gap + scalar(value, flow=flow, quoted=old.quoted) + kept_end
    match = _BEFORE_COMMENT.match(text, old.end)
    if match is None:
        return Splice(old.start, old.end, new)
    longer = len(new) - (old.end - old.start)
    return Splice(old.start, match.end(), new + " " * max(len(match[0]) - longer, 2))


def _at(place: Piece, number: int) -> Piece | None:
    return place.items[number] if 0 <= number < len(place.items) else None


def _added(text: str, place: Piece, values: Mapping[str, str]) -> Splice:
    """Fields more: before a note at the end, else the last ones."""
    written = [f"{name}: {scalar(value, flow=place.flow)}" for name, value in values.items()]
    fields = place.fields
    if place.flow:
        last = fields[-1][1].end
        return Splice(last, last, "".join(f", {each}" for each in written))
    before_note = "note" not in values and len(fields) > 1 and fields[-1][0].value == "note"
    last = fields[-2 if before_note else -1][1].end
    indent = " " * _column(text, fields[0][0].start)
    return _lines_after(text, last, [indent + each for each in written])


def _column(text: str, at: int) -> int:
    newline = text.rfind("\n", 0, at)
    return at - max(newline, text.rfind("\r", newline + 1, at)) - 1


def _lines_after(text: str, at: int, lines: Sequence[str]) -> Splice:
    """Lines put in below the one in which a piece ends."""
    newline = newline_of(text)
    place = _line_end(text, at)
    ended = place == 0 or text[place - 1] in "\r\n"
    return Splice(place, place, ("" if ended else newline) + "".join(f"{line}{newline}" for line in lines))


def newline_of(text: str) -> str:
    """How the lines of a text end, as its first one shows."""
    first = _LINE_END.search(text)
    return "\r\n" if first and first[0] == "\r\n" else "\n"


# ---------------------------------------------------------------- lots


def add_lots(text: str, lots: Sequence[Mapping[str, Value]]) -> str:
    """A text with some lots more, below the others."""
    return add_entries(text, "lots", lots)


def add_entries(text: str, top: str, entries: Sequence[Mapping[str, Value]]) -> str:
    """A text with some entries more in the list of a name at the top, below the others."""
    newline = newline_of(text)
    if not text.strip():
        return newline.join([f"{top}:", *(line for each in entries for line in _block(each, "  ")), ""])
    old = pieces(text).of(top)
    if old is None:
        raise FitterError(f"no `{top}:` at the top", expected=f"start the file with `{top}:`")
    if old.fields or old.value not in (None, "", "~", "null"):
        raise FitterError(f"`{top}:` is not a list", expected="each entry starts with `- `")
    if not old.items:
        head = text[: old.start].rstrip(" ")
        lines = newline.join(line for each in entries for line in _block(each, "  "))
        return f"{head}{newline}{lines}{text[old.end :]}"
    last = old.items[-1]
    if old.flow:
        return spliced(text, [Splice(last.end, last.end, "".join(f", {_in_line(e)}" for e in entries))])
    dash = _dash(text, last)
    indent = " " * _column(text, dash)
    apart = [""] if len(old.items) > 1 and _blank_before(text, dash) else []
    lines_of_all = [line for each in entries for line in (*apart, *_block(each, indent))]
    return spliced(text, [_lines_after(text, last.end, lines_of_all)])


def remove_lot(text: str, lot: str) -> str:
    """A text without one lot and the comments on its own lines."""
    document = pieces(text)
    return _without(text, document.of("lots"), *_lot(_by_id(document), lot))


def remove_entry(text: str, top: str, key: str, value: str) -> str:
    """A text without the entry of a list that has this value in a field; as it is where there is none."""
    document = pieces(text)
    found = _by_id(document, top, key).get(value)
    return _without(text, document.of(top), *found) if found else text


def _without(text: str, entries: Piece | None, number: int, piece: Piece) -> str:
    assert entries is not None
    others = entries.items
    if entries.flow:
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
    """The place after the end of a line; a piece written over several lines holds that end."""
    if text[at - 1 : at] == "\n":
        return at
    found = _LINE_END.search(text, at)
    return found.end() if found else len(text)


def _blank_before(text: str, at: int) -> bool:
    """Whether an empty line stands above the one of a place."""
    end = _line_start(text, at)
    above = text[max(0, end - 200) : end]  # no line of blanks is longer
    return bool(re.search(r"(?:\n|\r|\r\n)[ ]*(?:\r\n|\n|\r)\Z", above))


def _block(fields: Mapping[str, Value], indent: str) -> list[str]:
    """An entry as lines, with the comments of its ``file_comment``; see :mod:`fitter.stock.comments`."""
    above, behind = _comments(fields.get(COMMENT, ""))
    lines: list[tuple[str, str]] = []  # the label of a line and the line
    for name, value in fields.items():
        if name == COMMENT:
            continue
        if isinstance(value, str) and _reads_as_lines(value):
            lines += [(name, f"{name}: |-"), *((f"{name} text", f"  {line}") for line in value.split("\n"))]
        elif isinstance(value, str):
            lines.append((name, f"{name}: {scalar(value)}"))
        else:
            lines.append((name, f"{name}:"))
            lines += [(f"{name}[{n}]", f"  - {_in_line(each)}") for n, each in enumerate(value, start=1)]
    known = {label for label, _ in lines}
    head = [
        c for label, comments in (*above.items(), *behind.items()) if label not in known for c in comments
    ]
    made = [f"{indent}{comment}" for comment in head]
    for number, (label, line) in enumerate(lines):
        made += [f"{indent}  {comment}" for comment in above.get(label, ())]
        tail = "".join(f"  {comment}" for comment in behind.get(label, ()))
        made.append(f"{indent}{'  ' if number else '- '}{line}{tail}")
    return made


def _comments(said: Value) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
    """Comments above lines and behind them, by the label of the line; without label, above the lot."""
    above: dict[str, list[str]] = {}
    behind: dict[str, list[str]] = {}
    for line in said.splitlines() if isinstance(said, str) else ():
        match = _COMMENT_LINE.fullmatch(line.strip())
        if match is None:
            above.setdefault("", []).append(f"# {line.strip()}")
        elif match["label"] and not match["above"]:
            behind.setdefault(match["label"], []).append(match["comment"])
        else:
            above.setdefault(match["label"] or "", []).append(match["comment"])
    return above, behind


def _in_line(fields: Mapping[str, Value]) -> str:
    written = (
        f"{n}: {scalar(v, flow=True)}" if isinstance(v, str) else f"{n}: [{', '.join(map(_in_line, v))}]"
        for n, v in fields.items()
        if n != COMMENT
    )
    return "{" + ", ".join(written) + "}"


def scalar(value: str, *, flow: bool = False, quoted: bool = False) -> str:
    """A text as YAML writes it: plain where it would be read back as it is.

    Raises:
        FitterError: It is no text that a file can hold.

    >>> scalar("1.4 A, measured"), scalar("1.4 A, measured", flow=True), scalar(">= 0.5 N m")
    ('1.4 A, measured', '"1.4 A, measured"', '">= 0.5 N m"')
    """
    utf8(value)
    if quoted or not _reads_back(value, flow):
        return json.dumps(value, ensure_ascii=False)
    return value


def _reads_as_lines(value: str) -> bool:
    """Whether a text of several lines may stand as it is, indented below its name."""
    lines = value.split("\n")
    return len(lines) > 1 and value == value.strip() and all(map(str.isprintable, lines))


def _reads_back(value: str, flow: bool) -> bool:
    if not value or value in ("~", "null", "Null", "NULL") or "\n" in value or "\r" in value:
        return False
    if _PLAIN.fullmatch(value) and not (
        flow and "," in value
    ):  # most values; told a hundred times sooner than by the parser
        return True
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
