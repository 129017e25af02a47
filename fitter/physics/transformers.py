"""Rectifier circuits other than the plain bridge, and what each takes from its transformer."""

from __future__ import annotations

import math
from typing import NamedTuple

from fitter.physics._values import Number, require, root


class Multiplier(NamedTuple):
    """What one rectifier circuit yields per volt and ampere of the winding, diode drops not included.

    ``peak`` and ``average`` are DC volts over RMS volts (of the whole winding when centre-tapped),
    ``current`` is the highest DC current over the rated RMS current; ``peak`` is None without a capacitor.
    """

    peak: float | None
    average: float
    current: float


# Hammond Manufacturing, "Design Guide for Rectifier Use". The capacitor-input averages hold together
# with their current factor: a small transformer of 16 to 20 % regulation.
MULTIPLIERS = {
    "half wave, resistive": Multiplier(None, 0.45, 0.64),
    "half wave, capacitor": Multiplier(1.41, 0.90, 0.28),
    "centre tap, resistive": Multiplier(None, 0.45, 1.27),
    "centre tap, capacitor": Multiplier(0.71, 0.45, 1.00),
    "centre tap, choke": Multiplier(None, 0.45, 1.54),
    "bridge, resistive": Multiplier(None, 0.90, 0.90),
    "bridge, capacitor": Multiplier(1.41, 0.90, 0.62),
    "bridge, choke": Multiplier(None, 0.90, 0.94),
}


class TransformerNeed(NamedTuple):
    """The transformer that a DC load asks for: volts and amperes RMS, and volt-amperes of the core."""

    voltage: Number
    current: Number
    apparent_power: Number


def bridge_transformer(direct_voltage: Number, direct_current: Number) -> TransformerNeed:
    """Transformer for a bridge with reservoir capacitor, by a maker's rule.

    ``Vac = 0.8 (Vdc + 2)``, ``Iac = 1.8 Idc``, ``VA = 1.4 (Vdc Idc + 2 Idc)``; two diode drops of 1 V.

    Args:
        direct_voltage: DC output, V.
        direct_current: DC load, A.

    Returns:
        RMS volts, RMS amperes, and volt-amperes.

    Raises:
        ValueError: voltage or current below zero.

    Source:
        Petra-Toroid, "Methods of determining secondary current ratings in D.C. circuits".

    Example:
        >>> [round(x, 1) for x in bridge_transformer(direct_voltage=12.0, direct_current=1.0)]
        [11.2, 1.8, 19.6]
    """
    require(direct_voltage >= 0, "voltage must not be below zero")
    require(direct_current >= 0, "current must not be below zero")
    behind_diodes = direct_voltage + 2.0
    return TransformerNeed(0.8 * behind_diodes, 1.8 * direct_current, 1.4 * behind_diodes * direct_current)


def centre_tap_transformer(
    direct_voltage: Number, direct_current: Number, capacitor: bool = True
) -> TransformerNeed:
    """Transformer for a centre-tapped full-wave rectifier, by a maker's rule.

    With capacitor: ``Vac = 1.7 (Vdc + 1)``, ``Iac = 1.2 Idc``, ``VA = 1.7 (Vdc + 1) Idc``; without: 2.2,
    0.8 and 1.4. One diode drop of 1 V.

    Args:
        direct_voltage: DC output, V.
        direct_current: DC load, A.
        capacitor: whether a reservoir capacitor follows the diodes.

    Returns:
        RMS volts from end to end, RMS amperes, and volt-amperes.

    Raises:
        ValueError: voltage or current below zero.

    Source:
        ATC-Frost Magnetics, "Method of Determining Secondary Current Ratings in D.C. Circuits".

    Example:
        >>> [round(x, 1) for x in centre_tap_transformer(direct_voltage=5.0, direct_current=2.0)]
        [10.2, 2.4, 20.4]
    """
    require(direct_voltage >= 0, "voltage must not be below zero")
    require(direct_current >= 0, "current must not be below zero")
    volts, amperes, core = (1.7, 1.2, 1.7) if capacitor else (2.2, 0.8, 1.4)
    winding = direct_voltage + 1.0
    return TransformerNeed(volts * winding, amperes * direct_current, core * winding * direct_current)


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
