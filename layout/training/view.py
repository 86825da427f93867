"""An athlete on the ladder as every screen shows it: placing, block, spacing and totals, each once."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

from layout.athlete.athlete import Athlete
from layout.plan.spacing import make_plan
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.rules.budget import Budget
from layout.rules.cautions import cautions_for
from layout.training.block import Block, LeftOut
from layout.training.ladder import Placing
from layout.training.rungs import Ladder, Rung
from layout.words.faults import BadInput
from layout.words.note import Note


@dataclass(frozen=True)
class LadderView:
    """Where an athlete stands on a day, and the block of weeks from there.

    `plans` are of the rungs open to the athlete, `unplanned` says of the others why there is none at that
    venue.
    """

    name: str
    on: datetime.date
    weeks: int
    placing: Placing
    ladder: Ladder
    block: Block
    plans: Mapping[str, Plan]
    unplanned: Mapping[str, str]
    cautions: tuple[str, ...]

    @property
    def shut(self) -> dict[str, Note]:
        """Why rungs are closed, by rung."""
        return {rung.slug: why for rung, why in self.placing.closed}

    @property
    def highest(self) -> int:
        """Height of the highest rung."""
        return self.ladder.rungs[-1].height

    @property
    def ahead(self) -> tuple[Rung, ...]:
        """Open rungs at or over the athlete's."""
        least = self.placing.rung.height
        return tuple(r for r in self.ladder.rungs if r.slug not in self.shut and r.height >= least)

    @property
    def to_set_out(self) -> tuple[str, ...]:
        """Rungs whose marks are laid in this block, with the athlete's own and the next."""
        used = [p.rung.slug for s in self.block.sessions for p in s.parts]
        also = [r.slug for r in (self.placing.rung, self.placing.up) if r is not None]
        return tuple(dict.fromkeys([*used, *also]))

    @property
    def budgets(self) -> dict[Budget, datetime.date]:
        """The athlete's budgets in this block, each with the first day it holds."""
        out: dict[Budget, datetime.date] = {}
        for session in self.block.sessions:
            out.setdefault(session.budget, session.on)
        return out

    @property
    def left_out(self) -> dict[str, list[datetime.date]]:
        """Days left out, by the reason they share."""
        out: dict[str, list[datetime.date]] = {}
        for row in self.block.left_out:
            out.setdefault(_shared(row), []).append(row.on)
        return out


def _shared(row: LeftOut) -> str:
    return row.why if row.hours is None else f"only {row.hours} h after the session before"


def ladder_view(
    athlete: Athlete, placing: Placing, ladder: Ladder, made: Block, venue: Venue,
    on: datetime.date, weeks: int,
) -> LadderView:  # fmt: skip
    """All that is shown of a placing and its block, with a plan of each open rung."""
    shut, plans, none = dict(placing.closed), {}, {}
    for rung in (r for r in ladder.rungs if r not in shut):
        try:
            plans[rung.slug] = make_plan(athlete, rung.drill, venue, on, rung.choices)
        except BadInput as error:
            none[rung.slug] = "; ".join(f.rule for f in error.faults)
    cautions = cautions_for(placing.rung.drill.cautions, athlete.standing(on))
    return LadderView(athlete.name, on, weeks, placing, ladder, made, plans, none, cautions)
