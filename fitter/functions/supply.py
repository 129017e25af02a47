"""Feed a rail that one or more functions share."""

from __future__ import annotations

from fitter.functions.linear_axis import figure
from fitter.functions.model import Argument, Arguments, Sketch, function, principle

function(
    "supply",
    "feeds one rail to everything that names it",
    least_voltage=Argument("voltage", "0 V", "lowest voltage that is of use"),
    run_time=Argument("time", "0 s", "that a battery must last with everything at its hardest"),
)


@principle("supply", "one unit", "switch-mode supply, adapter or battery pack", noise="silent")
def one_unit(sketch: Sketch, a: Arguments) -> None:
    """Anything that gives a rail as it is."""
    _source(sketch, a, "switch-mode supply", "adapter", "battery pack", about="power supply")


def _source(sketch: Sketch, a: Arguments, *kinds: str, about: str) -> None:
    part = sketch.role(
        "supply",
        *kinds,
        about=about,
        makes_rail=True,
        least_voltage=figure(a, "least_voltage"),
        run_time=a["run_time"],
    )
    sketch.terminal("out", part)


@principle(
    "supply", "transformer, bridge and capacitor", "unregulated supply from a transformer", noise="quiet"
)
def rectified(sketch: Sketch, a: Arguments) -> None:
    """Heavy and simple; its voltage swings with mains and load."""
    sketch.terminal("out", rectifier(sketch, figure(a, "least_voltage")))


function(
    "battery",
    "feeds one rail from a battery, to what drives about or stands out of doors",
    least_voltage=Argument("voltage", "0 V", "lowest voltage that is of use"),
    run_time=Argument("time", "0 s", "that it must last with everything at its hardest"),
)


@principle("battery", "battery pack", "one pack, or equal ones in series", noise="silent")
def battery_pack(sketch: Sketch, a: Arguments) -> None:
    """No mains anywhere near."""
    _source(sketch, a, "battery pack", about="battery")


def rectifier(sketch: Sketch, least_voltage: float = 0.0) -> str:
    """Transformer, bridge and capacitor; gives the capacitor's role, where the rail is taken."""
    transformer = sketch.role("transformer", "transformer", about="mains transformer")
    bridge = sketch.role("bridge", "bridge rectifier", about="bridge rectifier")
    capacitor = sketch.role(
        "capacitor", "capacitor", about="reservoir capacitor", least_voltage=least_voltage
    )
    sketch.link("ac", transformer, bridge)
    sketch.link("dc", bridge, capacitor)
    return capacitor
