"""Carry something along a line."""

from __future__ import annotations

from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle

function(
    "guide",
    "carries something along a line",
    travel=Argument("length", help="how far it must go"),
    mass=Argument("mass", help="everything that is carried"),
    max_play=Argument("length", "2 mm", "sideways play allowed"),
    max_sag=Argument("length", "1 mm", "bending allowed in the middle"),
    max_closed_length=Argument("length", "", "room there is when pushed in; left out, as much as it takes"),
    carriage_length=Argument("length", "60 mm", "along the line"),
    carries=Argument(REFERENCE, "", "the axis whose load it carries"),
)


def _carry(sketch: Sketch, a: Arguments, node: str) -> None:
    sketch.terminal("carriage", node)
    if a["carries"]:
        sketch.link("carries", node, (str(a["carries"]), "load"))


def _rods(sketch: Sketch, a: Arguments, bearing: str, about: str) -> None:
    rods = sketch.role(
        "rods",
        "rod",
        count=2,
        about="pair of guide rods",
        travel=figure(a, "travel"),
        mass=figure(a, "mass"),
        max_sag=figure(a, "max_sag"),
        carriage_length=figure(a, "carriage_length"),
    )
    bushes = sketch.role("bushes", bearing, count=4, about=about, mass=figure(a, "mass"))
    sketch.link("rod", bushes, rods)
    _carry(sketch, a, bushes)


@principle("guide", "rods and bushings", "two rods with plain bushes", noise="quiet")
def rods_bushings(sketch: Sketch, a: Arguments) -> None:
    """Keep bushes and rods of one machine together."""
    _rods(sketch, a, "bushing", "four bushes, two a rod")


@principle("guide", "rods and linear bearings", "two rods with ball bushes", noise="audible")
def rods_bearings(sketch: Sketch, a: Arguments) -> None:
    """Ball bushes run easily but groove soft rods."""
    _rods(sketch, a, "linear bearing", "four ball bushes, two a rod")


@principle("guide", "slides", "a pair of drawer slides", noise="audible")
def slides(sketch: Sketch, a: Arguments) -> None:
    """Strong and ready to screw on; play at full extension rules them out for fine work."""
    pair = sketch.role(
        "slides",
        "drawer slide",
        count=2,
        about="pair of drawer slides",
        travel=figure(a, "travel"),
        mass=figure(a, "mass"),
        max_play=figure(a, "max_play"),
        max_closed_length=a["max_closed_length"],
    )
    _carry(sketch, a, pair)
