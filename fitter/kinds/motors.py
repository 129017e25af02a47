"""Motors and other things that move: steppers, DC motors with and without gears, brushless, coils.

Bands for unknown ratings are rules of thumb (common practice, no source) unless a rule names one.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from fitter.intervals import Interval, monotone
from fitter.kinds import priors, steppers
from fitter.kinds.model import UNLIMITED, Kind, Offer, Ratings, Rule, Spec, register
from fitter.physics import dc_motor_heat, frames, stepper_windings
from fitter.physics.dc_motor_heat import can_heat
from fitter.ratings import Evidence, Rating

YES_NO = ("no", "yes")
OHM, LAW = "volts are amperes times ohms", "Ohm's law"
NEMA = ("NEMA 8", "NEMA 11", "NEMA 14", "NEMA 17", "NEMA 23", "NEMA 34")
FRAME_WIDTHS = tuple(frames.BODY_WIDTH[int(name.split()[1])] for name in NEMA)

SHAFT = Spec(
    "length", "1.5..16 mm", "diameter of the output shaft", "nominal", 1, "Calipers across the shaft."
)


@cache
def certain(value: float) -> Rating:
    """A rating that follows from the kind itself, such as a gear ratio of one."""
    return Rating(value, value, value, Evidence.DATASHEET)


def scaled(rating: Rating, factor: float) -> Rating:
    """A rating times a positive factor, its evidence kept."""
    r = rating
    return Rating(r.lo * factor, r.hi * factor, r.likely * factor, r.evidence, r.text, r.line)


def _width_of_frame(code: Interval) -> Interval:
    return Interval(FRAME_WIDTHS[int(code.lo)] * 0.97, FRAME_WIDTHS[int(code.hi)] * 1.02)


_WIDTHS = (0.032, 0.048, 0.07, 1.0)  # m, up to which a body is small, medium, large, huge


def _by_width(width: Interval, *bands: Interval) -> Interval:
    """The hull of the bands that a body width may belong to: to 32 mm, to 48 mm, to 70 mm, above."""
    edges = zip((0.0, *_WIDTHS), _WIDTHS, bands, strict=False)
    return priors.hull([band for lo, hi, band in edges if width.lo <= hi and width.hi >= lo])


def _current_by_size(width: Interval, length: Interval, resistance: Interval) -> Interval:
    return monotone(
        stepper_windings.rated_current_from_frame,
        rising={"frame_width": width, "body_length": length},
        falling={"resistance": resistance},
    ) * priors.band("stepper_current")


register(
    Kind(
        "stepper motor",
        {
            "wires": Spec("count", "4..8", "number of leads", "exact", 1, "Count the leads."),
            "step_angle": Spec(
                "angle",
                "0.9..18 deg",
                "full-step angle",
                "exact",
                3,
                "Count the detents of one turn by hand; 360 deg divided by the count.",
                likely="1.8 deg",
            ),
            "rated_current": Spec(
                "current",
                "0.05..8 A",
                "per phase, both phases on (of one half-coil with 6 or 8 wires)",
                minutes=25,
                how="Both coils in series on a bench supply; raise until the case stays at 70 °C.",
            ),
            "rated_voltage": Spec(
                "voltage",
                "0.5..100 V",
                "of one coil at rated current, as on its label; not that of a chopper's supply",
                minutes=1,
                how="Read the label; it is rated current times resistance.",
            ),
            "resistance": Spec(
                "resistance",
                "0.2..150 ohm",
                "of one coil (of one half-coil with 6 or 8 wires)",
                minutes=3,
                how="Ohms across one coil, shaft still, lead resistance subtracted.",
            ),
            "inductance": Spec(
                "inductance",
                "0.2..300 mH",
                "of one coil (of one half-coil with 6 or 8 wires)",
                minutes=5,
                how="Small AC voltage on one coil: L = sqrt((V/I)^2 - R^2)/(2 pi f).",
            ),
            "holding_torque": Spec(
                "torque",
                "0.001..15 N m",
                "both phases on at rated current",
                "mechanical",
                5,
                "Both coils at rated current, arm on a kitchen scale, turn until it slips: 9.81 x kg x m.",
            ),
            "detent_torque": Spec(
                "torque",
                "0.0001..1 N m",
                "without current",
                "mechanical",
                3,
                "Leads open, arm on a kitchen scale, turn until it slips.",
            ),
            "rotor_inertia": Spec("inertia", "0.01..4000 g cm2", "of the rotor", "mechanical", 30),
            "frame": Spec(
                "choice", help="NEMA frame size", choices=NEMA, minutes=1, how="Measure the flange."
            ),
            "frame_width": Spec("length", "10..90 mm", "width of the body", "length", 1, "Calipers."),
            "body_length": Spec("length", "8..160 mm", "length of the body", "length", 1, "Calipers."),
            "shaft_diameter": SHAFT,
        },
        about="Turns by a fixed angle each step; holds its place while powered.",
        ports={"shaft": "shaft_diameter"},
        rules=(
            Rule("frame_width", ("frame",), _width_of_frame, "from the NEMA frame"),
            Rule("body_length", ("frame_width",), lambda w: w * Interval(0.4, 2.0), "from the width"),
            Rule(
                "body_length",
                ("frame_width", "step_angle", "mass"),
                steppers.length_by_class,
                "from width and mass",
                usual=True,
                detail=steppers.class_by_mass,
            ),
            Rule("resistance", ("rated_voltage", "rated_current"), lambda v, i: v / i, OHM, True, source=LAW),
            Rule("rated_current", ("rated_voltage", "resistance"), lambda v, r: v / r, OHM, True, source=LAW),
            Rule(
                "rated_current",
                ("frame_width", "body_length", "resistance"),
                _current_by_size,
                "from body size and coil resistance, 0.10 W/cm2",
                likely=lambda w, length, r: float(
                    stepper_windings.rated_current_from_frame(w.lo, length.lo, r.lo)
                ),
                source="makers' listings of motors with known size",
            ),
            Rule("rated_voltage", ("rated_current", "resistance"), lambda i, r: i * r, OHM, True, source=LAW),
            Rule(
                "inductance",
                ("resistance", "frame_width"),
                lambda r, w: (
                    r
                    * _by_width(
                        w,
                        Interval(0.25e-3, 2.4e-3),
                        Interval(0.3e-3, 3e-3),
                        Interval(0.6e-3, 10e-3),
                        Interval(2e-3, 18e-3),
                    )
                ),
                "from coil resistance and the usual L/R of this size",
            ),
            Rule(
                "inductance",
                ("resistance", *steppers.SEEN),
                lambda r, *seen: r * steppers.time_constant_by_class(r, *seen),
                "from coil resistance and the usual L/R of its class",
                usual=True,
                detail=steppers.class_in_words,
            ),
            Rule(
                "holding_torque",
                ("frame_width", "body_length", "step_angle"),
                steppers.torque_by_volume,
                "from the body volume",
            ),
            Rule(
                "holding_torque",
                ("resistance", *steppers.SEEN),
                steppers.torque_by_class,
                "from its class by size",
                usual=True,
                likely=steppers.likely_torque,
                detail=steppers.class_in_words,
            ),
            Rule(
                "detent_torque",
                ("holding_torque",),
                lambda t: t * Interval(0.03, 0.12),
                "3 to 12 % of the holding torque",
            ),
            Rule(
                "rotor_inertia",
                ("frame_width", "body_length"),
                lambda w, length: w * w * w * w * length * Interval(12.0, 90.0),
                "from the body size",
            ),
            Rule(
                "shaft_diameter",
                ("frame_width",),
                lambda w: _by_width(
                    w,
                    Interval(1.5e-3, 5e-3),
                    Interval(1.9e-3, 6.36e-3),
                    Interval(4.9e-3, 14.1e-3),
                    Interval(4.9e-3, 14.1e-3),
                ),
                "from the body width",
            ),
        ),
        derive_offers=lambda lot, ratings: stepper_offers(ratings),
        cautions=("hot motor",),
    )
)

# connection key, what to do at the bench, winding it leaves for the driver (bipolar = 1)
_CONNECTIONS = {
    4: (("bipolar", "four wires, one coil to each bridge", "half", 1.0),),
    5: (("unipolar", "common wire to supply plus", "half", 0.0),),
    6: (
        ("half coil", "centre tap and one end of each coil", "half", 1.0),
        ("series", "ends of each coil, centre taps left open", "series", 1.0),
        ("unipolar", "centre taps to supply plus", "half", 0.0),
    ),
    8: (
        ("half coil", "one half of each coil", "half", 1.0),
        ("series", "halves of each coil in series", "series", 1.0),
        ("parallel", "halves of each coil in parallel", "parallel", 1.0),
        ("unipolar", "halves in series, joints to supply plus", "half", 0.0),
    ),
}


def stepper_offers(ratings: Ratings) -> Iterable[Offer]:
    """The coil connections a stepper allows; an unknown wire count leaves the winding open."""
    wires = ratings["wires"]
    if not wires.exact or int(wires.lo) not in _CONNECTIONS:
        winding = Rating(0.0, 1.0, 1.0, wires.evidence)
        yield Offer(
            "", "count the wires first", {**ratings, "bipolar": winding}, sources={"bipolar": "wires"}
        )
        return
    for key, label, factors, bipolar in _CONNECTIONS[int(wires.lo)]:
        f = stepper_windings.CONNECTIONS[factors]
        yield Offer(
            key,
            label,
            {
                **ratings,
                "rated_current": scaled(ratings["rated_current"], f.current),
                "resistance": scaled(ratings["resistance"], f.resistance),
                "inductance": scaled(ratings["inductance"], f.inductance),
                "holding_torque": scaled(ratings["holding_torque"], f.torque),
                "bipolar": certain(bipolar),
            },
        )


DC_RATINGS = {
    "rated_voltage": Spec(
        "voltage",
        "1.5..48 V",
        "voltage it was made for",
        minutes=2,
        how="The rail of the machine it came from.",
    ),
    "resistance": Spec(
        "resistance",
        "0.1..100 ohm",
        "between the brushes",
        minutes=2,
        how="Shaft locked, 0.5 to 1 V, volts over amps at four shaft angles, averaged.",
    ),
    "torque_constant": Spec(
        "torque_constant",
        "0.0005..0.5 N m/A",
        "torque per ampere, equal to volts per rad/s",
        "mechanical",
        4,
        "Run without load at a known voltage and time the speed: (V - I0 R)/speed.",
    ),
    "no_load_current": Spec("current", "0.005..2 A", "running free", minutes=2, how="Ammeter, shaft free."),
    "no_load_speed": Spec(
        "angular_speed", "500..30000 rpm", "running free at rated voltage", "mechanical", 4, "Phone strobe."
    ),
    "stall_current": Spec(
        "current", "0.05..150 A", "locked at rated voltage", minutes=3, how="V/R, not by holding."
    ),
    "stall_torque": Spec(
        "torque", "0.0005..20 N m", "locked at rated voltage", "mechanical", 5, "Arm on a scale, one second."
    ),
    "continuous_current": Spec(
        "current",
        "0.02..20 A",
        "that it carries for hours",
        minutes=25,
        how="Raise until the case stays at 70 °C.",
    ),
    "encoder_lines": Spec("count", "0..2000", "lines of an encoder disc on the shaft", "exact", 2),
    "rotor_inertia": Spec("inertia", "0.1..2000 g cm2", "of the rotor", "mechanical", 30),
    "body_diameter": Spec("length", "10..120 mm", "of its can", "length", 1, "Calipers across the can."),
    "shaft_diameter": SHAFT,
}


def _continuous_by_size(diameter: Interval, resistance: Interval) -> Interval:
    """All-day current from the heat that cans shed, between the sizes known and beyond them."""
    by = float(priors.priors()["can_heat"])
    low, high = can_heat(float(diameter.lo))[0] / by, can_heat(float(diameter.hi))[1] * by
    return monotone(
        dc_motor_heat.continuous_current,
        rising={"loss": Interval(low, high)},
        falling={"resistance": resistance},
    )


DC_RULES = (
    Rule(
        "resistance",
        ("rated_voltage", "stall_current"),
        lambda v, i: v / i,
        "rated voltage over stall current",
        True,
    ),
    Rule(
        "stall_current",
        ("rated_voltage", "resistance"),
        lambda v, r: v / r,
        "rated voltage over resistance",
        True,
    ),
    Rule(
        "no_load_current",
        ("stall_current",),
        lambda i: i * priors.band("dc_free_over_stall"),
        "its usual share of the stall current",
    ),
    Rule(
        "torque_constant",
        ("stall_torque", "stall_current", "no_load_current"),
        lambda t, i, i0: t / (i - i0).maximum(i * 0.5),
        "stall torque over stall current",
        True,
    ),
    Rule(
        "continuous_current",
        ("stall_current",),
        lambda i: i * priors.band("dc_continuous_over_stall"),
        "its usual share of the stall current",
    ),
    Rule(
        "continuous_current",
        ("body_diameter", "resistance"),
        _continuous_by_size,
        "from the heat that a can of this size sheds",
    ),
    Rule(
        "stall_torque",
        ("torque_constant", "stall_current", "no_load_current"),
        lambda k, i, i0: k * (i - i0).maximum(0.0),
        "from stall current and volts per speed",
        True,
    ),
)


def _constant_from_run(volts: Interval, speed: Interval, ohms: Interval, free: Interval) -> Interval:
    """Volts per rad/s from a run without load; the drop over the brushes is at most half."""
    back = (volts - free * ohms).maximum(volts * 0.5)
    return back / speed


register(
    Kind(
        "dc motor",
        DC_RATINGS,
        about="Brushed permanent-magnet motor.",
        ports={"shaft": "shaft_diameter"},
        rules=(
            *DC_RULES,
            Rule(
                "torque_constant",
                ("rated_voltage", "no_load_speed", "resistance", "no_load_current"),
                _constant_from_run,
                "from the free speed",
                True,
            ),
        ),
        derive_offers=lambda lot, r: [
            Offer(
                "",
                "",
                {
                    **r,
                    "output_constant": r["torque_constant"],
                    "gear_efficiency": certain(1.0),
                    "gear_torque_limit": UNLIMITED,
                    "self_locking": certain(0.0),
                },
                sources={"output_constant": "torque_constant"},
            )
        ],
        cautions=("spinning parts",),
    )
)


def gearmotor_offers(ratings: Ratings) -> Iterable[Offer]:
    """One offer, its constant seen at the output shaft (volts per rad/s of the output)."""
    kt, ratio = ratings["torque_constant"], ratings["gear_ratio"]
    product = kt.interval * ratio.interval
    run = _constant_from_run(
        *(ratings[n].interval for n in ("rated_voltage", "output_speed", "resistance", "no_load_current"))
    )
    both = product.intersect(run)
    if not both.lo <= both.hi:
        both = product
    known = ratings["output_speed"].known or (kt.known and ratio.known)
    evidence = Evidence.ESTIMATED if known else Evidence.UNKNOWN
    likely = min(max(kt.likely * ratio.likely, float(both.lo)), float(both.hi))
    constant = Rating(float(both.lo), float(both.hi), likely, evidence)
    yield Offer("", "", {**ratings, "output_constant": constant}, sources={"output_constant": "output_speed"})


register(
    Kind(
        "dc gearmotor",
        {
            **DC_RATINGS,
            "gear_ratio": Spec("ratio", "3..1000", "turns of the motor per turn of the output", "exact", 5),
            "gear_efficiency": Spec(
                "ratio", "0.25..0.9", "of the gears (spur 0.9 a stage, worm 0.3 to 0.5)", "mechanical", 10
            ),
            "output_speed": Spec(
                "angular_speed",
                "1..1000 rpm",
                "of the output, no load, at rated voltage",
                "mechanical",
                2,
                "Count turns for a minute at rated voltage.",
            ),
            "output_torque": Spec(
                "torque",
                "0.02..40 N m",
                "rated, at the output",
                "mechanical",
                5,
                "Arm on a kitchen scale at a known current.",
            ),
            "gear_torque_limit": Spec(
                "torque",
                "0.2..30 N m",
                "that the teeth stand (plastic 0.3 to 1, metal 1 to 4)",
                "mechanical",
                15,
            ),
            "self_locking": Spec(
                "choice",
                help="whether the output cannot be turned by hand",
                choices=YES_NO,
                minutes=1,
                how="Leads open, turn the output by hand, then hang the load for ten minutes.",
            ),
        },
        about="Brushed motor with a gear train or worm on it.",
        ports={"shaft": "shaft_diameter"},
        rules=(
            *DC_RULES,
            Rule(
                "gear_ratio",
                ("no_load_speed", "output_speed"),
                lambda motor, output: motor / output,
                "speed of the motor over that of the output, both without load",
                True,
            ),
            Rule(
                "gear_torque_limit",
                ("output_torque",),
                lambda t: t * Interval(1.0, 4.0),
                "one to four times the rated torque",
            ),
        ),
        derive_offers=lambda lot, ratings: gearmotor_offers(ratings),
        cautions=("spinning parts", "pinch"),
    )
)

register(
    Kind(
        "brushless motor",
        {
            "speed_constant": Spec(
                "speed_constant", "20..4000 rpm/V", "free speed per volt", "mechanical", 5
            ),
            "resistance": Spec("resistance", "0.02..60 ohm", "line to line", minutes=2),
            "pole_pairs": Spec("count", "1..24", "pairs of rotor magnets", "exact", 3),
            "continuous_current": Spec("current", "0.05..60 A", "that it carries for hours", minutes=25),
            "hall_sensors": Spec("choice", help="position sensors fitted", choices=YES_NO, minutes=1),
            "shaft_diameter": SHAFT,
        },
        about="Three-wire motor; needs its own controller.",
        ports={"shaft": "shaft_diameter"},
        cautions=("spinning parts",),
    )
)
register(
    Kind(
        "brushless motor with driver",
        {
            "supply_voltage": Spec(
                "voltage", "10..24 V", "of the motor rail", minutes=20, window=True, plausible_high="12..38 V"
            ),
            "rated_power": Spec("power", "3..100 W", "at the shaft", minutes=20),
            "rated_speed": Spec("angular_speed", "300..6000 rpm", "at the shaft", "mechanical", 5),
            "rated_torque": Spec("torque", "0.01..0.5 N m", "at the shaft", "mechanical", 5),
            "speed_input": Spec(
                "choice", help="what sets the speed", choices=("clock", "pwm", "voltage"), minutes=20
            ),
            "shaft_diameter": SHAFT,
        },
        about="Motor with its board; keep the harness and its socket.",
        ports={"shaft": "shaft_diameter"},
        cautions=("spinning parts",),
    )
)
COIL_RATINGS = {
    "rated_voltage": Spec(
        "voltage",
        "3..48 V",
        "that its coil is made for",
        minutes=10,
        how="Coil at most at 65 °C after ten minutes.",
    ),
    "resistance": Spec("resistance", "1..500 ohm", "of the coil", minutes=1, how="Ohms across the coil."),
    "force": Spec(
        "force",
        "0.2..200 N",
        "at the stroke given",
        "mechanical",
        5,
        "Pull against a kitchen scale, gauge blocks in the gap.",
    ),
    "stroke": Spec("length", "0.5..40 mm", "of the plunger", "length", 1, "Ruler."),
    "duty": Spec("ratio", "0.05..1", "share of time it may be on", "mechanical", 10),
}
register(
    Kind("solenoid", COIL_RATINGS, about="Pulls or pushes a plunger.", cautions=("hot coil", "coil kick"))
)
register(
    Kind("electromagnet", COIL_RATINGS, about="Holds a flat armature.", cautions=("hot coil", "coil kick"))
)
register(
    Kind(
        "servo",
        {
            "supply_voltage": Spec(
                "voltage", "4.5..6 V", "", minutes=2, window=True, plausible_high="5..8.4 V"
            ),
            "torque": Spec(
                "torque", "0.05..3 N m", "at the horn", "mechanical", 3, "Arm on a kitchen scale."
            ),
            "travel_angle": Spec("angle", "60..270 deg", "end to end", "mechanical", 1),
            "stall_current": Spec("current", "0.3..3 A", "held still", minutes=2),
        },
        about="Turns to an angle on command.",
    )
)
