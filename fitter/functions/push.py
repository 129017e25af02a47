"""Push or pull between two places, and switch a coil."""

from __future__ import annotations

from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle

function(
    "push",
    "moves between two places, such as a pen lift",
    force=Argument("force", help="that it must give"),
    stroke=Argument("length", "5 mm", "from one place to the other"),
    duty=Argument("ratio", "0.3", "share of time it is on"),
    arm=Argument("length", "15 mm", "of a servo's horn"),
    count=Argument("count", "1", "how many alike"),
    at_once=Argument("count", "1", "how many of them may be on at once"),
    power=Argument(REFERENCE, help="the supply of a coil"),
    logic=Argument(REFERENCE, "", "the supply of a servo"),
    control=Argument(REFERENCE, help="the control that commands it"),
)


def _pieces(a: Arguments) -> int:
    """How many coils or servos alike; a function without that argument has one."""
    return round(figure(a, "count")) if a.get("count") else 1


@principle("push", "servo", "hobby servo with a horn", noise="audible")
def servo(sketch: Sketch, a: Arguments) -> None:
    """Quiet and gentle, fed from the logic supply."""
    part = sketch.role(
        "servo",
        "servo",
        count=_pieces(a),
        about="servo",
        force=figure(a, "force"),
        arm=figure(a, "arm"),
        at_once=a["at_once"],
    )
    feed = a["logic"] or a["power"]
    if feed:
        sketch.link("power", (str(feed), "out"), part)
    if a["control"]:
        sketch.link("signal", (str(a["control"]), "board"), part)


@principle("push", "solenoid", "solenoid switched by a transistor", noise="loud")
def solenoid(sketch: Sketch, a: Arguments) -> None:
    """Fast and strong; warms up, and wants a diode across it."""
    coil = sketch.role(
        "solenoid",
        "solenoid",
        count=_pieces(a),
        about="solenoid",
        at_once=a["at_once"],
        force=figure(a, "force"),
        stroke=figure(a, "stroke"),
        duty=figure(a, "duty"),
    )
    switched(sketch, a, coil)


def switched(sketch: Sketch, a: Arguments, coil: str) -> None:
    """Put a transistor between a coil and its rail."""
    switch = sketch.role(
        "switch",
        "transistor switch",
        count=_pieces(a),
        about="transistor switch with a diode across the coil",
    )
    sketch.link("switches", switch, coil)
    if a["power"]:
        sketch.link("power", (str(a["power"]), "out"), coil)
    if a["control"]:
        sketch.link("signal", (str(a["control"]), "board"), switch)


function(
    "switch",
    "turns a coil, a magnet or a clutch on and off",
    force=Argument("force", "0 N", "of the coil at its stroke"),
    stroke=Argument("length", "0 mm", "of its plunger"),
    duty=Argument("ratio", "1", "share of time it is on"),
    power=Argument(REFERENCE, help="the supply of the coil"),
    control=Argument(REFERENCE, help="the control that commands it"),
)


@principle(
    "switch", "coil and transistor", "electromagnet or solenoid switched by a transistor", noise="loud"
)
def coil_switch(sketch: Sketch, a: Arguments) -> None:
    """A coil that is on or off."""
    coil = sketch.role(
        "coil",
        "electromagnet",
        "solenoid",
        about="coil",
        force=figure(a, "force"),
        stroke=figure(a, "stroke"),
        duty=figure(a, "duty"),
    )
    switched(sketch, a, coil)
