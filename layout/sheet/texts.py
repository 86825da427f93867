"""Texts of a page: blocks of them, and what a handout says, on its sheet and on other pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from animate.body.shapes import Role
from animate.body.wording import typeset
from layout.page.page import BODY, MARGIN, Ink, Line, Point, Text, View
from layout.page.widths import text_width, wrapped
from layout.plan.tape import TapeCard
from layout.plan.value import Flight, Plan
from layout.words.dates import said_day
from layout.words.feet import FOOT, as_read
from layout.words.names import counted
from layout.words.units import System, show_length

SMALL: Final = 2.9  # Em of small text [mm], about 8 pt
TURN: Final = 1.28  # Line spacing of text, in ems
ROW: Final = 4.4  # One row of labels over or under the drawing [mm]


def flowed(lines: Iterable[str], at: Point, size: float, step: float, **more: Any) -> list[Ink]:
    """Lines of text one under the other, the first at a place; with the options of `Text`."""
    return [Text((at[0], at[1] + i * step), line, size, **more) for i, line in enumerate(lines)]


def facts(plan: Plan, system: System) -> tuple[str, str]:
    """Length, style, leg and age in one sentence; strides, start mark and check marks in another."""
    run, style = plan.approach, f", {plan.style}" if plan.style else ""
    first = (
        f"{show_length(plan.total, system)} from the first contact to the last{style}; "
        f"take-off leg {plan.who.leg}; counts as {plan.who.age} years old."
    )
    if not run.strides:
        return first, "From standing."
    marks = [f"start mark {show_length(run.length, system)} back"]
    marks += [
        f"check mark {show_length(back, system)} back ({to_go} to go)"
        for to_go, back in run.marks
        if to_go != run.strides
    ]
    return first, f"{run.strides} strides: {', '.join(marks)}."


HEAD: Final = 20.0  # Height of a drawing's title and facts, at least [mm]


def titled(
    title: str, facts: Sequence[str], place: str, date: str, size: tuple[float, float]
) -> tuple[list[Ink], float]:
    """A drawing's title and facts, place and day beside them, and how high they are [mm]."""
    wide = size[0] - MARGIN
    em = SMALL + 0.3
    venue = wrapped(place, SMALL, 70.0)[0]
    room = wide - MARGIN - max(30.0, text_width(venue, SMALL) + 6.0)
    big = next((s for s in (6.0, 5.0, 4.2, 3.6) if text_width(title, s, True) <= wide - 40.0), 3.2)
    first, *rest = wrapped(title, big, wide - 40.0, True)
    ink: list[Ink] = [
        Text((MARGIN, MARGIN + 5.2), first, big, bold=True),
        Text((wide, MARGIN + 10.2), said_day(date), em, align="right"),
        Text((wide, MARGIN + 14.8), venue, SMALL, align="right", role="quiet"),
    ]
    lines = [line for text in (*rest, *facts) for line in wrapped(text, em, room)]
    ink += flowed(lines, (MARGIN, MARGIN + 10.2), em, 4.6)
    return ink, max(HEAD, 10.8 + 4.6 * len(lines))


def scale_sign(scale: int, size: tuple[float, float]) -> Text:
    """The scale at the top right of a page."""
    return Text((size[0] - MARGIN, MARGIN + 5.2), f"1:{scale}", 6.4, align="right", bold=True)


def columns(
    texts: Sequence[tuple[str, bool]], left: float, top: float, width: float, count: int
) -> tuple[list[Ink], float]:
    """Paragraphs in columns, none broken between two; returns them and how high they are [mm]."""
    column = (width - 6.0 * (count - 1)) / count
    step = SMALL * TURN
    blocks = [(wrapped(text, SMALL, column - 3.0, grave), grave) for text, grave in texts]
    deep = max((len(b) for b, _ in blocks), default=0)
    while (starts := _starts([len(b) for b, _ in blocks], deep, count)) is None:
        deep += 1
    out: list[Ink] = []
    for (lines, grave), (at, row) in zip(blocks, starts, strict=True):
        x, y = left + at * (column + 6.0), top + (row + 1) * step
        role: Role = "warn" if grave else "text"
        out.append(Text((x, y), "!" if grave else "–", SMALL, role, bold=grave))
        out += flowed(lines, (x + 3.0, y), SMALL, step, role=role, bold=grave)
    return out, deep * step


def _starts(heights: Sequence[int], deep: int, count: int) -> list[tuple[int, int]] | None:
    """Column and row of blocks in columns so many rows deep; None where they do not fit."""
    at, row, out = 0, 0, []
    for high in heights:
        if row + high > deep:
            at, row = at + 1, 0
        out.append((at, row))
        row += high
    return out if at < count else None


def ruled(
    texts: Sequence[tuple[str, bool]], size: tuple[float, float], count: int
) -> tuple[list[Ink], float]:
    """Paragraphs in columns under a line at the bottom of a page, and how high they are [mm]."""
    wide = size[0] - 2 * MARGIN
    _, high = columns(texts, 0.0, 0.0, wide, count)
    top = size[1] - MARGIN - high - 2.0
    ink, _ = columns(texts, MARGIN, top + 1.0, wide, count)
    return [Line(((MARGIN, top), (size[0] - MARGIN, top)), "quiet", None, 0.2), *ink], high + 3.0


def foot_of(plan: Plan, size: tuple[float, float], system: System) -> tuple[list[Ink], float]:
    """Warnings and cautions at the bottom of the page, and how high they are [mm]."""
    told = [(n.text, True) for n in plan.warnings] + [(c, False) for c in plan.cautions]
    texts = [(as_read(text, system), grave) for text, grave in told]
    return ruled(texts, size, 3 if size[0] - 2 * MARGIN > 250 else 2)


def spare(plan: Plan, card: TapeCard, top: float, bottom: float, width: float) -> list[Ink]:
    """The tape card and the coaching points, where the drawing leaves room for them whole."""
    spoken = [(line, False) for line in card.spoken()]
    points = [(as_read(point, card.system), False) for point in plan.points]
    # Parts of the width for each, and columns inside it: the first arrangement that fits wins.
    for share, many in ((0.5, 1), (0.68, 2), (1.0, 3 if width > 250 else 2)):
        left = MARGIN + 2.0
        wide = width * share - (8.0 if share < 1.0 else 0.0)
        tape, high = columns(spoken, left, top + 4.6, wide, many)
        if top + 4.6 + high > bottom:
            continue
        out: list[Ink] = [Text((left, top + 3.6), "Tape card, spoken", BODY, bold=True), *tape]
        if share < 1.0:
            x = left + width * share
            coach, high = columns(points, x, top + 4.6, width * (1.0 - share), 1)
            if top + 4.6 + high <= bottom:
                out += [Text((x, top + 3.6), "Coach", BODY, bold=True), *coach]
        return out
    return []


def in_rows(labels: Sequence[tuple[float, str]], size: float) -> list[tuple[float, int]]:
    """Where centred labels go so that none overlaps: x on paper and row, in the order given.

    Labels come from left to right; each takes the first row whose last label leaves it room.
    """
    ends: list[float] = []
    out = []
    for x, text in labels:
        wide = text_width(text, size, True) + 1.6
        left = max(x - wide / 2.0, MARGIN)
        row = next((r for r, end in enumerate(ends) if left >= end), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = left + wide
        out.append((left + wide / 2.0, row))
    return out


LEGEND: Final = 4.0  # A line of what is under it [mm]
METRES: Final = {50: (2, 1), 100: (5, 1), 200: (10, 1)}
FEET: Final = {50: (5, 1), 100: (3, 5), 200: (3, 10)}
"""How many parts the scale bar has at a scale, and how long each is [m], [ft] (ours)."""


def bar(at: Point, one: float, many: int, high: float, width: float) -> list[Ink]:
    """The parts of a scale bar, so long each and so high [mm], dark and light in turn."""
    out: list[Ink] = []
    for i in range(many):
        a, b, y = at[0] + i * one, at[0] + (i + 1) * one, at[1]
        box = ((a, y), (b, y), (b, y + high), (a, y + high))
        fill: Role = "paper" if i % 2 else "line"
        out.append(Line(box, "line", fill, width, True, name=f"bar-{i}"))
    return out


def scale_bar(view: View, at: Point, system: System, lines: Sequence[str]) -> list[Ink]:
    """A bar to hold a ruler against, in the tape's own units, and what the drawing shows."""
    x, y = at
    feet = system == "ft"
    many, each = (FEET if feet else METRES)[view.scale]
    one = view.mm(each * (FOOT if feet else 1.0))
    wide = many * one
    unit, long = ("feet", f"{wide / 25.4:.1f} in") if feet else ("metres", f"{wide:.0f} mm")
    rule = f"{unit}, 1:{view.scale} when printed at 100 %: this bar is {long} long"
    return [
        *bar(at, one, many, 1.8, 0.18),
        *(Text((x + i * one, y - 0.9), f"{i * each}", SMALL, align="middle") for i in (0, 1, many)),
        Text((x + wide + 4.0, y + 1.8), rule, SMALL, "quiet"),
        *flowed(lines, (x, y + 6.4), SMALL, LEGEND),
    ]


ADVICE: Final = "Advice for the coach who is there: surface, age, load and pain come first."
MODEL: Final = (
    "Highest: the body's centre. Heights, speeds, times and positions are computed by Phasemark, "
    "not measured."
)
MOTION: Final = ("motion-differs", "motion-asks")
"""Remarks of a plan's motion that stand with them."""
READ: Final = (
    ("knee_gap", "Step touchdown: free knee behind the other"),
    ("free_thigh_touchdown", "Step touchdown: free thigh"),
    ("toe_ahead", "Step touchdown: toe ahead of the body"),
    ("free_thigh_highest", "Step flight: free thigh at its highest"),
    ("free_thigh_hold", "Step flight: free thigh held"),
)
"""Measures of the step contact told, and how."""


class Words:
    """A handout's texts."""

    def __init__(
        self, plan: Plan, card: TapeCard, reading: Mapping[str, str] | None = None
    ) -> None:
        """`reading`: what the step contact of the plan's motion measures, by `Reading.shown()`."""
        system, run = card.system, plan.approach

        def said(texts: Iterable[str]) -> list[str]:
            return [as_read(text, system) for text in texts]

        self.name, self.title, self.job = plan.who.name, plan.title, plan.job
        # Length, style and leg; approach; place and day.
        self.date = said_day(plan.date)
        self.facts = [*facts(plan, system), f"{plan.place.title}, {self.date}."]
        self.warnings = said(note.text for note in plan.warnings)
        self.zero = card.zero_text
        # Reading, and which way it is and what goes there.
        self.tape = [
            (row.shown, f"{row.side}: {row.what}" if row.side else row.what) for row in card.lines
        ]
        self.points, self.faults = said(plan.points), said(plan.faults)
        self.load, self.cautions = _load(plan), said(plan.cautions)
        # Move, length, share, highest point; a row each, with the total.
        self.lengths = [
            *(_length(flight, plan.shares[flight.number], system) for flight in plan.flights),
            ("total", show_length(plan.total, system), "", ""),
        ]
        # Speed and times on the ground.
        self.numbers: list[tuple[str, str]] = []
        if run.strides:
            speed = as_read(f"{run.speed:.1f} m/s", system)
            self.numbers.append(("Speed at the first contact", speed))
        times = [f"{c.time:.2f}" for c in plan.contacts if c.time is not None]
        if times and len(times) <= 6:
            self.numbers.append(("Times on the ground, in order", f"{' / '.join(times)} s"))
        elif times:
            self.numbers.append(("Times on the ground", f"{min(times)} to {max(times)} s"))
        # Positions at the step contact and after it.
        shown = reading or {}
        self.step = [(la, typeset(as_read(shown[k], system))) for k, la in READ if k in shown]
        # Which of the numbers are the coach's and which the model's.
        follow = "Lengths follow target and split."
        if plan.forecast:
            follow = "Lengths are a forecast: move a mark when the athlete says so."
        differs = "".join(f" {n.text}" for n in plan.notes if n.code in MOTION)
        self.sure = as_read(f"{follow} {MODEL}{differs}", system)


def _load(plan: Plan) -> list[str]:
    load = plan.load
    dose = ((load.sets, "set"), (load.runs, "run"), (load.per_run, "contact"))
    return [
        f"{' of '.join(counted(*part) for part in dose)}: {counted(load.contacts, 'contact')}.",
        f"All drills together {plan.budget.text}. Intensity: {plan.intensity}.",
        *plan.assumed,
    ]


def _length(flight: Flight, share: float, system: System) -> tuple[str, ...]:
    margin = "" if flight.plus_minus is None else f" ± {100 * flight.plus_minus:.0f} cm"
    return (
        flight.phase if flight.arc == "natural" else f"{flight.phase}, {flight.arc}",
        f"{show_length(flight.length, system)}{as_read(margin, system)}",
        f"{100 * share:.1f} %",
        show_length(flight.apex_z, system),
    )
