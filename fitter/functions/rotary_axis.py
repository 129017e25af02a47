"""Turn a load to an angle or at a speed."""

from __future__ import annotations

from fitter.checks.motion import BeltReduction, Direct, Load, Worm
from fitter.functions.linear_axis import GEARMOTOR_SAFETY, STEPPER_SAFETY, dc_drive, figure, stepper_drive
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle

function(
    "rotary_axis",
    "turns a load",
    torque=Argument("torque", help="against the motion at the driven shaft"),
    speed=Argument("angular_speed", help="highest speed of the driven shaft"),
    inertia=Argument("inertia", "0 kg m2", "of all that turns"),
    acceleration=Argument("angular_acceleration", "0 rad/s2", "while speeding up"),
    resolution=Argument("angle", "360 deg", "smallest move that must be possible"),
    holds_unpowered=Argument("choice", "no", "whether it must stay put without power"),
    shaft=Argument("length", "8 mm", "diameter of the driven shaft"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(REFERENCE, help="the control that commands it"),
)


def _load(sketch: Sketch, a: Arguments, safety: float) -> str:
    sketch.terminal("load", f"{sketch.name}.load")
    return sketch.load(
        Load(
            name=f"{sketch.name}.load",
            mass=figure(a, "inertia"),
            speed=figure(a, "speed"),
            acceleration=figure(a, "acceleration"),
            process_force=figure(a, "torque"),
            resolution=figure(a, "resolution"),
            safety=safety,
            holds_unpowered=a["holds_unpowered"] == "yes",
            rotary=True,
        )
    )


@principle("rotary_axis", "stepper direct", "stepper coupled to the shaft", noise="quiet")
def stepper_direct(sketch: Sketch, a: Arguments) -> None:
    """Nothing between motor and shaft but a coupler."""
    motor = stepper_drive(sketch, a)
    coupler = sketch.role("coupler", "coupler", about="coupler from motor to shaft", stage=Direct)
    sketch.link("shaft", motor, coupler, shaft="shaft_diameter", bore="bore_a")
    sketch.link("turn", coupler, _load(sketch, a, STEPPER_SAFETY))


@principle("rotary_axis", "gearmotor direct", "gearmotor coupled to the shaft", noise="loud")
def gearmotor_direct(sketch: Sketch, a: Arguments) -> None:
    """A gearmotor with the right speed needs no more."""
    motor = dc_drive(sketch, a, "dc gearmotor")
    coupler = sketch.role("coupler", "coupler", about="coupler from motor to shaft", stage=Direct)
    sketch.link("shaft", motor, coupler, shaft="shaft_diameter", bore="bore_a")
    sketch.link("turn", coupler, _load(sketch, a, GEARMOTOR_SAFETY))


@principle("rotary_axis", "stepper and worm", "stepper driving a worm and wheel", noise="audible")
def stepper_worm(sketch: Sketch, a: Arguments) -> None:
    """Strong, slow, and mostly self-locking."""
    motor = stepper_drive(sketch, a)
    worm = sketch.role("worm", "worm set", about="worm and wheel", stage=Worm)
    sketch.link("shaft", motor, worm, shaft="shaft_diameter", bore="bore")
    sketch.link("turn", worm, _load(sketch, a, STEPPER_SAFETY))


def _belt(sketch: Sketch, a: Arguments, motor: str, safety: float) -> None:
    wheel = sketch.role("wheel", "pulley", about="pulley on the driven shaft")
    pulley = sketch.role(
        "pulley", "pulley", about="pulley on the motor", stage=lambda role: BeltReduction(role, wheel)
    )
    belt = sketch.role("belt", "timing belt", about="endless belt round both")
    sketch.link("shaft", motor, pulley, shaft="shaft_diameter", bore="bore")
    sketch.link("belt", pulley, belt)
    sketch.link("belt", wheel, belt)
    sketch.link("loop", belt, wheel)
    sketch.link("turn", wheel, _load(sketch, a, safety))


@principle(
    "rotary_axis",
    "stepper and belt reduction",
    "stepper, endless toothed belt to a larger pulley",
    noise="quiet",
)
def stepper_belt(sketch: Sketch, a: Arguments) -> None:
    """Quiet reduction; turns freely by hand without power."""
    _belt(sketch, a, stepper_drive(sketch, a), STEPPER_SAFETY)


@principle(
    "rotary_axis",
    "gearmotor and belt reduction",
    "gearmotor, endless toothed belt to another pulley",
    noise="loud",
)
def gearmotor_belt(sketch: Sketch, a: Arguments) -> None:
    """Where the gearmotor must stand beside the shaft, or turns too fast."""
    _belt(sketch, a, dc_drive(sketch, a, "dc gearmotor", "dc motor"), GEARMOTOR_SAFETY)
