"""Ways side by side: each the best of its kind, held against the ranked list of all sets; and why not.

The judge of what is best is the list that the search gives for the whole project, all ways together; that of
holding is the check itself, in the project that asks for it.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from fitter.comparing.answers import compare
from fitter.comparing.models import CompareAnswer, WayAnswer
from fitter.errors import FitterError
from fitter.functions import FUNCTIONS
from fitter.functions.model import NOISE
from fitter.projects import Project, bind
from fitter.shed import Shed
from fitter.show import comparing as show
from fitter.solve.variants import ranked_builds

STOCK = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
SLOPE = {"incline": "40 deg"}


@pytest.fixture(scope="module")
def shed() -> Shed:
    return Shed.open(STOCK)


@pytest.fixture(scope="module")
def level(shed: Shed) -> CompareAnswer:
    """Every function of the slider that is done in several ways, on the level."""
    return compare(shed, "camera-slider")


def of(answer: CompareAnswer, function: str) -> dict[str, WayAnswer]:
    (only,) = (f for f in answer.functions if f.function == function)
    return {way.principle: way for way in only.ways}


def ways(shed: Shed, **settings: str) -> dict[str, WayAnswer]:
    return of(compare(shed, "camera-slider", "slide", settings), "slide")


def test_each_way_is_the_first_with_it_among_all_sets(shed: Shed, level: CompareAnswer) -> None:
    """Sets of all ways in the order of their score; sets with either sort of supply are among the first."""
    project = bind(shed.recipe("camera-slider"), {})
    found = of(level, "power")
    first: dict[str, dict[str, str | None]] = {}
    for each in itertools.islice(ranked_builds(project, shed.tables(), shed.limit()), 300):
        name = each.principles["power"].name
        parts = {r: None if c.bought else c.lot.id for r, c in each.parts.items() if r.startswith("power.")}
        first.setdefault(name, parts)
    assert len(first) == 2
    assert {name: way.uses for name, way in found.items()} == first
    assert list(found) == list(first)


def test_the_first_way_is_that_of_the_best_set(shed: Shed, level: CompareAnswer) -> None:
    best = shed.sets(bind(shed.recipe("camera-slider"), {}), 1).builds[0]
    for function in level.functions:
        way = function.ways[0]
        assert way.principle == best.principles[function.function].name
        assert way.uses == {r: p.lot.id for r, p in best.parts.items() if r.startswith(function.function)}
        assert way.to_measure == list(best.open_ratings)


def asking_to_hold(project: Project) -> Project:
    functions = (
        replace(f, arguments={**f.arguments, "holds_unpowered": "yes"}) if f.name == "slide" else f
        for f in project.functions
    )
    return replace(project, functions=tuple(functions))


def test_what_holds_is_what_the_check_says_where_it_is_asked_for(shed: Shed) -> None:
    """On a slope, with the lots of each way put into their roles by hand."""
    word = {"fits": "yes", "unproven": "unproven", "fails": "no"}
    found = ways(shed, **SLOPE)
    project = asking_to_hold(bind(shed.recipe("camera-slider"), SLOPE))
    told = set()
    for way in found.values():
        owned = {role: lot for role, lot in way.uses.items() if lot}
        (slide,) = (f for f in project.functions if f.name == "slide")
        only = tuple(p for p in slide.principles if p.name == way.principle)
        asked = replace(
            project,
            functions=tuple(replace(f, principles=only) if f is slide else f for f in project.functions),
        )
        build = shed.nearest(asked, owned).builds[0]
        if any(p.bought for r, p in build.parts.items() if r in way.uses):
            continue  # a part from a shop may be another one where holding is asked for
        (check,) = (c for c in build.checks if c.check.name == "holds without power")
        assert way.holds == word[check.verdict.value]
        told.add(way.holds)
    assert {way.holds for way in found.values()} >= {"yes", "unproven"}


def test_on_the_level_nothing_pushes_back(level: CompareAnswer) -> None:
    assert {way.holds for way in of(level, "slide").values()} == {"yes"}
    assert {way.holds for way in of(level, "rail").values()} == {None}


def test_what_must_be_bought_is_priced_and_counted(level: CompareAnswer) -> None:
    for way in of(level, "slide").values():
        assert way.goes
        assert (way.state == "buy first") == bool(way.to_buy) == (way.price is not None)
        assert way.price is None or way.price == pytest.approx(sum(b.price or 0 for b in way.to_buy))
        bought = {b.role for b in way.to_buy if b.role.startswith("slide.")}
        assert bought == {role for role, lot in way.uses.items() if lot is None}


def test_the_margin_is_that_of_the_tightest_of_its_own_checks(level: CompareAnswer) -> None:
    for way in of(level, "slide").values():
        assert way.tightest is not None
        assert any(role.startswith("slide.") for role in way.tightest.roles)
        assert way.tightest.margin[0] is not None


def test_a_way_that_does_not_go_says_what_fails(shed: Shed) -> None:
    for way in ways(shed, payload="50 kg", speed="5 m/s", acceleration="50 m/s2").values():
        assert not way.goes
        assert (way.state, way.outcome) == ("out of reach", "complete")
        assert "need" in way.why_not or "limit" in way.why_not
        assert "\n" not in way.why_not
        assert way.uses == {}
        assert way.tightest is None


def test_a_way_without_a_place_for_a_lot_that_must_be_used_says_so(shed: Shed) -> None:
    (only,) = compare(shed, "camera-slider", "slide", fixed={"slide.pulley": "pul1"}).functions
    said = {way.principle: way.why_not for way in only.ways}
    assert said["stepper and screw"] == "it has no place for pul1: there is no slide.pulley"
    assert said["stepper and belt"] == ""


def test_a_search_that_was_stopped_says_it_does_not_know() -> None:
    short = Shed.open(STOCK)
    short.limit_nodes = 0
    (only,) = compare(short, "camera-slider", "slide").functions
    assert {(w.outcome, w.stopped_by) for w in only.ways} == {("stopped", "nodes")}
    assert all(w.goes or w.state == "not known" for w in only.ways)


def test_functions_done_in_one_way_are_left_out_unless_named(shed: Shed, level: CompareAnswer) -> None:
    named = [f.function for f in level.functions]
    assert named == ["slide", "rail", "power"]
    assert [f.function for f in compare(shed, "camera-slider", "control").functions] == ["control"]


def test_an_unknown_function_is_told_with_the_nearest(shed: Shed) -> None:
    with pytest.raises(FitterError, match="has no function 'slid'"):
        compare(shed, "camera-slider", "slid")


def test_every_way_has_its_noise() -> None:
    classes = {p.name: p.noise for f in FUNCTIONS.values() for p in f.principles.values()}
    assert {name for name, noise in classes.items() if noise not in NOISE} == set()


@pytest.mark.parametrize("width", [60, 80, 100])
def test_the_page_keeps_to_its_width(
    level: CompareAnswer, width: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(show, "console", lambda: Console(width=width, highlight=False, markup=False))
    show.compare(level)
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= width
    for way in of(level, "slide").values():
        assert way.noise in text
        assert all(lot in text for lot in way.uses.values() if lot)
