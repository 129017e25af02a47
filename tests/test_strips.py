"""Figures drawn in letters stand for the figures they were given, at any width and in plain letters too."""

from __future__ import annotations

import io
from math import pi
from pathlib import Path

import pytest
from rich.console import Console

from fitter.recipes import bind
from fitter.shed import Shed
from fitter.sheet.drives import drives_of
from fitter.sheet.models import CurveAnswer, DrawAnswer, RailAnswer, TorqueAnswer
from fitter.sheet.rails import rails_of
from fitter.show import strips
from fitter.show.strips import BLOCKS, PLAIN, Signs

STOCK = Path(__file__).parents[1] / "inventory_examples" / "repair_shed"
WIDTHS = (40, 80, 100)


def straight(need_speed: float = 5.0, need_torque: float = 0.2) -> TorqueAnswer:
    """A likely torque that falls straight from 1 N m to nothing at 10 rad/s, half of it at the least."""
    speeds = [float(i) for i in range(11)]
    likely = [1 - s / 10 for s in speeds]
    return TorqueAnswer(
        speeds=speeds,
        least=[t / 2 for t in likely],
        most=[t * 2 for t in likely],
        curves=[CurveAnswer(voltage=24.0, torque=likely)],
        need_speed=(need_speed, need_speed),
        need_torque=(need_torque / 2, need_torque),
        safety=2.0,
    )


def rail(typical: float, peak: float, rating: float = 10.0) -> RailAnswer:
    return RailAnswer(
        label="power.supply, 24 V",
        role="power.supply",
        voltage=(24.0, 24.0),
        likely_voltage=24.0,
        rating=(rating, rating * 1.1),
        loading=0.8,
        draws=[DrawAnswer(about="motor", typical=typical, peak=peak)],
        typical=typical,
        peak=peak,
        fuse=None,
        gauge=20,
        area=0.5e-6,
    )


def field(lines: list[str], signs: Signs) -> list[str]:
    """The drawn part of a torque figure, top row first."""
    return [line.partition(signs.side)[2] for line in lines[1 : strips.ROWS + 1]]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("signs", [BLOCKS, PLAIN])
def test_the_curve_falls_as_the_torque_does(width: int, signs: Signs) -> None:
    lines = list(strips.torque("m", straight(), width, signs))
    rows = field(lines, signs)
    columns = len(lines[strips.ROWS + 1].partition(signs.side)[2])
    top = strips.HEADROOM
    for column in range(columns):
        torque = 1 - (column + 0.5) / columns
        row = strips.ROWS - 1 - int(torque / top * strips.ROWS)
        assert rows[row][column] in (signs.curve, signs.need)


@pytest.mark.parametrize("speed", [1.0, 5.0, 9.0])
@pytest.mark.parametrize("torque", [0.2, 0.9])
def test_what_is_asked_stands_where_it_belongs(speed: float, torque: float) -> None:
    lines = list(strips.torque("m", straight(speed, torque), 80, PLAIN))
    rows = field(lines, PLAIN)
    at = {(r, c) for r, row in enumerate(rows) for c, letter in enumerate(row) if letter == PLAIN.need}
    columns = len(lines[strips.ROWS + 1].partition(PLAIN.side)[2])
    assert at
    assert {abs((c + 0.5) / columns * 10 - speed) < 0.2 for _, c in at} == {True}
    heights = [strips.HEADROOM * (strips.ROWS - r) / strips.ROWS for r, _ in at]
    assert max(heights) >= torque > max(heights) - strips.HEADROOM / strips.ROWS
    assert f"at {speed * 60 / (2 * pi):.0f} rpm" in "\n".join(lines)


def test_the_band_is_drawn_between_least_and_most_only() -> None:
    rows = field(list(strips.torque("m", straight(9.5, 0.01), 80, PLAIN)), PLAIN)
    for r, row in enumerate(rows):
        middle = strips.HEADROOM * (strips.ROWS - r - 0.5) / strips.ROWS
        for c, letter in enumerate(row):
            likely = 1 - (c + 0.5) / len(row.ljust(68))
            if letter == PLAIN.band:
                assert likely / 2 - 0.02 <= middle <= likely * 2 + 0.02


@pytest.mark.parametrize("signs", [BLOCKS, PLAIN])
def test_bars_end_where_the_current_does(signs: Signs) -> None:
    _, head, typical, peak = strips.loads([rail(2.0, 9.0)], 80, signs)
    assert "10 A" in head
    scale = 11.0  # A, a tenth above the rating
    columns = 80 - 20
    for line, amps in ((typical, 2.0), (peak, 9.0)):
        bar = line[10 : 10 + columns]
        drawn = len(bar.rstrip()) and sum(bar.count(letter) for letter in (signs.full, signs.half) if letter)
        over = amps / scale > 0.8 * 10 / scale  # a mark stands on the bar
        assert drawn + over == pytest.approx(amps / scale * columns, abs=1.1)
        assert [i for i, letter in enumerate(bar) if letter == signs.limit] == [
            int(8 / scale * columns),
            int(10 / scale * columns),
        ]


def test_a_current_beyond_the_rating_passes_its_mark() -> None:
    *_, peak = strips.loads([rail(2.0, 20.0)], 80, PLAIN)
    assert peak.rindex(PLAIN.full) > peak.rindex(PLAIN.limit)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_figures_keep_to_the_terminal(width: int, encoding: str) -> None:
    shed = Shed.open(STOCK)
    build = shed.sets(bind(shed.recipe("camera-slider"), {}), 1).builds[0]
    raw = io.BytesIO()
    out = Console(file=io.TextIOWrapper(raw, encoding=encoding), width=width, highlight=False, markup=False)
    drives, rails = drives_of(build), rails_of(build)
    strips.figures(out, drives, rails)
    out.file.flush()
    lines = raw.getvalue().decode(encoding).splitlines()  # an ascii terminal takes nothing else
    assert max(map(len, lines)) <= width
    assert len(lines) <= 13 * (len(drives) + 1)
    assert any(strips.signs_of(out).need in line for line in lines)


def test_plain_letters_are_ascii() -> None:
    assert all(sign.isascii() for sign in vars(PLAIN).values())
