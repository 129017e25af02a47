"""What makes light and heat, and small things that finished projects need.

Bands are rules of thumb (common practice, no source) unless said.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import pi
from typing import TYPE_CHECKING

from fitter.intervals import Interval, monotone
from fitter.kinds.mechanics import DIAMETER, LENGTH
from fitter.kinds.model import Kind, Offer, Ratings, Rule, Spec, register
from fitter.kinds.motors import scaled
from fitter.physics import heaters, wires

if TYPE_CHECKING:
    from fitter.stock.lots import Lot

ALLOYS = tuple(heaters.RESISTIVITY)
STRIP_LOW, STRIP_HIGH = 0.85, 1.1  # of the rated voltage: dim below, too warm above


def _wire_resistance(alloy: Interval, diameter: Interval, length: Interval) -> Interval:
    grades = [heaters.RESISTIVITY[ALLOYS[i]] for i in range(int(alloy.lo), int(alloy.hi) + 1)]
    resistivity = Interval(min(g[0] for g in grades), max(g[1] for g in grades))
    return monotone(
        wires.wire_resistance,
        rising={"length": length, "resistivity": resistivity},
        falling={"area": diameter * diameter * (pi / 4)},
    )


register(
    Kind(
        "resistance wire",
        {
            "diameter": Spec(
                "length", "0.08..1.5 mm", "", "fine", 1, "Micrometer, or ten turns side by side."
            ),
            "length": LENGTH,
            "alloy": Spec("choice", help="what it is drawn from", choices=ALLOYS, minutes=2),
            "resistance": Spec(
                "resistance", "0.2..500 ohm", "of its whole length, cold", minutes=2, how="Ohms end to end."
            ),
        },
        about="Wire of a heating alloy, bare.",
        rules=(
            Rule(
                "resistance",
                ("alloy", "diameter", "length"),
                _wire_resistance,
                "from alloy, diameter and length",
                source="CRC Handbook of Chemistry and Physics, section 12",
            ),
        ),
        cautions=("hot wire",),
    )
)


def _strips(lot: Lot, r: Ratings) -> Iterable[Offer]:
    """One strip, or up to four alike on one rail."""
    volts = r["voltage"]
    window = {"supply_voltage.min": scaled(volts, STRIP_LOW), "supply_voltage.max": scaled(volts, STRIP_HIGH)}
    sources = dict.fromkeys(window, "voltage")
    for n in range(1, min(lot.count, 4) + 1):
        key = f"{n} side by side" if n > 1 else ""
        power = {"rated_power": scaled(r["rated_power"], n)}
        yield Offer(key, key, {**r, **window, **power}, pieces=n, sources=sources)


register(
    Kind(
        "led strip",
        {
            "voltage": Spec("voltage", "5..24 V", "", "rail", 1, "Read the print between the cuts."),
            "rated_power": Spec("power", "1..100 W", "of the piece at that voltage", minutes=3),
        },
        about="Light-emitting diodes with their resistors on tape; white, coloured or ultraviolet.",
        derive_offers=_strips,
        cautions=("bright light",),
    )
)
register(
    Kind(
        "led bar",
        {
            "forward_voltage": Spec(
                "voltage", "2..48 V", "across the whole string at its current", minutes=4,
                how="Bench supply set to a tenth of the current, then raise it.",
            ),
            "rated_current": Spec("current", "0.02..2 A", "of the string", minutes=3),
        },
        about="String of light-emitting diodes without resistor, as behind a screen.",
        cautions=("bright light",),
    )
)  # fmt: skip
register(
    Kind(
        "wheel",
        {
            "diameter": Spec("length", "20..400 mm", "", "length", 1, "Calipers or tape."),
            "bore": DIAMETER,
            "load": Spec("mass", "0.2..100 kg", "it carries", "mechanical", 10),
        },
        about="Wheel that is driven by its hub.",
        ports={"shaft": "bore"},
    )
)
register(
    Kind(
        "panel meter",
        {
            "voltage_range": Spec("voltage", "3..300 V", "highest it shows", "limit", 1, "Read its face."),
            "current_range": Spec(
                "current", "0..100 A", "highest it shows; zero where it shows none", "limit", 1
            ),
            "supply_voltage": Spec(
                "voltage", "3..5 V", "that feeds it", minutes=2, window=True, plausible_high="5..30 V"
            ),
            "supply_current": Spec("current", "0.005..0.1 A", "it draws", minutes=2),
        },
        about="Meter for volts, amperes or both, digital or with a needle.",
    )
)
register(
    Kind(
        "fuse",
        {"rated_current": Spec("current", "0.03..40 A", "printed on it", "limit", 1, "Read its cap.")},
        about="Fuse with its holder.",
    )
)
