"""Procedures as data, and ratings worked out from raw readings."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.advice.data import cautions
from fitter.advice.procedures import Procedure, procedures
from fitter.bench.readings import Method, procedure_for, reading_interval, readings_for, winding_temperature
from fitter.errors import FitterError
from fitter.intervals import Interval
from fitter.kinds import KINDS, Kind, kind_key
from fitter.units import QUANTITIES, parse

METHODS = [(kind.name, method) for kind in KINDS.values() for method in readings_for(kind.name)]
METHOD_IDS = [f"{kind}: {m.rating} from {' '.join(m.inputs)}" for kind, m in METHODS]
PROCEDURES = list(procedures().values())


def method_of(kind: str, rating: str, *inputs: str) -> Method:
    found = [m for m in readings_for(kind) if m.rating == rating and set(inputs) <= set(m.inputs)]
    assert found, f"no way to get {rating} of a {kind} from {inputs}"
    return found[0]


def computed(kind: str, rating: str, readings: Mapping[str, str]) -> Interval:
    """A rating from readings as they are written, without tolerances of their own."""
    method = method_of(kind, rating, *readings)
    return method.compute({n: Interval.point(parse(readings[n], q)) for n, q in method.inputs.items()})


# ---------------------------------------------------------------- the data


def test_all_procedures_are_there() -> None:
    assert {f"P{n}" for n in range(1, 34)} <= set(procedures())


@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda p: p.code)
def test_procedure_is_complete(procedure: Procedure) -> None:
    assert procedure.title
    assert procedure.minutes > 0
    assert procedure.steps
    assert set(procedure.cautions) <= set(cautions())
    for kind, ratings in procedure.yields.items():
        known = {**KINDS[kind_key(kind)].ratings, **(KINDS[kind_key(kind)].rails or {})}
        assert set(ratings) <= set(known), kind
    for reading in procedure.readings.values():
        assert reading.quantity in QUANTITIES
        assert reading.about


@pytest.mark.parametrize(("kind", "method"), METHODS, ids=METHOD_IDS)
def test_method_belongs_to_its_procedure(kind: str, method: Method) -> None:
    procedure = procedures()[method.procedure]
    assert method.rating in procedure.yields[kind_key(kind)]
    assert {n: r.quantity for n, r in procedure.readings.items() if n in method.inputs} == method.inputs
    assert method.formula


@pytest.mark.parametrize(("kind", "method"), METHODS, ids=METHOD_IDS)
def test_reading_named_as_a_rating_is_that_rating(kind: str, method: Method) -> None:
    ratings = KINDS[kind_key(kind)].ratings
    for name, quantity in method.inputs.items():
        if name in ratings:
            assert ratings[name].quantity == quantity


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda k: k.name)
def test_what_takes_minutes_has_a_procedure_of_the_same_order(kind: Kind) -> None:
    for name, spec in kind.ratings.items():
        procedure = procedure_for(kind.name, name)
        if procedure is not None:
            assert name in procedure.yields[kind_key(kind.name)]
            assert spec.minutes <= 6 * procedure.minutes


def test_every_procedure_that_yields_something_is_found() -> None:
    for procedure in PROCEDURES:
        for kind, ratings in procedure.yields.items():
            for rating in ratings:
                assert procedure_for(kind, rating) is not None


# ---------------------------------------------------------------- worked examples


@pytest.mark.parametrize(
    ("kind", "rating", "readings", "wanted", "within"),
    [
        # kitchen scale at an arm: 100 g at 50 mm are 0.049 N m; own arithmetic with standard gravity
        ("stepper motor", "holding_torque", {"hold_mass": "100 g", "arm": "50 mm"}, "0.04903 N m", 1e-3),
        ("stepper motor", "holding_torque", {"hold_force": "2 N", "arm": "50 mm"}, "0.1 N m", 1e-9),
        ("stepper motor", "detent_torque", {"detent_mass": "20 g", "arm": "50 mm"}, "0.0098 N m", 1e-3),
        ("stepper motor", "step_angle", {"steps_per_turn": "200"}, "1.8 deg", 1e-9),
        # a motor of 30 ohm and 23 mH at 50 Hz: |Z| = sqrt(30^2 + 7.2257^2) = 30.858; own arithmetic
        (
            "stepper motor",
            "inductance",
            {"coil_voltage": "30.858 V", "coil_current": "1 A", "frequency": "50 Hz", "resistance": "30 ohm"},
            "23 mH",
            1e-3,
        ),
        (
            "stepper motor",
            "inductance",
            {
                "coil_voltage": "3.0858 V",
                "resistor_voltage": "1 V",
                "series_resistor": "10 ohm",
                "frequency": "50 Hz",
                "resistance": "30 ohm",
            },
            "23 mH",
            1e-3,
        ),
        # maxon RE 25 118743 at 12 V: 4860 rpm, 2.18 ohm, 26.3 mA, 23.4 mN m/A (catalogue)
        (
            "dc motor",
            "torque_constant",
            {
                "run_voltage": "12 V",
                "run_speed": "4860 rpm",
                "resistance": "2.18 ohm",
                "no_load_current": "26.3 mA",
            },
            "0.0234 N m/A",
            0.005,
        ),
        # the same motor spun: 407 rpm/V (catalogue)
        (
            "dc motor",
            "torque_constant",
            {"spin_voltage": "1 V", "spin_speed": "407 rpm"},
            "0.0234 N m/A",
            0.005,
        ),
        (
            "brushless motor",
            "speed_constant",
            {"spin_voltage": "1 V", "spin_speed": "1000 rpm"},
            "707.1 rpm/V",
            1e-3,
        ),
        ("dc gearmotor", "output_speed", {"output_turns": "34", "run_time": "60 s"}, "34 rpm", 1e-9),
        # 28BYJ-48 sheet: 64 turns in for one out
        ("dc gearmotor", "gear_ratio", {"motor_turns": "64", "geared_turns": "1"}, "64", 1e-9),
        # 60 degrees warmer than 45 K allows three quarters of the time; common practice, no source
        ("solenoid", "duty", {"coil_rise": "60 K"}, "0.75", 1e-9),
        ("solenoid", "duty", {"coil_rise": "20 K"}, "1", 1e-9),
        # Talema, "Regulation": 11 V open and 10 V loaded are 10 %
        ("transformer", "regulation", {"open_voltage": "11 V", "loaded_voltage": "10 V"}, "0.10", 1e-6),
        (
            "transformer",
            "voltage",
            {"test_primary": "9 V", "test_secondary": "0.9 V", "primary_voltage": "230 V"},
            "23 V",
            1e-9,
        ),
        (
            "battery pack",
            "capacity",
            {"discharge_current": "0.5 A", "discharge_time": "10.4 h"},
            "5.2 A h",
            1e-9,
        ),
        (
            "heat sink",
            "thermal_resistance",
            {
                "heater_voltage": "10 V",
                "heater_current": "0.8 A",
                "sink_temperature": "60 °C",
                "room_temperature": "20 °C",
            },
            "5 K/W",
            1e-9,
        ),
        # 3 starts of 2 mm pitch travel 6 mm a turn
        ("lead screw", "lead", {"ten_threads": "20 mm", "starts": "3"}, "6 mm", 1e-9),
        # 0.080 inch is 2.032 mm, so 20 teeth are 40.64 mm
        ("timing belt", "belt_pitch", {"twenty_teeth": "40.64 mm"}, "2.032 mm", 1e-9),
        # 48 to the inch is module 25.4/48 = 0.529; 22 teeth are 24 modules over the tips
        ("gear", "module", {"outside_diameter": "12.7 mm", "teeth": "22"}, "0.52917 mm", 1e-3),
        ("rack", "module", {"ten_teeth": "31.416 mm"}, "1 mm", 1e-4),
        # 180 lines to the inch
        ("encoder strip", "line_pitch", {"scale_length": "25.4 mm", "lines": "180"}, "0.14111 mm", 1e-3),
        (
            "brushless motor with driver",
            "rated_speed",
            {"tacho_frequency": "300 Hz", "pulses_per_turn": "6"},
            "3000 rpm",
            1e-9,
        ),
        ("drawer slide", "drag", {"drag_mass": "0.4 kg"}, "3.92266 N", 1e-6),
        ("spring", "stiffness", {"pull_force": "5 N", "stretch": "10 mm"}, "500 N/m", 1e-9),
    ],
    ids=lambda v: v if isinstance(v, str) else None,
)
def test_worked_example(
    kind: str, rating: str, readings: Mapping[str, str], wanted: str, within: float
) -> None:
    kind_of = KINDS[kind_key(kind)]
    spec = kind_of.ratings.get(rating) or (kind_of.rails or {})[rating]
    found = computed(kind, rating, readings)
    assert found.lo == pytest.approx(parse(wanted, spec.quantity), rel=within)
    assert found.hi == pytest.approx(parse(wanted, spec.quantity), rel=within)


def test_winding_temperature_of_a_quarter_more_ohms() -> None:
    """R up by 25 % from 20 degrees is 63.6 K (IEC 60034-1 with 234.5 for copper, from memory)."""
    cold, warm, room = (Interval.point(x) for x in (2.0, 2.5, 293.15))
    assert winding_temperature(cold, warm, room).lo == pytest.approx(293.15 + 63.6, abs=0.05)


def test_warm_up_scales_the_current_with_the_root_of_the_rise() -> None:
    readings = {
        "test_current": "1 A",
        "cold_resistance": "2 ohm",
        "warm_resistance": "2.5 ohm",
        "room_temperature": "20 °C",
    }
    found = computed("stepper motor", "rated_current", readings)
    assert (found.lo, found.hi) == pytest.approx((math.sqrt(60 / 63.625), math.sqrt(70 / 63.625)), rel=1e-3)


@pytest.mark.parametrize(
    ("open_voltage", "loaded_voltage", "ends"),
    [("17.6 V", "12 V", (0, 0)), ("12.1 V", "12 V", (1, 1)), ("12 V", "12 V", (1, 1))],
)
def test_adapter_is_regulated_or_not(open_voltage: str, loaded_voltage: str, ends: tuple[int, int]) -> None:
    found = computed("adapter", "regulated", {"open_voltage": open_voltage, "loaded_voltage": loaded_voltage})
    assert (found.lo, found.hi) == ends


@pytest.mark.parametrize(
    ("kind", "rating", "readings"),
    [
        ("stepper motor", "resistance", {"coil_reading": "0.3 ohm", "lead_reading": "0.4 ohm"}),
        (
            "stepper motor",
            "rated_current",
            {
                "test_current": "1 A",
                "cold_resistance": "2 ohm",
                "warm_resistance": "2.01 ohm",
                "room_temperature": "20 °C",
            },
        ),
        (
            "stepper motor",
            "inductance",
            {"coil_voltage": "30 V", "coil_current": "1 A", "frequency": "50 Hz", "resistance": "30 ohm"},
        ),
        (
            "heat sink",
            "thermal_resistance",
            {
                "heater_voltage": "5 V",
                "heater_current": "1 A",
                "sink_temperature": "20 °C",
                "room_temperature": "21 °C",
            },
        ),
    ],
)
def test_readings_that_tell_nothing_are_refused(kind: str, rating: str, readings: Mapping[str, str]) -> None:
    with pytest.raises(FitterError):
        computed(kind, rating, readings)


# ---------------------------------------------------------------- intervals are sound


@given(st.data())
@settings(max_examples=300, deadline=None)
def test_interval_holds_the_rating_of_every_point(data: st.DataObject) -> None:
    """Readings anywhere within their tolerances give a rating within the interval."""
    _, method = data.draw(st.sampled_from(METHODS))
    shown = {name: data.draw(st.floats(0.5, 50.0), label=name) for name in method.inputs}
    for name, quantity in method.inputs.items():
        if quantity == "temperature":
            shown[name] += 273.15
    boxes = {name: reading_interval(method.procedure, name, value) for name, value in shown.items()}
    inside = {
        name: Interval.point(box.lo + (box.hi - box.lo) * data.draw(st.floats(0, 1), label=f"where {name}"))
        for name, box in boxes.items()
    }
    if any(not box.lo > 0 for box in boxes.values()):
        return
    try:
        found, point = method.compute(boxes), method.compute(inside)
    except FitterError:
        return
    slack = 1e-9 * (abs(point.lo) + abs(point.hi))
    assert found.lo - slack <= point.lo
    assert point.hi <= found.hi + slack


def test_instrument_widens_by_share_or_size() -> None:
    assert reading_interval("P4", "arm", 0.050) == Interval(0.0495, 0.0505)  # ruler, 0.5 mm
    found = reading_interval("P4", "hold_mass", 1.0)  # kitchen scale, 2 %
    assert (found.lo, found.hi) == pytest.approx((0.98, 1.02))
    assert reading_interval("P3", "room_temperature", 293.15) == Interval(291.65, 294.65)
