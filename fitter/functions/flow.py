"""Move air."""

from __future__ import annotations

from fitter.checks import making as checks  # noqa: F401  (importing it registers its finders)
from fitter.checks.power import RatedConsumer
from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle
from fitter.functions.spin import fed

function(
    "flow",
    "moves air",
    flow=Argument("flow", help="that must go through"),
    pressure=Argument("pressure", "0 Pa", "that duct and filter take at that flow"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
)


def _fans(sketch: Sketch, a: Arguments, beside: int = 1, in_row: int = 1) -> None:
    fan = sketch.role(
        "fan",
        "fan",
        count=beside * in_row,
        about="fan or blower",
        windowed=True,
        consumer=lambda role: RatedConsumer(role, "current"),
        flow=figure(a, "flow"),
        pressure=figure(a, "pressure"),
        beside=beside,
        in_row=in_row,
    )
    fed(sketch, a, fan)


@principle("flow", "one fan", "one fan or blower", noise="audible")
def one(sketch: Sketch, a: Arguments) -> None:
    """The fewest leaks."""
    _fans(sketch, a)


@principle("flow", "two fans side by side", "two fans alike, side by side", noise="audible")
def side_by_side(sketch: Sketch, a: Arguments) -> None:
    """Twice the flow where little stands in the way."""
    _fans(sketch, a, beside=2)


@principle("flow", "two fans in a row", "two fans alike, one behind the other", noise="audible")
def in_row(sketch: Sketch, a: Arguments) -> None:
    """Twice the pressure, for a thick filter."""
    _fans(sketch, a, in_row=2)
