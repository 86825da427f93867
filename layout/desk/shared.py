"""Squad: the marks shared among who is here, with drawing, card, and by how much each is off."""

from __future__ import annotations

import datetime
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

from layout.book.own import Own
from layout.desk.choices import Pick, in_cm, line_at, pick, where
from layout.desk.pages import UNITS
from layout.desk.roll import MOST_SETS, WITHIN, Roll
from layout.desk.setout import LETTERS, athlete_of, on_desk, planned, venue_of
from layout.phone.drawing import NARROW
from layout.plan.drill import HURDLE_HEIGHTS, Choices, Drill, catalogue, find_drill
from layout.rules.cautions import PAIN
from layout.rules.sources import said
from layout.squad.batch import (
    Settings,
    choices_for,
    closed_in,
    gathered,
    refuse_misplaced,
    shared_out,
)
from layout.squad.laid import LaidSet, NoMarks, Served, SetOut
from layout.squad.pack import Making
from layout.squad.roster import Member
from layout.squad.sets import TOLERANCE, Tolerance
from layout.squad.squad_drawing import squad_page
from layout.squad.squad_screen import sign_drawn, squad_screen
from layout.squad.squad_words import (
    FIRST,
    YOUNG,
    drawn_sets,
    near_text,
    off_text,
    shut_faults,
    starts,
    sure_text,
)
from layout.words.faults import BadInput, Fault, refuse
from layout.words.feet import as_read
from layout.words.names import counted
from layout.words.trade import ARC_WORDS
from layout.words.units import show_length

if TYPE_CHECKING:
    from layout.book.people import Member as Kept
    from layout.desk.where import Usual
    from layout.page.page import Page

ROOM: Final = 110.0
"""Width of the drawing for a laptop [mm] (ours): letters of 13 px or more between names and card."""


@dataclass(frozen=True, eq=False)
class Crew:
    """Who is here of the book: athletes that can be planned, their numbers by name, what is wrong with the
    others, and who had pain today."""

    members: tuple[Member, ...]
    numbers: Mapping[str, int]
    left: tuple[Fault, ...]
    hurt: tuple[str, ...] = ()

    @property
    def pain(self) -> str:
        """What is said where somebody here had pain today."""
        return f"{', '.join(self.hurt)}: {PAIN}" if self.hurt else ""


def crew_of(
    roll: Roll,
    everybody: Sequence[Kept],
    today: datetime.date,
    hurt: Container[int] = (),
) -> Crew:
    """Who is here, as the book has them today; `hurt` are the numbers of who had pain."""
    known = {m.id: m for m in everybody}
    here, left = list[Member](), list[Fault]()
    for number in roll.who:
        try:
            if number not in known:
                raise refuse("athlete", "is not in this book any more", number)
            here.append(Member(athlete_of(known[number], today)))
        except BadInput as error:
            name = known[number].name if number in known else ""
            left += [
                replace(f, field=f"{name}: {f.field}" if name else f.field) for f in error.faults
            ]
    here.sort(key=lambda m: m.athlete.name)
    pained = tuple(known[n].name for n in roll.who if n in known and n in hurt)
    return Crew(tuple(here), {m.name: m.id for m in everybody}, tuple(left), pained)


def drills_of(roll: Roll, own: Own) -> tuple[Drill, ...]:
    """The drills chosen."""
    return tuple(find_drill(slug, own.drills) for slug in roll.d)


def changed(roll: Roll) -> Choices:
    """What the coach changes for everybody, in every drill that has a place for it."""
    return Choices(strides=roll.strides, arc=roll.hops, board=roll.board, hurdle=roll.hurdle)


def making_of(roll: Roll, own: Own, today: datetime.date) -> Making:
    """How the sheets of everybody are made."""
    zero: Any = roll.zero
    return Making(venue_of(roll.v, own), today, changed(roll), zero, roll.tape, apart=False)


@lru_cache(maxsize=32)
def _shared(
    members: tuple[Member, ...], drill: Drill, settings: Settings, feet: bool
) -> tuple[SetOut | None, int | None, tuple[NoMarks, ...], tuple[Fault, ...]]:
    runners, closed, faults = gathered(members, drill, settings, planned)
    if not runners:
        return None, None, tuple(closed), tuple(faults)
    laid, wanted = shared_out(runners, closed, drill, settings, feet)
    return laid, wanted, tuple(closed), tuple(faults)


@dataclass(frozen=True, eq=False)
class Shared:
    """One drill shared out: `laid` is None where nothing is; `closed` to whom, `faults` why not."""

    roll: Roll
    crew: Crew
    drill: Drill
    laid: SetOut | None
    wanted: int | None
    closed: tuple[NoMarks, ...]
    faults: tuple[Fault, ...]


def shared(roll: Roll, crew: Crew, own: Own, today: datetime.date, feet: bool = False) -> Shared:
    """The shown drill shared out among who is here, as `phasemark squad` shares it.

    feet: whether hurdles are held against the motions at hand, which takes a moment.
    """
    drill = find_drill(roll.shown, own.drills)
    tolerance = Tolerance() if roll.within is None else Tolerance(roll.within / 100)
    settings = Settings(
        venue_of(roll.v, own), today, choices_for(drill, changed(roll)), roll.sets, tolerance,
        system=roll.tape,
    )  # fmt: skip
    try:
        refuse_misplaced(drill, settings.venue, settings.choices)
        share = _shared.__wrapped__ if feet and drill.hurdle else _shared  # motions may come
        laid, wanted, closed, faults = share(crew.members, drill, settings, feet)
    except BadInput as error:
        why = tuple(on_desk(f, drill, settings.venue) for f in error.faults)
        return Shared(roll, crew, drill, None, None, (), why)
    return Shared(roll, crew, drill, laid, wanted, closed, faults)


def page_of(out: Shared) -> Page:
    """The set-out's drawing for paper, of exact scale."""
    if out.laid is None:
        nobody = refuse("squad", "somebody must be here").faults
        why = [*out.faults, *shut_faults(out.drill.slug, out.closed)]
        raise BadInput(why or nobody)
    return squad_page(out.laid)


@lru_cache(maxsize=32)
def _drawn(laid: SetOut, narrow: bool) -> tuple[str, tuple[str, ...]]:
    return squad_screen(laid, LETTERS, NARROW if narrow else ROOM)


def drawn(out: Shared, narrow: bool) -> tuple[bool, str, tuple[str, ...]]:
    """The drawing for a narrow or a wide screen, and its legend."""
    assert out.laid is not None
    return narrow, *_drawn(out.laid, narrow)


class Row:
    """One athlete on their marks, in words, and where their own pages are."""

    def __init__(self, out: Shared, item: LaidSet, who: Served) -> None:
        assert out.laid is not None
        system, number = out.laid.system, out.crew.numbers[who.name]
        self.name = who.name
        texts = off_text(who, system) if item.shared else ()
        self.offs = tuple(zip(out.laid.phases, texts, strict=False))
        self.over, self.hurt = who.over, who.name in out.crew.hurt
        self.set_out, self.jumped = out.roll.one(number), out.roll.one(number, "/jumped")
        said = [f"{who.leg}-legged", f"counts as {who.age}"]
        if who.strides:
            said.append(f"{counted(who.strides, 'stride')} from {show_length(who.start, system)}")
        self.said = ", ".join(said)


class Marks:
    """One set of marks in words, with its sign and who uses it."""

    def __init__(self, out: Shared, item: LaidSet, number: int | None) -> None:
        assert out.laid is not None
        laid = out.laid
        self.label, self.shared = item.label, item.shared
        self.sign = "" if number is None else sign_drawn(number, LETTERS)
        self.lane = f"lane {item.lane}" if laid.lanes > 1 else ""
        self.phases = [
            (move, show_length(x, laid.system))
            for move, x in zip(laid.phases, item.lengths, strict=True)
        ]
        self.rows = [Row(out, item, who) for who in item.athletes]


def told(out: Shared) -> dict[str, Any]:
    """What is said of a set-out, each thing in the words of the tape's unit."""
    laid = out.laid
    assert laid is not None
    signs = drawn_sets(laid)

    def read(texts: Iterable[str]) -> list[str]:
        return [as_read(text, laid.system) for text in texts]

    first = [n for n in laid.notes if n.grave and n.code in FIRST]
    grave = [*first, *(n for n in laid.notes if n.grave and n not in first)]
    young = [a.name for s in laid.sets for a in s.athletes if a.young]
    return {
        "grave": [(as_read(n.text, laid.system), said(n.source)) for n in grave],
        "taken": read(n.text for n in laid.notes if not n.grave),
        "sure": as_read(sure_text(laid, out.wanted), laid.system),
        "young": f"{YOUNG}: {', '.join(young)}." if young else "",
        "sets": [Marks(out, item, signs.get(item.label)) for item in laid.sets],
        "lanes": [
            (lane if laid.lanes > 1 else 0, list(rows))
            for lane, rows in groupby(laid.stations, lambda s: s.lane)
        ],
        "near": near_text(laid),
        "starts": starts(laid),
        "doses": read(laid.doses),
        "cautions": read(laid.cautions),
    }


def open_to(crew: Crew, own: Own, roll: Roll, today: datetime.date) -> dict[str, tuple[Drill, str]]:
    """Every drill by name, and to how many of who is here it is open, in words."""
    out = {}
    for slug, drill in {**catalogue(), **own.drills}.items():
        choices = choices_for(drill, changed(roll))
        shut = len(closed_in(crew.members, [drill], today, choices)[slug])
        many = len(crew.members)
        text = "open to all here" if not shut else f"open to {many - shut} of {many} here"
        text = "closed to all here" if many and shut == many else text
        out[slug] = drill, text if many else ""
    return out


def picks(roll: Roll, own: Own, start: Usual) -> list[Pick]:
    """What may be changed for everybody here; a drill that has no place for a thing is left as it is."""
    venue = venue_of(roll.v, own)

    def of(name: str, title: str, rows: Iterable[tuple[Any, str]], usual: str = "") -> Pick:
        now, said = getattr(roll, name), dict(rows)
        if now is not None:
            said.setdefault(now, f"{now}")
        return pick(name, title, [*([(None, usual)] if usual else []), *said.items()], now)

    def cm(metres: float) -> str:
        return in_cm(metres, roll.tape)

    within = [(n, cm(n / 100)) for n in WITHIN if n != round(100 * TOLERANCE)]
    boards = [(b, line_at(b, roll.tape)) for b in venue.boards]
    heights = [(h / 100, cm(h / 100)) for h in HURDLE_HEIGHTS]
    zeros = [("board", "take-off line"), ("start", "start mark")]
    return [
        where(own.all_venues().values(), roll.v, start),
        of("tape", "Tape in", UNITS),
        of("sets", "Shared sets of marks", _counts(MOST_SETS), "as few as do"),
        of("within", "Nobody off by more than", within, f"{cm(TOLERANCE)}, as usual"),
        of("strides", "Strides, where there is a run-up", _counts(24), "as the drill"),
        of("hops", "Hop height, where there is a hop", ((w, w) for w in ARC_WORDS), "as the drill"),
        of("board", "Take-off line to the pit", boards, "as it fits"),
        of("hurdle", "Hurdles", heights, "as the drill"),
        of("zero", "Tape zero of the sheets",
           [*zeros, *([("pit", "pit")] if venue.has_pit else [])]),
    ]  # fmt: skip


def _counts(most: int) -> list[tuple[int, str]]:
    return [(n, f"{n}") for n in range(1, most + 1)]
