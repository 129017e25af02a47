"""Heat: what a pass device burns, how hot its junction gets, and what a coil's resistance tells.

Temperatures are in kelvin, thermal resistances in K/W. A rise in kelvin equals one in degrees Celsius.
"""

from __future__ import annotations

from fitter.physics._values import Number, choose, larger, power, require, smaller

ZERO_CELSIUS = 273.15  # K
COPPER_ZERO = 234.5  # degC below zero at which the straight line of copper resistance meets zero
COPPER_COEFFICIENT = 0.00393  # 1/K at 20 degC, annealed copper standard (NBS Handbook 100, from memory)
ROOM = 293.15  # K, the 20 degC that resistance tables refer to

# Case to sink, K/W, least and greatest. Common practice, no source.
CASE_TO_SINK = {
    "TO-220, bare with grease": (0.3, 0.7),
    "TO-220, bare and dry": (1.0, 1.7),
    "TO-220, mica with grease": (1.2, 2.0),
    "TO-220, silicone pad": (1.5, 3.0),
    "TO-3, bare with grease": (0.1, 0.2),
    "TO-3, mica with grease": (0.3, 0.5),
    "TO-247, bare with grease": (0.15, 0.3),
    "TO-247, silicone pad": (0.5, 1.2),
}


def series_pass_dissipation(input_voltage: Number, output_voltage: Number, current: Number) -> Number:
    """Power burnt by a linear regulator or pass transistor.

    ``P = (Vin - Vout) I``. The worst case of an adjustable supply is the lowest output at full current and
    high mains. Quiescent current is left out.

    Args:
        input_voltage: mean DC input, V.
        output_voltage: DC output, V.
        current: load current, A.

    Returns:
        Power, W.

    Raises:
        ValueError: current below zero, or output above input.

    Source:
        Common practice, no source.

    Example:
        >>> series_pass_dissipation(input_voltage=12.0, output_voltage=5.0, current=0.5)
        3.5
    """
    require(current >= 0, "current must not be below zero")
    require(input_voltage >= output_voltage, "output voltage must not be above the input")
    return (input_voltage - output_voltage) * current


def junction_temperature(
    ambient: Number,
    power: Number,
    resistance_junction_case: Number,
    resistance_case_sink: Number,
    resistance_sink: Number,
    devices: Number = 1,
) -> Number:
    """Junction temperature of devices that share one heat sink.

    ``T = Tamb + P Rsa + (P / n) (Rjc + Rcs)``, steady state; the devices share the power evenly, which
    needs emitter or source resistors.

    Args:
        ambient: air temperature at the sink, K.
        power: power of all devices together, W.
        resistance_junction_case: of one device, K/W.
        resistance_case_sink: of one device's mounting, K/W.
        resistance_sink: sink to air, K/W.
        devices: how many share the power.

    Returns:
        Junction temperature, K.

    Raises:
        ValueError: a temperature, power or resistance below zero, or fewer than one device.

    Source:
        Common practice, no source.

    Example:
        >>> round(junction_temperature(298.15, 3.5, 5.0, 1.0, 10.0) - 273.15, 1)
        81.0
    """
    require(ambient >= 0, "ambient temperature must be in kelvin, not below zero")
    require(power >= 0, "power must not be below zero")
    require(resistance_sink >= 0, "resistance of the sink must not be below zero")
    each = _mounted(resistance_junction_case, resistance_case_sink, devices)
    return ambient + power * (resistance_sink + each)


def _mounted(junction_case: Number, case_sink: Number, devices: Number) -> Number:
    """Junction to sink of all devices side by side, K/W."""
    require(junction_case >= 0, "resistance junction to case must not be below zero")
    require(case_sink >= 0, "resistance case to sink must not be below zero")
    require(devices >= 1, "at least one device is needed")
    return (junction_case + case_sink) / devices


def sink_resistance_needed(
    ambient: Number,
    junction_limit: Number,
    power: Number,
    resistance_junction_case: Number,
    resistance_case_sink: Number,
    devices: Number = 1,
) -> Number:
    """Largest heat-sink resistance that keeps the junction within its limit.

    :func:`junction_temperature` solved for the sink. A result below zero says that no sink will do: use
    more devices or burn less.

    Args:
        ambient: air temperature at the sink, K.
        junction_limit: highest junction temperature allowed, K.
        power: power of all devices together, W.
        resistance_junction_case: of one device, K/W.
        resistance_case_sink: of one device's mounting, K/W.
        devices: how many share the power.

    Returns:
        Sink to air, K/W.

    Raises:
        ValueError: power not above zero, a resistance below zero, or fewer than one device.

    Source:
        Common practice, no source.

    Example:
        >>> round(sink_resistance_needed(308.15, 398.15, 43.0, 1.52, 0.3, devices=2), 2)
        1.18
    """
    require(power > 0, "power must be above zero")
    each = _mounted(resistance_junction_case, resistance_case_sink, devices)
    return (junction_limit - ambient) / power - each


def allowed_power(
    case_temperature: Number, junction_limit: Number, resistance_junction_case: Number
) -> Number:
    """Power a device may burn at a known case (or ambient) temperature.

    ``P = (Tj - Tc) / R``, zero when the case is as hot as the limit. With the total resistance and the
    ambient temperature the same formula gives the power in free air.

    Args:
        case_temperature: of the case, or of the surroundings that the resistance refers to, K.
        junction_limit: highest junction temperature allowed, K.
        resistance_junction_case: between the two, K/W.

    Returns:
        Power, W.

    Raises:
        ValueError: resistance not above zero.

    Source:
        Common practice, no source; the straight line of every transistor data sheet.

    Example:
        >>> allowed_power(case_temperature=348.15, junction_limit=473.15, resistance_junction_case=20.0)
        6.25
    """
    require(resistance_junction_case > 0, "thermal resistance must be above zero")
    return larger((junction_limit - case_temperature) / resistance_junction_case, 0.0)


def derated_power(
    rated_power: Number, slope: Number, case_temperature: Number, rated_at: Number = 298.15
) -> Number:
    """Power rating of a device above the temperature its rating refers to.

    ``P = P0 - slope (T - T0)`` above ``T0``, the full rating below, never below zero.

    Args:
        rated_power: at ``rated_at`` or cooler, W.
        slope: loss of rating per kelvin, W/K.
        case_temperature: of the case, K.
        rated_at: temperature up to which the full rating holds, K.

    Returns:
        Power, W.

    Raises:
        ValueError: rated power or slope below zero.

    Source:
        2N3055 data sheet (NTE; Multicomp 2N3055H, 2005): 115 W less 0.657 W/K above 25 degC.

    Example:
        >>> round(derated_power(rated_power=115.0, slope=0.657, case_temperature=373.15), 1)
        65.7
    """
    require(rated_power >= 0, "rated power must not be below zero")
    require(slope >= 0, "slope must not be below zero")
    return larger(rated_power - slope * larger(case_temperature - rated_at, 0.0), 0.0)


def supply_derating(ambient: Number, full_up_to: Number = 323.15, slope: Number = 0.025) -> Number:
    """Part of its rating that a switch-mode supply may give in warm air.

    Full up to 50 degC, then 2.5 % less per kelvin, never below zero. A guide line where the maker gives
    none. Take off another 20 % without the air flow it was made for, 15 % when an open frame is boxed in.

    Args:
        ambient: air temperature at the supply, K.
        full_up_to: temperature up to which the full rating holds, K.
        slope: loss per kelvin, 1/K.

    Returns:
        Usable over rated power, ratio 0..1.

    Raises:
        ValueError: slope below zero.

    Source:
        interfacebus.com, "Power Supply Derating Guide Lines".

    Example:
        >>> round(supply_derating(ambient=333.15), 2)
        0.75
    """
    require(slope >= 0, "slope must not be below zero")
    return larger(1.0 - slope * larger(ambient - full_up_to, 0.0), 0.0)


def copper_resistance(resistance: Number, temperature: Number, reference: Number = ROOM) -> Number:
    """Resistance of a copper winding at another temperature.

    ``R (1 + 0.00393 (T - 20 degC))`` carried over from the reference temperature; straight line, good
    from -50 to 200 degC.

    Args:
        resistance: at the reference temperature, ohm.
        temperature: of the winding, K.
        reference: temperature at which the resistance was taken, K.

    Returns:
        Resistance, ohm.

    Raises:
        ValueError: resistance below zero.

    Source:
        International Annealed Copper Standard (NBS Handbook 100), 0.00393 per kelvin at 20 degC; from memory.

    Example:
        >>> round(copper_resistance(resistance=1.0, temperature=373.15), 4)
        1.3144
    """
    require(resistance >= 0, "resistance must not be below zero")
    return resistance * _copper_line(temperature) / _copper_line(reference)


def _copper_line(temperature: Number) -> Number:
    return 1.0 + COPPER_COEFFICIENT * (temperature - ROOM)


def copper_temperature(cold_resistance: Number, hot_resistance: Number, cold_temperature: Number) -> Number:
    """Mean temperature of a copper winding from its rise in resistance.

    ``T2 = T1 + (R2 / R1 - 1) (234.5 + T1)`` with temperatures in degC. The hottest spot is 5 to 15 K above
    the mean. Measure within seconds of switching off, with the lead resistance taken off.

    Args:
        cold_resistance: before the run, ohm.
        hot_resistance: right after the run, ohm.
        cold_temperature: of the winding before the run, K.

    Returns:
        Temperature, K.

    Raises:
        ValueError: cold resistance not above zero, or hot resistance below zero.

    Source:
        Rise by resistance, IEC 60034-1 (it uses 235 for copper); from memory.

    Example:
        >>> round(copper_temperature(2.0, 2.5, cold_temperature=293.15) - 293.15, 1)
        63.6
    """
    require(cold_resistance > 0, "cold resistance must be above zero")
    require(hot_resistance >= 0, "hot resistance must not be below zero")
    above_zero = cold_temperature - ZERO_CELSIUS + COPPER_ZERO
    return cold_temperature + (hot_resistance / cold_resistance - 1.0) * above_zero


def safe_area_current(
    voltage: Number,
    max_current: Number,
    max_power: Number,
    breakdown_voltage: Number,
    breakdown_current: Number,
    max_voltage: Number,
    exponent: Number = 2.5,
) -> Number:
    """Continuous current a bipolar pass transistor may carry at a collector-emitter voltage.

    The least of the current limit, the power limit ``P / V`` and the second-breakdown line, a power law
    ``I_b (V_b / V)^n`` through one point read off the data sheet's chart; zero above the voltage rating.
    Charts show exponents of 1.5 to 2.5; 2.5 is on the safe side at voltages above the point. Take the
    point where the line leaves the power limit: below it the power limit rules. MOSFETs in linear use have
    such a limit too, often missing from the sheet.

    Args:
        voltage: collector to emitter, V.
        max_current: collector current rating, A.
        max_power: power allowed at the case temperature, W.
        breakdown_voltage: voltage of the point on the second-breakdown line, V.
        breakdown_current: current of that point, A.
        max_voltage: collector-emitter rating, V.
        exponent: steepness of the line in the log-log chart.

    Returns:
        Current, A.

    Raises:
        ValueError: a voltage or rating not above zero.

    Source:
        Shape of the chart: common practice, no source.

    Example:
        >>> safe_area_current(20.0, 15.0, 115.0, 40.0, 2.875, max_voltage=60.0)
        5.75
        >>> round(safe_area_current(60.0, 15.0, 115.0, 40.0, 2.875, max_voltage=60.0), 2)
        1.04
    """
    require(voltage > 0, "voltage must be above zero")
    require(breakdown_voltage > 0, "voltage of the breakdown point must be above zero")
    require(max_voltage > 0, "voltage rating must be above zero")
    line = breakdown_current * power(breakdown_voltage / voltage, exponent)
    inside = smaller(smaller(max_current, max_power / voltage), line)
    return choose(voltage <= max_voltage, inside, inside * 0.0)
