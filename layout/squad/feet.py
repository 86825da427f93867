"""Hurdles of shared marks held against the feet of everybody who runs them, where motions are at hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Final

import numpy as np

from layout.moving.clearing import OURS, cleared
from layout.moving.solved import at_hand
from layout.plan.hurdles import MARGIN, SLACK, cm, greatest, within_text
from layout.plan.value import Plan
from layout.squad.laid import LaidSet, SetOut
from layout.squad.squad_words import GROUND
from layout.words.names import some_of
from layout.words.note import Note

STALE: Final = "hurdle-unchecked"
"""What a plan says of its hurdles until a motion is held against them."""
FAR: Final = 0.6
"""How far either side of a hurdle it is known how low the body passes [m] (ours)."""
SOURCE: Final = "moving body and margin, ours"


@lru_cache(maxsize=256)
def _stood(plan: Plan) -> tuple[Plan, tuple[dict[int, float], ...]]:
    """The plan held against its motion; and for each hurdle the lowest the body passes, by whole cm, as
    far as a shared mark may be off. LookupError where no motion is at hand: it is looked for again."""
    from animate.motion.clearance import lowest, sweep_of

    motion = at_hand(plan)
    if motion is None:
        raise LookupError
    sweep = sweep_of(motion)
    found, curves = cleared(plan, motion, sweep=sweep), []
    for hurdle in found.hurdles:
        places = range(round(100.0 * (hurdle.x - FAR)), round(100.0 * (hurdle.x + FAR)) + 1)
        low = lowest(sweep, np.array(places) / 100.0)
        curves.append(dict(zip(places, map(float, low), strict=True)))
    bare = replace(found, notes=tuple(n for n in found.notes if n.code not in OURS))
    return bare, tuple(curves)


def stood(plan: Plan) -> Plan:
    """A plan with its hurdles where its own motion leaves most room, as on the athlete's sheet; as it is
    where no motion is at hand. What is said of its own marks is left out: a set has others."""
    try:
        return _stood(plan)[0] if plan.hurdles else plan
    except LookupError:
        return plan


def room_over(plan: Plan, item: LaidSet, number: int) -> float:
    """Lowest an athlete passes over a hurdle of a set, by the motion of their own plan [m].

    Their own phase is longer or shorter than the set's, so it is laid from the mark before and from the
    mark behind, with all between and `SLACK` either way; 0 farther off than is known.
    plan: before it is `stood`. LookupError where no motion is at hand.
    """
    flight, x = plan.hurdles[number].flight, item.hurdles[number].x
    ends = [plan.contacts[k].x + x - item.xs[k] for k in (flight, flight + 1)]
    curve = _stood(plan)[1][number]
    first, last = 100.0 * (min(ends) - SLACK), 100.0 * (max(ends) + SLACK)
    return min(curve.get(at, 0.0) for at in range(math.floor(first), math.ceil(last) + 1))


def _too_low(item: LaidSet, number: int, rooms: Sequence[tuple[Plan, float]]) -> Note | None:
    """What is said of one hurdle of a set by those with least room; None where all have enough."""
    hurdle = item.hurdles[number]
    plan, least = min(rooms, key=lambda row: row[1])
    if least - hurdle.height >= MARGIN - 1e-9:
        return None
    few = [p.who.name for p, room in rooms if room - hurdle.height < MARGIN - 1e-9]
    gap, who, flight = least - hurdle.height, plan.who.name, plan.hurdles[number].flight
    found = (
        f"{who} would hit it, {cm(-gap)} too low" if gap < 0.0 else f"{who} clears it by {cm(gap)}"
    )
    tall = min(greatest(room, p.who.age) for p, room in rooms)
    mend = f"Lower it to {100 * tall:.0f} cm" if tall else "Lay a line on the ground there instead"
    text = (
        f"Set {item.label}, the {100 * hurdle.height:.0f} cm {hurdle.thing} in "
        f"{within_text(plan, flight)}: too little room for {some_of(few, 6)}; {found}, "
        f"{100 * MARGIN:.0f} cm needed. {mend}."
    )
    return Note("hurdle-hit" if gap < 0.0 else "hurdle-tight", text, SOURCE)


def held(laid: SetOut, plans: Sequence[Plan]) -> SetOut:
    """The same set-out with what its hurdles leave everybody's feet, and of whom that is not known.

    plans: as they were made, before they are `stood`.
    """
    if not any(s.hurdles for s in laid.sets):
        return laid
    of, told, unknown = {p.who.name: p for p in plans}, list[Note](), list[str]()
    seen: list[str] = []
    for item in laid.sets:
        mine = [of[a.name] for a in item.athletes]
        known = [p for p in mine if stood(p) is not p]
        unknown += [p.who.name for p in mine if p not in known]
        seen += [p.who.name for p in known]
        for number in range(len(item.hurdles)) if known else ():
            rooms = [(p, room_over(p, item, number)) for p in known]
            note = _too_low(item, number, rooms)
            told += [note] if note else []
    if unknown:
        text = f"Hurdles are not held against the feet of {some_of(unknown, 10)}: no motion is worked out "
        text += "for their marks yet. Set one out with a line or a cone first; the feet pass much lower "
        told.append(Note(STALE, text + "than the middle of the body.", "ours"))
    if seen:
        text = f"Hurdles of shared marks are held against each athlete's own motion ({some_of(seen, 10)}), "
        text += f"laid from either end of the phase, {100 * SLACK:.0f} cm either way."
        told.append(Note("hurdle-held", text, SOURCE, grave=False))
    rest = [n for n in laid.notes if n.code != STALE]
    first = [n for n in rest if n.code in GROUND]
    return replace(laid, notes=(*first, *told, *(n for n in rest if n.code not in GROUND)))
