"""Turn at an exact slow rate, as the sky does."""

from __future__ import annotations

from math import tan

from fitter.checks.motion import Load, Screw
from fitter.checks.tracking import Tracking
from fitter.functions.linear_axis import STEPPER_SAFETY, figure, stepper_drive
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle
from fitter.physics.motion import GRAVITY

function(
    "star_tracker",
    "turns a hinged board with a camera at an exact slow rate",
    arm=Argument("length", help="from the hinge to the rod"),
    rate=Argument("angular_speed", "15.041 deg/h", "at which it turns"),
    mass=Argument("mass", help="of board and camera, taken to rest on the rod"),
    exposure=Argument("time", help="of one picture"),
    error=Argument("angle", help="that it may drift during one picture"),
    session=Argument("time", "1 h", "that it runs before it is wound back"),
    power=Argument(REFERENCE, help="the supply that feeds it, mostly a battery"),
    control=Argument(REFERENCE, help="the control that sets the rate"),
)


def _tracking(a: Arguments) -> Tracking:
    return Tracking(*(figure(a, n) for n in ("arm", "rate", "exposure", "error", "session")))


def _rod(sketch: Sketch, a: Arguments, motor: str, *, corrected: bool) -> None:
    tracking = _tracking(a)
    load = Load(
        name=f"{sketch.name}.load",
        mass=figure(a, "mass"),
        speed=tracking.arm * tracking.rate,
        acceleration=0.0,
        process_force=figure(a, "mass") * GRAVITY,
        travel=tracking.arm * tan(tracking.rate * tracking.session),
        resolution=tracking.arm * tracking.error,
        safety=STEPPER_SAFETY,
    )
    coupler = sketch.role("coupler", "coupler", about="coupler from motor to rod")
    rod = sketch.role("rod", "lead screw", about="threaded rod with its nut", stage=Screw)
    sketch.link("shaft", motor, coupler, shaft="shaft_diameter", bore="bore_a")
    sketch.link("shaft", rod, coupler, shaft="diameter", bore="bore_b", turns=True)
    sketch.link("thread", rod, sketch.load(load), tracking=tracking, corrected=corrected)


@principle("star_tracker", "steady rate", "stepper at one rate, straight threaded rod", noise="quiet")
def steady(sketch: Sketch, a: Arguments) -> None:
    """The straight rod runs ahead of the sky more and more: for short sessions."""
    _rod(sketch, a, stepper_drive(sketch, a), corrected=False)


@principle(
    "star_tracker",
    "corrected rate",
    "stepper whose rate the controller corrects, straight threaded rod",
    noise="quiet",
)
def corrected(sketch: Sketch, a: Arguments) -> None:
    """The controller steps a little slower all the time, by the tangent of the angle."""
    _rod(sketch, a, stepper_drive(sketch, a), corrected=True)
