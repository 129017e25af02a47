"""Plots tell their lines apart without colour, keep text as text, and are the same each time."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable

import pytest

from fitter.figures import plots
from fitter.figures.curves import (
    Bar,
    Curve,
    Need,
    RailLoad,
    move_over_time,
    output_region,
    rail_loads,
    torque_over_speed,
)

SVG = "{http://www.w3.org/2000/svg}"
SPEEDS = [0.0, 50.0, 100.0]


def torque(name: str = "t") -> str:
    need = Need((40.0, 60.0), (0.05, 0.08), 2.0)
    curves = [Curve(12.0, [0.3, 0.2, 0.1]), Curve(24.0, [0.3, 0.28, 0.2])]
    return torque_over_speed(name, "Torque", SPEEDS, [0.1, 0.05, 0.0], [0.4, 0.3, 0.2], curves, need)


def rails(consumers: int = 4) -> str:
    bars = [Bar(f"consumer {i}", 0.1, 0.2) for i in range(consumers)]
    return rail_loads("r", "Rails", [RailLoad("24 V", (2.0, 2.4), 0.8, bars)])


def region() -> str:
    volts = [1.0, 8.0, 15.0]
    return output_region("o", "Region", volts, [1.0, 1.4, 2.0], [1.2, 1.7, 2.4], [1.8] * 3, 15.0, 1.5)


def move() -> str:
    return move_over_time("m", "Move", [0.0, 1.0, 3.0, 4.0], [0.0, 0.2, 0.2, 0.0], False)


ALL = {"torque": torque, "rails": rails, "region": region, "move": move}


@pytest.mark.parametrize("made", ALL.values(), ids=ALL)
def test_it_is_one_element_with_words(made: Callable[[], str]) -> None:
    svg = ET.fromstring(made())
    assert svg.tag == f"{SVG}svg"
    assert svg.get("role") == "img"
    assert [len(svg.findtext(f"{SVG}{tag}") or "") > 3 for tag in ("title", "desc")] == [True, True]
    assert len(list(svg.iter(f"{SVG}text"))) > 5
    assert svg.get("width") is None, "it takes the room that the page gives it"


@pytest.mark.parametrize("made", ALL.values(), ids=ALL)
def test_it_is_the_same_each_time(made: Callable[[], str]) -> None:
    assert made() == made()


@pytest.mark.parametrize("made", ALL.values(), ids=ALL)
def test_every_colour_is_the_page_s(made: Callable[[], str]) -> None:
    """A colour that is no custom property would stay dark on a dark page."""
    bare = re.sub(r"var\(--[a-z]+, #[0-9a-f]{6}\)", "", made())
    assert set(re.findall(r"#[0-9a-fA-F]{6}\b", bare)) == set()


def test_names_keep_figures_of_one_page_apart() -> None:
    one, other = (set(re.findall(r'\bid="([^"]+)"', torque(name))) for name in ("a", "b"))
    assert one
    assert not one & other
    used = set(re.findall(r'(?:url\(|href=")#([^")]+)', torque("a")))
    assert used
    assert used <= one


def test_likely_curves_differ_in_their_dashes() -> None:
    lines = re.findall(r'style="fill: none; ([^"]*stroke-width: 1.8[^"]*)"', torque())
    dashed = {("blue" if "--blue" in line else "green"): "stroke-dasharray" in line for line in lines}
    assert dashed == {"blue": True, "green": False}


def test_bars_differ_in_their_hatching() -> None:
    """Five ways to hatch and one without: in grey they are told apart."""
    assert len(set(re.findall(r"<pattern.*?</pattern>", rails(6), re.DOTALL))) >= 4
    assert rails(1).count("<pattern") == 0


def test_words_in_a_label_are_not_formulas() -> None:
    bars = [Bar("cost $5 and $6 <b>", 0.1, 0.2)]
    text = "".join(ET.fromstring(rail_loads("r", "R", [RailLoad("a_b$", (1.0, 1.0), 1.0, bars)])).itertext())
    assert "cost $5 and $6 <b>" in text


def test_colours_are_those_published() -> None:
    """Okabe and Ito, "Color Universal Design" (2008): blue, orange, bluish green, vermilion, sky blue."""
    published = {(0, 114, 178), (230, 159, 0), (0, 158, 115), (213, 94, 0), (86, 180, 233)}
    mine = (plots.BLUE, plots.ORANGE, plots.GREEN, plots.RED, plots.SKY)
    assert {tuple(bytes.fromhex(c[1:])) for c in mine} == published
