"""Published check values of the electrical formulas, read by id from tests/published/electrical.json."""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

FILE = Path(__file__).parents[1] / "published" / "electrical.json"


@dataclass(frozen=True)
class Fact:
    """One published worked example, table or limit, with the tolerance its print allows."""

    id: str
    title: str
    source: str
    evidence: str
    inputs: dict[str, Any]
    outputs: dict[str, Any]
    tolerance: dict[str, float]
    note: str

    def near(self, value: Any, **wider: float) -> Any:
        """The published value with the file's own tolerance, or a named wider one."""
        limit = wider or self.tolerance
        if limit == {"abs": 0}:  # exact but for binary fractions
            limit = {"rel": 1e-9}
        return pytest.approx(value, **limit)


@functools.cache
def facts() -> dict[str, Fact]:
    """All facts by id."""
    return {entry["id"]: Fact(**entry) for entry in json.loads(FILE.read_text(encoding="utf-8"))}


def fact(name: str) -> Fact:
    """The fact of an id."""
    return facts()[name]
