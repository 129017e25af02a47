"""Move a load along a line, to places told by a controller."""

from __future__ import annotations

from typing import cast

from fitter.checks.motion import Load, Pulley, RackGear, Screw, Spool
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle

STEPPER_DRIVERS = ("stepper driver", "unipolar driver")
STEPPER_SAFETY = 2.0  # a stepper that is overloaded loses steps; common practice, no source
GEARMOTOR_SAFETY = 1.5  # a DC motor only slows down; common practice, no source

function(
    "linear_axis",
    "moves a load along a line to places told by a controller",
    travel=Argument("length", help="how far the carriage must go"),
    mass=Argument("mass", help="everything that moves"),
    speed=Argument("speed", help="highest speed"),
    acceleration=Argument("acceleration", "0.5 m/s2", "while speeding up"),
    incline=Argument("angle", "0 deg", "of the line against level ground; 90 deg is upright"),
    resolution=Argument("length", "1 mm", "smallest move that must be possible"),
    process_force=Argument("force", "0 N", "against the motion, such as a pen or a cutter"),
    carriage_length=Argument("length", "60 mm", "along the line"),
    holds_unpowered=Argument("choice", "no", "whether it must stay put without power"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(REFERENCE, help="the control that commands it"),
)


def figure(arguments: Arguments, name: str) -> float:
    """A numeric argument in SI."""
    return cast(float, arguments[name])


def _load(sketch: Sketch, a: Arguments, safety: float) -> str:
    return sketch.load(
        Load(
            name=f"{sketch.name}.load",
            mass=figure(a, "mass"),
            speed=figure(a, "speed"),
            acceleration=figure(a, "acceleration"),
            incline=figure(a, "incline"),
            process_force=figure(a, "process_force"),
            travel=figure(a, "travel"),
            resolution=figure(a, "resolution"),
            carriage_length=figure(a, "carriage_length"),
            safety=safety,
            holds_unpowered=a["holds_unpowered"] == "yes",
        )
    )


def stepper_drive(sketch: Sketch, a: Arguments, pieces: int = 1) -> str:
    """Driver and stepper, or several alike; gives the motor's role."""
    motor = sketch.role("motor", "stepper motor", count=pieces, about="motor")
    driver = sketch.role("driver", *STEPPER_DRIVERS, count=pieces, about="motor driver")
    _wire(sketch, a, driver, motor)
    return motor


def dc_drive(sketch: Sketch, a: Arguments, *motors: str, pieces: int = 1) -> str:
    """Bridge and DC motor, or several alike; gives the motor's role."""
    motor = sketch.role("motor", *motors, count=pieces, about="motor")
    driver = sketch.role("driver", "h-bridge", count=pieces, about="motor driver")
    _wire(sketch, a, driver, motor)
    return motor


def _wire(sketch: Sketch, a: Arguments, driver: str, motor: str) -> None:
    sketch.link("winding", driver, motor)
    if a["power"]:
        sketch.link("power", (str(a["power"]), "out"), driver)
    if a["control"]:
        sketch.link("signal", (str(a["control"]), "board"), driver)
    sketch.terminal("driver", driver)


def _belt(sketch: Sketch, a: Arguments, motor: str, safety: float) -> None:
    pulley = sketch.role("pulley", "pulley", about="drive pulley", stage=Pulley)
    idler = sketch.role("idler", "pulley", about="idler pulley at the far end")
    belt = sketch.role("belt", "timing belt", about="belt")
    sketch.link("shaft", motor, pulley, shaft="shaft_diameter", bore="bore")
    sketch.link("belt", pulley, belt)
    sketch.link("belt", idler, belt)
    sketch.link("pull", belt, _load(sketch, a, safety))
    sketch.terminal("load", f"{sketch.name}.load")


def _screw(sketch: Sketch, a: Arguments, motor: str, safety: float) -> None:
    coupler = sketch.role("coupler", "coupler", about="coupler from motor to screw")
    screw = sketch.role("screw", "lead screw", about="screw with nut", stage=Screw)
    sketch.link("shaft", motor, coupler, shaft="shaft_diameter", bore="bore_a")
    sketch.link("shaft", screw, coupler, shaft="diameter", bore="bore_b", turns=True)
    sketch.link("thread", screw, _load(sketch, a, safety))
    sketch.terminal("load", f"{sketch.name}.load")


def _encoder(sketch: Sketch, a: Arguments) -> None:
    strip = sketch.role("encoder", "encoder strip", about="encoder strip with its reader")
    sketch.link("reads", strip, f"{sketch.name}.load")
    if a["control"]:
        sketch.link("signal", strip, (str(a["control"]), "board"))


@principle("linear_axis", "stepper and belt", "stepper, toothed belt round two pulleys", noise="quiet")
def stepper_belt(sketch: Sketch, a: Arguments) -> None:
    """Quick and simple; does not hold an incline without power."""
    _belt(sketch, a, stepper_drive(sketch, a), STEPPER_SAFETY)


@principle("linear_axis", "stepper and screw", "stepper, coupler, lead screw with nut", noise="audible")
def stepper_screw(sketch: Sketch, a: Arguments) -> None:
    """Slow and strong; most screws hold an incline without power."""
    _screw(sketch, a, stepper_drive(sketch, a), STEPPER_SAFETY)


@principle(
    "linear_axis",
    "DC motor and belt with encoder",
    "DC motor, belt, encoder strip along the line",
    noise="audible",
)
def dc_belt(sketch: Sketch, a: Arguments) -> None:
    """As in an inkjet carriage: the controller reads the place from the strip."""
    _belt(sketch, a, dc_drive(sketch, a, "dc motor", "dc gearmotor"), GEARMOTOR_SAFETY)
    _encoder(sketch, a)


@principle(
    "linear_axis",
    "gearmotor and screw",
    "gearmotor, coupler, lead screw, limit switches at the ends",
    noise="loud",
)
def gearmotor_screw(sketch: Sketch, a: Arguments) -> None:
    """End to end travel, strong and slow."""
    _screw(sketch, a, dc_drive(sketch, a, "dc gearmotor", "dc motor"), GEARMOTOR_SAFETY)


@principle(
    "linear_axis", "gearmotor and spool", "gearmotor winding a cord, limit switches at the ends", noise="loud"
)
def gearmotor_spool(sketch: Sketch, a: Arguments) -> None:
    """Cord on a drum; gravity or a spring pulls back."""
    motor = dc_drive(sketch, a, "dc gearmotor")
    spool = sketch.role("spool", "roller", about="drum for the cord", stage=Spool)
    sketch.link("shaft", motor, spool, shaft="shaft_diameter", bore="bore")
    sketch.link("pull", spool, _load(sketch, a, GEARMOTOR_SAFETY))
    sketch.terminal("load", f"{sketch.name}.load")


@principle("linear_axis", "stepper and spool", "stepper winding a cord", noise="quiet")
def stepper_spool(sketch: Sketch, a: Arguments) -> None:
    """Cord on a drum, its length counted in steps; a weight or a second cord pulls back."""
    motor = stepper_drive(sketch, a)
    spool = sketch.role("spool", "roller", about="drum for the cord", stage=Spool)
    sketch.link("shaft", motor, spool, shaft="shaft_diameter", bore="bore")
    sketch.link("pull", spool, _load(sketch, a, STEPPER_SAFETY))
    sketch.terminal("load", f"{sketch.name}.load")


@principle(
    "linear_axis", "gearmotor and belt", "gearmotor, toothed belt, limit switches at the ends", noise="loud"
)
def gearmotor_belt(sketch: Sketch, a: Arguments) -> None:
    """End to end travel both ways, as for a curtain or a drawer."""
    _belt(sketch, a, dc_drive(sketch, a, "dc gearmotor", "dc motor"), GEARMOTOR_SAFETY)


@principle("linear_axis", "stepper and rack", "stepper, gear running along a rack", noise="audible")
def stepper_rack(sketch: Sketch, a: Arguments) -> None:
    """Long travel without a belt; the gear must match the rack."""
    motor = stepper_drive(sketch, a)
    gear = sketch.role("gear", "gear", about="gear on the motor", stage=RackGear)
    rack = sketch.role("rack", "rack", about="rack along the line")
    sketch.link("shaft", motor, gear, shaft="shaft_diameter", bore="bore")
    sketch.link("mesh", gear, rack)
    sketch.link("pull", rack, _load(sketch, a, STEPPER_SAFETY))
    sketch.terminal("load", f"{sketch.name}.load")
