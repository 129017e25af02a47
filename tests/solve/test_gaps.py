"""What to buy: limits that suffice and are tight, sizes inside them, projects that go with what was bought.

The judges are the checks themselves, run anew on parts put at the corners of a specification, and the
whole search, run anew on a stock to which the purchases were added.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Mapping
from pathlib import Path

import pytest

from fitter import answers
from fitter.advice.sizes import carried, price_range, sizes_of
from fitter.documents import package_data
from fitter.explain import alternatives
from fitter.intervals import Interval
from fitter.kinds import KINDS, kind_key
from fitter.kinds.supplies import CHEMISTRIES
from fitter.models import GapsAnswer, MissingAnswer
from fitter.ratings import Evidence, Rating
from fitter.recipes import bind, load_recipes
from fitter.shed import Shed
from fitter.solve.builds import Build, PinnedPart
from fitter.solve.gaps import Gap, gaps
from fitter.stock.files import Stock
from fitter.stock.lots import Lot

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
STOCKS = (*sorted(p.name for p in EXAMPLES.iterdir() if p.is_dir() or p.suffix == ".yaml"), "nothing")
RECIPES = tuple(load_recipes())
SUPPLIES = ("switch-mode supply", "adapter", "battery pack")


def opened(stock: str, seed: int | None = None) -> Shed:
    """An example stock, an empty one, or with a seed a random part of an example."""
    whole = Shed.open(EXAMPLES / ("repair_shed" if stock == "nothing" else stock))
    if stock == "nothing":
        return Shed(Stock([]), whole.recipes)
    if seed is None:
        return whole
    lots = [lot for lot in whole.stock.lots if random.Random(f"{seed} {lot.id}").random() < 0.6]
    return Shed(Stock(lots), whole.recipes)


def at_corner(missing: MissingAnswer, upper: Mapping[str, bool], number: int) -> Lot:
    """A lot bought by a specification: each rating at its limit, of two limits at the one said.

    A supply is sold by its voltage under load and taken as regulated, a battery by its chemistry; all that
    the specification leaves open is left unknown.
    """
    ratings = {n: _at(limit.min, limit.max, upper[n]) for n, limit in missing.spec.items()}
    rails: tuple[dict[str, Rating], ...] = ()
    if missing.kind in SUPPLIES:
        ratings, rails = _supply(missing.kind, ratings)
    if missing.kind == "transformer":
        rails = ({"voltage": ratings.pop("secondary_voltage"), "current": ratings.pop("secondary_current")},)
    return Lot(id=f"new{number}", kind=missing.kind, count=missing.count, ratings=ratings, rails=rails)


def _at(low: float | None, high: float | None, upper: bool) -> Rating:
    ends = [e for e in (low, high) if e is not None]
    return _exactly(ends[-1] if upper else ends[0])


def _exactly(value: float) -> Rating:
    return Rating(value, value, value, Evidence.MEASURED)


def _supply(kind: str, known: dict[str, Rating]) -> tuple[dict[str, Rating], tuple[dict[str, Rating], ...]]:
    ratings = dict(known)
    high = ratings.pop("voltage.high", None)
    low = ratings.pop("voltage.low", None) or high
    assert low is not None
    if high is not None and high.hi < low.lo:  # a corner that no supply has: its low end above its high end
        low = high
    if kind == "battery pack":
        window = {"voltage.min": low, "voltage.max": high or low}
        ratings["continuous_current"] = ratings.pop("current")
        return {**ratings, **window, "chemistry": _exactly(CHEMISTRIES.index("lead-acid"))}, ()
    ratings["regulated"] = _exactly(1.0)
    if kind == "adapter":
        return {**ratings, "voltage": low}, ()
    unit = ratings.pop("unit_power", None)
    if unit:
        ratings["total_power"] = unit
    specs = KINDS[kind_key(kind)].rails
    assert specs is not None
    rail = {n: s.unknown() for n, s in specs.items()}
    return ratings, ({**rail, "voltage": low, "current": ratings.pop("current", rail["current"])},)


def after_buying(shed: Shed, answer: GapsAnswer, corner: str) -> Shed:
    """The stock with every purchase in it, each as bad as its specification allows."""
    draw = random.Random(corner)
    bought = []
    for number, missing in enumerate(answer.missing):
        upper = {n: {"low": False, "high": True}.get(corner, draw.random() < 0.5) for n in missing.spec}
        bought.append(at_corner(missing, upper, number))
    return Shed(Stock([*shed.stock.lots, *bought]), shed.recipes)


@pytest.mark.parametrize("corners", [("low",), pytest.param(("high", "drawn"), marks=pytest.mark.slow)])
@pytest.mark.parametrize("stock", STOCKS)
@pytest.mark.parametrize("recipe", RECIPES)
def test_whoever_buys_what_is_asked_for_can_go_on(
    stock: str, recipe: str, corners: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(alternatives, "SECONDS", 0.0)  # other ways have tests of their own
    shed = opened(stock)
    answer = answers.gaps_of(shed, recipe)
    if not answer.missing:
        assert answer.state in ("ready", "measure first")
        return
    for corner in corners:
        after = answers.gaps_of(after_buying(shed, answer, corner), recipe)
        assert after.state in ("ready", "measure first"), (corner, [(m.role, m.kind) for m in after.missing])
        assert not after.missing
        assert not after.fails


@pytest.fixture(scope="module")
def builds() -> list[Build]:
    """Best sets of random parts of the example stock that need a purchase."""
    found = []
    for seed, recipe in itertools.product(range(4), ("drawer-rails", "lab-supply", "camera-slider")):
        shed = opened("repair_shed", seed)
        best = shed.sets(bind(shed.recipe(recipe), {}), 1).best
        if best is not None and best.to_buy:
            found.append(best)
    return found


def least(build: Build, pinned: Mapping[str, Mapping[str, Interval]], role: str) -> float:
    """By how much the checks of a role are better than they must be, over boxes of ratings.

    A check must pass, or where the sample leaves it open be no worse than with the sample.
    """
    worst = math.inf
    for checked in build.checks:
        if role in checked.check.roles:
            views = {r: PinnedPart(build.parts[r], pinned.get(r, {})) for r in checked.check.roles}
            goal = min(1.0, float(checked.judgement.margin.lo))
            worst = min(worst, float(checked.check.judge(views).margin.lo) - goal)
    return worst


def corner_of(gap: Gap, draw: random.Random) -> dict[str, Interval]:
    """A part inside a specification: each rating at a limit or as the sample has it."""
    part = {}
    for name, limits in gap.spec.items():
        ends = [e for e in (limits.low, limits.high) if math.isfinite(e)]
        value = draw.choice([*ends, gap.candidate.rating(name).likely])
        part[name] = Interval(value, value)
    return part


def test_parts_at_the_corners_of_a_specification_fit(builds: list[Build]) -> None:
    tried = 0
    for build in builds:
        found = gaps(build)
        for seed in range(10):
            draw = random.Random(seed)
            bought = {gap.role: corner_of(gap, draw) for gap in found}
            for role in bought:
                assert least(build, bought, role) >= -1e-6, (role, bought)
                tried += 1
    assert tried > 100


def test_a_limit_is_where_it_stops_to_fit(builds: list[Build]) -> None:
    """A single thing to buy leaves no slack to share: just outside each limit some corner fails."""
    tried = 0
    for build in builds:
        found = gaps(build)
        if len(found) != 1:
            continue
        (gap,) = found
        inside = {n: Interval(*_finite(gap, n)) for n in gap.spec}
        for name, limits in gap.spec.items():
            for end, factor in ((limits.low, 1 - 1e-3), (limits.high, 1 + 1e-3)):
                if math.isfinite(end):
                    outside = {**inside, name: Interval(end * factor, end * factor)}
                    assert least(build, {gap.role: outside}, gap.role) < 0, (gap.role, name, end)
                    tried += 1
    assert tried


def _finite(gap: Gap, name: str) -> tuple[float, float]:
    sample, limits = gap.candidate.rating(name).likely, gap.spec[name]
    return (
        limits.low if math.isfinite(limits.low) else sample,
        limits.high if math.isfinite(limits.high) else sample,
    )


def test_sizes_lie_within_the_limits(builds: list[Build]) -> None:
    asked = 0
    for build in builds:
        for gap in gaps(build):
            for name, limits in gap.spec.items():
                size = carried(gap.candidate.lot.kind, name, limits.low, limits.high)
                if size is not None:
                    assert limits.low * (1 - 1e-6) <= size <= limits.high * (1 + 1e-6)
                    asked += 1
    assert asked


def test_preferred_numbers_are_those_of_the_standards() -> None:
    """Within half a step of the geometric series that ISO 3 and IEC 60063 round; from memory."""
    series = package_data("advice", "preferred.yaml")["series"]
    for name, steps in (("R10", 10), ("R20", 20), ("E6", 6), ("E12", 12), ("E24", 24)):
        numbers = series[name]["numbers"]
        assert len(numbers) == steps
        assert numbers == sorted(numbers)
        for i, number in enumerate(numbers):
            assert abs(math.log10(number) - i / steps) < 0.5 / steps, (name, number)


def test_every_size_and_spread_names_a_kind_and_a_rating() -> None:
    found = package_data("advice", "preferred.yaml")
    for table in (found["sizes"], found["unlisted"]):
        for kind, ratings in table.items():
            for rating in ratings:
                assert KINDS[kind_key(kind)].spec(rating) is not None, (kind, rating)
    for kind, ratings in found["sizes"].items():
        assert all(sizes_of(kind, r) for r in ratings)
    for kind in package_data("advice", "prices.yaml")["spread"]:
        assert kind == "default" or kind_key(kind) in KINDS
        low, high = price_range(kind, 10.0)
        assert low < 10 < high
