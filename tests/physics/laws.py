"""What every formula must obey: arrays give what scalars give, and each argument pulls one way."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from hypothesis import settings
from hypothesis import strategies as st

FEW = settings(max_examples=25, deadline=None)


@dataclass(frozen=True)
class Law:
    """A formula with the range of each argument and the way the result moves with it.

    Each argument is ``(low, high, way)``; ``way`` is ``"+"`` (never falls), ``"-"`` (never rises),
    ``"0"`` (no effect claimed).
    """

    formula: Callable[..., Any]
    arguments: dict[str, tuple[float, float, str]]

    def __str__(self) -> str:
        return self.formula.__name__


def law(formula: Callable[..., Any], **arguments: tuple[float, float, str]) -> Law:
    """A law; refuses argument names the formula does not have."""
    inspect.signature(formula).bind_partial(**arguments)
    return Law(formula, arguments)


def point(law: Law, data: st.DataObject) -> dict[str, float]:
    """One set of arguments inside the law's ranges."""
    return {
        name: data.draw(st.floats(low, high), label=name) for name, (low, high, _) in law.arguments.items()
    }


def parts(result: Any) -> tuple[Any, ...]:
    """A result as a tuple, for formulas that give several numbers."""
    return tuple(result) if isinstance(result, tuple) else (result,)


def check_vector_equals_scalar(law: Law, data: st.DataObject) -> None:
    """Rows of an array give the same as one call each, and a column against a row broadcasts."""
    points = [point(law, data) for _ in range(3)]
    columns = {name: np.array([p[name] for p in points]) for name in law.arguments}
    single = [parts(law.formula(**p)) for p in points]
    first = next(iter(columns))
    grid = {name: value if name == first else value[:, None] for name, value in columns.items()}
    together, crossed = parts(law.formula(**columns)), parts(law.formula(**grid))
    for index, expected in enumerate(zip(*single, strict=True)):
        np.testing.assert_allclose(np.broadcast_to(together[index], 3), expected, rtol=1e-9, atol=1e-12)
        if len(grid) > 1:
            diagonal = np.diag(np.broadcast_to(crossed[index], (3, 3)))
            np.testing.assert_allclose(diagonal, expected, rtol=1e-9, atol=1e-12)


def check_monotone(law: Law, data: st.DataObject) -> None:
    """Moving one argument alone never moves the result against the law."""
    here = point(law, data)
    for name, (low, high, way) in law.arguments.items():
        if way == "0":
            continue
        there = here | {name: data.draw(st.floats(low, high), label=f"other {name}")}
        less, more = (here, there) if here[name] <= there[name] else (there, here)
        if way == "-":
            less, more = more, less
        for a, b in zip(parts(law.formula(**less)), parts(law.formula(**more)), strict=True):
            slack = 1e-9 * max(abs(a), abs(b), 1e-12) if np.isfinite(a) and np.isfinite(b) else 0.0
            assert a <= b + slack, f"{law} against the law in {name}"
