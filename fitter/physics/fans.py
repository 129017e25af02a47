"""Fans: flow against pressure, and how both go with speed."""

from __future__ import annotations

from fitter.physics._values import Number, larger, require


def flow_at_pressure(
    free_flow: Number, shut_off_pressure: Number, speed_ratio: Number, pressure: Number
) -> Number:
    """Flow that a fan leaves against a pressure, its curve taken as a straight line.

    ``Q0 s (1 - p / (p0 s^2))``, never below zero: by the fan laws flow goes with speed and pressure with
    its square. Curves of axial fans dip below the line half-way.

    Args:
        free_flow: into free air at rated speed, m^3/s.
        shut_off_pressure: against a closed duct at rated speed, Pa.
        speed_ratio: speed over rated speed; about voltage over rated voltage, ratio.
        pressure: that the duct and filter take, Pa.

    Returns:
        Flow, m^3/s.

    Raises:
        ValueError: flow or pressure below zero, speed or shut-off pressure not above zero.

    Source:
        Fan laws (N. R. Murphy Ltd., "Fan laws": cfm as rpm, static pressure as rpm squared); straight line
        between the two ends: common practice, no source.

    Example:
        >>> flow_at_pressure(free_flow=0.04, shut_off_pressure=50.0, speed_ratio=1.0, pressure=25.0)
        0.02
    """
    require((free_flow >= 0) & (pressure >= 0), "flow and pressure must not be below zero")
    require((shut_off_pressure > 0) & (speed_ratio > 0), "speed and shut-off pressure must be above zero")
    return larger(free_flow * speed_ratio * (1.0 - pressure / (shut_off_pressure * speed_ratio**2)), 0.0)
