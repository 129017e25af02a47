"""DC supplies: what a rail may give, rails in series, power balance, and energy that comes back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from fitter.physics._values import Number, larger, require, root, smaller

CONTINUOUS_LOADING = 0.8  # NEC 210.20(A), the 125 % rule; also the usual care with salvaged supplies
CLOSED_BOX_LOADING = (0.5, 0.6)  # without fan in a closed box; common practice, no source

# Intel ATX Power Supply Design Guide v0.9, table 3, and ATX12V v2.0, table 2: least and greatest volts.
ATX_TOLERANCE = {
    "+12V": (11.4, 12.6),
    "+5V": (4.75, 5.25),
    "+3.3V": (3.14, 3.47),
    "-12V": (-13.2, -10.8),
    "-5V": (-5.5, -4.5),
    "+5VSB": (4.75, 5.25),
    "+12V at peak load": (10.8, 13.2),
}


class RailLimits(NamedTuple):
    """Currents of one rail, A: least that keeps it in tolerance, greatest, and short peak if stated."""

    least: float
    most: float
    peak: float | None


# Intel ATX12V Design Guide v2.0, table 4: a 300 W supply. The sum of the maxima exceeds 300 W.
ATX_300_WATT = {
    "+12V1": RailLimits(1.0, 8.0, 10.0),
    "+12V2": RailLimits(1.0, 14.0, None),
    "+5V": RailLimits(0.3, 20.0, None),
    "+3.3V": RailLimits(0.5, 20.0, None),
    "-12V": RailLimits(0.0, 0.3, None),
    "+5VSB": RailLimits(0.0, 2.0, 2.5),
}


class CrossRegulation(NamedTuple):
    """How a rail without its own regulation behaves: load it needs, and spread of its voltage (ratios)."""

    least_load: float
    spread: tuple[float, float]


# Power Integrations AN-22 (May 1998), table 1 and fig. 8: a 25 W supply of three outputs. The rail that is
# sensed needs 20 % of its load, another about 10 %; the others stay within 5 to 10 %.
SENSED_RAIL = CrossRegulation(least_load=0.2, spread=(0.0, 0.05))
OTHER_RAIL = CrossRegulation(least_load=0.1, spread=(0.05, 0.10))


class LinearRegulator(NamedTuple):
    """Common three-terminal regulators: volts and amperes; thermal resistances K/W in a TO-220 case."""

    output: tuple[float, float]
    least_input: float
    most_input: float
    dropout: float
    current: float


# Fairchild LM78xx, National LM340 and ST DS0433 (LM317) data sheets. The LM317 floats: its input limit is
# 40 V above the output, its dropout of 2.5 to 3 V is common practice.
LINEAR_REGULATORS = {
    "LM7805": LinearRegulator((4.75, 5.25), 7.5, 35.0, 2.0, 1.0),
    "LM7812": LinearRegulator((11.4, 12.6), 14.5, 35.0, 2.0, 1.0),
    "LM317": LinearRegulator((1.2, 37.0), 4.2, 40.0, 3.0, 1.5),
}


def usable_current(rated_current: Number, loading: Number = CONTINUOUS_LOADING) -> Number:
    """Current to draw from a supply for long.

    ``0.8 I``; for a salvaged supply without fan in a closed box take 0.5 to 0.6.

    Args:
        rated_current: on the label, A.
        loading: part of the rating to use, ratio.

    Returns:
        Current, A.

    Raises:
        ValueError: current below zero, or loading outside 0..1.

    Source:
        NEC 210.20(A) (125 % rule, from memory); 15 A gives 12 A.

    Example:
        >>> usable_current(rated_current=15.0)
        12.0
    """
    require(rated_current >= 0, "rated current must not be below zero")
    require((loading >= 0) & (loading <= 1), "loading must lie within 0 to 1")
    return rated_current * loading


def series_supply(voltages: Sequence[Number], currents: Sequence[Number]) -> tuple[Number, Number]:
    """Voltage and current of isolated supplies connected in series.

    Voltages add, the weakest sets the current. Only for outputs isolated from each other, with a reverse
    diode across each, and within the isolation rating to ground.

    Args:
        voltages: of the supplies, V.
        currents: ratings of the supplies, A.

    Returns:
        Total voltage, V, and current rating, A.

    Raises:
        ValueError: no supply, or lists of unequal length.

    Source:
        TDK-Lambda UK, glossary, series operation.

    Example:
        >>> series_supply(voltages=[24.0, 12.0], currents=[10.0, 20.0])
        (36.0, 10.0)
    """
    require(len(voltages) == len(currents) > 0, "give one current for each voltage, and at least one")
    total, weakest = voltages[0], currents[0]
    for voltage, current in zip(voltages[1:], currents[1:], strict=True):
        total, weakest = total + voltage, smaller(weakest, current)
    return total, weakest


def rail_power(voltages: Sequence[Number], currents: Sequence[Number]) -> Number:
    """Power of all rails together.

    ``sum |V| I``. With the maxima of a label this is more than the supply can give: the total on the label
    is a limit of its own.

    Args:
        voltages: of the rails, V (a negative rail counts by its size).
        currents: drawn from them, A.

    Returns:
        Power, W.

    Raises:
        ValueError: lists of unequal length, or a current below zero.

    Source:
        Intel ATX12V Design Guide v2.0, table 4 (430 W of maxima in a 300 W supply).

    Example:
        >>> rail_power(voltages=[5.0, 12.0, 30.0], currents=[2.0, 1.2, 0.02])
        25.0
    """
    require(len(voltages) == len(currents), "give one current for each voltage")
    total: Number = 0.0
    for voltage, current in zip(voltages, currents, strict=True):
        require(current >= 0, "current must not be below zero")
        total = total + larger(voltage, -voltage) * current
    return total


def output_resistance(
    first_voltage: Number, first_current: Number, second_voltage: Number, second_current: Number
) -> Number:
    """Output resistance of a supply from two loads.

    ``R = (V1 - V2) / (I2 - I1)``.

    Args:
        first_voltage: at the lighter load, V.
        first_current: lighter load, A.
        second_voltage: at the heavier load, V.
        second_current: heavier load, A.

    Returns:
        Resistance, ohm.

    Raises:
        ValueError: second current not above the first.

    Source:
        Common practice, no source.

    Example:
        >>> round(output_resistance(24.2, 0.5, 23.8, 2.5), 3)
        0.2
    """
    require(second_current > first_current, "the second load must draw more than the first")
    return (first_voltage - second_voltage) / (second_current - first_current)


def loaded_voltage(voltage: Number, current: Number, resistance: Number, load_current: Number) -> Number:
    """Voltage of a supply at another load, from one reading and its output resistance.

    ``V - R (I - I0)``; straight line, so only up to the current where the limit sets in.

    Args:
        voltage: read at ``current``, V.
        current: load at that reading, A.
        resistance: of the output, ohm.
        load_current: load asked about, A.

    Returns:
        Voltage, V.

    Raises:
        ValueError: resistance below zero.

    Source:
        Common practice, no source.

    Example:
        >>> loaded_voltage(voltage=24.2, current=0.5, resistance=0.2, load_current=4.0)
        23.5
    """
    require(resistance >= 0, "resistance must not be below zero")
    return voltage - resistance * (load_current - current)


def buck_input_current(
    output_voltage: Number, output_current: Number, input_voltage: Number, efficiency: Number
) -> Number:
    """Current that a step-down converter draws from its supply.

    ``Vout Iout / (eta Vin)``.

    Args:
        output_voltage: of the converter, V.
        output_current: of the converter, A.
        input_voltage: of its supply, V.
        efficiency: ratio, 0.80 to 0.95 for common modules.

    Returns:
        Current, A.

    Raises:
        ValueError: efficiency outside 0..1, or output voltage above the input.

    Source:
        Power balance, common practice, no source.

    Example:
        >>> round(buck_input_current(5.0, 3.0, input_voltage=24.0, efficiency=0.9), 3)
        0.694
    """
    require((efficiency > 0) & (efficiency <= 1), "efficiency must be above zero and at most 1")
    require(input_voltage > 0, "input voltage must be above zero")
    require(output_voltage <= input_voltage, "a step-down converter cannot raise the voltage")
    return output_voltage * output_current / (efficiency * input_voltage)


def power_balance_current(
    copper_loss: Number, mechanical_power: Number, efficiency: Number, driver_loss: Number, voltage: Number
) -> Number:
    """Current a chopper-driven motor draws from its supply.

    ``(Pcu + Pmech / eta + Pdrv) / V``: power is balanced, phase currents are not summed. A motor of 1.5 A
    a phase at standstill may take half an ampere at 24 V.

    Args:
        copper_loss: of all phases, W.
        mechanical_power: at the shaft, W.
        efficiency: of what follows the copper (iron, friction), ratio.
        driver_loss: of the driver, W.
        voltage: of the supply, V.

    Returns:
        Current, A.

    Raises:
        ValueError: a power below zero, efficiency outside 0..1, or voltage not above zero.

    Source:
        Energy conservation.

    Example:
        >>> power_balance_current(9.0, 10.0, efficiency=0.8, driver_loss=2.5, voltage=24.0)
        1.0
    """
    require(copper_loss >= 0, "copper loss must not be below zero")
    require(mechanical_power >= 0, "mechanical power must not be below zero")
    require(driver_loss >= 0, "driver loss must not be below zero")
    require((efficiency > 0) & (efficiency <= 1), "efficiency must be above zero and at most 1")
    require(voltage > 0, "voltage must be above zero")
    return (copper_loss + mechanical_power / efficiency + driver_loss) / voltage


def regulator_input_needed(output_voltage: Number, dropout: Number) -> Number:
    """Least input voltage, in the trough of the ripple, that a linear regulator needs.

    ``Vout + dropout``.

    Args:
        output_voltage: greatest output asked for, V.
        dropout: of the regulator at that current, V.

    Returns:
        Voltage, V.

    Raises:
        ValueError: dropout below zero.

    Source:
        LM7812 data sheet (12.5 V + 2.0 V = 14.5 V).

    Example:
        >>> regulator_input_needed(output_voltage=12.5, dropout=2.0)
        14.5
    """
    require(dropout >= 0, "dropout must not be below zero")
    return output_voltage + dropout


def voltage_after_return(capacitance: Number, voltage: Number, energy: Number) -> Number:
    """Voltage of a supply's capacitors after a braked load has put energy back.

    ``sqrt(V^2 + 2 E / C)``. An upper bound: losses, and whatever else draws from the rail, lower it. Most
    switch-mode supplies cannot take energy back at all.

    Args:
        capacitance: on the rail, F.
        voltage: before, V.
        energy: returned, J.

    Returns:
        Voltage, V.

    Raises:
        ValueError: capacitance not above zero, or energy below zero.

    Source:
        Servo manual (Teco JSDAP, p. 159): ``Ec = C (U1^2 - U2^2) / 2``.

    Example:
        >>> voltage_after_return(capacitance=0.01, voltage=24.0, energy=1.62)
        30.0
    """
    require(capacitance > 0, "capacitance must be above zero")
    require(energy >= 0, "energy must not be below zero")
    return root(voltage * voltage + 2.0 * energy / capacitance)


def capacitance_for_return(voltage: Number, voltage_limit: Number, energy: Number) -> Number:
    """Capacitor that takes up a braked load's energy without passing a voltage limit.

    ``C = 2 E / (V2^2 - V1^2)``; the inverse of :func:`voltage_after_return`.

    Args:
        voltage: before, V.
        voltage_limit: not to be passed, V.
        energy: returned, J.

    Returns:
        Capacitance, F.

    Raises:
        ValueError: limit not above the voltage, or energy below zero.

    Source:
        As for :func:`voltage_after_return`.

    Example:
        >>> round(capacitance_for_return(voltage=24.0, voltage_limit=30.0, energy=0.5) * 1e6)
        3086
    """
    require(energy >= 0, "energy must not be below zero")
    require(voltage_limit > voltage, "the limit must be above the voltage")
    return 2.0 * energy / (voltage_limit * voltage_limit - voltage * voltage)


def rail_from_capacitor_rating(rating: Number) -> tuple[Number, Number]:
    """Rail voltage to expect on an unlabelled supply, from the print on its output capacitor.

    0.5 to 0.8 of the capacitor's rating.

    Args:
        rating: printed voltage of the output capacitor, V.

    Returns:
        Least and greatest likely rail voltage, V.

    Raises:
        ValueError: rating below zero.

    Source:
        Common practice, no source.

    Example:
        >>> rail_from_capacitor_rating(rating=35.0)
        (17.5, 28.0)
    """
    require(rating >= 0, "rating must not be below zero")
    return 0.5 * rating, 0.8 * rating
