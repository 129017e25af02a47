"""Moves from rest to rest, and the torque that heats a motor over a cycle of them. SI units."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitter.physics._values import Number, choose, larger, require, root, smaller

if TYPE_CHECKING:
    import numpy.typing as npt


class Move(NamedTuple):
    """A trapezoid move: speed reached, m/s, and times, s."""

    peak_speed: Number
    ramp_time: Number
    cruise_time: Number
    total_time: Number


def trapezoid_move(distance: Number, speed: Number, acceleration: Number) -> Move:
    """Move from rest to rest: speed up, cruise, slow down; a triangle where the way is too short.

    ``v = min(speed, sqrt(s a))``, ``t_ramp = v / a``, ``t_cruise = s / v - v / a``.

    Args:
        distance: m (or rad), not below zero.
        speed: greatest allowed, m/s (or rad/s), above zero.
        acceleration: m/s^2 (or rad/s^2), above zero; the same for both ramps.

    Returns:
        Speed reached and the times of one ramp, the cruise and the whole move.

    Raises:
        ValueError: distance below zero, or speed or acceleration not above zero.

    Source:
        Kinematics; common practice, no source.

    Example:
        >>> trapezoid_move(distance=3.0, speed=1.0, acceleration=1.0)
        Move(peak_speed=1.0, ramp_time=1.0, cruise_time=2.0, total_time=4.0)
    """
    require(distance >= 0, "distance must not be below zero")
    require(speed > 0, "speed must be above zero")
    require(acceleration > 0, "acceleration must be above zero")
    peak = smaller(speed, root(distance * acceleration))
    ramp = peak / acceleration
    cruise = larger(distance - peak * ramp, 0.0) / speed  # a cruise only happens at the full speed
    return Move(peak, ramp, cruise, 2 * ramp + cruise)


def speed_for_time(distance: Number, time: Number, acceleration: Number) -> Number:
    """Least speed that covers a distance from rest to rest in a time.

    Root of ``v^2 / a - v t + s = 0``: ``v = 2 s / (t + sqrt(t^2 - 4 s / a))``. Infinite where the
    acceleration is too low for any speed.

    Args:
        distance: m, not below zero.
        time: for the whole move, s, above zero.
        acceleration: m/s^2, above zero.

    Returns:
        Speed, m/s.

    Raises:
        ValueError: distance below zero, or time or acceleration not above zero.

    Source:
        Kinematics, the inverse of the trapezoid move; own derivation.

    Example:
        >>> speed_for_time(distance=3.0, time=4.0, acceleration=1.0)
        1.0
    """
    require(distance >= 0, "distance must not be below zero")
    require(time > 0, "time must be above zero")
    require(acceleration > 0, "acceleration must be above zero")
    rest = time * time - 4 * distance / acceleration
    return choose(rest >= 0, 2 * distance / (time + root(larger(rest, 0.0))), math.inf)


def rms_torque(torques: npt.ArrayLike, times: npt.ArrayLike) -> Number:
    """Torque that heats a motor as much as a cycle of pieces, pauses included.

    ``sqrt(sum T_i^2 t_i / sum t_i)`` along the last axis.

    Args:
        torques: of the pieces, N m; shape (..., n).
        times: of the pieces, s, not below zero and not all zero; shape (..., n).

    Returns:
        Torque, N m; shape (...), a float for plain lists.

    Raises:
        ValueError: a time below zero, or a whole cycle of no time.

    Source:
        numberfactory.com, RMS torque; Trinamic QBL5704 manual, section 5.2.

    Example:
        >>> rms_torque(torques=[0.4, 0.0], times=[1.0, 3.0])
        0.2
    """
    torque, time = np.asarray(torques, dtype=float), np.asarray(times, dtype=float)
    require(bool(np.all(time >= 0)), "times must not be below zero")
    total = np.sum(np.broadcast_arrays(time, torque)[0], axis=-1)
    require(bool(np.all(total > 0)), "a cycle must take some time")
    mean = np.sqrt(np.sum(torque * torque * time, axis=-1) / total)
    return float(mean) if np.ndim(mean) == 0 else mean


def move_rms_torque(
    run_torque: Number, ramp_torque: Number, move: Move, pause: Number = 0.0, hold_torque: Number = 0.0
) -> Number:
    """RMS torque of a trapezoid move followed by a pause.

    Pieces: ``run + ramp`` while speeding up, ``run``, ``run - ramp`` while slowing down, ``hold``.

    Args:
        run_torque: against friction, slope and process, N m.
        ramp_torque: for the acceleration alone, N m.
        move: from :func:`trapezoid_move`.
        pause: until the next move, s, not below zero.
        hold_torque: during the pause, N m.

    Returns:
        Torque, N m.

    Raises:
        ValueError: a time below zero, or a cycle of no time.

    Source:
        As for :func:`rms_torque`.

    Example:
        >>> move = trapezoid_move(distance=3.0, speed=1.0, acceleration=1.0)
        >>> round(move_rms_torque(run_torque=0.0, ramp_torque=0.2, move=move, pause=4.0), 6)
        0.1
    """
    torques = (run_torque + ramp_torque, run_torque, run_torque - ramp_torque, hold_torque)
    times = (move.ramp_time, move.cruise_time, move.ramp_time, pause)
    return rms_torque(
        np.stack(np.broadcast_arrays(*torques), axis=-1), np.stack(np.broadcast_arrays(*times), axis=-1)
    )
