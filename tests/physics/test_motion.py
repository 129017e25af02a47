"""Axes in motion held against a worked example, numerical integration and kinematics."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law
from motion_facts import fact, rpm

from fitter.physics import gears, motion, screws, stepper

LAWS = [
    law(
        motion.axis_force,
        mass=(0, 50, "+"),
        acceleration=(0, 10, "+"),
        incline=(0, 1.1, "+"),
        friction=(0, 0.5, "+"),
        drag=(0, 20, "+"),
        process_force=(0, 50, "+"),
    ),
    law(motion.incline_of_greatest_force, friction=(0, 2, "-")),
    law(motion.sliding_force, mass=(0, 50, "+"), incline=(0, 1.57, "+"), friction=(0, 0.5, "-")),
    law(
        motion.holding_torque,
        mass=(0, 50, "+"),
        incline=(0, 1.57, "+"),
        friction=(0, 0.5, "-"),
        advance=(0, 0.1, "+"),
        back_efficiency=(0, 1, "+"),
    ),
    law(motion.torque_from_force, force=(0, 100, "+"), radius=(0, 0.1, "+"), efficiency=(0.1, 1, "-")),
    law(motion.acceleration_torque, inertia=(0, 1, "+"), angular_acceleration=(0, 100, "+")),
    law(motion.belt_reflected_inertia, mass=(0, 50, "+"), radius=(0, 0.1, "+")),
    law(motion.screw_reflected_inertia, mass=(0, 50, "+"), lead=(0, 0.02, "+")),
    law(motion.gear_reflected_inertia, inertia=(0, 1, "+"), ratio=(0.1, 100, "-")),
    law(motion.cylinder_inertia, diameter=(0, 0.1, "+"), length=(0, 1, "+"), density=(0, 8000, "+")),
    law(motion.disc_inertia, mass=(0, 50, "+"), diameter=(0, 0.5, "+")),
    law(motion.inertia_ratio, load_inertia=(0, 1, "+"), motor_inertia=(0.01, 1, "-")),
    law(motion.trapezoid_move, distance=(0, 2, "0"), speed=(0.01, 1, "0"), acceleration=(0.1, 10, "0")),
    law(motion.speed_for_time, distance=(0, 1, "+"), time=(3, 10, "-"), acceleration=(0.5, 10, "-")),
]
MOVE = st.tuples(st.floats(0.001, 2), st.floats(0.01, 1), st.floats(0.1, 10))


@pytest.mark.parametrize("one", LAWS, ids=str)
@FEW
@given(data=st.data())
def test_arrays_give_what_numbers_give(one: Law, data: st.DataObject) -> None:
    check_vector_equals_scalar(one, data)


@pytest.mark.parametrize("one", LAWS, ids=str)
@FEW
@given(data=st.data())
def test_each_argument_pulls_its_way(one: Law, data: st.DataObject) -> None:
    check_monotone(one, data)


def test_ball_screw_table_force_and_load_torque() -> None:
    known = fact("AX-01")
    i, out = known.inputs, known.outputs
    force = motion.axis_force(i["m_kg"], 0.0, 0.0, i["mu"])
    assert force == known.near(out["F_N"])
    preload = screws.torque_from_efficiency(i["mu0"] * force / 3, i["PB_m"], 1.0)
    load = screws.torque_from_efficiency(force, i["PB_m"], i["eta"]) + preload
    assert load == known.near(out["TL_Nm"])


def test_ball_screw_table_inertia_and_acceleration() -> None:
    known = fact("AX-01")
    i, out = known.inputs, known.outputs
    screw = motion.cylinder_inertia(i["DB_m"], i["LB_m"], i["rho"])
    table = motion.screw_reflected_inertia(i["m_kg"], i["PB_m"])
    assert screw == known.near(out["JB"])
    assert table == known.near(out["JT"])
    assert screw + table == known.near(out["JL_kgm2"])
    step = math.radians(out["theta_deg"])
    speed = stepper.pulse_speed(out["f2_Hz"], step)
    assert rpm(speed) == known.near(out["N_rpm"])
    ramp = speed / i["t1_s"]
    assert motion.acceleration_torque(1.0, ramp) == known.near(out["Ta"]["per_J0"])
    extra = motion.acceleration_torque(screw + table, ramp)
    assert extra == known.near(out["Ta"]["constant_Nm"])
    total = i["safety"] * (out["TL_Nm"] + extra)
    assert total == known.near(out["T"]["constant_Nm"])


def test_ball_screw_table_timing() -> None:
    known = fact("AX-01")
    i, out = known.inputs, known.outputs
    speed = stepper.pulse_speed(out["f2_Hz"], math.radians(out["theta_deg"]))
    turns = i["stroke_mm"] * 1e-3 / i["PB_m"]
    move = motion.trapezoid_move(turns * 2 * math.pi, speed, speed / i["t1_s"])
    assert move.total_time == known.near(i["t0_s"])
    assert move.ramp_time == known.near(i["t1_s"])
    needed = motion.speed_for_time(turns * 2 * math.pi, i["t0_s"], speed / i["t1_s"])
    assert needed == known.near(speed)


def test_constants_of_the_load_formulas() -> None:
    known = fact("AX-03")
    assert known.near(known.outputs["g"]) == motion.GRAVITY
    for name in ("ball screw", "timing belt", "rack"):
        assert list(gears.EFFICIENCIES[name]) == known.near(known.outputs["eta"])


def test_screw_inertia_constants() -> None:
    known = fact("AX-04")
    out = known.outputs
    assert motion.cylinder_inertia(1.0, 1.0, known.inputs["rho_g_m3"]) == known.near(out["k_screw"])
    assert motion.screw_reflected_inertia(1.0, 1.0) == known.near(out["k_refl"])


def test_advised_inertia_ratio() -> None:
    known = fact("AX-05")
    assert list(motion.INERTIA_RATIO) == known.near(known.outputs["ratio"])


def test_friction_bands_lie_within_published_ones() -> None:
    out = fact("FR-01").outputs
    low, high = motion.FRICTION["steel on steel, dry"]
    assert (low, high) == (out["steel_steel_kinetic_dry"][0], out["steel_steel_static_dry"][1])
    assert list(motion.FRICTION["steel on steel, greased"]) == out["lust_steel_steel_greased_kinetic"]
    assert list(motion.FRICTION["steel on PTFE"]) == out["steel_PTFE"]
    assert list(motion.FRICTION["steel on nylon, dry"]) == out["steel_PA_dry"]
    greased = [out[f"{metal}_steel_greasy"] for metal in ("sintered_bronze", "bronze", "brass")]
    assert motion.FRICTION["bronze on steel, greased"] == (min(greased), max(greased))


@given(mass=st.floats(0.1, 50), friction=st.floats(0, 1))
@FEW
def test_incline_of_greatest_force(mass: float, friction: float) -> None:
    worst = motion.incline_of_greatest_force(friction)
    inclines = np.linspace(0, math.pi / 2, 2001)
    forces = motion.axis_force(mass, 0.0, inclines, friction)
    assert np.max(forces) <= motion.axis_force(mass, 0.0, worst, friction) * (1 + 1e-12)
    assert inclines[np.argmax(forces)] == pytest.approx(worst, abs=1e-3)


@pytest.mark.parametrize(
    ("incline", "force"),
    [(0.0, 6.3), (math.radians(30), 21.0), (math.radians(90), 36.0)],
)
def test_camera_slider_forces(incline: float, force: float) -> None:
    # own arithmetic of a trade list, safety factor 2: 1.5 kg, about 0.5 m/s^2, friction and drag of a slide
    found = 2 * motion.axis_force(1.5, 0.5, incline, 0.02, drag=2.0)
    assert found == pytest.approx(force, rel=0.1)


@given(mass=st.floats(0.1, 50), incline=st.floats(0, math.pi / 2), friction=st.floats(0, 1))
def test_a_load_slides_when_steeper_than_its_friction_angle(
    mass: float, incline: float, friction: float
) -> None:
    force = motion.sliding_force(mass, incline, friction)
    if abs(incline - math.atan(friction)) > 1e-9:
        assert (force > 0) == (incline > math.atan(friction))
    assert force <= motion.axis_force(mass, 0.0, incline, friction) + 1e-9


@given(mass=st.floats(0.1, 50), advance=st.floats(1e-4, 0.1), ratio=st.floats(0.1, 50))
def test_reflected_inertia_keeps_the_kinetic_energy(mass: float, advance: float, ratio: float) -> None:
    speed = 10.0  # rad/s of the pulley, of the screw, and before the gear
    belt = motion.belt_reflected_inertia(mass, advance)
    screw = motion.screw_reflected_inertia(mass, advance * 2 * math.pi)
    assert belt * speed**2 == pytest.approx(mass * (speed * advance) ** 2)
    assert screw == pytest.approx(belt)
    assert motion.gear_reflected_inertia(belt, ratio) * speed**2 == pytest.approx(belt * (speed / ratio) ** 2)


@given(diameter=st.floats(0.01, 0.5), length=st.floats(0.01, 1))
def test_disc_and_cylinder_agree(diameter: float, length: float) -> None:
    mass = 7850.0 * math.pi * diameter**2 / 4 * length
    assert motion.disc_inertia(mass, diameter) == pytest.approx(motion.cylinder_inertia(diameter, length))


@given(move=MOVE)
def test_trapezoid_covers_the_distance(move: tuple[float, float, float]) -> None:
    distance, speed, acceleration = move
    found = motion.trapezoid_move(*move)
    covered = found.peak_speed * (found.ramp_time + found.cruise_time)
    assert covered == pytest.approx(distance, rel=1e-9)
    assert found.peak_speed <= speed * (1 + 1e-12)
    assert found.ramp_time * acceleration == pytest.approx(found.peak_speed)
    assert found.cruise_time >= 0


@given(move=MOVE)
def test_speed_for_time_is_the_inverse(move: tuple[float, float, float]) -> None:
    found = motion.trapezoid_move(*move)
    if found.cruise_time > 1e-3 * found.total_time:  # a triangle needs no more than its own peak
        again = motion.speed_for_time(move[0], found.total_time, move[2])
        assert again == pytest.approx(found.peak_speed, rel=1e-6)


def test_no_speed_is_enough_for_a_weak_acceleration() -> None:
    assert motion.speed_for_time(1.0, 1.0, 1.0) == math.inf


def integrated_rms(distance: float, speed: float, acceleration: float, mass: float, pause: float) -> float:
    """RMS torque on a 10 mm pulley from the motion itself: speed sampled in time, torque from its slope."""
    integrate = pytest.importorskip("scipy.integrate")
    peak = min(speed, math.sqrt(distance * acceleration))
    ramp = peak / acceleration
    cruise = distance / peak - ramp
    corners = [0.0, ramp, ramp + cruise, 2 * ramp + cruise]

    def torque(time: float) -> float:
        if time > corners[3]:
            return 0.0
        slope = acceleration * ((time < corners[1]) - (time > corners[2]))
        return 0.01 * (mass * slope + 0.2 * mass * 9.80665)

    pieces = [*corners, corners[3] + pause]
    squares = [
        integrate.quad(lambda t: torque(t) ** 2, a, b, epsabs=0)[0]
        for a, b in itertools.pairwise(pieces)
        if b > a
    ]
    return math.sqrt(sum(squares) / pieces[-1])


@pytest.mark.parametrize(
    "case", [(0.3, 0.1, 1.0, 2.0, 1.0), (0.3, 10.0, 1.0, 2.0, 0.5), (0.05, 0.08, 3.0, 0.25, 0.0)]
)
def test_rms_torque_against_integration(case: tuple[float, float, float, float, float]) -> None:
    distance, speed, acceleration, mass, pause = case
    move = motion.trapezoid_move(distance, speed, acceleration)
    run = motion.torque_from_force(motion.axis_force(mass, 0.0, 0.0, 0.2), 0.01, 1.0)
    ramp = motion.acceleration_torque(motion.belt_reflected_inertia(mass, 0.01), acceleration / 0.01)
    found = motion.move_rms_torque(run, ramp, move, pause)
    assert found == pytest.approx(integrated_rms(*case), rel=1e-6)


@given(torques=st.lists(st.floats(-5, 5), min_size=1, max_size=6), time=st.floats(0.1, 5))
def test_rms_torque_lies_between_mean_and_greatest(torques: list[float], time: float) -> None:
    found = motion.rms_torque(torques, [time] * len(torques))
    assert abs(sum(torques)) / len(torques) - 1e-9 <= found <= max(abs(t) for t in torques) + 1e-9


def test_rms_torque_along_the_last_axis() -> None:
    torques = np.array([[0.4, 0.0], [0.2, 0.2]])
    found = motion.rms_torque(torques, [1.0, 3.0])
    assert list(found) == pytest.approx([0.2, 0.2])
    single = motion.rms_torque([0.4, 0.0], [1.0, 3.0])
    assert isinstance(single, float)


def test_move_rms_torque_of_many_moves_at_once() -> None:
    moves = motion.trapezoid_move(np.array([0.1, 0.3]), 0.1, 1.0)
    found = motion.move_rms_torque(0.1, np.array([0.05, 0.2]), moves, 0.5)
    for index, (distance, ramp) in enumerate([(0.1, 0.05), (0.3, 0.2)]):
        one = motion.move_rms_torque(0.1, ramp, motion.trapezoid_move(distance, 0.1, 1.0), 0.5)
        assert found[index] == pytest.approx(one)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: motion.axis_force(-1.0, 0.0, 0.0, 0.1), "mass"),
        (lambda: motion.sliding_force(1.0, 0.0, -0.1), "friction"),
        (lambda: motion.torque_from_force(1.0, 0.01, 0.0), "efficiency"),
        (lambda: motion.torque_from_force(1.0, 0.01, np.array([0.5, 1.2])), "efficiency"),
        (lambda: motion.holding_torque(1.0, 0.1, 0.1, -0.1), "advance"),
        (lambda: motion.trapezoid_move(1.0, 0.0, 1.0), "speed"),
        (lambda: motion.rms_torque([1.0], [-1.0]), "times"),
        (lambda: motion.rms_torque([1.0], [0.0]), "time"),
        (lambda: motion.inertia_ratio(1.0, 0.0), "motor inertia"),
    ],
)
def test_meaningless_input_is_refused(call: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
