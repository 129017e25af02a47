"""Rails: what a consumer sees of its supply, whether one part makes it or several."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from fitter.checks.base import Parts
from fitter.intervals import Interval, as_interval, monotone
from fitter.physics import rectifier

MAINS_FREQUENCY = 50.0  # the lower of 50 and 60 Hz gives the larger ripple


class Rail(Protocol):
    """Voltage and current that a supply offers its consumers, SI units."""

    @property
    def roles(self) -> tuple[str, ...]:
        """The roles whose parts make the rail."""
        ...

    def low(self, parts: Parts) -> Interval:
        """Voltage at full load and lowest input."""
        ...

    def high(self, parts: Parts) -> Interval:
        """Voltage without load and at highest input."""
        ...

    def current(self, parts: Parts) -> Interval:
        """Direct current it gives for hours."""
        ...

    def unit_power(self, parts: Parts) -> Interval:
        """Power the whole unit gives for hours."""
        ...

    def ripple(self, parts: Parts) -> Interval:
        """Peak to peak."""
        ...


@dataclass(frozen=True)
class PartRail:
    """A rail that one part provides."""

    role: str

    @property
    def roles(self) -> tuple[str, ...]:
        return (self.role,)

    def low(self, parts: Parts) -> Interval:
        return parts[self.role]["voltage.low"]

    def high(self, parts: Parts) -> Interval:
        return parts[self.role]["voltage.high"]

    def current(self, parts: Parts) -> Interval:
        return parts[self.role]["current"]

    def unit_power(self, parts: Parts) -> Interval:
        return parts[self.role]["unit_power"]

    def ripple(self, parts: Parts) -> Interval:
        return parts[self.role]["ripple"]


@dataclass(frozen=True)
class RectifiedRail:
    """Transformer, bridge and capacitor, unregulated.

    Low is the trough at full direct current and mains 10 % down, high the peak without load and
    mains 10 % up: a range the rail runs through, so its ends count, not what may be measured.
    """

    transformer: str
    bridge: str
    capacitor: str

    @property
    def roles(self) -> tuple[str, ...]:
        return (self.transformer, self.bridge, self.capacitor)

    def low(self, parts: Parts) -> Interval:
        return self.low_at(parts, self.current(parts))

    def low_at(self, parts: Parts, current: Interval) -> Interval:
        """Trough at a given load current, mains 10 % down."""
        return monotone(
            lambda volts, farads, amps, drop: rectifier.trough_voltage(
                volts * rectifier.MAINS_LOW, amps, farads, MAINS_FREQUENCY, drop
            ),
            rising={"volts": parts[self.transformer]["secondary_voltage"],
                    "farads": parts[self.capacitor]["capacitance"]},
            falling={"amps": current, "drop": parts[self.bridge]["diode_drop"]},
        ).maximum(0.0)

    def high(self, parts: Parts) -> Interval:
        part = parts[self.transformer]
        return monotone(
            lambda volts, regulation: rectifier.no_load_voltage(volts * rectifier.MAINS_HIGH, regulation),
            rising={"volts": part["secondary_voltage"], "regulation": part["regulation"]},
        )

    def full_load_peak(self, parts: Parts) -> Interval:
        """Peak under load with mains 10 % up: what a series element must turn into heat from."""
        return monotone(
            lambda volts, drop: rectifier.peak_voltage(volts * rectifier.MAINS_HIGH, drop),
            rising={"volts": parts[self.transformer]["secondary_voltage"]},
            falling={"drop": parts[self.bridge]["diode_drop"]},
        )

    def current(self, parts: Parts) -> Interval:
        part = parts[self.transformer]
        factor = Interval(*_factor(part["regulation"]))
        return part["secondary_current"] * factor

    def unit_power(self, parts: Parts) -> Interval:
        return parts[self.transformer]["apparent_power"]

    def ripple(self, parts: Parts) -> Interval:
        return self.ripple_at(parts, self.current(parts))

    def ripple_at(self, parts: Parts, current: Interval | float) -> Interval:
        """Ripple at a given load current; the true one is 0.4 to 1 times I/(2 f C)."""
        bound = monotone(
            lambda farads, amps: rectifier.ripple_bound(amps, farads, MAINS_FREQUENCY),
            rising={"amps": as_interval(current)},
            falling={"farads": parts[self.capacitor]["capacitance"]},
        )
        return Interval(bound.lo * 0.4, bound.hi)


def _factor(regulation: Interval) -> tuple[float, float]:
    """Direct over rated alternating current for a range of transformer regulation."""
    return (
        rectifier.direct_current_factor_range(regulation.lo)[0],
        rectifier.direct_current_factor_range(regulation.hi)[1],
    )
