"""Hot wires: resistance of heating alloys, and the voltage and current of a wanted power."""

from __future__ import annotations

from fitter.physics._values import Number, require, root

# ohm m at 20 degC, least and greatest of the grades in use. CRC Handbook of Chemistry and Physics, section
# 12, wire tables: nickel with 21 % chromium 1.075e-6, constantan 0.4538e-6; the spread over grades, and
# iron-chromium-aluminium: common practice, no source.
RESISTIVITY = {
    "nickel-chromium": (1.05e-6, 1.15e-6),
    "iron-chromium-aluminium": (1.25e-6, 1.48e-6),
    "copper-nickel": (0.44e-6, 0.52e-6),
}
HOT_OVER_COLD = (1.0, 1.1)  # resistance of these alloys up to 600 degC; common practice, no source


def voltage_for_power(power: Number, resistance: Number) -> Number:
    """Voltage that makes a heating power in a resistance.

    ``sqrt(P R)``.

    Args:
        power: wanted, W.
        resistance: of the hot wire, ohm.

    Returns:
        Voltage, V.

    Raises:
        ValueError: power or resistance below zero.

    Source:
        Ohm's and Joule's laws.

    Example:
        >>> voltage_for_power(power=20.0, resistance=5.0)
        10.0
    """
    require((power >= 0) & (resistance >= 0), "power and resistance must not be below zero")
    return root(power * resistance)


def current_for_power(power: Number, resistance: Number) -> Number:
    """Current that makes a heating power in a resistance.

    ``sqrt(P / R)``.

    Args:
        power: wanted, W.
        resistance: of the hot wire, ohm.

    Returns:
        Current, A.

    Raises:
        ValueError: power below zero, or resistance not above zero.

    Source:
        Ohm's and Joule's laws.

    Example:
        >>> current_for_power(power=20.0, resistance=5.0)
        2.0
    """
    require(power >= 0, "power must not be below zero")
    require(resistance > 0, "resistance must be above zero")
    return root(power / resistance)
