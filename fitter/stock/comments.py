"""Comments that stand beside lots in YAML, as lines that a table can carry and YAML can be given again.

A line is ``# text`` for a comment above a lot, ``FIELD # text`` behind a field, ``above FIELD # text``
for one on a line of its own above a field. A field is a name, or a rail by its number: ``rails[2]``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from fitter.stock.yaml_edit import Piece, pieces

_COMMENT = re.compile(r"#[^\r\n]*")


@dataclass(frozen=True)
class _Leaf:
    """A name or value in a file: its place, the lot it belongs to and the field it says."""

    start: int
    end: int
    lot: str | None
    label: str


def comments_of(text: str) -> dict[str, str]:
    """The comments of each lot by its id; those at the head and the foot of a file belong to none.

    Raises:
        FitterError: The text is no YAML, or of a sort that is not edited.
    """
    if "#" not in text:
        return {}
    leaves = list(_leaves(pieces(text)))
    found: dict[str, list[str]] = {}
    for leaf, following in pairwise(leaves):
        for match in _COMMENT.finditer(text, leaf.end, following.start):
            gap = text[max(leaf.end - 1, 0) : match.start()]
            behind = "\n" not in gap and "\r" not in gap
            owner = leaf if behind else following
            if owner.lot is None:
                continue
            first = not behind and leaf.lot != following.lot
            where = f"{owner.label} " if behind else "" if first else f"above {owner.label} "
            found.setdefault(owner.lot, []).append(where + match[0].rstrip())
    if leaves and (last := leaves[-1]).lot is not None:
        rest = re.compile(r"[ \t,}\]]*(#[^\r\n]*)").match(text, last.end)
        if rest and text[last.end - 1] != "\n":
            found.setdefault(last.lot, []).append(f"{last.label} {rest[1].rstrip()}")
    return {lot: "\n".join(lines) for lot, lines in found.items()}


def _leaves(document: Piece) -> Iterator[_Leaf]:
    for key, value in document.fields:
        yield _Leaf(key.start, key.end, None, "")
        if key.value == "lots":
            for lot in value.items:
                name = lot.of("id")
                yield from _of_fields(lot, None if name is None else (name.value or "").strip())


def _of_fields(lot: Piece, name: str | None) -> Iterator[_Leaf]:
    for key, value in lot.fields:
        label = key.value or ""
        yield _Leaf(key.start, key.end, name, label)
        yield from _inside(value, name, label)


def _inside(value: Piece, name: str | None, label: str) -> Iterator[_Leaf]:
    """Values below a field; those of an item of a list have its number."""
    if value.value is not None:
        yield _Leaf(value.start, value.end, name, label)
    for number, item in enumerate(value.items, start=1):
        yield from _inside(item, name, f"{label}[{number}]")
    for key, inner in value.fields:
        yield _Leaf(key.start, key.end, name, label)
        yield from _inside(inner, name, label)
