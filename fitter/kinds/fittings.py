"""Sensing, control and structure."""

from __future__ import annotations

from fitter.kinds.drivers import LOGIC
from fitter.kinds.model import Kind, Offer, Spec, register
from fitter.kinds.motors import certain

register(
    Kind(
        "limit switch",
        {"contact_current": Spec("current", "0.01..16 A", "", "limit", 1)},
        about="Micro switch worked by a lever or plunger.",
        derive_offers=lambda lot, r: [
            Offer("", "", {**r, "supply_voltage.min": certain(0.0), "supply_voltage.max": certain(250.0)})
        ],
    )
)
register(
    Kind(
        "photo interrupter",
        {
            "slot": Spec("length", "2..15 mm", "width of the gap", "length", 1, "Calipers."),
            "supply_voltage": Spec(
                "voltage", "2.5..5 V", "", minutes=4, window=True, plausible_high="5..24 V"
            ),
        },
        about="Light barrier in a fork.",
    )
)
register(
    Kind(
        "encoder strip",
        {
            "line_pitch": Spec(
                "length", "0.05..0.5 mm", "from line to line", "fine", 3, "Macro photo beside a ruler."
            ),
            "length": Spec("length", "50..1500 mm", "", "length", 1, "Ruler."),
        },
        about="Clear strip with lines and the head that reads it; keep both and their gap.",
    )
)
register(
    Kind(
        "controller board",
        {
            "logic_voltage": Spec(
                "voltage", "3..5.5 V", "of its signals", "rail", 2, "Meter on a signal pin."
            ),
            "step_outputs": Spec("count", "0..6", "step and direction pairs", "exact", 1),
            "pwm_outputs": Spec("count", "0..16", "", "exact", 1),
            "inputs": Spec("count", "0..30", "free for switches", "exact", 1),
            "supply_voltage": Spec(
                "voltage", "4.5..7 V", "", minutes=2, window=True, plausible_high="5..24 V"
            ),
            "supply_current": Spec("current", "0.05..1 A", "it draws", minutes=2),
        },
        about="Programmable board.",
    )
)
_SIZE = {"length": Spec("length", "20..1000 mm", "", "length", 1, "Ruler.")}
register(
    Kind(
        "hinge",
        {
            "friction_torque": Spec("torque", "0..5 N m", "", "mechanical", 3),
            "load": Spec("mass", "0.5..50 kg", "", "mechanical", 10),
        },
        about="Hinge, free or with friction.",
        cautions=("spring",),
    )
)
register(
    Kind(
        "spring",
        {"stiffness": Spec("stiffness", "10..20000 N/m", "", "mechanical", 3), **_SIZE},
        about="Coil spring.",
        cautions=("spring",),
    )
)
register(
    Kind(
        "enclosure",
        {
            "inner_length": Spec("length", "40..800 mm", "", "length", 1),
            "inner_width": Spec("length", "30..800 mm", "", "length", 1),
            "inner_height": Spec("length", "15..600 mm", "", "length", 1),
        },
        about="Case.",
        cautions=("sharp edges",),
    )
)
register(Kind("display", {"supply_voltage": LOGIC}, about="Character or graphic display."))
register(
    Kind(
        "lens",
        {
            "focal_length": Spec("length", "5..500 mm", "", "length", 3),
            "diameter": Spec("length", "4..120 mm", "", "length", 1),
        },
        about="Lens or mirror.",
    )
)
register(
    Kind(
        "magnet",
        {"force": Spec("force", "0.5..500 N", "flat on steel", "mechanical", 3)},
        about="Permanent magnet.",
        cautions=("strong magnet",),
    )
)
register(
    Kind(
        "clutch",
        {
            "rated_voltage": Spec("voltage", "5..24 V", "", minutes=2),
            "resistance": Spec("resistance", "20..400 ohm", "", minutes=1),
            "torque": Spec("torque", "0.1..2 N m", "that it slips at", "mechanical", 4),
            "bore": Spec("length", "4..12 mm", "", "nominal", 1),
        },
        about="Electromagnetic clutch or brake.",
        ports={"shaft": "bore"},
        cautions=("coil kick",),
    )
)
