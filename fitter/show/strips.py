"""Figures drawn in letters: torque over speed, and what a rail carries; a dozen lines each, at any width."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from fitter.units import show, show_span

if TYPE_CHECKING:
    from fitter.models import Ends
    from fitter.sheet.models import DriveAnswer, RailAnswer, TorqueAnswer

ROWS = 7  # of a torque figure
RPM = 60 / (2 * pi)
HEADROOM = 1.25  # above the highest that must be seen
MOST_RAILS = 3
_LABEL = 10  # columns left of a figure


@dataclass(frozen=True)
class Signs:
    """The letters that figures are drawn with."""

    band: str
    curve: str
    need: str
    full: str
    half: str
    empty: str
    limit: str
    floor: str
    side: str


BLOCKS = Signs("░", "▬", "◆", "█", "▌", "·", "┃", "─", "│")
PLAIN = Signs(":", "=", "X", "#", "", ".", "|", "-", "|")


def signs_of(out: Console) -> Signs:
    """Block letters where the terminal has them, else plain ones."""
    return BLOCKS if (out.encoding or "").lower().startswith("utf") else PLAIN


def figures(out: Console, drives: Sequence[DriveAnswer], rails: Sequence[RailAnswer]) -> None:
    """Torque of each drive, then the load of each rail."""
    signs, width = signs_of(out), out.width
    for drive in drives:
        if drive.torque is not None:
            out.print()
            _print(out, torque(drive.motor, drive.torque, width, signs))
    if rails:
        out.print()
        _print(out, loads(rails, width, signs))


def _print(out: Console, lines: Iterator[str]) -> None:
    for place, line in enumerate(lines):
        out.print(Text(line, style="" if place else "bold"), no_wrap=True, overflow="crop")


# ---------------------------------------------------------------- torque over speed


def torque(motor: str, of: TorqueAnswer, width: int, signs: Signs) -> Iterator[str]:
    """Torque over speed: the band, the likely curve at the lowest rail voltage, and the point asked for.

    Args:
        motor: Its role.
        of: What the checks say of it.
        width: Columns there are.
        signs: Letters to draw with.
    """
    columns = max(width - _LABEL - 2, 10)
    top = HEADROOM * max(max(of.curves[0].torque), _high(of.need_torque))
    speeds = [of.speeds[-1] * (i + 0.5) / columns for i in range(columns)]
    yield f"torque of {motor} over speed"
    for row in range(ROWS, 0, -1):
        low, high = top * (row - 1) / ROWS, top * row / ROWS
        label = _label(show(top, "torque")) if row == ROWS else " " * _LABEL
        cells = "".join(_cell(of, s, of.speeds[-1] / columns, low, high, signs) for s in speeds)
        yield f"{label}{signs.side}{cells}"
    yield f"{_label('0')}{signs.side}{signs.floor * columns}"
    end = f"{of.speeds[-1] * RPM:.0f} rpm"
    yield f"{' ' * _LABEL} 0{end:>{columns - 1}}"
    asked = f"{show_span(*_both(of.need_torque), 'torque')} at {_high(of.need_speed) * RPM:.0f} rpm"
    yield f"{signs.need} asked: {asked}, safety {of.safety:g} included"
    yield f"{signs.curve} likely at {of.curves[0].voltage:.3g} V  {signs.band} all it may be"


def _cell(of: TorqueAnswer, speed: float, step: float, low: float, high: float, signs: Signs) -> str:
    """The letter of one place: what is asked for before the curve, the curve before the band."""
    need_low, need_high = _both(of.need_torque)
    if abs(speed - _high(of.need_speed)) <= step / 2 and need_low < high and need_high >= low:
        return signs.need
    if low <= _at(of.speeds, of.curves[0].torque, speed) < high:
        return signs.curve
    middle = (low + high) / 2
    within = _at(of.speeds, of.least, speed) <= middle <= _at(of.speeds, of.most, speed)
    return signs.band if within else " "


def _at(places: Sequence[float], values: Sequence[float], where: float) -> float:
    """A value between two given ones, in a straight line."""
    i = min(max(bisect_left(places, where), 1), len(places) - 1)
    share = (where - places[i - 1]) / (places[i] - places[i - 1])
    return values[i - 1] + min(max(share, 0.0), 1.0) * (values[i] - values[i - 1])


def _label(text: str) -> str:
    return f"{text[: _LABEL - 1]:>{_LABEL - 1}} "


def _both(ends: Ends) -> tuple[float, float]:
    low = ends[0] or 0.0
    return low, low if ends[1] is None else ends[1]


def _high(ends: Ends) -> float:
    return _both(ends)[1]


# ---------------------------------------------------------------- rails


def loads(rails: Sequence[RailAnswer], width: int, signs: Signs) -> Iterator[str]:
    """Of each rail what it carries, typical and peak; marks stand at what may be used and at its rating."""
    yield "load of each rail"
    for rail in rails[:MOST_RAILS]:
        rating = _both(rail.rating)[0]
        usable = rating * rail.loading
        scale = 1.1 * max(rating, rail.peak)
        marks = f"{signs.limit} at {rail.loading * 100:.0f} % and all of {show(rating, 'current')}"
        yield f"{rail.label}; {marks}"
        for name, amps in (("typical", rail.typical), ("peak", rail.peak)):
            said = f" {show(amps, 'current')}"
            columns = max(width - _LABEL - 10, 10)
            yield f"{_label(name)}{_bar(amps / scale, usable / scale, rating / scale, columns, signs)}{said}"
    if len(rails) > MOST_RAILS:
        yield f"and {len(rails) - MOST_RAILS} more"


def _bar(share: float, usable: float, rating: float, columns: int, signs: Signs) -> str:
    """A bar of so many columns, with marks where its limits are."""
    whole, rest = divmod(share * columns, 1)
    cells = list((signs.full * round(whole) + (signs.half if rest >= 0.5 else "")).ljust(columns))
    cells = [signs.empty if cell == " " and i < rating * columns else cell for i, cell in enumerate(cells)]
    for mark in (usable, rating):
        cells[min(int(mark * columns), columns - 1)] = signs.limit
    return "".join(cells[:columns])
