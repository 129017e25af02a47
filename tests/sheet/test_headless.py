"""The browser that judges pages sees what it should see."""

from __future__ import annotations

from collections.abc import Callable

import headless

Open = Callable[[str], headless.Page]
HEAD = "<!DOCTYPE html><html lang='en'><head><meta charset='utf-8'><title>t</title></head><body>"


def test_it_reports_a_request_that_leaves_the_page(page: Open) -> None:
    opened = page(f"{HEAD}<img alt='' src='http://127.0.0.1:9/outside.png'>")
    assert opened.requests() == ["http://127.0.0.1:9/outside.png"]
    assert opened.console()


def test_it_reports_nothing_of_a_page_that_stands_alone(page: Open) -> None:
    opened = page(f"{HEAD}<p>words</p>")
    assert opened.requests() == []
    assert opened.console() == []


def test_it_counts_printed_pages(page: Open) -> None:
    two = f"{HEAD}<p>one</p><p style='break-before: page'>two</p>"
    assert headless.pages_of(page(two).pdf()) == 2


def test_it_sees_labels_that_cover_each_other(page: Open) -> None:
    svg = (
        "<svg width='200' height='90'><text x='10' y='40'>above</text>"
        "<text x='14' y='42'>over it</text><text x='10' y='80'>apart</text></svg>"
    )
    assert headless.overlaps(page(HEAD + svg).boxes("svg text")) == [("above", "over it")]


def test_it_shows_dark_and_light(page: Open) -> None:
    opened = page(HEAD)
    dark = "return matchMedia('(prefers-color-scheme: dark)').matches"
    assert opened.script(dark) is False
    opened.scheme("dark")
    assert opened.script(dark) is True
