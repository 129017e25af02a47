"""Heat a wire, as long as someone holds the button."""

from __future__ import annotations

from collections.abc import Callable

from fitter.checks.making import HotWire, PulseConsumer, SetConsumer
from fitter.functions.control import controller
from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle
from fitter.functions.spin import fed

ConsumerType = Callable[[str], PulseConsumer]

function(
    "heat_wire",
    "heats a wire while a button is held down",
    length=Argument("length", help="of the wire that is heated"),
    watts=Argument("power", help="of heat in all of it"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(
        REFERENCE, "", "the control that pulses it; left out, a board of its own does, where it is pulsed"
    ),
)


def _wire(sketch: Sketch, a: Arguments, consumer: ConsumerType | None = None) -> tuple[str, HotWire]:
    """The wire, and the button without which it is cold: nothing here heats unattended."""
    wire = sketch.role("wire", "resistance wire", about="resistance wire", consumer=consumer)
    button = sketch.role("button", "limit switch", about="button that must be held down")
    sketch.link("interrupts", button, wire)
    return wire, HotWire(wire, figure(a, "length"), figure(a, "watts"))


@principle("heat_wire", "converter", "step-down converter turned to the wire's voltage", noise="silent")
def converter(sketch: Sketch, a: Arguments) -> None:
    """Steady heat from any brick."""
    wire, hot = _wire(sketch, a)
    part = sketch.role(
        "converter",
        "buck converter",
        about="adjustable step-down converter",
        windowed=True,
        consumer=lambda role: SetConsumer(role, hot.watts),
    )
    fed(sketch, a, part)
    sketch.link("heats", part, wire, hot=hot)


@principle("heat_wire", "pulses", "transistor that pulses the rail onto the wire", noise="silent")
def pulses(sketch: Sketch, a: Arguments) -> None:
    """Where the rail is well above the wire's voltage; the supply must stand the pulses."""
    wire, hot = _wire(sketch, a, consumer=lambda role: PulseConsumer(HotWire(role, *_asked(a))))
    switch = sketch.role("switch", "transistor switch", about="transistor that pulses")
    fed(sketch, a, wire)
    sketch.link("heats", switch, wire, hot=hot)
    board = (str(a["control"]), "board") if a["control"] else controller(sketch, a)
    sketch.link("signal", board, switch)


def _asked(a: Arguments) -> tuple[float, float]:
    return figure(a, "length"), figure(a, "watts")
