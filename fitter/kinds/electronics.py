"""Rectifiers, capacitors, regulators, pass transistors and what carries their heat away."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from fitter.intervals import Interval
from fitter.kinds.model import Kind, Offer, Ratings, Rule, Spec, register
from fitter.kinds.motors import certain, scaled

if TYPE_CHECKING:
    from fitter.stock.lots import Lot

JUNCTION_CASE = Spec(
    "thermal_resistance",
    "0.5..6 K/W",
    "junction to case",
    "thermal",
    3,
    "Read the number, look up the sheet.",
)

FAN_HIGHEST = 1.15  # of the voltage on its label: 13.8 V of 12 V; common practice, no source
_AS_CONSUMER = {"supply_voltage.min": "input_voltage.min", "supply_voltage.max": "input_voltage.max"}

register(
    Kind(
        "bridge rectifier",
        {
            "max_voltage": Spec("voltage", "50..1000 V", "peak reverse", "limit", 2),
            "current": Spec("current", "0.5..50 A", "direct, on its sink", "limit", 2),
            "diode_drop": Spec("voltage", "0.7..1.1 V", "of one diode at full current", minutes=2),
        },
        about="Four diodes in one case.",
    )
)
register(
    Kind(
        "capacitor",
        {
            "capacitance": Spec("capacitance", "1..47000 uF", "", "capacitor", 3, "Capacitance meter."),
            "max_voltage": Spec("voltage", "4..450 V", "printed", "limit", 1, "Read the print."),
        },
        about="Electrolytic capacitor.",
        derive_offers=lambda lot, r: list(_side_by_side(lot, r)),
        cautions=("charged capacitor",),
    )
)


def _side_by_side(lot: Lot, r: Ratings) -> Iterable[Offer]:
    """One capacitor, or up to four alike in parallel."""
    yield Offer("", "", r)
    for n in range(2, min(lot.count, 4) + 1):
        yield Offer(
            f"{n} in parallel",
            f"{n} in parallel",
            {**r, "capacitance": scaled(r["capacitance"], n)},
            pieces=n,
        )


register(
    Kind(
        "linear regulator",
        {
            "output_voltage": Spec(
                "voltage",
                "1.2..5 V",
                "range it can be set to",
                minutes=2,
                window=True,
                plausible_high="5..37 V",
            ),
            "dropout": Spec("voltage", "0.5..3 V", "least input above output", minutes=3),
            "max_input_voltage": Spec("voltage", "15..40 V", "", "limit", 2),
            "max_current": Spec("current", "0.1..5 A", "", "limit", 2),
            "thermal_resistance_jc": JUNCTION_CASE,
            "max_junction": Spec("temperature", "125..150 degC", "", "limit", 2),
            "ripple_rejection": Spec("decibel", "50..70 dB", "at twice the mains frequency", minutes=10),
        },
        about="Adjustable or fixed three-terminal regulator.",
    )
)


def _matched(lot: Lot, r: Ratings) -> Iterable[Offer]:
    """One transistor, or up to four alike sharing the current through emitter resistors."""
    for n in range(1, min(lot.count, 4) + 1):
        key = f"{n} in parallel" if n > 1 else ""
        yield Offer(key, key, {**r, "devices": certain(float(n))}, pieces=n)


register(
    Kind(
        "pass transistor",
        {
            "max_voltage": Spec("voltage", "40..400 V", "collector to emitter", "limit", 2),
            "max_current": Spec("current", "1..30 A", "", "limit", 2),
            "max_power": Spec("power", "15..300 W", "case at 25 °C", "limit", 2),
            "thermal_resistance_jc": JUNCTION_CASE,
            "max_junction": Spec("temperature", "125..200 degC", "", "limit", 2),
            "full_power_voltage": Spec(
                "voltage",
                "12..280 V",
                "up to which it stands its full power for hours",
                "limit",
                3,
                "End of the straight power line in the safe-area chart of its sheet.",
            ),
            "current_gain": Spec(
                "ratio",
                "10..200",
                "at the current it will carry",
                minutes=5,
                how="Collector over base current.",
            ),
        },
        about="Power transistor that carries the current beside a regulator.",
        rules=(
            Rule(
                "thermal_resistance_jc",
                ("max_power", "max_junction"),
                lambda p, t: (t - 298.15) / p,
                "from the power rating",
            ),
            Rule(
                "full_power_voltage",
                ("max_voltage",),
                lambda v: v * Interval(0.3, 0.7),
                "0.3 to 0.7 of the voltage rating",
            ),
        ),
        derive_offers=_matched,
    )
)
register(
    Kind(
        "heat sink",
        {
            "thermal_resistance": Spec(
                "thermal_resistance",
                "0.3..25 K/W",
                "to still air",
                "thermal",
                40,
                "Power resistor bolted on, 5 to 10 W for 40 minutes: rise over watts.",
            ),
            "blown_resistance": Spec(
                "thermal_resistance",
                "0.1..9 K/W",
                "with a fan blowing on it",
                "thermal",
                20,
                "As in still air, its fan running.",
            ),
        },
        about="Finned metal that carries heat to the air.",
        rules=(
            Rule(
                "blown_resistance",
                ("thermal_resistance",),
                lambda still: still * Interval(0.2, 0.35),
                "a fan makes it three to five times less",
            ),
        ),
    )
)
register(
    Kind(
        "fan",
        {
            "voltage": Spec("voltage", "5..24 V", "", "rail", 1, "Read the label."),
            "current": Spec("current", "0.03..2 A", "", minutes=1, how="Read the label."),
            "flow": Spec("flow", "5..400 m3/h", "free air", "mechanical", 5, "Time it filling a bag."),
            "pressure": Spec(
                "pressure",
                "10..1000 Pa",
                "against a closed duct",
                "mechanical",
                5,
                "Water in a bent clear tube: 9.8 Pa for each millimetre between its sides.",
            ),
            "start_voltage": Spec("voltage", "1.5..16 V", "at which it starts by itself", minutes=2),
            "rated_speed": Spec("angular_speed", "400..15000 rpm", "at its voltage", "mechanical", 3),
        },
        about="Moves air.",
        rules=(
            Rule(
                "start_voltage",
                ("voltage",),
                lambda v: v * Interval(0.25, 0.65),
                "a quarter to two thirds of it",
            ),
        ),
        derive_offers=lambda lot, r: [
            Offer(
                "",
                "",
                {
                    **r,
                    "supply_voltage.min": r["start_voltage"],
                    "supply_voltage.max": scaled(r["voltage"], FAN_HIGHEST),
                },
                sources={"supply_voltage.min": "start_voltage", "supply_voltage.max": "voltage"},
            )
        ],
        cautions=("spinning parts",),
    )
)
register(
    Kind(
        "buck converter",
        {
            "input_voltage": Spec("voltage", "4..8 V", "", minutes=2, window=True, plausible_high="12..60 V"),
            "output_voltage": Spec(
                "voltage", "0.8..5 V", "", minutes=2, window=True, plausible_high="5..35 V"
            ),
            "current": Spec("current", "0.5..15 A", "honest figure, about 60 % of the print", minutes=10),
            "ripple": Spec(
                "voltage",
                "10..150 mV",
                "peak to peak at its output",
                minutes=5,
                how="Scope, or AC range behind a capacitor, at full load.",
            ),
        },
        derive_offers=lambda lot, r: [
            Offer("", "", {**r, **{new: r[old] for new, old in _AS_CONSUMER.items()}}, sources=_AS_CONSUMER)
        ],
        about="Steps a DC voltage down.",
    )
)
