"""Jumpers of another making than the planner's: legs as struts that give impulses, for seasons to forecast.

A contact lasts as long as the leg takes to sweep from its touchdown to its take-off angle; upward it gives
a mean force for that time, forward it takes what the strut's lean lets the same force take, less a push
that fades with speed. Nothing here is the planner's: no line of loss and gain, no key poses. Ranges ours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

G: Final = 9.81
LEAN: Final = {"run": 0.56, "hop": 0.68, "step": 0.70}
"""Lean of the leg at touchdown by what comes before it [rad]."""
WANTED: Final = {"hop": 2.1, "step": 1.5, "jump": 2.3}
"""Upward speed that a jumper of 9 m/s makes of a move where the leg can [m/s]."""


@dataclass(frozen=True)
class Jumper:
    """One body: leg and stature [m], greatest mean force [body weights], lean at take-off [rad], braking and
    push [-], heights and leans of one's own as shares, full speed [m/s], tau [s], strides."""

    stature: float
    mass: float
    force: float
    away: float
    brake: float
    push: float
    own: tuple[float, float, float]
    lean: tuple[float, float, float]
    speed: float
    tau: float
    strides: int
    stand: float

    @property
    def leg(self) -> float:
        """[m]"""
        return 0.56 * self.stature


def drawn(rng: np.random.Generator) -> Jumper:
    """One of a wide club: boys, girls, women and men."""
    stature = rng.uniform(1.55, 1.90)
    return Jumper(
        stature, 21.0 * stature**2, rng.normal(4.4, 0.3), rng.normal(0.55, 0.03), rng.normal(0.50, 0.10),
        rng.normal(0.10, 0.04), tuple(rng.normal(1.0, 0.10, 3)), tuple(rng.normal(1.0, 0.06, 3)),
        rng.uniform(7.0, 10.0), rng.normal(2.0, 0.25), int(rng.integers(10, 19)), rng.normal(0.29, 0.025),
    )  # fmt: skip


def contact(
    who: Jumper, kind: str, move: str, vx: float, fall: float
) -> tuple[float, float, float]:
    """Forward and upward speed out of a contact [m/s], and how long it lasted [s]."""
    k, m = ("run", "hop", "step").index(kind), ("hop", "step", "jump").index(move)
    land = LEAN[kind] * who.lean[k] * min(1.0, (vx / 7.0) ** 0.4)
    time = who.leg * (np.sin(land) + np.sin(who.away)) / max(vx, 2.0)
    # A leg that is long on the ground is no longer a spring: its mean force falls.
    most = fall + (who.force / (1.0 + 0.8 * max(0.0, time - 0.16) / 0.16) - 1.0) * G * time
    vy = min(WANTED[move] * who.own[m] * (who.speed / 9.0), most)
    up = vy - fall + G * time
    loss = (
        who.brake * up * np.tan(land / 2.0)
        - who.push * max(0.0, who.speed - vx)
        - 0.3 * max(0.0, 0.65 * who.speed - vx)
    )
    return max(vx - loss, 1.5), max(vy, 0.4), time


def flight(who: Jumper, vx: float, vy: float, after: str) -> tuple[float, float]:
    """Length toe to toe [m], and the speed down at its end [m/s]."""
    land = {"sand": 0.95}.get(after) or LEAN[after] * (
        who.lean[1] if after == "hop" else who.lean[2]
    )
    start = who.leg * np.cos(who.away) + 0.07 * who.stature
    end = who.leg * np.cos(land) * (0.62 if after == "sand" else 0.97) + 0.04 * who.stature
    time = (vy + np.sqrt(max(vy * vy + 2.0 * G * (start - end), 0.04))) / G
    return who.leg * np.sin(who.away) + vx * time + who.leg * np.sin(land) * 0.8, vy - G * time


def speed_after(who: Jumper, strides: int) -> float:
    """Of a run-up [m/s]: strides of a length that grows with speed, along an exponential."""

    def run(count: int) -> float:
        time, done = 0.0, 0.0
        while done < count:
            v = who.speed * (1.0 - np.exp(-time / who.tau))
            done += 0.01 * v / (who.stature * (0.42 + 0.08 * v))
            time += 0.01
        return float(who.speed * (1.0 - np.exp(-time / who.tau)))

    return who.speed * run(strides) / run(who.strides)


def jumped(
    who: Jumper, moves: tuple[str, ...], strides: int, sand: bool, low: bool = False
) -> np.ndarray:
    """Lengths of a chain from so many strides, 0 from standing [m]."""
    vx, fall, out = speed_after(who, strides) if strides else who.stand * who.speed, -0.35, []
    for i, move in enumerate(moves):
        if i == 0 and not strides:
            vy = 1.6 * who.own[0]
        else:
            vx, vy, _ = contact(who, moves[i - 1] if i else "run", move, vx, fall)
        vy *= 0.8 if low and move == "hop" and i == 0 else 1.0
        ends = sand and i == len(moves) - 1
        length, fall = flight(who, vx, vy, "sand" if ends and move == "jump" else move)
        # In sand the nearest break is the heel's.
        out.append(length - (0.15 * who.stature if ends and move != "jump" else 0.0))
    return np.array(out)
