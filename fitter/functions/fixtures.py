"""What finished projects need besides: bearings for a shaft, a case, and a meter to read."""

from __future__ import annotations

from fitter.checks import fixtures as checks  # noqa: F401  (importing it registers its finders)
from fitter.checks.power import RatedConsumer
from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle
from fitter.functions.spin import fed

function(
    "bearing",
    "carries a shaft that turns",
    mass=Argument("mass", help="that rests on it"),
    shaft=Argument("length", "8 mm", "diameter of the shaft"),
)


@principle("bearing", "ball bearings", "two ball bearings", noise="quiet")
def ball_bearings(sketch: Sketch, a: Arguments) -> None:
    """Free and true."""
    sketch.role(
        "bearings",
        "ball bearing",
        count=2,
        about="pair of ball bearings",
        shaft=figure(a, "shaft"),
        bears=figure(a, "mass"),
    )


@principle("bearing", "plain bushes", "two plain bushes", noise="quiet")
def plain_bushes(sketch: Sketch, a: Arguments) -> None:
    """Slow turning only; a drop of oil."""
    sketch.role("bushes", "bushing", count=2, about="pair of plain bushes", shaft=figure(a, "shaft"))


function(
    "box",
    "holds it all",
    length=Argument("length", help="of what must go in"),
    width=Argument("length", help="of what must go in"),
    height=Argument("length", help="of what must go in"),
)


@principle("box", "case", "case of another machine or a bought one", noise="silent")
def case(sketch: Sketch, a: Arguments) -> None:
    """A scanner's or a supply's own case comes with its feet and holes."""
    sketch.role(
        "case", "enclosure", about="case", room=tuple(figure(a, n) for n in ("length", "width", "height"))
    )


function(
    "meter",
    "shows a voltage and a current",
    voltage=Argument("voltage", "0 V", "highest that it must show; left out, none"),
    current=Argument("current", "0 A", "highest that it must show; left out, none"),
    power=Argument(REFERENCE, "", "the supply that feeds it; left out, fed by what it measures"),
    control=Argument(REFERENCE, "", "the control that measures, for a display"),
)


@principle("meter", "panel meter", "ready-made meter for volts and amperes", noise="silent")
def panel_meter(sketch: Sketch, a: Arguments) -> None:
    """Reads by itself."""
    part = sketch.role(
        "meter",
        "panel meter",
        about="meter for volts and amperes",
        windowed=True,
        consumer=lambda role: RatedConsumer(role, "supply_current"),
        shows=(figure(a, "voltage"), figure(a, "current")),
    )
    fed(sketch, a, part)


@principle(
    "meter",
    "display on the controller",
    "display that the controller writes on",
    noise="silent",
    needs=("control",),
)
def display(sketch: Sketch, a: Arguments) -> None:
    """The controller measures through a divider and a shunt."""
    part = sketch.role("display", "display", about="character or graphic display")
    sketch.link("shows", (str(a["control"]), "board"), part)
