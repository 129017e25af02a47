"""Battery packs: voltage windows by chemistry, run time, and sag under load."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from fitter.physics._values import Number, log, power, require


class CellWindow(NamedTuple):
    """Voltages of one cell, V: empty (stop here), nominal, full (end of charge)."""

    empty: float
    nominal: float
    full: float


# solfamonline.nl and scelto.co.za summaries for lead, iron phosphate and lithium ion; makers put the
# lithium cut-off at 2.5 to 3.0 V. Nickel and alkaline cells: common practice, no source.
CELLS: Mapping[str, CellWindow] = MappingProxyType(
    {
        "lead acid": CellWindow(1.75, 2.0, 14.5 / 6.0),
        "lithium ion": CellWindow(3.0, 3.7, 4.2),
        "lithium iron phosphate": CellWindow(2.5, 3.2, 3.65),
        "nickel metal hydride": CellWindow(1.0, 1.2, 1.45),
        "nickel cadmium": CellWindow(1.0, 1.2, 1.45),
        "alkaline": CellWindow(0.9, 1.5, 1.6),
    }
)

LITHIUM_REJECT_VOLTAGE = 2.0  # V; a lithium cell found below is scrap. Common practice, no source
PEUKERT_LEAD_ACID = 1.25  # default exponent, Xantrex Link 20 manual, p. 26


def cell_window(chemistry: str) -> CellWindow:
    """Voltage window of one cell.

    Args:
        chemistry: one of the names in :data:`CELLS`, spaces or underscores, any case.

    Returns:
        Voltages when empty, nominal and full, V.

    Raises:
        ValueError: an unknown chemistry.

    Source:
        See :data:`CELLS`.

    Example:
        >>> cell_window("lithium_ion")
        CellWindow(empty=3.0, nominal=3.7, full=4.2)
    """
    name = chemistry.strip().lower().replace("_", " ").replace("-", " ")
    if name not in CELLS:
        raise ValueError(f"unknown chemistry {chemistry!r}; one of {', '.join(CELLS)}")
    return CELLS[name]


def pack_window(chemistry: str, cells: Number) -> tuple[Number, Number, Number]:
    """Voltage window of cells in series.

    ``n`` times the cell's; what the pack feeds must stand full and still work at empty.

    Args:
        chemistry: one of the names in :data:`CELLS`.
        cells: in series.

    Returns:
        Voltages when empty, nominal and full, V.

    Raises:
        ValueError: an unknown chemistry, or fewer than one cell.

    Source:
        solfamonline.nl, scelto.co.za (4 cells of iron phosphate: 10.0, 12.8, 14.6 V).

    Example:
        >>> pack_window("lithium iron phosphate", cells=4)
        (10.0, 12.8, 14.6)
    """
    require(cells >= 1, "a pack has at least one cell")
    window = cell_window(chemistry)
    return cells * window.empty, cells * window.nominal, cells * window.full


def run_time(capacity: Number, current: Number, usable: Number = 0.8) -> Number:
    """Time a pack lasts at a steady current, no rate effect.

    ``usable Q / I``; fair for lithium cells. Lead at high current lasts shorter: use the Peukert forms.

    Args:
        capacity: A s (1 Ah = 3600 A s).
        current: A.
        usable: part of the capacity to be used, ratio.

    Returns:
        Time, s.

    Raises:
        ValueError: capacity below zero, current not above zero, or usable part outside 0..1.

    Source:
        Charge balance; 80 %: common practice, no source.

    Example:
        >>> run_time(capacity=2.0 * 3600, current=0.5) / 3600
        3.2
    """
    require(capacity >= 0, "capacity must not be below zero")
    require(current > 0, "current must be above zero")
    require((usable >= 0) & (usable <= 1), "usable part must lie within 0 to 1")
    return usable * capacity / current


def peukert_one_ampere_time(capacity: Number, current: Number, exponent: Number) -> Number:
    """Time a lead battery lasts, with its capacity stated at one ampere (the old form).

    ``t = C / I^k`` in ampere-hours, amperes and hours. With the capacity stated at a rated time, as on every
    label now, use :func:`peukert_rated_time`: the two differ widely.

    Args:
        capacity: at 1 A, A s.
        current: A.
        exponent: Peukert's, 1.05 to 1.4.

    Returns:
        Time, s.

    Raises:
        ValueError: capacity below zero, current not above zero, or exponent below 1.

    Source:
        Peukert's law in its old form, electrotechnik.net.

    Example:
        >>> round(peukert_one_ampere_time(capacity=100 * 3600, current=5.0, exponent=1.2) / 3600, 2)
        14.5
    """
    require(capacity >= 0, "capacity must not be below zero")
    require(current > 0, "current must be above zero")
    require(exponent >= 1, "exponent must not be below 1")
    return capacity / power(current, exponent)


def peukert_rated_time(
    capacity: Number, rated_time: Number, current: Number, exponent: Number = PEUKERT_LEAD_ACID
) -> Number:
    """Time a lead battery lasts, with its capacity stated at a rated time.

    ``t = H (C / (I H))^k``; gives the rated time at the rated current.

    Args:
        capacity: at the rated time, A s.
        rated_time: usually 20 h, s.
        current: A.
        exponent: Peukert's, 1.05 to 1.4.

    Returns:
        Time, s.

    Raises:
        ValueError: capacity below zero, a time or current not above zero, or exponent below 1.

    Source:
        Peukert's law as used today; from memory.

    Example:
        >>> peukert_rated_time(capacity=100 * 3600, rated_time=20 * 3600, current=5.0) / 3600
        20.0
    """
    require(capacity >= 0, "capacity must not be below zero")
    require(rated_time > 0, "rated time must be above zero")
    require(current > 0, "current must be above zero")
    require(exponent >= 1, "exponent must not be below 1")
    return rated_time * power(capacity / (current * rated_time), exponent)


def peukert_exponent(
    first_current: Number, first_time: Number, second_current: Number, second_time: Number
) -> Number:
    """Peukert's exponent from two discharge tests.

    ``(log t2 - log t1) / (log I1 - log I2)``.

    Args:
        first_current: A.
        first_time: s.
        second_current: A.
        second_time: s.

    Returns:
        Exponent.

    Raises:
        ValueError: a value not above zero, or equal currents.

    Source:
        Xantrex Link 20 manual, p. 26.

    Example:
        >>> round(peukert_exponent(5.0, 20 * 3600, 20.0, 3 * 3600), 3)
        1.368
    """
    require((first_current > 0) & (second_current > 0), "currents must be above zero")
    require((first_time > 0) & (second_time > 0), "times must be above zero")
    require(first_current != second_current, "the two tests need different currents")
    return log(second_time / first_time) / log(first_current / second_current)


def pack_resistance(rest_voltage: Number, loaded_voltage: Number, current: Number) -> Number:
    """Inner resistance of a pack from its sag under a test load.

    ``(V0 - V) / I``, read after some seconds.

    Args:
        rest_voltage: without load, V.
        loaded_voltage: with the load, V.
        current: of the load, A.

    Returns:
        Resistance, ohm.

    Raises:
        ValueError: current not above zero.

    Source:
        Common practice, no source.

    Example:
        >>> pack_resistance(rest_voltage=12.5, loaded_voltage=12.0, current=5.0)
        0.1
    """
    require(current > 0, "current must be above zero")
    return (rest_voltage - loaded_voltage) / current


def sagging_voltage(rest_voltage: Number, resistance: Number, current: Number) -> Number:
    """Voltage of a pack under load.

    ``V0 - R I``.

    Args:
        rest_voltage: without load, V.
        resistance: inner resistance of pack and leads, ohm.
        current: of the load, A.

    Returns:
        Voltage, V.

    Raises:
        ValueError: resistance below zero.

    Source:
        Common practice, no source.

    Example:
        >>> sagging_voltage(rest_voltage=12.5, resistance=0.1, current=5.0)
        12.0
    """
    require(resistance >= 0, "resistance must not be below zero")
    return rest_voltage - resistance * current
