"""A flight between two heights, from the pose it begins with to the pose it ends in."""

from __future__ import annotations

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY, takeoff, touchdown
from animate.refused import Refused


def flight_time(vy: Array | float, start: Array | float, end: Array | float) -> Array:
    """Time of flight between two heights of the centre of mass.

    t = (vy + sqrt(vy^2 + 2 g (start - end))) / g

    Returns [s], ndarray (...). Refused: a velocity outside the range, or too small to reach the end height.
    Source: uniform gravity, no air; the body is above no surface it could hit earlier.

    vy: (...), vertical velocity at take-off [m/s], -5 to 8.
    start, end: (...), height of the centre of mass at take-off and at touchdown [m].

    >>> round(float(flight_time(2.20, 1.22, 1.02)), 3)
    0.526
    """
    vy, drop = np.asarray(vy, float), np.asarray(start, float) - np.asarray(end, float)
    if not (np.isfinite(vy) & (vy >= -5.0) & (vy <= 8.0)).all():
        raise Refused("vy", "-5 to 8 m/s", vy)
    under = vy * vy + 2.0 * GRAVITY * drop
    if not (under >= 0.0).all():
        raise Refused("vy", f"too small to rise {-drop} m", vy)
    return np.asarray((vy + np.sqrt(under)) / GRAVITY)


def vy_for_time(time: Array | float, start: Array | float, end: Array | float) -> Array:
    """Vertical take-off velocity that makes a flight last a given time [m/s], ndarray (...).

    vy = g t / 2 - (start - end) / t

    time: (...), [s], above 0.
    start, end: (...), heights as in `flight_time` [m].
    """
    time = np.asarray(time, float)
    if not (time > 0.0).all():
        raise Refused("time", "above 0 s", time)
    drop = np.asarray(start, float) - np.asarray(end, float)
    return np.asarray(GRAVITY * time / 2.0 - drop / time)


def stance_at(who: Body, arrive: str, speed: Array) -> tuple[Array, Array]:
    """Landing distance and centre-of-mass height at touchdown [m]; in sand to the nearest break."""
    table = touchdown(who, arrive)
    foot = table.heel if "sand" in arrive else table.toe
    return np.interp(speed, table.speed, foot), np.interp(speed, table.speed, table.height)


def leave_at(who: Body, leave: str, speed: Array) -> tuple[Array, Array]:
    """Take-off distance (centre of mass ahead of the toe) and height at take-off [m]."""
    table = takeoff(who, leave)
    return -np.interp(speed, table.speed, table.toe), np.interp(speed, table.speed, table.height)


def arrival(move: str, sand: bool) -> str:
    """Which touchdown pose ends a move."""
    if move == "jump":
        return "two feet in sand"
    return "sand" if sand else move
