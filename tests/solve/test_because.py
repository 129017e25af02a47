"""What a build asks to be measured is enough, and no more: with those ratings at their best the check fits,
with any of them left open it need not.

Judged by the definition of a rating that keeps a check open; checks that no rating of the parts can
settle (the models' own bands) ask for nothing.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from fitter.checks.base import ROUNDING
from fitter.intervals import Interval
from fitter.projects import bind
from fitter.shed import Shed
from fitter.solve.builds import Build, Checked, PinnedPart, judge
from fitter.solve.variants import ranked_builds

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
Pins = Mapping[tuple[str, str], Interval]
CASES = [
    ("repair_shed", "camera-slider"),
    ("repair_shed", "pen-plotter"),
    ("repair_shed", "lab-supply"),
    ("small_box.yaml", "camera-slider"),
    ("small_box.yaml", "lab-supply"),
]


def margin(build: Build, checked: Checked, pins: Pins) -> float:
    """Lowest margin of a check with some ratings known and all others as they are."""
    views = {
        role: PinnedPart(build.parts[role], {n: v for (r, n), v in pins.items() if r == role})
        for role in checked.check.roles
    }
    return float(checked.check.judge(views).margin.lo)


def open_ratings(build: Build, checked: Checked) -> Iterator[tuple[str, str]]:
    """Role and name of every rating that the check reads and nobody knows exactly."""
    views = {role: PinnedPart(build.parts[role], {}) for role in checked.check.roles}
    checked.check.judge(views)
    for role, view in views.items():
        for name in sorted(view.read):
            if not build.parts[role].rating(name).exact:
                yield role, name


def at_their_best(build: Build, checked: Checked) -> Pins:
    """Every open rating at the value that suits the check, sought one after the other."""
    pins = {
        (role, name): Interval.point(build.parts[role].rating(name).likely)
        for role, name in open_ratings(build, checked)
    }
    for role, name in [*pins, *pins]:
        known = build.parts[role].rating(name)
        ends = [Interval.point(v) for v in (known.likely, known.hi, known.lo)]
        pins[role, name] = max(ends, key=lambda v, at=(role, name): margin(build, checked, {**pins, at: v}))
    return pins


@pytest.mark.parametrize(("stock", "recipe"), CASES)
def test_the_named_ratings_settle_the_check(stock: str, recipe: str) -> None:
    shed = Shed.open(EXAMPLES / stock)
    tables = shed.tables()
    settled = 0
    for found in itertools.islice(ranked_builds(bind(shed.recipe(recipe)), tables), 4):
        build = judge(found, tables)
        for checked in build.unproven:
            best = at_their_best(build, checked)
            if margin(build, checked, best) < 1 - ROUNDING:
                assert not checked.because
                continue
            named = {(r, n): v for (r, n), v in best.items() if build.parts[r].path(n) in checked.because}
            assert named
            assert margin(build, checked, named) >= 1 - ROUNDING, checked
            for path in checked.because:
                without = {(r, n): v for (r, n), v in named.items() if build.parts[r].path(n) != path}
                assert margin(build, checked, without) < 1 - ROUNDING, (checked, path)
            settled += 1
    assert settled or (stock, recipe) == ("small_box.yaml", "lab-supply")
