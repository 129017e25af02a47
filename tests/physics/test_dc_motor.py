"""DC motors held against catalogue figures, power balances and inverse functions."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law
from motion_facts import fact, from_rpm, rpm

from fitter.physics import dc_motor
from fitter.physics.dc_motor_heat import CAN_LOSS, can_heat

KGF_MM = 9.80665e-3  # N m

VOLTAGE = {"voltage": (6.0, 48.0, "+")}
LAWS = [
    law(dc_motor.stall_current, **VOLTAGE, resistance=(0.1, 50, "-")),
    law(
        dc_motor.stall_torque,
        **VOLTAGE,
        resistance=(0.1, 5, "-"),
        torque_constant=(0, 1, "+"),
        no_load_current=(0, 1, "-"),
    ),
    law(
        dc_motor.no_load_speed,
        **VOLTAGE,
        resistance=(0, 5, "-"),
        torque_constant=(0.001, 1, "-"),
        no_load_current=(0, 1, "-"),
    ),
    law(
        dc_motor.torque_at_speed,
        speed=(0, 500, "-"),
        **VOLTAGE,
        resistance=(0.1, 50, "0"),
        torque_constant=(0, 1, "0"),
        no_load_current=(0, 1, "-"),
    ),
    law(
        dc_motor.speed_at_torque,
        torque=(0, 5, "-"),
        **VOLTAGE,
        resistance=(0, 50, "-"),
        torque_constant=(0.01, 1, "0"),
        no_load_current=(0, 1, "-"),
    ),
    law(
        dc_motor.current_at_torque,
        torque=(0, 5, "+"),
        torque_constant=(0.01, 1, "-"),
        no_load_current=(0, 1, "+"),
    ),
    law(
        dc_motor.current_at_speed,
        speed=(0, 500, "-"),
        **VOLTAGE,
        resistance=(0.1, 50, "0"),
        torque_constant=(0, 1, "-"),
    ),
    law(
        dc_motor.generator_voltage,
        speed=(0, 500, "+"),
        current=(0, 5, "-"),
        resistance=(0, 50, "-"),
        torque_constant=(0, 1, "+"),
    ),
    law(dc_motor.speed_torque_gradient, resistance=(0, 50, "+"), torque_constant=(0.01, 1, "-")),
    law(dc_motor.peak_power, stall_torque=(0, 5, "+"), no_load_speed=(0, 1000, "+")),
    law(
        dc_motor.efficiency_at_torque,  # loads below stall; beyond it the sign turns
        torque=(0, 0.05, "0"),
        voltage=(12, 48, "+"),
        resistance=(0, 1, "-"),
        torque_constant=(0.01, 1, "0"),
        no_load_current=(0.01, 1, "-"),
    ),
    law(dc_motor.peak_efficiency, **VOLTAGE, resistance=(0, 5, "-"), no_load_current=(0, 1, "-")),
    law(
        dc_motor.current_at_peak_efficiency,
        **VOLTAGE,
        resistance=(0.1, 5, "-"),
        no_load_current=(0, 1, "+"),
    ),
    law(
        dc_motor.torque_constant_from_no_load,
        **VOLTAGE,
        no_load_speed=(10, 1000, "-"),
        resistance=(0, 5, "-"),
        no_load_current=(0, 1, "-"),
    ),
    law(dc_motor.torque_constant_from_speed_constant, speed_constant=(1, 500, "-")),
    law(dc_motor.continuous_current, loss=(0, 30, "+"), resistance=(0.1, 50, "-")),
    law(dc_motor.intermittent_current, continuous_current=(0, 5, "+"), duty=(0.01, 1, "-")),
    law(
        dc_motor.mechanical_time_constant,
        resistance=(0, 50, "+"),
        inertia=(0, 1e-3, "+"),
        torque_constant=(0.01, 1, "-"),
    ),
]


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


def test_catalogue_motor_12_volt() -> None:
    known = fact("DC-01")
    i, out = known.inputs, known.outputs
    volts, ohms, constant, free = i["V"], i["R_ohm"], i["kM_mNm_A"] * 1e-3, i["I0_mA"] * 1e-3
    rated = i["M_nom_mNm"] * 1e-3
    assert rpm(dc_motor.no_load_speed(volts, ohms, constant, free)) == known.near(out["n0_rpm"])
    assert dc_motor.stall_current(volts, ohms) == known.near(out["I_stall_A"])
    assert dc_motor.stall_torque(volts, ohms, constant, 0.0) * 1e3 == known.near(out["M_stall_mNm"])
    assert 100 * dc_motor.peak_efficiency(volts, ohms, free) == known.near(out["eta_max_pct"])
    gradient = rpm(dc_motor.speed_torque_gradient(ohms, constant)) * 1e-3
    assert gradient == known.near(out["gradient_rpm_mNm"])
    assert rpm(dc_motor.speed_at_torque(rated, volts, ohms, constant, free)) == known.near(out["n_nom_rpm"])
    assert dc_motor.current_at_torque(rated, constant, free) == known.near(out["I_nom_A"])


def test_catalogue_motor_24_volt() -> None:
    known = fact("DC-03")
    i, out = known.inputs, known.outputs
    volts, ohms, constant, free = i["V"], i["R_ohm"], i["kM_mNm_A"] * 1e-3, i["I0_mA"] * 1e-3
    assert dc_motor.stall_current(volts, ohms) == known.near(out["I_stall_A"])
    assert dc_motor.stall_torque(volts, ohms, constant, 0.0) * 1e3 == known.near(out["M_stall_mNm"])
    assert 100 * dc_motor.peak_efficiency(volts, ohms, free) == known.near(out["eta_max_pct"])
    gradient = rpm(dc_motor.speed_torque_gradient(ohms, constant)) * 1e-3
    assert gradient == known.near(out["gradient_rpm_mNm"])
    assert dc_motor.current_at_torque(i["M_nom_mNm"] * 1e-3, constant, free) == known.near(out["I_nom_A"])
    tau = dc_motor.mechanical_time_constant(ohms, i["J_gcm2"] * 1e-7, constant)
    assert tau * 1e3 == known.near(out["tau_m_ms"])


def test_course_kit_motor() -> None:
    known = fact("DC-05")
    i, out = known.inputs, known.outputs
    constant = i["Kt_mNm_A"] * 1e-3
    assert dc_motor.stall_current(i["V"], i["R_total_ohm"]) == known.near(out["I_stall_A"])
    stall = dc_motor.stall_torque(i["V"], i["R_total_ohm"], constant, 0.0)
    assert stall * 1e3 == known.near(out["T_stall_mNm"])
    power = dc_motor.peak_power(out["T_stall_mNm"] * 1e-3, from_rpm(i["n0_rpm"]))
    assert power == known.near(out["P_max_W"])
    limited = out["T_limited_mNm"] * 1e-3
    assert dc_motor.current_at_torque(limited, constant, 0.0) == known.near(i["I_limit_A"])


def test_constant_from_voltage_over_speed_alone_is_a_known_trap() -> None:
    known = fact("DC-05")
    i = known.inputs
    naive = dc_motor.torque_constant_from_no_load(i["V"], from_rpm(i["n0_rpm"]), i["R_total_ohm"], 0.0)
    assert naive * 1e3 == pytest.approx(known.known_wrong["Kt_from_no_load_mNm_A"], rel=0.01)
    assert naive * 1e3 != known.near(i["Kt_mNm_A"])


def test_gearmotors_of_one_family() -> None:
    known = fact("DC-06")
    i = known.inputs
    ratios, turns, torque = (np.array(i[k]) for k in ("ratio", "n0_rpm", "T_stall_kgmm"))
    power = dc_motor.peak_power(torque * KGF_MM, from_rpm(turns))
    assert list(power) == known.near(known.outputs["P_max_W"])
    assert list(turns * ratios) == pytest.approx([13500.0] * 4, rel=known.tolerance["speed_rel"])


def test_best_working_point_of_a_toy_motor() -> None:
    known = fact("DC-08")
    i, out = known.inputs, known.outputs
    ohms = i["V"] / i["Is_A"]
    current = dc_motor.current_at_peak_efficiency(i["V"], ohms, i["I0_A"])
    assert current == known.near(out["I_A"])
    by_speed = dc_motor.torque_constant_from_no_load(i["V"], from_rpm(i["n0_rpm"]), ohms, i["I0_A"])
    by_torque = i["Ts_mNm"] * 1e-3 / (i["Is_A"] - i["I0_A"])
    torque = by_torque * (current - i["I0_A"])
    speed = dc_motor.no_load_speed(i["V"], ohms, by_speed, current)
    assert rpm(speed) == known.near(out["n_rpm"])
    assert torque * 1e3 == known.near(out["T_mNm"])
    assert torque * speed == known.near(out["P_W"])
    # the two constants differ, so a stall torque from a no-load run alone is 12 % high for such a motor
    assert by_speed / by_torque == pytest.approx(1.12, abs=0.01)


def test_brushless_constants() -> None:
    known = fact("DC-10")
    for turns, per_dc, per_sine in zip(
        known.inputs["Kv"], known.outputs["Kt_dc_Nm_A"], known.outputs["Kt_sine_Nm_Apk"], strict=True
    ):
        constant = from_rpm(turns)
        assert dc_motor.torque_constant_from_speed_constant(constant) == known.near(per_dc)
        assert dc_motor.torque_constant_from_speed_constant(constant, True) == known.near(per_sine)
    one = from_rpm(1.0)
    assert dc_motor.torque_constant_from_speed_constant(one) == known.near(known.outputs["const1"])
    assert dc_motor.torque_constant_from_speed_constant(one, True) == known.near(known.outputs["const2"])


def test_speed_and_torque_constant_of_catalogues() -> None:
    known = fact("DC-11")
    for turns_per_volt in (100.0, 407.0):
        constant = dc_motor.torque_constant_from_speed_constant(from_rpm(turns_per_volt)) * 1e3
        assert turns_per_volt * constant == known.near(known.outputs["kn_kM"])


MOTOR = st.fixed_dictionaries(
    {
        "voltage": st.floats(1, 48),
        "resistance": st.floats(0.1, 20),
        "torque_constant": st.floats(0.001, 1),
        "no_load_current": st.floats(0.001, 0.05),
    }
)


@given(motor=MOTOR, speed=st.floats(0, 500))
def test_power_balance(motor: dict[str, float], speed: float) -> None:
    torque = dc_motor.torque_at_speed(speed, **motor)
    current = dc_motor.current_at_torque(torque, motor["torque_constant"], motor["no_load_current"])
    electrical = motor["voltage"] * current
    friction = motor["torque_constant"] * motor["no_load_current"] * speed
    heat = current**2 * motor["resistance"]
    assert torque * speed + friction + heat == pytest.approx(electrical, rel=1e-6, abs=1e-6 * heat)


@given(motor=MOTOR, speed=st.floats(0, 500))
def test_speed_and_torque_are_inverse(motor: dict[str, float], speed: float) -> None:
    torque = dc_motor.torque_at_speed(speed, **motor)
    assert dc_motor.speed_at_torque(torque, **motor) == pytest.approx(speed, rel=1e-6, abs=1e-6)


@given(motor=MOTOR)
def test_ends_of_the_line(motor: dict[str, float]) -> None:
    assert dc_motor.torque_at_speed(0.0, **motor) == pytest.approx(dc_motor.stall_torque(**motor))
    free = dc_motor.no_load_speed(**motor)
    assert dc_motor.torque_at_speed(free, **motor) == pytest.approx(0, abs=1e-9 * motor["voltage"])
    assert dc_motor.speed_at_torque(0.0, **motor) == pytest.approx(free)
    assert dc_motor.torque_at_speed(2 * free + 1, **motor) < 0  # the line is not cut off


@given(motor=MOTOR)
def test_constant_from_a_run_without_load(motor: dict[str, float]) -> None:
    speed = dc_motor.no_load_speed(**motor)
    if speed > 0:
        found = dc_motor.torque_constant_from_no_load(
            motor["voltage"], speed, motor["resistance"], motor["no_load_current"]
        )
        assert found == pytest.approx(motor["torque_constant"])


@given(motor=MOTOR)
@FEW
def test_peak_efficiency_is_the_peak(motor: dict[str, float]) -> None:
    if motor["no_load_current"] * motor["resistance"] < 0.5 * motor["voltage"]:
        torques = np.linspace(0, dc_motor.stall_torque(**motor), 4001)
        found = dc_motor.efficiency_at_torque(torques, **motor)
        best = dc_motor.peak_efficiency(motor["voltage"], motor["resistance"], motor["no_load_current"])
        assert np.max(found) == pytest.approx(best, rel=1e-3)
        current = dc_motor.current_at_peak_efficiency(
            motor["voltage"], motor["resistance"], motor["no_load_current"]
        )
        torque = motor["torque_constant"] * (current - motor["no_load_current"])
        assert dc_motor.efficiency_at_torque(torque, **motor) == pytest.approx(best)


@given(motor=MOTOR)
@FEW
def test_peak_power_is_at_half_the_speed(motor: dict[str, float]) -> None:
    free, stall = dc_motor.no_load_speed(**motor), dc_motor.stall_torque(**motor)
    if free > 0:
        speeds = np.linspace(0, free, 2001)
        best = np.max(speeds * dc_motor.torque_at_speed(speeds, **motor))
        assert best == pytest.approx(dc_motor.peak_power(stall, free), rel=1e-5)


@given(speed=st.floats(0, 500), resistance=st.floats(0.1, 20), constant=st.floats(0.001, 1))
def test_short_circuited_generator_gives_no_voltage(speed: float, resistance: float, constant: float) -> None:
    current = -dc_motor.current_at_speed(speed, 0.0, resistance, constant)
    assert dc_motor.generator_voltage(speed, current, resistance, constant) == pytest.approx(0, abs=1e-9)


@given(current=st.floats(0.1, 5), duty=st.floats(0.05, 1))
def test_intermittent_current_heats_the_same(current: float, duty: float) -> None:
    assert dc_motor.intermittent_current(current, duty) ** 2 * duty == pytest.approx(current**2)


@given(loss=st.floats(0, 30), resistance=st.floats(0.1, 50))
def test_continuous_current_makes_the_heat(loss: float, resistance: float) -> None:
    assert dc_motor.continuous_current(loss, resistance) ** 2 * resistance == pytest.approx(loss)


def test_time_constant_by_integration() -> None:
    integrate = pytest.importorskip("scipy.integrate")
    motor = {"voltage": 12.0, "resistance": 2.0, "torque_constant": 0.05, "no_load_current": 0.1}
    inertia = 2e-5
    tau = dc_motor.mechanical_time_constant(2.0, inertia, 0.05)
    run = integrate.solve_ivp(
        lambda _, w: dc_motor.torque_at_speed(w, **motor) / inertia, (0, tau), [0.0], rtol=1e-9, atol=1e-9
    )
    share = run.y[0, -1] / dc_motor.no_load_speed(**motor)
    assert share == pytest.approx(1 - math.exp(-1), rel=1e-6)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: dc_motor.stall_current(12.0, 0.0), "resistance"),
        (lambda: dc_motor.stall_current(12.0, np.array([1.0, -1.0])), "resistance"),
        (lambda: dc_motor.no_load_speed(12.0, 1.0, 0.0, 0.1), "torque constant"),
        (lambda: dc_motor.peak_efficiency(12.0, 10.0, 5.0), "no-load current"),
        (lambda: dc_motor.intermittent_current(1.0, 1.5), "duty"),
        (lambda: dc_motor.intermittent_current(1.0, 0.0), "duty"),
        (lambda: dc_motor.torque_constant_from_speed_constant(0.0), "speed constant"),
    ],
)
def test_meaningless_input_is_refused(call: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()


@given(st.floats(0.008, 0.12), st.floats(1.0, 2.0))
def test_larger_cans_shed_more_heat(diameter: float, factor: float) -> None:
    """Through the sizes of the table (common practice, no source), rising between and beyond them."""
    least, most = can_heat(diameter)
    assert 0 < least < most
    assert can_heat(diameter * factor)[0] >= least * (1 - 1e-12)
    assert can_heat(diameter * factor)[1] >= most * (1 - 1e-12)
    for size, heat in CAN_LOSS.items():
        assert can_heat(size) == pytest.approx(heat)


def test_a_can_has_a_size() -> None:
    with pytest.raises(ValueError, match="diameter"):
        can_heat(0.0)
