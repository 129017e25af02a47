"""Every published fact stands in a test, or is set aside with a reason; every formula has its laws."""

from __future__ import annotations

import importlib
import inspect
import re
from pathlib import Path

import pytest
from electrical_facts import facts

NOT_USED = {
    "SAFE-12": "laser classes: laser units are refused whatever their power, so no formula needs them",
    "SAFE-14": "lamp inverters are refused and only cautioned about; nothing is computed",
    "SAFE-15": "drum and toner limits belong to a caution; nothing is computed",
}
MODULES = {
    "rectifier": ("rectifier", "loaded_rectifier", "transformers"),
    "thermal": ("thermal",),
    "supplies": ("supplies",),
    "safety": ("safety",),
    "drivers": ("drivers",),
    "wires": ("wires",),
    "relays": ("relays",),
    "batteries": ("batteries",),
    "logic": ("logic",),
}
# Formulas whose arguments are lists, names or level tables; their tests stand beside the laws.
WITHOUT_LAWS = {
    "series_supply",
    "rail_power",
    "limited_power",
    "cell_window",
    "pack_window",
    "noise_margins",
    "drives",
    "levels_for_supply",
}
HERE = Path(__file__).parent


def test_every_fact_is_used_or_set_aside() -> None:
    used: set[str] = set()
    for name in [*(f"test_{name}.py" for name in MODULES), "test_ngspice.py"]:
        used |= set(re.findall(r'\bfact\("([A-Z0-9-]+)"\)', (HERE / name).read_text(encoding="utf-8")))
    assert used | set(NOT_USED) == set(facts())
    assert not used & set(NOT_USED)


def test_every_fact_names_its_source_and_evidence() -> None:
    for known in facts().values():
        assert known.title
        assert known.source
        assert re.search(r"read|from memory|own", known.evidence), known.id
        assert known.tolerance
        assert set(known.tolerance) <= {"abs", "rel"}
        assert "http" not in str(known)


@pytest.mark.parametrize("test_module", MODULES)
def test_every_formula_has_laws(test_module: str) -> None:
    with_laws = {law.formula.__name__ for law in importlib.import_module(f"test_{test_module}").LAWS}
    for name in MODULES[test_module]:
        module = importlib.import_module(f"fitter.physics.{name}")
        public = {
            label
            for label, value in inspect.getmembers(module, inspect.isfunction)
            if value.__module__ == module.__name__ and not label.startswith("_")
        }
        assert public - WITHOUT_LAWS - with_laws == set(), name
