"""Shopping lists: what several answers want, merged line by line, as Markdown, CSV or JSON."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from pydantic import Field

from fitter import words
from fitter.errors import FitterError
from fitter.models import Answer, GapsAnswer, LimitAnswer
from fitter.outputs import write_output

SUFFIXES = (".md", ".csv", ".json")
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")  # with which spreadsheets begin a formula, or might


class ShoppingLine(Answer):
    """One thing to buy, for one or several projects."""

    kind: str
    example: str = Field(description="a size that shops carry and that would do")
    count: int
    price: float | None = Field(description="of all pieces, EUR")
    spec: dict[str, LimitAnswer]
    used_for: list[str] = Field(description="recipe and role")


class Item(Protocol):
    """What an answer says of one thing to buy."""

    kind: str
    example: str
    count: int
    price: float | None
    spec: dict[str, LimitAnswer]


@dataclass(frozen=True)
class Wish:
    """Something to buy and what it is for."""

    item: Item
    used_for: str


def of_gaps(answers: Iterable[GapsAnswer]) -> list[ShoppingLine]:
    """The list of what is missing for some projects, each built from the whole stock."""
    return merged(Wish(m, f"{a.recipe} {m.role}") for a in answers for m in a.missing)


def merged(wishes: Iterable[Wish]) -> list[ShoppingLine]:
    """One line for each size; its limits are those in which a part does for all that want it."""
    lines: dict[tuple[str, str], ShoppingLine] = {}
    for wish in wishes:
        key = wish.item.kind, wish.item.example
        line = lines.get(key)
        lines[key] = _with(line, wish) if line else _first(wish)
    return [lines[key] for key in sorted(lines)]


def _first(wish: Wish) -> ShoppingLine:
    item = wish.item
    return ShoppingLine(
        kind=item.kind,
        example=item.example,
        count=item.count,
        price=item.price,
        spec=dict(item.spec),
        used_for=[wish.used_for],
    )


def _with(line: ShoppingLine, wish: Wish) -> ShoppingLine:
    prices = [p for p in (line.price, wish.item.price) if p is not None]
    return ShoppingLine(
        kind=line.kind,
        example=line.example,
        count=line.count + wish.item.count,
        price=round(sum(prices), 2) if prices else None,
        spec=_narrower(line.spec, wish.item.spec),
        used_for=[*line.used_for, wish.used_for],
    )


def _narrower(a: Mapping[str, LimitAnswer], b: Mapping[str, LimitAnswer]) -> dict[str, LimitAnswer]:
    """Limits that keep within both; the example lies in each, so they are never empty."""
    both = {**b, **a}
    for name in a.keys() & b.keys():
        low = [x for x in (a[name].min, b[name].min) if x is not None]
        high = [x for x in (a[name].max, b[name].max) if x is not None]
        limits = {"min": max(low, default=None), "max": min(high, default=None)}
        within = a[name].model_copy(update=limits)
        both[name] = within.model_copy(update={"size": _size(within, a[name], b[name])})
    return dict(sorted(both.items()))


def _size(within: LimitAnswer, *either: LimitAnswer) -> float | None:
    """The size to ask for: one of those for either use, if it keeps to the limits of both."""
    low = -math.inf if within.min is None else within.min
    high = math.inf if within.max is None else within.max
    sizes = (at.size for at in either if at.size is not None)
    return next((size for size in sizes if low <= size <= high), None)


def total(lines: Iterable[ShoppingLine]) -> float | None:
    """Price of all lines with a price, EUR."""
    prices = [line.price for line in lines if line.price is not None]
    return round(sum(prices), 2) if prices else None


def spec_text(line: ShoppingLine) -> str:
    """All limits of a line."""
    return "; ".join(words.limit(name, at) for name, at in line.spec.items())


def check_name(path: Path | None) -> None:
    """Complain of a file name that tells no known form, before any work is done.

    Raises:
        FitterError: The name ends in none of ``.md``, ``.csv`` and ``.json``.
    """
    if path is not None and path.suffix.casefold() not in SUFFIXES:
        raise FitterError(
            "the form of a shopping list is told by the end of its name",
            got=str(path),
            field="--shopping",
            expected="a name that ends in " + ", ".join(SUFFIXES),
        )


def write(path: Path, lines: list[ShoppingLine]) -> str:
    """Write a list in the form that the end of the name tells; what was done, in a sentence.

    Raises:
        FitterError: The name tells no form, or the file cannot be written.
    """
    check_name(path)
    text = {".md": as_markdown, ".csv": as_csv, ".json": as_json}[path.suffix.casefold()](lines)
    done = "Replaced" if write_output(path, text, "--shopping") else "Wrote"
    return f"{done} {path}: {len(lines)} {'thing' if len(lines) == 1 else 'things'} to buy"


def as_markdown(lines: list[ShoppingLine]) -> str:
    """A list to tick off."""
    rows = ["# Shopping list", ""]
    for line in lines:
        price = "" if line.price is None else f", about {line.price:g} EUR"
        rows.append(_plain(f"- [ ] {line.count} x {line.kind}, such as {line.example}{price}"))
        rows += [_plain(f"  - {spec_text(line)}")] if line.spec else []
        rows.append(_plain(f"  - for {', '.join(line.used_for)}"))
    rows += ["Nothing to buy."] if not lines else []
    sum_of = total(lines)
    rows += ["", f"Together about {sum_of:g} EUR."] if sum_of is not None else []
    return "\n".join(rows) + "\n"


def _plain(text: str) -> str:
    """Text in which Markdown finds no signs of its own, but for the box at the start."""
    start = "- [ ] " if text.startswith("- [ ] ") else ""
    body = text.removeprefix(start)
    for sign in "\\`*_<>[]":
        body = body.replace(sign, "\\" + sign)
    return start + body


def as_csv(lines: list[ShoppingLine]) -> str:
    """One row a line, for a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["count", "kind", "such as", "price [EUR]", "limits", "used for"])
    for line in lines:
        row = (line.kind, line.example, line.price, spec_text(line), "; ".join(line.used_for))
        writer.writerow([line.count, *(_cell(cell) for cell in row)])
    return out.getvalue()


def _cell(value: str | float | None) -> str | float:
    """A cell that no spreadsheet takes for a formula."""
    if isinstance(value, str) and value.startswith(FORMULA):
        return "'" + value
    return "" if value is None else value


def as_json(lines: list[ShoppingLine]) -> str:
    """The lines as in the answer of ``fitter plan --json``."""
    document = {"shopping": [line.model_dump(mode="json") for line in lines], "price": total(lines)}
    return json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False) + "\n"
