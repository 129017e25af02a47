"""What a DC motor may do for long: peak power, continuous and intermittent current. SI units."""

from __future__ import annotations

import math

from fitter.physics._values import Number, require, root

# Heat that a closed can sheds all day, least and greatest W, by diameter in m; common practice, no source.
CAN_LOSS = {0.024: (1.0, 2.0), 0.028: (3.0, 5.0), 0.036: (8.0, 12.0), 0.042: (15.0, 25.0)}


def can_heat(diameter: float) -> tuple[float, float]:
    """Heat that a can of a diameter sheds all day, from the sizes of :data:`CAN_LOSS`.

    Straight lines between the sizes in a chart with both axes logarithmic; beyond them as the cube of the
    diameter, smaller than the table's own slope below and safe above.

    Args:
        diameter: of the can, m, above zero.

    Returns:
        Least and greatest usual heat, W.

    Raises:
        ValueError: diameter not above zero.

    Source:
        Common practice, no source.

    Example:
        >>> can_heat(0.028)
        (3.0, 5.0)
        >>> [round(x, 2) for x in can_heat(0.025)]
        [1.34, 2.55]
    """
    require(diameter > 0, "diameter must be above zero")
    sizes = sorted(CAN_LOSS)
    if diameter <= sizes[0] or diameter >= sizes[-1]:
        end = sizes[0] if diameter <= sizes[0] else sizes[-1]
        least, most = CAN_LOSS[end]
        return least * (diameter / end) ** 3, most * (diameter / end) ** 3
    above = next(size for size in sizes if size >= diameter)
    below = sizes[sizes.index(above) - 1]
    share = math.log(diameter / below) / math.log(above / below)
    least, most = (a * (b / a) ** share for a, b in zip(CAN_LOSS[below], CAN_LOSS[above], strict=True))
    return least, most


def peak_power(stall_torque: Number, no_load_speed: Number) -> Number:
    """Greatest mechanical power of a straight speed-torque line, at half the no-load speed.

    ``P = T_stall w0 / 4``. Not a rating: few motors stand it for long.

    Args:
        stall_torque: N m, not below zero.
        no_load_speed: rad/s, not below zero.

    Returns:
        Power, W.

    Raises:
        ValueError: an argument below zero.

    Source:
        MIT 2.007 (2008), course notes on motors.

    Example:
        >>> peak_power(stall_torque=2.0, no_load_speed=10.0)
        5.0
    """
    require(stall_torque >= 0, "stall torque must not be below zero")
    require(no_load_speed >= 0, "no-load speed must not be below zero")
    return stall_torque * no_load_speed / 4.0


def continuous_current(loss: Number, resistance: Number) -> Number:
    """Current that a motor carries all day, from the heat its can sheds.

    ``I = sqrt(P / R)``; for P see :data:`CAN_LOSS`. Iron loss and a fan are left out.

    Args:
        loss: heat that may be shed, W, not below zero.
        resistance: of the winding, ohm, above zero.

    Returns:
        Current, A.

    Raises:
        ValueError: loss below zero, or resistance not above zero.

    Source:
        Copper loss; the figures of CAN_LOSS are common practice, no source.

    Example:
        >>> continuous_current(loss=4.0, resistance=4.0)
        1.0
    """
    require(loss >= 0, "loss must not be below zero")
    require(resistance > 0, "resistance must be above zero")
    return root(loss / resistance)


def intermittent_current(continuous_current: Number, duty: Number) -> Number:
    """Current allowed for a share of the time, at the same mean heat.

    ``I = I_cont / sqrt(duty)``, for cycles short against the motor's thermal time (a minute or two).

    Args:
        continuous_current: A, not below zero.
        duty: share of the time switched on, above 0 up to 1.

    Returns:
        Current while switched on, A.

    Raises:
        ValueError: current below zero, or duty outside its range.

    Source:
        RMS heating; common practice, no source.

    Example:
        >>> intermittent_current(continuous_current=1.0, duty=0.25)
        2.0
    """
    require(continuous_current >= 0, "current must not be below zero")
    require((duty > 0) & (duty <= 1), "duty must be above 0 and at most 1")
    return continuous_current / root(duty)
