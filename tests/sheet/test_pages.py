"""Bench sheets as a browser shows and prints them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import headless
import pytest

from fitter.shed import Shed
from fitter.sheet.answers import sheet
from fitter.show.sheet import page as page_of

EXAMPLES = Path(__file__).parents[2] / "inventory_examples"
SHED, BOX = EXAMPLES / "repair_shed", EXAMPLES / "small_box.yaml"
CASES = [
    *((SHED, recipe) for recipe in ("camera-slider", "drawer-rails", "lab-supply", "pen-plotter")),
    (BOX, "camera-slider"),
]
PRINTED = {"camera-slider": 3, "drawer-rails": 1, "lab-supply": 3, "pen-plotter": 5}


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case[0].stem} {case[1]}")
def case(request: pytest.FixtureRequest) -> tuple[str, str]:
    stock, recipe = request.param
    return recipe, page_of(sheet(Shed.open(stock), recipe, stock=stock))


@pytest.fixture
def shown(page: Callable[[str], headless.Page], case: tuple[str, str]) -> headless.Page:
    return page(case[1])


def test_nothing_goes_wrong_and_nothing_is_fetched(shown: headless.Page) -> None:
    shown.scheme("dark")
    shown.pdf()
    assert shown.console() == []
    assert shown.requests() == []


def test_it_prints_on_few_pages(shown: headless.Page, case: tuple[str, str]) -> None:
    assert headless.pages_of(shown.pdf()) <= PRINTED[case[0]]


@pytest.mark.parametrize("width", [390, 1150])
def test_no_labels_cover_each_other(shown: headless.Page, width: int) -> None:
    shown.resize(width)
    for number in range(int(shown.script("return document.querySelectorAll('svg.plot').length"))):
        labels = _labels(shown, number)
        assert len(labels) > 4
        assert headless.overlaps(labels) == []


def _labels(shown: headless.Page, number: int) -> list[dict[str, Any]]:
    """Texts of one plot."""
    shown.script(
        "document.querySelectorAll('[data-seen]').forEach(e => e.removeAttribute('data-seen'));"
        "document.querySelectorAll('svg.plot')[arguments[0]].setAttribute('data-seen', '')",
        number,
    )
    return shown.boxes("[data-seen] text")


@pytest.mark.parametrize("width", [390, 1150])
def test_nothing_sticks_out_sideways(shown: headless.Page, width: int) -> None:
    shown.resize(width)
    assert shown.script("return document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_the_page(shown: headless.Page, scheme: str) -> None:
    """Contrast of every colour of text at least 4.5 to 1: Web Content Accessibility Guidelines 2.2, 1.4.3."""
    shown.scheme(scheme)
    colours = shown.script(
        "const s = e => getComputedStyle(e);"
        "const all = [...document.querySelectorAll('h1, p, small, td, th, figcaption, svg text')];"
        "return [s(document.body).backgroundColor, ...new Set(all.map("
        "e => e instanceof SVGElement ? s(e).fill : s(e).color))]"
    )
    paper, *inks = (_luminance(c) for c in colours)
    assert len(inks) >= 2
    for ink in inks:
        assert (max(paper, ink) + 0.05) / (min(paper, ink) + 0.05) >= 4.5


def _luminance(colour: str) -> float:
    """Relative luminance of an ``rgb(...)`` colour, by the same guidelines."""
    parts = [int(p) / 255 for p in colour[colour.index("(") + 1 : -1].split(",")[:3]]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_a_script_in_a_stock_does_nothing(page: Callable[[str], headless.Page], tmp_path: Path) -> None:
    file = tmp_path / "stock.yaml"
    file.write_text(
        "lots:\n  - id: '<script>document.title = 1</script>'\n    kind: drawer slide\n    count: 2\n"
        "    name: '<img src=x onerror=\"document.title = 1\">'\n    travel: 360 mm, measured\n"
        "    closed_length: 370 mm, measured\n    load: 30 kg, measured\n",
        encoding="utf-8",
    )
    opened = page(page_of(sheet(Shed.open(file), "drawer-rails", stock=file)))
    assert opened.script("return document.title") == "Drawer on rails: bench sheet"
    assert "<script>document.title = 1</script>" in opened.script("return document.body.innerText")
    assert opened.console() == []
