"""Rock or push something to and fro without end, from a crank that turns on."""

from __future__ import annotations

from fitter.checks.motion import Direct, Load
from fitter.functions.linear_axis import GEARMOTOR_SAFETY, STEPPER_SAFETY, dc_drive, figure, stepper_drive
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle
from fitter.physics import cranks

function(
    "rock",
    "rocks or pushes something to and fro, from a crank",
    force=Argument("force", help="that it takes along the stroke"),
    stroke=Argument("length", help="from end to end where the rod takes hold"),
    rate=Argument("angular_speed", help="strokes to and fro, as turns of the crank"),
    mass=Argument("mass", "0 kg", "that moves to and fro"),
    rod_length=Argument("length", "150 mm", "between the pins of the rod; more than half the stroke"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(REFERENCE, "", "the control that commands it"),
)


def _crank(sketch: Sketch, a: Arguments, motor: str, safety: float) -> None:
    radius = figure(a, "stroke") / 2
    rod, rate = max(figure(a, "rod_length"), 1.5 * radius), figure(a, "rate")
    swing = cranks.inertia_force(figure(a, "mass"), radius, rod, rate)
    load = Load(
        name=f"{sketch.name}.load",
        mass=0.0,
        speed=rate,
        acceleration=0.0,
        process_force=float(cranks.crank_torque(figure(a, "force") + swing, radius, rod)),
        safety=safety,
        rotary=True,
    )
    hub = sketch.role("hub", "coupler", about="hub on the motor that carries the crank", stage=Direct)
    sketch.link("shaft", motor, hub, shaft="shaft_diameter", bore="bore_a")
    sketch.link("turn", hub, sketch.load(load))


@principle("rock", "gearmotor and crank", "gearmotor with a crank and a rod", noise="loud")
def gearmotor_crank(sketch: Sketch, a: Arguments) -> None:
    """Runs on by itself; a wiper motor is one ready made."""
    _crank(sketch, a, dc_drive(sketch, a, "dc gearmotor"), GEARMOTOR_SAFETY)


@principle("rock", "stepper and crank", "stepper with a crank and a rod", noise="audible")
def stepper_crank(sketch: Sketch, a: Arguments) -> None:
    """Quiet and slow at any rate."""
    _crank(sketch, a, stepper_drive(sketch, a), STEPPER_SAFETY)
