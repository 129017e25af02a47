"""Ratings that cannot belong together are told with a likely cause; those that can are left alone."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from fitter import cli
from fitter.advice.data import shop
from fitter.bench.contradictions import Contradiction, contradictions
from fitter.documents import Fields, Items, Node, Text
from fitter.stock.entries import read_lot
from fitter.stock.files import load_stock
from fitter.stock.lots import Lot

ROOT = Path(__file__).parents[2]


def node(value: Any) -> Node:
    if isinstance(value, str):
        return Text(value, 1)
    made: Fields | Items = Fields(1) if isinstance(value, dict) else Items(1)
    if isinstance(made, Fields):
        made.update((k, node(v)) for k, v in value.items())
    else:
        made.extend(node(v) for v in value)
    return made


def lot(entry: Mapping[str, Any]) -> Lot:
    problems: list[Any] = []
    found = read_lot(node({"id": "x", **entry}), "stock.yaml", problems)
    assert not problems
    assert found is not None
    return found


def found_of(entry: Mapping[str, Any]) -> list[Contradiction]:
    return contradictions(lot(entry))


HYBRID = {"kind": "stepper motor", "frame": "NEMA 17", "step_angle": "1.8 deg, measured"}
# entry, a rating it is about, a word of the likely cause, whether it is certain; figures are common practice,
# no source, unless a law is behind them
WRONG: list[tuple[dict[str, Any], str, str, bool]] = [
    ({**HYBRID, "resistance": "250 ohm, measured"}, "resistance", "can type", False),
    ({**HYBRID, "mass": "90 g"}, "mass", "can type", False),
    ({**HYBRID, "mass": "900 g"}, "mass", "gear", False),
    ({**HYBRID, "holding_torque": "4 N m, measured"}, "holding_torque", "kg cm", False),
    (
        {**HYBRID, "body_length": "40 mm, measured", "holding_torque": "0.04 N m, measured"},
        "holding_torque",
        "frame",
        False,
    ),
    (
        {**HYBRID, "rated_voltage": "12 V", "rated_current": "1.7 A", "resistance": "30 ohm"},
        "rated_current",
        "half-coil",
        True,
    ),
    ({**HYBRID, "frame_width": "57 mm, measured"}, "frame_width", "bolts", False),
    ({"kind": "stepper motor", "wires": "7"}, "wires", "screen", False),
    ({"kind": "stepper motor", "step_angle": "1.7 deg, measured"}, "step_angle", "miscounted", True),
    (
        {"kind": "dc motor", "rated_voltage": "12 V", "resistance": "6 ohm", "stall_current": "10 A"},
        "stall_current",
        "misread",
        True,
    ),
    (
        {
            "kind": "dc gearmotor",
            "no_load_speed": "6000 rpm",
            "output_speed": "60 rpm",
            "gear_ratio": "20",
        },
        "gear_ratio",
        "mixed up",
        True,
    ),
    (
        {
            "kind": "dc gearmotor",
            "stall_torque": "0.01 N m",
            "gear_ratio": "20",
            "output_torque": "2 N m",
        },
        "output_torque",
        "units",
        True,
    ),
    (
        {"kind": "adapter", "voltage": "12 V, nameplate", "open_voltage": "18 V, measured"},
        "open_voltage",
        "not regulated",
        False,
    ),
    (
        {
            "kind": "adapter",
            "voltage": "12 V, nameplate",
            "open_voltage": "18 V, measured",
            "regulated": "yes",
        },
        "regulated",
        "not regulated",
        True,
    ),
    (
        {"kind": "adapter", "voltage": "12 V, nameplate", "open_voltage": "9 V, measured"},
        "open_voltage",
        "broken",
        False,
    ),
    (
        {
            "kind": "switch-mode supply",
            "total_power": "30 W, nameplate",
            "rails": [{"voltage": "24 V", "current": "3 A"}],
        },
        "total_power",
        "label",
        True,
    ),
    (
        {
            "kind": "transformer",
            "apparent_power": "20 VA",
            "secondaries": [{"voltage": "24 V", "current": "3 A"}],
        },
        "apparent_power",
        "mixed up",
        True,
    ),
    (
        {
            "kind": "transformer",
            "apparent_power": "200 VA",
            "core_tongue": "20 mm, measured",
            "core_stack": "20 mm, measured",
            "secondaries": [{"voltage": "24 V"}],
        },
        "apparent_power",
        "iron",
        False,
    ),
    (
        {"kind": "battery pack", "chemistry": "lead-acid", "cells": "6", "voltage": "22..27 V"},
        "voltage",
        "chemistry",
        False,
    ),
    ({"kind": "capacitor", "max_voltage": "29 V"}, "max_voltage", "misread", False),
    (
        {"kind": "capacitor", "max_voltage": "450 V", "capacitance": "47000 uF"},
        "capacitance",
        "mF",
        False,
    ),
    (
        {"kind": "timing belt", "belt_pitch": "5 mm", "length": "502.5 mm, measured", "closed": "yes"},
        "length",
        "pitch",
        True,
    ),
    ({"kind": "pulley", "belt_pitch": "2 mm", "teeth": "16", "bore": "12 mm"}, "bore", "pitch", True),
    ({"kind": "gear", "module": "0.5 mm", "teeth": "16", "bore": "8 mm"}, "bore", "module", True),
    ({"kind": "ball bearing", "bore": "22 mm", "outer_diameter": "8 mm"}, "bore", "swapped", True),
    (
        {"kind": "lead screw", "diameter": "8 mm", "lead": "8 mm", "starts": "1"},
        "lead",
        "starts",
        False,
    ),
    (
        {"kind": "drawer slide", "travel": "500 mm, measured", "closed_length": "350 mm, measured"},
        "travel",
        "pulled out",
        True,
    ),
    (
        {"kind": "rod", "diameter": "8 mm", "length": "500 mm, measured", "mass": "80 g"},
        "mass",
        "hollow",
        False,
    ),
]


@pytest.mark.parametrize(
    ("entry", "rating", "cause", "certain"), WRONG, ids=lambda v: v["kind"] if isinstance(v, dict) else None
)
def test_what_cannot_be_is_told(entry: Mapping[str, Any], rating: str, cause: str, certain: bool) -> None:
    about = [c for c in found_of(entry) if rating in c.ratings]
    assert about, found_of(entry)
    assert cause in " ".join(c.cause for c in about)
    assert any(c.certain for c in about) == certain
    assert all(any(ch.isdigit() for ch in c.problem) for c in about)


# the same, put right
RIGHT: list[dict[str, Any]] = [
    {**HYBRID, "resistance": "30 ohm, measured", "mass": "250 g", "holding_torque": "0.3 N m, measured"},
    {**HYBRID, "rated_voltage": "12 V", "rated_current": "0.4 A", "resistance": "30 ohm"},
    {**HYBRID, "step_angle": "0.9 deg, measured", "wires": "6", "frame_width": "42.3 mm, measured"},
    {"kind": "stepper motor", "step_angle": "7.5 deg", "frame_width": "42 mm", "resistance": "250 ohm"},
    {"kind": "dc motor", "rated_voltage": "12 V", "resistance": "6 ohm", "stall_current": "2 A"},
    {"kind": "dc gearmotor", "no_load_speed": "6000 rpm", "output_speed": "60 rpm", "gear_ratio": "100"},
    {"kind": "adapter", "voltage": "12 V", "open_voltage": "12.2 V, measured", "regulated": "yes"},
    {"kind": "adapter", "voltage": "12 V", "open_voltage": "17.6 V, measured", "regulated": "no"},
    {"kind": "switch-mode supply", "total_power": "72 W", "rails": [{"voltage": "24 V", "current": "3 A"}]},
    {"kind": "battery pack", "chemistry": "lead-acid", "cells": "6", "voltage": "11..13.8 V, measured"},
    {"kind": "battery pack", "chemistry": "nickel-metal hydride", "cells": "12", "voltage": "12..16.8 V"},
    {"kind": "capacitor", "max_voltage": "35 V", "capacitance": "10000 uF"},
    {"kind": "timing belt", "belt_pitch": "5 mm", "length": "500 mm, measured", "closed": "yes"},
    {"kind": "timing belt", "belt_pitch": "5 mm", "length": "502.5 mm, measured", "closed": "no"},
    {"kind": "pulley", "belt_pitch": "2 mm", "teeth": "20", "bore": "8 mm"},
    {"kind": "gear", "module": "0.5 mm", "teeth": "40", "bore": "8 mm"},
    {"kind": "ball bearing", "bore": "8 mm", "outer_diameter": "22 mm", "width": "7 mm"},
    {"kind": "lead screw", "diameter": "8 mm", "lead": "8 mm", "starts": "4"},
    {"kind": "drawer slide", "travel": "350 mm, measured", "closed_length": "350 mm, measured"},
    {"kind": "rod", "diameter": "8 mm", "length": "500 mm, measured", "mass": "195 g"},
]


@pytest.mark.parametrize("entry", RIGHT, ids=lambda e: e["kind"])
def test_what_can_be_is_left_alone(entry: Mapping[str, Any]) -> None:
    assert found_of(entry) == []


@pytest.mark.parametrize("name", ["inventory_examples/repair_shed", "inventory_examples/small_box.yaml"])
def test_example_stocks_hold_together(name: str) -> None:
    assert [(lot.id, c) for lot in load_stock(ROOT / name).lots for c in contradictions(lot)] == []


def test_sizes_of_shops_hold_together() -> None:
    assert [(lot.id, c) for lots in shop().values() for lot in lots for c in contradictions(lot)] == []


def test_published_motors_hold_together() -> None:
    """Makers' own figures are no contradictions, but for one motor that sheds its heat through its flange."""
    listed = json.loads((ROOT / "tests" / "published" / "steppers.json").read_text(encoding="utf-8"))
    odd = set()
    for m in listed["motors"]:
        entry = {
            "kind": "stepper motor",
            "frame_width": f"{m['width_mm']} mm, measured",
            "body_length": f"{m['length_mm']} mm, measured",
            "step_angle": f"{m['step_deg']} deg",
            "wires": str(m["wires"]),
        }
        units = {"resistance": ("resistance_ohm", "ohm"), "inductance": ("inductance_mH", "mH")}
        units |= {"holding_torque": ("torque_Nm", "N m"), "rated_current": ("current_A", "A")}
        entry |= {n: f"{m[key]} {unit}, datasheet" for n, (key, unit) in units.items() if key in m}
        if found_of(entry):
            odd.add(m["name"])
    assert odd <= {"42STH20-1004ASH"}


# ---------------------------------------------------------------- in `stock check`

ODD = """lots:
  - id: lump
    kind: adapter
    voltage: 12 V, nameplate
    open_voltage: 18 V, measured
    regulated: yes
"""


def test_stock_check_reports_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "odd.yaml"
    file.write_text(ODD, encoding="utf-8")
    assert cli.run(["stock", "check", "--stock", str(file)]) == 0
    shown = capsys.readouterr().out
    assert "lot lump: cannot be: open voltage" in shown
    assert "likely: it is not regulated" in shown
    assert "1 contradiction(s)" in shown
    assert cli.run(["stock", "check", "--stock", str(file), "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["contradictions"]
    assert (found["lot"], found["certain"], found["line"]) == ("lump", True, 2)
    assert set(found["ratings"]) == {"open_voltage", "voltage", "regulated"}


def test_open_volts_count_for_what_an_adapter_feeds() -> None:
    """Parts on an unregulated adapter must stand what it gives without load."""
    (offer,) = [
        o
        for o in lot(
            {"kind": "adapter", "voltage": "12 V, nameplate", "open_voltage": "18 V, measured"}
        ).offers()
        if not o.key
    ]
    assert offer.ratings["voltage.high"].hi == pytest.approx(18 * 1.02)
