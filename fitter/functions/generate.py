"""Make electricity from something that is turned."""

from __future__ import annotations

from fitter.checks.sources import Turned
from fitter.functions.linear_axis import figure
from fitter.functions.model import Argument, Arguments, Sketch, function, principle

function(
    "generate",
    "makes electricity from a shaft that is turned",
    turned_at=Argument("angular_speed", help="slowest at which it must give its power"),
    fastest=Argument("angular_speed", help="fastest that it may be turned, also without load"),
    watts=Argument("power", help="that it must give"),
    gearing=Argument("ratio", "1", "turns of a DC motor for one of the shaft, by a belt or gears"),
    voltage=Argument("voltage", "5 V", "that it must give"),
)


def _generator(sketch: Sketch, a: Arguments, kind: str, bridges: int, gearing: float = 1.0) -> None:
    slowest, fastest = (figure(a, n) * gearing for n in ("turned_at", "fastest"))
    turned = Turned(slowest, fastest, figure(a, "watts"), figure(a, "voltage"))
    motor = sketch.role("motor", kind, about="motor that is turned")
    rectifier = sketch.role("bridges", "bridge rectifier", count=bridges, about="bridge rectifiers")
    capacitor = sketch.role("capacitor", "capacitor", about="capacitor behind the bridges")
    converter = sketch.role("converter", "buck converter", about="step-down converter")
    sketch.link("turned", motor, rectifier)
    sketch.link("charges", rectifier, converter, turned=turned, capacitor=capacitor)


@principle(
    "generate", "stepper and two bridges", "stepper, a bridge for each coil, a converter", noise="audible"
)
def stepper(sketch: Sketch, a: Arguments) -> None:
    """Gives volts at the pace of a hand."""
    _generator(sketch, a, "stepper motor", bridges=2)


@principle(
    "generate", "DC motor and bridge", "DC motor, a bridge for either way round, a converter", noise="audible"
)
def dc_motor(sketch: Sketch, a: Arguments) -> None:
    """Wants ten times the speed of a stepper: a belt or gears in front."""
    _generator(sketch, a, "dc motor", bridges=1, gearing=figure(a, "gearing"))
