"""A squad's plans of one drill shared out and laid as a coach's settings say."""

from __future__ import annotations

import dataclasses
import datetime
import json
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from layout.athlete.athlete import Athlete
from layout.plan.drill import Drill
from layout.plan.spacing import Choices
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.rules.demand import closed_to
from layout.sheet.drawing import Sheet
from layout.squad.laid import NoMarks, SetOut
from layout.squad.roster import Member
from layout.squad.setout import Laying, set_out
from layout.squad.setout_notes import despite_note, over_note
from layout.squad.sets import Sharing, Tolerance, share
from layout.words.units import System


@dataclass(frozen=True)
class Settings:
    """What holds for a whole batch."""

    venue: Venue
    on: datetime.date
    choices: Choices = field(default_factory=Choices)
    sets: int | None = None  # Shared sets asked for; None takes the fewest within the tolerance
    tolerance: Tolerance = field(default_factory=Tolerance)
    # Moves and how much their phases count; 1 where not named
    weights: tuple[tuple[str, float], ...] = ()
    system: System = "cm"
    step: float | None = None  # Of the tape [m]
    sheet: Sheet | None = None  # None takes the smallest paper that holds the drawing
    look: str = "light"

    def phases(self, plan: Plan) -> tuple[float, ...]:
        """Weights of a plan's phases."""
        told = dict(self.weights)
        return tuple(told.get(f.phase, 1.0) for f in plan.flights)


@dataclass(frozen=True)
class Runner:
    """An athlete the drill is open to, with what the sharing asks of them."""

    plan: Plan
    weight: float
    young: bool  # Whether youth limits hold


def no_marks(athlete: Athlete, drill: Drill, on: datetime.date, choices: Choices) -> NoMarks | None:
    """Why nothing is laid for an athlete; None where the drill is open to them as it is changed."""
    asked = drill.demand(choices.strides, choices.cycles)
    why = closed_to(athlete.standing(on), asked, athlete.name)
    return None if why is None else NoMarks(athlete.name, why.text, why.source)


def closed_in(
    members: Sequence[Member], drills: Sequence[Drill], on: datetime.date, choices: Choices
) -> dict[str, dict[int, NoMarks]]:
    """By drill, the members it is closed to, by their place; none where a coach goes on despite that."""
    out: dict[str, dict[int, NoMarks]] = {d.slug: {} for d in drills}
    for i, member in enumerate(members if choices.despite is None else ()):
        for drill in drills:
            why = no_marks(member.athlete, drill, on, choices)
            if why is not None:
                out[drill.slug][i] = why
    return out


def shared_out(
    runners: Sequence[Runner], closed: Sequence[NoMarks], drill: Drill, settings: Settings
) -> SetOut:
    """Share a squad's plans of one drill out and lay them on the venue.

    closed: of the squad, for whom nothing is laid.
    Returns: those under the youth limits are never given a longer phase than their own.
    """
    plans = [r.plan for r in runners]
    young = np.array([r.young for r in runners])
    lengths = np.array([[f.length for f in p.flights] for p in plans])
    phases = settings.phases(plans[0])

    def shared(sets: int | None, tolerance: Tolerance) -> Sharing:
        weights = np.array([r.weight for r in runners])
        return share(lengths, sets, tolerance, np.array(phases), weights, young)

    sharing = shared(settings.sets, settings.tolerance)
    how = Laying(
        settings.tolerance, phases, settings.system, settings.step, settings.choices.board,
        young=young.tolist(), no_marks=closed,
    )  # fmt: skip
    laid = set_out(plans, sharing, drill, settings.venue, how)
    if settings.choices.despite and any(p.despite for p in plans):
        laid = replace(laid, notes=(despite_note(plans, settings.choices.despite), *laid.notes))
    if not sharing.off or settings.sets is None:
        return laid
    enough = shared(None, settings.tolerance)
    wide = shared(settings.sets, Tolerance(1e3))
    wider = wide.widest(lengths, [w > 0.0 for w in phases], settings.tolerance.kind)
    note = over_note(laid, settings.sets, len(enough.sets), wider)
    return replace(laid, notes=(note, *laid.notes))


def setout_json(laid: SetOut) -> str:
    """A set-out as JSON text, with each athlete's misfit in per cent as well."""
    table = dataclasses.asdict(laid)
    for row, item in zip(table["sets"], laid.sets, strict=True):
        row["lengths"] = item.lengths
        for cell, who in zip(row["athletes"], item.athletes, strict=True):
            cell["percent"] = who.percent
    return json.dumps(table, ensure_ascii=False, indent=1) + "\n"
