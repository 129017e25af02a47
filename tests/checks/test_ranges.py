"""Outside the range in which a formula is known to hold nothing is promised: unproven, and a note says why.

A formula that the checks use and whose docstring has a section ``Range`` must have a case here, or the
walk fails. Each case fits by far inside the range; just outside it is unproven, far outside what fails
still fails. Judge: the ranges as the docstrings print them.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from boxes import TRANSFORMER, known_set, plans

import fitter
from fitter import physics
from fitter.checks.base import Check, Judgement, Verdict, at_least, stays_below, within
from fitter.checks.find import find_checks
from fitter.intervals import Interval

PLANS = {p.name: p for p in plans()}
AMONG = {"checks", "kinds"}  # the parts of the package that judge by formulas
Values = Mapping[tuple[str, str], float]


@dataclass(frozen=True)
class Case:
    """Demands (of a function) and ratings (of a role) that lie inside and outside the range of formulas."""

    check: str
    plan: str
    formulas: tuple[str, ...]
    ample: Values
    inside: Values
    outside: Values


RECTIFIED = next(p.name for p in plans() if p.functions.get("power", ("", ""))[1] == TRANSFORMER)
STIFF = {"inside": 0.0031, "outside": 0.0029}  # regulation: 0.3 % and more
CASES = [
    Case(
        "StepperTorque",
        "stepper and belt",
        ("voltage_limited_torque",),
        {
            ("axis", "mass"): 0.1,
            ("axis", "incline"): 0.0,
            ("axis", "acceleration"): 0.01,
            ("axis", "process_force"): 0.0,
            ("axis.driver", "chopper"): 1,
            ("axis.driver", "peak_current"): 9.0,
            ("axis.motor", "holding_torque"): 5.0,
            ("axis.motor", "rated_current"): 4.0,
            ("axis.motor", "resistance"): 0.4,
            ("axis.motor", "inductance"): 1e-3,
            ("axis.motor", "detent_torque"): 0.01,
            ("axis.motor", "rotor_inertia"): 1e-5,
            ("axis.pulley", "teeth"): 20,
            ("axis.pulley", "belt_pitch"): 2e-3,
            ("power.supply", "voltage.low"): 48.0,
        },
        {("axis", "speed"): 0.59},  # 40 mm a turn: 885 rpm
        {("axis", "speed"): 0.61},  # 915 rpm
    ),
    Case(
        "ScrewWhip",
        "stepper and screw",
        ("efficiency", "back_driving_efficiency"),
        {
            ("axis.screw", "length"): 0.2,
            ("axis.screw", "diameter"): 8e-3,
            ("axis.screw", "lead"): 2e-3,
        },
        {("axis", "speed"): 0.079},  # 248 rad/s at a radius of 4 mm: 0.99 m/s
        {("axis", "speed"): 0.081},  # 1.02 m/s
    ),
    Case(
        "ToothStrength",
        "stepper and rack",
        ("tooth_force",),
        {("axis.gear", "tooth_force"): 1e5},
        {("axis.gear", "teeth"): 12},
        {("axis.gear", "teeth"): 11},
    ),
    Case(
        "FrontCurrent",
        "transformer and regulator",
        ("direct_current_factor_range",),
        {("output.transformer", "secondary_current"): 1e3},
        {("output.transformer", "regulation"): STIFF["inside"]},
        {("output.transformer", "regulation"): STIFF["outside"]},
    ),
    Case(
        "RailCurrent",
        RECTIFIED,
        ("direct_current_factor_range",),
        {("power.transformer", "secondary_current"): 1e6, ("power.transformer", "apparent_power"): 1e9},
        {("power.transformer", "regulation"): STIFF["inside"]},
        {("power.transformer", "regulation"): STIFF["outside"]},
    ),
]


def judged(case: Case, values: Values) -> tuple[Check, Judgement, Mapping[str, Any]]:
    """The check of a case with some demands and ratings, all else at random."""
    kinds = {"axis.driver": "stepper driver"} if "stepper" in case.plan else {}
    graph, parts = known_set(PLANS[case.plan], values, 5, kinds)
    check = next(
        c
        for c in find_checks(graph)
        if type(c).__name__ == case.check and (case.check != "RailCurrent" or "power.bridge" in c.roles)
    )
    return check, check.judge(parts), parts


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.check)
def test_just_outside_the_range_is_unproven_with_a_note(case: Case) -> None:
    check, inside, parts = judged(case, {**case.ample, **case.inside})
    assert inside.verdict is Verdict.FITS
    assert not inside.note
    check, outside, parts = judged(case, {**case.ample, **case.outside})
    assert outside.verdict is Verdict.UNPROVEN
    assert len(outside.note) > 20
    assert check.explained(parts, outside).endswith(outside.note)


def test_what_fails_outside_the_range_still_fails() -> None:
    outside = stays_below(Interval.point(2.0), 1.0)
    assert within(outside, at_least(2.0, Interval.point(1.0)), "beyond").verdict is Verdict.FAILS
    partly = stays_below(Interval(0.5, 2.0), 1.0)
    assert within(partly, at_least(1.0, Interval.point(3.0)), "beyond").verdict is Verdict.UNPROVEN


# ---------------------------------------------------------------- the walk


def ranges() -> dict[str, tuple[Any, dict[str, str]]]:
    """Every public formula with a section ``Range``: the function, and what it says of which argument."""
    found = {}
    for each in pkgutil.iter_modules(physics.__path__):
        module = importlib.import_module(f"fitter.physics.{each.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            text = inspect.getdoc(function) or ""
            section = re.search(r"^Range:\n((?: {4}.*\n)+)", text, flags=re.MULTILINE)
            if section and function.__module__ == module.__name__:
                lines = re.findall(r"^ {4}(\w+): (\S.*)", section[1], flags=re.MULTILINE)
                found[name] = (function, dict(lines))
    return found


def used_in_judging() -> set[str]:
    """Names read off the modules of physics in checks and kinds."""
    names: set[str] = set()
    for folder in AMONG:
        for path in (Path(fitter.__file__).parent / folder).glob("*.py"):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            modules = {
                (alias.asname or alias.name)
                for node in ast.walk(tree)
                if isinstance(node, ast.ImportFrom) and node.module == "fitter.physics"
                for alias in node.names
            }
            names |= {
                node.attr
                for node in ast.walk(tree)
                if isinstance(node, ast.Attribute)
                and isinstance(node.value, ast.Name)
                and node.value.id in modules
            }
    return names


def test_ranges_name_arguments_of_their_formulas() -> None:
    assert len(ranges()) >= 9
    for function, said in ranges().values():
        assert said
        assert set(said) <= set(inspect.signature(function).parameters), function.__name__


def test_every_range_that_checks_rely_on_has_a_case() -> None:
    of_cases = {formula for case in CASES for formula in case.formulas}
    assert set(ranges()) & used_in_judging() == of_cases


def test_what_speaks_of_a_range_in_passing_has_the_section() -> None:
    """Words that mean a range in a docstring are no substitute for the section that the walk reads."""
    for each in pkgutil.iter_modules(physics.__path__):
        module = importlib.import_module(f"fitter.physics.{each.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            own = function.__module__ == module.__name__ and not each.name.startswith("_")
            if own and re.search(
                r"held level|level beyond|valid (for|up|from)", inspect.getdoc(function) or ""
            ):
                assert name in ranges(), name
