"""Rails: what a consumer sees of its supply, whether one part makes it or several."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from fitter.checks.base import Parts, Reader, RoleName, stays_above
from fitter.intervals import Interval, Number, as_interval, monotone
from fitter.physics import loaded_rectifier, rectifier

LEAST_RIPPLE = 0.34  # of I/(2 f C), behind a transformer with much leakage; circuit simulation in the tests
LEAST_VOLTAGE = 0.1  # V; a rail below this feeds nothing, and a power balance wants some voltage
LEAST_CURRENT = 1e-3  # A; formulas of a loaded rectifier want some load
TOO_STIFF = "direct currents are known for transformers of 0.3 % regulation and more"
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

    def unit_current(self, parts: Parts) -> Interval:
        """Direct current for which that power is enough."""
        ...

    def ripple(self, parts: Parts) -> Interval:
        """Peak to peak."""
        ...


class PartRail(Reader):
    """A rail that one part provides."""

    role: RoleName

    def low(self, parts: Parts) -> Interval:
        return parts[self.role]["voltage.low"]

    def high(self, parts: Parts) -> Interval:
        return parts[self.role]["voltage.high"]

    def current(self, parts: Parts) -> Interval:
        return parts[self.role]["current"]

    def unit_power(self, parts: Parts) -> Interval:
        return parts[self.role]["unit_power"]

    def unit_current(self, parts: Parts) -> Interval:
        return self.unit_power(parts) / self.low(parts).maximum(LEAST_VOLTAGE)

    def ripple(self, parts: Parts) -> Interval:
        return parts[self.role]["ripple"]


class RectifiedRail(Reader):
    """Transformer, bridge and capacitor, unregulated.

    Low is the trough at full direct current and mains 10 % down, high the peak without load and
    mains 10 % up: a range the rail runs through, so its ends count, not what may be measured.
    """

    transformer: RoleName
    bridge: RoleName
    capacitor: RoleName

    def low(self, parts: Parts) -> Interval:
        return self.low_at(parts, self.current(parts))

    def low_at(self, parts: Parts, current: Interval) -> Interval:
        """Trough at a given load current, mains 10 % down.

        The lower end allows for the flattened top of a soft transformer's sine, the upper end is the
        peak less the least ripple.
        """
        amps = Interval(np.maximum(current.lo, LEAST_CURRENT), np.maximum(current.hi, LEAST_CURRENT))
        volts, rated, regulation = self._winding(parts)
        farads, drop = parts[self.capacitor]["capacitance"], parts[self.bridge]["diode_drop"]
        source = loaded_rectifier.source_resistance(volts.lo, rated.lo, regulation.hi)
        open_volts = rectifier.MAINS_LOW * volts.lo * (1 + np.asarray(regulation.lo))
        worst = loaded_rectifier.trough_bound(
            open_volts, source, amps.hi, farads.lo, MAINS_FREQUENCY, drop.hi
        )
        best = rectifier.peak_voltage(
            rectifier.MAINS_LOW * volts.hi * (1 + np.asarray(regulation.hi)), drop.lo
        )
        return Interval(worst, best).maximum(0.0)

    def _winding(self, parts: Parts) -> tuple[Interval, Interval, Interval]:
        part = parts[self.transformer]
        return part["secondary_voltage"], part["secondary_current"], part["regulation"]

    def high(self, parts: Parts) -> Interval:
        part = parts[self.transformer]
        return monotone(
            lambda volts, regulation: rectifier.no_load_voltage(volts * rectifier.MAINS_HIGH, regulation),
            rising={"volts": part["secondary_voltage"], "regulation": part["regulation"]},
        )

    def hottest_at(self, parts: Parts, current: float) -> Interval:
        """Mean voltage at a load current with mains 10 % up: what a series element makes heat from."""
        volts, rated, regulation = self._winding(parts)
        source = loaded_rectifier.source_resistance(volts.hi, rated.hi, regulation.lo)
        open_volts = rectifier.MAINS_HIGH * volts.hi * (1 + np.asarray(regulation.hi))
        return Interval(
            self.low_at(parts, Interval.point(current)).lo,
            loaded_rectifier.mean_bound(open_volts, source, current),
        )

    def current(self, parts: Parts) -> Interval:
        return parts[self.transformer]["secondary_current"] * self._factor(parts)

    def unit_power(self, parts: Parts) -> Interval:
        return parts[self.transformer]["apparent_power"]

    def unit_current(self, parts: Parts) -> Interval:
        alternating = self.unit_power(parts) / parts[self.transformer]["secondary_voltage"]
        return alternating * self._factor(parts)

    def _factor(self, parts: Parts) -> Interval:
        return Interval(*_factor(parts[self.transformer]["regulation"]))

    def ripple(self, parts: Parts) -> Interval:
        return self.ripple_at(parts, self.current(parts))

    def ripple_at(self, parts: Parts, current: Interval | float) -> Interval:
        """Ripple at a given load current; the true one is 0.34 to 1 times I/(2 f C)."""
        bound = monotone(
            lambda farads, amps: rectifier.ripple_bound(amps, farads, MAINS_FREQUENCY),
            rising={"amps": as_interval(current)},
            falling={"farads": parts[self.capacitor]["capacitance"]},
        )
        return Interval(bound.lo * LEAST_RIPPLE, bound.hi)


def current_known(rail: Rail, parts: Parts) -> Interval:
    """One where the table of direct currents behind a transformer reaches, zero where it does not."""
    if not isinstance(rail, RectifiedRail):
        return Interval.point(1.0)
    return stays_above(parts[rail.transformer]["regulation"], rectifier.LEAST_REGULATION)


def _factor(regulation: Interval) -> tuple[Number, Number]:
    """Direct over rated alternating current for a range of transformer regulation."""
    return (
        rectifier.direct_current_factor_range(regulation.lo)[0],
        rectifier.direct_current_factor_range(regulation.hi)[1],
    )
