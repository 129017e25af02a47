"""Stocks that make a search hard, each for a reason of its own; all are made from the repair shed's lots."""

from __future__ import annotations

import copy
import random
from collections.abc import Callable
from itertools import cycle
from pathlib import Path
from typing import Any

import synthetic
import yaml

Lots = list[dict[str, Any]]
SUPPLIES = ("switch-mode supply", "adapter", "battery pack", "transformer")
KEPT = ("id", "kind", "count", "bin")


def _kind(lot: dict[str, Any]) -> str:
    return str(lot["kind"]).replace("_", " ")


def weak_rails(count: int) -> Lots:
    """Supplies of 0.2 to 0.9 A at the right voltages: nearly every set is rejected by the sum of a rail."""
    rng = random.Random(2)
    made = synthetic.lots(count)
    supplies = [lot for lot in made if _kind(lot) in SUPPLIES]
    for number, lot in enumerate(supplies):
        amps = "6 A, measured" if number == len(supplies) - 1 else f"{rng.uniform(0.2, 0.9):.3g} A, measured"
        volts = rng.choice(("12 V, measured", "24 V, measured"))
        lot_id = lot["id"]
        lot.clear()
        lot |= {"id": lot_id, "kind": "adapter", "count": "1", "voltage": volts, "current": amps}
    return made


def interchangeable(count: int) -> Lots:
    """Every lot of a kind is a copy of the shed's first of that kind, one piece each: ties without end."""
    shed = synthetic.lots(count)
    first: dict[str, dict[str, Any]] = {}
    for lot in shed:
        first.setdefault(_kind(lot), lot)
    return [copy.deepcopy(first[_kind(lot)]) | {"id": lot["id"]} for lot in shed]


def dense_tie(count: int) -> Lots:
    """Copies of the shed's own lots, figures unmoved: each good set exists in thousands of equal copies."""
    shed = synthetic.shed_lots()
    return [copy.deepcopy(lot) | {"id": f"{lot['id']}-{i}"} for i, lot in zip(range(count), cycle(shed))]


def unknown_stepper(count: int) -> Lots:
    """A normal shed beside a stepper of which only the kind is known."""
    return [*synthetic.lots(count - 1), {"id": "m", "kind": "stepper motor"}]


def all_unknown(count: int) -> Lots:
    """Nothing known of any part but its kind and how many there are."""
    return [_nameless(lot) for lot in synthetic.lots(count)]


def _nameless(lot: dict[str, Any]) -> dict[str, Any]:
    made = {key: lot[key] for key in KEPT if key in lot}
    for key in ("rails", "secondaries"):
        if key in lot:
            made[key] = [{"voltage": "unknown", "current": "unknown"} for _ in lot[key]]
    return made


def single_kind(count: int) -> Lots:
    """Stepper motors and nothing else."""
    several = synthetic.lots(20 * count)
    return [lot for lot in several if _kind(lot) == "stepper motor"][:count]


STOCKS: dict[str, Callable[[int], Lots]] = {
    "weak rails": weak_rails,
    "interchangeable lots": interchangeable,
    "dense tie": dense_tie,
    "one unknown stepper": unknown_stepper,
    "all ratings unknown": all_unknown,
    "a single kind": single_kind,
}


def write(path: Path, name: str, count: int) -> Path:
    """A stock file of that sort and size."""
    dumper = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
    lots = STOCKS[name](count)
    path.write_text(yaml.dump({"lots": lots}, Dumper=dumper, sort_keys=False, allow_unicode=True))
    return path
