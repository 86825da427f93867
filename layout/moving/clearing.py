"""Hurdles against the moving body: where each stands best, what clears it and by how much.

A hurdle beside the line is checked as if it stood under the athlete: the model is a side view and
knows nothing of how far a foot swings sideways in the air.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cache, partial
from typing import Final

import numpy as np

from animate.body.body import body
from animate.body.outlines import AT
from animate.body.shapes import Point, Shape
from animate.film.take import Note as Shown
from animate.motion.check import check
from animate.motion.clearance import BAR, Sweep, best_place, clearance, lowest, rise, sweep_of
from animate.motion.motion import Motion
from layout.plan.hurdles import (
    CHECKED,
    MARGIN,
    SLACK,
    cm,
    greatest,
    height_of,
    sideways,
    signed_cm,
    within_text,
)
from layout.plan.value import Clearing, Hurdle, Plan
from layout.plan.warn import FOOT_ROOM, THICK, TOE_ROOM
from layout.rules.standing import CONE
from layout.words.names import some_of
from layout.words.note import Note

NEARBY: Final = 0.75
FINE: Final = 0.03
"""How far either side of a hurdle the underside of the sweep is kept, and how finely [m]."""
APART: Final = 0.05
"""Least time of the motion between two rests of a clip [s] (ours)."""
HELD: Final = 0.9
"""How long a clip rests where a hurdle is passed closest [s] (ours)."""
OURS: Final = (
    "hurdle-unchecked", "hurdle-hit", "hurdle-tight", "hurdle-motion", "hurdle-checked",
)  # fmt: skip
CAUTION: Final = (
    "Hurdle clearances are a model's, not the athlete's own: try the marks with a line or a cone "
    "first."
)
_SIDES: Final = {"r": "right", "l": "left"}
_WORDS: Final = {"shank": "shin", "upper_arm": "upper arm"}


def part_text(part: str) -> str:
    """A part of the body as a coach says it.

    >>> part_text("r_shank"), part_text("l_upper_arm"), part_text("trunk")
    ('right shin', 'left upper arm', 'trunk')
    """
    side, _, name = part.partition("_")
    if side not in _SIDES:
        return _WORDS.get(part, part)
    return f"{_SIDES[side]} {_WORDS.get(name, name)}"


def room_for(plan: Plan, number: int) -> tuple[float, float]:
    """From where to where a hurdle may stand under a flight, clear of both landings [m]."""
    along, _ = FOOT_ROOM
    here, there = plan.contacts[number], plan.contacts[number + 1]
    low = here.x + TOE_ROOM + THICK
    high = there.x - 2 * along + TOE_ROOM - THICK
    return low, min(high, plan.place.end_x - THICK)


def _underside(found: Sweep, plan: Plan, hurdle: Hurdle) -> tuple[tuple[float, float], ...]:
    start = max(hurdle.x - NEARBY, plan.contacts[hurdle.flight].x)
    end = min(hurdle.x + NEARBY, plan.contacts[hurdle.flight + 1].x)
    xs = np.linspace(start, end, 1 + max(2, round((end - start) / FINE)))
    low = lowest(found, xs, 0.001)
    seen = np.isfinite(low)
    return tuple(
        (round(float(x), 3), round(float(z), 3)) for x, z in zip(xs[seen], low[seen], strict=True)
    )


def _placed(plan: Plan, hurdle: Hurdle, found: Sweep, move: bool) -> tuple[Hurdle, float | None]:
    """A hurdle with its clearance, and the better place it was not moved to."""
    flight = plan.flights[hurdle.flight]
    start, end = room_for(plan, hurdle.flight)
    best = best_place(found, start, end, SLACK) if end - start > 0.01 else None
    # A hurdle that stands where it is best is asked for its own place again and again.
    near = cache(partial(_lowest_near, found))
    x = best.x if best is not None and move else hurdle.x
    passed = clearance(found, x, hurdle.height)
    worst = min(near(x), passed.z)
    who = plan.who
    foot = float(body(who.stature, who.mass, who.build).lengths[-1])
    moved = replace(hurdle, x=x, body_above=height_of(flight, x) - hurdle.height, checked=CHECKED)
    clearing = Clearing(
        gap=passed.gap,
        worst=worst - hurdle.height,
        part=part_text(passed.part),
        time=passed.time,
        x=passed.x,
        z=passed.z,
        greatest=greatest(worst, who.age),
        moved=x - flight.apex_x,
        aside=sideways(hurdle, plan.contacts, foot),
        under=_underside(found, plan, moved),
    )
    there = None if best is None else _whole(near, x, best.x)
    better = there if there is not None and near(there) > worst + 0.005 else None
    return replace(moved, clearing=clearing), better


def _lowest_near(found: Sweep, x: float) -> float:
    """Lowest the body passes within `SLACK` of a place [m]."""
    return float(lowest(found, np.linspace(x - SLACK, x + SLACK, 21)).min())


def _whole(near: Callable[[float], float], x: float, best: float) -> float:
    """The place whole centimetres away that is by the best one: half a centimetre short of it there
    may be far less room, where a foot has just passed."""
    cm = 100 * (best - x)
    return max(
        (x + n / 100 for n in (math.floor(cm), math.ceil(cm))),
        key=near,
    )


def _ways(plan: Plan, hurdle: Hurdle, better: float | None) -> Iterator[str]:
    """What would mend too little room."""
    found = hurdle.clearing
    assert found is not None
    if better is not None:
        way = "on" if better > hurdle.x else "back"
        yield f"move it {100 * abs(better - hurdle.x):.0f} cm {way}"
    if found.greatest > CONE + 1e-9:
        yield f"lower it to {100 * found.greatest:.0f} cm"
    elif found.greatest > 0 and hurdle.thing != "cone":
        yield f"put a {100 * CONE:.0f} cm cone there instead"
    elif better is None:
        yield "take it away and lay a line on the ground there"
    flight = plan.flights[hurdle.flight]
    if flight.phase == "hop" and flight.arc != "high" and found.gap < MARGIN:
        yield "plan higher hops"
    if plan.approach.strides and found.gap >= MARGIN:
        yield "take a longer approach, which makes the flight longer, not higher"


def _warning(plan: Plan, hurdle: Hurdle, better: float | None) -> Note | None:
    found = hurdle.clearing
    assert found is not None
    if found.worst >= MARGIN - 1e-9:
        return None
    thing = f"The {100 * hurdle.height:.0f} cm {hurdle.thing}"
    where = f"under {within_text(plan, hurdle.flight)}"
    would = ""
    if hurdle.place == "beside":
        where = where.replace("under", "beside")
        would = " if a foot strays over it,"
    off = f"{100 * SLACK:.0f} cm off its place"
    if found.gap < 0:
        said = f"the {found.part} hits it, {cm(found.gap)} too low"
    elif found.worst < 0:
        said = f"the {found.part} clears it by {cm(found.gap)}, but hits it when {off}"
    else:
        said = f"the {found.part} clears it by {cm(found.gap)}, by {cm(found.worst)} when {off}"
        said += f"; {100 * MARGIN:.0f} cm needed"
    mend = "; or ".join(_ways(plan, hurdle, better))
    code = "hurdle-hit" if found.gap < 0 else "hurdle-tight"
    text = f"{thing} {where}:{would} {said}. {mend[0].upper()}{mend[1:]}."
    return Note(code, text, "moving body and margin, ours")


def cleared(plan: Plan, motion: Motion, move: bool = True, sweep: Sweep | None = None) -> Plan:
    """The same plan with its hurdles checked against the moving body.

    motion: of this plan.
    move: stand each hurdle where the body leaves most room within `SLACK` either way; else leave it
        where it is, and say where it would be better.
    sweep: what the motion's body sweeps, where that is known.
    Returns each hurdle with its `Clearing`; a warning for every one with less than `MARGIN`.
    """
    if not plan.hurdles:
        return plan
    found = sweep or sweep_of(motion)
    pairs = [_placed(plan, hurdle, found, move) for hurdle in plan.hurdles]
    stale = (*OURS, "underfoot") if move else OURS
    notes = [n for n in plan.notes if n.code not in stale]
    warnings = [_warning(plan, hurdle, better) for hurdle, better in pairs]
    notes += [n for n in warnings if n is not None]
    faults = check(motion).faults
    if faults:
        missed = some_of([fault.text for fault in faults], 1)
        text = f"The motion behind the clearances misses a check of mechanics ({missed})"
        notes.append(Note("hurdle-motion", f"{text}: keep to lines or cones.", "moving body, ours"))
    where = "where the feet leave most room" if move else "left where it was"
    notes.append(
        Note(
            "hurdle-checked",
            f"Each hurdle is {where}. Clearance: the lowest of the body's outline over a top bar "
            f"{1000 * BAR:.0f} mm deep, every millisecond of this plan's motion; {100 * MARGIN:.0f} cm "
            f"needed, also {100 * SLACK:.0f} cm before and behind.",
            "moving body, outlines, bar and margins ours",
            grave=False,
        )
    )
    notes.sort(key=lambda n: not n.grave)
    cautions = (
        plan.cautions
        if CAUTION in plan.cautions
        else (*plan.cautions[:-1], CAUTION, *plan.cautions[-1:])
    )
    hurdles = tuple(hurdle for hurdle, _ in pairs)
    return replace(plan, hurdles=hurdles, notes=tuple(notes), cautions=cautions)


def unsolved(plan: Plan, why: str) -> Plan:
    """The same plan, saying why its hurdles could not be checked against a moving body.

    why: what the solver said.
    """
    notes = tuple(
        replace(n, text=f"No motion was found to check the hurdles with ({why[:200]}). {n.text}")
        if n.code == "hurdle-unchecked"
        else n
        for n in plan.notes
    )
    return replace(plan, notes=notes)


def shown(plan: Plan) -> list[Shown]:
    """Each hurdle's clearance as a note on a clip, at the closest instant.

    plan: held against its motion.
    """
    out = []
    for hurdle in plan.hurdles:
        found = hurdle.clearing
        if found is not None:

            def draw(points: list[Point], hurdle: Hurdle = hurdle) -> tuple[Shape, ...]:
                # The note stays with the hurdle; the body is only asked to be there.
                assert len(points) == len(AT)
                assert hurdle.clearing is not None
                at = hurdle.clearing
                return rise(at.x, hurdle.height, at.z, signed_cm(at.gap))

            how = "clears it by" if found.gap >= 0 else "too low by"
            said = f"{found.part} {how} {cm(found.gap)}"
            out.append(Shown(found.time, found.time, draw, said))
    return out


def holds(
    plan: Plan, taken: Sequence[float] = (), apart: float = APART
) -> tuple[tuple[float, float], ...]:
    """When a clip should rest to show each hurdle's clearance, and for how long [s].

    taken: instants it rests at already [s]; a hurdle passed nearer to one than `apart` is left out.
    apart: [s]; more than the motion's time from one frame to the next.
    """
    out: list[tuple[float, float]] = []
    for hurdle in plan.hurdles:
        found = hurdle.clearing
        near = [*taken, *(time for time, _ in out)]
        if found is not None and all(abs(found.time - t) >= apart for t in near):
            out.append((found.time, HELD))
    return tuple(out)
