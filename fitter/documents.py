"""Reading YAML files with the place of every value, for errors that name file and line.

Only plain YAML is taken: no aliases, no tags, limited depth and size, so that no file can exhaust
memory or time.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import yaml

from fitter.errors import FitterError

DEEPEST = 8
LARGEST_FILE = 64 * 2**20
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True)
class Text:
    """A scalar as written, with its line."""

    text: str
    line: int


Node = Text | list["Node"] | dict[str, "Node"]


def read_yaml(file: Path, top: str) -> Node:
    """A YAML file as nested dicts, lists and :class:`Text`.

    Raises:
        FitterError: The file cannot be read, is too large, or is not plain YAML.
    """
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise FitterError("the file is too large", file=str(file), expected="at most 64 MB a file")
        content = file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise FitterError("not UTF-8 text", file=str(file), line=line, expected="save the file as UTF-8") from error
    except OSError as error:
        raise FitterError(f"cannot be read: {error.strerror}", file=str(file)) from error
    try:
        root = yaml.compose(content, Loader=_LOADER)
        if root is None:
            raise FitterError("the file is empty", file=str(file), expected=f"it should start with `{top}:`")
        return _Converter(str(file)).convert(root, 0)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        line = mark.line + 1 if mark else None
        raise FitterError(f"not valid YAML: {error.problem}", file=str(file), line=line,
                          expected="check indentation and quotes near this line") from error
    except (yaml.YAMLError, RecursionError) as error:
        raise FitterError("not valid YAML", file=str(file), expected="indented names and values") from error


class _Converter:
    """Turns the composer's nodes into plain ones; each node once, so that aliases cannot multiply."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.seen: set[int] = set()

    def convert(self, node: yaml.Node, depth: int) -> Node:
        line = node.start_mark.line + 1
        if depth > DEEPEST:
            raise FitterError("nested too deeply", file=self.file, line=line, expected="names with plain values")
        if id(node) in self.seen:
            raise FitterError("YAML aliases (*name) are not used here", file=self.file, line=line,
                              expected="write the value out")
        self.seen.add(id(node))
        if isinstance(node, yaml.ScalarNode):
            return Text(node.value.strip(), line)
        if isinstance(node, yaml.SequenceNode):
            return [self.convert(child, depth + 1) for child in node.value]
        return self._mapping(node, line, depth)

    def _mapping(self, node: yaml.Node, line: int, depth: int) -> Node:
        result: dict[str, Node] = {"": Text("", line)}
        for key, value in node.value:
            at = key.start_mark.line + 1
            if not isinstance(key, yaml.ScalarNode):
                raise FitterError("a name is expected here", file=self.file, line=at)
            if key.value in result:
                raise FitterError(f"{key.value!r} stands twice", file=self.file, line=at, expected="keep one of them")
            result[key.value] = self.convert(value, depth + 1)
        return result


def line_of(node: Node) -> int:
    """The line a node starts on."""
    if isinstance(node, Text):
        return node.line
    if isinstance(node, dict):
        return line_of(node[""])
    return line_of(node[0]) if node else 0


def nearest(word: str, names: Iterable[str]) -> str:
    """A remedy that names the nearest right word, or all of them when none is near."""
    known = sorted(names)
    close = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    if close:
        return f"did you mean {close[0]!r}?"
    return "known: " + ", ".join(known)
