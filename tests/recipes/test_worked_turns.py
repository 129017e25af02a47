"""What recipes that turn, press or cut need, worked out by hand beside the tool's figures.

Each calculation is plain arithmetic on the recipe's defaults and on the parts that were placed; it uses
nothing of the program. Twice over for a stepper and 1.5 times for a gearmotor (common practice, no source).
Figures "of the trade" are rules of thumb for the same project (common practice, no source).
"""

from __future__ import annotations

from math import atan, cos, pi, radians, sin, sqrt, tan
from pathlib import Path

import pytest
from asking import Asked

G = 9.81
RPM = 2 * pi / 60
BALL = "rods and linear bearings"


def by_screw(force: float, diameter: float, lead: float, friction: float, half_flank: float) -> float:
    """Torque of a screw with one start: any textbook's inclined plane on the mean diameter."""
    mean = diameter - lead / 2
    rise = atan(lead / pi / mean)
    return force * mean / 2 * tan(rise + atan(friction / cos(half_flank)))


TRAPEZOIDAL, METRIC = radians(15), radians(30)


def test_star_tracker(tmp_path: Path) -> None:
    """One turn a minute of 1 mm on 228.6 mm, one and a quarter on 285.7 mm (the trade; in any account of
    such a tracker): the sky turns 360 degrees in 23 h 56 min 4 s. Below 0.05 N m (the trade)."""
    rod = {
        "id": "m6",
        "kind": "lead screw",
        "diameter": "6 mm, measured",
        "lead": "1 mm, measured",
        "length": "300 mm, measured",
        "starts": "1",
        "thread": "metric",
        "nut": "yes",
        "friction": "0.15..0.25, datasheet",
    }
    asked = Asked("star-tracker", tmp_path, lots=[rod], fixed={"boards.rod": "m6"})
    sky = 2 * pi / (23 * 3600 + 56 * 60 + 4)
    assert 0.001 / 60 / sky == pytest.approx(0.2286, abs=1e-4)
    assert 1.25 * 0.001 / 60 / sky == pytest.approx(0.2857, abs=2e-4)
    least, most = asked.need("torque at speed", "boards.motor")
    low, high = (2 * by_screw(2 * G, 0.006, 0.001, mu, METRIC) for mu in (0.15, 0.25))
    assert low * 0.75 < least < low  # the tool does not know how deep and how steep the flanks are
    assert high < most < high * 1.15
    assert most < 0.05
    wobble = 0.01 * 0.001 / 0.2286 + 1e-3 * sky * 120  # 1 % of a turn's lead, and 0.1 mm in 100 mm
    assert asked.have("drift during a picture", "boards.rod")[1] == pytest.approx(wobble, rel=0.01)
    assert wobble < radians(30 / 3600)


def test_a_steady_star_tracker_runs_ahead(tmp_path: Path) -> None:
    """The tangent of 6 degrees against that of 5.5: after some 25 minutes the straight rod is 30 arcseconds
    ahead in two minutes, and an hour is out of the question without a controller that slows down."""
    sky = radians(15.041) / 3600
    asked = Asked("star-tracker", tmp_path, way={"boards": "steady rate"}, settings={"session": "1200 s"})

    def ahead(end: float) -> float:
        return tan(sky * end) - tan(sky * (end - 120)) - sky * 120

    least, most = asked.have("drift during a picture", "boards.rod")
    assert least < ahead(1200) + 1e-3 * sky * 120 + 0.01 * 0.008 / 0.2286
    assert most > ahead(1200)
    assert ahead(1500) < radians(30 / 3600) < ahead(2400) < ahead(3600)


def test_pcb_drill(tmp_path: Path) -> None:
    """25 N of cutting, 3 kg on plain bushes at 0.5 m/s2, twice over: near 67 N (the trade); by a
    trapezoidal screw of 2 mm near 0.06 N m at 300 turns a minute, by a belt of 20 teeth 0.43 N m: no."""
    asked = Asked("pcb-drill", tmp_path, way={"y_guide": "rods and bushings"})
    pushes = [2 * (25 + 3 * (0.5 + mu * G)) for mu in (0.1, 0.15, 0.2, 0.25)]
    assert pushes[0] < 67 < pushes[-1]
    friction, (lead, _) = asked.rating("y_guide.bushes", "friction"), asked.rating("y.screw", "lead")
    push, _ = asked.need("buckling of the screw", "y.screw")
    inertia, _ = asked.rating("y.motor", "rotor_inertia")
    assert push == pytest.approx(2 * (25 + 3 * (0.5 + friction[0] * G)), rel=0.01)
    spins_up = 2 * inertia * 0.5 / lead * 2 * pi
    torque = by_screw(push, 0.008, 0.002, 0.15, TRAPEZOIDAL)
    assert torque == pytest.approx(0.06, abs=0.01)
    least, most = asked.need("torque at speed", "y.motor")
    assert least < torque + spins_up < most
    assert 0.010 / lead * 60 == pytest.approx(300)
    assert 67 * 20 * 0.002 / (2 * pi) == pytest.approx(0.43, abs=0.01)


def test_spindle_of_the_pcb_drill(tmp_path: Path) -> None:
    """0.08 N m at 6000 turns a minute are 50 W, at the lower end of the trade's 50 to 100 W."""
    asked = Asked("pcb-drill", tmp_path, way={"spindle": "brushless motor with driver"})
    watts = 0.08 * 6000 * RPM
    assert watts == pytest.approx(50, abs=1)
    speed, _ = asked.need("speed", "spindle.motor")
    assert speed == pytest.approx(6000 * RPM)
    assert asked.need("torque for hours", "spindle.motor")[0] == pytest.approx(0.08 * 1.25)


def test_coil_winder(tmp_path: Path) -> None:
    """5 N on a bobbin of 20 mm radius: 0.1 N m (the trade: 0.05 to 0.1); 0.6 mm a turn at 300 turns a minute
    are 3 mm/s, so that a screw of 1 or 2 mm turns 180 or 90 times a minute."""
    way = {"spindle": "stepper", "traverse": "stepper and screw"}
    asked = Asked("coil-winder", tmp_path, way=way)
    inertia, _ = asked.rating("spindle.motor", "rotor_inertia")
    spins_up = (0.3 * 0.020**2 + inertia) * 10
    least, _ = asked.need("torque at speed", "spindle.motor")
    assert least == pytest.approx(2 * (5 * 0.020 + spins_up), rel=0.01)
    sideways = 0.0006 * 300 / 60
    assert sideways == pytest.approx(0.003)
    (lead, _), (step, _) = (
        asked.rating("traverse.screw", "lead"),
        asked.rating("traverse.motor", "step_angle"),
    )
    assert lead * step / (2 * pi) < 0.02e-3  # even in full steps


def test_tumbler(tmp_path: Path) -> None:
    """A drum of 100 mm holds all at its wall at sqrt(g / r): 134 turns a minute; 50 to 65 (the trade) are
    0.37 to 0.48 of that. A roller of 16 mm turns 310 to 400 times, with 0.02 to 0.05 N m; 1 to 3 W."""
    roller = {
        "id": "rub",
        "kind": "roller",
        "diameter": "16 mm, measured",
        "length": "225 mm, measured",
        "bore": "6 mm, measured",
    }
    way = {"drum": "gearmotor and roller"}
    asked = Asked("tumbler", tmp_path, way=way, lots=[roller], fixed={"drum.roller": "rub"})
    critical = sqrt(G / 0.050) / RPM
    assert critical == pytest.approx(134, abs=0.5)
    turns = 0.45 * critical
    assert 50 < turns < 65
    assert 310 < turns * 100 / 16 < 400
    # the charge lies on a slope of 45 degrees, its centre at 4/(3 pi) of the radius (half a disc)
    pull = 1.5 * G * 4 / (3 * pi) * sin(pi / 4)
    least, most = asked.need("torque at speed", "drum.motor")
    assert least / 1.5 <= pull * 0.008 / 0.90 <= most / 1.5 * 1.05
    assert 0.02 < pull * 0.008 < 0.05
    assert 1 < pull * 0.050 * turns * RPM < 3


def test_tray_rocker(tmp_path: Path) -> None:
    """1 kg on a crank of 15 mm, that is 8 degrees on 110 mm: 0.15 N m (the trade), a half more of which the
    rod's slant and the tray's own mass add little at 30 turns a minute."""
    asked = Asked("tray-rocker", tmp_path, way={"rocker": "gearmotor and crank"})
    crank = 0.110 * sin(radians(8))
    assert crank == pytest.approx(0.015, abs=0.0005)
    torque = 1 * G * crank
    assert torque == pytest.approx(0.15, abs=0.005)
    swings = 1 * crank * (30 * RPM) ** 2 * (1 + crank / 0.150)
    least, most = asked.need("torque at speed", "rocker.motor")
    assert 1.5 * torque <= least <= most <= 1.5 * (1 * G + swings) * crank * (1 + crank / 0.150)


def test_syringe_pump(tmp_path: Path) -> None:
    """80 N by a trapezoidal screw of 2 mm: 0.07 N m (the trade), twice over; 60 ml in 26.6 mm are 108 mm, and
    0.01 ml 18 micrometres."""
    asked = Asked("syringe-pump", tmp_path, way={"guide": BALL})
    torque = by_screw(80, 0.008, 0.002, 0.15, TRAPEZOIDAL)
    assert torque == pytest.approx(0.07, abs=0.005)
    least, most = asked.need("torque at speed", "plunger.motor")
    assert least * 0.99 <= 2 * torque <= most
    area = pi / 4 * 0.0266**2
    assert 60e-6 / area == pytest.approx(0.108, abs=0.001)
    assert asked.need("resolution", "plunger.motor")[0] == pytest.approx(0.01e-6 / area)
    assert 0.01e-6 / area == pytest.approx(18e-6, abs=0.1e-6)


def test_rover(tmp_path: Path) -> None:
    """3 kg at 10 degrees on two wheels of 40 mm radius: 0.13 N m a wheel and 120 turns a minute (the trade);
    rolling takes 0.03 of the weight, starting 0.3 m/s2."""
    wheels = {
        "id": "whl",
        "kind": "wheel",
        "count": 2,
        "diameter": "80 mm, measured",
        "bore": "6 mm, measured",
        "load": "5 kg, datasheet",
    }
    way = {"wheels": "gearmotors and wheels"}
    asked = Asked("rover", tmp_path, way=way, lots=[wheels], fixed={"wheels.wheels": "whl"})
    climbing = 1.5 * G * (sin(radians(10)) + 0.03) * 0.040
    starting = climbing + 1.5 * 0.3 * 0.040
    assert climbing < 0.13 < starting
    turns = 0.5 / 0.040 / RPM
    assert turns == pytest.approx(120, abs=1)
    least, most = asked.need("torque at speed", "wheels.motor")
    assert 1.5 * starting <= least <= most <= 1.5 * starting * 1.35  # the wheels' own losses, the rotor
    _, amps = asked.need("current of the rail", "power.supply")
    _, charge = asked.need("running time of the battery", "power.supply")
    assert amps / 1.25 * 1200 == pytest.approx(charge, rel=0.3)


def test_hand_generator_of_a_dc_motor(tmp_path: Path) -> None:
    """Ke w less two diodes, into the voltage that takes most out of it: V (E - V - 2 Vd) / R with V at half
    of E - 2 Vd; 1 W asked, and a converter loses 5 to 15 % (common practice, no source)."""
    asked = Asked("hand-generator", tmp_path, way={"generator": "DC motor and bridge"})
    names = ("torque_constant", "resistance")
    (constant, _), (ohms, _) = (asked.rating("generator.motor", n) for n in names)
    diodes = 2 * sum(asked.rating("generator.bridges", "diode_drop")) / 2
    spare = constant * 2400 * RPM - diodes
    assert asked.need("power of the generator", "generator.motor") == pytest.approx(
        (1 / 0.95, 1 / 0.85), rel=1e-3
    )
    _, most = asked.have("power of the generator", "generator.motor")
    assert 1 / 0.85 < most < spare**2 / 4 / ohms
    _, least_window = asked.have("voltage of the generator without load", "generator.converter")
    assert constant * 6000 * RPM < least_window


def test_hand_generator_of_a_stepper(tmp_path: Path) -> None:
    """The peak of a phase is T w / (sqrt 2 I): 12 V of 0.48 N m/A at 240 turns a minute. Two phases give no
    more than E times the current that flows when they are shorted; the trade expects 1 to 3 W."""
    asked = Asked("hand-generator", tmp_path, way={"generator": "stepper and two bridges"})
    names = ("holding_torque", "rated_current", "inductance", "resistance")
    torque, amps, henry, ohms = (asked.rating("generator.motor", n)[0] for n in names)
    speed = 240 * RPM
    peak = torque / sqrt(2) / amps * speed
    assert peak == pytest.approx(12, abs=0.5)
    reactance = 50 * speed * henry
    least, most = asked.have("power of the generator", "generator.motor")
    assert 1 / 0.85 < least <= most
    assert least < 3.5
    assert most < 2 * peak**2 / 2 / sqrt(ohms**2 + reactance**2)
