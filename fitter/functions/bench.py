"""Things for the bench: fixed rails at posts, an electronic load, drivers to try motors with."""

from __future__ import annotations

from fitter.checks.lab import LinearOutput
from fitter.checks.making import SetConsumer
from fitter.checks.power import RatedConsumer
from fitter.checks.sources import DemandConsumer
from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle
from fitter.functions.spin import fed

RAIL_KINDS = ("switch-mode supply", "adapter", "battery pack")

function(
    "fixed_rail",
    "gives a fixed voltage at a pair of posts, behind a fuse",
    voltage=Argument("voltage", help="at the posts"),
    current=Argument("current", help="that may be drawn for hours"),
    tolerance=Argument("ratio", "0.05", "share that the voltage may be off, either way"),
    ripple=Argument("voltage", "150 mV", "peak to peak allowed"),
    power=Argument(REFERENCE, "", "another rail, for the way that has its converter behind that one"),
)


def _posts(a: Arguments) -> tuple[float, ...]:
    return tuple(figure(a, n) for n in ("voltage", "tolerance", "current", "ripple"))


@principle("fixed_rail", "rail as it is", "rail of a supply, straight through a fuse", noise="silent")
def as_it_is(sketch: Sketch, a: Arguments) -> None:
    """Several of them may come from one unit."""
    amps = figure(a, "current")
    supply = sketch.role("supply", *RAIL_KINDS, about="supply of the rail", makes_rail=True)
    fuse = sketch.role(
        "fuse", "fuse", about="fuse", posts=_posts(a), consumer=lambda role: DemandConsumer(role, amps)
    )
    sketch.link("power", supply, fuse)
    sketch.terminal("out", supply)


@principle(
    "fixed_rail", "rail and converter", "step-down converter behind a higher rail, and a fuse", noise="silent"
)
def converted(sketch: Sketch, a: Arguments) -> None:
    """Any voltage from one brick."""
    supply = sketch.role("supply", *RAIL_KINDS, about="supply in front of the converter", makes_rail=True)
    sketch.link("power", supply, _behind(sketch, a))
    sketch.terminal("out", supply)


@principle(
    "fixed_rail",
    "converter on another rail",
    "step-down converter behind a rail that is there, and a fuse",
    noise="silent",
    needs=("power",),
)
def shared(sketch: Sketch, a: Arguments) -> None:
    """One supply for all voltages."""
    fed(sketch, a, _behind(sketch, a))


def _behind(sketch: Sketch, a: Arguments) -> str:
    """Converter and fuse; gives the converter's role, which wants a rail."""
    volts, amps = figure(a, "voltage"), figure(a, "current")
    converter = sketch.role(
        "converter",
        "buck converter",
        about="step-down converter",
        windowed=True,
        posts=_posts(a),
        consumer=lambda role: SetConsumer(role, volts * amps),
    )
    fuse = sketch.role("fuse", "fuse", about="fuse")
    sketch.link("fused by", converter, fuse, amps=amps)
    return converter


function(
    "electronic_load",
    "takes power from a source under test and turns it into heat",
    voltage=Argument("voltage", help="highest of the source"),
    current=Argument("current", help="highest that it takes"),
    watts=Argument("power", help="most that it takes"),
    ambient=Argument("temperature", "35 degC", "of the air round the heat sink"),
    power=Argument(REFERENCE, "", "the supply of its fan and its control"),
)


def _load(sketch: Sketch, a: Arguments, cooling: str) -> None:
    """Judged at both ends of its curve of constant power: full current, and full voltage."""
    volts, amps, watts = (figure(a, n) for n in ("voltage", "current", "watts"))
    ambient = figure(a, "ambient")
    full_current = LinearOutput(min(volts, watts / amps), amps, 0.0, ambient, 0.0)
    full_voltage = LinearOutput(volts, min(amps, watts / volts), 0.0, ambient, 0.0)
    transistors = sketch.role("transistors", "pass transistor", about="power transistors that take the power")
    sink = sketch.role("sink", "heat sink", about="heat sink")
    sketch.link(
        "sinks", transistors, sink, cooling=cooling, full_current=full_current, full_voltage=full_voltage
    )


@principle("electronic_load", "still air", "power transistors on a large heat sink", noise="silent")
def still_air(sketch: Sketch, a: Arguments) -> None:
    """Silent; the sink must be large."""
    _load(sketch, a, "thermal_resistance")


@principle(
    "electronic_load",
    "sink with a fan",
    "power transistors on a heat sink with a fan, as from a processor",
    noise="audible",
)
def blown(sketch: Sketch, a: Arguments) -> None:
    """A fan makes a small sink a large one, as long as it turns."""
    _load(sketch, a, "blown_resistance")
    fan = sketch.role(
        "fan",
        "fan",
        about="fan of the heat sink",
        windowed=True,
        consumer=lambda role: RatedConsumer(role, "current"),
        cools=True,
    )
    fed(sketch, a, fan)


function(
    "motor_test",
    "drives motors that are tried out",
    current=Argument("current", help="highest of a motor, of one phase"),
    watts=Argument("power", "20 W", "that the largest motor turns into heat"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(REFERENCE, help="the control that commands it"),
)


def _tests(sketch: Sketch, a: Arguments, kind: str, about: str) -> None:
    watts = figure(a, "watts")
    driver = sketch.role(
        "driver",
        kind,
        about=about,
        tests=figure(a, "current"),
        consumer=lambda role: SetConsumer(role, watts),
    )
    fed(sketch, a, driver)
    if a["control"]:
        sketch.link("signal", (str(a["control"]), "board"), driver)


@principle(
    "motor_test", "chopper", "chopper for two-phase motors with four, six or eight leads", noise="quiet"
)
def chopper(sketch: Sketch, a: Arguments) -> None:
    """Its current is set, so any motor may be tried."""
    _tests(sketch, a, "stepper driver", "driver with its current set by hand")


@principle("motor_test", "transistor array", "array for motors with five, six or eight leads", noise="quiet")
def array(sketch: Sketch, a: Arguments) -> None:
    """Series resistors hold the current."""
    _tests(sketch, a, "unipolar driver", "array that switches coil ends to ground")


@principle("motor_test", "bridge", "bridge for DC motors", noise="quiet")
def bridge(sketch: Sketch, a: Arguments) -> None:
    """For brushed motors; one with two channels also turns a two-phase motor."""
    _tests(sketch, a, "h-bridge", "bridge")
