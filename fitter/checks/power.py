"""What a rail feeds: the power balance of every consumer, summed against the rail and the unit."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from fitter.checks.base import Check, Judgement, Parts, Reader, RoleName, at_least
from fitter.checks.drives import DRIVER_EFFICIENCY, LOADING, running_current, select
from fitter.checks.motion import Train
from fitter.checks.rails import Rail
from fitter.intervals import Interval, as_number
from fitter.physics import stepper_windings
from fitter.units import show

LEAST_VOLTAGE = 0.1  # V; a rail below this feeds nothing, and a power balance wants some voltage


class Consumer(Protocol):
    """Something that draws from a rail."""

    @property
    def roles(self) -> tuple[str, ...]:
        """The roles that set what it draws."""
        ...

    def current(self, parts: Parts, volts: Interval) -> Interval:
        """Direct current it draws from a rail at this voltage, A, at its hardest steady duty."""
        ...


class StepperConsumer(Reader):
    """A stepper on its driver: copper loss and mechanical power over the driver's efficiency.

    Not the sum of the phase currents: a chopper turns volts into amps.
    """

    driver: RoleName
    train: Train

    def current(self, parts: Parts, volts: Interval) -> Interval:
        chopper = parts[self.driver]["chopper"]
        return select(chopper, self._balance(parts) / volts, self._both_phases(parts))

    def _balance(self, parts: Parts) -> Interval:
        motor, setting = parts[self.train.motor], self._setting(parts)
        copper = Interval(
            stepper_windings.copper_loss(setting.lo, motor["resistance"].lo),
            stepper_windings.copper_loss(setting.hi, motor["resistance"].hi),
        )
        return (copper + self.train.power(parts)) / DRIVER_EFFICIENCY

    def _both_phases(self, parts: Parts) -> Interval:
        return self._setting(parts) * 2.0

    def _setting(self, parts: Parts) -> Interval:
        """From what the driver can do at the most up to the motor's rating.

        A stronger driver may be turned down, so its strength must not count against the rail.
        """
        rated = parts[self.train.motor]["rated_current"]
        return Interval(rated.minimum(parts[self.driver]["peak_current"]).lo, rated.hi)


class MotorConsumer(Reader):
    """A DC motor on its bridge: the current of its load while it speeds up."""

    train: Train

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return running_current(self.train, parts, steady=False)


class RatedConsumer(Reader):
    """A part that draws a current of its own: a servo, a board, a fan."""

    role: RoleName
    rating: str

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return parts[self.role][self.rating]


class CoilConsumer(Reader):
    """A coil that is on: volts over ohms."""

    role: RoleName

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return volts / parts[self.role]["resistance"]


def total_current(rail: Rail, consumers: tuple[Consumer, ...], parts: Parts) -> Interval:
    """All consumers at once on one rail, A."""
    volts = rail.low(parts).maximum(LEAST_VOLTAGE)
    total = Interval.point(0.0)
    for consumer in consumers:
        total = total + consumer.current(parts, volts)
    return total


class RailCurrent(Check):
    """Everything a rail feeds, all at once, within 80 % of what rail and whole unit give for hours."""

    name = "current of the rail"
    quantity = "current"
    rail: Rail
    consumers: tuple[Consumer, ...]

    def judge(self, parts: Parts) -> Judgement:
        by_unit = self.rail.unit_power(parts) / self.rail.low(parts).maximum(LEAST_VOLTAGE)
        have = self.rail.current(parts).minimum(by_unit)
        return at_least(total_current(self.rail, self.consumers, parts) * (1 / LOADING), have)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"power balance of all it feeds, loaded to {LOADING:.0%} for long life"


def same(a: Interval, b: Interval) -> Interval:
    """One where two exact codes are equal, zero where they differ, both where still open.

    Negative codes stand for units of their own and equal nothing.
    """
    apart = (
        (np.asarray(a.lo) > b.hi)
        | (np.asarray(b.lo) > a.hi)
        | (np.asarray(a.hi) < 0)
        | (np.asarray(b.hi) < 0)
    )
    exact = (np.asarray(a.lo) == a.hi) & (np.asarray(b.lo) == b.hi) & ~apart
    return Interval(as_number(exact), as_number(~apart))


class SharedUnit(Check):
    """Two supply roles on one unit: its power, and its rail if it is the same one, is checked once."""

    name = "shared supply"
    quantity = "power"
    first: RoleName
    second: RoleName
    first_rail: Rail
    second_rail: Rail
    first_consumers: tuple[Consumer, ...]
    second_consumers: tuple[Consumer, ...]

    @property
    def keys(self) -> tuple[str, ...]:
        return (self.first, self.second)

    def judge(self, parts: Parts) -> Judgement:
        unit = same(parts[self.first]["unit"], parts[self.second]["unit"])
        rail = same(parts[self.first]["rail"], parts[self.second]["rail"])
        a = total_current(self.first_rail, self.first_consumers, parts)
        b = total_current(self.second_rail, self.second_consumers, parts)
        power = a * self.first_rail.low(parts) + b * self.second_rail.low(parts)
        by_unit = at_least(power * unit * (1 / LOADING), self.first_rail.unit_power(parts))
        shared = (a + b) * unit * rail * (1 / LOADING)
        by_rail = at_least(shared, self.first_rail.current(parts))
        return Judgement(by_unit.need, by_unit.have, by_unit.margin.minimum(by_rail.margin))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        if judgement.need.hi <= 0:
            return ""
        together = show(float(judgement.need.hi), "power")
        return f"both draw on one unit: {together} together, loaded to {LOADING:.0%}"
