"""What a handout says, apart from how it is set: the same words for the sheet and for other pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from animate.body.wording import typeset
from layout.plan.tape import TapeCard
from layout.plan.value import Plan
from layout.sheet.texts import run_in
from layout.words.feet import as_read
from layout.words.units import System, show_length

ADVICE: Final = "Advice for the coach who is there: surface, age, load and pain come first."
READ: Final = (
    ("knee_gap", "Step touchdown: free knee behind the other"),
    ("free_thigh_touchdown", "Step touchdown: free thigh"),
    ("toe_ahead", "Step touchdown: toe ahead of the body"),
    ("free_thigh_highest", "Step flight: free thigh at its highest"),
    ("free_thigh_hold", "Step flight: free thigh held"),
)
"""Measures of the step contact told, and how."""


@dataclass(frozen=True)
class Words:
    """A handout's texts."""

    name: str
    title: str
    job: str
    facts: tuple[str, ...]  # Length, style and leg; approach; place and day
    warnings: tuple[str, ...]
    tape: tuple[tuple[str, str], ...]  # Reading, and which way it is and what goes there
    zero: str  # Where the tape's zero is held
    points: tuple[str, ...]
    faults: tuple[str, ...]
    load: tuple[str, ...]
    cautions: tuple[str, ...]
    # Move, length, share, highest point; a row each, with the total
    lengths: tuple[tuple[str, ...], ...]
    numbers: tuple[tuple[str, str], ...]  # Speed and times on the ground
    step: tuple[tuple[str, str], ...]  # Positions at the step contact and after it
    sure: str  # Which of the numbers are the coach's and which the model's
    date: str


def words_of(plan: Plan, card: TapeCard, reading: Mapping[str, str] | None = None) -> Words:
    """What a handout says.

    reading: what the step contact of the plan's motion measures, as `Reading.shown()` gives it.
    """
    tape = tuple(
        (row.shown, f"{row.side}: {row.what}" if row.side else row.what) for row in card.lines
    )

    def said(texts: Iterable[str]) -> tuple[str, ...]:
        return tuple(as_read(text, card.system) for text in texts)

    return Words(
        name=plan.who.name,
        title=plan.title,
        job=plan.job,
        facts=_facts(plan, card),
        warnings=said(note.text for note in plan.warnings),
        tape=tape,
        zero=card.zero_text,
        points=said(plan.points),
        faults=said(plan.faults),
        load=_load(plan),
        cautions=said(plan.cautions),
        lengths=_lengths(plan, card),
        numbers=_numbers(plan, card.system),
        step=_step(reading or {}, card.system),
        sure=as_read(_sure(plan), card.system),
        date=plan.date,
    )


def _facts(plan: Plan, card: TapeCard) -> tuple[str, ...]:
    style = f", {plan.style}" if plan.style else ""
    return (
        f"{show_length(plan.total, card.system)} from the first contact to the last{style}; "
        f"take-off leg {plan.who.leg}; counts as {plan.who.age} years old.",
        run_in(plan, card.system),
        f"{plan.place.title}, {plan.date}.",
    )


def _load(plan: Plan) -> tuple[str, ...]:
    load = plan.load
    sets = f"{load.sets} {'set' if load.sets == 1 else 'sets'}"
    runs = f"{load.runs} {'run' if load.runs == 1 else 'runs'}"
    each, every = ("contact" if n == 1 else "contacts" for n in (load.per_run, load.contacts))
    return (
        f"{sets} of {runs} of {load.per_run} {each}: {load.contacts} {every}.",
        f"All drills together {plan.budget.text}. Intensity: {plan.intensity}.",
        *plan.assumed,
    )


def _lengths(plan: Plan, card: TapeCard) -> tuple[tuple[str, ...], ...]:
    system = card.system
    rows = []
    for flight in plan.flights:
        margin = "" if flight.plus_minus is None else f" ± {100 * flight.plus_minus:.0f} cm"
        margin = as_read(margin, system)
        rows.append(
            (
                flight.phase if flight.arc == "natural" else f"{flight.phase}, {flight.arc}",
                f"{show_length(flight.length, system)}{margin}",
                f"{100 * plan.shares[flight.number]:.1f} %",
                show_length(flight.apex_z, system),
            )
        )
    return (*rows, ("total", show_length(plan.total, system), "", ""))


def _numbers(plan: Plan, system: System) -> tuple[tuple[str, str], ...]:
    out = []
    if plan.approach.strides:
        out.append(
            ("Speed at the first contact", as_read(f"{plan.approach.speed:.1f} m/s", system))
        )
    times = [f"{c.time:.2f}" for c in plan.contacts if c.time is not None]
    if times and len(times) <= 6:
        out.append(("Times on the ground, in order", f"{' / '.join(times)} s"))
    elif times:
        out.append(("Times on the ground", f"{min(times)} to {max(times)} s"))
    return tuple(out)


def _step(reading: Mapping[str, str], system: System) -> tuple[tuple[str, str], ...]:
    return tuple(
        (label, typeset(as_read(reading[name], system))) for name, label in READ if name in reading
    )


def _sure(plan: Plan) -> str:
    lengths = (
        "Lengths are a forecast: move a mark when the athlete says so."
        if plan.forecast
        else "Lengths follow target and split."
    )
    differs = "".join(f" {n.text}" for n in plan.notes if n.code == "motion-differs")
    return (
        f"{lengths} Highest: the body's centre. Heights, speeds, times and positions are computed "
        f"by Phasemark, not measured.{differs}"
    )
