"""Sense ends and places, and command the rest."""

from __future__ import annotations

from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle

function(
    "sense",
    "tells the controller that an end is reached",
    count=Argument("count", "1", "how many"),
    control=Argument(REFERENCE, help="the control that reads it"),
)


@principle("sense", "switch or light barrier", "limit switches or photo interrupters", noise="silent")
def ends(sketch: Sketch, a: Arguments) -> None:
    """A lever switch is as good as a light barrier for finding an end."""
    sensors = sketch.role(
        "sensors", "limit switch", "photo interrupter", count=int(figure(a, "count")), about="end sensors"
    )
    if a["control"]:
        sketch.link("signal", sensors, (str(a["control"]), "board"))


function(
    "control",
    "commands motors and reads sensors",
    power=Argument(REFERENCE, help="the supply that feeds the board"),
)


@principle("control", "controller board", "programmable board", noise="silent")
def board(sketch: Sketch, a: Arguments) -> None:
    """One board for the whole project."""
    sketch.terminal("board", controller(sketch, a))


def controller(sketch: Sketch, a: Arguments) -> str:
    """A board on the rail that the function names."""
    part = sketch.role("board", "controller board", about="controller board", draws="supply_current")
    if a["power"]:
        sketch.link("power", (str(a["power"]), "out"), part)
    return part
