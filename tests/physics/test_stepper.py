"""Stepper model held against published pull-out curves, worked examples, phasors and a simulation."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from laws import FEW, Law, check_monotone, check_vector_equals_scalar, law
from motion_facts import Fact, fact, from_rpm, rpm

from fitter.physics import stepper

CURVES = {"ST-01": 1.0, "ST-02": 1.0, "ST-03": 1.0, "ST-06": stepper.INDUCTANCE_FACTOR_LARGE}
POSITIVE = st.floats(0.01, 100.0)

LAWS = [
    law(stepper.rotor_teeth, step_angle=(0.005, 0.3, "-")),
    law(stepper.torque_constant, holding_torque=(0, 10, "+"), rated_current=(0.1, 8, "-")),
    law(stepper.back_emf, speed=(0, 200, "+"), torque_constant=(0, 2, "+")),
    law(
        stepper.impedance,
        speed=(0, 300, "+"),
        resistance=(0, 50, "+"),
        inductance=(0, 0.1, "+"),
        rotor_teeth=(4, 100, "+"),
        inductance_factor=(1, 1.5, "+"),
    ),
    law(
        stepper.voltage_limited_torque,
        speed=(0, 300, "-"),
        voltage=(0, 80, "+"),
        constant_per_impedance=(0, 1, "0"),
        resistance=(0, 50, "-"),
    ),
    law(stepper.blend, current_limited=(0, 10, "+"), voltage_limited=(0, 10, "+")),
    law(
        stepper.chopper_torque,
        speed=(0, 300, "0"),
        voltage=(5, 80, "+"),
        current_peak=(0, 8, "+"),
        torque_constant=(0.05, 1, "0"),
        resistance=(0.2, 50, "0"),
        inductance=(0, 0.05, "0"),
        rotor_teeth=(4, 100, "0"),
        drag=(0, 0.1, "-"),
    ),
    law(
        stepper.voltage_driven_torque,
        speed=(0, 300, "0"),
        voltage=(5, 40, "+"),
        torque_constant=(0.05, 1, "0"),
        resistance=(1, 60, "0"),
        inductance=(0, 0.05, "0"),
        rotor_teeth=(4, 100, "0"),
        holding_torque=(0.1, 2, "+"),
        series_resistance=(0, 50, "0"),
        drag=(0, 0.1, "-"),
    ),
    law(
        stepper.corner_speed,
        voltage=(0, 80, "+"),
        current_peak=(0.1, 8, "-"),
        torque_constant=(0.01, 1, "-"),
        resistance=(0, 50, "-"),
        inductance=(0, 0.05, "-"),
        rotor_teeth=(4, 100, "-"),
    ),
    law(
        stepper.rated_current_from_frame,
        frame_width=(0.01, 0.09, "+"),
        body_length=(0.01, 0.15, "+"),
        resistance=(0.2, 100, "-"),
    ),
    law(stepper.copper_loss, current_peak=(0, 8, "+"), resistance=(0, 50, "+")),
    law(stepper.drag_torque, holding_torque=(0, 10, "+")),
    law(stepper.highest_advised_voltage, inductance=(0, 0.1, "+")),
    law(
        stepper.series_resistor,
        supply_voltage=(12, 40, "+"),
        rated_voltage=(1, 12, "-"),
        rated_current=(0.1, 3, "0"),
    ),
    law(stepper.pulse_speed, pulse_rate=(0, 1e5, "+"), step_angle=(0.01, 0.3, "+"), microsteps=(1, 64, "-")),
    law(stepper.pulse_rate, speed=(0, 300, "+"), step_angle=(0.01, 0.3, "-"), microsteps=(1, 64, "+")),
    law(
        stepper.microstep_phase_currents,
        microsteps=(1, 64, "0"),
        position=(0, 1, "0"),
        current_peak=(0, 8, "0"),
    ),
    law(stepper.microstep_torque, holding_torque=(0, 10, "+"), microsteps=(1, 64, "-")),
    law(stepper.load_angle, torque=(0, 1, "+"), holding_torque=(1, 10, "-"), rotor_teeth=(4, 100, "-")),
    law(
        stepper.resonance_frequency,
        holding_torque=(0, 10, "+"),
        inertia=(1e-7, 1e-2, "-"),
        rotor_teeth=(4, 100, "+"),
    ),
    law(stepper.resonance_gap, pulse_rate=(0, 1000, "0"), frequency=(10, 500, "0")),
    law(stepper.start_speed, torque=(0, 1, "+"), inertia=(1e-7, 1e-2, "-"), step_angle=(0.01, 0.3, "+")),
    law(
        stepper.inductance_limited_speed,
        voltage=(0, 80, "+"),
        current=(0.1, 8, "-"),
        inductance=(1e-4, 0.1, "-"),
        steps_per_turn=(20, 400, "-"),
    ),
    law(stepper.electrical_time_constant, inductance=(0, 0.1, "+"), resistance=(0.2, 50, "-")),
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


def model(known: Fact, turns: Any, factor: float) -> Any:
    """The chopper model at the inputs of a published curve; turns in rpm."""
    i = known.inputs
    return stepper.chopper_torque(
        speed=from_rpm(turns),
        voltage=i["V_supply_V"],
        current_peak=i["current_setting_peak_A"],
        torque_constant=stepper.torque_constant(i["holding_torque_Nm"], i["rated_current_A"]),
        resistance=i["R_phase_ohm"],
        inductance=i["L_phase_mH"] * 1e-3,
        rotor_teeth=i["rotor_teeth"],
        drag=stepper.drag_torque(i["holding_torque_Nm"]),
        inductance_factor=factor,
    )


def points(known: Fact) -> tuple[Any, Any]:
    """Speeds in rpm and published torques of a curve."""
    curve = known.outputs["pull_out_Nm_at_rpm"]
    return np.array([float(k) for k in curve]), np.array(list(curve.values()))


@pytest.mark.parametrize(("name", "factor"), CURVES.items())
def test_model_at_each_published_point(name: str, factor: float) -> None:
    known = fact(name)
    turns, torque = points(known)
    assert list(model(known, turns, factor)) == known.near(list(torque))


def test_mean_error_of_the_model(capsys: pytest.CaptureFixture[str]) -> None:
    errors: dict[str, Any] = {}
    for name, factor in CURVES.items():
        turns, torque = points(fact(name))
        errors[name] = model(fact(name), turns, factor) / torque - 1
    everything = np.concatenate(list(errors.values()))
    with capsys.disabled():
        print("\nstepper model against published pull-out curves, error in % per point")
        for name, error in errors.items():
            mean = 100 * np.mean(abs(error))
            print(f"  {name} {fact(name).title:<48} {np.round(100 * error, 1)} mean {mean:.1f}")
        print(f"  all {everything.size} points: mean error {100 * np.mean(abs(everything)):.1f} %")
    assert all(np.mean(abs(error)) <= 0.10 for error in errors.values())
    assert np.mean(abs(np.concatenate([errors[n] for n in ("ST-01", "ST-02", "ST-03")]))) <= 0.05


def test_advised_band_holds_every_published_point() -> None:
    low, high = stepper.BAND
    for name, factor in CURVES.items():
        turns, torque = points(fact(name))
        true_over_model = torque / model(fact(name), turns, factor)
        assert np.all((low <= true_over_model) & (true_over_model <= high)), name


def test_large_frame_needs_its_inductance_factor() -> None:
    turns, torque = points(fact("ST-06"))
    assert np.all(model(fact("ST-06"), turns, 1.0) / torque > 1.5)


def test_more_voltage_gives_the_published_gain_at_speed() -> None:
    gain = model(fact("ST-02"), 600, 1.0) / model(fact("ST-01"), 600, 1.0)
    published = (
        fact("ST-02").outputs["pull_out_Nm_at_rpm"]["600"]
        / fact("ST-01").outputs["pull_out_Nm_at_rpm"]["600"]
    )
    assert gain == pytest.approx(published, rel=0.1)


def test_low_speed_share_of_the_holding_torque() -> None:
    known = fact("ST-08")
    low, high = known.tolerance["band"]
    assert low <= known.outputs["low_speed_ratio"] <= high
    i = known.inputs
    hold = i["holding_torque_Ncm"] / 100
    # the holding torque has both phases at the rated current; a sine of that peak has 0.707 of it
    constant = stepper.torque_constant(hold, i["rated_current_A"])
    share = (constant * i["rated_current_A"] - stepper.drag_torque(hold)) / hold
    assert low <= share <= high


def test_small_motor_at_600_rpm() -> None:
    known = fact("ST-09")
    i = known.inputs
    torque = stepper.chopper_torque(
        speed=from_rpm(600),
        voltage=i["V"],
        current_peak=i["I_A"],
        torque_constant=stepper.torque_constant(i["T_hold_Nm"], i["I_A"]),
        resistance=i["R_ohm"],
        inductance=i["L_mH"] * 1e-3,
        rotor_teeth=stepper.rotor_teeth(math.radians(1.8)),
        drag=stepper.drag_torque(i["T_hold_Nm"]),
    )
    assert torque == known.near(known.outputs["torque_Nm_at_600_rpm"])


def test_speed_limit_from_inductance_alone() -> None:
    known = fact("ST-10")
    i = known.inputs
    speed = stepper.inductance_limited_speed(i["V"], i["I_A"], i["L_mH"] * 1e-3, i["steps_per_rev"])
    belt = speed / (2 * math.pi) * i["pulley_teeth"] * i["belt_pitch_mm"]
    assert belt == known.near(known.outputs["belt_speed_mm_s"])


def test_back_emf_from_holding_torque() -> None:
    known = fact("ST-11")
    i = known.inputs
    constant = stepper.torque_constant(i["T_hold_Nm"], i["I_rated_A"])
    assert stepper.back_emf(i["rev_s"] * 2 * math.pi, constant) == known.near(known.outputs["E_peak_V"])


def test_torque_at_reduced_current() -> None:
    known = fact("ST-14")
    share = stepper.torque_constant(1.0, 1.0) * known.inputs["current_fraction"]
    assert share == known.near(known.outputs["torque_fraction"])


def test_microstep_currents_and_torque() -> None:
    known = fact("ST-16")
    microsteps = np.array(known.inputs["microsteps"], dtype=float)
    a, b = stepper.microstep_phase_currents(microsteps, current_peak=100.0)
    assert list(a) == known.near(known.outputs["A_pct"])
    assert list(b) == known.near(known.outputs["B_pct"])
    assert list(stepper.microstep_torque(100.0, microsteps)) == known.near(known.outputs["A_pct"])


def test_driver_current_of_eight_leads() -> None:
    known = fact("ST-18")
    for (connection, rating, amperes), peak in zip(
        known.inputs["cases"], known.outputs["peak_A"], strict=True
    ):
        factor = 1.0 if rating == "unipolar" else 1 / stepper.CONNECTIONS[connection].current
        assert stepper.driver_current(connection, amperes * factor) == known.near(peak)


def test_connections_at_equal_copper_loss() -> None:
    known = fact("ST-20")
    for name in ("series", "parallel"):
        found, published = stepper.CONNECTIONS[name], known.outputs[name]
        assert found.current == known.near(published["I"])
        assert (found.resistance, found.inductance) == (published["R"], published["L"])
        assert found.torque == known.near(known.outputs["torque_ratio"])
        assert found.current**2 * found.resistance == pytest.approx(1.0)  # the same heat as one half-coil


def test_series_resistor() -> None:
    known = fact("ST-21")
    i = known.inputs
    found = stepper.series_resistor(i["supply_V"], i["rated_V"], i["rated_A"])
    assert found.resistance == known.near(known.outputs["series_R_ohm"])
    assert found.power == known.near(known.outputs["power_W"])


def test_highest_advised_voltage() -> None:
    known = fact("ST-22")
    inductance = np.array(known.inputs["L_mH"]) * 1e-3
    assert list(stepper.highest_advised_voltage(inductance)) == known.near(known.outputs["V"])


@pytest.mark.parametrize("motor", fact("ST-24").inputs)
def test_rated_current_from_size(motor: str) -> None:
    known = fact("ST-24")
    i = known.inputs[motor]
    found = stepper.rated_current_from_frame(i["frame_mm"] * 1e-3, i["length_mm"] * 1e-3, i["R_ohm"])
    assert found == known.near(known.outputs["rated_current_A"][motor])


def test_default_drag_is_plausible() -> None:
    known = fact("ST-26")
    low, high = known.tolerance["band"]
    share = stepper.drag_torque(100.0)
    assert low <= share <= high
    assert known.outputs["range_pct"][0] <= share <= known.outputs["range_pct"][1]
    mosaic = fact("ST-31").inputs
    measured = stepper.drag_torque(mosaic["T_hold_gcm"], mosaic["detent_gcm"]) / mosaic["T_hold_gcm"]
    assert 100 * measured == pytest.approx(known.outputs["mosaic_pct"])


def test_pulse_limit_to_speed() -> None:
    known = fact("ST-29")
    turns = stepper.pulse_speed(known.inputs["pps"], math.radians(1.8), np.array(known.inputs["modes"])) / (
        2 * math.pi
    )
    assert list(np.floor(turns)) == known.outputs["rps"]
    assert list(np.floor(turns * 60)) == known.outputs["rpm"]


def test_geared_can_stepper() -> None:
    known = fact("ST-30")
    half_step = math.radians(known.inputs["step_deg_motor"])
    assert stepper.rotor_teeth(2 * half_step) == pytest.approx(8)
    turn = stepper.pulse_speed(known.outputs["halfsteps_per_rev"], 2 * half_step / known.inputs["gear"], 2)
    assert turn == pytest.approx(2 * math.pi)
    one = stepper.pulse_speed(1, 2 * half_step / known.inputs["gear"], 2)
    assert math.degrees(one) == known.near(known.outputs["step_out_deg"])


def test_unipolar_motor_data() -> None:
    known = fact("ST-31")
    tau = stepper.electrical_time_constant(known.inputs["L_mH"] * 1e-3, known.inputs["R_ohm"])
    assert tau * 1e3 == known.near(known.outputs["tau_ms"])
    constant = stepper.torque_constant(known.outputs["T_hold_Nm"], known.outputs["I_A"])
    assert constant == pytest.approx(fact("ST-32").inputs["Kt"], rel=1e-3)


def lr_drive(**changes: float) -> Any:
    """Arguments of the motor of ST-32 on a constant voltage."""
    i = fact("ST-32").inputs
    motor = {
        "voltage": i["V"],
        "torque_constant": i["Kt"],
        "resistance": i["R"],
        "inductance": i["L_mH"] * 1e-3,
        "rotor_teeth": 50.0,
    }
    return motor | changes


def test_constant_voltage_drive_against_figures() -> None:
    known = fact("ST-32")
    for pulses, mean in zip(known.inputs["pps"], known.outputs["T_mean_Nm"], strict=True):
        speed = stepper.pulse_speed(pulses, math.radians(1.8))
        free = stepper.voltage_driven_torque(speed, holding_torque=math.inf, **lr_drive())
        assert free == known.near(mean)


def test_constant_voltage_cap_is_close_to_the_least_torque_within_a_step() -> None:
    known = fact("ST-32")
    hold = fact("ST-31").outputs["T_hold_Nm"]
    for pulses, least in zip(known.inputs["pps"], known.outputs["T_min_ripple_Nm"], strict=True):
        speed = stepper.pulse_speed(pulses, math.radians(1.8))
        capped = stepper.voltage_driven_torque(speed, holding_torque=hold, **lr_drive())
        assert 0.74 <= least / capped <= 1.0


def simulated_torque(pulses: float, phase: float) -> Any:
    """Torque over one electrical turn of two phases on square waves, exact exponentials, by time."""
    i = fact("ST-32").inputs
    voltage, resistance, inductance, constant = i["V"], i["R"], i["L_mH"] * 1e-3, i["Kt"]
    electrical = pulses * math.pi / 2
    period, tau = 2 * math.pi / electrical, inductance / resistance
    time = np.linspace(0, period, 2000, endpoint=False)
    half = np.mod(time, period / 2)
    sign = np.where(time < period / 2, 1.0, -1.0)
    square = sign * voltage / resistance * (1 - 2 * np.exp(-half / tau) / (1 + math.exp(-period / 2 / tau)))
    emf = constant * electrical / 50
    reactance = electrical * inductance
    angle, size = math.atan2(reactance, resistance), emf / math.hypot(resistance, reactance)
    one = (
        constant
        * (square - size * np.sin(electrical * time + phase - angle))
        * np.sin(electrical * time + phase)
    )
    return one + np.roll(one, time.size // 4)


@pytest.mark.parametrize("pulses", [100.0, 400.0, 1000.0])
def test_constant_voltage_drive_against_own_simulation(pulses: float) -> None:
    phases = np.linspace(-math.pi, math.pi, 721)
    best = max(float(np.mean(simulated_torque(pulses, phase))) for phase in phases)
    speed = stepper.pulse_speed(pulses, math.radians(1.8))
    found = stepper.voltage_driven_torque(speed, holding_torque=math.inf, **lr_drive())
    assert found == pytest.approx(best, rel=2e-3)


def test_series_resistor_helps_at_speed() -> None:
    rated = stepper.voltage_driven_torque(100.0, holding_torque=0.2, **lr_drive())
    quick = stepper.voltage_driven_torque(
        100.0, holding_torque=0.2, series_resistance=60.0, **lr_drive(voltage=36.0)
    )
    assert quick > 1.5 * rated


@given(
    speed=st.floats(0, 300),
    voltage=st.floats(1, 80),
    constant=st.floats(0.02, 1),
    resistance=st.floats(0.2, 40),
    inductance=st.floats(1e-4, 0.05),
)
@FEW
def test_voltage_limit_is_the_best_of_all_load_angles(
    speed: float, voltage: float, constant: float, resistance: float, inductance: float
) -> None:
    angle = np.linspace(-math.pi, math.pi, 20001)
    phasor = complex(resistance, 50 * speed * inductance)
    best = max(
        0.0, float(np.max((constant * (voltage * np.exp(1j * angle) - constant * speed) / phasor).real))
    )
    per_impedance = constant / stepper.impedance(speed, resistance, inductance, 50)
    found = stepper.voltage_limited_torque(speed, voltage, per_impedance, resistance)
    assert found == pytest.approx(best, rel=1e-5, abs=1e-6 * voltage * constant / resistance)


@given(a=POSITIVE, b=POSITIVE)
def test_blend_lies_below_both_limits(a: float, b: float) -> None:
    both = stepper.blend(a, b)
    assert 0.84 * min(a, b) <= both <= min(a, b) * (1 + 1e-12)
    assert both == pytest.approx((a**-4 + b**-4) ** -0.25)


def test_blend_at_its_ends() -> None:
    assert stepper.blend(0.0, 0.0) == 0
    assert stepper.blend(0.0, 5.0) == 0
    assert stepper.blend(math.inf, 5.0) == 5.0
    assert stepper.blend(math.inf, math.inf) == math.inf
    with np.errstate(all="raise"):
        found = stepper.blend(np.array([0.0, 0.0, np.inf, np.inf]), np.array([0.0, 5.0, 5.0, np.inf]))
    assert list(found) == [0, 0, 5, np.inf]


def test_no_warning_where_the_voltage_gives_nothing() -> None:
    with np.errstate(all="raise"):
        found = stepper.chopper_torque(np.array([0.0, 1e4]), 12.0, 1.0, 0.2, 1.0, 3e-3, 50, drag=0.01)
    assert found[0] > 0
    assert found[1] == 0


@given(speed=st.floats(0, 300), drag=st.floats(0, 0.05))
def test_chopper_never_exceeds_the_current_limit(speed: float, drag: float) -> None:
    torque = stepper.chopper_torque(speed, 24.0, 1.68, 0.168, 1.65, 2.8e-3, 50, drag)
    assert 0 <= torque <= 0.168 * 1.68 - drag + 1e-12


@given(
    voltage=st.floats(1, 80),
    current=st.floats(0.1, 8),
    constant=st.floats(0.02, 1),
    resistance=st.floats(0.1, 40),
    inductance=st.floats(0, 0.05),
)
def test_corner_speed_solves_its_equation(
    voltage: float, current: float, constant: float, resistance: float, inductance: float
) -> None:
    speed = stepper.corner_speed(voltage, current, constant, resistance, inductance, 50)
    if current * resistance >= voltage:
        assert speed == 0
    else:
        real, reactive = current * resistance + constant * speed, 50 * speed * inductance * current
        assert math.hypot(real, reactive) == pytest.approx(voltage, rel=1e-9)


@pytest.mark.parametrize(
    ("voltage", "current", "resistance", "inductance", "hold", "turns"),
    [  # own arithmetic with makers' figures from memory; two significant digits
        (12.0, 1.68, 1.65, 2.8e-3, 0.4, 340),
        (24.0, 1.68, 1.65, 2.8e-3, 0.4, 740),
        (12.0, 0.4, 30.0, 37e-3, 0.26, 0),  # current times resistance uses up the supply
    ],
)
def test_corner_speed_of_usual_motors(
    voltage: float, current: float, resistance: float, inductance: float, hold: float, turns: float
) -> None:
    constant = stepper.torque_constant(hold, current)
    found = rpm(stepper.corner_speed(voltage, current, constant, resistance, inductance, 50))
    assert found == pytest.approx(turns, rel=0.03, abs=0.1)


@given(speed=st.floats(0, 300), step=st.floats(0.005, 0.3), microsteps=st.integers(1, 256))
def test_pulse_rate_and_speed_are_inverse(speed: float, step: float, microsteps: int) -> None:
    rate = stepper.pulse_rate(speed, step, microsteps)
    assert stepper.pulse_speed(rate, step, microsteps) == pytest.approx(speed, abs=1e-12)
    assert stepper.pulse_rate(speed, step) * microsteps == pytest.approx(rate)  # full steps unless told
    assert stepper.pulse_speed(rate, step) == pytest.approx(speed * microsteps)


@given(microsteps=st.integers(1, 256), position=st.floats(0, 256), peak=st.floats(0.1, 5))
def test_microstep_currents_keep_the_copper_loss(microsteps: int, position: float, peak: float) -> None:
    a, b = stepper.microstep_phase_currents(microsteps, position, peak)
    assert math.hypot(a, b) == pytest.approx(peak)
    assert (a * a + b * b) * 2.0 == pytest.approx(stepper.copper_loss(peak, 2.0))


@given(share=st.floats(-0.999, 0.999), teeth=st.floats(4, 100))
def test_load_angle_gives_its_torque_back(share: float, teeth: float) -> None:
    angle = stepper.load_angle(share, 1.0, teeth)
    assert math.sin(teeth * angle) == pytest.approx(share, abs=1e-9)
    assert abs(angle) <= math.pi / 2 / teeth  # never beyond one full step


@given(hold=st.floats(0.05, 5), inertia=st.floats(1e-6, 1e-3))
@FEW
def test_resonance_is_that_of_the_sine_shaped_spring(hold: float, inertia: float) -> None:
    stiffness = hold / stepper.load_angle(1e-6 * hold, hold, 50) * 1e-6
    found = stepper.resonance_frequency(hold, inertia, 50)
    assert found == pytest.approx(math.sqrt(stiffness / inertia) / (2 * math.pi), rel=1e-6)


@given(torque=st.floats(0.01, 1), inertia=st.floats(1e-6, 1e-3), step=st.floats(0.005, 0.3))
def test_start_speed_is_reached_within_one_step(torque: float, inertia: float, step: float) -> None:
    speed = stepper.start_speed(torque, inertia, step)
    assert speed**2 / (2 * torque / inertia) == pytest.approx(step)


@given(supply=st.floats(5, 60), rated=st.floats(1, 12), current=st.floats(0.1, 3))
def test_series_resistor_balances_the_voltages(supply: float, rated: float, current: float) -> None:
    assume(supply >= rated)
    found = stepper.series_resistor(supply, rated, current)
    assert found.resistance * current + rated == pytest.approx(supply)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: stepper.rotor_teeth(0.0), "step angle"),
        (lambda: stepper.torque_constant(0.4, 0.0), "rated current"),
        (lambda: stepper.torque_constant(-0.4, 1.0), "holding torque"),
        (lambda: stepper.impedance(-1.0, 1.0, 1e-3, 50), "speed"),
        (lambda: stepper.impedance(np.array([1.0, -1.0]), 1.0, 1e-3, 50), "speed"),
        (lambda: stepper.blend(-1.0, 1.0), "torque"),
        (lambda: stepper.chopper_torque(1.0, 12.0, 1.0, 0.2, 0.0, 1e-3, 50, 0.0), "resistance"),
        (lambda: stepper.voltage_driven_torque(1.0, 12.0, 0.2, 0.0, 1e-3, 50, 0.4), "resistance"),
        (lambda: stepper.series_resistor(5.0, 12.0, 1.0), "supply voltage"),
        (lambda: stepper.load_angle(2.0, 1.0, 50), "exceed"),
        (lambda: stepper.microstep_torque(1.0, 0.5), "microsteps"),
        (lambda: stepper.driver_current("star", 1.0), "connection"),
    ],
)
def test_meaningless_input_is_refused(call: Any, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
