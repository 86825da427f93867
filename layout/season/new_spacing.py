"""Marks of what is jumped and of the next rung, with an athlete's figures as they were and refitted."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from layout.athlete.athlete import Athlete
from layout.plan.drill import Drill
from layout.plan.spacing import Choices, make_plan
from layout.plan.venue import Venue
from layout.season.told import Told
from layout.training.rungs import Rung
from layout.words.faults import BadInput

SPACED: Final = 3
"""Drills whose new spacing is shown beside the next rung's (ours)."""


@dataclass(frozen=True)
class Spacing:
    """Marks of one drill before and after the refit."""

    title: str
    strides: int
    phases: tuple[str, ...]
    # before, after: phases [m]
    before: tuple[float, ...]
    after: tuple[float, ...]
    # start_before, start_after: start mark [m]
    start_before: float
    start_after: float
    next: bool  # whether it is the next rung's


def spacings_of(
    athlete: Athlete,
    refitted: Athlete | None,
    tolds: Sequence[Told],
    goal: Rung | None,
    drills: Mapping[str, Drill],
    venue: Venue,
    on: datetime.date,
) -> tuple[Spacing, ...]:
    """Old and new marks of the next rung and of what was jumped most."""
    if refitted is None:
        return ()
    wanted: list[tuple[Drill, Choices, bool]] = []
    if goal is not None:
        wanted.append((goal.drill, goal.choices, True))
    for told in tolds:
        drill = drills.get(told.kind.drill)
        if drill is None or drill.full or len(wanted) > SPACED:
            continue
        strides = told.kind.strides if drill.start == "run" and told.kind.strides else None
        arcs = {a for m, a in zip(told.kind.phases, told.kind.arcs, strict=False) if m == "hop"}
        arc = arcs.pop() if len(arcs) == 1 and arcs != {"natural"} else None
        cycles = len(told.kind.phases) // len(drill.moves)
        if told.kind.phases != drill.moves * cycles:
            continue
        choices = Choices(
            strides=strides, arc=arc, cycles=cycles if cycles != drill.cycles else None
        )
        if (drill, choices) not in [(d, c) for d, c, _ in wanted]:
            wanted.append((drill, choices, False))
    out = []
    for drill, choices, is_next in wanted:
        try:
            before = make_plan(athlete, drill, venue, on, choices)
            after = make_plan(refitted, drill, venue, on, choices)
        except BadInput:
            continue  # a drill that cannot be planned here has no marks to show
        out.append(Spacing(
            before.title, before.approach.strides, tuple(f.phase for f in before.flights),
            tuple(f.length for f in before.flights), tuple(f.length for f in after.flights),
            before.approach.length, after.approach.length, is_next,
        ))  # fmt: skip
    return tuple(out)
