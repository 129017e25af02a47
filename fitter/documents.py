"""Reading files with the place of every value, for errors that name file and line.

Only plain YAML is taken: no aliases, anchors or tags, limited depth and size, so that no file can
exhaust memory or time. What is wrong with one value is kept in its place as :class:`Bad`, so that the
rest of a file can still be read.
"""

from __future__ import annotations

import difflib
import os
import re
import stat
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from fitter.errors import FitterError

DEEPEST = 8
LARGEST_FILE = 64 * 2**20
_LISTED = 40
_NAMES_KEPT = 1000
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NOTHING = ("~", "null", "Null", "NULL")
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufffe\uffff]")
_HARMFUL = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")
_LIKELY_CAUSES = (
    (re.compile(r"\s*\t"), "indent with spaces, not with tabs"),
    (
        re.compile(r".*?[:-]\s+[>|%@`*&!?]"),
        'put a value that starts with such a sign in quotes, such as ">= 0.5 N m"',
    ),
    (re.compile(r".*: .*: "), "put a value with `: ` in it in quotes, and check the indentation"),
)


@dataclass(slots=True)
class Text:
    """A scalar as written, with its line. Not frozen: a stock has millions, and those take twice as long."""

    text: str
    line: int


@dataclass(frozen=True, slots=True)
class Bad:
    """A value that is not plain YAML, with what is wrong and its line."""

    error: FitterError
    line: int


class Items(list["Node"]):
    """A list, with the line it starts on."""

    def __init__(self, line: int) -> None:
        super().__init__()
        self.line = line


class Fields(dict[str, "Node"]):
    """Names with their values, with the line they start on."""

    def __init__(self, line: int) -> None:
        super().__init__()
        self.line = line


Node = Text | Items | Fields | Bad


def line_of(node: Node) -> int:
    """The line a node starts on."""
    return node.line


def shown_path(file: Path) -> str:
    """A file's name as text that can always be printed."""
    return visible(os.fsencode(file).decode("utf-8", "backslashreplace"))


def visible(text: str) -> str:
    r"""Text with control characters written out, so that showing it does nothing but show it.

    >>> visible("a\x1b[31m\tb")
    'a\\x1b[31m\\tb'
    """
    if text.isprintable():  # true of no character that does harm, and soon told
        return text
    return _HARMFUL.sub(lambda m: m.group().encode("unicode_escape").decode("ascii"), text)


def utf8(text: str) -> bytes:
    r"""Text as a file holds it.

    Raises:
        FitterError: Bytes in it that are no UTF-8, as a command line may hand them over.

    >>> utf8("2 Ω")
    b'2 \xce\xa9'
    """
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError as error:
        got = visible(text[max(error.start - 20, 0) : error.end + 20])
        raise FitterError("not UTF-8 text", got=got, expected="type it anew") from error


def one_line(text: str) -> str:
    """Text with runs of white space as single spaces and nothing hidden in it."""
    return visible(" ".join(text.split()))


def is_there(path: Path) -> bool:
    """Whether there is a file or folder of this name.

    Raises:
        FitterError: The system cannot tell: a name too long, a folder that is closed.
    """
    try:
        return path.exists()
    except OSError as error:
        raise FitterError(f"cannot be read: {error.strerror or error}", file=shown_path(path)) from error


def read_bytes(file: Path) -> bytes:
    """The whole of a file.

    Raises:
        FitterError: It cannot be read, is no plain file, or is too large.
    """
    name = shown_path(file)
    try:
        state = file.stat()
        if stat.S_IFMT(state.st_mode) not in (stat.S_IFREG, stat.S_IFDIR):  # to open a pipe may wait for ever
            remedy = "save it as a file and name that"
            raise FitterError("not a file but a pipe or a device", file=name, expected=remedy)
        content = b""
        if state.st_size <= LARGEST_FILE:
            with file.open("rb") as stream:
                content = stream.read(LARGEST_FILE + 1)
    except OSError as error:
        raise FitterError(f"cannot be read: {error.strerror or error}", file=name) from error
    if max(len(content), state.st_size) > LARGEST_FILE:
        raise FitterError(
            "the file is too large", file=name, expected=f"at most {LARGEST_FILE >> 20} MB a file"
        )
    return content


def text_of(content: bytes, name: str) -> str:
    """What a text file holds, line ends as they are.

    Args:
        content: The bytes of the file.
        name: The file as shown in errors.

    Raises:
        FitterError: Not UTF-8, or control characters in it.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise FitterError(
            "not UTF-8 text", file=name, line=line, expected="save the file as UTF-8"
        ) from error
    if control := _CONTROL.search(text):
        line = text.count("\n", 0, control.start()) + 1
        problem = f"a control character (code {ord(control.group())})"
        raise FitterError(problem, file=name, line=line, expected="plain text")
    return text


def read_text(file: Path) -> str:
    """The whole of a text file, line ends as they are.

    Raises:
        FitterError: It cannot be read, is too large, is not UTF-8 or holds control characters.
    """
    return text_of(read_bytes(file), shown_path(file))


def read_yaml(file: Path, top: str) -> Node:
    """A YAML file as nested :class:`Fields`, :class:`Items`, :class:`Text` and :class:`Bad`.

    Args:
        file: The file.
        top: Name that should stand at the top, for the error about an empty file.

    Raises:
        FitterError: The file cannot be read, is too large, or is no YAML at all.
    """
    return yaml_of(read_bytes(file), shown_path(file), top)


def yaml_of(content: bytes, name: str, top: str) -> Node:
    """What a YAML file holds, as :func:`read_yaml` gives it.

    Args:
        content: The bytes of the file.
        name: The file as shown in errors.
        top: Name that should stand at the top.

    Raises:
        FitterError: It is no text, or no YAML at all.
    """
    text = text_of(content, name)
    try:
        return _document(_LOADER(text), name, top)
    except yaml.MarkedYAMLError as error:
        raise _not_yaml(error, text, name) from error
    except yaml.YAMLError as error:
        raise FitterError("not valid YAML", file=name, expected="indented names and values") from error


@cache
def package_data(*path: str) -> Any:
    """A YAML file that comes with the package, by its place in it, as plain values; read once."""
    text = Path(__file__).parent.joinpath(*path).read_text(encoding="utf-8")
    return yaml.load(text, Loader=_LOADER)  # a safe loader, of the C library where there is one


def _not_yaml(error: yaml.MarkedYAMLError, content: str, file: str) -> FitterError:
    """The parser's complaint with its place, the line itself and its likely cause."""
    mark = error.problem_mark or error.context_mark
    at = 0 if mark is None else int(mark.line)
    problem = error.problem or error.context or "cannot be read"
    place = min(at, content.count("\n"))
    line = content.split("\n", place + 1)[place]
    remedy = next(
        (r for seen, r in _LIKELY_CAUSES if seen.match(line)), "check indentation and quotes near it"
    )
    return FitterError(
        f"not valid YAML: {problem}", got=line.strip()[:60], file=file, line=place + 1, expected=remedy
    )


def _document(loader: yaml.SafeLoader, file: str, top: str) -> Node:
    """The only document of a stream of events."""
    root: Node | None = None
    tree = _Tree(loader)
    while not isinstance(event := tree.next(), yaml.StreamEndEvent):
        if isinstance(event, yaml.DocumentStartEvent) and root is not None:
            raise FitterError(
                "more than one document", file=file, line=_line(event), expected="leave out the line `---`"
            )
        if isinstance(event, yaml.NodeEvent):
            root = tree.node(event, 0)
    if root is None or (isinstance(root, Text) and not root.text):
        raise FitterError("the file is empty", file=file, expected=f"it should start with `{top}:`")
    return root


def _line(event: yaml.Event) -> int:
    return 1 if event.start_mark is None else int(event.start_mark.line) + 1


class _Tree:
    """Nodes made of the events that a parser yields. Stocks are large: what is done for each value counts."""

    def __init__(self, loader: yaml.SafeLoader) -> None:
        self.next: Callable[[], yaml.Event] = loader.get_event
        self._names: dict[str, str] = {}

    def node(self, event: yaml.Event, depth: int) -> Node:
        """The node that an event starts; its other events are taken from the parser."""
        if isinstance(event, yaml.ScalarEvent):
            node: Node = _scalar(event)
            if event.anchor is None and event.tag is None:
                return node
        elif isinstance(event, yaml.AliasEvent):
            node = Bad(
                FitterError("YAML aliases (*name) are not used here", expected="write the value out"),
                _line(event),
            )
        elif depth >= DEEPEST:
            self._skip()
            node = Bad(FitterError("nested too deeply", expected="names with plain values"), _line(event))
        elif isinstance(event, yaml.SequenceStartEvent):
            node = self._items(event, depth)
        else:
            node = self._fields(event, depth)
        return _refused(event) or node

    def _skip(self) -> None:
        """Pass over the rest of a collection without recursion, however deep it goes."""
        open_ = 1
        while open_:
            event = self.next()
            open_ += isinstance(event, yaml.CollectionStartEvent)
            open_ -= isinstance(event, yaml.CollectionEndEvent)

    def _items(self, event: yaml.Event, depth: int) -> Items:
        items = Items(_line(event))
        while not isinstance(child := self.next(), yaml.SequenceEndEvent):
            items.append(self.node(child, depth + 1))
        return items

    def _fields(self, event: yaml.Event, depth: int) -> Fields:
        fields = Fields(_line(event))
        while not isinstance(key := self.next(), yaml.MappingEndEvent):
            name = self.node(key, DEEPEST)
            value = self.node(self.next(), depth + 1)
            known = self._names.get(name.text) if isinstance(name, Text) else None
            if known is not None and known not in fields:
                fields[known] = value
            else:
                add(fields, name, value, _line(key))
                self._remember(name, fields)
        return fields

    def _remember(self, name: Node, fields: Fields) -> None:
        """Keep a name that is right as it stands, so that all lots share it."""
        if isinstance(name, Text) and name.text in fields and len(self._names) < _NAMES_KEPT:
            self._names[name.text] = name.text


def _scalar(event: yaml.ScalarEvent) -> Text:
    value = event.value
    if value in _NOTHING and event.implicit[0]:
        value = ""
    return Text(value.strip() if value.isprintable() else clean(value), _line(event))


def clean(value: str) -> str:
    """A value without white space round it and with control characters written out; line ends stay."""
    return "\n".join(visible(line) for line in value.strip().replace("\t", " ").split("\n"))


def _refused(event: yaml.Event) -> Bad | None:
    """What is wrong with an anchor or a tag, if there is one."""
    if getattr(event, "anchor", None) is not None and not isinstance(event, yaml.AliasEvent):
        return Bad(
            FitterError("YAML anchors (&name) are not used here", expected="leave it out"), _line(event)
        )
    if getattr(event, "tag", None) is not None:
        return Bad(FitterError("YAML tags (!name) are not used here", expected="leave it out"), _line(event))
    return None


def add(fields: Fields, name: Node, value: Node, line: int) -> None:
    """Put a value under its name; a name that is no name, or stands there already, makes it bad."""
    key = one_line(name.text) if isinstance(name, Text) else ""
    if not key:
        fields[f"line {line}"] = Bad(FitterError("a name is expected here", expected="`name: value`"), line)
    elif key in fields:
        problem = f"{key!r} stands twice, first in line {line_of(fields[key])}"
        fields[key] = Bad(FitterError(problem, expected="keep one of them"), line)
    else:
        fields[key] = value


def nearest(word: str, names: Iterable[str]) -> str:
    """A remedy that names the nearest right word, or all of them when none is near.

    >>> nearest("resistence", ["resistance", "inductance"])
    "did you mean 'resistance'?"
    """
    known = sorted(set(names))
    close = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    if close:
        return f"did you mean {close[0]!r}?"
    if not known:
        return "there is none yet"
    if len(known) > _LISTED:
        near = difflib.get_close_matches(word, known, n=4, cutoff=0.0)
        return f"there are {len(known)}, the nearest: {', '.join(near)}"
    return "known: " + ", ".join(known)
