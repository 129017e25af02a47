"""Turn something fast or without end."""

from __future__ import annotations

from fitter.checks.making import BOARD_EFFICIENCY, WattConsumer
from fitter.checks.motion import Direct, Load
from fitter.checks.power import RatedConsumer
from fitter.functions.linear_axis import GEARMOTOR_SAFETY, STEPPER_SAFETY, dc_drive, figure, stepper_drive
from fitter.functions.model import REFERENCE, Argument, Arguments, Sketch, function, principle

function(
    "spin",
    "turns something fast or without end, one way",
    speed=Argument("angular_speed", help="highest speed"),
    torque=Argument("torque", help="that it takes at that speed, for hours"),
    lowest_speed=Argument("angular_speed", "0 rpm", "slowest it must turn; left out, any"),
    inertia=Argument("inertia", "0 kg m2", "of what is turned"),
    acceleration=Argument("angular_acceleration", "0 rad/s2", "while speeding up"),
    power=Argument(REFERENCE, help="the supply that feeds it"),
    control=Argument(REFERENCE, "", "the control that sets its speed; left out, it runs while it is fed"),
)


def _load(sketch: Sketch, a: Arguments, safety: float) -> str:
    return sketch.load(
        Load(
            name=f"{sketch.name}.load",
            mass=figure(a, "inertia"),
            speed=figure(a, "speed"),
            acceleration=figure(a, "acceleration"),
            process_force=figure(a, "torque"),
            safety=safety,
            rotary=True,
        )
    )


def _coupled(sketch: Sketch, a: Arguments, motor: str, safety: float) -> None:
    coupler = sketch.role("coupler", "coupler", about="coupler or hub on the motor", stage=Direct)
    sketch.link("shaft", motor, coupler, shaft="shaft_diameter", bore="bore_a")
    sketch.link("turn", coupler, _load(sketch, a, safety))


def fed(sketch: Sketch, a: Arguments, part: str) -> None:
    """Put a part on the rail that the function names."""
    if a["power"]:
        sketch.link("power", (str(a["power"]), "out"), part)


def switched(sketch: Sketch, a: Arguments, part: str, rating: str) -> None:
    """A transistor under the controller's command, where there is one, in the lead of a part."""
    if not a["control"]:
        return
    switch = sketch.role("switch", "transistor switch", about="transistor switch")
    sketch.link("turns on", switch, part, rating=rating)
    sketch.link("signal", (str(a["control"]), "board"), switch)


@principle(
    "spin", "brushless motor with driver", "brushless motor on the board it came with", noise="audible"
)
def brushless(sketch: Sketch, a: Arguments) -> None:
    """Made to run for years; its board wants finding out once."""
    motor = sketch.role(
        "motor",
        "brushless motor with driver",
        about="motor with its board",
        windowed=True,
        consumer=lambda role: WattConsumer(role, "rated_power", BOARD_EFFICIENCY),
        spin_speed=figure(a, "speed"),
        spin_torque=figure(a, "torque"),
    )
    fed(sketch, a, motor)


@principle("spin", "DC motor and switch", "DC motor switched and slowed by a transistor", noise="audible")
def dc_switch(sketch: Sketch, a: Arguments) -> None:
    """One way only; pulses set the speed."""
    motor = sketch.role("motor", "dc motor", "dc gearmotor", about="motor")
    driver = sketch.role(
        "driver", "transistor switch", about="transistor with a diode across the motor", windowed=True
    )
    sketch.link("winding", driver, motor)
    fed(sketch, a, driver)
    if a["control"]:
        sketch.link("signal", (str(a["control"]), "board"), driver)
    _coupled(sketch, a, motor, GEARMOTOR_SAFETY)


@principle("spin", "DC motor and bridge", "DC motor on a bridge, either way round", noise="audible")
def dc_bridge(sketch: Sketch, a: Arguments) -> None:
    """Both ways, and it can brake."""
    _coupled(sketch, a, dc_drive(sketch, a, "dc motor", "dc gearmotor"), GEARMOTOR_SAFETY)


@principle("spin", "stepper", "stepper running on at a steady rate", noise="quiet")
def stepper(sketch: Sketch, a: Arguments) -> None:
    """Exact speed, warm, and wasteful for this."""
    _coupled(sketch, a, stepper_drive(sketch, a), STEPPER_SAFETY)


@principle("spin", "fan as motor", "fan, its blades used as a hub", noise="audible")
def fan(sketch: Sketch, a: Arguments) -> None:
    """Enough for magnets under a beaker."""
    part = sketch.role(
        "fan",
        "fan",
        about="fan as a motor",
        windowed=True,
        consumer=lambda role: RatedConsumer(role, "current"),
        spin_speed=figure(a, "speed"),
        spin_torque=figure(a, "torque"),
        lowest=figure(a, "lowest_speed"),
    )
    fed(sketch, a, part)
    switched(sketch, a, part, "current")
