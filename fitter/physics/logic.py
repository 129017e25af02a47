"""Small signals: logic levels, the photo-interrupter's resistors, and what connector pins carry."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from fitter.physics._values import Number, log, power, require


class LogicLevels(NamedTuple):
    """Worst-case levels of a logic family, V: supply, inputs read as low and high, outputs low and high."""

    supply: float
    input_low: float
    input_high: float
    output_low: float
    output_high: float


# avr-programmierung.com, table of TTL and CMOS levels.
LEVELS: Mapping[str, LogicLevels] = MappingProxyType(
    {
        "TTL 5 V": LogicLevels(5.0, 0.8, 2.0, 0.4, 2.4),
        "CMOS 5 V": LogicLevels(5.0, 1.5, 3.5, 0.5, 4.44),
        "CMOS 3.3 V": LogicLevels(3.3, 0.8, 2.0, 0.4, 2.4),
    }
)


class Match(NamedTuple):
    """Whether one logic family can drive another: levels suffice, and the input stands the supply."""

    levels: bool
    voltage: bool

    @property
    def works(self) -> bool:
        """Both hold, so no level shifter is needed."""
        return self.levels and self.voltage


# Usual amperes a circuit or pin (overviews of connector families; a free pin, not a full housing).
CONNECTOR_CURRENT: Mapping[str, float] = MappingProxyType(
    {
        "4.2 mm power connector": 9.0,
        "3.0 mm power connector": 5.0,
        "1.5 mm wire-to-board": 2.0,
        "2.54 mm pin header": 3.0,
        "peripheral 4-pin, AWG 18": 9.0,
        "peripheral 4-pin, AWG 14": 11.0,
    }
)
CURRENT_KEPT_PER_DOUBLING = 0.8


def noise_margins(sender: LogicLevels, receiver: LogicLevels) -> tuple[float, float]:
    """Noise margins between an output and an input, low and high state.

    ``VIL - VOL`` and ``VOH - VIH``; below zero the levels do not suffice.

    Args:
        sender: levels of the driving family.
        receiver: levels of the driven family.

    Returns:
        Margin in the low and in the high state, V.

    Source:
        Textbook definition; levels from avr-programmierung.com.

    Example:
        >>> [round(m, 2) for m in noise_margins(LEVELS["CMOS 5 V"], LEVELS["CMOS 5 V"])]
        [1.0, 0.94]
    """
    return receiver.input_low - sender.output_low, sender.output_high - receiver.input_high


def drives(sender: LogicLevels, receiver: LogicLevels, tolerates: float | None = None) -> Match:
    """Whether an output of one family can drive an input of another directly.

    Levels suffice when neither noise margin is below zero; the voltage is right when the input stands the
    sender's supply. An open-collector output with pull-up to the receiver's supply cures both.

    Args:
        sender: levels of the driving family.
        receiver: levels of the driven family.
        tolerates: highest voltage the input stands, V; its own supply when not given.

    Returns:
        Both answers.

    Source:
        avr-programmierung.com, table of TTL and CMOS levels.

    Example:
        >>> drives(LEVELS["TTL 5 V"], LEVELS["CMOS 5 V"])
        Match(levels=False, voltage=True)
        >>> drives(LEVELS["CMOS 5 V"], LEVELS["CMOS 3.3 V"]).works
        False
        >>> drives(LEVELS["CMOS 5 V"], LEVELS["CMOS 3.3 V"], tolerates=5.5).works
        True
    """
    low, high = noise_margins(sender, receiver)
    stands = receiver.supply if tolerates is None else tolerates
    return Match(levels=low >= 0 and high >= 0, voltage=sender.supply <= stands)


def levels_for_supply(supply: float, output_drop: float = 0.56) -> LogicLevels:
    """Levels of a CMOS input and output on any supply, for a logic voltage that is no table entry.

    Inputs at 30 and 70 % of the supply, outputs 0.5 V above ground and ``output_drop`` below the supply;
    at 5 V these are the table's CMOS levels. Inputs with TTL levels are easier to drive.

    Args:
        supply: logic supply, V.
        output_drop: supply less output when high, V.

    Returns:
        Levels, V.

    Raises:
        ValueError: supply not above 1.2 V.

    Source:
        30 and 70 %: common practice, no source.

    Example:
        >>> levels_for_supply(supply=4.0)
        LogicLevels(supply=4.0, input_low=1.2, input_high=2.8, output_low=0.5, output_high=3.44)
    """
    require(supply > 1.2, "a logic supply lies above 1.2 V")
    return LogicLevels(supply, supply * 0.3, supply * 0.7, 0.5, supply - output_drop)


def series_resistance(supply_voltage: Number, forward_voltage: Number, current: Number) -> Number:
    """Resistor in series with a light-emitting diode, as in a photo-interrupter.

    ``(Vcc - Vf) / I``; infra-red diodes drop 1.0 to 1.3 V and want 10 to 20 mA.

    Args:
        supply_voltage: V.
        forward_voltage: of the diode, V.
        current: wanted, A.

    Returns:
        Resistance, ohm.

    Raises:
        ValueError: current not above zero, or supply below the forward voltage.

    Source:
        heliosoph, note on the TCST2103 photo-interrupter.

    Example:
        >>> round(series_resistance(supply_voltage=5.0, forward_voltage=1.1, current=0.02))
        195
    """
    require(current > 0, "current must be above zero")
    require(supply_voltage >= forward_voltage, "supply must not be below the forward voltage")
    return (supply_voltage - forward_voltage) / current


def series_current(supply_voltage: Number, forward_voltage: Number, resistance: Number) -> Number:
    """Current through a diode and its series resistor; with zero forward voltage, of a plain pull-up.

    ``(Vcc - Vf) / R``; the inverse of :func:`series_resistance`.

    Args:
        supply_voltage: V.
        forward_voltage: of the diode, V.
        resistance: ohm.

    Returns:
        Current, A.

    Raises:
        ValueError: resistance not above zero, or supply below the forward voltage.

    Source:
        heliosoph, note on the TCST2103 photo-interrupter.

    Example:
        >>> round(series_current(supply_voltage=5.0, forward_voltage=1.1, resistance=180.0) * 1e3, 1)
        21.7
    """
    require(resistance > 0, "resistance must be above zero")
    require(supply_voltage >= forward_voltage, "supply must not be below the forward voltage")
    return (supply_voltage - forward_voltage) / resistance


def connector_current(pin_current: Number, pins: Number) -> Number:
    """Current of several connector pins (pairs) in parallel.

    ``n I 0.8^log2(n)``: each doubling of the pins keeps 80 % of the current a pin, as they warm each other
    and share unevenly.

    Args:
        pin_current: of one pin alone, A.
        pins: in parallel.

    Returns:
        Current, A.

    Raises:
        ValueError: current below zero, or fewer than one pin.

    Source:
        High Speed Design Wiki, "Connector Pin Derating".

    Example:
        >>> round(connector_current(pin_current=3.0, pins=4), 2)
        7.68
    """
    require(pin_current >= 0, "current must not be below zero")
    require(pins >= 1, "at least one pin")
    return pins * pin_current * power(CURRENT_KEPT_PER_DOUBLING, log(pins) / math.log(2.0))
