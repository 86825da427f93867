"""What a coach minds about a squad's set-out: the ground as a whole, and each athlete's warnings."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Final

from layout.plan.drill import Drill
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.rules.ground import EDGE_ROOM, INTO_SAND, RUN_OUT, START_ROOM
from layout.squad.laid import LaidSet, NoMarks, Served, SetOut, Station
from layout.words.note import Note

CROWDED: Final = 0.30
"""Marks of different sets closer than this are told apart with care [m] (ours: a shoe's length)."""
GROUND: Final = (
    "despite",
    "no-marks",
    "over",
    "assumed",
    "hurdles-in-turn",
    "crowded",
    "does-not-fit",
)
"""Codes of warnings about the set-out as a whole."""
URGENT: Final = ("too-young", "shock", "youth-run", "age-unknown", "sand-short", "edge", "surface")
"""Warnings told first."""


def ground_notes(
    laid: SetOut, stations: Sequence[Station], venue: Venue, drill: Drill
) -> list[Note]:
    """What a coach minds about several sets on one ground."""
    out = []
    many = [n for n in {s.lane for s in laid.sets} if sum(s.lane == n for s in laid.sets) > 1]
    if many and drill.hurdle:
        out.append(
            Note(
                "hurdles-in-turn",
                "Several sets share a lane: put up one set's hurdles only, and clear them all away "
                "before the next set runs.",
                "ours",
            )
        )
    for lane in sorted(many):
        # Breaks in the sand are no marks to put a foot on.
        skip = ("hurdle", "landing") if laid.ends == "sand" else ("hurdle",)
        here = [s for s in stations if s.lane == lane and s.labels and s.kind not in skip]
        close = [
            f"{'/'.join(a.labels)} and {'/'.join(b.labels)} at {a.shown}"
            for a, b in itertools.pairwise(here)
            if abs(a.x - b.x) < CROWDED and set(a.labels) != set(b.labels)
        ]
        if close:
            text = f"Lane {lane}: marks within {100 * CROWDED:.0f} cm of another set's: "
            more = f" and {len(close) - 4} more" if len(close) > 4 else ""
            text += f"{'; '.join(close[:4])}{more}. Lay one set at a time, or use another lane."
            out.append(Note("crowded", text, "ours"))
    for item in laid.sets:
        for who in item.athletes:
            out += _fit_notes(laid, item, who, venue, drill)
    return out


def _fit_notes(laid: SetOut, item: LaidSet, who: Served, venue: Venue, drill: Drill) -> list[Note]:
    """Whether an athlete who jumps their own lengths from the set's line stays on the venue."""
    before, total = sum(who.lengths[:-1]), sum(who.lengths)
    out = []
    if laid.ends == "sand":
        edge = -item.line
        if total - edge < INTO_SAND - 1e-9:
            out.append(
                f"{who.name} on set {item.label}: own lengths land {100 * (total - edge):.0f} cm "
                f"into the sand, {100 * INTO_SAND:.0f} cm needed: a nearer line or own marks."
            )
        if edge - before < EDGE_ROOM - 1e-9:
            out.append(
                f"{who.name} on set {item.label}: own lengths take off {100 * (edge - before):.0f} "
                f"cm before the sand, {100 * EDGE_ROOM:.0f} cm needed: a farther line or own marks."
            )
        back = who.start + edge + venue.start
    else:
        rest = RUN_OUT if drill.finish == "run on" else 0.0
        longest = max(a.start for s in laid.sets for a in s.athletes)
        back = longest + START_ROOM + total + rest + venue.start
    if back > 1e-9:
        out.append(
            f"{who.name} on set {item.label}: {100 * back:.0f} cm short of runway for run-up, marks "
            f"and run-out."
        )
    return [Note("does-not-fit", text, "venue") for text in out]


def _several(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def over_note(laid: SetOut, asked: int, enough: int, wider: str | None) -> Note:
    """Why more sets are laid than were asked for, and what would do.

    asked: sets.
    enough: sets that keep everybody within the tolerance.
    wider: tolerance at which nobody is over it on the sets asked for.
    """
    off = [a.name for s in laid.sets for a in s.athletes if a.over]
    named = f"{', '.join(off[:10])}{f' and {len(off) - 10} more' if len(off) > 10 else ''}"
    who = f"{named} would be over {laid.tolerance} and has"
    if len(off) > 1:
        who = f"{len(off)} athletes would be over {laid.tolerance} and have"
    text = f"{_several(asked, 'set')} asked for, {len(laid.sets)} laid: on {_several(asked, 'shared set')} "
    text += f"{who} own marks{f' ({named})' if len(off) > 1 else ''}. "
    text += f"{_several(enough, 'set')} would keep everybody within it"
    text += f"; a tolerance of {wider} would keep to {_several(asked, 'set')}." if wider else "."
    return Note("over", text, "ours")


def despite_note(plans: Sequence[Plan], despite: str) -> Note:
    """That some are laid marks for though the drill is closed to them, and who decided."""
    names = [p.who.name for p in plans if p.despite]
    return Note(
        "despite", f"Closed to {', '.join(names)}. Done despite this: {despite}", "the coach"
    )


def assumed_notes(plans: Sequence[Plan]) -> list[Note]:
    """What was taken instead of known, with whom it concerns and what mends it.

    Marks do not hang on training years: these are a note of their own, for the card.
    """
    return [
        Note(
            "assumed-years" if "`training_years`" in text else "assumed", text, "ours", grave=False
        )
        for text in told(plans, lambda p: p.who.assumed)
    ]


def no_marks_notes(closed: Sequence[NoMarks]) -> list[Note]:
    """Who gets no marks and why; those with the same reason together."""
    same: dict[tuple[str, str], list[NoMarks]] = {}
    for one in closed:
        name = re.compile(rf"(?<!\w){re.escape(one.name)}(?!\w)")
        same.setdefault((name.sub("the athlete", one.why), one.source), []).append(one)
    out = []
    for (text, source), rows in same.items():
        names = ", ".join(r.name for r in rows)
        said = rows[0].why if len(rows) == 1 else text
        out.append(Note("no-marks", f"No marks for {names}: {said}", source))
    return out


def own_notes(plans: Sequence[Plan]) -> list[Note]:
    """Each athlete's own warnings, those that say the same told once with all their names."""
    same: dict[tuple[str, str, str], list[tuple[Plan, Note]]] = {}
    for plan in plans:
        name = re.compile(rf"(?<!\w){re.escape(plan.who.name)}(?!\w)")
        for note in plan.warnings:
            key = note.code, name.sub("the athlete", note.text), note.source
            same.setdefault(key, []).append((plan, note))
    out = []
    for (_, text, _), rows in same.items():
        names = _names([p for p, _ in rows], len(plans))
        said = rows[0][1].text if len(rows) == 1 else text
        out.append(replace(rows[0][1], text=f"{names}: {said}"))
    # What can hurt comes before what is merely off.
    return sorted(out, key=lambda n: URGENT.index(n.code) if n.code in URGENT else len(URGENT))


def _names(plans: Sequence[Plan], every: int) -> str:
    return "Everybody" if len(plans) == every > 1 else ", ".join(p.who.name for p in plans)


def told(plans: Sequence[Plan], texts: Callable[[Plan], Iterable[str]]) -> tuple[str, ...]:
    """Texts of all plans, each once, with the names it concerns where that is not everybody."""
    by: dict[str, list[Plan]] = {}
    for plan in plans:
        for text in texts(plan):
            by.setdefault(text, []).append(plan)
    return tuple(
        text if len(mine) == len(plans) else f"{text} ({_names(mine, len(plans))})"
        for text, mine in by.items()
    )


def dose(plan: Plan) -> str:
    load = plan.load
    return (
        f"{_several(load.sets, 'set')} of {_several(load.runs, 'run')}: {load.contacts} contacts; all "
        f"drills together {plan.budget.text}"
    )
