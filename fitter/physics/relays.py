"""Coils that pull: relays, solenoids and electromagnets."""

from __future__ import annotations

import math

from fitter.physics._values import Number, log, power, require, root

MAGNETIC_CONSTANT = 4e-7 * math.pi  # H/m

# Typical general-purpose relay (Songle SRD data sheet, at 20 degC); percentages are per part, so these are
# only defaults: an automotive type pulls in at 58 % and releases at 4 %.
PICK_UP_FRACTION = 0.75  # of the rated voltage, at most
DROP_OUT_FRACTION = 0.10  # of the rated voltage, at least
COIL_VOLTAGE_LIMIT = 1.2  # of the rated voltage

CONTINUOUS_ON_TIME = 300.0  # s; longer on-times count as continuous duty (solenoid makers' usage)


def coil_current(voltage: Number, resistance: Number) -> Number:
    """Steady current of a coil on DC.

    ``I = V / R``.

    Args:
        voltage: V.
        resistance: at the coil's temperature, ohm.

    Returns:
        Current, A.

    Raises:
        ValueError: resistance not above zero.

    Source:
        Ohm's law; Songle SRD relay coil table.

    Example:
        >>> coil_current(voltage=12.0, resistance=400.0)
        0.03
    """
    require(resistance > 0, "resistance must be above zero")
    return voltage / resistance


def coil_power(voltage: Number, resistance: Number) -> Number:
    """Heat of a coil on DC.

    ``P = V^2 / R``.

    Args:
        voltage: V.
        resistance: at the coil's temperature, ohm.

    Returns:
        Power, W.

    Raises:
        ValueError: resistance not above zero.

    Source:
        Ohm's law; Songle SRD relay coil table (0.36 W).

    Example:
        >>> round(coil_power(voltage=12.0, resistance=400.0), 3)
        0.36
    """
    return voltage * coil_current(voltage, resistance)


def pick_up_voltage(
    rated_voltage: Number, resistance_ratio: Number = 1.0, fraction: Number = PICK_UP_FRACTION
) -> Number:
    """Voltage at which a relay surely pulls in, hot coil included.

    ``fraction V_rated R_hot / R_20``: pull-in is a matter of current, so a hot coil needs more volts. Ratio
    from :func:`fitter.physics.thermal.copper_resistance`.

    Args:
        rated_voltage: of the coil, V.
        resistance_ratio: coil resistance now over that at 20 degC.
        fraction: pull-in voltage over rated voltage at 20 degC.

    Returns:
        Voltage, V.

    Raises:
        ValueError: voltage below zero, or ratio or fraction not above zero.

    Source:
        Songle SRD data sheet (75 %); the hot coil: common practice, no source.

    Example:
        >>> pick_up_voltage(rated_voltage=12.0)
        9.0
    """
    require(rated_voltage >= 0, "rated voltage must not be below zero")
    require(resistance_ratio > 0, "resistance ratio must be above zero")
    require(fraction > 0, "fraction must be above zero")
    return fraction * rated_voltage * resistance_ratio


def release_time(
    inductance: Number,
    resistance: Number,
    start_current: Number,
    end_current: Number,
    clamp_voltage: Number = 0.7,
) -> Number:
    """Time for the current of a coil to fall after switch-off, by its clamp.

    ``t = (L / R) ln((I0 R + Vc) / (I1 R + Vc))``: a plain diode clamps at 0.7 V and is slow, a zener in
    series is fast. The switch must stand the supply plus the clamp. Inductance held constant.

    Args:
        inductance: of the coil, H.
        resistance: of the coil, ohm.
        start_current: at switch-off, A.
        end_current: at which the part lets go, A.
        clamp_voltage: across the coil while the current falls, V.

    Returns:
        Time, s.

    Raises:
        ValueError: inductance or resistance not above zero, end current not within 0..start current, or a
            clamp below zero (or zero together with an end current of zero).

    Source:
        First-order circuit theory; agrees with circuit simulation (ngspice).

    Example:
        >>> round(release_time(0.8, 400.0, start_current=0.03, end_current=0.003) * 1e3, 2)
        3.8
    """
    require(inductance > 0, "inductance must be above zero")
    require(resistance > 0, "resistance must be above zero")
    require((end_current >= 0) & (end_current <= start_current), "end current must lie within 0 to the start")
    final = end_current * resistance + clamp_voltage
    require((clamp_voltage >= 0) & (final > 0), "without a clamp the current never reaches zero")
    return inductance / resistance * log((start_current * resistance + clamp_voltage) / final)


def coil_energy(inductance: Number, current: Number) -> Number:
    """Energy in the field of a coil, which the clamp must take up.

    ``E = L I^2 / 2``.

    Args:
        inductance: H.
        current: A.

    Returns:
        Energy, J.

    Raises:
        ValueError: inductance below zero.

    Source:
        Circuit theory.

    Example:
        >>> round(coil_energy(inductance=0.8, current=0.03) * 1e3, 3)
        0.36
    """
    require(inductance >= 0, "inductance must not be below zero")
    return 0.5 * inductance * current * current


def duty_cycle(on_time: Number, off_time: Number) -> Number:
    """Part of the time that a solenoid is on.

    ``on / (on + off)``. On for more than five minutes counts as continuous, however long the pause.

    Args:
        on_time: s.
        off_time: s.

    Returns:
        Duty, ratio 0..1.

    Raises:
        ValueError: a time below zero, or both zero.

    Source:
        The Solenoid Company, glossary; Johnson Electric (Ledex), technical data.

    Example:
        >>> duty_cycle(on_time=15.0, off_time=45.0)
        0.25
    """
    require((on_time >= 0) & (off_time >= 0), "times must not be below zero")
    require(on_time + off_time > 0, "a cycle must last longer than zero")
    return on_time / (on_time + off_time)


def allowed_coil_power(continuous_power: Number, duty: Number) -> Number:
    """Power a solenoid may take while it is on, when it rests in between.

    ``P_cont / duty``: the mean heat stays the same. Only while the on-time is short against the coil's own
    warming (seconds for small ones).

    Args:
        continuous_power: that the coil stands for ever, W.
        duty: part of the time on, ratio.

    Returns:
        Power, W.

    Raises:
        ValueError: power below zero, or duty outside 0..1.

    Source:
        Johnson Electric (Ledex), technical data (10 W at 100 % is 100 W at 10 %).

    Example:
        >>> allowed_coil_power(continuous_power=10.0, duty=0.1)
        100.0
    """
    require(continuous_power >= 0, "power must not be below zero")
    require((duty > 0) & (duty <= 1), "duty must be above zero and at most 1")
    return continuous_power / duty


def allowed_coil_voltage(continuous_voltage: Number, duty: Number) -> Number:
    """Voltage a solenoid may see while it is on, when it rests in between.

    ``V_cont / sqrt(duty)``; power goes with the square.

    Args:
        continuous_voltage: that the coil stands for ever, V.
        duty: part of the time on, ratio.

    Returns:
        Voltage, V.

    Raises:
        ValueError: duty outside 0..1.

    Source:
        Johnson Electric (Ledex), technical data.

    Example:
        >>> allowed_coil_voltage(continuous_voltage=12.0, duty=0.25)
        24.0
    """
    require((duty > 0) & (duty <= 1), "duty must be above zero and at most 1")
    return continuous_voltage / root(duty)


def magnet_pull(turns: Number, current: Number, area: Number, gap: Number) -> Number:
    """Pull of an electromagnet across an air gap.

    ``F = (N I)^2 mu0 A / (2 g^2)``, iron without resistance to the field and no fringing: an upper bound,
    close for gaps small against the pole and a field below about 1 T. It grows without limit as the gap
    closes; real iron saturates (:func:`saturated_pull`). A magnet with two poles has two gaps in series.

    Args:
        turns: of the coil.
        current: A.
        area: of the pole, m^2.
        gap: total length of air, m.

    Returns:
        Force, N.

    Raises:
        ValueError: area below zero, or gap not above zero.

    Source:
        Standard result from the field energy, as in a teaching note by T. Banas.

    Example:
        >>> round(magnet_pull(turns=500, current=0.5, area=1e-4, gap=1e-3), 2)
        3.93
    """
    require(area >= 0, "area must not be below zero")
    require(gap > 0, "gap must be above zero")
    return MAGNETIC_CONSTANT * area * power(turns * current / gap, 2) / 2.0


def saturated_pull(area: Number, flux_density: Number = 1.6) -> Number:
    """Greatest pull of one pole, when its iron is saturated.

    ``F = B^2 A / (2 mu0)``; soft iron gives 1.5 to 2 T.

    Args:
        area: of the pole, m^2.
        flux_density: in the gap, T.

    Returns:
        Force, N.

    Raises:
        ValueError: area below zero.

    Source:
        Maxwell's pulling force, textbook result; from memory.

    Example:
        >>> round(saturated_pull(area=1e-4), 1)
        101.9
    """
    require(area >= 0, "area must not be below zero")
    return flux_density * flux_density * area / (2.0 * MAGNETIC_CONSTANT)


def pull_at_gap(pull: Number, gap: Number, other_gap: Number) -> Number:
    """Pull of a solenoid at another gap, from one measured at a known gap.

    ``F (g / g2)^2``. For flat-faced types; conical plungers fall off more slowly, so outward the result is
    on the safe side. Not below a few tenths of a millimetre.

    Args:
        pull: measured, N.
        gap: at that measurement, m.
        other_gap: gap asked about, m.

    Returns:
        Force, N.

    Raises:
        ValueError: a gap not above zero.

    Source:
        Johnson Electric (Ledex), technical data.

    Example:
        >>> pull_at_gap(pull=8.0, gap=1e-3, other_gap=2e-3)
        2.0
    """
    require(gap > 0, "gap must be above zero")
    require(other_gap > 0, "gap must be above zero")
    return pull * power(gap / other_gap, 2)


def hot_coil_pull(resistance_ratio: Number) -> Number:
    """What a hot coil on constant voltage has left of its cold pull.

    ``(R_20 / R_hot)^2``: the current falls with the resistance, the pull with the square of the current
    (iron not saturated).

    Args:
        resistance_ratio: resistance hot over cold (:func:`fitter.physics.thermal.copper_resistance`).

    Returns:
        Pull hot over cold, ratio.

    Raises:
        ValueError: ratio not above zero.

    Source:
        Pull with the square of the current: Johnson Electric (Ledex), technical data.

    Example:
        >>> round(hot_coil_pull(resistance_ratio=1.3144), 2)
        0.58
    """
    require(resistance_ratio > 0, "resistance ratio must be above zero")
    return power(resistance_ratio, -2)
