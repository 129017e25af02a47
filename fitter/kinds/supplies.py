"""Where the power comes from. Each way to draw on a supply is an offer with the rail's figures.

Every offer carries ``voltage.low`` and ``voltage.high`` (what the rail stands at under full load
and without load), ``current``, ``unit_power`` (what the whole unit can give) and ``rails``
(how many the unit has).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from fitter.intervals import Interval, monotone
from fitter.kinds.model import UNLIMITED, Kind, Offer, Ratings, Rule, Spec, register
from fitter.kinds.motors import YES_NO, certain
from fitter.kinds.priors import band, priors
from fitter.kinds.series import ALONE, FREE, Stack, offered, pack_stacks, ruled_out, supply_stacks
from fitter.physics import rectifier
from fitter.ratings import Evidence, Rating
from fitter.units import show

if TYPE_CHECKING:
    from fitter.stock.lots import Lot

INPUT = Spec("choice", help="what feeds it", choices=("dc", "mains"), minutes=1)
REGULATED = Spec(
    "choice",
    help="holds its voltage without load",
    choices=YES_NO,
    minutes=3,
    how="Volts open, then at rated load; above 1.2 times the label it is not regulated.",
)
RAIL_VOLTAGE = Spec("voltage", "3..60 V", "of the rail", "rail", 2, "Meter on the rail under some load.")
RAIL_CURRENT = Spec(
    "current",
    "0.1..30 A",
    "the rail gives for hours",
    minutes=10,
    how="Load it to 25, 50, 80 % of the label; usable is where the sag reaches 5 %.",
)
RIPPLE = Spec(
    "voltage",
    "10..300 mV",
    "peak to peak on the rail",
    minutes=5,
    how="Scope, or AC range behind a capacitor.",
)
ISOLATED = Spec(
    "choice",
    help="output tied neither to another, nor to the input, nor to earth",
    choices=YES_NO,
    minutes=2,
    how="Unplugged: ohms from its minus to every other minus, to the earth pin and to the case; all open.",
)
MAINS = (50.0, 60.0)  # Hz
UNREGULATED_RISE = Interval(1.0, 1.6)  # open-circuit volts over label volts; common practice, no source


def _open_voltage(voltage: Rating, regulated: Rating) -> Rating:
    """Voltage without load: the label's when regulated, up to 1.6 times when not."""
    if regulated.lo >= 1.0:
        return voltage
    hi = voltage.hi * float(UNREGULATED_RISE.hi)
    return replace(
        voltage,
        hi=hi,
        likely=voltage.likely if regulated.hi >= 1 else voltage.likely * 1.3,
        evidence=min(voltage.evidence, regulated.evidence, key=_strength),
    )


def _strength(evidence: Evidence) -> int:
    return -list(Evidence).index(evidence)


def _rail(
    ratings: Ratings, voltage: Rating, current: Rating, power: Rating, regulated: Rating
) -> dict[str, Rating]:
    return {
        **ratings,
        "voltage.low": voltage,
        "voltage.high": _open_voltage(voltage, regulated),
        "current": current,
        "unit_power": power,
        "capacity": UNLIMITED,
        FREE: ALONE,
        "rails": certain(1.0),
    }


def switch_mode_offers(lot: Lot, ratings: Ratings) -> Iterable[Offer]:
    """Each rail, and rails in series."""
    return [*_each_rail(lot, ratings), *offered(_stacked_rails(lot, ratings))]


def _stacked_rails(lot: Lot, ratings: Ratings) -> Iterator[Stack]:
    return supply_stacks(lot, list(_each_rail(lot, ratings)), [r["isolated"] for r in lot.rails])


def _each_rail(lot: Lot, ratings: Ratings) -> Iterator[Offer]:
    """One offer a rail; the unit's power is known only from the label."""
    for index, rail in enumerate(rails_by_power(lot.rails, ratings["total_power"])):
        volts, amps = rail["voltage"], rail["current"]
        label = f"{show(volts.likely, 'voltage')} rail"
        figures = _rail(ratings, volts, amps, _unit_power(lot, ratings), ratings["regulated"])
        figures["rails"] = certain(float(len(lot.rails)))
        yield Offer(
            f"rail {index + 1}", label, figures, rail=index, sources=_rail_sources(f"rails[{index + 1}].")
        )


def rails_by_power(rails: Sequence[Ratings], power: Rating) -> list[Ratings]:
    """Rails, or windings, with the currents nobody knows bounded by the power of the whole.

    None gives more than all of it, and one alone gives most of it.
    """
    return [{**rail, "current": _by_power(rail, power, alone=len(rails) == 1)} for rail in rails]


def _by_power(rail: Ratings, power: Rating, alone: bool) -> Rating:
    volts, amps = rail["voltage"], rail["current"]
    if amps.known or not power.known or not volts.lo > 0:
        return amps
    all_of_it = power.interval / volts.interval
    least = float(all_of_it.lo) * float(priors()["rail_of_label"]) if alone else amps.lo
    lo, hi = max(amps.lo, least), min(amps.hi, float(all_of_it.hi))
    if lo > hi:
        return amps
    likely = power.likely / volts.likely if alone else (lo * hi) ** 0.5
    return Rating(lo, hi, min(max(likely, lo), hi), Evidence.ESTIMATED, "from the power of the whole")


def _rail_sources(place: str) -> dict[str, str]:
    """Where the figures of a rail come from."""
    return {
        "voltage.low": f"{place}voltage",
        "voltage.high": "regulated",
        "current": f"{place}current",
        "unit_power": "total_power",
    }


def _unit_power(lot: Lot, ratings: Ratings) -> Rating:
    """The label's total; without one, between the strongest rail and all rails together."""
    total = ratings["total_power"]
    each = [r["voltage"].likely * r["current"].likely for r in lot.rails]
    if total.known or not each:
        return total
    if len(each) == 1:
        return UNLIMITED
    return Rating(max(each), sum(each), max(each), Evidence.ESTIMATED, "from the rails")


register(
    Kind(
        "switch-mode supply",
        {
            "input": INPUT,
            "total_power": Spec("power", "5..1000 W", "all rails together", minutes=2, how="Read the label."),
            "regulated": replace(REGULATED, likely="yes"),
            "ripple": RIPPLE,
        },
        rails={
            "voltage": RAIL_VOLTAGE,
            "current": RAIL_CURRENT,
            "isolated": ISOLATED,
        },
        about="One or more regulated rails from the mains or from DC.",
        derive_offers=switch_mode_offers,
        derive_refused=lambda lot, r: ruled_out(_stacked_rails(lot, r)),
        cautions=("charged capacitor", "mains"),
    )
)
register(
    Kind(
        "adapter",
        {
            "input": INPUT,
            "voltage": RAIL_VOLTAGE,
            "current": RAIL_CURRENT,
            "regulated": REGULATED,
            "open_voltage": Spec(
                "voltage", "3..90 V", "without load", "rail", 1, "Meter on the open plug; note the polarity."
            ),
            "ripple": RIPPLE,
            "isolated": ISOLATED,
        },
        about="Closed plug-in or table-top supply with one output.",
        derive_offers=lambda lot, r: [_adapter(r), *offered(_stacked_adapters(lot, r))],
        derive_refused=lambda lot, r: ruled_out(_stacked_adapters(lot, r)),
    )
)


def _adapter(ratings: Ratings) -> Offer:
    volts, amps = ratings["voltage"], ratings["current"]
    figures = _rail(ratings, volts, amps, UNLIMITED, ratings["regulated"])
    sources = {k: v for k, v in _rail_sources("").items() if v != "total_power"}
    if (measured := ratings["open_voltage"]).known:
        figures["voltage.high"] = replace(measured, hi=max(measured.hi, volts.hi))
        sources["voltage.high"] = "open_voltage"
    return Offer("", show(volts.likely, "voltage"), figures, sources=sources)


def _stacked_adapters(lot: Lot, ratings: Ratings) -> Iterator[Stack]:
    return supply_stacks(lot, [_adapter(ratings)], [ratings["isolated"]])


CHEMISTRIES = ("lead-acid", "nickel-metal hydride", "lithium-ion", "lithium iron phosphate", "alkaline")


def _battery_refusal(lot: Lot) -> str:
    chemistry = lot.ratings.get("chemistry")
    if chemistry is None or not chemistry.exact:
        return "unknown cells are never placed: state the chemistry"
    lithium = CHEMISTRIES[int(chemistry.lo)].startswith("lithium")
    if lithium and (lot.condition != "working" or "capacity" not in lot.ratings):
        return "lithium cells without a passed capacity test are never placed"
    return ""


register(
    Kind(
        "battery pack",
        {
            "chemistry": Spec("choice", help="kind of cell", choices=CHEMISTRIES, minutes=1),
            "cells": Spec("count", "1..20", "in series", "exact", 1),
            "voltage": Spec(
                "voltage",
                "1..30 V",
                "empty and full",
                "rail",
                60,
                window=True,
                plausible_high="1.4..60 V",
                how="Rest voltage full, and at the end of a discharge.",
            ),
            "capacity": Spec("charge", "0.1..100 A h", "at the current it will give", minutes=180),
            "continuous_current": Spec("current", "0.2..100 A", "it gives for minutes", minutes=30),
        },
        about="Cells with a known chemistry.",
        refuse=_battery_refusal,
        derive_offers=lambda lot, r: [_pack(r), *offered(_stacked_packs(lot, r))],
        derive_refused=lambda lot, r: ruled_out(_stacked_packs(lot, r)),
        cautions=("battery",),
    )
)


def _pack(ratings: Ratings) -> Offer:
    figures = {
        **ratings,
        "voltage.low": ratings["voltage.min"],
        "voltage.high": ratings["voltage.max"],
        "current": ratings["continuous_current"],
        "unit_power": UNLIMITED,
        "ripple": certain(0.0),
        FREE: ALONE,
        "rails": certain(1.0),
    }
    sources = {"voltage.low": "voltage", "voltage.high": "voltage", "current": "continuous_current"}
    return Offer("", "", figures, sources=sources)


def _stacked_packs(lot: Lot, ratings: Ratings) -> Iterator[Stack]:
    chemistry = CHEMISTRIES[int(ratings["chemistry"].likely)]
    return pack_stacks(lot, _pack(ratings), chemistry)


SECONDARY_VOLTAGE = Spec(
    "voltage",
    "3..60 V",
    "AC of the winding at full load",
    minutes=8,
    how="Small known AC into the primary, volts at each winding.",
)
SECONDARY_CURRENT = Spec("current", "0.1..20 A", "AC of the winding", minutes=10)


def transformer_offers(lot: Lot, ratings: Ratings) -> Iterable[Offer]:
    """Each secondary alone, and two alike in series or in parallel."""
    windings = rails_by_power(lot.rails, ratings["apparent_power"])
    for index, w in enumerate(windings):
        yield _secondary(ratings, f"winding {index + 1}", w["voltage"], w["current"], index)
    for i, a in enumerate(windings):
        for j in range(i + 1, len(windings)):
            b = windings[j]
            both = f"{i + 1}+{j + 1}"
            amps = min(a["current"], b["current"], key=lambda r: r.likely)
            yield _secondary(ratings, f"series {both}", _sum(a["voltage"], b["voltage"]), amps, i)
            if a["voltage"].likely == b["voltage"].likely:
                yield _secondary(
                    ratings, f"parallel {both}", a["voltage"], _sum(a["current"], b["current"]), i
                )


def _sum(a: Rating, b: Rating) -> Rating:
    return replace(a, lo=a.lo + b.lo, hi=a.hi + b.hi, likely=a.likely + b.likely)


def _secondary(ratings: Ratings, key: str, volts: Rating, amps: Rating, rail: int) -> Offer:
    label = f"{show(volts.likely, 'voltage')} AC, {show(amps.likely, 'current')}"
    place = f"secondaries[{rail + 1}]."
    figures = {**ratings, "secondary_voltage": volts, "secondary_current": amps}
    sources = {"secondary_voltage": f"{place}voltage", "secondary_current": f"{place}current"}
    return Offer(key, label, figures, rail=rail, sources=sources)


register(
    Kind(
        "transformer",
        {
            "primary_voltage": Spec("voltage", "100..240 V", "AC of the mains winding", minutes=5),
            "apparent_power": Spec(
                "apparent_power",
                "3..1000 VA",
                "",
                minutes=3,
                how="Core area in mm2, squared, over 16040 at 50 Hz.",
            ),
            "core_tongue": Spec(
                "length", "8..80 mm", "width of the middle leg of the iron", "length", 1, "Calipers."
            ),
            "core_stack": Spec("length", "8..120 mm", "height of the iron", "length", 1, "Calipers."),
            "regulation": Spec(
                "ratio",
                "0.03..0.25",
                "rise without load over full load",
                minutes=10,
                how="Volts open and at rated load.",
            ),
        },
        rails={"voltage": SECONDARY_VOLTAGE, "current": SECONDARY_CURRENT},
        rails_name="secondaries",
        about="Mains transformer with its secondaries.",
        rules=(
            Rule(
                "apparent_power",
                ("core_tongue", "core_stack"),
                lambda tongue, stack: _by_core(tongue, stack),
                "from the iron of its middle leg, 50 or 60 Hz",
                source="Reference Data for Radio Engineers, 2nd ed. (1946)",
            ),
            Rule(
                "apparent_power",
                ("mass",),
                lambda mass: mass * band("transformer_per_kilogram"),
                "from its mass",
            ),
            Rule("regulation", ("apparent_power",), lambda s: _regulation(s), "from its size"),
        ),
        derive_offers=transformer_offers,
        cautions=("mains",),
    )
)


def _by_core(tongue: Interval, stack: Interval) -> Interval:
    area = tongue * stack
    at = {
        mains: monotone(rectifier.core_volt_amperes, rising={"core_area": area}, fixed={"frequency": mains})
        for mains in MAINS
    }
    return at[MAINS[0]].hull(at[MAINS[1]]) * band("transformer_core")


def _regulation(size: Interval) -> Interval:
    """Small transformers sag more: about 25 % at 5 VA to 5 % at 300 VA (common practice, no source)."""

    def usual(va: float) -> float:
        return float(min(0.25, max(0.03, 0.45 * va**-0.4)))

    return Interval(usual(float(size.hi)) * 0.6, usual(float(size.lo)) * 1.4)
