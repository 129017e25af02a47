"""The pictures of the README are those that the program draws now."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import draw
import pytest

README = Path(__file__).parents[2] / "README.md"
REMEDY = "out of date: run `python tests/pictures/draw.py` and look at what it drew"


@pytest.fixture(scope="module")
def now() -> dict[str, str]:
    return dict(draw.pictures())


def kept(name: str) -> str:
    return (draw.HERE / name).read_text(encoding="utf-8")


def said(svg: str) -> list[str]:
    """All text of a picture, its description with it; what versions of the plotting library leave alike."""
    return [text.strip() for text in ElementTree.fromstring(svg).itertext() if text.strip()]


def test_the_block_diagram_is_current_to_the_letter(now: dict[str, str]) -> None:
    assert kept("slider-parts.svg") == f"{now['slider-parts.svg']}\n", REMEDY


def test_every_picture_says_what_it_would_say_now(now: dict[str, str]) -> None:
    assert {p.name for p in draw.HERE.glob("*.svg")} == set(now), REMEDY
    for name, svg in now.items():
        assert said(kept(name)) == said(svg), f"{name} is {REMEDY}"


def test_drawing_again_gives_the_same(now: dict[str, str]) -> None:
    assert dict(draw.pictures()) == now


def test_the_readme_shows_them_with_words(now: dict[str, str]) -> None:
    shown = dict(re.findall(r'<img src="tests/pictures/([^"]+)"[^>]* alt="([^"]{20,})"', README.read_text()))
    assert set(shown) == set(now)


def test_they_are_small(now: dict[str, str]) -> None:
    assert max(len(kept(name)) for name in now) < 50_000
