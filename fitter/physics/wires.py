"""Wire, traces and fuses: size, resistance, what they carry, and what they lose."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

from fitter.physics._values import Number, interpolate, log, power, require

COPPER_RESISTIVITY = 1.7241e-8  # ohm m at 20 degC, annealed copper standard
CIRCULAR_MIL = math.pi / 4.0 * 25.4e-6**2  # m^2

# Amperes by gauge: single wire in free air, and the careful 700 circular mils per ampere for bundles and
# coils. "Handbook of Electronic Tables and Formulas", AWG table, as reproduced by NCAR/EOL.
AWG_FREE_AIR_CURRENT: Mapping[int, float] = MappingProxyType(
    {10: 55, 12: 41, 14: 32, 16: 22, 18: 16, 20: 11, 22: 7, 24: 3.5, 26: 2.2, 28: 1.4, 30: 0.86}
)
AWG_BUNDLED_CURRENT: Mapping[int, float] = MappingProxyType(
    {
        10: 15,
        12: 9.3,
        14: 5.9,
        16: 3.7,
        18: 2.3,
        20: 1.5,
        22: 0.92,
        24: 0.577,
        26: 0.361,
        28: 0.226,
        30: 0.142,
    }
)

# IEC 60228, class 5: cross-section mm^2 to greatest ohm/km at 20 degC, plain and tinned strands.
FLEXIBLE_CABLE: Mapping[float, tuple[float, float]] = MappingProxyType(
    {
        0.25: (76.0, 79.0),
        0.34: (53.0, 56.0),
        0.5: (39.0, 40.1),
        0.75: (26.0, 26.7),
        1.0: (19.5, 20.0),
        1.5: (13.3, 13.7),
        2.5: (7.98, 8.21),
        4.0: (4.95, 5.09),
        6.0: (3.3, 3.39),
        10.0: (1.91, 1.95),
    }
)

UL_FUSE_LOADING = 0.75  # Littelfuse (L. Lundy, EDN, 26 Sep 1996): UL 248-14 fuses at 25 degC
IEC_FUSE_LOADING = 1.0  # IEC 60127 fuses may carry their rating

# UL 248-14 (Littelfuse, Fuseology Selection Guide, p. 12): seconds within which a fuse must open at a
# multiple of its rating; at 1.00 it must hold for ever.
UL_FUSE_OPENING_TIME: Mapping[float, float] = MappingProxyType({1.35: 3600.0, 2.0: 120.0})
UL_FUSE_OPENING_TIME_ABOVE_30_A: Mapping[float, float] = MappingProxyType({1.35: 3600.0, 2.0: 240.0})
UL_INTERRUPT_125_V = 10000.0  # A, the breaking capacity of every UL 248-14 fuse at 125 V
# The same at 250 V: rating up to (A) and breaking capacity (A).
UL_INTERRUPT_250_V = ((1.0, 35.0), (3.5, 100.0), (10.0, 200.0), (15.0, 750.0), (30.0, 1500.0))

# Littelfuse, fuse mounting catalogue, p. 12: pulses to be survived, and the part of the melting I2t that
# each may use.
_PULSES = (100.0, 1000.0, 10000.0, 100000.0)
_PULSE_PART = (0.48, 0.38, 0.29, 0.22)

# The same page: I2t of one pulse of peak i and length t is this factor times i^2 t.
PULSE_SHAPE: Mapping[str, float] = MappingProxyType(
    {
        "rectangle": 1.0,
        "half sine": 1.0 / 2.0,
        "triangle": 1.0 / 3.0,
        "parabola": 1.0 / 5.0,
        "exponential": 0.5,
    }
)

# IPC-2221 curve fit I = k dT^0.44 A^0.725, A in square mils (k of outer layers read on a minor page, that
# of inner layers and the exponents from memory).
_TRACE_OUTER = 0.048
_TRACE_INNER = 0.024
_SQUARE_MIL = 25.4e-6**2  # m^2
COPPER_OUNCE = 1.378 * 25.4e-6  # m, thickness of copper of one ounce a square foot


def gauge_diameter(gauge: Number) -> Number:
    """Diameter of a solid wire of an American Wire Gauge number.

    ``d = 0.005 in * 92^((36 - n) / 39)``; write 00 as -1, 000 as -2, 0000 as -3.

    Args:
        gauge: gauge number, from -3 (0000) to 50.

    Returns:
        Diameter, m.

    Raises:
        ValueError: gauge outside -3..50.

    Source:
        ASTM B258-02, definition.

    Example:
        >>> round(gauge_diameter(gauge=22) * 1e3, 3)
        0.644
    """
    require((gauge >= -3) & (gauge <= 50), "gauge must lie within -3 (0000) to 50")
    return 0.127e-3 * power(92.0, (36.0 - gauge) / 39.0)


def gauge_area(gauge: Number) -> Number:
    """Cross-section of a solid wire of an American Wire Gauge number.

    ``pi d^2 / 4``; stranded wire of the same number has about the same copper.

    Args:
        gauge: gauge number, from -3 (0000) to 50.

    Returns:
        Area, m^2.

    Raises:
        ValueError: gauge outside -3..50.

    Source:
        ASTM B258-02, definition.

    Example:
        >>> round(gauge_area(gauge=18) * 1e6, 3)
        0.823
    """
    return math.pi / 4.0 * power(gauge_diameter(gauge), 2)


def gauge_from_diameter(diameter: Number) -> Number:
    """American Wire Gauge number, not rounded, of a bare wire of known diameter.

    The inverse of :func:`gauge_diameter`. Measure the copper, not the insulation.

    Args:
        diameter: of the copper, m.

    Returns:
        Gauge number, not rounded.

    Raises:
        ValueError: diameter not above zero.

    Source:
        ASTM B258-02, definition.

    Example:
        >>> round(gauge_from_diameter(diameter=0.127e-3), 6)
        36.0
    """
    require(diameter > 0, "diameter must be above zero")
    return 36.0 - 39.0 * log(diameter / 0.127e-3) / math.log(92.0)


def wire_resistance(length: Number, area: Number, resistivity: Number = COPPER_RESISTIVITY) -> Number:
    """Resistance of a conductor at 20 degC.

    ``rho l / A``. Flexible cable is up to 16 % above this by its lay and tolerance: see
    :data:`FLEXIBLE_CABLE`.

    Args:
        length: of the conductor (both ways for a pair), m.
        area: cross-section of the metal, m^2.
        resistivity: of the metal, ohm m.

    Returns:
        Resistance, ohm.

    Raises:
        ValueError: length below zero, area or resistivity not above zero.

    Source:
        Ohm's law; resistivity of the annealed copper standard.

    Example:
        >>> round(wire_resistance(length=1000.0, area=gauge_area(18)), 2)
        20.95
    """
    require(length >= 0, "length must not be below zero")
    require(area > 0, "area must be above zero")
    require(resistivity > 0, "resistivity must be above zero")
    return resistivity * length / area


def cable_drop(
    one_way_length: Number, current: Number, area: Number, resistivity: Number = COPPER_RESISTIVITY
) -> Number:
    """Voltage lost in a two-wire cable, out and back.

    ``2 l I rho / A``.

    Args:
        one_way_length: of the cable, m.
        current: A.
        area: cross-section of one wire, m^2.
        resistivity: of the metal, ohm m.

    Returns:
        Voltage, V.

    Raises:
        ValueError: as for :func:`wire_resistance`.

    Source:
        Ohm's law, common practice, no source.

    Example:
        >>> round(cable_drop(one_way_length=20.0, current=1.0, area=1.3e-6, resistivity=1.785e-8), 3)
        0.549
    """
    return current * wire_resistance(2.0 * one_way_length, area, resistivity)


def bundled_current(area: Number) -> Number:
    """Careful current of a wire in a bundle or coil: 700 circular mils an ampere.

    About 2.8 A/mm^2. A single short wire in free air carries far more (:data:`AWG_FREE_AIR_CURRENT`).

    Args:
        area: cross-section of the metal, m^2.

    Returns:
        Current, A.

    Raises:
        ValueError: area below zero.

    Source:
        "Handbook of Electronic Tables and Formulas", AWG table, as reproduced by NCAR/EOL.

    Example:
        >>> round(bundled_current(area=1e-6), 2)
        2.82
    """
    require(area >= 0, "area must not be below zero")
    return area / CIRCULAR_MIL / 700.0


def resistance_to_20_celsius(temperature: Number) -> Number:
    """Factor that carries a copper conductor's measured resistance to 20 degC.

    ``1 / (1 + 0.004 (T - 20 degC))``, the standard's rounded coefficient; 5 to 100 degC.

    Args:
        temperature: of the conductor at the measurement, K.

    Returns:
        Factor.

    Raises:
        ValueError: temperature at or below 43.15 K, where the line has no meaning.

    Source:
        IEC 60228, annex with temperature correction factors.

    Example:
        >>> round(resistance_to_20_celsius(temperature=323.15), 3)
        0.893
    """
    above = temperature - 43.15  # 230 K above 0 degC: 250 / (230 + T)
    require(above > 0, "temperature must be in kelvin")
    return 250.0 / above


def fuse_rating_needed(current: Number, loading: Number = UL_FUSE_LOADING) -> Number:
    """Least fuse rating for a steady current.

    ``I / loading``: 0.75 for UL types, 1 for IEC types, both at 25 degC; more in warm boxes.

    Args:
        current: normal operating current, A.
        loading: part of the rating that may flow for long, ratio.

    Returns:
        Rating, A.

    Raises:
        ValueError: current below zero, or loading outside 0..1.

    Source:
        L. Lundy (Littelfuse), EDN, 26 Sep 1996.

    Example:
        >>> fuse_rating_needed(current=1.5)
        2.0
    """
    require(current >= 0, "current must not be below zero")
    require((loading > 0) & (loading <= 1), "loading must be above zero and at most 1")
    return current / loading


def pulse_energy(peak_current: Number, duration: Number, shape: str = "rectangle") -> Number:
    """I2t of one current pulse.

    ``k i^2 t`` with ``k`` by shape (:data:`PULSE_SHAPE`); the length of an exponential is its time constant.

    Args:
        peak_current: A.
        duration: s.
        shape: one of ``rectangle``, ``half sine``, ``triangle``, ``parabola``, ``exponential``.

    Returns:
        I2t, A^2 s.

    Raises:
        ValueError: duration below zero, or an unknown shape.

    Source:
        Littelfuse, fuse mounting catalogue, p. 12, chart 1.

    Example:
        >>> pulse_energy(peak_current=10.0, duration=0.01, shape="half sine")
        0.5
    """
    require(duration >= 0, "duration must not be below zero")
    if shape not in PULSE_SHAPE:
        raise ValueError(f"unknown pulse shape {shape!r}; one of {', '.join(PULSE_SHAPE)}")
    return PULSE_SHAPE[shape] * peak_current * peak_current * duration


def melting_energy_needed(pulse: Number, pulses: Number) -> Number:
    """Least melting I2t of a fuse that must survive a number of equal pulses.

    ``I2t / part`` with the part of the melting value that so many pulses may use: 48 % for 100 pulses,
    22 % for 100 000; straight lines on the logarithm between.

    Args:
        pulse: I2t of one pulse (:func:`pulse_energy`), A^2 s.
        pulses: how many it must survive.

    Returns:
        Melting I2t, A^2 s.

    Raises:
        ValueError: I2t below zero, or fewer than one pulse.

    Range:
        pulses: 100 to 100 000; level beyond, which is safe below only.

    Source:
        Littelfuse, fuse mounting catalogue, p. 12, chart 2.

    Example:
        >>> round(melting_energy_needed(pulse=0.22, pulses=100000), 3)
        1.0
    """
    require(pulse >= 0, "I2t must not be below zero")
    require(pulses >= 1, "at least one pulse")
    logs = tuple(math.log(n) for n in _PULSES)
    return pulse / interpolate(log(pulses), logs, _PULSE_PART)


def trace_area(current: Number, rise: Number, inner: bool = False) -> Number:
    """Cross-section of a circuit-board trace for a current and a temperature rise.

    ``A = (I / (k dT^0.44))^(1 / 0.725)`` in square mils, ``k`` 0.048 outside and 0.024 inside the board.
    Not the older IPC-D-275 fit, which asks for less outside and more inside.

    Args:
        current: A.
        rise: of the trace over the board, K.
        inner: whether the trace lies inside the board.

    Returns:
        Area, m^2.

    Raises:
        ValueError: current below zero, or rise not above zero.

    Range:
        current: up to 35 A.
        rise: 10 to 100 K.

    Source:
        IPC-2221 curve fit (constants partly from memory).

    Example:
        >>> round(trace_area(current=1.0, rise=10.0) / 25.4e-6**2, 1)
        16.3
    """
    require(current >= 0, "current must not be below zero")
    require(rise > 0, "rise must be above zero")
    constant = _TRACE_INNER if inner else _TRACE_OUTER
    return _SQUARE_MIL * power(current / (constant * power(rise, 0.44)), 1.0 / 0.725)


def trace_width(
    current: Number, rise: Number, thickness: Number = COPPER_OUNCE, inner: bool = False
) -> Number:
    """Width of a circuit-board trace for a current and a temperature rise.

    :func:`trace_area` over the copper's thickness; one ounce of copper is 35 um.

    Args:
        current: A.
        rise: of the trace over the board, K.
        thickness: of the copper, m.
        inner: whether the trace lies inside the board.

    Returns:
        Width, m.

    Raises:
        ValueError: as for :func:`trace_area`, or thickness not above zero.

    Range:
        current: up to 35 A.
        rise: 10 to 100 K.

    Source:
        As for :func:`trace_area`.

    Example:
        >>> round(trace_width(current=1.0, rise=10.0) * 1e3, 2)
        0.3
    """
    require(thickness > 0, "thickness must be above zero")
    return trace_area(current, rise, inner) / thickness
