"""What recipes of the bench need, worked out by hand beside the tool's figures.

Plain arithmetic on the recipe's defaults and on the parts that were placed; it uses nothing of the program.
Figures "of the trade" are rules of thumb for the same project (common practice, no source).
"""

from __future__ import annotations

from math import pi, sqrt
from pathlib import Path
from typing import Any

import pytest
from asking import Asked

TURN = 2 * pi / 60  # rad/s of one turn a minute
FULL = 0.8  # share of its label to which a supply is loaded; the trade, common practice, no source
CONVERTER = (0.85, 0.95)  # efficiency of step-down boards; common practice, no source
MICA = (0.3, 1.0)  # K/W between a transistor and its sink, washer and grease; common practice, no source
SHARED, SINK, BLOWN = "converter on another rail", "thermal_resistance", "blown_resistance"
EVEN = 0.8  # of an even share in transistors side by side; common practice, no source


def lot(ident: str, kind: str, **ratings: Any) -> dict[str, Any]:
    """A lot whose every rating is known."""
    return {"id": ident, "kind": kind, "condition": "working", **ratings}


def test_multi_rail_supply_on_one_unit(tmp_path: Path) -> None:
    """3 A from 3.3, 5, 12 and 24 V are 133 W, of 80 % of the label: 166 W and what the converters lose."""
    asked = Asked("multi-rail-supply", tmp_path, way=dict.fromkeys(("v3", "v5", "v12"), SHARED))
    behind, direct = 3 * (3.3 + 5 + 12), 3 * 24
    assert behind + direct == pytest.approx(133, abs=0.5)
    assert (behind + direct) / FULL == pytest.approx(166, abs=0.5)
    volts, _ = asked.rating("v24.supply", "voltage.high")
    meter, _ = asked.rating("meter.meter", "supply_current")
    least, most = ((behind / eta / volts + 3 + meter) / FULL for eta in reversed(CONVERTER))
    assert asked.need("current of the rail", "v24.supply") == pytest.approx((least, most), rel=1e-3)
    assert least * volts > (behind + direct) / FULL


def test_fuses_of_a_multi_rail_supply(tmp_path: Path) -> None:
    """A fuse is loaded to three quarters for hours (UL 248-14 fuses, any maker's guide): 3 A take 4 A."""
    asked = Asked("multi-rail-supply", tmp_path, way=dict.fromkeys(("v3", "v5", "v12"), SHARED))
    for rail in ("v3", "v5", "v12", "v24"):
        assert asked.need("fuse holds", f"{rail}.fuse") == pytest.approx((4.0, 4.0))
        assert asked.rating(f"{rail}.fuse", "rated_current")[0] >= 4


def test_a_fuse_behind_a_converter_blows_before_it_gives_up(tmp_path: Path) -> None:
    """A converter of 3 A never blows the fuse of 4 A that 3 A take, so one of more is bought."""
    small = lot(
        "small",
        "buck converter",
        count=3,
        input_voltage="8..60 V, datasheet",
        output_voltage="1.25..30 V, datasheet",
        current="3 A, datasheet",
        ripple="30 mV, datasheet",
    )
    ways = dict.fromkeys(("v3", "v5", "v12"), SHARED)
    asked = Asked("multi-rail-supply", tmp_path, way=ways, lots=[small])
    assert asked.rating("v5.converter", "current")[0] >= asked.rating("v5.fuse", "rated_current")[1] >= 4
    quiet = Asked(
        "multi-rail-supply", tmp_path, way=ways, settings={"current": "2 A", "ripple": "50 mV"}, lots=[small]
    )
    assert quiet.build.parts["v5.converter"].lot.id == "small"
    assert quiet.need("ripple of the converter", "v5.converter") == (0.05, 0.05)


def test_a_fan_on_a_heat_sink_runs_near_its_own_voltage(tmp_path: Path) -> None:
    """A fan of 12 V still turns on 5 V, but then it cools less than the sink's figure with a fan says."""
    asked = Asked("electronic-load", tmp_path, way={"load": "sink with a fan"})
    fan, _ = asked.rating("load.fan", "voltage")
    assert asked.need("voltage of the fan", "load.fan") == pytest.approx((0.8 * fan,) * 2)
    assert asked.rating("supply.supply", "voltage.low")[0] >= 0.8 * fan


def test_electronic_load(tmp_path: Path) -> None:
    """60 W from 35 C up to 100 C, 25 K below what silicon stands: 1.1 K/W in all, so two transistors and a
    sink with a fan of at most 0.5 K/W (the trade). Resistances add like those of a current (any handbook)."""
    transistors = lot(
        "q",
        "pass transistor",
        count=2,
        max_voltage="100 V, datasheet",
        max_current="25 A, datasheet",
        max_power="150 W, datasheet",
        thermal_resistance_jc="0.8 K/W, datasheet",
        max_junction="125 degC, datasheet",
        full_power_voltage="60 V, datasheet",
        current_gain="50, datasheet",
    )
    sink = lot("cooler", "heat sink", blown_resistance="0.4 K/W, datasheet")
    asked = Asked(
        "electronic-load",
        tmp_path,
        way={"load": "sink with a fan"},
        lots=[transistors, sink],
        fixed={"load.transistors": "q", "load.sink": "cooler"},
    )
    (rise,) = {
        (float(c.judgement.have.lo), float(c.judgement.have.hi))
        for c in asked.build.checks
        if c.check.name == "junction temperature"
    }
    assert rise == pytest.approx((65, 65))
    assert rise[0] / 60 == pytest.approx(1.08, abs=0.01)
    devices, _ = asked.rating("load.transistors", "devices")
    assert devices == 2
    case, cooler = asked.rating("load.transistors", "thermal_resistance_jc"), asked.rating("load.sink", BLOWN)
    least, most = (60 * (cooler[i] + (case[i] + MICA[i]) / (devices * EVEN)) for i in (0, 1))
    assert asked.need("junction temperature", "load.transistors") == pytest.approx((least, most), rel=0.001)
    assert cooler[0] <= 0.5
    assert least < 1.1 * 60


def test_lab_supply_at_its_worst(tmp_path: Path) -> None:
    """30 V in and a short-circuited output at 1.5 A: 43 W of heat (the trade) at 1.25 V."""
    front = lot(
        "front",
        "switch-mode supply",
        input="mains",
        total_power="100 W, datasheet",
        regulated="yes",
        ripple="50 mV, datasheet",
        rails=[{"voltage": "30 V, datasheet", "current": "3 A, datasheet", "isolated": "yes"}],
    )
    way = {"output": "switch-mode, regulator and pass transistor"}
    asked = Asked("lab-supply", tmp_path, way=way, lots=[front], fixed={"output.supply": "front"})
    watts = (30 - 1.25) * 1.5
    assert watts == pytest.approx(43, abs=0.2)
    case, sink = asked.rating("output.pass", "thermal_resistance_jc"), asked.rating("output.sink", SINK)
    least, most = asked.need("junction temperature", "output.pass")
    assert least >= watts * (sink[0] + case[0]) / 2
    assert watts * sink[1] <= most <= watts * (sink[1] + case[1] + MICA[1]) * 1.05
    assert (100 - 35) / watts < 1.6  # K/W in all: two transistors and at most 1.2 K/W of sink (the trade)


def test_motor_test_bench(tmp_path: Path) -> None:
    """Two motors of 20 W at once, at what a driver loses like a converter, and the board."""
    asked = Asked("motor-test-bench", tmp_path, way={"steppers": "chopper", "reading": "panel meter"})
    assert asked.need("driver current", "steppers.driver") == (2, 2)
    volts, _ = asked.rating("power.supply", "voltage.high")
    board, _ = asked.rating("control.board", "supply_current")
    meter, _ = asked.rating("reading.meter", "supply_current")
    least, most = asked.need("current of the rail", "power.supply")
    assert least == pytest.approx((2 * 20 / CONVERTER[1] / volts + board + meter) / FULL, rel=0.02)
    assert most == pytest.approx((2 * 20 / CONVERTER[0] / volts + board + meter) / FULL, rel=0.02)


def test_foam_cutter(tmp_path: Path) -> None:
    """16 to 60 W for each metre are 8 to 30 W of 500 mm (the trade); V = sqrt(P R), R = rho l / A with
    1.09e-6 ohm m for nickel-chromium 80/20 (any wire maker's table), up to a tenth more when hot."""
    slow, quick = (heats * 0.5 for heats in (16, 60))
    assert (slow, quick) == (8, 30)
    asked = Asked("foam-cutter", tmp_path, way={"wire": "converter"})
    diameter, _ = asked.rating("wire.wire", "diameter")
    ohms = 1.09e-6 * 0.5 / (pi / 4 * diameter**2)
    least, most = asked.need("voltage for the wire", "wire.wire")
    assert least == pytest.approx(sqrt(quick * ohms), rel=0.03)
    assert most == pytest.approx(sqrt(quick * ohms * 1.1), rel=0.03)
    low = Asked("foam-cutter", tmp_path, way={"wire": "converter"}, settings={"heat": "16 W"})
    diameter, _ = low.rating("wire.wire", "diameter")
    ohms = 1.09e-6 * 0.5 / (pi / 4 * diameter**2)
    assert low.need("voltage for the wire", "wire.wire")[0] == pytest.approx(sqrt(slow * ohms), rel=0.03)


def test_foam_cutter_stands_still_without_a_hand(tmp_path: Path) -> None:
    """The button that must be held carries all of the wire's current, a quarter to spare."""
    asked = Asked("foam-cutter", tmp_path, way={"wire": "converter"})
    volts, _ = asked.need("voltage for the wire", "wire.wire")
    assert asked.rating("wire.button", "contact_current")[0] >= 1.25 * 30 / volts


def test_stirrer(tmp_path: Path) -> None:
    """Power number 0.5 of a bar at the bottom (stirred vessels, turbulent: 0.3 to 1; from memory): 0.4 W in
    water from 40 mm at 1200 turns a minute, of which a small motor makes 1 to 2 W drawn (the trade)."""
    turns = 1200 / 60
    watts = 0.5 * 1000 * turns**3 * 0.040**5
    assert watts == pytest.approx(0.41, abs=0.01)
    assert watts / 0.5 < 1 < watts / 0.2 < 2.1  # efficiency of small fans and motors: 0.2 to 0.5
    torque = watts / (1200 * TURN)
    asked = Asked("stirrer", tmp_path, way={"magnets": "brushless motor with driver"})
    assert asked.need("torque for hours", "magnets.motor") == pytest.approx((1.25 * torque,) * 2, rel=1e-3)
    assert asked.need("speed", "magnets.motor") == pytest.approx((1200 * TURN,) * 2, rel=1e-4)


def test_stirrer_by_motor_and_switch(tmp_path: Path) -> None:
    """A hub on a small motor has no gear to lose in: half more than the bar takes."""
    asked = Asked("stirrer", tmp_path, way={"magnets": "DC motor and switch"})
    torque = 0.5 * 1000 * 20**3 * 0.040**5 / (1200 * TURN)
    least, most = asked.need("torque at speed", "magnets.motor")
    assert least == pytest.approx(1.5 * torque, rel=0.02)
    assert most == pytest.approx(1.5 * torque, rel=0.02)


def test_light_box(tmp_path: Path) -> None:
    """10 to 20 W on 12 to 24 V are 1 to 2 A (the trade, at the lower voltage), loaded to 80 %."""
    assert 10 / 12 < 1 < 20 / 12 < 2
    asked = Asked("light-box", tmp_path, way={"light": "LED strip"})
    assert asked.need("power of the light", "light.strip") == (12, 12)
    watts, _ = asked.rating("light.strip", "rated_power")
    volts, _ = asked.rating("power.supply", "voltage.low")
    board, _ = asked.rating("timer.board", "supply_current")
    assert watts >= 12
    least, most = asked.need("current of the rail", "power.supply")
    assert least <= (watts / volts + board) / FULL <= most * 1.001


def test_light_box_with_a_bare_bar(tmp_path: Path) -> None:
    """A resistor holds the current of a bare string: the rail is a tenth above its voltage, or more."""
    asked = Asked("light-box", tmp_path, way={"light": "LED bar and resistor"}, settings={"watts": "10 W"})
    string, _ = asked.rating("light.bar", "forward_voltage")
    assert asked.need("voltage of the string", "light.bar") == pytest.approx((1.1 * string,) * 2)
    assert asked.rating("power.supply", "voltage.low")[0] >= 1.1 * string


def test_fume_extractor(tmp_path: Path) -> None:
    """50 to 100 m3/h through carbon by two fans of 120 mm (the trade), one behind the other: pressures add,
    and the curve is taken as a line that true ones leave by -30 to +10 % (common practice, no source)."""
    asked = Asked("fume-extractor", tmp_path, way={"fan": "two fans in a row"})
    (free, _), (closed, _) = (asked.rating("fan.fan", n) for n in ("flow", "pressure"))
    (found,) = (c.judgement for c in asked.build.checks if c.check.name == "flow")
    line = free * 3600 * (1 - 30 / (2 * closed))
    assert float(found.have.lo) * 3600 == pytest.approx(0.7 * line, rel=1e-3)
    assert float(found.have.hi) * 3600 == pytest.approx(1.1 * line, rel=1e-3)
    assert 50 <= float(found.need.lo) * 3600 <= 100


def test_fume_extractor_by_one_blower(tmp_path: Path) -> None:
    """A blower of 150 Pa and 110 m3/h (the trade) moves 50 m3/h alone, even where its label is a tenth too
    high and the rail low: flow goes with the speed, pressure with its square (fan laws, any handbook)."""
    blower = lot(
        "blower",
        "fan",
        voltage="24 V, datasheet",
        current="0.5 A, datasheet",
        flow="110 m3/h, datasheet",
        pressure="150 Pa, datasheet",
        start_voltage="10 V, datasheet",
        rated_speed="3000 rpm, datasheet",
    )
    asked = Asked(
        "fume-extractor",
        tmp_path,
        way={"fan": "one fan"},
        settings={"flow": "50 m3/h"},
        lots=[blower],
        fixed={"fan.fan": "blower"},
    )
    (found,) = (c.judgement for c in asked.build.checks if c.check.name == "flow")
    speed = asked.rating("power.supply", "voltage.low")[0] / asked.rating("fan.fan", "voltage")[1]
    worst = 0.9 * 110 * speed * (1 - 30 / (0.9 * 150 * speed**2)) * 0.7
    assert float(found.have.lo) * 3600 == pytest.approx(worst, rel=1e-3)
    assert 50 <= worst <= 100
