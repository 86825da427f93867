"""Plans and drills as plain text for a small screen."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from typing import Final

from layout.plan.drill import Drill
from layout.plan.hurdles import MARGIN, SLACK, UNCHECKED, cm, flight_text, signed_cm
from layout.plan.tape import TapeCard
from layout.plan.value import Flight, Plan
from layout.rules.cautions import COMPUTED, cautions_for, in_short
from layout.rules.sources import said
from layout.words.feet import FOOT, as_read
from layout.words.names import counted as counted
from layout.words.note import Note
from layout.words.trade import LEVELS
from layout.words.units import System, show_length

WIDTH: Final = 78
NARROW: Final = 12
"""Letters the last column of a table has at least; with fewer it goes under its row (ours)."""
_TIED: Final = re.compile(r"(?<=[0-9]) (?=(?:cm|m|s|h|%|x|[0-9]+ of)(?![a-z]))|(?<= x) (?=[0-9])")
_HURDLE_WORD: Final = {"beside": "hurdles beside", "over": "hurdles over"}


def folded(text: str, first: str = "  ", then: str | None = None) -> list[str]:
    """A paragraph folded to the screen, never at a hard space."""
    rest = " " * len(first) if then is None else then
    lines = textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest)
    return [line.replace("\u00a0", " ") for line in lines]


def tied(text: str) -> str:
    """A text whose numbers stay on one line with their units when it is folded."""
    return _TIED.sub("\u00a0", text)


def noted(
    notes: Iterable[Note], indent: str = "  ", tie: bool = False, system: System = "cm"
) -> list[str]:
    """Notes with their sources: warnings behind "!", remarks behind "-"."""
    out = []
    for note in notes:
        text = f"{as_read(note.text, system)} [{said(note.source)}]"
        out += folded(tied(text) if tie else text, f"{indent}{'!' if note.grave else '-'} ")
    return out


def listed(title: str, texts: Iterable[str], system: System = "cm") -> list[str]:
    """A title with texts under it, each behind a dash."""
    lines = (line for text in texts for line in folded(as_read(text, system), "  - "))
    return ["", title, *lines]


def section(title: str, lines: Sequence[str]) -> list[str]:
    """Lines under a title, after an empty one; nothing where there are none."""
    return ["", title, *lines] if lines else []


def widest(rows: Iterable[tuple[str, ...]]) -> tuple[int, ...]:
    """Letters of the widest text in each column; () without rows."""
    wide: tuple[int, ...] = ()
    for row in rows:
        wide = tuple(map(max, wide or (0,) * len(row), map(len, row)))
    return wide


def columns(
    rows: Sequence[tuple[str, ...]],
    right: frozenset[int] = frozenset(),
    wide: tuple[int, ...] = (),
) -> list[str]:
    """Rows in columns as wide as their widest text, the last one folded; `wide` is of a whole list.

    Where long names leave the last one less room than a date, it goes to a line of its own.

    >>> columns([("x" * 72, "2026-05-01")])[1]
    '      2026-05-01'
    """
    *widths, last = wide or widest(rows)
    room = WIDTH - 2 - sum(wide + 2 for wide in widths)
    under = room < min(NARROW, last)
    out = []
    for row in rows:
        parts = [
            c.rjust(w) if i in right else c.ljust(w)
            for i, (c, w) in enumerate(zip(row[:-1], widths, strict=True))
        ]
        front = "  " + "  ".join(parts) + "  "
        if under and row[-1].strip():
            out += [front.rstrip(), *folded(row[-1], " " * 6)]
            continue
        out += folded(row[-1], front) if row[-1].strip() else [front.rstrip()]
    return out


def moves_text(drill: Drill) -> str:
    """Moves as a coach says them: "hop hop step, 3 times"."""
    times = f", {drill.cycles} times" if drill.cycles > 1 else ""
    return " ".join(drill.moves) + times


def _drill_line(drill: Drill) -> str:
    place = f"; {_HURDLE_WORD[drill.hurdle.place]}" if drill.hurdle else ""
    ends = "sand" if drill.ends == "sand" else "track"
    return f"{moves_text(drill)}; {ends}{place}; from {drill.youngest} years"


def drill_list(drills: dict[str, Drill]) -> list[str]:
    """All drills, by level."""
    out = []
    for level in LEVELS:
        rows = [(d.slug, _drill_line(d)) for d in drills.values() if d.level == level]
        out += ["", level.upper(), *columns(rows)] if rows else []
    out += [
        "",
        "Any of them with low or high hops: add --hops low or --hops high.",
        "Read one: phasemark plan --read NAME. Plan it: phasemark plan ATHLETE.toml NAME",
    ]
    return out[1:]


def drill_text(drill: Drill) -> list[str]:
    """One drill to read: what it is for, how much, what to coach and to look for."""
    start = "from standing" if drill.start == "stand" else f"{drill.strides} strides of approach"
    start = "full approach" if drill.full else start
    out = [drill.title, *folded(drill.job), ""]
    out += folded(f"Moves: {moves_text(drill)}, {start}, ends on the {drill.ends}.")
    out += folded(
        f"Level: {drill.level}, from {drill.youngest} years ({said(drill.youngest_source)}). "
        f"Intensity: {drill.intensity}. Contacts in a run: {drill.contacts}."
    )
    if drill.hurdle:
        heights = zip(drill.hurdle.heights, LEVELS, strict=True)
        tall = ", ".join(f"{h} cm {level}" for h, level in heights)
        out += folded(f"Hurdles {drill.hurdle.place} the line: {tall}.")
    by_level = zip(drill.dose, LEVELS, strict=True)
    doses = ", ".join(f"{s} x {r} {level}" for (s, r), level in by_level)
    out += folded(f"Dose, sets x runs: {doses}.")
    out += [*listed("Coach", drill.points), *listed("Look for", drill.faults)]
    out += listed("Take care", cautions_for(drill.cautions, None))
    return [*out, "", f"Source: {said(drill.source)}"]


def _spacing(plan: Plan, system: System) -> list[str]:
    rows = []
    for flight in plan.flights:
        sure = "" if flight.plus_minus is None else f"± {100 * flight.plus_minus:.0f} cm"
        arc = "" if flight.arc == "natural" else f"{flight.arc} arc, "
        share = f"{100 * plan.shares[flight.number]:.1f} %"
        gap = f"{100 * plan.gaps[flight.number]:+.0f} cm on the best; " if plan.gaps else ""
        sure, gap = as_read(sure, system), as_read(gap, system)
        tail = f"{gap}{arc}highest point {show_length(flight.apex_z, system)}"
        rows.append((flight.phase, show_length(flight.length, system), share, sure, tail))
    rows.append(("total", show_length(plan.total, system), "", "", plan.style or " "))
    return columns(rows, frozenset({1, 2}))


def _tape(card: TapeCard) -> list[str]:
    rows = [("reading", "", "gap", "what goes there")]
    rows += [(line.shown, line.side, line.gap, line.what) for line in card.lines]
    return columns(rows, frozenset({0, 2}))


def hurdle_text(plan: Plan) -> list[str]:
    """How the body passes each hurdle, or that nobody has looked; nothing without hurdles."""
    if not plan.hurdles:
        return []
    beside = any(h.place == "beside" for h in plan.hurdles)
    rows = [("", "cm", "clears by", "by", "most cm", "past top", "aside" if beside else "", " ")]
    for hurdle in plan.hurdles:
        name, found = flight_text(plan, hurdle.flight), hurdle.clearing
        front = (name, f"{100 * hurdle.height:.0f}")
        if found is None:
            rows.append((*front, "-", UNCHECKED, "-", "", "", " "))
            continue
        aside = "" if found.aside is None else cm(found.aside)
        most = f"{100 * found.greatest:.0f}" if found.greatest else "none"
        past = f"{100 * found.moved:+.0f} cm"
        rows.append((*front, signed_cm(found.gap), found.part, most, past, aside, " "))
    out = ["", "HURDLES", *columns(rows, frozenset({1, 2, 4, 5, 6}))]
    if any(h.clearing for h in plan.hurdles):
        out += folded(
            "Clears by: the lowest part of the body's outline over the bar. Most: the greatest height "
            f"that leaves {100 * MARGIN:.0f} cm there and {100 * SLACK:.0f} cm before and behind "
            "(Phasemark's estimate), for this age. Past top: beyond the highest point of the body's path."
        )
        if beside:
            out += folded(
                "A hurdle beside the line is checked as if it stood under the athlete. Aside: from "
                "the nearest shoe on the ground; how far a foot swings sideways in the air a side "
                "view does not know."
            )
    return out


def figure_cautions(plan: Plan) -> list[str]:
    """The plan's warnings, what a computed figure is, and the cautions in short, as lines."""
    short = in_short(plan.who.standing, plan.despite)
    return [
        *noted(n for n in plan.warnings if n.text != plan.despite),
        *folded(COMPUTED, "  - "),
        *folded(short, "  - "),
    ]


def who_text(plan: Plan) -> str:
    """How the athlete counts in this plan, and what was taken instead of known."""
    years = f"Counts as {plan.who.age} years old and {plan.who.level} on that day."
    return " ".join([years, *plan.assumed])


def plan_text(plan: Plan, card: TapeCard) -> list[str]:
    """A whole plan as text."""
    run = plan.approach
    system = card.system
    out = [f"{plan.who.name}: {plan.title}", *folded(plan.job)]
    wants = "needs" if any(n.code == "out-of-reach" for n in plan.notes) else "about"
    start = "From standing"
    if run.strides:
        speed = as_read(f"{run.speed:.1f} m/s", system)
        start = (
            f"{run.strides} strides, start mark {show_length(run.length, system)} back; {wants} "
        )
        start += f"{speed} at the first contact"
    out += folded(f"{start}. {plan.place.title}. {plan.date}.")
    out += folded(who_text(plan))
    sand = ", to the nearest break in the sand" if plan.ends == "sand" else ""
    out += ["", f"SPACING, toe to toe{sand}"]
    if plan.forecast:
        out.append("  A forecast: move a mark when the athlete says so.")
    out += _spacing(plan, system)
    out += ["", f"TAPE CARD, zero at the {card.zero_text}", *_tape(card), *hurdle_text(plan)]
    out += section("WARNINGS", noted(plan.warnings, system=system))
    load = plan.load
    out += ["", "DOSE"]
    out += folded(
        f"{counted(load.sets, 'set')} of {counted(load.runs, 'run')}, {load.per_run} contacts a run "
        f"({load.left} left, {load.right} right, {load.both} both feet): {load.contacts} contacts. All "
        f"drills together {plan.budget.text}."
    )
    out += listed("COACH", plan.points, system)
    return out + listed("TAKE CARE", plan.cautions, system)


def _flight_row(flight: Flight, unit: float) -> tuple[str, ...]:
    forward, upward, end = (f"{v / unit:.2f}" for v in (flight.vx, flight.vy, flight.vy_end))
    return f"{flight.number + 1} {flight.phase}", forward, upward, f"{flight.time:.3f}", end, " "


def more_text(plan: Plan, system: System = "cm") -> list[str]:
    """Speeds, forces and remarks, for whoever wants to know why."""
    name, unit = ("m/s", 1.0) if system == "cm" else ("ft/s", FOOT)
    out = ["", f"FLIGHTS (speeds {name}, time s)"]
    head = ("", "forward", "upward", "time", "upward at landing", " ")
    out += columns([head, *(_flight_row(f, unit) for f in plan.flights)], frozenset({1, 2, 3, 4}))
    rows: list[tuple[str, ...]] = [("", "time s", "forward in", "out", "mean force", " ")]
    for c in plan.contacts:
        if c.time is not None:
            speeds = (f"{(v or 0.0) / unit:.2f}" for v in (c.vx_in, c.vx))
            force = f"{c.vertical:.1f}", f"braking {c.braking:.1f}"
            rows.append((f"{c.number + 1} {c.foot}", f"{c.time:.3f}", *speeds, *force))
    if len(rows) > 1:
        out += ["", f"CONTACTS (speeds {name}; mean force up, and braking, in body weights)"]
        out += columns(rows, frozenset({1, 2, 3, 4}))
    return out + section("REMARKS", noted((n for n in plan.notes if not n.grave), system=system))
