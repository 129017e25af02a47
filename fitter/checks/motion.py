"""Loads, the stages that drive them, and drive trains: what the checks of motion are built on.

A stage turns rotation into motion of the next thing along: it has an advance (metre per radian for
a linear load, radian per radian for a rotary one) and an efficiency. A train is the path motor ->
stages -> load, of any length, as found in the component graph.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from math import cos, pi

import numpy as np

from fitter.checks.base import Parts, Reader, RoleName
from fitter.checks.rails import Rail
from fitter.intervals import Interval, as_number, largest, monotone, smallest
from fitter.physics import belts, motion, moves, screws, worms

# Oriental Motor load-torque page gives 0.85 to 0.95 for belts, screws and racks with bearings.
BELT_EFFICIENCY = Interval(0.85, 0.95)
SPOOL_EFFICIENCY = Interval(0.8, 0.95)  # common practice, no source
PRESSURE_ANGLE = 20 * pi / 180  # of usual worm teeth
LEAST_ANGLE = 1e-6  # rad; formulas of worms want some
LEAST_GRIP = Interval(1.0, 1.0 / cos(screws.METRIC_HALF_ANGLE))  # thread flank: square to metric
UNROLLED = 1 / pi  # diameter of a thread one metre round: its lead is its slope
GEAR_EFFICIENCY = Interval(0.85, 0.95)  # one spur mesh; Miki Pulley technical data: 0.85


class Load(Reader):
    """What a train moves. Figures in SI; for a rotary load mass is inertia and force is torque.

    ``safety`` multiplies the whole need: 2 for steppers, which lose steps when overloaded, 1.5
    for gearmotors, which slow down (common practice, no source).
    """

    name: str
    mass: float
    speed: float
    acceleration: float
    incline: float = 0.0
    process_force: float = 0.0
    travel: float = 0.0
    resolution: float = float("inf")
    carriage_length: float = 0.0
    safety: float = 2.0
    holds_unpowered: bool = False
    rotary: bool = False
    guides: tuple[RoleName, ...] = ()

    def friction(self, parts: Parts) -> Interval:
        """Coefficient of friction of what guides the load; none without a guide."""
        total = Interval.point(0.0)
        for role in self.guides:
            total = total + parts[role]["friction"]
        return total

    def drag(self, parts: Parts) -> Interval:
        """Drag of the guide that does not rise with the load, newton."""
        total = Interval.point(0.0)
        for role in self.guides:
            total = total + parts[role]["drag"]
        return total

    @cached_property
    def ramp_share(self) -> float:
        """Share of a move from end to end spent speeding up and slowing down; none without a travel."""
        if self.travel <= 0 or self.acceleration <= 0 or self.speed <= 0:
            return 0.0
        move = moves.trapezoid_move(self.travel, self.speed, self.acceleration)
        return float(2 * move.ramp_time / move.total_time)

    def force(self, parts: Parts) -> Interval:
        """Force (or torque) to move the load while it accelerates, without safety factor."""
        return self._force(parts, self.acceleration)

    def steady_force(self, parts: Parts) -> Interval:
        """Force (or torque) at constant speed."""
        return self._force(parts, 0.0)

    def pushes_back(self, parts: Parts) -> Interval:
        """Force (or torque) that would move the load back from rest: its weight, or the torque on it."""
        if self.rotary:
            return Interval.point(self.process_force)
        return monotone(
            lambda friction, drag: motion.axis_force(self.mass, 0.0, self.incline, -friction, -drag, 0.0),
            falling={"friction": self.friction(parts), "drag": self.drag(parts)},
        ).maximum(0.0)

    def _force(self, parts: Parts, acceleration: float) -> Interval:
        if self.rotary:
            return Interval.point(self.mass * acceleration + self.process_force)
        return monotone(
            lambda friction, drag: motion.axis_force(
                self.mass, acceleration, self.incline, friction, drag, self.process_force
            ),
            rising={"friction": self.friction(parts), "drag": self.drag(parts)},
        )


class Stage(Reader):
    """One step of a train, held by one role."""

    role: RoleName

    def advance(self, parts: Parts) -> Interval:
        """Motion of the next thing per radian of this stage's input."""
        raise NotImplementedError

    def efficiency(self, parts: Parts) -> Interval:
        """Share of the power that is passed on."""
        raise NotImplementedError

    def back_drives(self, parts: Parts) -> Interval:
        """Share of the load's pull that gets through backwards; zero where it locks by itself.

        Its friction helps to hold, but vibration may take that away: the upper end counts none.
        """
        least = self.efficiency(parts).lo
        return Interval(least, largest(least, 1.0))


class Pulley(Stage):
    """Toothed pulley that pulls a belt."""

    def advance(self, parts: Parts) -> Interval:
        part = parts[self.role]
        return monotone(
            lambda pitch, teeth: belts.travel_per_turn(pitch, teeth) / (2 * pi),
            rising={"pitch": part["belt_pitch"], "teeth": part["teeth"]},
        )

    def efficiency(self, parts: Parts) -> Interval:
        return BELT_EFFICIENCY


class Screw(Stage):
    """Lead screw with its nut."""

    def advance(self, parts: Parts) -> Interval:
        return parts[self.role]["lead"] * (1 / (2 * pi))

    def efficiency(self, parts: Parts) -> Interval:
        slope, grip = self.slope(parts), parts[self.role]["friction"] * LEAST_GRIP
        # rises with the slope of the thread up to the best one, then falls: least at one of the ends
        worst = smallest(*(screws.efficiency(s, UNROLLED, grip.hi) for s in (slope.lo, slope.hi)))
        best = np.minimum(np.maximum(screws.best_lead(UNROLLED, grip.lo), slope.lo), slope.hi)
        return Interval(worst, screws.efficiency(best, UNROLLED, grip.lo))

    def slope(self, parts: Parts) -> Interval:
        """Lead over the way round at the mean diameter; the root lies at 0.7 of the diameter at the least."""
        return parts[self.role]["lead"] / (parts[self.role]["diameter"] * Interval(0.85, 0.95) * pi)

    def back_drives(self, parts: Parts) -> Interval:
        # locks when pi * friction * mean diameter / cos(half angle) > lead (Shigley, ch. 8)
        slope, grip = self.slope(parts), parts[self.role]["friction"] * LEAST_GRIP
        least = smallest(
            *(screws.back_driving_efficiency(s, UNROLLED, grip.hi) for s in (slope.lo, slope.hi))
        )
        return Interval(least, as_number((grip / slope).lo <= 1))


class BeltReduction(Stage):
    """Endless belt from the pulley in this role to a wheel on the driven shaft."""

    wheel: RoleName

    def advance(self, parts: Parts) -> Interval:
        return parts[self.role]["teeth"] / parts[self.wheel]["teeth"]

    def efficiency(self, parts: Parts) -> Interval:
        return BELT_EFFICIENCY


class RackGear(Stage):
    """Gear that runs along a rack."""

    def advance(self, parts: Parts) -> Interval:
        return parts[self.role]["module"] * parts[self.role]["teeth"] * 0.5

    def efficiency(self, parts: Parts) -> Interval:
        return GEAR_EFFICIENCY


class Spool(Stage):
    """Drum that winds a cord."""

    def advance(self, parts: Parts) -> Interval:
        return parts[self.role]["diameter"] * 0.5

    def efficiency(self, parts: Parts) -> Interval:
        return SPOOL_EFFICIENCY


class Direct(Stage):
    """The motor's shaft carries the rotary load itself (through the coupler in this role)."""

    def advance(self, parts: Parts) -> Interval:
        return Interval.point(1.0)

    def efficiency(self, parts: Parts) -> Interval:
        return Interval.point(1.0)


class Reduction(Stage):
    """Two gears, or two pulleys and a closed belt, whose own inertia counts as nothing."""

    def advance(self, parts: Parts) -> Interval:
        return parts[self.role]["ratio"].reciprocal()

    def efficiency(self, parts: Parts) -> Interval:
        return GEAR_EFFICIENCY.hull(BELT_EFFICIENCY)


class Worm(Stage):
    """Worm and wheel."""

    def lead_angle(self, parts: Parts) -> Interval:
        """Of the worm; what a stock states beyond a right angle, or of nothing, counts as all but that."""
        return parts[self.role]["lead_angle"].maximum(LEAST_ANGLE).minimum(pi / 2 - LEAST_ANGLE)

    def advance(self, parts: Parts) -> Interval:
        return parts[self.role]["ratio"].reciprocal()

    def efficiency(self, parts: Parts) -> Interval:
        angle, friction = self.lead_angle(parts), parts[self.role]["friction"]
        # rises with the lead angle to 45 deg less half the friction angle, then falls: least at an end
        worst = smallest(
            *(worms.worm_efficiency(a, friction.hi, PRESSURE_ANGLE) for a in (angle.lo, angle.hi))
        )
        ideal = pi / 4 - np.arctan(np.asarray(friction.lo) / cos(PRESSURE_ANGLE)) / 2
        best = np.minimum(np.maximum(ideal, angle.lo), angle.hi)
        return Interval(worst, worms.worm_efficiency(best, friction.lo, PRESSURE_ANGLE))

    def back_drives(self, parts: Parts) -> Interval:
        angle, friction = self.lead_angle(parts), parts[self.role]["friction"]
        surely = worms.worm_self_locks(angle.hi, friction.lo, PRESSURE_ANGLE)
        least = smallest(
            *(worms.worm_back_efficiency(a, friction.hi, PRESSURE_ANGLE) for a in (angle.lo, angle.hi))
        )
        return Interval(least, 1.0 - as_number(surely))


StageType = Callable[[str], Stage]


def total_advance(stages: tuple[Stage, ...], parts: Parts) -> Interval:
    """Motion of the load per radian of the motor's output shaft."""
    total = Interval.point(1.0)
    for stage in stages:
        total = total * stage.advance(parts)
    return total


class Train(Reader):
    """Supply, driver, motor, stages and load of one drive, as found by walking the graph."""

    load: Load
    motor: RoleName
    driver: RoleName
    rail: Rail | None
    stages: tuple[Stage, ...]

    @cached_property
    def roles(self) -> tuple[str, ...]:
        """Motor, stages and guides set the torque needed; what reads driver or rail names them itself."""
        return tuple(
            dict.fromkeys((self.motor, *(r for s in self.stages for r in s.roles), *self.load.guides))
        )

    def advance(self, parts: Parts) -> Interval:
        """Motion of the load per radian of the motor's output shaft."""
        return total_advance(self.stages, parts)

    def behind(self, role: str) -> Train:
        """What is left of the train behind the stage in a role."""
        place = next(i for i, stage in enumerate(self.stages) if stage.role == role)
        return self.replace(stages=self.stages[place + 1 :])

    def efficiency(self, parts: Parts) -> Interval:
        """Product over the stages."""
        total = Interval.point(1.0)
        for stage in self.stages:
            total = total * stage.efficiency(parts)
        return total

    def speed(self, parts: Parts) -> Interval:
        """Of the motor's output shaft at the demanded speed, rad/s."""
        return Interval.point(self.load.speed) / self.advance(parts)

    def torque(self, parts: Parts, *, inertia: bool = True, steady: bool = False) -> Interval:
        """That the motor's output shaft must give, N m, without safety factor."""
        advance = self.advance(parts)
        force = self.load.steady_force(parts) if steady else self.load.force(parts)
        torque = force * (advance / self.efficiency(parts))
        if inertia and not steady:
            turning = Interval.point(self.load.acceleration) / advance
            torque = torque + parts[self.motor]["rotor_inertia"] * turning
        return torque

    def ramp_torque(self, parts: Parts) -> Interval:
        """What speeding up adds to the torque at the motor's output shaft, N m."""
        advance, load = self.advance(parts), self.load
        moved = advance / self.efficiency(parts) * (load.mass * load.acceleration)
        return moved + parts[self.motor]["rotor_inertia"] * (Interval.point(load.acceleration) / advance)

    def inertia(self, parts: Parts) -> Interval:
        """Of rotor and load, seen at the motor's output shaft, kg m^2."""
        advance = self.advance(parts)
        return parts[self.motor]["rotor_inertia"] + advance * advance * self.load.mass

    def moving_energy(self, parts: Parts) -> Interval:
        """Energy of motion at the demanded speed, J."""
        speed = self.speed(parts)
        return self.inertia(parts) * speed * speed * 0.5

    def power(self, parts: Parts) -> Interval:
        """Mechanical power at the demanded speed while the load speeds up, W."""
        load = self.load
        turning = parts[self.motor]["rotor_inertia"] * (load.acceleration * load.speed)
        advance = self.advance(parts)
        return load.force(parts) * load.speed / self.efficiency(parts) + turning / (advance * advance)

    def back_drives(self, parts: Parts) -> Interval:
        """Share of the load's pull that gets through to the motor; zero where a stage locks."""
        total = Interval.point(1.0)
        for stage in self.stages:
            total = total * stage.back_drives(parts)
        return total
