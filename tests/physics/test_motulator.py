"""Current and voltage limits of the stepper model, judged by the library motulator (dev extra).

A two-phase stepper is a synchronous machine with round rotor: pole pairs from the teeth, magnet flux
``Kt / p``. The library reckons with three phases, whose torque is 1.5 times that of two at the same
peak values, so its torques are divided by that.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize

from fitter.physics import stepper

drive = pytest.importorskip("motulator.drive", reason="motulator is not installed; it is in the dev extra")

PHASES = 1.5
MOTORS = st.fixed_dictionaries(
    {
        "constant": st.floats(0.05, 1.5),
        "resistance": st.floats(0.3, 30.0),
        "inductance": st.floats(0.5e-3, 60e-3),
        "teeth": st.sampled_from([12, 24, 50, 100]),
    }
)


def parameters(motor: dict[str, Any], resistance: float) -> Any:
    """The stepper as the library's synchronous machine."""
    utils = pytest.importorskip("motulator.drive.utils")
    return utils.SynchronousMachinePars(
        n_p=motor["teeth"],
        R_s=resistance,
        L_d=motor["inductance"],
        L_q=motor["inductance"],
        psi_f=motor["constant"] / motor["teeth"],
    )


def characteristics(motor: dict[str, Any]) -> Any:
    """Torque against current and flux, without resistance."""
    control = pytest.importorskip("motulator.drive.control.sm")
    return control.TorqueCharacteristics(parameters(motor, 0.0))


def from_voltage(motor: dict[str, Any], speed: float, voltage: float, resistance: float) -> float:
    """The model's torque at the limit of the voltage."""
    found = stepper.impedance(speed, resistance, motor["inductance"], motor["teeth"])
    return float(stepper.voltage_limited_torque(speed, voltage, motor["constant"] / found, resistance))


@given(motor=MOTORS, current=st.floats(0.1, 8.0))
@settings(max_examples=50, deadline=None)
def test_torque_at_the_current_limit(motor: dict[str, Any], current: float) -> None:
    judge = characteristics(motor)
    best = current * np.exp(1j * judge.mtpa(current))
    assert judge.torque(judge.flux(best)) / PHASES == pytest.approx(motor["constant"] * current, rel=1e-9)


@given(motor=MOTORS, speed=st.floats(1.0, 90.0), voltage=st.floats(3.0, 60.0))
@settings(max_examples=50, deadline=None)
def test_torque_at_the_voltage_limit_without_resistance(
    motor: dict[str, Any], speed: float, voltage: float
) -> None:
    judge = characteristics(motor)
    flux = voltage / (motor["teeth"] * speed)
    torque = judge.torque(flux * np.exp(1j * judge.mtpv(flux))) / PHASES
    assert from_voltage(motor, speed, voltage, 0.0) == pytest.approx(torque, rel=1e-9)


def machine_torque(motor: dict[str, Any], speed: float, voltage: complex) -> float:
    """Steady torque of the library's machine at a rotor-fixed voltage: where its derivative is zero."""
    model = pytest.importorskip("motulator.drive.model")
    machine = model.SynchronousMachine(parameters(motor, motor["resistance"]))
    machine.inp.w_M, machine.inp.u_ss = speed, voltage

    def slope(flux: Any) -> list[float]:
        machine.state.psi_s = complex(*flux)
        machine.set_outputs(0)
        change = complex(machine.rhs()[0])
        return [change.real, change.imag]

    at_rest = np.array(slope((0.0, 0.0)))
    columns = [np.array(slope(unit)) - at_rest for unit in ((1.0, 0.0), (0.0, 1.0))]
    slope(np.linalg.solve(np.stack(columns, axis=1), -at_rest))
    return float(machine.tau_M) / PHASES


@given(motor=MOTORS, speed=st.floats(1.0, 90.0), voltage=st.floats(3.0, 60.0))
@settings(max_examples=25, deadline=None)
def test_pull_out_at_the_voltage_limit_with_resistance(
    motor: dict[str, Any], speed: float, voltage: float
) -> None:
    """The greatest torque over all load angles."""
    angles = np.linspace(-math.pi, math.pi, 25)
    torques = [machine_torque(motor, speed, voltage * np.exp(1j * a)) for a in angles]
    start = angles[int(np.argmax(torques))]
    found = optimize.minimize_scalar(
        lambda a: -machine_torque(motor, speed, voltage * np.exp(1j * a)),
        bounds=(start - 0.3, start + 0.3),
        method="bounded",
        options={"xatol": 1e-9},
    )
    expected = max(0.0, -float(found.fun))
    assert from_voltage(motor, speed, voltage, motor["resistance"]) == pytest.approx(
        expected, rel=1e-6, abs=1e-9
    )
