"""Season: the book told back of one athlete, as rows and drawings for a page; nothing is worked out here."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, NamedTuple

from layout.book.correct import Change, changes
from layout.book.own import own_of
from layout.book.people import Member
from layout.book.store import Book
from layout.desk.form import Readers, read_parts
from layout.desk.wanted import Look, Wanted
from layout.page.page import Page
from layout.page.svg import letters_of
from layout.phone.drawing import NARROW, drawing
from layout.rules.sources import said
from layout.season import words
from layout.season.plots import (
    DAY_KEY,
    POSITIONS_KEY,
    STEP_KEY,
    WEEKS_KEY,
    phases_page,
    positions_page,
    step_page,
    weeks_page,
    with_shares,
)
from layout.season.positions import position_rows, position_texts
from layout.season.rung import matches
from layout.season.season import Asked, Season, season_of
from layout.season.told import Told
from layout.season.weeks import SHOWN, WeekLoad
from layout.training.block import DAYS, MOST_WEEKS, LadderView, block, parse_days
from layout.training.ladder import MOVED
from layout.training.rungs import Rung, ladder
from layout.training.seen import observed_from, version_text
from layout.words.dates import said_day
from layout.words.faults import BadInput, Fault, refuse
from layout.words.feet import as_read
from layout.words.names import counted
from layout.words.note import Note
from layout.words.reading import one_of, read_count
from layout.words.trade import day_text

SEEN: Final = ("at", "hit", "sound", "contact", "pain")
"""What the coach saw on the present rung, as the address says it."""

PAINS: Final = ("yes", "gone")
"""What a coach may say of pain; else it is as the book has it."""


class Plot(NamedTuple):
    """A drawing as markup, and how it is read."""

    svg: str
    key: str


class DrillView(NamedTuple):
    """One drill and run-up, jumped against planned, and where its runs stand."""

    title: str
    about: str
    rows: list[words.PhaseRow]
    texts: list[str]
    planned: bool
    runs: str
    plot: Plot | None


class WeekView(NamedTuple):
    """One week of contacts, and where its runs stand."""

    week: WeekLoad
    notes: list[str]
    runs: str


@dataclass(frozen=True, eq=False)
class View:
    """One athlete's season as the page shows it; `wrong` are faults of what the coach typed, by field."""

    look: Look
    member: Member
    season: Season
    wrong: Mapping[str, str]
    changed: tuple[Change, ...]  # of the athlete's file, the latest first


def day_of(look: Look) -> datetime.date:
    """The day that a season is told for: today where no last day is asked for; days in order."""
    today = datetime.date.today()
    on = today if look.until is None else datetime.date.fromisoformat(look.until)
    if on > today:
        raise refuse("until", f"must be a day up to {today}", look.until)
    if look.since is not None and look.since > on.isoformat():
        raise refuse("since", f"must be a day up to {on}", look.since)
    return on


def _typed(look: Look) -> tuple[dict[str, Any], dict[str, str]]:
    """What the coach saw, and what is wrong with it by field; one fault and nothing of it is taken."""
    found: dict[str, Any] = {n: getattr(look, n) for n in SEEN if getattr(look, n)}
    faults: list[Fault] = []
    try:
        if "pain" in found:
            found["pain"] = one_of("pain", found["pain"], PAINS) == PAINS[0]
    except BadInput as error:
        found["pain"] = True  # what cannot be read is taken as pain
        faults += error.faults
    try:
        observed_from(found, datetime.date.today(), options=frozenset(found))
    except BadInput as error:
        faults += error.faults
    try:
        if look.at:
            ladder().find(look.at)
    except BadInput as error:
        faults += error.faults
    wrong = {f.field.lstrip("-"): f"{f.rule}: {f.value}" for f in faults}
    if wrong:  # pain is never left out because another field is wrong
        found = {n: v for n, v in found.items() if n == "pain"}
    return found, wrong


def view_of(book: Book, member: Member, look: Look, start: str) -> View:
    """Tell a season back for a page; new marks are for the venue `start` where none is named."""
    typed, wrong = _typed(look)
    asked = Asked(look.since, typed)
    places = own_of(book).all_venues()
    venue = places[one_of("venue", look.v or start, tuple(places))]
    season = season_of(book, member, day_of(look), ladder(), venue, asked)
    return View(look, member, season, wrong, file_changes(book, member))


def file_changes(book: Book, member: Member) -> tuple[Change, ...]:
    """What was changed of an athlete's file, the latest first."""
    found = reversed(changes(book, "athlete", member.id))
    return tuple(c for c in found if c.field == "file")


# --- what is drawn --------------------------------------------------------------------------------


def _plot(page: Page, said_of: str, key: str) -> Plot:
    return Plot(drawing(page, letters_of(None), said_of), key)


def contacts_plot(view: View) -> Plot | None:
    """Ground contacts by week; None without any."""
    if not view.season.weeks:
        return None
    name = view.season.name
    page = weeks_page(name, view.season.weeks, NARROW)
    return _plot(page, f"{name}: ground contacts by week, as in the table below", WEEKS_KEY)


class Positions(NamedTuple):
    """What was measured on pictures: by day, in rows and in sentences."""

    plot: Plot
    rows: list[tuple[str, str, str, str]]
    texts: list[str]


def positions(view: View) -> Positions | None:
    """What was measured on pictures; None without any."""
    found, name = view.season.positions, view.season.name
    if not found:
        return None
    page = positions_page(name, found, NARROW)
    plot = _plot(page, f"{name}: positions on pictures by day", POSITIONS_KEY)
    return Positions(plot, position_rows(found), position_texts(found))


def step_plot(view: View) -> tuple[Plot, str] | None:
    """The step's share of whole jumps, and where they stand; None without any."""
    told = with_shares(view.season)
    if told is None:
        return None
    page = step_page(view.season.name, told, NARROW)
    name = f"{view.season.name}: {words.kind_text(told)}, the step's share by day"
    return _plot(page, name, STEP_KEY), runs_of(view.look, told)


def _phases_plot(view: View, told: Told) -> Plot | None:
    if not told.phases:
        return None
    name = f"{view.season.name}: {words.kind_text(told)}, each phase by day against the plan"
    page = phases_page(view.season.name, told, NARROW, view.look.tape)
    return _plot(page, name, f"{DAY_KEY}; dashed: the plan" if _has_plan(told) else DAY_KEY)


def _has_plan(told: Told) -> bool:
    """Whether any phase of a drill was planned."""
    return any(p.planned is not None for p in told.phases)


# --- rows -----------------------------------------------------------------------------------------


def runs_of(look: Look, told: Told) -> str:
    """The address of the runs of one kind."""
    drill, phases, arcs, strides = told.key
    return look.address(
        "/season/runs",
        d=drill,
        phases=" ".join(phases),
        arcs=" ".join(arcs),
        run_up=strides,
        part=1,
    )


def drills(view: View) -> list[DrillView]:
    """Every drill that was measured, or the one asked for."""
    look, out = view.look, []
    for told in view.season.told:
        if look.d and told.kind.drill != look.d:
            continue
        texts = [words.trends_text(told, look.tape), words.step_text(told)]
        texts = [*filter(None, texts), *words.bests_text(told, look.tape)]
        days = counted(told.days, "day")
        out.append(DrillView(
            words.kind_text(told), f"{told.count} measured on {days}",
            words.phase_rows(told, look.tape), texts, _has_plan(told), runs_of(look, told),
            _phases_plot(view, told),
        ))  # fmt: skip
    return out


def drills_had(view: View) -> list[tuple[str, str]]:
    """Drills that a page can be narrowed to."""
    return list({t.kind.drill: t.kind.title for t in view.season.told}.items())


def weeks(view: View) -> list[WeekView]:
    """The latest weeks, the latest first."""
    return [
        WeekView(
            w, noted(w.notes, view.look), view.look.address("/season/runs", d="", week=w.monday)
        )
        for w in reversed(view.season.weeks[-SHOWN:])
    ]


def noted(notes: Any, look: Look) -> list[str]:
    """Notes with where their rules are from."""
    return [f"{as_read(n.text, look.tape)} [{said(n.source)}]" for n in notes]


def mind(view: View) -> list[str]:
    """What is to be looked at first: sudden rises of late, drills closed now, what looks wrong."""
    season, look = view.season, view.look
    late = [
        f"Week of {said_day(w.week.monday)}: {text}" for w in weeks(view)[:2] for text in w.notes
    ]
    shut = [f"Jumped, though closed now: {text}" for text in noted(season.closed, look)]
    first, last = words.pain_text(season.pains), words.aside_text(season.aside)
    return [text for text in (first, *late, *shut, last) if text]


def asides(view: View) -> list[tuple[str, str]]:
    """Attempts that are left out: what they say, and where each is changed."""
    season, look = view.season, view.look
    return [
        (f"{said_day(row.day)}, {row.title}: {words.why_text(row, look.tape)}",
         look.address("/season/run", n=row.id))
        for row in season.aside
    ]  # fmt: skip


# --- the ladder -----------------------------------------------------------------------------------


class RungView(NamedTuple):
    """The next rung: what to do, why, and where it is set out."""

    what: str
    drill: str
    seen: str
    reasons: list[Note]
    then: str
    set_out: str  # empty where there is to be no jumping
    runs: str  # the runs the present rung was seen in; empty without any


def next_rung(view: View) -> RungView | None:
    """The next rung and why; None where there is none."""
    placing = view.season.placing
    if placing is None:
        return None
    rung, then, top = placing.rung, "", max(r.height for r in ladder().rungs)
    if placing.up is not None and placing.advice != "rest":
        ask = "; ".join(placing.ask) or "nothing more"
        then = f"Then {placing.up.title}, after: {as_read(ask, view.look.tape)}."
    notes = [
        replace(n, text=as_read(n.text, view.look.tape), source=said(n.source))
        for n in placing.reasons
    ]
    seen = as_read("; ".join(view.season.seen), view.look.tape)
    return RungView(
        f"{MOVED[placing.advice]} {rung.title}, rung {rung.height} of {top} up the ladder",
        version_text(rung).replace(rung.drill.slug, rung.drill.title, 1), seen, notes,
        then, "" if placing.advice == "rest" else set_out(view, rung), _seen_runs(view),
    )  # fmt: skip


def _seen_runs(view: View) -> str:
    """Where the runs on the present rung stand; those of all days where none of them is measured."""
    season = view.season
    if not season.attempts or season.placing is None or season.athlete is None:
        return ""
    full = season.athlete.strides
    here = [t for t in season.told if matches(season.placing.came_from, t.kind, full)]
    return runs_of(view.look, here[0]) if here else view.look.address("/season/runs", d="")


def set_out(view: View, rung: Rung) -> str:
    """Where a rung is set out."""
    c = rung.choices
    return Wanted(
        a=view.look.a, d=rung.drill.slug, v=view.look.v, strides=c.strides, hops=c.arc,
        hurdle=c.hurdle, tape=view.look.tape,
    ).address()  # fmt: skip


def rungs(view: View) -> list[tuple[str, str]]:
    """Rungs that an athlete may be said to be on: all but those that are closed."""
    placing = view.season.placing
    shut = {rung.slug for rung, _ in placing.closed} if placing else set()
    return [(r.slug, f"Rung {r.height}: {r.title}") for r in ladder().rungs if r.slug not in shut]


_BLOCK: Final[Readers] = {
    "weeks": lambda text: read_count("weeks", text, 1, MOST_WEEKS), "days": parse_days,
}  # fmt: skip
"""What a coach may say of the weeks ahead."""


def days_of(look: Look) -> tuple[str, ...]:
    """The weekdays of a block that are ticked; none where they cannot be read."""
    with contextlib.suppress(BadInput):
        return tuple(DAYS[i] for i in parse_days(look.days))
    return ()


def block_of(view: View) -> tuple[LadderView | None, dict[str, str]]:
    """A block of weeks from the placing on, and what is wrong with what was typed of it.

    None where a day in the past is told, or there is no placing.
    """
    season, look = view.season, view.look
    placing, athlete, observed = season.placing, season.athlete, season.observed
    if placing is None or athlete is None or observed is None or look.until is not None:
        return None, {}
    try:
        asked = read_parts({name: getattr(look, name) for name in _BLOCK}, _BLOCK, ())
    except BadInput as error:
        return None, {f.field: f"{f.rule}: {getattr(look, f.field)}" for f in error.faults}
    done = (observed.sessions or 0) if placing.advice == "stay" else 0
    made = block(athlete, placing, ladder(), season.on, asked["weeks"], asked["days"], done)
    shown = LadderView(
        season.name, season.on, asked["weeks"], placing, ladder(), made, {}, {}, season.cautions
    )
    return shown, {}


class SessionRow(NamedTuple):
    """One day of a block."""

    day: str
    contacts: int
    parts: list[str]
    only_if: str
    rest: int


def block_rows(shown: LadderView, look: Look) -> list[SessionRow]:
    """The sessions of a block."""
    return [
        SessionRow(
            day_text(s.on) + (", easy" if s.easy else ""), s.contacts,
            [f"{p.rung.title}: {p.sets} x {p.runs}" for p in s.parts],
            as_read("; ".join(s.only_if), look.tape), s.rest,
        )
        for s in shown.block.sessions
    ]  # fmt: skip
