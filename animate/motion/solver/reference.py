"""Key poses of a chain: the drawing the solver starts from and leans towards."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from animate.body.body import Array
from animate.motion.chain import Chain, Settings, Support
from animate.motion.solver.form import FREE, Slot, slots
from animate.motion.solver.tuning import PULLS

_S: tuple[str, ...] = ("thigh", "shank", "foot")


@lru_cache(maxsize=1)
def tables() -> dict[str, Any]:
    """The authored key poses, as read from key_motion.toml."""
    path = Path(__file__).with_name("key_motion.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _free(row: list[float], arms: list[float] | None, stance: str) -> Array:
    """A row of the table as free angles, its s side put on `stance`."""
    row = list(row)
    if arms is not None:
        row[7:] = arms
    other = "l" if stance == "r" else "r"
    out = np.zeros(len(FREE))
    out[0] = row[0]
    for k, side in ((1, stance), (4, other)):
        thigh, shank, foot = row[k : k + 3]
        out[FREE.index(f"{side}_thigh")] = thigh
        out[FREE.index(f"{side}_knee")] = thigh - shank
        out[FREE.index(f"{side}_foot")] = foot
    for k, side in ((7, stance), (9, other)):
        out[FREE.index(f"{side}_upper_arm")] = row[k]
        out[FREE.index(f"{side}_elbow")] = row[k + 1] - row[k]
    return np.radians(out)


def _together(table: Mapping[str, Any], settings: Settings, which: str) -> list[float] | None:
    return list(table["together"][which]["arms"]) if settings.arms == "together" else None


def _side(support: Support, then: Support | None, before: Support | None) -> str:
    """The side the letter s of a row stands for; on both feet, the one not landed on next."""
    if support.side != "both":
        return support.side
    if then is not None and then.side != "both":
        return "l" if then.side == "r" else "r"
    if before is not None and before.side != "both":
        return before.side
    return "r"


def _touchdown(support: Support, leaves: str) -> str:
    if support.surface == "sand" and support.side == "both":
        return "sand"
    if support.arrive == "stand":
        return "stand" if support.side == "both" else "rock"
    if support.arrive == "run":
        return "run" if leaves in ("run", "end") else "plant"
    return "jump" if support.side == "both" else support.arrive


def _contact(
    slot: Slot, before: Support | None, then: Support | None, settings: Settings
) -> list[tuple[float, Array]]:
    table, s = tables(), slot.support
    stance = _side(s, then, before)
    leaves = s.leave if s.leave != "end" else "hold" if s.held else "over"
    down = _touchdown(s, s.leave)
    arms = None
    if s.surface == "track" and s.leave not in ("run", "end"):
        arms = _together(table, settings, "plant" if s.arrive == "run" else "touchdown")
    first = _free(table["touchdown"][down]["pose"], arms, stance)
    if s.surface == "sand":
        end = table["end"]["sand"] if s.side == "both" else table["middle"]["step"]
        return [(0.0, first), (1.0, _free(end["pose"], None, stance))]
    middle: str = leaves
    if s.arrive == "stand":
        middle = "stand" if s.side == "both" else "rock"
    elif s.side == "both":
        middle = "jump"
    arms = None if s.leave in ("run", "end") else _together(table, settings, "middle")
    if s.arrive == "stand":
        arms = None
    row = table["middle"][middle]["pose"]
    if s.side == "both" and s.arrive != "stand":
        row = [-12, 28, -30, 0, 28, -30, 0, -20, 40, -20, 40]
    mid = _free(row, arms, stance)
    name = "both" if s.side == "both" else leaves
    arms = None if s.leave in ("run", "end") else _together(table, settings, "takeoff")
    end = table["end"]["hold" if s.held else "track"]
    row = end if s.leave == "end" else table["takeoff"][name]
    last = _free(row["pose"], arms, stance)
    if s.leave == "step":
        _coach(first, last, stance, settings)
    at = 0.62 if s.arrive == "stand" else 0.5
    return [(0.0, first), (at, mid), (1.0, last)]


def _coach(first: Array, last: Array, stance: str, settings: Settings) -> None:
    """Bend the step contact's key poses towards what the coach asked."""
    free = "l" if stance == "r" else "r"
    thigh, knee, foot = (FREE.index(f"{free}_{p}") for p in ("thigh", "knee", "foot"))
    if settings.knee_bend is not None:
        change = settings.knee_bend - first[knee]
        first[knee] += change
        first[foot] -= change
    if settings.thigh_high is not None:
        last[thigh] = settings.thigh_high - np.radians(4)
    if settings.trunk is not None:
        first[0] = last[0] = settings.trunk


def _flight_kind(slot: Slot) -> str:
    s, then = slot.support, slot.then
    assert then is not None
    if s.side == "both":
        return "tuck" if then.side == "both" else "double"
    if then.side == "both":
        return "jump" if s.leave == "jump" else "hold"
    return s.leave


def pulls(slot: Slot, before: Support | None, after: Support | None, at: Array) -> Array:
    """How many times harder than usual each angle is drawn to the key poses.

    before, after: the supports before and after the slot's own.
    at: (m,), fractions of the phase.
    Returns 1 where nothing is asked.
    """
    out = np.ones((len(at), len(FREE)))
    s = slot.support
    if slot.kind == "flight":
        name, stance = "flight." + _flight_kind(slot), _side(s, slot.then, None)
    else:
        stance = _side(s, after, before)
        name = "stand" if s.arrive == "stand" else "both" if s.side == "both" else s.leave
        name = "contact." + name
    other = "l" if stance == "r" else "r"
    for row in PULLS:
        if name not in row.phases:
            continue
        inside = (at >= row.start - 1e-9) & (at <= row.end + 1e-9)
        for angle in row.angles:
            side, _, rest = angle.partition("_")
            whole = {"s": f"{stance}_{rest}", "f": f"{other}_{rest}"}.get(side, angle)
            out[inside, FREE.index(whole)] *= row.times
    return out


def _flight(slot: Slot, settings: Settings) -> list[tuple[float, Array]]:
    table, s, then = tables(), slot.support, slot.then
    assert then is not None
    stance = _side(s, then, None)
    kind = _flight_kind(slot)
    rows = [(r["at"], _free(r["pose"], None, stance)) for r in table["flight"][kind]]
    if settings.arms == "together" and kind in ("hop", "step"):
        arms = [
            (r["at"], _free([0.0] * 7 + list(r["arms"]), None, stance))
            for r in table["together"]["flight"]
        ]
        times = np.array([a for a, _ in arms])
        for at, pose in rows:
            for i in range(1, 5):
                pose[i] = np.interp(at, times, [p[i] for _, p in arms])
    if kind == "step" and settings.thigh_high is not None:
        free = "l" if stance == "r" else "r"
        index = FREE.index(f"{free}_thigh")
        for _, pose in rows[:3]:
            pose[index] = settings.thigh_high + np.radians(1.5)
    if kind == "step" and settings.trunk is not None:
        for _, pose in rows:
            pose[0] = settings.trunk
    return rows


@lru_cache(maxsize=2)
def keys(chain: Chain, settings: Settings) -> tuple[Array, Array]:
    """Key poses of the whole chain on its planned times.

    Returns phase number plus the fraction of it.
    Returns free angles [rad].
    """
    found: list[tuple[float, Array]] = []
    supports = chain.supports
    for number, slot in enumerate(slots(chain)):
        if slot.kind == "flight":
            rows = _flight(slot, settings)
        else:
            i = slot.index
            before = supports[i - 1] if i else None
            then = supports[i + 1] if i + 1 < len(supports) else None
            rows = _contact(slot, before, then, settings)
        found += [(number + at, pose) for at, pose in rows]
    return np.array([t for t, _ in found]), np.array([p for _, p in found])


def reference(chain: Chain, settings: Settings, phase: int, at: Array) -> Array:
    """Free angles between the key poses: cubic pieces that never overshoot a key pose.

    at: (m,), fractions of that phase.
    Returns [rad].
    """
    where, poses = keys(chain, settings)
    starts = np.concatenate([[0.0], np.cumsum([s.nominal for s in slots(chain)])])

    def clock(w: Array) -> Array:
        whole = np.minimum(np.floor(w).astype(int), len(starts) - 2)
        return np.asarray(starts[whole] + (w - whole) * np.diff(starts)[whole])

    return _cubic(clock(where), poses, clock(phase + np.asarray(at) * (1 - 1e-12)))


def _cubic(times: Array, values: Array, at: Array) -> Array:
    """Monotone cubic interpolation (harmonic-mean slopes, flat at turning points)."""
    step = np.diff(times)[:, None]
    rise = np.diff(values, axis=0) / step
    slope = np.zeros_like(values)
    slope[0], slope[-1] = rise[0], rise[-1]
    same = rise[:-1] * rise[1:] > 0
    first, second = 2 * step[1:] + step[:-1], step[1:] + 2 * step[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (first + second) / (first / rise[:-1] + second / rise[1:])
    slope[1:-1] = np.where(same, mean, 0.0)
    cell = np.clip(np.searchsorted(times, at, side="right") - 1, 0, len(times) - 2)
    h = np.diff(times)[cell]
    u = (at - times[cell]) / h
    u, h = u[:, None], h[:, None]
    low, high = values[cell], values[cell + 1]
    return np.asarray(
        low * (1 + 2 * u) * (1 - u) ** 2
        + high * u**2 * (3 - 2 * u)
        + slope[cell] * h * u * (1 - u) ** 2
        - slope[cell + 1] * h * u**2 * (1 - u)
    )
