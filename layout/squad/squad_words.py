"""What is said of a squad's set-out: notes a coach minds, and each set in words and with a sign."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from math import cos, pi, sin
from typing import Final

from layout.page.page import Line, Point
from layout.plan.drill import Drill
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.rules.ground import EDGE_ROOM, INTO_SAND, RUN_OUT, START_ROOM
from layout.rules.standing import YOUTH_AGE
from layout.squad.laid import LaidSet, NoMarks, Served, SetOut, Station
from layout.squad.sets import EVERY, ONE_LENGTH, Tolerance
from layout.words.faults import Fault
from layout.words.feet import as_read
from layout.words.names import counted, some_of
from layout.words.note import Note
from layout.words.units import System, show_length

CROWDED: Final = 0.30
"""Marks of different sets closer than this are told apart with care [m] (ours: a shoe's length)."""
FIRST: Final = ("despite", "no-marks", "over", "assumed")
"""Codes of notes that are never left to the card: for whom the drill is closed, and who decided to go
on; more sets than asked for; what was taken instead of known."""
GROUND: Final = (*FIRST, "hurdles-in-turn", "crowded", "does-not-fit", "hurdle-hit", "hurdle-tight")
"""Codes of warnings about the set-out as a whole."""
IN_TURN: Final = (
    "Several sets share a lane: put up one set's hurdles only, and clear them all away before the "
    "next set runs."
)
YOUNG: Final = f"Under {YOUTH_AGE}, marks never longer than their own phases"
URGENT: Final = ("too-young", "shock", "youth-run", "age-unknown", "sand-short", "edge", "surface")
"""Warnings told first."""


def ground_notes(
    laid: SetOut, stations: Sequence[Station], venue: Venue, drill: Drill
) -> list[Note]:
    """What a coach minds about several sets on one ground."""
    out = []
    many = [n for n in {s.lane for s in laid.sets} if sum(s.lane == n for s in laid.sets) > 1]
    if many and drill.hurdle:
        out.append(Note("hurdles-in-turn", IN_TURN, "ours"))
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
            text += f"{some_of(close, 4, '; ')}. Lay one set at a time, or use another lane."
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
                f"own lengths land {100 * (total - edge):.0f} cm into the sand, "
                f"{100 * INTO_SAND:.0f} cm needed: a nearer line or own marks."
            )
        if edge - before < EDGE_ROOM - 1e-9:
            out.append(
                f"own lengths take off {100 * (edge - before):.0f} cm before the sand, "
                f"{100 * EDGE_ROOM:.0f} cm needed: a farther line or own marks."
            )
        back = who.start + edge + venue.start
    else:
        rest = RUN_OUT if drill.finish == "run on" else 0.0
        longest = max(a.start for s in laid.sets for a in s.athletes)
        back = longest + START_ROOM + total + rest + venue.start
    if back > 1e-9:
        out.append(f"{100 * back:.0f} cm short of runway for run-up, marks and run-out.")
    whose = f"{who.name} on set {item.label}"
    return [Note("does-not-fit", f"{whose}: {text}", "venue") for text in out]


def over_note(laid: SetOut, asked: int, enough: int, wider: Tolerance | None) -> Note:
    """Why more sets are laid than were asked for, and how many sets or what tolerance would do."""
    off = [a.name for s in laid.sets for a in s.athletes if a.over]
    named = some_of(off, 10)
    who = f"{named} would be over {laid.tolerance} and has"
    if len(off) > 1:
        who = f"{len(off)} athletes would be over {laid.tolerance} and have"
    text = f"{counted(asked, 'set')} asked for, {len(laid.sets)} laid: on {counted(asked, 'shared set')} "
    text += f"{who} own marks{f' ({named})' if len(off) > 1 else ''}. "
    text += f"{counted(enough, 'set')} would keep everybody within it"
    text += f"; a tolerance of {wider} would keep to {counted(asked, 'set')}." if wider else "."
    return Note("over", text, "ours")


def despite_note(plans: Sequence[Plan], despite: str) -> Note:
    """That some are laid marks for though the drill is closed to them, and who decided."""
    names = ", ".join(p.who.name for p in plans if p.despite)
    return Note("despite", f"Closed to {names}. Done despite this: {despite}", "the coach")


def assumed_notes(plans: Sequence[Plan]) -> list[Note]:
    """What was taken instead of known, with whom it concerns and what mends it.

    Marks do not hang on training years: these are a note of their own, for the card.
    """
    texts = told(plans, lambda p: p.who.assumed)
    codes = ("assumed-years" if "training years" in text else "assumed" for text in texts)
    return [Note(c, text, "ours", grave=False) for c, text in zip(codes, texts, strict=True)]


def _alike(rows: Iterable[tuple[str, Note]]) -> Iterator[tuple[list[str], Note]]:
    """Notes of athletes, those that say the same once, with all their names."""
    same: dict[Note, list[tuple[str, Note]]] = {}
    for name, note in rows:
        bare = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", "the athlete", note.text)
        same.setdefault(replace(note, text=bare), []).append((name, note))
    for note, mine in same.items():
        yield [name for name, _ in mine], mine[0][1] if len(mine) == 1 else note


def no_marks_notes(closed: Sequence[NoMarks]) -> list[Note]:
    """Who gets no marks and why; those with the same reason together."""
    rows = ((one.name, Note("no-marks", one.why, one.source)) for one in closed)
    return [
        replace(note, text=f"No marks for {', '.join(names)}: {note.text}")
        for names, note in _alike(rows)
    ]


def shut_faults(slug: str, closed: Iterable[NoMarks]) -> list[Fault]:
    """One for each athlete that a drill is closed to."""
    return [Fault(slug, f"no marks for {c.name}: {c.why.rstrip('.')}") for c in closed]


def closed_faults(drills: Iterable[Drill], closed: Sequence[tuple[str, NoMarks]]) -> list[Fault]:
    """One for each drill and athlete it is closed to."""
    return [f for d in drills for f in shut_faults(d.slug, [c for s, c in closed if s == d.slug])]


def own_notes(plans: Sequence[Plan]) -> list[Note]:
    """Each athlete's own warnings, those that say the same told once with all their names."""
    rows = ((plan.who.name, note) for plan in plans for note in plan.warnings)
    out = [
        replace(note, text=f"{_names(names, len(plans))}: {note.text}")
        for names, note in _alike(rows)
    ]
    # What can hurt comes before what is merely off.
    return sorted(out, key=lambda n: URGENT.index(n.code) if n.code in URGENT else len(URGENT))


def _names(names: Sequence[str], every: int) -> str:
    return "Everybody" if len(names) == every > 1 else ", ".join(names)


def told(plans: Sequence[Plan], texts: Callable[[Plan], Iterable[str]]) -> tuple[str, ...]:
    """Texts of all plans, each once, with the names it concerns where that is not everybody."""
    by: dict[str, list[str]] = {}
    for plan in plans:
        for text in texts(plan):
            by.setdefault(text, []).append(plan.who.name)
    return tuple(
        text if len(mine) == len(plans) else f"{text} ({_names(mine, len(plans))})"
        for text, mine in by.items()
    )


def dose(plan: Plan) -> str:
    load = plan.load
    return (
        f"{counted(load.sets, 'set')} of {counted(load.runs, 'run')}: {load.contacts} contacts; all "
        f"drills together {plan.budget.text}"
    )


def _ring(corners: int, turn: float, inner: float = 1.0) -> tuple[Point, ...]:
    """Corners round a middle, every second one at `inner` of the radius."""
    places = ((turn + 2 * pi * i / corners, inner if i % 2 else 1.0) for i in range(corners))
    return tuple((sin(a) * r, -cos(a) * r) for a, r in places)


_PLUS: Final = (-0.35 - 1j, 0.35 - 1j, 0.35 - 0.35j)  # A quarter of a plus
SIGNS: Final[tuple[tuple[str, tuple[Point, ...]], ...]] = (
    ("disc", _ring(20, 0.0)),
    ("square", ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9))),
    ("triangle", _ring(3, 0.0)),
    ("diamond", _ring(4, 0.0)),
    (
        "plus",
        tuple((z.real, z.imag) for turn in (1, 1j, -1, -1j) for z in (turn * q for q in _PLUS)),
    ),
    ("triangle on its point", _ring(3, pi)),
    ("star", _ring(10, 0.0, 0.42)),
    ("bar", ((-0.4, -1.0), (0.4, -1.0), (0.4, 1.0), (-0.4, 1.0))),
    ("hourglass", ((-0.9, -1.0), (0.9, -1.0), (0.1, 0.0), (0.9, 1.0), (-0.9, 1.0), (-0.1, 0.0))),
    ("flag", ((-0.9, -1.0), (0.9, -0.5), (-0.5, 0.0), (-0.5, 1.0), (-0.9, 1.0))),
)
"""Outlines of marks, told apart by shape; past the last the same again, open instead of filled."""


def sign_name(number: int) -> str:
    """What a set's sign is called.

    >>> sign_name(0), sign_name(13)
    ('disc', 'open diamond')
    """
    name = SIGNS[number % len(SIGNS)][0]
    return f"open {name}" if number // len(SIGNS) % 2 else name


def sign(at: Point, radius: float, number: int, name: str = "") -> Line:
    """The sign of a set's marks, at a place on the page [mm]."""
    _, outline = SIGNS[number % len(SIGNS)]
    filled = number // len(SIGNS) % 2 == 0
    points = tuple((at[0] + radius * x, at[1] + radius * y) for x, y in outline)
    return Line(points, "mark", "mark" if filled else "paper", 0.3, True, name=name)


MOST_ROWS: Final = (24, 16, 10, 6)
"""Sets that get a row on the page, as many as fit; the rest is left to the card, and said so."""
MOST_NAMES: Final = 10
MOST_NOTES: Final = 6


def drawn_sets(laid: SetOut, most: int = MOST_ROWS[0]) -> dict[str, int]:
    """The sets that get a row, and the number of each one's sign: shared ones come first."""
    return {s.label: i for i, s in enumerate(laid.sets[:most])}


def set_text(laid: SetOut, item: LaidSet, most: int = MOST_NAMES) -> str:
    """One set in words: its phases, who uses it, and who is off by most."""
    phases = " + ".join(show_length(x, laid.system).removesuffix(" m") for x in item.lengths)
    legs = {a.leg for a in item.athletes}
    names = [
        a.name + (" (left)" if len(legs) > 1 and a.leg == "left" else "") for a in item.athletes
    ]
    out = f"{phases}; {some_of(names, most)}"
    if not item.shared:
        return out + ("; own marks, over the tolerance" if item.athletes[0].over else "; own marks")
    who, i = max(
        ((a, i) for a in item.athletes for i in range(len(laid.phases))),
        key=lambda pair: abs(pair[0].off[pair[1]]),
    )
    by = as_read(f"{100 * abs(who.off[i]):.0f} cm", laid.system)
    return out + f"; most off: {who.name}, {laid.phases[i]} by {by}"


def _even(value: float, digits: int) -> str:
    """A signed number; what rounds to nothing has no sign.

    >>> _even(-0.2, 0), _even(-0.04, 1), _even(2.6, 0)
    ('0', '0.0', '+3')
    """
    near = round(value, digits)
    return f"{near:+.{digits}f}" if near else f"{0.0:.{digits}f}"


def off_text(who: Served, system: System) -> tuple[str, ...]:
    """By how much an athlete's marks are off their own phases, each in cm or inches and per cent."""
    return tuple(
        f"{as_read(f'{_even(100 * o, 0)} cm', system)} ({_even(p, 1)}%)".replace(" ", "\u00a0")
        for o, p in zip(who.off, who.percent, strict=True)
    )


def near_text(laid: SetOut) -> str:
    """How far a printed reading may be off the exact mark."""
    feet = laid.system == "ft"
    near = f"{laid.rounding / (0.0254 if feet else 0.01):.2g} {'in' if feet else 'cm'}"
    return f"Printed to the nearest step of the tape: marks are within {near} of the exact ones."


def starts(laid: SetOut) -> list[tuple[str, int, str, tuple[str, ...]]]:
    """Start marks, nearest first: how far back, strides, set, and whose."""
    found: dict[tuple[str, int, str], list[str]] = {}
    rows = [(a.start, s.label, a) for s in laid.sets for a in s.athletes if a.strides]
    rows.sort(key=lambda row: row[:2])
    for start, label, who in rows:
        key = show_length(start, laid.system), who.strides, label
        found.setdefault(key, []).append(who.name)
    return [(*key, tuple(who)) for key, who in found.items()]


def sure_text(laid: SetOut, wanted: int | None) -> str:
    """How far the sharing is the best one, with figures."""
    if wanted is None:
        first = f"{counted(len(laid.sets), 'set')}, the fewest found with nobody off by more than "
        first += f"{laid.tolerance} in any phase"
        limit = f"; no sharing can do with fewer than {laid.bound:.0f}" if laid.bound else ""
    else:
        first = f"Sharing into {wanted} with least total misfit, {laid.misfit:.4f} square metres"
        limit = (
            "" if laid.bound is None else f"; no sharing into as many can be under {laid.bound:.4f}"
        )
    if laid.search in (EVERY, ONE_LENGTH):
        limit = ""
    return f"{first}{limit}: {laid.search}."


def set_list(laid: SetOut, signs: dict[str, int]) -> list[tuple[str, bool]]:
    """The sets drawn, each in words."""
    return [
        (f"{item.label} ({sign_name(signs[item.label])}): {set_text(laid, item)}", False)
        for item in laid.sets
        if item.label in signs
    ]


def footnotes(laid: SetOut, signs: dict[str, int]) -> list[tuple[str, bool]]:
    """Warnings first, then cautions; what is left to the card is counted."""
    first = [n for n in laid.notes if n.code in FIRST]
    ground = [n for n in laid.notes if n.code in GROUND and n not in first]
    own = [n for n in laid.notes if n.code not in GROUND and n.grave]
    shown = [*first, *ground[:MOST_NOTES], *own[: max(MOST_NOTES - len(ground), 2)]]
    out = [(_short(n.text), n.grave) for n in shown]
    left = len(first) + len(ground) + len(own) - len(shown)
    if left:
        more = "1 more warning is" if left == 1 else f"{left} more warnings are"
        out.append((f"{more} on the tape card.", True))
    rest = [s for s in laid.sets if s.label not in signs]
    if rest:
        count = sum(len(s.athletes) for s in rest)
        said = f"{counted(len(rest), 'set')} of {counted(count, 'athlete')}"
        out.append((f"Not drawn, on the card only: {said}.", True))
    out += [(_short(c), False) for c in laid.cautions]
    return [(as_read(text, laid.system), grave) for text, grave in out]


def _short(text: str) -> str:
    """A text whose list of names is cut to what a page holds."""
    head, colon, tail = text.partition(": ")
    if colon and head.count(", ") >= MOST_NAMES:
        return f"{some_of(head.split(', '), MOST_NAMES)}: {tail}"
    start, bracket, names = text.rpartition(" (")
    if bracket and names.count(", ") >= MOST_NAMES:
        return f"{start} ({some_of(names.removesuffix(')').split(', '), MOST_NAMES)})"
    return text
