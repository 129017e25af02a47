"""Transformer, bridge and reservoir capacitor: what DC comes out, and what the transformer must carry.

All formulas take SI values, numbers or arrays. "Secondary voltage" is the RMS voltage of the winding
at rated load; allow for the mains with :data:`MAINS_LOW` and :data:`MAINS_HIGH`.
"""

from __future__ import annotations

import math

from fitter.physics._values import Number, interpolate, larger, require, root

SQRT2 = math.sqrt(2.0)
MAINS_LOW = 0.9  # IEC 60038: 230 V +-10 %
MAINS_HIGH = 1.1

DIRECT_CURRENT_FACTOR_LOW = 0.55  # 1/1.8, Petra-Toroid, "Methods of determining secondary current ratings"
DIRECT_CURRENT_FACTOR_HIGH = 0.62  # Hammond, "Design Guide for Rectifier Use", bridge, capacitor input
DIRECT_CURRENT_FACTOR_STIFF = 0.46  # circuit simulation, transformer of 2 % regulation

# Circuit simulation of a 12 V winding, bridge, 4700 uF, 1 A at 50 Hz, source resistance 0.05 to 1.5 ohm;
# regulation is the drop of that resistance at the simulated RMS current over the loaded voltage.
_REGULATION = (0.0095, 0.0184, 0.0351, 0.0821, 0.1594, 0.1912, 0.2403)
_CURRENT_FACTOR = (0.442, 0.461, 0.491, 0.549, 0.606, 0.623, 0.645)
_FACTOR_SPREAD = 0.06


def ripple_bound(current: Number, capacitance: Number, frequency: Number) -> Number:
    """Upper bound of the peak-to-peak ripple after a full-wave rectifier.

    ``dV = I / (2 f C)``: the capacitor alone feeds the load for a whole half cycle. The diodes conduct
    for part of it, so the real ripple is 50 to 80 % of this; good for proving that a ripple is small
    enough, not for predicting it.

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
    """Lower bound of the DC voltage between two charging peaks of a bridge.

    Peak less :func:`ripple_bound`, so it is on the safe side of the ripple. The sag of the transformer is
    not in it: give the winding voltage at that load, at low mains for the worst case. A result below zero
    says that the capacitor runs empty; it is not cut off, so that the bound stays monotone.

    Args:
        secondary_voltage: RMS voltage of the winding, V.
        current: DC load current, A.
        capacitance: reservoir capacitor, F.
        frequency: mains frequency, Hz.
        diode_drop: forward drop of one diode, V.

    Returns:
        Least DC voltage, V.

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

    A stiff transformer charges in short, high pulses, so its factor is low: 0.46 at 2 % regulation, 0.62
    at 19 %. Straight lines between simulated points, 6 % either way for other voltages, diodes and
    capacitor sizes. Points span 1 to 24 % regulation; the factor is held level beyond.

    Args:
        regulation: rise from full load to no load over the full-load voltage, ratio.

    Returns:
        Least and greatest DC over AC current, ratios.

    Raises:
        ValueError: regulation below zero.

    Source:
        Own circuit simulation (ngspice): 12 V, 4700 uF, 1 A, 50 Hz. Agrees with the published 1/1.8
        (Petra-Toroid) and 0.62 (Hammond) for 8 and 19 % regulation.

    Example:
        >>> low, high = direct_current_factor_range(regulation=0.1912)
        >>> round(low, 3), round(high, 3)
        (0.586, 0.66)
    """
    require(regulation >= 0, "regulation must not be below zero")
    middle = interpolate(regulation, _REGULATION, _CURRENT_FACTOR)
    return middle * (1.0 - _FACTOR_SPREAD), middle * (1.0 + _FACTOR_SPREAD)


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


def half_wave_capacitance(peak: Number, ripple: Number, frequency: Number, load_resistance: Number) -> Number:
    """Capacitor of a half-wave peak rectifier for a small ripple.

    ``C = Vp / (Vr f R)``, ideal diode, ripple well below the peak.

    Args:
        peak: peak of the input, V.
        ripple: peak-to-peak ripple, V.
        frequency: supply frequency, Hz.
        load_resistance: load, ohm.

    Returns:
        Capacitance, F.

    Raises:
        ValueError: ripple, frequency or resistance not above zero.

    Source:
        Sedra and Smith, Microelectronic Circuits, section on the rectifier with a filter capacitor;
        from memory.

    Example:
        >>> round(half_wave_capacitance(peak=100.0, ripple=2.0, frequency=60.0, load_resistance=1e4) * 1e6, 1)
        83.3
    """
    require(ripple > 0, "ripple must be above zero")
    require(frequency > 0, "frequency must be above zero")
    require(load_resistance > 0, "load resistance must be above zero")
    return peak / (ripple * frequency * load_resistance)


def conduction_angle(peak: Number, ripple: Number) -> Number:
    """Part of the cycle in which the diode of a peak rectifier conducts.

    ``wt = sqrt(2 Vr / Vp)``, ideal diode, ripple well below the peak.

    Args:
        peak: peak of the input, V.
        ripple: peak-to-peak ripple, V.

    Returns:
        Angle, rad.

    Raises:
        ValueError: ripple below zero, or peak not above zero.

    Source:
        Sedra and Smith, as for :func:`half_wave_capacitance`; from memory.

    Example:
        >>> conduction_angle(peak=100.0, ripple=2.0)
        0.2
    """
    require(ripple >= 0, "ripple must not be below zero")
    require(peak > 0, "peak must be above zero")
    return root(2.0 * ripple / peak)


def diode_current(load_current: Number, peak: Number, ripple: Number) -> tuple[Number, Number]:
    """Mean during conduction, and greatest, current of the diode of a half-wave peak rectifier.

    ``I (1 + pi sqrt(2 Vp / Vr))`` and ``I (1 + 2 pi sqrt(2 Vp / Vr))``; ideal diode and source, so an
    upper bound where winding resistance softens the pulse.

    Args:
        load_current: DC load current, A.
        peak: peak of the input, V.
        ripple: peak-to-peak ripple, V.

    Returns:
        Mean current while conducting and peak current, A.

    Raises:
        ValueError: ripple not above zero, or peak below zero.

    Source:
        Sedra and Smith, as for :func:`half_wave_capacitance`; from memory.

    Example:
        >>> mean, most = diode_current(load_current=0.01, peak=100.0, ripple=2.0)
        >>> round(mean, 3), round(most, 3)
        (0.324, 0.638)
    """
    require(ripple > 0, "ripple must be above zero")
    require(peak >= 0, "peak must not be below zero")
    pulse = math.pi * root(2.0 * peak / ripple)
    return load_current * (1.0 + pulse), load_current * (1.0 + 2.0 * pulse)


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
