"""What the first four recipes need, worked out by hand beside the tool's figures.

Each calculation is plain arithmetic on the recipe's defaults and on the parts that were placed; it uses
nothing of the program. The set is bought in sizes that shops carry, so that every rating is one figure.
"""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest
from asking import Asked

G = 9.81


def test_camera_slider_by_belt(tmp_path: Path) -> None:
    """1.9 kg at 0.3 m/s2 on ball bushes, pulley radius z p / 2 pi, belts 0.85 to 0.95 (Oriental Motor, load
    torque of belts), twice over for a stepper (common practice, no source)."""
    asked = Asked(
        "camera-slider", tmp_path, way={"slide": "stepper and belt", "rail": "rods and linear bearings"}
    )
    (teeth, _), (pitch, _) = (asked.rating("slide.pulley", n) for n in ("teeth", "belt_pitch"))
    friction, _ = asked.rating("rail.bushes", "friction")
    inertia, _ = asked.rating("slide.motor", "rotor_inertia")
    force = 1.9 * (0.3 + friction * G)
    radius = teeth * pitch / (2 * pi)
    least, most = (2 * (force * radius / eta + inertia * 0.3 / radius) for eta in (0.95, 0.85))
    assert asked.need("torque at speed", "slide.motor") == pytest.approx((least, most), rel=0.02)
    assert asked.need("travel of the rods", "rail.rods") == (0.6, 0.6)


def test_camera_slider_upright_needs_what_the_trade_says(tmp_path: Path) -> None:
    """1.5 kg with its carriage upright: near 36 N with a factor of two (trade notes of the same project,
    common practice, no source): 1.9 kg x 9.81 m/s2 x 2 = 37 N, and acceleration."""
    asked = Asked(
        "camera-slider",
        tmp_path,
        way={"slide": "stepper and belt", "rail": "rods and linear bearings"},
        settings={"incline": "90 deg"},
    )
    _, pull = asked.need("pull on the belt", "slide.belt")
    assert pull == pytest.approx(1.9 * (G + 0.3), rel=0.02)


def test_pen_plotter_by_belt(tmp_path: Path) -> None:
    """The carriage of 0.25 kg at 1 m/s2 with 1 N of pen, on ball bushes."""
    way = {"x": "stepper and belt", "x_guide": "rods and linear bearings"}
    asked = Asked("pen-plotter", tmp_path, way=way)
    (teeth, _), (pitch, _) = (asked.rating("x.pulley", n) for n in ("teeth", "belt_pitch"))
    friction, _ = asked.rating("x_guide.bushes", "friction")
    inertia, _ = asked.rating("x.motor", "rotor_inertia")
    force = 0.25 * (1.0 + friction * G) + 1.0
    radius = teeth * pitch / (2 * pi)
    least, most = (2 * (force * radius / eta + inertia * 1.0 / radius) for eta in (0.95, 0.85))
    assert asked.need("torque at speed", "x.motor") == pytest.approx((least, most), rel=0.02)


def test_drawer_rails(tmp_path: Path) -> None:
    """What is asked is what the slides must give: nothing is worked out."""
    asked = Asked("drawer-rails", tmp_path)
    assert asked.need("travel of the slides", "rails.slides") == (0.35, 0.35)
    assert asked.need("load of the slides", "rails.slides") == (10.0, 10.0)


def test_lab_supply_heat(tmp_path: Path) -> None:
    """At 1.25 V and 1.5 A the pass transistor takes all else of the 24 V input; its junction rises by that
    heat times the resistances to the sink and the air, from 35 C (heat flow like a current, any handbook)."""
    asked = Asked("lab-supply", tmp_path, way={"output": "switch-mode, regulator and pass transistor"})
    watts = (24 - 1.25) * 1.5
    case, _ = asked.rating("output.pass", "thermal_resistance_jc")
    sink_least, sink_most = asked.rating("output.sink", "thermal_resistance")
    least, most = asked.need("junction temperature", "output.pass")
    assert watts * (case + sink_least) <= least + 1e-9
    assert most == pytest.approx(
        watts * (case + sink_most + 0.85), rel=0.2
    )  # mica and grease: 0.2 to 1.5 K/W
    assert asked.need("headroom at low mains", "output.regulator")[0] == pytest.approx(
        15 + 2.5 + 1.0, abs=1.5
    )
