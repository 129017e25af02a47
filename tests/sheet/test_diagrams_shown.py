"""Block diagrams of real builds, as a browser shows them: nothing overlaps, text stays in its box."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

import headless
import pytest

from fitter.figures.diagram import diagram
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.sheet.blocks import DRAWN, blocks_of
from fitter.solve.builds import Build

STOCK = Path(__file__).parents[2] / "inventory_examples" / "repair_shed"
RECIPES = ("camera-slider", "drawer-rails", "lab-supply", "pen-plotter")


@pytest.fixture(scope="module")
def shed() -> Shed:
    return Shed.open(STOCK)


@pytest.fixture(scope="module", params=RECIPES)
def build(request: pytest.FixtureRequest, shed: Shed) -> Build:
    return shed.sets(bind(shed.recipe(request.param), {}), 1).builds[0]


def drawn(build: Build, notes: Mapping[tuple[str, str], str] | None = None) -> str:
    return diagram(*blocks_of(build, notes))


def document(body: str) -> str:
    viewport = '<meta name="viewport" content="width=device-width, initial-scale=1">'
    return (
        f'<!doctype html><html lang="en"><meta charset="utf-8">{viewport}<title>d</title><body>{body}</body>'
    )


@pytest.mark.parametrize("width", [794, 390])
def test_nothing_overlaps(page: Callable[[str], headless.Page], build: Build, width: int) -> None:
    blocks, wires = blocks_of(build, {("power.supply", "slide.driver"): "0.75 mm2, 3 A fuse"})
    shown = page(document(drawn(build, {("power.supply", "slide.driver"): "0.75 mm2, 3 A fuse"})))
    shown.resize(width)
    boxes, labels = shown.boxes(".diagram rect.box"), shown.boxes(".diagram text.label")
    kinds = {wire.kind for wire in wires}
    assert len(boxes) == len(blocks)
    assert len(labels) == len(wires) + len(kinds), (
        "a label for each wire, and a line of the legend for each kind"
    )
    assert headless.overlaps(boxes + labels, slack=0.0) == []
    assert shown.console() == []


def test_text_stays_in_its_box(page: Callable[[str], headless.Page], build: Build) -> None:
    shown = page(document(drawn(build)))
    for place, block in enumerate(blocks_of(build)[0]):
        within = f".diagram g[data-block='{block.id}']"
        (box,) = shown.boxes(f"{within} rect")
        texts = shown.boxes(f"{within} text")
        assert texts, place
        for text in texts:
            assert box["left"] <= text["left"]
            assert text["right"] <= box["right"]
            assert box["top"] <= text["top"]
            assert text["bottom"] <= box["bottom"] + 1


def test_wires_show_on_light_and_dark(page: Callable[[str], headless.Page], build: Build) -> None:
    shown = page(document(drawn(build)))
    ink = {}
    for scheme in ("light", "dark"):
        shown.scheme(scheme)
        ink[scheme] = shown.script("return getComputedStyle(document.querySelector('.diagram .title')).fill")
    assert ink == {"light": "rgb(17, 17, 17)", "dark": "rgb(238, 238, 238)"}


def test_what_joins_parts_is_said(shed: Shed) -> None:
    build = shed.sets(bind(shed.recipe("camera-slider"), {}), 1).builds[0]
    blocks, wires = blocks_of(build, {("power.supply", "slide.driver"): "0.75 mm2"})
    labels = {(w.source, w.target): w.label for w in wires}
    assert labels["power.supply", "slide.driver"] == "19 V, 0.75 mm2"
    assert labels["slide.driver", "slide.motor"] == build.parts["slide.motor"].offer.label
    assert labels["slide.motor", "slide.pulley"] == "shaft 5 mm"
    assert labels["slide.pulley", "slide.belt"] == "2 mm pitch"
    assert labels["rail.bushes", "rail.rods"] == "8 mm rod"
    by_id = {b.id: b for b in blocks}
    assert by_id["slide.motor"].title == "m9"
    assert by_id["slide.motor"].lines == ("flat square motor", "shelf 1, tin lid")
    assert set(by_id) == set(build.parts) | {"slide.load"}


def test_what_is_bought_says_so(shed: Shed) -> None:
    build = shed.sets(bind(shed.recipe("pen-plotter"), {}), 1).builds[0]
    tags = {b.id: b.tag for b in blocks_of(build)[0]}
    assert (
        {role for role, tag in tags.items() if tag == "BUY"}
        == {role for role, part in build.parts.items() if part.bought}
        != set()
    )


def test_every_sort_of_link_can_be_drawn() -> None:
    """Those of all functions, whether a recipe uses them or not."""
    folder = Path(__file__).parents[2] / "fitter" / "functions"
    texts = [file.read_text(encoding="utf-8") for file in folder.glob("*.py")]
    used = {link for text in texts for link in re.findall(r'\.link\(\s*"([a-z ]+)"', text)}
    assert len(used) > 15
    assert used <= set(DRAWN)


@pytest.mark.parametrize("width", [1200, 390])
def test_text_can_be_read_on_any_screen(
    page: Callable[[str], headless.Page], build: Build, width: int
) -> None:
    """Letters of a label stay 7 px high at the least, the figure scrolling where it must."""
    shown = page(document(f'<figure style="overflow-x:auto">{drawn(build)}</figure>'))
    shown.resize(width)
    scale = shown.script("return document.querySelector('.diagram').getScreenCTM().a")
    assert 10 * scale >= 7
    assert shown.script("return document.documentElement.scrollWidth") <= width
