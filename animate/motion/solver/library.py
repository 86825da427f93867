"""Solved motions that come with the program: starts for new ones.

``python -m layout.commands.make_ready library`` solves what is missing of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from animate.motion.chain import Chain, Settings
from animate.motion.motion import Motion
from animate.motion.solver.form import FREE_MIRROR, Phase, Slot, slots

FOLDER: Final = Path(__file__).parent.parent / "motions"


def _kind(chain: Chain, settings: Settings) -> str:
    from animate.motion.chain import structure

    return f"{structure(chain)}|{settings.arms}"


def features(chain: Chain, body: Body, settings: Settings) -> Array:
    """What makes two motions of one kind alike, each figure scaled to matter about the same."""
    leg = body.leg
    out = [body.stature / 0.15]
    for s, then in zip(chain.supports, chain.supports[1:], strict=False):
        out += [(then.toe - s.toe) / leg / 0.4, s.vx / 0.6, s.vy / 0.25, s.duration / 0.03]
    for value, usual, scale in (
        (settings.knee_gap, 0.32, 0.08),
        (settings.knee_bend, math.radians(82), 0.4),
        (settings.thigh_high, math.radians(76), 0.2),
        (settings.hold, 0.1, 0.1),
        (settings.trunk, -0.05, 0.1),
    ):
        out.append((usual if value is None else value) / scale)
    return np.array(out)


@lru_cache(maxsize=1)
def shipped() -> tuple[Path, ...]:
    """Files of the library."""
    return tuple(sorted(FOLDER.glob("*.json.gz")))


@lru_cache(maxsize=1)
def motions() -> tuple[Motion, ...]:
    """The library, read once."""
    return tuple(Motion.load(path) for path in shipped())


def nearest(
    chain: Chain, body: Body, settings: Settings, own: Sequence[Motion] = ()
) -> Motion | None:
    """The motion of the library, or of some others, of the same kind and most like what is asked."""
    kind = _kind(chain, settings)
    loose = kind.rsplit("|", 1)[0]
    want = features(chain, body, settings)
    best: tuple[float, Motion] | None = None
    for m in (*own, *motions()):
        this = _kind(m.chain, m.settings)
        if this.rsplit("|", 1)[0] != loose:
            continue
        gap = float(np.linalg.norm(features(m.chain, m.body, m.settings) - want))
        gap += 3.0 if this != kind else 0.0
        if best is None or gap < best[0]:
            best = (gap, m)
    return None if best is None else best[1]


def patchwork(chain: Chain, body: Body, settings: Settings) -> Motion | None:
    """A start for a chain of a kind the library has not: phases taken from its motions.

    Each phase comes from the motion whose phase is of the same kind, between the same moves, and
    nearest in speed and stature; turned round where it is of the other leg. None when some phase
    has no like.
    """
    phases: list[Phase] = []
    wanted = slots(chain)
    pool = [(_place(p.slot), p, m) for m in motions() for p in m.phases]
    for slot in wanted:
        want = _place(slot)
        like = [(p, m) for place, p, m in pool if place == want]
        if not like:  # a landing from a hop will do for one from a step
            like = [(p, m) for place, p, m in pool if place[:5] == want[:5] and slot.then is None]
        if not like:
            return None

        def apart(pair: tuple[Phase, Motion], slot: Slot = slot) -> float:
            other = pair[0].slot.support
            return (
                abs(other.vx - slot.support.vx) / 0.6
                + abs(other.vy - slot.support.vy) / 0.25
                + abs(pair[1].body.stature - body.stature) / 0.15
                + (3.0 if pair[1].settings.arms != settings.arms else 0.0)
            )

        best = min(like, key=apart)[0]
        phases.append(best if _foot(best.slot) == _foot(slot) else _turned(best))
    return Motion(body, chain, settings, tuple(phases))


def _foot(slot: Slot) -> str:
    """The side that tells a phase from its mirror image."""
    if slot.support.side != "both":
        return slot.support.side
    if slot.then is not None and slot.then.side != "both":
        return "l" if slot.then.side == "r" else "r"
    return "r"


def _place(slot: Slot) -> tuple[object, ...]:
    """What a phase stands between."""
    s = slot.support
    out: tuple[object, ...] = (slot.kind, s.leave, s.surface, s.side == "both", slot.breaks)
    if slot.kind == "contact":
        return (*out, s.arrive)
    assert slot.then is not None
    return (*out, slot.then.side == "both", slot.then.surface)


def _turned(phase: Phase) -> Phase:
    return replace(phase, angles=phase.angles[:, FREE_MIRROR])
