"""Light something up."""

from __future__ import annotations

from fitter.checks.making import WattConsumer
from fitter.checks.power import RatedConsumer
from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle
from fitter.functions.spin import fed, switched

function(
    "light",
    "lights something up",
    watts=Argument("power", help="electrical power of the light"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(REFERENCE, "", "the control that switches or times it; left out, on while it is fed"),
)


@principle("light", "LED strip", "strip of light-emitting diodes on its own voltage", noise="silent")
def strip(sketch: Sketch, a: Arguments) -> None:
    """Cut to length between the marks; its resistors are on it."""
    part = sketch.role(
        "strip",
        "led strip",
        about="strip of light-emitting diodes",
        windowed=True,
        consumer=lambda role: WattConsumer(role, "rated_power"),
        light=figure(a, "watts"),
    )
    fed(sketch, a, part)
    switched(sketch, a, part, "rated_power")


@principle(
    "light", "LED bar and resistor", "bar out of a screen, its current held by a resistor", noise="silent"
)
def bar(sketch: Sketch, a: Arguments) -> None:
    """Bare strings take what they get: something must hold the current."""
    part = sketch.role(
        "bar",
        "led bar",
        about="bar of light-emitting diodes with a resistor",
        consumer=lambda role: RatedConsumer(role, "rated_current"),
        light=figure(a, "watts"),
    )
    fed(sketch, a, part)
    switched(sketch, a, part, "rated_current")
