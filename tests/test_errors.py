"""Errors carry their place and parts, print as one line, and survive a trip between processes."""

from __future__ import annotations

import pickle

import pytest

from fitter.errors import FitterError, FitterErrors

PARTS = {"file": "stock.yaml", "line": 7, "lot": "m1", "field": "rated_current"}


def test_one_line_names_file_line_lot_field_and_problem() -> None:
    error = FitterError("no unit", got="1.4", expected="write `1.4 A`", **PARTS)
    assert str(error) == "stock.yaml:7: lot m1: rated_current: no unit (got '1.4'); write `1.4 A`"


@pytest.mark.parametrize(
    ("parts", "text"),
    [
        ({}, "no unit"),
        ({"file": "stock.yaml"}, "stock.yaml: no unit"),
        ({"line": 7}, "line 7: no unit"),
        ({"lot": "m1"}, "lot m1: no unit"),
        ({"field": "--set"}, "--set: no unit"),
        ({"got": ""}, "no unit (got '')"),
    ],
)
def test_only_what_is_known_is_printed(parts: dict[str, str], text: str) -> None:
    assert str(FitterError("no unit", **parts)) == text


def test_a_place_is_filled_in_but_never_replaced() -> None:
    inner = FitterError("no unit", got="1.4", expected="write `1.4 A`", field="voltage")
    outer = inner.at(**PARTS)
    assert (outer.file, outer.line, outer.lot, outer.field) == ("stock.yaml", 7, "m1", "voltage")
    assert (outer.problem, outer.got, outer.expected) == (inner.problem, inner.got, inner.expected)
    assert inner.file is None


def test_it_is_a_value_error() -> None:
    assert issubclass(FitterError, ValueError)


@pytest.mark.parametrize("protocol", range(pickle.HIGHEST_PROTOCOL + 1))
def test_errors_pickle_with_all_their_parts(protocol: int) -> None:
    error = FitterError("no unit", got="1.4", expected="write `1.4 A`", **PARTS)
    copy = pickle.loads(pickle.dumps(error, protocol))
    assert type(copy) is FitterError
    assert vars(copy) == vars(error)
    assert str(copy) == str(error)


def test_several_errors_print_one_a_line_and_pickle() -> None:
    both = FitterErrors([FitterError("no unit", **PARTS), FitterError("no kind", file="stock.yaml", line=9)])
    assert str(both).splitlines() == [
        "stock.yaml:7: lot m1: rated_current: no unit",
        "stock.yaml:9: no kind",
    ]
    copy = pickle.loads(pickle.dumps(both))
    assert type(copy) is FitterErrors
    assert str(copy) == str(both)
    assert [e.line for e in copy.errors] == [7, 9]
