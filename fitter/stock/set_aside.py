"""What is set aside for builds: a file of its own beside the lots, written by commands or by hand.

``set_aside:`` lists the builds that hold parts now, ``history:`` what was done, oldest first. The lots
themselves stay as they are until a build is used up, so that putting it back changes nothing in them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fitter.documents import (
    Bad,
    Fields,
    Items,
    Node,
    Text,
    nearest,
    one_line,
    read_bytes,
    shown_path,
    yaml_of,
)
from fitter.errors import FitterError, FitterErrors
from fitter.units import parse

TOP = ("set_aside", "history")
BUILD = ("name", "recipe", "date", "state", "demands", "parts", "to_buy", "to_measure")
PART = ("role", "lot", "count", "offer", "rail", "current", "power", "outputs", "leaving", "was", "gone")
MOST = 10**6  # pieces, rails
_SHOWN = 60  # characters of a name in errors


@dataclass(frozen=True)
class Part:
    """What one role of a build holds: pieces of a lot, or some of a rail of a supply unit.

    ``rail`` counts from 1, as in stock files; ``current`` in A and ``power`` in W are kept for the build,
    headroom included. ``leaving`` says how pieces are on their way out of the stock, and ``was`` the lot's
    count before that; ``gone`` names the build with which a shared unit left.
    """

    role: str
    lot: str
    count: int = 0
    offer: str = ""
    rail: int = 0
    current: float = 0.0
    power: float = 0.0
    outputs: str = ""
    leaving: str = ""
    was: int = 0
    gone: str = ""

    @property
    def shares(self) -> bool:
        """Whether it draws on a unit on which others may draw as well."""
        return not self.count


@dataclass(frozen=True)
class SetAside:
    """A build whose parts are set aside; ``demands`` as they were typed."""

    name: str
    recipe: str
    date: str
    parts: tuple[Part, ...]
    state: str = ""
    demands: str = ""
    to_buy: tuple[tuple[str, str], ...] = ()
    to_measure: str = ""

    @property
    def leaving(self) -> bool:
        """Whether taking its parts out of the stock was begun and not finished."""
        return any(p.leaving for p in self.parts)


@dataclass(frozen=True)
class Event:
    """A line of the history."""

    date: str
    what: str
    build: str
    recipe: str
    parts: str


@dataclass(frozen=True)
class SetAsideFile:
    """One file: where it is, what it holds byte for byte, its builds and its history."""

    file: Path
    content: bytes
    builds: tuple[SetAside, ...]
    history: tuple[Event, ...]

    def build(self, name: str) -> SetAside | None:
        """The build of a name, if it is here."""
        return next((b for b in self.builds if b.name == name), None)


def read_all(files: Iterable[Path]) -> list[SetAsideFile]:
    """All files of a stock that say what is set aside.

    Raises:
        FitterErrors: All that is wrong in them, each with file, line and field.
    """
    records = [read_file(file, read_bytes(file)) for file in files]
    seen: dict[str, Path] = {}
    for record in records:
        for build in record.builds:
            if build.name in seen:
                problem = f"the build {build.name!r} is in {shown_path(seen[build.name])} as well"
                raise FitterError(problem, file=shown_path(record.file), expected="give it another name")
            seen[build.name] = record.file
    return records


def read_file(file: Path, content: bytes) -> SetAsideFile:
    """One file's record; an empty one holds nothing.

    Raises:
        FitterErrors: All that is wrong in it.
    """
    if holds_nothing(content):
        return SetAsideFile(file, content, (), ())
    reader = _Reader(shown_path(file))
    document = yaml_of(content, reader.file, "set_aside")
    fields = reader.fields(document, TOP, "")
    builds = tuple(map(reader.build, reader.entries(fields, "set_aside")))
    history = tuple(map(reader.event, reader.entries(fields, "history")))
    reader.no_two_alike(builds, fields)
    if reader.errors:
        raise FitterErrors(reader.errors)
    return SetAsideFile(file, content, builds, history)


def holds_nothing(content: bytes) -> bool:
    """Whether there is nothing but comments."""
    return all(not line or line.startswith(b"#") for line in map(bytes.strip, content.splitlines()))


class _Reader:
    """Takes the values of a file out of their nodes; what is wrong is kept, each with its place."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.errors: list[FitterError] = []

    def wrong(self, problem: str, node: Node, field: str, expected: str) -> None:
        error = node.error if isinstance(node, Bad) else FitterError(problem, expected=expected)
        self.errors.append(error.at(file=self.file, line=node.line, field=field or None))

    def fields(self, node: Node, known: Sequence[str], where: str) -> Fields:
        """Names with values, none of them strange; nothing at all where it is something else."""
        if not isinstance(node, Fields):
            self.wrong("names with values are expected", node, where, f"such as `{known[0]}: ...`")
            return Fields(node.line)
        for name, value in node.items():
            if name not in known:
                self.wrong(f"unknown name {name[:40]!r}", value, where, nearest(name, known))
        return node

    def entries(self, fields: Fields, name: str) -> Iterator[Node]:
        node = fields.get(name, Items(fields.line))
        if isinstance(node, Items):
            yield from node
        elif not (isinstance(node, Text) and not node.text):
            self.wrong(f"`{name}:` is not a list", node, name, "each entry starts with `- `")

    def text(self, fields: Fields, name: str, where: str, *, needed: bool = False) -> str:
        node = fields.get(name)
        if isinstance(node, Text) and (node.text or not needed):
            return node.text
        if node is not None or needed:
            place = node if node is not None else Text("", fields.line)
            self.wrong(f"{name} is missing" if node is None else "a text is expected", place,
                       f"{where}.{name}", f"`{name}: ...`")  # fmt: skip
        return ""

    def number(self, fields: Fields, name: str, where: str) -> int:
        text = self.text(fields, name, where)
        if text and not (text.isascii() and text.isdigit() and int(text[:9]) <= MOST):
            self.wrong(f"{text[:20]!r} is no whole number", fields[name], f"{where}.{name}", "such as `2`")
            return 0
        return int(text or 0)

    def amount(self, fields: Fields, name: str, where: str, quantity: str) -> float:
        text = self.text(fields, name, where)
        try:
            value = parse(text, quantity) if text else 0.0
        except FitterError as error:
            self.errors.append(error.at(file=self.file, line=fields[name].line, field=f"{where}.{name}"))
            return 0.0
        if not 0 <= value < float("inf"):
            self.wrong(f"{text[:20]!r} cannot be kept", fields[name], f"{where}.{name}", "such as `1.5 A`")
            return 0.0
        return value

    def build(self, node: Node) -> SetAside:
        fields = self.fields(node, BUILD, "set_aside")
        name = self.text(fields, "name", "set_aside", needed=True)
        where = f"set_aside {one_line(name)[:_SHOWN]}"
        return SetAside(
            name,
            self.text(fields, "recipe", where, needed=True),
            self.text(fields, "date", where),
            tuple(self.part(each, where) for each in self.entries(fields, "parts")),
            self.text(fields, "state", where),
            self.text(fields, "demands", where),
            tuple(self.purchase(each, where) for each in self.entries(fields, "to_buy")),
            self.text(fields, "to_measure", where),
        )

    def part(self, node: Node, where: str) -> Part:
        fields = self.fields(node, PART, where)
        place = f"{where} {one_line(self.text(fields, 'role', where, needed=True))[:_SHOWN]}"
        part = Part(
            self.text(fields, "role", place),
            self.text(fields, "lot", place, needed=True),
            self.number(fields, "count", place),
            self.text(fields, "offer", place),
            self.number(fields, "rail", place),
            self.amount(fields, "current", place, "current"),
            self.amount(fields, "power", place, "power"),
            self.text(fields, "outputs", place),
            self.text(fields, "leaving", place),
            self.number(fields, "was", place),
            self.text(fields, "gone", place),
        )
        if part.shares and "current" not in fields:
            self.wrong("neither pieces nor amps", node, place, "`count: 1`, or `current: 1.5 A` of a supply")
        return part

    def purchase(self, node: Node, where: str) -> tuple[str, str]:
        fields = self.fields(node, ("role", "what"), f"{where} to_buy")
        read: Callable[[str], str] = lambda name: self.text(fields, name, f"{where} to_buy")  # noqa: E731
        return read("role"), read("what")

    def event(self, node: Node) -> Event:
        fields = self.fields(node, ("date", "what", "build", "recipe", "parts", "removed"), "history")
        return Event(*(self.text(fields, n, "history") for n in ("date", "what", "build", "recipe", "parts")))

    def no_two_alike(self, builds: Sequence[SetAside], fields: Fields) -> None:
        seen: set[str] = set()
        for build, node in zip(builds, self.entries(fields, "set_aside"), strict=True):
            if build.name and build.name in seen:
                self.wrong(f"two builds are named {build.name!r}", node, "set_aside", "rename one of them")
            seen.add(build.name)
