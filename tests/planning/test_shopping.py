"""Shopping lists: merged line by line, and the same figures in every form."""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from fitter.errors import FitterError
from fitter.models import LimitAnswer
from fitter.shopping import Wish, as_csv, merged, total, write


@dataclass
class Item:
    """One thing to buy."""

    kind: str
    example: str
    count: int
    price: float | None
    spec: dict[str, LimitAnswer] = field(default_factory=dict)


def limit(low: float | None, high: float | None) -> LimitAnswer:
    return LimitAnswer(min=low, max=high, unit="A", quantity="current")


WISHES = [
    Wish(Item("adapter", "24 V, 3 A", 1, 12.0, {"current": limit(1.0, 5.0)}), "left rail"),
    Wish(Item("adapter", "24 V, 3 A", 2, 24.0, {"current": limit(2.0, None)}), "right rail"),
    Wish(Item("belt", "6 mm <wide>", 1, 3.5), "left belt"),
]


def test_equal_lines_are_added_up_and_limits_hold_for_all() -> None:
    lines = merged(WISHES)
    assert [(x.kind, x.count, x.price) for x in lines] == [("adapter", 3, 36.0), ("belt", 1, 3.5)]
    assert lines[0].spec["current"] == limit(2.0, 5.0)
    assert lines[0].used_for == ["left rail", "right rail"]
    assert total(lines) == 39.5


def test_every_form_holds_counts_and_prices(tmp_path: Path) -> None:
    lines = merged(WISHES)
    for name in ("list.md", "list.csv", "list.json"):
        write(tmp_path / name, lines)
    with (tmp_path / "list.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(r["count"], r["kind"], r["price [EUR]"]) for r in rows] == [
        ("3", "adapter", "36.0"),
        ("1", "belt", "3.5"),
    ]
    read = json.loads((tmp_path / "list.json").read_text(encoding="utf-8"))
    assert read["price"] == 39.5
    assert read["shopping"][0]["spec"]["current"]["min"] == 2.0
    text = (tmp_path / "list.md").read_text(encoding="utf-8")
    assert "- [ ] 3 x adapter, such as 24 V, 3 A, about 36 EUR" in text
    assert "\\<wide\\>" in text
    assert "39.5 EUR" in text


def test_an_unknown_form_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FitterError, match="end of its name"):
        write(tmp_path / "list.pdf", merged(WISHES))


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@sum", "\t=1", "\r=1"])
def test_no_cell_is_a_formula(text: str) -> None:
    """Spreadsheets work out what begins so; a single quote in front makes it text (common practice)."""
    lines = merged([Wish(Item(text, text, 1, None), text)])
    (row,) = list(csv.reader(as_csv(lines).splitlines(keepends=True)))[1:]
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)
    assert row.count("'" + text) == 3


@pytest.mark.parametrize(
    ("first", "second", "sizes"),
    [(1.5, 2.5, {2.5}), (2.5, 3.0, {2.5, 3.0}), (1.5, 1.0, {None}), (None, 4.0, {4.0}), (None, None, {None})],
)
def test_the_size_to_ask_for_keeps_to_the_limits_of_all_uses(
    first: float | None, second: float | None, sizes: set[float | None]
) -> None:
    """Limits 1..5 A and 2 A or more: sizes below 2 A do not do for both."""
    a = limit(1.0, 5.0).model_copy(update={"size": first})
    b = limit(2.0, None).model_copy(update={"size": second})
    wishes = [Wish(Item("adapter", "x", 1, None, {"current": at}), "use") for at in (a, b)]
    for order in (wishes, wishes[::-1]):
        assert merged(order)[0].spec["current"].size in sizes
