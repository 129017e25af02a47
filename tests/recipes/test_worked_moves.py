"""What recipes that move something need, worked out by hand beside the tool's figures.

Each calculation is plain arithmetic on the recipe's defaults and on the parts that were placed; it uses
nothing of the program. Twice over for a stepper and 1.5 times for a gearmotor (common practice, no source);
belts and spools lose 5 to 20 % (Oriental Motor gives 0.85 to 0.95 for belts; spools from common practice).
Figures "of the trade" are rules of thumb for the same project (common practice, no source).
"""

from __future__ import annotations

from math import asin, cos, hypot, pi, tan
from pathlib import Path

import pytest
from asking import Asked

G = 9.81
BALL = "rods and linear bearings"


def test_roller_blind(tmp_path: Path) -> None:
    """1.2 kg on a radius of 20 mm: 0.24 N m standing still, 0.45 with losses and a half more (the trade's
    figures); 1.5 m in 40 s round that radius are 18 turns a minute (the trade: 18 to 20)."""
    asked = Asked("roller-blind", tmp_path, way={"tube": "gearmotor direct"})
    torque = 1.2 * G * 0.020
    assert torque == pytest.approx(0.24, abs=0.005)
    assert asked.need("torque at speed", "tube.motor") == pytest.approx((torque / 0.78 * 1.5,) * 2, rel=1e-3)
    assert torque / 0.78 * 1.5 == pytest.approx(0.45, abs=0.005)
    turns = 1.5 / 40 / 0.020 / (2 * pi) * 60
    assert 17.5 < turns < 20
    assert asked.build.parts["tube.motor"].rating("output_speed").lo * 30 / pi > turns


def test_curtain_puller(tmp_path: Path) -> None:
    """15 N of drag and 3 kg at 0.2 m/s2 on the pulley's radius; 0.25 to 0.4 N m at r 10 mm is the trade's
    figure for 15 to 25 N with 1.5 over it."""
    asked = Asked("curtain-puller", tmp_path, way={"pull": "gearmotor and belt"})
    (teeth, _), (pitch, _) = (asked.rating("pull.pulley", n) for n in ("teeth", "belt_pitch"))
    force, radius = 15 + 3 * 0.2, teeth * pitch / (2 * pi)
    least, most = asked.need("torque at speed", "pull.motor")
    assert least >= 1.5 * force * radius
    assert most <= 1.5 * force * radius / 0.85 * 1.3  # the rest speeds up the rotor behind its gears
    assert asked.need("pull on the belt", "pull.belt") == pytest.approx((force, force))
    assert 0.2 < 1.5 * force * 0.010 / 0.9 < 0.4


def test_coop_door(tmp_path: Path) -> None:
    """2 kg upright, 8 N of dirt, up to 5 N for each of the slides: near 39 N with a half more (the trade)."""
    asked = Asked("coop-door", tmp_path, way={"lift": "gearmotor and spool", "tracks": "slides"})
    drag, friction = asked.rating("tracks.slides", "drag"), asked.rating("tracks.slides", "friction")
    radius, _ = (d / 2 for d in asked.rating("lift.spool", "diameter"))
    force = 2 * (G + 0.05) + 8
    least, most = asked.need("torque at speed", "lift.motor")
    assert least == pytest.approx(1.5 * (force + drag[0]) * radius / 0.95, rel=0.03)
    assert most == pytest.approx(1.5 * (force + drag[1]) * radius / 0.80, rel=0.03)
    assert friction[0] >= 0
    assert 1.5 * force == pytest.approx(39, abs=4)


def test_coop_door_on_a_battery(tmp_path: Path) -> None:
    """60 moves of 20 s are a third of an hour: what is drawn then, over that time, is the charge needed."""
    battery = {
        "id": "bat",
        "kind": "battery pack",
        "chemistry": "lead-acid",
        "cells": "6",
        "voltage": "11.5..13.5 V, measured",
        "capacity": "4 A h, measured",
        "continuous_current": "4 A, datasheet",
    }
    asked = Asked("coop-door", tmp_path, lots=[battery], fixed={"power.supply": "bat"})
    _, amps = asked.need("current of the rail", "power.supply")  # with a quarter to spare at most
    _, charge = asked.need("running time of the battery", "power.supply")
    assert amps / 1.25 * 60 * 20 <= charge <= amps * 60 * 20
    assert charge < 4 * 3600 * 0.5  # well below what the battery holds


def test_turntable_by_belt(tmp_path: Path) -> None:
    """5 kg on a rim of 150 mm at 0.03: 0.22 N m (the trade: 0.2 to 0.3); a disc has half m r2."""
    asked = Asked("turntable", tmp_path, way={"plate": "stepper and belt reduction"})
    ratio = asked.rating("plate.wheel", "teeth")[0] / asked.rating("plate.pulley", "teeth")[0]
    inertia, _ = asked.rating("plate.motor", "rotor_inertia")
    friction = 5 * G * 0.03 * 0.15
    assert 0.2 < friction < 0.3
    torque = friction + 0.5 * 5 * 0.15**2 * 0.5
    least, most = (2 * (torque / ratio / eta + inertia * 0.5 * ratio) for eta in (0.95, 0.85))
    assert asked.need("torque at speed", "plate.motor") == pytest.approx((least, most), rel=0.01)


def test_pan_tilt_by_worm(tmp_path: Path) -> None:
    """1.5 kg on 80 mm: 1.2 N m (the trade), through a worm whose efficiency is tan a / tan(a + r), any
    textbook's screw with the friction of a tooth inclined by 20 degrees, from 0.06 to 0.1."""
    asked = Asked("pan-tilt", tmp_path, way={"tilt": "stepper and worm", "pan": "stepper and worm"})
    weight = 1.5 * G * 0.080
    assert weight == pytest.approx(1.18, abs=0.01)
    torque = weight + 1.5 * hypot(0.1, 0.08) ** 2 * 1.0
    angle, _ = asked.rating("tilt.worm", "lead_angle")
    (least_mu, most_mu), (ratio, _) = (
        asked.rating("tilt.worm", "friction"),
        asked.rating("tilt.worm", "ratio"),
    )
    inertia, _ = asked.rating("tilt.motor", "rotor_inertia")

    def needed(mu: float) -> float:
        flank = mu / cos(20 * pi / 180)
        return 2 * (
            torque / ratio / (tan(angle) / tan(angle + asin(flank / hypot(1, flank)))) + inertia * ratio
        )

    least, most = asked.need("torque at speed", "tilt.motor")
    assert needed(least_mu) * 0.98 <= least <= most <= needed(most_mu) * 1.02


def test_lift_table(tmp_path: Path) -> None:
    """10 kg by a trapezoidal screw of 2 mm lead: 0.18 N m twice over at 300 turns a minute (the trade)."""
    asked = Asked("lift-table", tmp_path, way={"lift": "stepper and screw", "guide": BALL})
    least, most = asked.need("torque at speed", "lift.motor")
    lead, _ = asked.rating("lift.screw", "lead")
    assert least <= 0.18 <= most
    assert 0.010 / lead * 60 == pytest.approx(300)
    push, _ = asked.need("buckling of the screw", "lift.screw")
    assert push == pytest.approx(2 * 10 * G, rel=0.02)


def test_sun_tracker(tmp_path: Path) -> None:
    """10 m/s on 0.36 m2: 60 Pa (half rho v squared) and 22 N, a fifth of the height off the middle, and the
    panel's own weight 50 mm off the axis; the trade expects 3 to 10 N m after the worm."""
    asked = Asked("sun-tracker", tmp_path, way=dict.fromkeys(("azimuth", "elevation"), "gearmotor direct"))
    wind = 0.5 * 1.2 * 10**2 * 0.6 * 0.6 * 0.2 * 0.6
    torque = wind + 5 * G * 0.050
    assert 3 < torque < 10
    least, most = asked.need("torque at speed", "elevation.motor")
    spins_up = 5 * 0.6**2 / 12 * 0.02
    assert 1.5 * torque <= least <= most <= 1.5 * (torque + spins_up) * 1.05


def test_wall_plotter(tmp_path: Path) -> None:
    """High in the middle each cord carries m g L / (2 h): the trade expects at most 4 N for 0.3 kg."""
    asked = Asked("wall-plotter", tmp_path, way=dict.fromkeys(("left", "right"), "stepper and spool"))
    pull = 0.3 * G * hypot(0.7, 0.35) / (2 * 0.35)
    assert pull < 4
    radius = asked.rating("left.spool", "diameter")[0] / 2
    inertia, _ = asked.rating("left.motor", "rotor_inertia")
    force = pull + 0.3 * 0.3
    least, most = (2 * (force * radius / eta + inertia * 0.3 / radius) for eta in (0.95, 0.80))
    assert asked.need("torque at speed", "left.motor") == pytest.approx((least, most), rel=0.02)


def test_focus_rail(tmp_path: Path) -> None:
    """A hundredth of a millimetre from 2 mm of lead takes a full step of 1.8 degrees and no microstep."""
    asked = Asked("focus-rail", tmp_path, way={"rail": "stepper and screw", "guide": BALL})
    lead, _ = asked.rating("rail.screw", "lead")
    assert asked.need("resolution", "rail.motor") == (1e-5, 1e-5)
    assert lead / 200 <= 1e-5
    friction, _ = asked.rating("guide.bushes", "friction")
    push, _ = asked.need("buckling of the screw", "rail.screw")
    assert push == pytest.approx(2 * 1.8 * (0.05 + friction * G), rel=0.02)


def test_motor_drawer(tmp_path: Path) -> None:
    """8 kg on slides: near 14 N twice over (the trade); at most 60 N may pinch, which the belt's pull is far
    below."""
    asked = Asked("motor-drawer", tmp_path, way={"pull": "gearmotor and belt"})
    friction, drag = asked.rating("rails.slides", "friction"), asked.rating("rails.slides", "drag")
    least, most = asked.need("pull on the belt", "pull.belt")
    assert least == pytest.approx(8 * (0.2 + friction[0] * G) + drag[0], rel=0.01)
    assert most == pytest.approx(8 * (0.2 + friction[1] * G) + drag[1], rel=0.01)
    assert 2 * most == pytest.approx(14, abs=2)
    assert most < 60


def test_mini_plotter(tmp_path: Path) -> None:
    """50 g at 0.5 m/s2 with next to no friction: the trade's 0.3 N is an upper bound."""
    asked = Asked("mini-plotter", tmp_path, way={"x": "stepper and screw", "x_guide": BALL})
    friction, _ = asked.rating("x_guide.bushes", "friction")
    push, _ = asked.need("buckling of the screw", "x.screw")
    assert push == pytest.approx(2 * 0.05 * (0.5 + friction * G), rel=0.02)
    assert push < 0.3


def test_bell_set(tmp_path: Path) -> None:
    """3 N with a half more; two coils of 12 V at once are twice the current of one."""
    asked = Asked("bell-set", tmp_path, way={"bells": "solenoid"})
    assert asked.need("push force", "bells.solenoid") == pytest.approx((4.5, 4.5))
    ohms, volts = asked.rating("bells.solenoid", "resistance"), asked.rating("power.supply", "voltage.high")
    _, amps = asked.need("current of the rail", "power.supply")
    assert amps >= 2 * volts[0] / ohms[1]
