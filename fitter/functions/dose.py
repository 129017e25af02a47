"""Press a liquid out of a syringe, drop by drop or in a steady stream."""

from __future__ import annotations

from math import pi

from fitter.functions import linear_axis
from fitter.functions.linear_axis import figure
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle

function(
    "dose",
    "presses a liquid out of a syringe",
    bore=Argument("length", help="inner diameter of the syringe"),
    volume=Argument("volume", help="that it holds"),
    flow=Argument("flow", help="fastest"),
    smallest_dose=Argument("volume", help="that it must be able to give"),
    force=Argument("force", help="on the plunger, at the fastest flow"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(REFERENCE, help="the control that commands it"),
)


def _plunger(a: Arguments) -> Arguments:
    """What the plunger does, as a linear axis: volumes over the area of the syringe."""
    area = pi / 4 * figure(a, "bore") ** 2
    return {
        "travel": figure(a, "volume") / area,
        "mass": 0.2,
        "speed": figure(a, "flow") / area,
        "acceleration": 0.01,
        "incline": 0.0,
        "resolution": figure(a, "smallest_dose") / area,
        "process_force": figure(a, "force"),
        "carriage_length": 0.03,
        "holds_unpowered": "yes",
        "power": a["power"],
        "control": a["control"],
    }


@principle("dose", "stepper and screw", "stepper, coupler and screw on the plunger", noise="audible")
def screw(sketch: Sketch, a: Arguments) -> None:
    """Each step is a dose; the screw holds against the liquid."""
    linear_axis.stepper_screw(sketch, _plunger(a))


@principle("dose", "stepper and rack", "stepper with a gear on a rack on the plunger", noise="audible")
def rack(sketch: Sketch, a: Arguments) -> None:
    """Quick strokes of a small syringe."""
    linear_axis.stepper_rack(sketch, _plunger(a))


@principle("dose", "gearmotor and screw", "gearmotor, coupler and screw on the plunger", noise="loud")
def gearmotor(sketch: Sketch, a: Arguments) -> None:
    """A steady stream; doses by time only."""
    linear_axis.gearmotor_screw(sketch, _plunger(a))
