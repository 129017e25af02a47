"""The bench sheet as one web page that needs no network, no script and no other file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING

from fitter import words
from fitter.figures import curves
from fitter.figures.diagram import Block, Wire, diagram
from fitter.models import FLAG
from fitter.units import show

if TYPE_CHECKING:
    from jinja2 import Template

    from fitter.models import CheckAnswer, LimitAnswer
    from fitter.sheet.models import DriveAnswer, FigureAnswer, PowerStep, SheetAnswer, SheetPart, WireAnswer


def page(sheet: SheetAnswer) -> str:
    """The whole page as text; whatever comes from a stock is escaped."""
    return _template().render(
        sheet=sheet,
        figures=list(figures(sheet)),
        diagram=block_diagram(sheet),
        checks=with_figures(sheet.chosen.checks),
        said_yes=said_yes(sheet.chosen.checks),
        buy=[p for p in sheet.parts if p.buy],
        cautions={place: [c for c in sheet.cautions if c.place == place] for place in _PLACES},
        near_misses={miss.role: miss for miss in sheet.chosen.near_misses},
    )


_PLACES = ("supply", "wiring", "running", "parts")


@cache
def _template() -> Template:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("fitter.show", "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "figure": figure_words,
        "check": check_cells,
        "amps": lambda value: "" if value is None else show(value, "current"),
        "wire": wire_words,
        "limits": limit_words,
        "limit": limit_amps,
        "path": _path_words,
        "rating": words.rating_words,
    }
    return environment.get_template("sheet.html.jinja")


# ---------------------------------------------------------------- words


def figure_words(figure: FigureAnswer) -> str:
    """A figure with its unit."""
    return words.span(figure.value, figure.quantity)


def check_cells(check: CheckAnswer) -> tuple[str, str, str, str]:
    """Name with roles, need, have and margin of a check."""
    return check.check + words.where(check), *words.cells(check)


def with_figures(checks: Sequence[CheckAnswer]) -> list[CheckAnswer]:
    """Checks worth a row of their own: those with figures, and those that are open or fail."""
    return [c for c in checks if c.quantity != FLAG or c.verdict != "fits"]


def said_yes(checks: Sequence[CheckAnswer]) -> dict[str, list[str]]:
    """What is as it must be and has no figures: by the check's name, the parts it holds for."""
    found: dict[str, list[str]] = {}
    for check in checks:
        if check.quantity == FLAG and check.verdict == "fits":
            found.setdefault(check.check, []).append(" with ".join(check.roles))
    return found


def wire_words(wire: WireAnswer) -> str:
    """Gauge and cross-section of a wire."""
    return f"{wire.gauge} AWG, {wire.area * 1e6:g} mm²"


def limit_words(part: SheetPart) -> list[str]:
    """What a bought part must keep to."""
    assert part.buy is not None
    every: dict[str, LimitAnswer] = {**part.buy.spec, **part.buy.seldom_listed}
    return [words.limit(name, at) for name, at in every.items()]


def limit_amps(step: PowerStep) -> str:
    """The limit to set for a step; empty where there is none."""
    return "" if step.limit is None else show(step.limit, "current")


def _path_words(path: str) -> str:
    lot, rating = words.split_path(path)
    return f"{lot}, {words.rating_words(rating)}"


# ---------------------------------------------------------------- figures


def figures(sheet: SheetAnswer) -> Iterator[tuple[str, str]]:
    """Heading and SVG of each plot, the telling ones first."""
    for drive in sheet.drives:
        if drive.torque is not None:
            yield f"Torque of {drive.motor}", torque_figure(drive)
    if region := sheet.region:
        title = "Volts and amps for hours"
        yield (
            title,
            curves.output_region(
                "region",
                title,
                region.voltages,
                region.heat,
                region.heat_at_best,
                region.electrical,
                region.voltage,
                region.current,
            ),
        )
    if sheet.rails:
        yield "Load of each rail", rail_figure(sheet)
    for drive in sheet.drives:
        if move := drive.move:
            title = f"A move of {drive.name} from end to end"
            svg = curves.move_over_time(
                f"move-{_safe(drive.name)}", title, move.times, move.speeds, move.rotary
            )
            yield title, svg


def torque_figure(drive: DriveAnswer) -> str:
    """Torque over speed of one drive."""
    of = drive.torque
    assert of is not None
    return curves.torque_over_speed(
        f"torque-{_safe(drive.name)}",
        f"Torque of {drive.motor} over speed",
        of.speeds,
        of.least,
        of.most,
        [curves.Curve(c.voltage, c.torque) for c in of.curves],
        curves.Need(_both(of.need_speed), _both(of.need_torque), of.safety),
    )


def rail_figure(sheet: SheetAnswer) -> str:
    """Load bars of all rails."""
    loads = [
        curves.RailLoad(
            rail.label,
            _both(rail.rating),
            rail.loading,
            [curves.Bar(d.about, d.typical, d.peak) for d in rail.draws],
        )
        for rail in sheet.rails
    ]
    return curves.rail_loads("rails", "Load of each rail", loads)


def _both(ends: tuple[float | None, float | None]) -> tuple[float, float]:
    low, high = ends
    return low or 0.0, high if high is not None else low or 0.0


def _safe(name: str) -> str:
    """A name as part of an id."""
    return "".join(c if c.isalnum() and c.isascii() else "-" for c in name)


def block_diagram(sheet: SheetAnswer) -> str:
    """How the parts go together, with gauge and fuse of each wire."""
    blocks = [Block(b.id, b.title, tuple(b.lines), b.group, b.tag) for b in sheet.blocks]
    links = [Wire(each.source, each.target, each.kind, each.label) for each in sheet.links]
    return diagram(blocks, links, title="How the parts go together")
