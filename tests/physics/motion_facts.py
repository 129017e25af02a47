"""Published check values of the motion formulas, read by id from tests/published/motion.json."""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).parents[1] / "published"


@dataclass(frozen=True)
class Fact:
    """One published worked example, table, curve or rule; ``known_wrong`` holds misprints seen elsewhere."""

    id: str
    title: str
    source: str
    evidence: str
    inputs: dict[str, Any]
    outputs: dict[str, Any]
    tolerance: dict[str, Any]
    note: str
    known_wrong: dict[str, Any]

    def near(self, value: Any) -> Any:
        """The published value with the tolerance its print allows."""
        limits = {key: self.tolerance[key] for key in ("rel", "abs") if key in self.tolerance}
        return pytest.approx(value, **limits)


@functools.cache
def facts() -> dict[str, Fact]:
    """All facts by id."""
    entries = json.loads((FOLDER / "motion.json").read_text(encoding="utf-8"))
    return {entry["id"]: Fact(**entry) for entry in entries}


@functools.cache
def unused() -> dict[str, str]:
    """Facts that no test uses, with the reason."""
    reasons: dict[str, str] = json.loads((FOLDER / "motion_unused.json").read_text(encoding="utf-8"))
    return reasons


def fact(name: str) -> Fact:
    """The fact of an id."""
    return facts()[name]


def rpm(speed: float) -> float:
    """Turns per minute of a speed in rad/s."""
    return speed * 60 / (2 * 3.141592653589793)


def from_rpm(turns: float) -> float:
    """Speed in rad/s of turns per minute."""
    return turns * 2 * 3.141592653589793 / 60
