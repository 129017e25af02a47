"""What a rail feeds: the power balance of every consumer, summed against the rail and the unit."""

from __future__ import annotations

import functools
from typing import ClassVar, Protocol

import numpy as np

from fitter.checks.base import Judgement, Parts, Reader, RoleName, within
from fitter.checks.drives import DRIVER_EFFICIENCY, LOADING, running_current, select
from fitter.checks.motion import Train
from fitter.checks.rails import LEAST_VOLTAGE, TOO_STIFF, PartRail, Rail, RectifiedRail, current_known
from fitter.checks.sums import SumCheck
from fitter.intervals import Interval, as_number
from fitter.physics import stepper_windings
from fitter.units import show

USABLE_CHARGE = 0.8  # of the capacity, for a long life; as physics.batteries.run_time has it
BRIDGE_SPARE = 1.5  # rating of a bridge over what is drawn for hours; common practice, no source


class Consumer(Protocol):
    """Something that draws from a rail."""

    @property
    def roles(self) -> tuple[str, ...]:
        """The roles that set what it draws."""
        ...

    @property
    def about(self) -> str:
        """What draws, in a few words."""
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

    @property
    def about(self) -> str:
        return f"{self.train.motor} running and speeding up"

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

    @property
    def about(self) -> str:
        return f"{self.train.motor} speeding up"

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return running_current(self.train, parts, steady=False)


class RatedConsumer(Reader):
    """A part that draws a current of its own: a servo, a board, a fan."""

    role: RoleName
    rating: str

    @property
    def about(self) -> str:
        return f"{self.role} at its {self.rating.replace('_', ' ')}"

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return parts[self.role][self.rating]


class CoilConsumer(Reader):
    """A coil that is on: volts over ohms."""

    role: RoleName

    @property
    def about(self) -> str:
        return f"{self.role} switched on"

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return volts / parts[self.role]["resistance"]


class Several(Reader):
    """Some of a number of consumers alike, on at once."""

    consumer: Consumer
    at_once: float

    @property
    def about(self) -> str:
        return f"{self.at_once:g} x {self.consumer.about}"

    def current(self, parts: Parts, volts: Interval) -> Interval:
        return self.consumer.current(parts, volts) * self.at_once


class RailAmount(Reader):
    """What one consumer takes of a rail, with what is to spare: amps, or watts."""

    rail: Rail
    consumer: Consumer
    watts: bool = False
    spare: float = 1 / LOADING

    def of(self, parts: Parts) -> Interval:
        volts = self.rail.low(parts).maximum(LEAST_VOLTAGE)
        amps = self.consumer.current(parts, volts) * self.spare
        return amps * volts if self.watts else amps


class RailCurrent(SumCheck):
    """Everything a rail feeds, all at once, within 80 % of what rail and whole unit give for hours."""

    name = "current of the rail"
    quantity = "current"
    rail: Rail
    consumers: tuple[Consumer, ...]

    @property
    def amounts(self) -> tuple[RailAmount, ...]:
        return tuple(RailAmount(self.rail, c) for c in self.consumers)

    @property
    def shared(self) -> tuple[str, ...]:
        return self.rail.roles

    def room(self, parts: Parts) -> Interval:
        room = self.rail.current(parts).minimum(self.rail.unit_current(parts))
        return Interval(room.lo * current_known(self.rail, parts).lo, room.hi)

    def judge(self, parts: Parts) -> Judgement:
        return within(current_known(self.rail, parts), super().judge(parts), TOO_STIFF)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        volts = self.rail.low(parts).maximum(LEAST_VOLTAGE)
        each = ", ".join(
            f"{c.about} {show(float(c.current(parts, volts).hi), 'current')}" for c in self.consumers
        )
        text = f"all at once, each at its hardest: {each}; loaded to {LOADING:.0%} for long life"
        return text + (_drift(self.rail, parts) if isinstance(self.rail, PartRail) else "")


class RunTime(SumCheck):
    """A battery lasts as long as asked with everything at its hardest; other supplies last for ever."""

    name = "running time of the battery"
    quantity = "charge"
    rail: PartRail
    consumers: tuple[Consumer, ...]
    seconds: float

    @property
    def amounts(self) -> tuple[RailAmount, ...]:
        return tuple(RailAmount(self.rail, c, spare=self.seconds) for c in self.consumers)

    @property
    def shared(self) -> tuple[str, ...]:
        return self.rail.roles

    def room(self, parts: Parts) -> Interval:
        return parts[self.rail.role]["capacity"] * USABLE_CHARGE

    def idle(self, parts: Parts) -> bool:
        return bool(np.isinf(parts[self.rail.role]["capacity"].lo))

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        hours, share = show(self.seconds, "time"), f"{USABLE_CHARGE:.0%}"
        return f"{hours} with everything at its hardest, from {share} of the charge"


class RectifierLoad(SumCheck):
    """The bridge carries what all consumers draw, with half as much to spare."""

    name = "current of the bridge"
    quantity = "current"
    rail: RectifiedRail
    consumers: tuple[Consumer, ...]

    @property
    def amounts(self) -> tuple[RailAmount, ...]:
        return tuple(RailAmount(self.rail, c, spare=BRIDGE_SPARE) for c in self.consumers)

    @property
    def shared(self) -> tuple[str, ...]:
        return (self.rail.bridge,)

    def room(self, parts: Parts) -> Interval:
        return parts[self.rail.bridge]["current"]

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        return f"{BRIDGE_SPARE:g} times the current that is drawn"


def _drift(rail: PartRail, parts: Parts) -> str:
    """Minimum load and cross regulation, where the unit has several rails."""
    if parts[rail.role]["rails"].hi <= 1:
        return ""
    return (
        "; a unit of several rails regulates one of them, mostly the 5 V one: unless that is loaded the "
        "others drift or it shuts down, so measure this rail with both under load"
    )


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


class Supplied(Reader):
    """A supply role, the rail it makes and all that this rail feeds."""

    role: RoleName
    rail: Rail
    consumers: tuple[Consumer, ...]


class Shared(SumCheck):
    """Supply roles that may be filled from the unit of the first: what they feed is then added up."""

    watts: ClassVar[bool]
    first: Supplied
    others: tuple[Supplied, ...]

    @property
    def amounts(self) -> tuple[RailAmount, ...]:
        each = (self.first, *self.others)
        return tuple(RailAmount(s.rail, c, self.watts) for s in each for c in s.consumers)

    @property
    def shared(self) -> tuple[str, ...]:
        return tuple(s.role for s in (self.first, *self.others))

    def with_first(self, other: Supplied, parts: Parts) -> Interval:
        """One where another role draws on what the first draws on."""
        return same(parts[self.first.role]["unit"], parts[other.role]["unit"])

    def weights(self, parts: Parts) -> list[Interval]:
        joined = [self.with_first(s, parts) for s in self.others]
        any_joined = functools.reduce(Interval.maximum, joined)
        weights = [any_joined] * len(self.first.consumers)
        for supplied, weight in zip(self.others, joined, strict=True):
            weights += [weight] * len(supplied.consumers)
        return weights


class SharedUnit(Shared):
    """Supply roles on one unit: its power is checked once for all."""

    name = "shared supply"
    quantity = "power"
    watts = True

    def room(self, parts: Parts) -> Interval:
        return self.first.rail.unit_power(parts)

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        if judgement.need.hi <= 0:
            return ""
        together = show(float(judgement.need.hi), "power")
        return f"several draw on one unit: {together} together, loaded to {LOADING:.0%}"


class SharedRail(Shared):
    """Supply roles on one rail of one unit: its current is checked once for all."""

    name = "shared rail"
    quantity = "current"
    watts = False

    def room(self, parts: Parts) -> Interval:
        return self.first.rail.current(parts)

    def with_first(self, other: Supplied, parts: Parts) -> Interval:
        rail = same(parts[self.first.role]["rail"], parts[other.role]["rail"])
        return super().with_first(other, parts) * rail

    def sentence(self, parts: Parts, judgement: Judgement) -> str:
        if judgement.need.hi <= 0:
            return ""
        together = show(float(judgement.need.hi), "current")
        return f"several draw on one rail: {together} together, loaded to {LOADING:.0%}"
