"""Turn a drum that lies on rollers, and drive a vehicle on wheels."""

from __future__ import annotations

from fitter.checks.making import BOARD_EFFICIENCY, WattConsumer
from fitter.checks.motion import Load, Spool
from fitter.functions.linear_axis import GEARMOTOR_SAFETY, STEPPER_SAFETY, dc_drive, figure, stepper_drive
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle
from fitter.functions.spin import fed
from fitter.physics.motion import GRAVITY

# A half-full drum carries its charge up to about 45 degrees (common practice, no source); the charge's centre
# lies at 4/(3 pi) of the radius (half disc, textbook): 0.42 x sin 45 deg of its weight pulls at the rim.
LIFT = 0.3

function(
    "roll",
    "turns a drum that lies on two rollers, for days",
    drum_diameter=Argument("length", help="of the drum where it touches the rollers"),
    mass=Argument("mass", help="of the drum with what tumbles in it"),
    speed=Argument("angular_speed", help="of the drum"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(REFERENCE, "", "the control that commands it, where the motor has a driver"),
)


def _drum(sketch: Sketch, a: Arguments, motor: str, safety: float) -> None:
    roller = sketch.role("roller", "roller", about="driven roller, the other one runs free", stage=Spool)
    sketch.link("shaft", motor, roller, shaft="shaft_diameter", bore="bore")
    load = Load(
        name=f"{sketch.name}.load",
        mass=figure(a, "mass"),
        speed=_rim_speed(a),
        acceleration=0.0,
        process_force=_rim_force(a),
        safety=safety,
    )
    sketch.link("pull", roller, sketch.load(load))


def _rim_speed(a: Arguments) -> float:
    return figure(a, "speed") * figure(a, "drum_diameter") / 2


def _rim_force(a: Arguments) -> float:
    return figure(a, "mass") * GRAVITY * LIFT


@principle("roll", "gearmotor and roller", "gearmotor on one of two rollers", noise="loud")
def gearmotor_roller(sketch: Sketch, a: Arguments) -> None:
    """Brushes wear in weeks of running."""
    _drum(sketch, a, dc_drive(sketch, a, "dc gearmotor"), GEARMOTOR_SAFETY)


@principle("roll", "stepper and roller", "stepper on one of two rollers", noise="quiet")
def stepper_roller(sketch: Sketch, a: Arguments) -> None:
    """Nothing to wear but the bearings; warm and a little loud."""
    _drum(sketch, a, stepper_drive(sketch, a), STEPPER_SAFETY)


@principle(
    "roll",
    "brushless motor and roller",
    "brushless motor on its board, on one of two rollers",
    noise="audible",
)
def brushless_roller(sketch: Sketch, a: Arguments) -> None:
    """Made to run for years."""
    roller = sketch.role("roller", "roller", about="driven roller, the other one runs free")
    motor = sketch.role(
        "motor",
        "brushless motor with driver",
        about="motor with its board",
        windowed=True,
        consumer=lambda role: WattConsumer(role, "rated_power", BOARD_EFFICIENCY),
        spin_speed=_rim_speed(a),
        spin_torque=_rim_force(a),
        roller=roller,
    )
    sketch.link("shaft", motor, roller, shaft="shaft_diameter", bore="bore")
    fed(sketch, a, motor)


function(
    "drive",
    "drives a vehicle on two driven wheels, steered by their speeds",
    mass=Argument("mass", help="of the vehicle with its load"),
    speed=Argument("speed", help="highest speed"),
    slope=Argument("angle", "0 deg", "steepest that it must climb"),
    acceleration=Argument("acceleration", "0.3 m/s2", "while starting"),
    rolling_resistance=Argument("ratio", "0.03", "drag over weight: 0.02 on a floor, 0.05 on grass"),
    power=Argument(REFERENCE, help="the supply that feeds it, mostly a battery"),
    control=Argument(REFERENCE, help="the control that commands it"),
)


def _wheels(sketch: Sketch, a: Arguments, motors: str, safety: float) -> None:
    """Each of two motors with its wheel moves half of the vehicle."""
    half = figure(a, "mass") / 2
    wheels = sketch.role("wheels", "wheel", count=2, about="driven wheels", stage=Spool, carries=half)
    sketch.link("shaft", motors, wheels, shaft="shaft_diameter", bore="bore")
    load = Load(
        name=f"{sketch.name}.load",
        mass=half,
        speed=figure(a, "speed"),
        acceleration=figure(a, "acceleration"),
        incline=figure(a, "slope"),
        process_force=half * GRAVITY * figure(a, "rolling_resistance"),
        safety=safety,
    )
    sketch.link("pull", wheels, sketch.load(load))


@principle(
    "drive", "gearmotors and wheels", "two gearmotors alike, each with a wheel and a bridge", noise="loud"
)
def gearmotors(sketch: Sketch, a: Arguments) -> None:
    """Light on the battery."""
    _wheels(sketch, a, dc_drive(sketch, a, "dc gearmotor", pieces=2), GEARMOTOR_SAFETY)


@principle(
    "drive", "steppers and wheels", "two steppers alike, each with a wheel and a driver", noise="quiet"
)
def steppers(sketch: Sketch, a: Arguments) -> None:
    """Exact way without encoders; draws its current standing still too."""
    _wheels(sketch, a, stepper_drive(sketch, a, pieces=2), STEPPER_SAFETY)
