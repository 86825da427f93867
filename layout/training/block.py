"""A block of weeks on the ladder: dates, doses, contacts and rest, and all that screens show of it."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeVar

from layout.athlete.athlete import Athlete
from layout.plan.spacing import make_plan
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.rules.budget import Budget, budget_of
from layout.rules.cautions import cautions_for
from layout.rules.load import dose_for
from layout.training.ladder import Placing, above, open_rungs
from layout.training.rungs import Ladder, Rung
from layout.training.seen import asked
from layout.words.faults import BadInput, refuse
from layout.words.note import Note
from layout.words.trade import day_text

K = TypeVar("K", int, str)
DAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MOST_WEEKS: Final = 26
EASY_WEEK: Final = 4
"""Every fourth week has one set fewer (common practice, no source)."""
LEAST_STAY: Final = 2
"""Sessions at least on a rung that was not left, whatever was done before (ours)."""


@dataclass(frozen=True)
class Part:
    """One drill of a session: so many sets, so many runs in each."""

    rung: Rung
    sets: int
    runs: int

    @property
    def contacts(self) -> int:
        """Contacts of all its runs."""
        return self.sets * self.runs * self.rung.contacts


@dataclass(frozen=True)
class Session:
    """One day of a block; its last part is the rung, before it the lead-in, where there is one.

    `only_if` is what must have been seen on the rung before, empty unless a new rung begins; `rest` the
    least hours before the next session; `budget` the athlete's own on that day; `easy` a week with one set
    fewer.
    """

    number: int
    week: int
    on: datetime.date
    parts: tuple[Part, ...]
    only_if: tuple[str, ...]
    rest: int
    budget: Budget
    easy: bool

    @property
    def main(self) -> Part:
        """The rung's own part."""
        return self.parts[-1]

    @property
    def contacts(self) -> int:
        """Contacts of the session."""
        return sum(p.contacts for p in self.parts)


@dataclass(frozen=True)
class LeftOut:
    """A day left out and why; the hours since the session before where they are too few."""

    on: datetime.date
    why: str
    hours: int | None = None


@dataclass(frozen=True)
class Block:
    """Sessions in order, and the days left out."""

    sessions: tuple[Session, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def contacts(self) -> int:
        """Contacts of all sessions."""
        return sum(s.contacts for s in self.sessions)

    @property
    def most(self) -> int:
        """Contacts of the session with most; 0 without any."""
        return max((s.contacts for s in self.sessions), default=0)

    def by_week(self) -> dict[int, int]:
        """Contacts a week."""
        return self._by(lambda session, part: session.week)

    def by_drill(self) -> dict[str, int]:
        """Contacts by the drill's name."""
        return self._by(lambda session, part: part.rung.drill.slug)

    def by_intensity(self) -> dict[str, int]:
        """Contacts by the drill's intensity."""
        return self._by(lambda session, part: part.rung.drill.intensity)

    def _by(self, key: Callable[[Session, Part], K]) -> dict[K, int]:
        out = Counter[K]()
        for session, part in ((s, p) for s in self.sessions for p in s.parts):
            out[key(session, part)] += part.contacts
        return dict(out)


def parse_days(text: str) -> tuple[int, ...]:
    """Weekdays from "mon,thu", Monday 0.

    >>> parse_days("mon, Thursday")
    (0, 3)
    """
    out = []
    for word in text.split(","):
        plain = word.strip().lower()
        whole = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
        if plain not in DAYS and plain not in whole:
            raise refuse("days", f"days such as mon,thu needed, out of {', '.join(DAYS)}", text)
        out.append(DAYS.index(plain[:3]))
    if len(set(out)) != len(out):
        raise refuse("days", "each day once needed", text)
    return tuple(sorted(out))


def _within_budget(parts: Sequence[Part], most: int) -> tuple[Part, ...]:
    """Parts cut until they fit: the lead-in goes first, then sets, then runs of the rung."""

    def whole(of: Sequence[Part]) -> int:
        return sum(p.contacts for p in of)

    kept = list(parts)
    while whole(kept) > most and len(kept) > 1:
        kept.pop(0)
    main = kept[-1]
    while main.contacts > most and (main.sets > 1 or main.runs > 1):
        one = main.sets == 1
        main = replace(main, runs=main.runs - 1) if one else replace(main, sets=main.sets - 1)
    return (*kept[:-1], main)


def session_parts(
    athlete: Athlete, rung: Rung, rungs: Sequence[Rung], on: datetime.date, fewer: int = 0
) -> tuple[Part, ...]:
    """The lead-in and the rung, checked against youth limits and the budget of the day.

    `rungs` are the open ones: a lead-in that is not among them is left out, and so it is for the young or
    those of unknown age. `fewer` sets are taken off, one always staying. Source: `layout.rules.budget`.
    """
    stands = athlete.standing(on)
    sets, runs = rung.dose_at(stands.level)
    dose = dose_for(max(1, sets - fewer), runs, rung.contacts, stands)
    parts = [Part(rung, dose.sets, dose.runs)]
    if not stands.young and rung.lead_in is not None:
        lead = next((r for r in rungs if r.slug == rung.lead_in), None)
        if lead is not None:
            parts.insert(0, Part(lead, 1, lead.dose_at(stands.level)[1]))
    return _within_budget(parts, dose.budget.most)


def _kept_apart(on: datetime.date, done: Sequence[Session], budget: Budget) -> LeftOut | None:
    """Why a day cannot be jumped on after the sessions before it; None where it can."""
    if not done:
        return None
    hours = 24 * (on - done[-1].on).days
    if hours < done[-1].rest:
        why = f"only {hours} h after {day_text(done[-1].on)}; {done[-1].rest} h needed"
        return LeftOut(on, why, hours)
    # Any seven days in a row, not only Monday to Sunday.
    recent = [s for s in done if (on - s.on).days < 7]
    if budget.sets and len(recent) >= budget.sessions:
        return LeftOut(on, f"at most {budget.sessions} sessions a week {budget.who}")
    return None


def block(
    athlete: Athlete,
    placing: Placing,
    ladder: Ladder,
    start: datetime.date,
    weeks: int = 4,
    days: Sequence[int] = (0, 3),
    done: int = 0,
) -> Block:
    """Weeks of sessions from a placing on; empty where it says rest.

    Each rung has its number of sessions, less those already `done` on the placing's, then the next begins,
    on condition. The first session on a rung and every fourth week have one set fewer. Dates are days:
    two sessions two days apart are taken as 48 h apart, so hold them at the same hour or later. Weekdays
    count from Monday, 0. Contacts of a session = sum of sets * runs * contacts of a run, within the
    athlete's budget of that day; rest = the longest of its rungs [h].

    Source: rest and sessions a week as in `layout/rules/rules.toml`; the fourth week common practice.

    >>> from importlib.resources import files
    >>> from layout.athlete.athlete import read_athlete
    >>> from layout.training.ladder import next_rung
    >>> from layout.training.rungs import ladder
    >>> from layout.training.seen import Observed
    >>> tevin, day = read_athlete(files("layout.catalogue.club") / "tevin.toml"), datetime.date(2026, 11, 26)
    >>> placing = next_rung(tevin, Observed(day, "sand-six", (4, 5), "quiet"), ladder())
    >>> made = block(tevin, placing, ladder(), day, weeks=1)
    >>> [(day_text(s.on), s.main.rung.slug, s.main.sets, s.main.runs, s.contacts) for s in made.sessions]
    [('Thu 26 Nov', 'standing-triple', 2, 5, 48), ('Mon 30 Nov', 'standing-triple', 3, 5, 63)]
    """
    if not 1 <= weeks <= MOST_WEEKS:
        raise refuse("weeks", f"must be 1 to {MOST_WEEKS}", weeks)
    if start.year >= datetime.MAXYEAR:
        raise refuse("from", "must be a year before 9999", start)
    sessions, left_out = list[Session](), list[LeftOut]()
    rung, fresh = placing.rung, done == 0
    here = min(done, max(0, rung.sessions - LEAST_STAY))
    for day in range(7 * weeks if placing.advice != "rest" else 0):
        on = start + datetime.timedelta(days=day)
        if on.weekday() not in days:
            continue
        budget = budget_of(athlete.standing(on))
        why = _kept_apart(on, sessions, budget)
        if why is not None:
            left_out.append(why)
            continue
        rungs, _ = open_rungs(athlete, on, ladder)
        only_if: tuple[str, ...] = ()
        goal = above(rung, rungs) if here >= rung.sessions else None
        if goal is not None:
            only_if, rung, here, fresh = asked(goal.enter, rung), goal, 0, True
        week = day // 7 + 1
        easy = week % EASY_WEEK == 0
        parts = session_parts(athlete, rung, rungs, on, fewer=int(easy or fresh))
        rest = max(p.rung.rest for p in parts)
        sessions.append(Session(len(sessions) + 1, week, on, parts, only_if, rest, budget, easy))
        here, fresh = here + 1, False
    return Block(tuple(sessions), tuple(left_out))


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
            early = f"only {row.hours} h after the session before"
            out.setdefault(row.why if row.hours is None else early, []).append(row.on)
        return out


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
