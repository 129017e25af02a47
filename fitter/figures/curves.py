"""Figures of a drive and of a supply: torque over speed, a move, the loads of rails, an output region."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from fitter.figures.plots import BLUE, GREEN, INK, ORANGE, RED, SKY, SOFT, legend, plot
from fitter.records import Record
from fitter.units import show, show_span

if TYPE_CHECKING:
    from matplotlib.axes import Axes

RPM = 60 / (2 * math.pi)
Span = tuple[float, float]
_UNLISTED = "_"  # a name that the key of a plot leaves out
_STYLES = ((BLUE, "--"), (GREEN, "-"))


class Curve(Record):
    """Likely torque at one supply voltage: V, and N m for each speed."""

    voltage: float
    torque: Sequence[float]


class Need(Record):
    """What a load asks of its motor: rad/s and N m, safety factor included."""

    speed: Span
    torque: Span
    safety: float


class Bar(Record):
    """What a consumer takes from a rail, A."""

    about: str
    typical: float
    peak: float


class RailLoad(Record):
    """A rail: its rating in A, the share of it that may be used, and what is drawn."""

    label: str
    rating: Span
    loading: float
    bars: Sequence[Bar]


def torque_over_speed(
    name: str,
    title: str,
    speeds: Sequence[float],
    least: Sequence[float],
    most: Sequence[float],
    curves: Sequence[Curve],
    need: Need,
) -> str:
    """Torque of a motor on its driver over the speed of its shaft, and where the load stands.

    Args:
        name: Told apart from other figures of the page.
        title: In a few words.
        speeds: rad/s.
        least: N m, with everything at its worst.
        most: N m, with everything at its best.
        curves: Likely torque at the least and the most voltage of the rail.
        need: What the load asks for.
    """
    top = max(need.torque[1] * 1.3, 1.15 * max(max(c.torque) for c in curves), _seen(most, curves))
    scale, unit = (1e3, "mN m") if top < 1 else (1.0, "N m")
    rpm = [s * RPM for s in speeds]

    def draw(axes: Axes) -> None:
        low, high = ([min(t, 2 * top) * scale for t in edge] for edge in (least, most))
        axes.fill_between(rpm, low, high, color=SKY, alpha=0.22, linewidth=0, label="all that it may be")
        for curve, (colour, dashes) in zip(curves, _STYLES, strict=False):
            label = f"likely at {show(curve.voltage, 'voltage')}"
            axes.plot(
                rpm, [t * scale for t in curve.torque], dashes, color=colour, linewidth=1.8, label=label
            )
        _cross(axes, need, scale)
        axes.set(
            xlim=(0, rpm[-1]),
            ylim=(0, top * scale),
            xlabel="speed of the shaft, rpm",
            ylabel=f"torque, {unit}",
        )
        legend(axes)

    return plot(name, title, _torque_words(curves, need, speeds, least), draw)


def _seen(most: Sequence[float], curves: Sequence[Curve]) -> float:
    """How much of the band is worth its room: to its top, unless that dwarfs the curves."""
    return min(1.05 * max(most), 2.0 * max(max(c.torque) for c in curves))


def _cross(axes: Axes, need: Need, scale: float) -> None:
    """The load's need: a mark with bars as wide as what is not known of it."""
    (slow, fast), (low, high) = need.speed, need.torque
    axes.errorbar(
        [(slow + fast) / 2 * RPM],
        [high * scale],
        xerr=[[(fast - slow) / 2 * RPM]] * 2,
        yerr=[[(high - low) * scale], [0.0]],
        fmt="D",
        color=RED,
        ecolor=RED,
        markersize=7,
        markeredgecolor=INK,
        capsize=3,
        clip_on=False,
        zorder=5,
        label=f"the load needs, × {need.safety:g} for safety",
    )


def _torque_words(
    curves: Sequence[Curve], need: Need, speeds: Sequence[float], least: Sequence[float]
) -> str:
    at = show_span(*need.speed, "angular_speed")
    each = "; ".join(
        f"at {show(c.voltage, 'voltage')} likely {show(_at(need.speed[1], speeds, c.torque), 'torque')}"
        for c in curves
    )
    return (
        f"The load needs {show_span(*need.torque, 'torque')} at {at}, safety included. There the motor gives "
        f"{each}; at the worst {show(_at(need.speed[1], speeds, least), 'torque')}."
    )


def _at(speed: float, speeds: Sequence[float], values: Sequence[float]) -> float:
    """A curve read off between its points."""
    for (a, x), (b, y) in zip(
        zip(speeds, values, strict=True), zip(speeds[1:], values[1:], strict=True), strict=False
    ):
        if a <= speed <= b:
            return x + (y - x) * (speed - a) / (b - a)
    return values[-1]


def move_over_time(
    name: str, title: str, times: Sequence[float], speeds: Sequence[float], rotary: bool
) -> str:
    """Speed over time of one move from end to end: s, and m/s (rad/s for a load that turns)."""
    factor, unit = (RPM, "rpm") if rotary else (1e3, "mm/s")
    quantity = "angular_speed" if rotary else "speed"

    def draw(axes: Axes) -> None:
        shown = [s * factor for s in speeds]
        axes.fill_between(times, shown, color=SKY, alpha=0.22, linewidth=0)
        axes.plot(times, shown, color=BLUE, linewidth=1.8, marker="o", markersize=4, clip_on=False)
        axes.set(xlabel="time, s", ylabel=f"speed, {unit}", xlim=(0, times[-1]), ylim=(0, 1.15 * max(shown)))

    about = (
        f"Speeds up for {show(times[1], 'time')} to {show(max(speeds), quantity)}, goes on for "
        f"{show(times[2] - times[1], 'time')} and slows down for {show(times[3] - times[2], 'time')}: "
        f"{show(times[3], 'time')} from end to end."
    )
    return plot(name, title, about, draw, (5.4, 2.1))


_FILLS = ((BLUE, ""), (ORANGE, "///"), (GREEN, "||"), (SKY, "xx"), (RED, "\\\\\\"), (SOFT, ""))


def rail_loads(name: str, title: str, rails: Sequence[RailLoad]) -> str:
    """For each rail a bar of the typical load and one of the peak, against what the rail gives."""
    consumers = list(dict.fromkeys(bar.about for rail in rails for bar in rail.bars))
    fills = {about: _FILLS[i % len(_FILLS)] for i, about in enumerate(consumers)}

    def draw(axes: Axes) -> None:
        ticks: list[tuple[float, str]] = []
        seen: set[str] = set()
        for number, rail in enumerate(rails):
            base = -3.2 * number
            for row, which in ((base, "typical"), (base - 1, "peak")):
                ticks.append((row, which))
                left = 0.0
                for bar in rail.bars:
                    amps = getattr(bar, which)
                    colour, hatch = fills[bar.about]
                    label = _UNLISTED if bar.about in seen else bar.about
                    seen.add(bar.about)
                    axes.barh(
                        row,
                        amps,
                        0.7,
                        left,
                        color=colour,
                        hatch=hatch,
                        edgecolor=INK,
                        linewidth=0.8,
                        label=label,
                    )
                    left += amps
            _rating(axes, rail, base, first=number == 0)
        axes.set_yticks([at for at, _ in ticks], [word for _, word in ticks])
        axes.set(xlabel="current, A", ylim=(-3.2 * len(rails) + 1.4, 1.5))
        axes.set_xlim(0, 1.12 * max(max(rail.rating[1], sum(b.peak for b in rail.bars)) for rail in rails))
        axes.grid(False, axis="y")
        axes.tick_params(axis="y", length=0)
        legend(axes, 1)

    height = 0.95 + 0.2 * (len(consumers) + 2) + 0.62 * len(rails)
    return plot(name, title, " ".join(map(_rail_words, rails)), draw, (5.4, height))


def _rating(axes: Axes, rail: RailLoad, base: float, *, first: bool) -> None:
    """The name of a rail above its bars, and lines for its rating and for the share that may be used."""
    used = rail.rating[0] * rail.loading
    ends = (base - 1.45, base + 0.45)
    axes.vlines(
        rail.rating[0], *ends, color=RED, linewidth=2.2, label="rating, at the least" if first else _UNLISTED
    )
    if rail.loading < 1:
        share = f"{rail.loading:.0%} of it, for long life" if first else _UNLISTED
        axes.vlines(used, *ends, color=RED, linewidth=1.6, linestyle=":", label=share)
    axes.text(0.0, base + 0.55, rail.label, fontweight="bold", va="bottom", fontsize=9.5)


def _rail_words(rail: RailLoad) -> str:
    typical, peak = (sum(getattr(b, which) for b in rail.bars) for which in ("typical", "peak"))
    gives = show_span(*rail.rating, "current")
    return (
        f"{rail.label}: typically {show(typical, 'current')}, {show(peak, 'current')} at the most, of "
        f"{gives}, of which {rail.loading:.0%} may be used."
    )


def output_region(
    name: str,
    title: str,
    voltages: Sequence[float],
    heat: Sequence[float],
    heat_at_best: Sequence[float],
    electrical: Sequence[float],
    voltage: float,
    current: float,
) -> str:
    """Which volts and amps a linear supply gives for hours: V, and A for each voltage.

    Args:
        name: Told apart from other figures of the page.
        title: In a few words.
        voltages: V at the output.
        heat: A, to which the parts surely stay cool enough.
        heat_at_best: A, to which they may.
        electrical: A, that front end and series element give.
        voltage: V asked for.
        current: A asked for.
    """
    sure = [min(pair) for pair in zip(heat, electrical, strict=True)]
    top = 1.15 * max(current, *sure)

    def draw(axes: Axes) -> None:
        axes.fill_between(voltages, sure, color=GREEN, alpha=0.2, linewidth=0, label="for hours, surely")
        axes.plot(voltages, heat, color=RED, linewidth=1.8, label="heat limit, surely")
        if min(heat_at_best) < top:
            axes.plot(voltages, heat_at_best, "--", color=ORANGE, linewidth=1.8, label="heat limit, at best")
        axes.plot(voltages, electrical, ":", color=BLUE, linewidth=2.2, label="current limit of the parts")
        axes.plot(
            [voltages[0], voltage, voltage],
            [current, current, 0],
            color=INK,
            linewidth=1.0,
            marker="",
            label="asked for",
        )
        axes.set(xlabel="output, V", ylabel="current, A", xlim=(0, voltage * 1.05), ylim=(0, top))
        legend(axes)

    least = min(range(len(sure)), key=sure.__getitem__)
    about = (
        f"Asked for: up to {show(voltage, 'voltage')} and {show(current, 'current')}. The least that is sure "
        f"is {show(sure[least], 'current')} at {show(voltages[least], 'voltage')}; at "
        f"{show(voltages[-1], 'voltage')} it is {show(sure[-1], 'current')}."
    )
    return plot(name, title, about, draw)
