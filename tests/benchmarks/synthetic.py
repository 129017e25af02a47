"""Synthetic stocks of any size that keep the mix of the repair shed.

Every lot is a copy of one of the shed's, its measured figures moved a little at random (sizes that
name a standard, such as pitches and bores, stay), its count drawn anew.
"""

from __future__ import annotations

import copy
import random
import re
from pathlib import Path
from typing import Any

import yaml

SHED = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
MOVED = (
    "resistance", "inductance", "rated_current", "holding_torque", "detent_torque", "length", "body_length",
    "current", "capacity", "capacitance", "thermal_resistance", "force", "travel", "closed_length", "play",
    "load", "peak_current", "max_power", "stall_current", "no_load_current", "output_speed",
)  # fmt: skip
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def shed_lots() -> list[dict[str, Any]]:
    """The repair shed's own lots as plain dicts of text."""
    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    files = sorted(SHED.glob("*.yaml"))
    return [lot for f in files for lot in yaml.load(f.read_text(encoding="utf-8"), Loader=loader)["lots"]]


def lots(count: int, seed: int = 1) -> list[dict[str, Any]]:
    """That many lots as plain dicts of text, ids unique."""
    rng = random.Random(seed)
    shed = shed_lots()
    return [_copy(shed[i % len(shed)], i // len(shed), rng) for i in range(count)]


def _copy(lot: dict[str, Any], turn: int, rng: random.Random) -> dict[str, Any]:
    made = {key: _moved(value, rng) if key in MOVED else copy.deepcopy(value) for key, value in lot.items()}
    made["id"] = f"{lot['id']}-{turn}"
    made["count"] = str(max(1, int(lot.get("count", 1)) + rng.choice((-1, 0, 0, 1))))
    return made


def _moved(text: Any, rng: random.Random) -> Any:
    if not isinstance(text, str):
        return text
    factor = rng.lognormvariate(0, 0.15)
    return _NUMBER.sub(lambda m: f"{float(m.group()) * factor:.3g}", text.partition(",")[0]) + "".join(
        text.partition(",")[1:]
    )


def write(path: Path, count: int, seed: int = 1) -> Path:
    """A stock file of that many lots."""
    dumper = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
    path.write_text(
        yaml.dump({"lots": lots(count, seed)}, Dumper=dumper, sort_keys=False, allow_unicode=True)
    )
    return path
