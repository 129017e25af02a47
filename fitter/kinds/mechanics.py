"""Belts, screws, gears, rods, bearings and slides: what turns rotation into motion and guides it.

Bands are rules of thumb (common practice, no source) unless said.
"""

from __future__ import annotations

from dataclasses import replace

from fitter.intervals import Interval, monotone
from fitter.kinds.model import UNLIMITED, Kind, Offer, Rule, Spec, register
from fitter.kinds.motors import YES_NO, certain
from fitter.physics import belts, gears

PITCH = Spec(
    "length",
    "1.5..10 mm",
    "from tooth to tooth",
    "nominal",
    2,
    "Length of 20 teeth: 40.0 mm is 2.000 pitch, 40.64 is 2.032, 50 is 2.5, 60 is 3, 100 is 5.",
)
BORE = Spec(
    "length", "1.5..20 mm", "hole for the shaft", "nominal", 1, "Calipers, or a drill shank that just fits."
)
WIDTH = Spec("length", "2..25 mm", "", "length", 1, "Calipers.")
TEETH = Spec("count", "8..120", "", "exact", 1, "Count them.")
MODULE = Spec(
    "length",
    "0.3..2 mm",
    "pitch diameter over teeth",
    "nominal",
    2,
    "Outside diameter over teeth plus two.",
    likely="0.5 mm",
)
LENGTH = Spec("length", "20..2000 mm", "", "length", 1, "Tape measure.")
LOAD = Spec("mass", "0.5..100 kg", "it carries", "mechanical", 10)


def _belt_force(width: Interval, pitch: Interval) -> Interval:
    """Teeth grow with the pitch, and what they carry with them; common practice, no source."""
    low, high = belts.WORKING_FORCE_PER_WIDTH
    return width * Interval(low, high) * (pitch * (1 / 2e-3))


register(
    Kind(
        "timing belt",
        {
            "belt_pitch": PITCH,
            "width": WIDTH,
            "length": Spec(
                "length", "0.1..10 m", "all the way round, or end to end", "length", 1, "Count teeth x pitch."
            ),
            "closed": Spec("choice", help="an endless loop", choices=YES_NO, minutes=1),
            "working_force": Spec(
                "force",
                "2..2000 N",
                "that it pulls day by day",
                "mechanical",
                10,
                "Read the sheet of its profile; or hang the load on it for a day and look at the teeth.",
            ),
        },
        about="Toothed belt, open or closed.",
        ports={"belt": "belt_pitch"},
        rules=(
            Rule(
                "working_force",
                ("width", "belt_pitch"),
                _belt_force,
                "10 to 30 N for 6 mm of width at 2 mm pitch, more with the pitch",
            ),
        ),
    )
)
register(
    Kind(
        "pulley",
        {"belt_pitch": PITCH, "teeth": TEETH, "bore": BORE, "width": WIDTH},
        about="Toothed pulley for a timing belt.",
        ports={"belt": "belt_pitch", "shaft": "bore"},
    )
)

THREADS = ("trapezoidal", "metric", "ball")
_DIAMETER_PER_LEAD = Interval(0.8, 12.0)  # a screw's diameter over its lead, single to many starts


register(
    Kind(
        "lead screw",
        {
            "diameter": Spec("length", "3..25 mm", "over the thread", "length", 1, "Calipers."),
            "lead": Spec(
                "length",
                "0.5..20 mm",
                "travel per turn",
                "nominal",
                2,
                "Pitch over ten threads, times starts.",
            ),
            "length": LENGTH,
            "starts": Spec(
                "count", "1..8", "threads side by side", "exact", 1, "Count them at the end face."
            ),
            "thread": Spec("choice", help="form of the thread", choices=THREADS, minutes=1),
            "nut": Spec("choice", help="the nut is with it", choices=YES_NO, minutes=1),
            "friction": Spec("ratio", "0.08..0.25", "of the thread", "mechanical", 15),
        },
        about="Screw that moves a nut.",
        ports={"shaft": "diameter"},
        rules=(Rule("diameter", ("lead",), lambda lead: lead * _DIAMETER_PER_LEAD, "from the lead"),),
    )
)
register(Kind("rack", {"module": MODULE, "length": LENGTH}, about="Straight gear.", ports={"mesh": "module"}))
MATERIALS = ("plastic", "metal")
# Bending stress that teeth stand for long: plastics from the physics module, brass and mild steel common
# practice, no source.
_TOOTH_STRESS = (
    Interval(
        min(low for low, _ in gears.PLASTIC_TOOTH_STRESS.values()),
        max(high for _, high in gears.PLASTIC_TOOTH_STRESS.values()),
    ),
    Interval(50e6, 200e6),
)


def _tooth_force(module: Interval, width: Interval, teeth: Interval, material: Interval) -> Interval:
    stress = _TOOTH_STRESS[int(material.lo)].hull(_TOOTH_STRESS[int(material.hi)])
    return monotone(
        gears.tooth_force,
        rising={"module": module, "width": width, "teeth": teeth, "stress": stress},
    )


register(
    Kind(
        "gear",
        {
            "module": MODULE,
            "teeth": TEETH,
            "bore": BORE,
            "width": WIDTH,
            "material": Spec("choice", help="what its teeth are made of", choices=MATERIALS, minutes=1),
            "tooth_force": Spec(
                "force", "0.5..5000 N", "that one tooth stands for long", "mechanical", 15, "Read its sheet."
            ),
        },
        about="Spur gear.",
        ports={"mesh": "module", "shaft": "bore"},
        rules=(
            Rule(
                "tooth_force",
                ("module", "width", "teeth", "material"),
                _tooth_force,
                "from the bending of a tooth: 5 to 35 MPa for plastic, 50 to 200 MPa for metal",
            ),
        ),
    )
)
register(
    Kind(
        "worm set",
        {
            "ratio": Spec("ratio", "4..120", "teeth of the wheel over starts", "exact", 2),
            "lead_angle": Spec("angle", "2..30 deg", "of the worm", "mechanical", 10),
            "friction": Spec("ratio", "0.03..0.15", "of the teeth", "mechanical", 15),
            "bore": BORE,
        },
        about="Worm and wheel; keep them in their housing, the centre distance is everything.",
        ports={"shaft": "bore"},
    )
)
DIAMETER = Spec("length", "2..30 mm", "", "nominal", 1, "Calipers at five places.")
register(
    Kind("rod", {"diameter": DIAMETER, "length": LENGTH}, about="Round guide rod.", ports={"rod": "diameter"})
)
BUSH_FRICTION = Spec(
    "ratio", "0.1..0.25", "sliding on its rod", "mechanical", 10, "Pull with a scale over the load."
)
register(
    Kind(
        "bushing",
        {"bore": BORE, "friction": BUSH_FRICTION},
        about="Plain bush that slides on a rod.",
        ports={"rod": "bore"},
        derive_offers=lambda lot, r: [Offer("", "", {**r, "drag": certain(0.0)})],
    )
)
register(
    Kind(
        "linear bearing",
        {
            "bore": BORE,
            "load": Spec("mass", "3..100 kg", "it carries", "mechanical", 10),
            "friction": replace(BUSH_FRICTION, plausible="0.005..0.03"),
        },
        about="Ball bush that runs on a hard rod.",
        ports={"rod": "bore"},
        derive_offers=lambda lot, r: [Offer("", "", {**r, "drag": certain(0.0)})],
    )
)
register(
    Kind(
        "ball bearing",
        {
            "bore": BORE,
            "outer_diameter": Spec("length", "6..60 mm", "", "nominal", 1, "Calipers."),
            "width": WIDTH,
            # static load of the smallest, 3 mm in the bore, to one of 25 mm; ISO 76 sizes, from memory
            "load": Spec("mass", "5..800 kg", "it carries, standing still", "mechanical", 10),
        },
        about="Deep-groove bearing; the number on the race gives its size.",
        ports={"shaft": "bore"},
    )
)
register(
    Kind(
        "drawer slide",
        {
            "travel": Spec("length", "100..800 mm", "from closed to open", "length", 1, "Tape measure."),
            "closed_length": Spec("length", "150..900 mm", "pushed in", "length", 1, "Tape measure."),
            "load": Spec("mass", "5..45 kg", "of the pair, drawer included", "mechanical", 10),
            "play": Spec(
                "length",
                "0.2..1 mm",
                "sideways at full extension",
                "fine",
                2,
                "Feeler gauge or caliper at full extension.",
            ),
            "thickness": Spec("length", "8..20 mm", "side space", "length", 1, "Calipers."),
            "drag": Spec("force", "2..8 N", "of the pair", "mechanical", 2, "Pull with a spring scale."),
            "friction": Spec("ratio", "0.005..0.02", "drag that rises with the load", "mechanical", 10),
        },
        about="Ball-bearing slide; count the pieces, two make a pair.",
        cautions=("pinch",),
    )
)
register(
    Kind(
        "coupler",
        {
            "bore_a": BORE,
            "bore_b": BORE,
            "torque": Spec("torque", "0.1..20 N m", "", "mechanical", 10),
        },
        about="Joins two shafts; either bore may take either shaft.",
        derive_offers=lambda lot, r: [
            Offer("", "", r),
            Offer("turned round", "turned round", {**r, "bore_a": r["bore_b"], "bore_b": r["bore_a"]}),
        ],
    )
)
REDUCTION = "reduction"
register(
    Kind(
        REDUCTION,
        {
            "ratio": Spec("ratio", "0.2..200", "turns in for one turn out", "exact", 2, "Turn it and count."),
            "torque": Spec("torque", "0.05..20 N m", "that its slow side stands for long", "mechanical", 10),
            "bore": BORE,
            "shaft_diameter": Spec("length", "1..25 mm", "of its slow side", "length", 1, "Calipers."),
        },
        about="Two gears, or two pulleys and a belt, between a motor and what it turns; a gearbox.",
    )
)
CUT_TO_FIT = {"bore": UNLIMITED, "shaft_diameter": UNLIMITED}  # of a reduction that is yet to be made
register(
    Kind(
        "roller",
        {
            "diameter": Spec("length", "5..60 mm", "", "length", 1, "Calipers."),
            "length": LENGTH,
            "bore": BORE,
        },
        about="Rubber or plastic roller; also serves as a spool.",
        ports={"shaft": "bore"},
    )
)
