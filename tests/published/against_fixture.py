"""Fixture B, ours, by the program's own flights and contacts; and five real flights of long jumpers."""

from __future__ import annotations

import math

import numpy as np

from animate.body.stances import GRAVITY
from layout.athlete.flight import flight_time
from layout.plan.value import thrown
from layout.rules.load import mean_braking, mean_vertical
from layout.words.trade import MOVES
from tests.published import Row
from tests.published.against_planner import B, fast, means
from tests.published.held import Found, holds, rows

# --- fixture B ------------------------------------------------------------------------------------


def _flight(move: str) -> tuple[float, float]:
    """Time of a flight of fixture B [s], and downward speed at its end [m/s]."""
    time = float(flight_time(B["vy"][move], B["cm-takeoff"][move], B["cm-landing"][move]))
    return time, GRAVITY * time - B["vy"][move]


@holds("mechanics", "b-vx", "b-vy", "b-cm-takeoff", "b-cm-landing", "b-takeoff-distance",
       "b-landing-distance")  # fmt: skip
def _inputs(row: Row) -> Found:
    """What the model finds behind fixture B's phases: near its own inputs (how near is ours)."""
    made = fast()
    key = row["id"].removeprefix("b-")
    found, off = {
        "vx": (made.vx, 0.30), "vy": (made.vy, 0.25), "cm-takeoff": (made.height, 0.06),
        "cm-landing": (made.height_in[1:], 0.06), "takeoff-distance": (made.ahead, 0.08),
        "landing-distance": (made.landing[1:], 0.12),
    }[key]  # fmt: skip
    for i, move in enumerate(MOVES):
        yield move, found[i, 0], off


@holds("mechanics", "b-flight-time", "b-angle", "b-phase", "b-apex", "b-vy-touchdown")
def _fixture(row: Row) -> Found:
    for move in MOVES:
        time, down = _flight(move)
        vx, vy = B["vx"][move], B["vy"][move]
        ahead, landing = B["takeoff-distance"][move], B["landing-distance"][move]
        flown = thrown(ahead, B["cm-takeoff"][move], vx, vy, time)
        yield move, {
            "flight-time": time, "angle": math.degrees(math.atan2(vy, vx)),
            "phase": flown["end_x"] + landing, "apex": flown["apex_z"], "vy-touchdown": -down,
        }[row["id"].removeprefix("b-")], None  # fmt: skip


@holds("mechanics", "b-total")
def _total(row: Row) -> Found:
    yield "total", sum(B["vx"][m] * _flight(m)[0] + B["takeoff-distance"][m] + B["landing-distance"][m]
                       for m in MOVES), None  # fmt: skip


@holds("kinematics", "b-contact-time", "b-vertical", "b-braking")
def _b_contacts(row: Row) -> Found:
    for before, move in (("hop", "step"), ("step", "jump")):
        into, out = B["vx"][before], B["vx"][move]
        time = 2.0 * (B["landing-distance"][before] + B["takeoff-distance"][move]) / (into + out)
        up = B["vy"][move] + _flight(before)[1]
        yield move, {
            "b-contact-time": time, "b-vertical": float(mean_vertical(up, time)),
            "b-braking": float(mean_braking(into - out, time)),
        }[row["id"]], None  # fmt: skip
        if row["id"] == "b-vertical":  # and the model's own jump of the same phases
            yield move, float(means()[MOVES.index(move)]), 0.15 * row[move]


@holds("kinematics", "b-per-vx", "b-per-vy", "b-per-height")
def _slopes(row: Row) -> Found:
    """By small steps of the program's own flight."""
    for move in MOVES:
        vy, up, down = B["vy"][move], B["cm-takeoff"][move], B["cm-landing"][move]
        step = 1e-6
        more = {"b-per-vx": (vy, up), "b-per-vy": (vy + step, up), "b-per-height": (vy, up + step)}
        a, b = (float(flight_time(v, z, down)) for v, z in ((vy, up), more[row["id"]]))
        yield move, a if row["id"] == "b-per-vx" else B["vx"][move] * (b - a) / step, None


@holds("kinematics", "long-jumps-1997", "long-jumps-by-flight")
def _long(row: Row) -> Found:
    """Five real flights through the program's own: distance from the two speeds."""
    way, found = (
        rows()["kinematics", "long-jumps-by-flight"],
        rows()["kinematics", "long-jumps-1997"],
    )
    flown = [vx * float(flight_time(vy, way["drop"], 0.0)) + way["reach"]
             for vx, vy in zip(found["vx"], found["vy"], strict=True)]  # fmt: skip
    off = np.array(flown) - np.array(found["distance"])
    if row["id"] == "long-jumps-by-flight":
        yield "spread", float(off.std()), None
        # The drop and the reach that serve best lie about there.
        yield "reach", way["reach"] - float(off.mean()), 0.15
        yield "drop", float(fast().height[2, 0] - fast().height_in[3, 0]), 0.12
        return
    for i, length in enumerate(flown):
        yield f"distance[{i}]", length, 2.0 * way["spread"]
        yield f"vx[{i}]", (row["distance"][i] - way["reach"]) / float(
            flight_time(row["vy"][i], way["drop"], 0.0)), 0.50  # fmt: skip
        yield (
            f"vy[{i}]",
            float(_vy_of(row["vx"][i], row["distance"][i] - way["reach"], way["drop"])),
            0.35,
        )


def _vy_of(vx: float, length: float, drop: float) -> float:
    return GRAVITY * length / vx / 2.0 - drop * vx / length
