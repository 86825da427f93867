"""A season told back: what was jumped, where the next centimetres are, what to set out next."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, Final

from layout.athlete.ability import ability
from layout.athlete.athlete import TOTAL_RANGE, Athlete, athlete_from
from layout.athlete.questions import questions
from layout.book.own import drills_known
from layout.book.people import Member
from layout.book.pictures import Kept, pictures
from layout.book.record import Aside, Record, read_record
from layout.book.sound import athlete_in
from layout.book.store import Book
from layout.plan.drill import Drill
from layout.plan.venue import Venue
from layout.plan.warn import SEASON
from layout.rules.cautions import cautions_for
from layout.rules.demand import closed_to
from layout.rules.standing import Standing, standing
from layout.season.gather import set_aside
from layout.season.next_phase import BestSplit, NextPhase, best_split_of, next_phase
from layout.season.pain import pain_days
from layout.season.positions import Position, positions_of
from layout.season.refit import Refit, calibrated, refit
from layout.season.rung import Spacing, seen_in, spacings_of
from layout.season.told import Phase, Told, best_whole, told_of
from layout.season.weeks import WeekLoad, weeks_of
from layout.training.ladder import Placing, next_rung
from layout.training.rungs import Ladder
from layout.training.seen import Observed, observed_from
from layout.words.dates import iso, said_day
from layout.words.faults import BadInput, refuse
from layout.words.note import Note
from layout.words.split_text import parse_split
from layout.words.trade import LEVELS

WINDOW: Final = 182
"""Days back from the latest attempt whose attempts are told and fitted: 26 weeks (ours)."""


@dataclass(frozen=True, eq=False)
class Season:
    """All that the book tells back of one athlete."""

    name: str
    on: datetime.date
    since: str | None  # first day that is told and fitted
    # attempts, fouls: rows of the book since then
    attempts: int
    fouls: int
    told: tuple[Told, ...]
    weeks: tuple[WeekLoad, ...]  # from the first attempt ever
    # athlete, refitted: as the book has them, and with what the attempts told; None where it has no
    # athlete file and not enough to make up one
    athlete: Athlete | None
    refitted: Athlete | None
    why_not: str  # why there is no athlete
    next_phase: NextPhase | None
    refit: Refit | None
    spacings: tuple[Spacing, ...]
    placing: Placing | None
    no_rung: str  # why there is no placing though there is an athlete; else empty
    standing: Standing  # how the athlete counts
    closed: tuple[Note, ...]  # drills in the book that are closed to the athlete, and why
    seen: tuple[str, ...]  # what the placing read off the book
    split: BestSplit | None
    cautions: tuple[str, ...]
    aside: tuple[Aside, ...]  # attempts left out of every figure but the load, and why
    # how many entries were in training, in competition, and nobody said (key "")
    days: dict[str, int]
    asks: tuple[Note, ...] = ()  # what the target asks for beyond the best jump
    observed: Observed | None = None  # what the placing was told and what the book saw
    # days on which pain was put down in the last four weeks: they rest the placing until the coach
    # says that it is gone
    pains: tuple[str, ...] = ()
    positions: tuple[Position, ...] = ()  # measured on pictures

    @property
    def span(self) -> tuple[int, int] | None:
        """First and last day of what is told, as ordinals; None without attempts."""
        days = [int(day) for t in self.told for day in (t.day[0], t.day[-1])]
        return (min(days), max(days)) if days else None

    @property
    def furthest(self) -> tuple[Told, Phase | None] | None:
        """The phase furthest short of its plan, in whole jumps or else in the drill jumped most.

        Clearly short is by more than two standard errors (ours). The phase is None where none is, and
        all of it where nothing was planned.
        """
        for told in self.told:
            if any(p.off is not None for p in told.phases):
                short = [p for p in told.phases if p.off is not None and p.off < -2.0 * p.sure]
                return told, min(short, key=lambda p: p.off or 0.0, default=None)
        return None

    @property
    def reached(self) -> tuple[float, float] | None:
        """The book's best and the target, where the best has reached it [m]."""
        best = self.refitted.jumped if self.refitted is not None else None
        target = self.athlete.target if self.athlete is not None else None
        if best is None or target is None or best <= target - 0.005:
            return None
        # Where no target is told it is the best that the file tells: nothing was reached with that.
        told = self.athlete.jumped if self.athlete is not None else None
        if told is not None and best <= told + 0.005 and abs(target - told) < 0.005:
            return None
        return best, target


def athlete_of(member: Member, record: Record) -> Athlete:
    """The athlete of a member: the kept file, or size and leg with the best whole jump of the book."""
    if member.file is not None:
        return athlete_in(member.file, member.name)
    bests = [t.legal for t in told_of(record) if t.kind.whole and t.legal]
    low, high = TOTAL_RANGE
    totals = [b[0] for b in bests if low <= b[0] <= high]
    table = {"name": member.name, "leg": member.leg, "born": member.born, "level": member.level,
             "stature": member.stature, "mass": member.mass, "best": max(totals, default=None)}  # fmt: skip
    return athlete_from({k: v for k, v in table.items() if v is not None})


def record_of(
    book: Book,
    member: Member,
    on: datetime.date,
    since: str | None = None,
    own: Mapping[str, Drill] | None = None,
) -> tuple[Record, str | None]:
    """The attempts that are told and fitted, and the first day of them.

    `on`: nothing after this day. `since`: first day; 26 weeks before the latest attempt where left
    out. `own`: the coach's drills beside those that the book keeps.
    """
    until = on.isoformat()
    if since is None:
        ((latest,),) = book.rows(
            "SELECT max(s.day) FROM attempt a JOIN session s ON s.id = a.session "
            "WHERE a.athlete = ? AND a.struck = 0 AND s.day <= ?",
            (member.id, until),
        )
        if latest is not None:
            day = datetime.date.fromisoformat(latest).toordinal()
            since = iso(max(day - WINDOW, 1))
    return set_aside(read_record(book, member.id, since, until, own)), since


@dataclass(frozen=True)
class Asked:
    """What a coach asks of a season beside the athlete and the day."""

    since: str | None = None  # first day; 26 weeks before the latest attempt where left out
    # what the book cannot know of the present rung: at, sound, contact ...; see
    # `layout.training.seen.observed_from`; pain that was put down holds until it is False here
    typed: Mapping[str, Any] = field(default_factory=dict)
    own: Mapping[str, Drill] = field(default_factory=dict)  # the coach's drills


def season_of(
    book: Book,
    member: Member,
    on: datetime.date,
    ladder: Ladder,
    venue: Venue,
    asked: Asked | None = None,
) -> Season:
    """Tell an athlete's season back, the new spacing as for a venue."""
    asked = asked or Asked()
    record, first = record_of(book, member, on, asked.since, asked.own)
    athlete, why_not = able_athlete(member, record, on)
    tolds = told_of(record, athlete.strides if athlete else None)
    stands = athlete.standing(on) if athlete else standing(member.born, member.level, None, on)
    drills = drills_known(book, asked.own)
    closed = _closed(tolds, drills, stands, member.name)
    sights = pictures(book, member.id, on.isoformat())
    bare = Season(
        name=member.name, on=on, since=first, attempts=len(record), fouls=int(record.foul.sum()),
        told=tolds, weeks=_weeks(book, member, on), athlete=athlete, refitted=None, why_not=why_not,
        next_phase=None,
        aside=record.aside, days=dict(Counter(said or "" for said in record.said)),
        refit=None, spacings=(), placing=None, no_rung="", standing=stands, closed=closed, seen=(),
        split=None, cautions=cautions_for((), stands),
        pains=pain_days(book, on, member.id).get(member.id, ()),
        positions=positions_of(sights, asked.since or first),
    )  # fmt: skip
    if athlete is None:
        return bare
    return _with_athlete(bare, athlete, sights, record, ladder, venue, replace(asked, own=drills))


def able_athlete(member: Member, record: Record, on: datetime.date) -> tuple[Athlete | None, str]:
    """The athlete that a season is told with, or why there is none."""
    try:
        athlete = planned_as(athlete_of(member, record), on)
        ability(athlete)
    except BadInput as error:
        return None, "; ".join(f"{f.field} {f.rule}" for f in error.faults)
    return athlete, ""


def _with_athlete(
    bare: Season,
    athlete: Athlete,
    sights: Sequence[Kept],
    record: Record,
    ladder: Ladder,
    venue: Venue,
    asked: Asked,
) -> Season:
    """A season with all that takes an athlete to tell.

    `sights`: what was measured on pictures. `asked`: its `own` are all drills there are.
    """
    on, tolds, typed = bare.on, bare.told, asked.typed
    found = refit(athlete, record)
    refitted = _usable(with_best(calibrated(athlete, found), tolds))
    able = ability(athlete)
    table, seen = seen_in(record, ladder, athlete, typed.get("at"), on, sights)
    if bare.pains:
        days = ", ".join(map(said_day, bare.pains))
        table, seen = {**table, "pain": True}, (f"pain put down on {days}", *seen)
    observed = observed_from({**table, **typed}, on, options=frozenset(typed))
    placing, no_rung = None, ""
    try:
        placing = next_rung(athlete, observed, ladder)
    except BadInput as error:
        no_rung = "; ".join(f.rule for f in error.faults)
    goal = None if placing is None or placing.advice == "rest" else placing.rung
    return replace(
        bare,
        refitted=refitted,
        next_phase=next_phase(tolds, able.who, found.form, found.draws),
        refit=found,
        spacings=spacings_of(athlete, refitted, tolds, goal, asked.own, venue, on),
        placing=placing,
        no_rung=no_rung,
        seen=seen,
        split=best_split_of(able, found),
        cautions=cautions_for(placing.rung.drill.cautions if placing else (), bare.standing),
        asks=tuple(n for n in (*able.notes, *questions(athlete)) if n.code in SEASON),
        observed=observed,
    )


@dataclass(frozen=True, eq=False)
class Fitted:
    """An athlete before and after the refit, and the first and last day of the attempts."""

    athlete: Athlete
    refitted: Athlete
    refit: Refit
    first: str
    last: str
    aside: tuple[Aside, ...]


def fit_of(book: Book, member: Member, on: datetime.date, since: str | None = None) -> Fitted:
    """Only the refit of `season_of`.

    Refused: no athlete to begin from, or figures that cannot make the athlete file's totals.
    """
    record, _ = record_of(book, member, on, since)
    athlete = planned_as(athlete_of(member, record), on)
    tolds = told_of(record, athlete.strides)
    found = refit(athlete, record)
    refitted = _usable(with_best(calibrated(athlete, found), tolds))
    if refitted is None:
        rule = "the refitted figures cannot make the best and target of the athlete file; look at those"
        raise refuse("fit", rule)
    days = [iso(int(d)) for d in record.day]
    return Fitted(athlete, refitted, found, min(days, default=""), max(days, default=""),
                  record.aside)  # fmt: skip


def planned_as(athlete: Athlete, on: datetime.date) -> Athlete:
    """The athlete with the strides of the full approach that plans count with.

    Refused: neither target nor best known; nothing is fitted to a guess.
    """
    if athlete.guess is not None:
        raise refuse("target", "is missing (a total to plan for, or at least a best)")
    return athlete.on_day(on)


def counted_as(member: Member) -> tuple[str, int | None]:
    """Level and year of birth that a member's load is counted with; unknown where the file can't be read."""
    if member.file is None:
        return member.level or LEVELS[0], member.born
    return _counted_as(member.file, member.name)


@lru_cache(maxsize=1024)
def _counted_as(file: str, name: str) -> tuple[str, int | None]:
    try:
        who = athlete_in(file, name)
    except BadInput:
        return LEVELS[0], None
    return who.level, who.born


def _weeks(book: Book, member: Member, on: datetime.date) -> tuple[WeekLoad, ...]:
    rows = book.rows(
        "SELECT s.day, sum(a.contacts) FROM attempt a JOIN session s ON s.id = a.session "
        "WHERE a.athlete = ? AND a.struck = 0 AND s.day <= ? GROUP BY a.session",
        (member.id, on.isoformat()),
    )
    sessions = [(datetime.date.fromisoformat(day).toordinal(), n) for day, n in rows]
    return weeks_of(sessions, on, *counted_as(member))


def _closed(
    tolds: Sequence[Told], drills: Mapping[str, Drill], stands: Standing, name: str
) -> tuple[Note, ...]:
    """Why drills that were jumped are closed to the athlete, each once."""
    out: dict[str, Note] = {}
    for told in tolds:
        drill = drills.get(told.kind.drill)
        if drill is None:
            continue
        cycles = max(1, len(told.kind.phases) // len(drill.moves))
        why = closed_to(stands, drill.demand(told.kind.strides, cycles), name)
        if why is not None:
            out.setdefault(drill.slug, Note(why.code, f"{drill.slug}: {why.text}", why.source))
    return tuple(out.values())


def with_best(athlete: Athlete, tolds: Sequence[Told]) -> Athlete:
    """The athlete with the book's best full jump, where it is better or its phases are news."""
    found = best_whole(tolds, athlete.strides)
    if found is None:
        return athlete
    total, phases = round(found[0], 2), found[1]
    low, high = TOTAL_RANGE
    jumped = athlete.jumped
    news = jumped is None or total > jumped + 0.005
    news |= athlete.best_phases is None and jumped is not None and total > jumped - 0.005
    if not news or not low <= total <= high:
        return athlete
    try:
        measured = parse_split("/".join(f"{p:.2f}" for p in phases) + " m", total)
    except BadInput:
        return athlete  # phases no file would take are no best
    return replace(athlete, best=total, best_behind=None, best_phases=measured)


def _usable(athlete: Athlete) -> Athlete | None:
    """The athlete, unless the refitted figures cannot make the totals of the file."""
    try:
        ability(athlete)
    except BadInput:
        return None
    return athlete
