"""A linear supply for the bench, its output set by hand."""

from __future__ import annotations

from fitter.checks.lab import LinearOutput
from fitter.functions.linear_axis import figure
from fitter.functions.model import Argument, Arguments, Sketch, function, principle
from fitter.functions.supply import rectifier

function(
    "adjustable_supply",
    "gives a voltage that is set by hand, cleaned by a linear regulator",
    voltage=Argument("voltage", help="highest output"),
    current=Argument("current", help="highest output current"),
    ripple=Argument("voltage", "5 mV", "peak to peak allowed at the output"),
    ambient=Argument("temperature", "35 degC", "of the air round the heat sink"),
    lowest_voltage=Argument("voltage", "1.25 V", "lowest output, where the heat is greatest"),
)


def _front(sketch: Sketch, *, transformer: bool) -> str:
    if transformer:
        return rectifier(sketch)
    return sketch.role("supply", "switch-mode supply", "adapter", about="front-end supply", makes_rail=True)


def _regulator(sketch: Sketch, a: Arguments, front: str, *, with_pass: bool) -> None:
    output = LinearOutput(
        voltage=figure(a, "voltage"),
        current=figure(a, "current"),
        ripple=figure(a, "ripple"),
        ambient=figure(a, "ambient"),
        lowest_voltage=figure(a, "lowest_voltage"),
    )
    regulator = sketch.role("regulator", "linear regulator", about="adjustable regulator")
    sink = sketch.role("sink", "heat sink", about="heat sink")
    sketch.link("regulate", front, regulator, output=output, with_pass=with_pass)
    hot = regulator
    if with_pass:
        hot = sketch.role("pass", "pass transistor", about="pass transistor beside the regulator")
        sketch.link("regulate", front, hot, output=output, with_pass=with_pass)
    sketch.link("mount", hot, sink, output=output, with_pass=with_pass)


@principle(
    "adjustable_supply",
    "transformer, regulator and pass transistor",
    "transformer front end, series pass",
    noise="quiet",
)
def transformer_pass(sketch: Sketch, a: Arguments) -> None:
    """The classic: quiet, heavy, warm."""
    _regulator(sketch, a, _front(sketch, transformer=True), with_pass=True)


@principle(
    "adjustable_supply", "transformer and regulator", "transformer front end, regulator alone", noise="quiet"
)
def transformer_regulator(sketch: Sketch, a: Arguments) -> None:
    """Enough where the regulator alone can shed the heat."""
    _regulator(sketch, a, _front(sketch, transformer=True), with_pass=False)


@principle(
    "adjustable_supply",
    "switch-mode, regulator and pass transistor",
    "enclosed supply in front, series pass",
    noise="silent",
)
def switch_mode_pass(sketch: Sketch, a: Arguments) -> None:
    """No mains work of your own; its switching ripple must be kept out."""
    _regulator(sketch, a, _front(sketch, transformer=False), with_pass=True)


@principle(
    "adjustable_supply",
    "switch-mode and regulator",
    "enclosed supply in front, regulator alone",
    noise="silent",
)
def switch_mode_regulator(sketch: Sketch, a: Arguments) -> None:
    """The simplest, for small currents."""
    _regulator(sketch, a, _front(sketch, transformer=False), with_pass=False)
