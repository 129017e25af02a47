"""What switches motors and coils: chopper and unipolar drivers, bridges, transistors, relays."""

from __future__ import annotations

from fitter.intervals import Interval
from fitter.kinds.model import Kind, Offer, Ratings, Rule, Spec, register
from fitter.kinds.motors import YES_NO, certain, scaled
from fitter.ratings import Evidence, Rating

_AS_DRIVER = {"peak_current": "continuous_current", "supply_voltage.max": "max_voltage"}
_BLOCKING_SPARE = 1.5  # a rail stays this far below what a transistor blocks; common practice, no source
_SWITCH_DROP = Rating(0.0, 0.5, 0.2, Evidence.ESTIMATED)  # V across it, on; common practice, no source


def _as_driver(r: Ratings) -> dict[str, Rating]:
    """What a transistor is as the driver of a motor that turns one way; it holds no current down."""
    return {
        "peak_current": r["continuous_current"],
        "supply_voltage.min": certain(0.0),
        "supply_voltage.max": scaled(r["max_voltage"], 1 / _BLOCKING_SPARE),
        "voltage_drop": _SWITCH_DROP,
        "current_limit": certain(0.0),
    }


_ONE_TO_THREE = Interval(1.0, 3.0)
SUPPLY = Spec(
    "voltage",
    "4.5..12 V",
    "lowest and highest motor supply",
    minutes=2,
    window=True,
    plausible_high="12..50 V",
    how="Read the chip number and look up its sheet.",
)
LOGIC = Spec(
    "voltage", "3..5 V", "signal level it takes", minutes=2, window=True, plausible_high="3.3..5.5 V"
)
DROP = Spec(
    "voltage", "0.1..4 V", "lost inside at rated current", minutes=3, how="Volts in less volts out at 1 A."
)

register(
    Kind(
        "stepper driver",
        {
            "supply_voltage": SUPPLY,
            "peak_current": Spec(
                "current",
                "0.5..8 A",
                "highest setting, peak of the sine",
                minutes=2,
                how="Read the chip number; with a bare board allow half of the sheet's figure.",
            ),
            "microsteps": Spec("count", "1..256", "per full step", "exact", 1),
            "logic_voltage": LOGIC,
        },
        about="Chopper (constant-current) driver for two-phase motors.",
        derive_offers=lambda lot, r: [
            Offer(
                "", "", {**r, "bipolar": certain(1.0), "chopper": certain(1.0), "voltage_drop": certain(0.0)}
            )
        ],
        cautions=("never unplug motor",),
    )
)
register(
    Kind(
        "unipolar driver",
        {
            "supply_voltage": SUPPLY,
            "channel_current": Spec("current", "0.1..5 A", "of one output", minutes=2),
            "voltage_drop": DROP,
            "channels": Spec("count", "4..8", "outputs", "exact", 1),
            "logic_voltage": LOGIC,
        },
        about="Switches the coil ends of 5-, 6- and 8-wire motors to ground; no current control.",
        derive_offers=lambda lot, r: [
            Offer(
                "",
                "",
                {
                    **r,
                    "bipolar": certain(0.0),
                    "chopper": certain(0.0),
                    "peak_current": r["channel_current"],
                    "microsteps": certain(1.0),
                },
                sources={"peak_current": "channel_current"},
            )
        ],
    )
)
register(
    Kind(
        "h-bridge",
        {
            "supply_voltage": SUPPLY,
            "continuous_current": Spec("current", "0.3..50 A", "for hours", minutes=2),
            "peak_current": Spec("current", "0.6..100 A", "for a second", minutes=2),
            "voltage_drop": DROP,
            "channels": Spec("count", "1..2", "motors it drives", "exact", 1),
            "current_limit": Spec("choice", help="limits the current by itself", choices=YES_NO, minutes=2),
            "logic_voltage": LOGIC,
        },
        about="Drives a DC motor both ways.",
        rules=(
            Rule(
                "peak_current",
                ("continuous_current",),
                lambda i: i * _ONE_TO_THREE,
                "one to three times continuous",
            ),
        ),
    )
)
register(
    Kind(
        "transistor switch",
        {
            "max_voltage": Spec("voltage", "20..200 V", "it blocks", minutes=2),
            "continuous_current": Spec("current", "0.2..50 A", "it carries", minutes=2),
            "gate_voltage": Spec("voltage", "2..10 V", "that turns it on fully", minutes=3),
        },
        derive_offers=lambda lot, r: [Offer("", "", {**r, **_as_driver(r)}, sources=_AS_DRIVER)],
        about="Switches a coil, lamp or motor one way; coils need a diode across them.",
        cautions=("coil kick",),
    )
)
register(
    Kind(
        "relay",
        {
            "coil_voltage": Spec("voltage", "3..48 V", "", minutes=2),
            "coil_resistance": Spec("resistance", "20..10000 ohm", "", minutes=1),
            "contact_current": Spec("current", "0.5..30 A", "", minutes=1),
            "contact_voltage_dc": Spec("voltage", "24..60 V", "", minutes=1),
            "contact_voltage_ac": Spec("voltage", "60..400 V", "", minutes=1),
        },
        about="Contacts moved by a coil.",
        cautions=("coil kick",),
    )
)
