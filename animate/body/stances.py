"""Where the foot is under the body at touchdown and take-off, from the key poses.

This is the one source of the take-off and landing distances: the planner reads it, and the moving
figure starts from the same poses.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Final

import numpy as np

from animate.body.body import SEGMENTS, Array, Body
from animate.body.pose import SEGMENT, Stance, stance
from animate.refused import Refused

GRAVITY: Final = 9.81
"""Standard for all of Phasemark [m/s2]."""

SPEED_AT_BASE: Final = 1.9
"""Dimensionless speed v/sqrt(g leg) at which the written key poses hold (ours, no source)."""
TURN_PER_SPEED: Final = np.deg2rad(11.0)
"""How much further the stance leg reaches per unit of that speed [rad] (ours: chosen so that
centre-of-mass travel over mean speed gives the published contact times at a record jumper's speed)."""
TURN_LIMITS: Final = (np.deg2rad(-9.0), np.deg2rad(13.0))

_TOUCHDOWN: Final = {
    "run": "touchdown after run",
    "hop": "touchdown after hop",
    "step": "touchdown after step",
    "sand": "touchdown into sand",
    "two feet in sand": "sand landing",
}
_TAKEOFF: Final = {
    "run": "take-off into run",
    "hop": "take-off into hop",
    "step": "take-off into step",
    "jump": "take-off into jump",
    "stand": "take-off from standing",
}
ARRIVALS: Final = tuple(_TOUCHDOWN)
DEPARTURES: Final = tuple(_TAKEOFF)


@lru_cache(maxsize=1)
def key_poses() -> dict[str, Array]:
    """The written key poses.

    Returns segment angles (14,) [rad] by name, the stance leg being the right one.
    """
    text = files("animate.body").joinpath("key_poses.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    out = {}
    for row in rows:
        # The hand goes on in line with the forearm.
        angles = [float(row[name.replace("hand", "forearm")]) for name in SEGMENTS]
        out[row["part"]] = np.deg2rad(np.array(angles))
        out[row["part"]].flags.writeable = False
    return out


@dataclass(frozen=True, eq=False)
class StanceTable:
    """Touchdown or take-off geometry of one body over a range of speeds.

    speed: (n,), horizontal speeds tabulated [m/s].
    toe, heel, height: (n,), as in `Stance` [m].
    """

    speed: Array
    toe: Array
    heel: Array
    height: Array

    def at(self, speed: Array | float) -> Stance:
        """Geometry at given horizontal speeds [m/s], linear between the tabulated ones."""
        toe, heel, height = (
            np.asarray(np.interp(speed, self.speed, values))
            for values in (self.toe, self.heel, self.height)
        )
        return Stance(toe, heel, height)


def _turned(angles: Array, turn: Array, forward: bool) -> Array:
    out = np.repeat(angles[None, :], turn.size, axis=0)
    legs = [SEGMENT["r_thigh"], SEGMENT["r_shank"]]
    out[:, legs] += (turn if forward else -turn)[:, None]
    if not forward:
        out[:, SEGMENT["r_foot"]] -= turn / 2
    return out


def _table(who: Body, part: str, forward: bool, fixed: bool) -> StanceTable:
    unit = np.sqrt(GRAVITY * who.leg)
    speed = np.linspace(0.0, 4.2, 43) * unit
    turn = np.clip((speed / unit - SPEED_AT_BASE) * TURN_PER_SPEED, *TURN_LIMITS)
    if fixed:
        turn = np.zeros_like(turn)
    found = stance(who, _turned(key_poses()[part], turn, forward), "r")
    return StanceTable(speed, found.toe, found.heel, found.height)


@lru_cache(maxsize=4096)
def touchdown(who: Body, arrive: str) -> StanceTable:
    """Where the foot is at touchdown, over the speeds a body runs at.

    The written pose of `arrive` (one of `ARRIVALS`) with its stance leg turned forward by
    11 degrees x (v / sqrt(g L) - 1.9), held to -9 and 13 degrees; two feet in sand are not turned.
    v horizontal speed [m/s], L leg length [m]; tabled for v from 0 to 4.2 sqrt(g L), beyond which
    `StanceTable.at` stays at the end (ours, no source; `toe` is the landing distance, positive).

    >>> from animate.body.body import body
    >>> found = touchdown(body(1.80, 72.0), "hop").at(8.0)
    >>> round(float(found.toe), 2), round(float(found.height), 2)
    (0.66, 0.92)
    """
    if arrive not in _TOUCHDOWN:
        raise Refused("arrive", f"one of {', '.join(ARRIVALS)}", f"{arrive!r}")
    return _table(who, _TOUCHDOWN[arrive], True, arrive == "two feet in sand")


@lru_cache(maxsize=4096)
def takeoff(who: Body, leave: str) -> StanceTable:
    """Where the foot is at take-off: as `touchdown`, the stance leg turned back and its foot half as much.

    `leave` is one of `DEPARTURES`; from standing nothing is turned. `toe` is negative: behind the body.

    >>> from animate.body.body import body
    >>> round(float(takeoff(body(1.80, 72.0), "step").at(8.0).toe), 2)
    -0.56
    """
    if leave not in _TAKEOFF:
        raise Refused("leave", f"one of {', '.join(DEPARTURES)}", f"{leave!r}")
    return _table(who, _TAKEOFF[leave], False, leave == "stand")
