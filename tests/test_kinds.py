"""Kinds of parts: the names that are contract, plausible ranges, offers, and what is never placed."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.advice.data import cautions, donors, shop
from fitter.kinds import KINDS, Kind, Offer, Spec, kind_key
from fitter.ratings import Evidence, Rating, parse_choice, parse_rating
from fitter.stock.lots import Lot
from fitter.units import QUANTITIES

# names of kinds and of their ratings: contract of the project
TABLE = {
    "stepper motor": "wires step_angle rated_current resistance inductance holding_torque detent_torque"
    " rotor_inertia frame frame_width body_length shaft_diameter",
    "dc motor": "rated_voltage resistance torque_constant no_load_current no_load_speed stall_current"
    " stall_torque continuous_current encoder_lines shaft_diameter",
    "dc gearmotor": "rated_voltage resistance torque_constant no_load_current no_load_speed stall_current"
    " stall_torque continuous_current encoder_lines shaft_diameter gear_ratio gear_efficiency output_speed"
    " output_torque gear_torque_limit self_locking",
    "brushless motor": "speed_constant resistance pole_pairs continuous_current hall_sensors shaft_diameter",
    "brushless motor with driver": "supply_voltage rated_power rated_speed rated_torque speed_input"
    " shaft_diameter",
    "solenoid": "rated_voltage resistance force stroke duty",
    "electromagnet": "rated_voltage resistance force stroke duty",
    "relay": "coil_voltage coil_resistance contact_current contact_voltage_dc contact_voltage_ac",
    "stepper driver": "supply_voltage peak_current microsteps logic_voltage",
    "unipolar driver": "supply_voltage channel_current voltage_drop channels",
    "h-bridge": "supply_voltage continuous_current peak_current voltage_drop channels",
    "transistor switch": "max_voltage continuous_current gate_voltage",
    "switch-mode supply": "input total_power regulated",
    "adapter": "input voltage current regulated",
    "battery pack": "chemistry cells voltage capacity continuous_current",
    "transformer": "primary_voltage apparent_power regulation",
    "bridge rectifier": "max_voltage current",
    "capacitor": "capacitance max_voltage",
    "linear regulator": "output_voltage dropout max_input_voltage max_current thermal_resistance_jc",
    "pass transistor": "max_voltage max_current max_power thermal_resistance_jc max_junction",
    "heat sink": "thermal_resistance",
    "fan": "voltage current flow",
    "buck converter": "input_voltage output_voltage current",
    "timing belt": "belt_pitch width length closed",
    "pulley": "belt_pitch teeth bore width",
    "lead screw": "diameter lead length starts thread nut friction",
    "rack": "module length",
    "gear": "module teeth bore width",
    "worm set": "ratio lead_angle friction",
    "rod": "diameter length",
    "bushing": "bore",
    "linear bearing": "bore load",
    "ball bearing": "bore outer_diameter width load",
    "drawer slide": "travel closed_length load play thickness",
    "coupler": "bore_a bore_b torque",
    "limit switch": "contact_current",
    "photo interrupter": "slot supply_voltage",
    "encoder strip": "line_pitch length",
    "controller board": "logic_voltage step_outputs pwm_outputs inputs supply_voltage",
    "servo": "supply_voltage torque travel_angle",
    "hinge": "", "roller": "", "spring": "", "enclosure": "", "display": "", "lens": "", "magnet": "",
    "laser unit": "", "lamp inverter": "",
}  # fmt: skip
RAILS = {
    "switch-mode supply": ("rails", {"voltage", "current", "isolated"}),
    "transformer": ("secondaries", {"voltage", "current"}),
}
WINDOWS = {
    "stepper driver": "supply_voltage", "unipolar driver": "supply_voltage", "h-bridge": "supply_voltage",
    "brushless motor with driver": "supply_voltage", "battery pack": "voltage", "servo": "supply_voltage",
    "controller board": "supply_voltage", "photo interrupter": "supply_voltage",
    "buck converter": "input_voltage output_voltage",
}  # fmt: skip
CHOICES = {
    ("timing belt", "closed"): {"yes", "no"},
    ("lead screw", "thread"): {"trapezoidal", "metric", "ball"},
    ("lead screw", "nut"): {"yes", "no"},
    ("dc gearmotor", "self_locking"): {"yes", "no"},
    ("brushless motor", "hall_sensors"): {"yes", "no"},
    ("switch-mode supply", "input"): {"mains", "dc"},
    ("adapter", "input"): {"mains", "dc"},
    ("stepper motor", "frame"): {f"NEMA {size}" for size in (8, 11, 14, 17, 23, 34)},
}
# never placed, whatever is known of them
REFUSED = [
    "laser diode", "laser unit", "lamp inverter", "flyback transformer", "microwave transformer",
    "microwave capacitor", "magnetron", "universal motor", "lithium cell", "fuser heater",
]  # fmt: skip


def kind(name: str) -> Kind:
    return KINDS[kind_key(name)]


def specs(of: Kind) -> dict[str, Spec]:
    """All ratings of a kind, those of its rails too."""
    return {**of.ratings, **(of.rails or {})}


ALL = [(k, name, spec) for k in KINDS.values() for name, spec in specs(k).items()]
IDS = [f"{k.name}: {name}" for k, name, _ in ALL]


# ------------------------------------------------------------------ names


@pytest.mark.parametrize("name", TABLE)
def test_kind_and_its_ratings_exist(name: str) -> None:
    assert kind(name).name == name
    assert set(TABLE[name].split()) <= set(kind(name).ratings)


@pytest.mark.parametrize("name", RAILS)
def test_rails_exist(name: str) -> None:
    assert (kind(name).rails_name, set(kind(name).rails or {})) == RAILS[name]


def test_only_these_kinds_have_rails() -> None:
    assert {k.name for k in KINDS.values() if k.rails is not None} == set(RAILS)


@pytest.mark.parametrize("name", WINDOWS)
def test_operating_ranges_are_windows(name: str) -> None:
    assert all(kind(name).ratings[rating].window for rating in WINDOWS[name].split())


@pytest.mark.parametrize(("name", "rating"), CHOICES)
def test_choices(name: str, rating: str) -> None:
    assert set(kind(name).ratings[rating].choices) >= CHOICES[name, rating]


@pytest.mark.parametrize("name", TABLE)
def test_kind_is_found_however_it_is_written(name: str) -> None:
    for written in (
        name.upper(),
        name.replace(" ", "_"),
        name.replace("-", " "),
        name.replace(" ", "-"),
        f" {name} ",
    ):
        assert KINDS[kind_key(written)].name == name


def test_names_are_those_of_a_stock_file() -> None:
    for k, name, _ in ALL:
        assert name == name.casefold().replace(" ", "_").replace("-", "_"), f"{k.name}: {name}"


# ------------------------------------------------------------------ plausible ranges


@pytest.mark.parametrize(("k", "name", "spec"), ALL, ids=IDS)
def test_plausible_range_is_in_order_and_likely_lies_inside(k: Kind, name: str, spec: Spec) -> None:
    assert spec.minutes > 0
    if spec.choices:
        assert len(set(spec.choices)) == len(spec.choices) > 1
        assert [parse_choice(word, spec.choices).likely for word in spec.choices] == list(
            range(len(spec.choices))
        )
        assert spec.likely in ("", *spec.choices)
    else:
        assert spec.quantity in QUANTITIES
    for unknown in spec.unknown_window() if spec.window else [spec.unknown()]:
        assert unknown.lo <= unknown.likely <= unknown.hi
        assert unknown.lo < unknown.hi
        assert math.isfinite(unknown.lo)
        assert math.isfinite(unknown.hi)
        assert unknown.evidence is Evidence.UNKNOWN
        assert unknown.lo >= 0 or spec.quantity == "temperature"
    if spec.window:
        low, high = spec.unknown_window()
        assert low.lo < high.lo
        assert low.hi <= high.hi
        assert low.likely < high.likely


def test_the_quantity_of_a_name_is_the_same_in_every_kind() -> None:
    """A column of a table has one heading and one unit for all kinds."""
    found: dict[str, set[str]] = {}
    for _, name, spec in ALL:
        found.setdefault(name, set()).add(spec.quantity)
    assert {name: found[name] for name in found if len(found[name]) > 1} == {}


# bands of a trade table for stripped machines (common practice, no source): a value from the middle of
# each band must be plausible
BANDS = {
    ("stepper motor", "rated_current"): "1.7 A", ("stepper motor", "resistance"): "1.5 ohm",
    ("stepper motor", "holding_torque"): "0.4 N m", ("stepper motor", "step_angle"): "7.5 deg",
    ("stepper motor", "shaft_diameter"): "5 mm", ("dc motor", "rated_voltage"): "24 V",
    ("dc gearmotor", "output_speed"): "30 rpm", ("timing belt", "belt_pitch"): "2.032 mm",
    ("timing belt", "length"): "920 mm", ("lead screw", "lead"): "8 mm", ("gear", "module"): "0.529 mm",
    ("rod", "diameter"): "8 mm", ("drawer slide", "travel"): "350 mm", ("drawer slide", "load"): "10 kg",
    ("transformer", "apparent_power"): "50 VA", ("heat sink", "thermal_resistance"): "1.2 K/W",
    ("capacitor", "capacitance"): "4700 uF", ("servo", "torque"): "0.2 N m", ("fan", "flow"): "60 m3/h",
}  # fmt: skip


@pytest.mark.parametrize(("name", "rating"), BANDS)
def test_common_values_are_plausible(name: str, rating: str) -> None:
    spec = kind(name).ratings[rating]
    value = parse_rating(BANDS[name, rating], spec.quantity, tolerance=spec.tolerance, plausible=spec.range)
    assert spec.range.lo <= value.likely <= spec.range.hi


# ------------------------------------------------------------------ completing what is known


def test_what_is_known_is_kept() -> None:
    known = {"resistance": exactly(2.8)}
    assert kind("stepper motor").complete(known)["resistance"] is known["resistance"]


def exactly(value: float) -> Rating:
    return Rating(value, value, value, Evidence.MEASURED)


def ratings_of(of: Kind) -> dict[str, tuple[float, float]]:
    """Every rating of a completed part with its plausible range; a window has two."""
    found = {}
    for name, spec in of.ratings.items():
        ends = spec.unknown_window() if spec.window else (spec.unknown(),)
        for end, unknown in zip((".min", ".max") if spec.window else ("",), ends, strict=True):
            found[name + end] = (unknown.lo, unknown.hi)
    return found


@st.composite
def parts(draw: st.DrawFn) -> tuple[Kind, dict[str, Rating]]:
    """A kind with some of its ratings known to a point."""
    of = draw(st.sampled_from([k for k in KINDS.values() if k.rules]))
    known: dict[str, Rating] = {}
    for name, (lo, hi) in ratings_of(of).items():
        both_ends = name.endswith(".max") and name.replace(".max", ".min") in known
        if both_ends or (not name.endswith(".max") and draw(st.booleans())):
            known[name] = exactly(lo + (hi - lo) * draw(st.floats(0, 1)) ** 3)
    return of, known


@settings(max_examples=300, deadline=None)
@given(parts())
def test_every_rating_is_bounded_whatever_is_known(part: tuple[Kind, dict[str, Rating]]) -> None:
    of, known = part
    complete = of.complete(known)
    plausible = ratings_of(of)
    assert set(complete) >= set(plausible)
    for name, (lo, hi) in plausible.items():
        rating = complete[name]
        assert rating.lo <= rating.likely <= rating.hi
        assert (lo <= rating.lo and rating.hi <= hi) or name in known


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_laws_hold_between_what_is_implied_and_what_is_true(data: st.DataObject) -> None:
    """A motor made up from V, R and Kt must lie within what is implied by any of its figures."""
    volts, ohms = data.draw(st.floats(6, 24)), data.draw(st.floats(1, 50))
    constant = data.draw(st.floats(0.005, 0.05))
    stall = volts / ohms
    free = data.draw(st.floats(0.02, 0.2)) * stall
    true = {
        "rated_voltage": volts,
        "resistance": ohms,
        "torque_constant": constant,
        "no_load_current": free,
        "no_load_speed": (volts - free * ohms) / constant,
        "stall_current": stall,
        "stall_torque": constant * (stall - free),
    }
    plausible = ratings_of(kind("dc motor"))
    if not all(plausible[n][0] <= v <= plausible[n][1] for n, v in true.items()):
        return
    shown = data.draw(st.sets(st.sampled_from(sorted(true)), min_size=1))
    complete = kind("dc motor").complete({n: exactly(true[n]) for n in shown})
    for name, value in true.items():
        assert complete[name].lo * (1 - 1e-9) <= value <= complete[name].hi * (1 + 1e-9), name


# ------------------------------------------------------------------ offers


def lot(
    name: str, ratings: Mapping[str, str], rails: list[Mapping[str, str]] | None = None, **plain: Any
) -> Lot:
    """A lot with ratings written as in a stock file, each without tolerance."""
    of = kind(name)
    return Lot(
        "x",
        of.name,
        ratings={n: _read(of.ratings[n], text) for n, text in ratings.items()},
        rails=tuple(
            {n: _read(s, rail[n]) if n in rail else s.unknown() for n, s in (of.rails or {}).items()}
            for rail in rails or []
        ),
        **plain,
    )


def _read(spec: Spec, text: str) -> Rating:
    if spec.choices:
        return parse_choice(text, spec.choices)
    return parse_rating(f"{text} +- 0 %", spec.quantity, tolerance=spec.tolerance, plausible=spec.range)


def offers(of: Lot) -> dict[str, Offer]:
    found = {offer.key: offer for offer in of.offers()}
    assert len(found) == len(of.offers())
    return found


COILS = {"rated_current": "2 A", "resistance": "1.5 ohm", "inductance": "3 mH", "holding_torque": "1 N m"}
HALF, SERIES, PARALLEL = (1.0, 1.0, 1.0, 1.0), (0.707, 2.0, 4.0, 1.41), (1.41, 0.5, 1.0, 1.41)
# current, resistance, inductance and torque over those of a half-coil, and whether it suits a bipolar driver
CONNECTIONS = {
    4: {"bipolar": (HALF, 1.0)},
    5: {"unipolar": (HALF, 0.0)},
    6: {"half coil": (HALF, 1.0), "series": (SERIES, 1.0), "unipolar": (HALF, 0.0)},
    8: {
        "half coil": (HALF, 1.0),
        "series": (SERIES, 1.0),
        "parallel": (PARALLEL, 1.0),
        "unipolar": (HALF, 0.0),
    },
}


@pytest.mark.parametrize("wires", CONNECTIONS)
def test_coil_connections_of_a_stepper(wires: int) -> None:
    """Factors of the project's design, to the three digits it prints."""
    found = offers(lot("stepper motor", {**COILS, "wires": str(wires)}))
    assert set(found) == set(CONNECTIONS[wires])
    for key, (factors, bipolar) in CONNECTIONS[wires].items():
        ratings = found[key].ratings
        assert ratings["bipolar"].lo == ratings["bipolar"].hi == bipolar
        for name, factor, half in zip(COILS, factors, (2.0, 1.5, 3e-3, 1.0), strict=True):
            assert ratings[name].likely / half == pytest.approx(factor, rel=0.004), (key, name)
            assert ratings[name].lo == pytest.approx(ratings[name].hi)


@cache
def published(name: str) -> dict[str, Any]:
    """A published check value by its id; its source stands beside it in the file."""
    entries = json.loads((Path(__file__).parent / "published" / "motion.json").read_text(encoding="utf-8"))
    (found,) = (entry for entry in entries if entry["id"] == name)
    return dict(found)


def test_series_and_parallel_against_a_published_derivation() -> None:
    """ST-20: equal copper loss, against a unipolar winding with R = I = T = 1."""
    fact = published("ST-20")
    found = offers(lot("stepper motor", {**COILS, "wires": "8"}))
    half = found["unipolar"].ratings
    near = {"abs": fact["tolerance"]["abs"]}
    for key in ("series", "parallel"):
        for name, symbol in (("resistance", "R"), ("inductance", "L"), ("rated_current", "I")):
            ratio = found[key].ratings[name].likely / half[name].likely
            assert ratio == pytest.approx(fact["outputs"][key][symbol], **near)
        torque = found[key].ratings["holding_torque"].likely / half["holding_torque"].likely
        assert torque == pytest.approx(fact["outputs"]["torque_ratio"], **near)


def test_driver_current_of_eight_leads_against_a_maker() -> None:
    """ST-18: the peak a driver is set to, from the current printed on the motor for one half-coil."""
    fact = published("ST-18")
    for (connection, printed, current), peak in zip(
        fact["inputs"]["cases"], fact["outputs"]["peak_A"], strict=True
    ):
        if printed == "unipolar":
            of = lot("stepper motor", {**COILS, "rated_current": f"{current} A", "wires": "8"})
            rated = offers(of)[connection].ratings["rated_current"].likely
            assert rated * math.sqrt(2) == pytest.approx(peak, rel=fact["tolerance"]["rel"])


@pytest.mark.parametrize("wires", [{}, {"wires": "7"}])
def test_a_stepper_with_unknown_leads_may_be_either(wires: dict[str, str]) -> None:
    (offer,) = lot("stepper motor", {**COILS, **wires}).offers()
    assert (offer.ratings["bipolar"].lo, offer.ratings["bipolar"].hi) == (0.0, 1.0)
    assert offer.sources["bipolar"] == "wires"


SUPPLY = [{"voltage": "24 V", "current": "3 A"}, {"voltage": "5 V", "current": "2 A", "isolated": "yes"}]


def test_each_rail_is_an_offer() -> None:
    found = offers(lot("switch-mode supply", {"regulated": "yes", "total_power": "60 W"}, SUPPLY))
    assert list(found) == ["rail 1", "rail 2", "rails 1+2"]
    for index, (volts, amps) in enumerate([(24.0, 3.0), (5.0, 2.0)]):
        offer = found[f"rail {index + 1}"]
        assert offer.rail == index
        assert offer.ratings["voltage.low"].likely == offer.ratings["voltage.high"].likely == volts
        assert offer.ratings["current"].likely == amps
        assert offer.ratings["unit_power"].likely == 60.0
        assert offer.sources["current"] == f"rails[{index + 1}].current"


def test_the_power_of_a_unit_without_label_lies_between_its_strongest_rail_and_all() -> None:
    power = lot("switch-mode supply", {}, SUPPLY).offers()[0].ratings["unit_power"]
    assert (power.lo, power.hi) == (72.0, 82.0)


def test_a_supply_that_may_be_unregulated_stands_higher_without_load() -> None:
    """A plain 12 V adapter reads up to about 18 V open: common practice, no source."""
    for regulated, least, most in [("yes", 12.0, 12.0), ("no", 17.0, 20.0), (None, 17.0, 20.0)]:
        ratings = {"voltage": "12 V", "current": "1 A", **({"regulated": regulated} if regulated else {})}
        (offer,) = lot("adapter", ratings).offers()
        assert offer.ratings["voltage.low"].hi == 12.0
        assert least <= offer.ratings["voltage.high"].hi <= most


def windings(*volts_amps: tuple[float, float]) -> list[Mapping[str, str]]:
    return [{"voltage": f"{v} V", "current": f"{a} A"} for v, a in volts_amps]


def test_windings_alone_in_series_and_in_parallel() -> None:
    found = offers(lot("transformer", {"apparent_power": "50 VA"}, windings((12, 2), (12, 2))))
    figures = {
        key: (o.ratings["secondary_voltage"].likely, o.ratings["secondary_current"].likely)
        for key, o in found.items()
    }
    assert figures == {
        "winding 1": (12.0, 2.0),
        "winding 2": (12.0, 2.0),
        "series 1+2": (24.0, 2.0),
        "parallel 1+2": (12.0, 4.0),
    }


def test_windings_of_unlike_voltage_are_never_in_parallel_and_the_weaker_limits_a_series() -> None:
    found = offers(lot("transformer", {}, windings((24, 3), (9, 0.8))))
    assert set(found) == {"winding 1", "winding 2", "series 1+2"}
    assert found["series 1+2"].ratings["secondary_voltage"].likely == 33.0
    assert found["series 1+2"].ratings["secondary_current"].likely == 0.8


def test_alike_parts_side_by_side() -> None:
    found = offers(lot("capacitor", {"capacitance": "1000 uF"}, count=3))
    values = {offer.pieces: offer.ratings["capacitance"].likely for offer in found.values()}
    assert values == pytest.approx({1: 1e-3, 2: 2e-3, 3: 3e-3})
    assert {o.pieces for o in lot("pass transistor", {}, count=9).offers()} == {1, 2, 3, 4}


def test_a_coupler_fits_both_ways_round() -> None:
    found = lot("coupler", {"bore_a": "5 mm", "bore_b": "8 mm"}).offers()
    bores = {(o.ratings["bore_a"].likely, o.ratings["bore_b"].likely) for o in found}
    assert bores == {(0.005, 0.008), (0.008, 0.005)}


@pytest.mark.parametrize("name", [k.name for k in KINDS.values() if not k.refused])
@pytest.mark.parametrize("condition", ["working", "untested"])
def test_a_part_of_which_nothing_is_known_still_has_offers(name: str, condition: str) -> None:
    rails: list[Mapping[str, str]] = [{}] if kind(name).rails is not None else []
    found = lot(name, {}, rails, count=2, condition=condition).offers()
    assert found
    for offer in found:
        assert set(ratings_of(kind(name))) <= set(offer.ratings)
        assert 1 <= offer.pieces <= 2
        for path, rating in offer.ratings.items():
            assert rating.lo <= rating.likely <= rating.hi, path
        for figure, source in offer.sources.items():
            measurable = kind(name).spec(source.rpartition("].")[2]) is not None
            assert measurable or offer.ratings[figure].exact, (
                f"{figure} is open, but {source} cannot be measured"
            )


# ------------------------------------------------------------------ what is never placed


@pytest.mark.parametrize("name", REFUSED)
def test_never_placed(name: str) -> None:
    reason = kind(name).refusal(Lot("x", kind(name).name))
    assert "never" in reason
    assert kind(name).cautions


@pytest.mark.parametrize(
    ("ratings", "condition", "placed"),
    [
        ({}, "working", False),
        ({"chemistry": "unknown"}, "working", False),
        ({"chemistry": "lithium-ion"}, "working", False),
        ({"chemistry": "lithium-ion", "capacity": "2 A h"}, "untested", False),
        ({"chemistry": "lithium-ion", "capacity": "2 A h"}, "working", True),
        ({"chemistry": "lithium iron phosphate"}, "working", False),
        ({"chemistry": "lead-acid"}, "working", True),
        ({"chemistry": "nickel-metal hydride"}, "untested", True),
    ],
)
def test_cells(ratings: dict[str, str], condition: str, placed: bool) -> None:
    pack = lot("battery pack", ratings, condition=condition)
    assert (kind("battery pack").refusal(pack) == "") is placed


# ------------------------------------------------------------------ what other data says about kinds


@pytest.mark.parametrize("of", KINDS.values(), ids=KINDS)
def test_cautions_of_a_kind_have_their_text(of: Kind) -> None:
    assert set(of.cautions) <= set(cautions())


def test_shops_carry_only_kinds_that_exist_and_may_be_placed() -> None:
    for key, sizes in shop().items():
        assert key in KINDS
        assert all(not size.kind_of_part.refusal(size) and size.price_new for size in sizes)


def test_most_kinds_have_a_machine_that_holds_them() -> None:
    missing = {k.name for k in KINDS.values() if not k.refused and not donors(k.name, {}, 1)}
    assert len(missing) < len(KINDS) / 4, missing
