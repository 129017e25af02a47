"""Transformer, bridge and reservoir capacitor: what DC comes out, and what the transformer must carry.

All formulas take SI values, numbers or arrays. "Secondary voltage" is the RMS voltage of the winding
at rated load; allow for the mains with :data:`MAINS_LOW` and :data:`MAINS_HIGH`.
"""

from __future__ import annotations

import math

from fitter.physics._values import Number, interpolate, larger, require

SQRT2 = math.sqrt(2.0)
MAINS_LOW = 0.9  # IEC 60038: 230 V +-10 %
MAINS_HIGH = 1.1

DIRECT_CURRENT_FACTOR_LOW = 0.55  # 1/1.8, Petra-Toroid, "Methods of determining secondary current ratings"
DIRECT_CURRENT_FACTOR_HIGH = 0.62  # Hammond, "Design Guide for Rectifier Use", bridge, capacitor input
DIRECT_CURRENT_FACTOR_STIFF = 0.46  # circuit simulation, transformer of 2 % regulation

# Circuit simulation (ngspice) of a bridge: windings of 6 to 36 V, capacitors for a ripple bound of 4 to 30 %
# of the peak, silicon diodes. Least factor with a purely resistive winding, greatest with a leakage reactance
# of a third of its resistance; pairs of regulation and factor.
LEAST_REGULATION = 0.003  # of a transformer, for which direct_current_factor_range holds
_LEAST_FACTOR = (
    (0.0029, 0.0055, 0.0127, 0.0237, 0.0438, 0.0817, 0.1563, 0.2339, 0.3173, 0.4083, 0.5356),
    (0.350, 0.365, 0.397, 0.431, 0.475, 0.529, 0.591, 0.632, 0.663, 0.689, 0.716),
)
_GREATEST_FACTOR = (
    (0.0021, 0.0102, 0.0200, 0.0383, 0.0730, 0.1423, 0.2148, 0.2925, 0.3771, 0.4948),
    (0.486, 0.498, 0.512, 0.546, 0.591, 0.645, 0.682, 0.710, 0.733, 0.758),
)


def ripple_bound(current: Number, capacitance: Number, frequency: Number) -> Number:
    """Upper bound of the peak-to-peak ripple after a full-wave rectifier.

    ``dV = I / (2 f C)``: the capacitor alone feeds the load for a whole half cycle. The diodes conduct
    for part of it, so the real ripple is 50 to 80 % of this (43 to 85 % at the extremes); good for proving
    that a ripple is small enough, not for predicting it.

    Args:
        current: DC load current, A.
        capacitance: reservoir capacitor, F.
        frequency: mains frequency (not the doubled one), Hz.

    Returns:
        Peak-to-peak ripple, V.

    Raises:
        ValueError: current below zero, capacitance or frequency not above zero.

    Source:
        Charge balance, common practice, no source; 50 to 80 % from circuit simulation (ngspice).

    Example:
        >>> round(ripple_bound(current=1.0, capacitance=4700e-6, frequency=50.0), 3)
        2.128
    """
    require(current >= 0, "current must not be below zero")
    require(capacitance > 0, "capacitance must be above zero")
    require(frequency > 0, "frequency must be above zero")
    return current / (2.0 * frequency * capacitance)


def peak_voltage(secondary_voltage: Number, diode_drop: Number = 0.9) -> Number:
    """Highest DC voltage of a loaded bridge with a reservoir capacitor.

    ``sqrt(2) Vac - 2 Vd``, never below zero. Two diodes conduct at a time; 0.9 V each suits the current
    peaks of a silicon bridge.

    Args:
        secondary_voltage: RMS voltage of the winding, V.
        diode_drop: forward drop of one diode, V.

    Returns:
        Peak of the DC voltage, V.

    Raises:
        ValueError: a voltage below zero.

    Source:
        Common practice, no source.

    Example:
        >>> round(peak_voltage(secondary_voltage=12.0), 2)
        15.17
    """
    require(secondary_voltage >= 0, "secondary voltage must not be below zero")
    require(diode_drop >= 0, "diode drop must not be below zero")
    return larger(SQRT2 * secondary_voltage - 2.0 * diode_drop, 0.0)


def trough_voltage(
    secondary_voltage: Number,
    current: Number,
    capacitance: Number,
    frequency: Number,
    diode_drop: Number = 0.9,
) -> Number:
    """DC voltage between two charging peaks of a bridge, by the bench rule.

    Peak less :func:`ripple_bound`. The rule takes the winding's voltage for a pure sine of the given RMS
    value. Under load the charging pulses flatten its top, so a soft transformer near its rating falls below
    this by several per cent, and more with a large capacitor: for a proof use
    :func:`fitter.physics.loaded_rectifier.trough_bound`.
    A result below zero says that the capacitor runs empty; it is not cut off, so that it stays monotone.

    Args:
        secondary_voltage: RMS voltage of the winding, V.
        current: DC load current, A.
        capacitance: reservoir capacitor, F.
        frequency: mains frequency, Hz.
        diode_drop: forward drop of one diode, V.

    Returns:
        DC voltage at the end of the discharge, V.

    Raises:
        ValueError: as for :func:`peak_voltage` and :func:`ripple_bound`.

    Source:
        Common practice, no source.

    Example:
        >>> round(trough_voltage(secondary_voltage=12.0, current=1.0, capacitance=4700e-6, frequency=50.0), 2)
        13.04
    """
    return peak_voltage(secondary_voltage, diode_drop) - ripple_bound(current, capacitance, frequency)


def average_voltage(peak: Number, ripple: Number) -> Number:
    """Mean DC voltage between peak and trough of a triangular ripple.

    ``Vp - Vpp / 2``.

    Args:
        peak: highest DC voltage, V.
        ripple: peak-to-peak ripple, V.

    Returns:
        Mean voltage, V.

    Source:
        Fardo and Patrick, Electrical Power Systems Technology, ch. "Direct Current Power Systems", p. 193.

    Example:
        >>> average_voltage(peak=34.0, ripple=1.5)
        33.25
    """
    return peak - ripple / 2.0


def no_load_voltage(secondary_voltage: Number, regulation: Number, diode_drop: Number = 0.6) -> Number:
    """Highest DC voltage, with the transformer unloaded: what capacitors and regulators must stand.

    ``sqrt(2) Vac (1 + regulation) - 2 Vd``; at next to no current a silicon diode drops about 0.6 V.
    Give the winding voltage at high mains for the worst case.

    Args:
        secondary_voltage: RMS voltage of the winding at rated load, V.
        regulation: rise from full load to no load over the full-load voltage, ratio (0.1 for 10 %).
        diode_drop: forward drop of one diode at tiny current, V.

    Returns:
        DC voltage, V.

    Raises:
        ValueError: voltage or regulation below zero.

    Source:
        Regulation as in :func:`regulation`; the rest common practice, no source.

    Example:
        >>> round(no_load_voltage(secondary_voltage=18.0, regulation=0.1), 2)
        26.8
    """
    require(regulation >= 0, "regulation must not be below zero")
    return peak_voltage(secondary_voltage * (1.0 + regulation), diode_drop)


def direct_current_limit(alternating_current: Number, factor: Number) -> Number:
    """Highest DC current that keeps a transformer within its RMS current rating.

    ``Idc = k Iac``: the winding heats with the RMS of short charging pulses, which is well above the DC
    current. For ``k`` see :func:`direct_current_factor_range`; other circuits have other factors,
    listed in :data:`fitter.physics.transformers.MULTIPLIERS`.

    Args:
        alternating_current: rated RMS current of the winding, A.
        factor: DC over AC current, ratio.

    Returns:
        DC current, A.

    Raises:
        ValueError: current below zero or factor outside 0..2.

    Source:
        Hammond Manufacturing, "Design Guide for Rectifier Use".

    Example:
        >>> direct_current_limit(alternating_current=5.0, factor=0.62)
        3.1
    """
    require(alternating_current >= 0, "current must not be below zero")
    require((factor > 0) & (factor <= 2), "factor must be above zero and at most 2")
    return alternating_current * factor


def direct_current_factor_range(regulation: Number) -> tuple[Number, Number]:
    """Range of DC over AC current for a bridge with reservoir capacitor, from the transformer's regulation.

    A stiff transformer charges in short, high pulses, so its factor is low: about 0.46 at 2 % regulation,
    0.62 at 19 %. The range covers windings of 6 to 36 V, every usual capacitor and some leakage reactance,
    for 0.3 to 50 % regulation. A transformer with much leakage may do better.

    Args:
        regulation: rise from full load to no load over the full-load voltage, ratio.

    Returns:
        Least and greatest DC over AC current, ratios.

    Raises:
        ValueError: regulation below zero.

    Range:
        regulation: 0.3 % (:data:`LEAST_REGULATION`) to 50 %; level beyond, which is safe above only.

    Source:
        Own circuit simulation (ngspice), the tests repeat it. It holds the published 1/1.8 (Petra-Toroid,
        at 8 %) and 0.62 (Hammond, at 19 %).

    Example:
        >>> low, high = direct_current_factor_range(regulation=0.19)
        >>> round(low, 2), round(high, 2)
        (0.61, 0.67)
    """
    require(regulation >= 0, "regulation must not be below zero")
    return interpolate(regulation, *_LEAST_FACTOR), interpolate(regulation, *_GREATEST_FACTOR)


def rms_ripple(peak_to_peak: Number) -> Number:
    """RMS value of a triangular ripple.

    ``Vpp / (2 sqrt(3))``; within 0.5 % of the book rule ``2.4 I_mA / C_uF`` at 60 Hz.

    Args:
        peak_to_peak: ripple from top to bottom, V.

    Returns:
        RMS ripple, V.

    Source:
        Fardo and Patrick, Electrical Power Systems Technology, ch. "Direct Current Power Systems", p. 196.

    Example:
        >>> round(rms_ripple(peak_to_peak=ripple_bound(0.8, 300e-6, 60.0)), 2)
        6.42
    """
    return peak_to_peak / (2.0 * math.sqrt(3.0))


def capacitance_for_ripple(current: Number, ripple: Number, frequency: Number) -> Number:
    """Reservoir capacitor that surely keeps the ripple of a full-wave rectifier within a limit.

    The inverse of :func:`ripple_bound`: ``C = I / (2 f dV)``. Electrolytics may be 20 % below their print;
    allow for that outside.

    Args:
        current: DC load current, A.
        ripple: peak-to-peak ripple allowed, V.
        frequency: mains frequency, Hz.

    Returns:
        Capacitance, F.

    Raises:
        ValueError: current below zero, ripple or frequency not above zero.

    Source:
        Common practice, no source.

    Example:
        >>> round(capacitance_for_ripple(current=1.5, ripple=3.0, frequency=50.0) * 1e6)
        5000
    """
    require(ripple > 0, "ripple must be above zero")
    return ripple_bound(current, ripple, frequency)  # the formula is its own inverse


def regulation(no_load: Number, full_load: Number) -> Number:
    """How far a transformer's voltage rises when the load is taken off.

    ``(Vnl - Vfl) / Vfl``. Some makers divide by the no-load voltage, which gives a smaller figure.

    Args:
        no_load: RMS voltage without load, V.
        full_load: RMS voltage at rated load, V.

    Returns:
        Regulation, ratio.

    Raises:
        ValueError: full-load voltage not above zero.

    Source:
        Talema, application note "Regulation".

    Example:
        >>> regulation(no_load=11.0, full_load=10.0)
        0.1
    """
    require(full_load > 0, "full-load voltage must be above zero")
    return (no_load - full_load) / full_load


def core_volt_amperes(core_area: Number, frequency: Number) -> Number:
    """Apparent power of an unlabelled mains transformer from its iron.

    ``A_in2 = sqrt(60 / f) sqrt(VA) / 5.58`` solved for VA. EI laminations of 20 to 500 VA; the area is
    stack height times tongue width (the tongue is twice a side leg). Toroids and UI cores differ; allow
    30 % either way.

    Args:
        core_area: cross-section of the middle leg, m^2.
        frequency: mains frequency, Hz.

    Returns:
        Apparent power, VA.

    Raises:
        ValueError: area below zero, or frequency not above zero.

    Source:
        Reference Data for Radio Engineers, 2nd ed. (1946), as quoted for surplus transformers.

    Example:
        >>> round(core_volt_amperes(core_area=645.16e-6, frequency=50.0), 1)
        25.9
    """
    require(core_area >= 0, "core area must not be below zero")
    require(frequency > 0, "frequency must be above zero")
    square_inches = core_area / 0.0254**2
    return (5.58 * square_inches) ** 2 * frequency / 60.0


def mains_range(nominal: Number, low: Number = MAINS_LOW, high: Number = MAINS_HIGH) -> tuple[Number, Number]:
    """Least and greatest voltage to expect at a mains socket.

    ``nominal * low`` and ``nominal * high``; +-10 % unless told.

    Args:
        nominal: nominal RMS voltage, V.
        low: least over nominal voltage, ratio.
        high: greatest over nominal voltage, ratio.

    Returns:
        Least and greatest RMS voltage, V.

    Raises:
        ValueError: nominal voltage below zero, or low above high.

    Source:
        IEC 60038 (230 V +-10 %).

    Example:
        >>> low, high = mains_range(nominal=230.0)
        >>> round(low, 1), round(high, 1)
        (207.0, 253.0)
    """
    require(nominal >= 0, "nominal voltage must not be below zero")
    require(low <= high, "low must not be above high")
    return nominal * low, nominal * high
