"""Picture: what is shown of the points that a coach tapped, and what goes into the book."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from animate.body.body import Body
from animate.motion.measure_table import MEASURE, Measure
from layout.athlete.athlete import Athlete
from layout.book.people import Member
from layout.book.pictures import INSTANTS, Kept, keep_picture, short_of
from layout.book.store import Book
from layout.desk.setout import LETTERS, SetOut, athlete_of
from layout.page.page import Page
from layout.phone.drawing import drawing
from layout.picture.beside import camera_text, figures_of
from layout.picture.kept import USUAL, Said, again, body_of, sight_of
from layout.picture.measured import Held, Measured, Value, held_against, measure
from layout.picture.overlaid import target_on
from layout.picture.pair import Apart, apart, of_measured, of_target, pair_page
from layout.picture.places import READ
from layout.picture.points import Frame, points_from
from layout.picture.remarks import remarks, warnings_of
from layout.picture.target import Target, target_of
from layout.picture.timing import ENDS, MOST_EVENTS, SLOWEST, Event, Span, spans
from layout.plan.drill import catalogue
from layout.rules.cautions import in_short
from layout.words.dates import read_past_day
from layout.words.faults import BadInput, refuse
from layout.words.reading import read_number
from layout.words.trade import date_text

SHOWN: Final[dict[str, Measure]] = {
    **{m.name: m for m in READ},
    **{name: MEASURE[name] for name in ("contact_time", "flight_time")},
}
"""What a kept picture may have measured, in the order it is shown."""
FIELDS: Final = ("at", "points", "events", "slower", "kind", "on", "note")
"""What is sent beside whose and which drill it is."""


class Row(NamedTuple):
    """One measure as it is read; empty texts where there is no target."""

    label: str
    target: str
    measured: str
    difference: str
    verdict: str
    clear: bool


@dataclass(frozen=True, eq=False)
class Seen:
    """A picture's points measured, and what they are held against."""

    frame: Frame
    measured: Measured
    who: Body
    target: Target | None
    why_none: str  # why there is no target
    times: tuple[Span, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def held(self) -> tuple[Held, ...]:
        """Measures beside the target's."""
        return () if self.target is None else held_against(self.target.measures, self.measured)


def instant_of(given: Mapping[str, str]) -> str:
    """The instant that the address names, such as step-touchdown."""
    asked = (given.get("at") or USUAL).replace("-", " ", 1)
    if asked not in INSTANTS:
        raise refuse("at", f"must be one of {', '.join(INSTANTS)}", given.get("at"))
    return asked


def slug_of(instant: str) -> str:
    """The same for an address."""
    return instant.replace(" ", "-", 1)


def aimed(out: SetOut | None, instant: str) -> tuple[Target | None, str]:
    """The target figure of what is set out, or why there is none."""
    if out is None:
        return None, "No drill is chosen, so there is no target figure."
    if out.plan is None:
        return None, f"No target figure: {str(out.why[0]).removeprefix('drill: ')}"
    if out.motion is None:
        return None, "The target figure is not worked out yet for this spacing: Set out does it."
    try:
        return target_of(out.motion, instant), ""
    except BadInput as error:
        return None, f"No target figure: {error.faults[0].rule}."


def events_of(text: str) -> tuple[Event, ...]:
    """Chosen frames as sent: down or off, its time and the time since the frame before [s]."""
    out: list[Event] = []
    for part in filter(None, text.split(";")):
        end, _, rest = part.partition(" ")
        at, _, gap = rest.partition(" ")
        if end not in ENDS or len(out) >= MOST_EVENTS:
            raise refuse("frames", "cannot be read", part)
        seconds = read_number("frames", at, 0.0, 36_000.0, "s")
        out.append(Event(end, seconds, read_number("frames", gap, 1e-4, 1.0, "s")))
    return tuple(out)


def times_of(given: Mapping[str, str]) -> tuple[Span, ...]:
    """Contact and flight times of the chosen frames; none until it is said how slow the film plays."""
    events = events_of(given.get("events", ""))
    if not events or not given.get("slower"):
        return ()
    return spans(events, read_number("slower", given["slower"], 1.0, SLOWEST, "times"))


def seen_in(given: Mapping[str, str], member: Member, out: SetOut | None, instant: str) -> Seen:
    """Measure the points that were sent; everything wrong with them is refused."""
    if not given.get("points"):
        raise refuse("points", "at least hip, both knees and a scale needed")
    frame = points_from(given["points"]).frames[0]
    who = body_of(member)
    measured = measure(frame, who)
    target, why = aimed(out, instant)
    support = target.support if target else ""
    times = times_of(given)
    stands = athlete_of(member, datetime.date.today()).standing(datetime.date.today())
    despite = out.plan.despite if out is not None and out.plan is not None else ""
    return Seen(
        frame, measured, who, target, why, times,
        (*warnings_of(frame, measured, who, support),
         *(f"{s.measure.label} {s.measure.shown(s.value)}: {s.odd}" for s in times if s.odd)),
        (*remarks(measured, target is not None), in_short(stands, despite)),
    )  # fmt: skip


def about(given: Mapping[str, str], drill: str) -> str:
    """What a sheet is of: the instant, the drill and the day."""
    of = catalogue()[drill].title if drill in catalogue() else ""
    day = date_text(read_past_day("day", given.get("on") or None))
    instant = instant_of(given)
    return ", ".join(filter(None, (instant[0].upper() + instant[1:], of, day)))


def tight(text: str) -> str:
    """A figure that breaks nowhere but before its margin."""
    return text.replace(" ± ", " ±\u00a0").replace(" cm", "\u00a0cm").replace(" %", "\u00a0%")


def rows_of(seen: Seen) -> list[Row]:
    """Measures and times, beside the target's where there is one."""
    held = {h.measure.name: h for h in seen.held}
    out = []
    for v in seen.measured.values:
        found = held.get(v.measure.name)
        if found is None:
            out.append(_alone(v))
        else:
            target, text, change, verdict = map(tight, figures_of(found))
            out.append(Row(v.measure.label, target, text, change, verdict, found.clear))
    return [*out, *(_alone(s) for s in seen.times)]


def _alone(found: Value | Span) -> Row:
    """What has no target."""
    text = tight(found.measure.with_margin(found.value, found.margin))
    return Row(found.measure.label, "", text, "", "", False)


def figures(seen: Seen) -> str:
    """Target and measured figure beside each other as SVG; empty without a target."""
    if seen.target is None:
        return ""
    gap = next(h for h in seen.held if h.measure.name == "knee_gap")
    aim, found, *_ = figures_of(gap)
    page = pair_page(
        of_target(seen.target, seen.measured, aim), of_measured("Measured", seen.measured, found)
    )
    return _drawn(page, "Target figure and measured figure beside each other, at one scale")


def _drawn(page: Page, said: str) -> str:
    return drawing(page, LETTERS, said)


def over(seen: Seen) -> list[dict[str, Any]]:
    """The target figure as lines over the picture; empty without a target."""
    if seen.target is None:
        return []
    t = seen.target
    return target_on(seen.frame, seen.who, seen.measured, t.positions, t.support)


def told(seen: Seen) -> str:
    """Scale, tilt and direction of the picture in words."""
    text = camera_text(seen.measured)
    return f"{text}; the {seen.measured.side} leg is down" if seen.measured.side else text


def marks_of(out: SetOut | None) -> list[str]:
    """The athlete's own marks of today's tape card, as the card reads them [m]; none lies in the sand."""
    if out is None or out.card is None:
        return []
    kinds = ("take-off", "contact", *(() if out.drill.ends == "sand" else ("landing",)))
    return [f"{n.reading:.2f}" for n in out.card.lines if n.kind in kinds]


def keep(book: Book, member: Member, seen: Seen, given: Mapping[str, str], drill: str) -> str:
    """Put a measured picture into the book; what was done, in words."""
    said = Said(
        given.get("on") or None, given.get("kind") or "training", drill, instant_of(given),
        given.get("note", "").strip(),
    )  # fmt: skip
    first: dict[str, tuple[float, float]] = {}
    for s in seen.times:
        first.setdefault(s.measure.name, (s.value, s.margin))
    sight = sight_of(book, member, seen.frame, seen.measured, said, first)
    number, new = keep_picture(book, sight)
    return f"Picture {number} is {'kept' if new else 'in the book already'}: {sight.instant}, {sight.day}."


class Told(NamedTuple):
    """One kept picture as a list has it."""

    number: int
    text: str
    short: str


def told_of(kept: Kept, named: bool = False) -> Told:
    """A kept picture in a line; `named` with the athlete."""
    of = catalogue()[kept.drill].title if kept.drill in catalogue() else kept.drill or ""
    where = ", ".join(filter(None, (kept.kind, of)))
    text = f"{kept.day}, {kept.instant}, {where}"
    return Told(kept.id, f"{kept.name}: {text}" if named else text, short_of(kept.measures))


def two_of(one: Kept, two: Kept, members: Mapping[int, Member]) -> tuple[str, tuple[Apart, ...]]:
    """Two kept pictures at one scale as SVG, and what differs."""
    if one.instant != two.instant:
        rule = f"both must show the same instant: {one.instant} and {two.instant} differ"
        raise refuse("pictures", rule)
    gap, drawn = MEASURE["knee_gap"], []
    for title, kept in (("First", one), ("Second", two)):
        found = again(kept, body_of(members[kept.athlete]))
        kept_gap = kept.measures.get(gap.name)
        drawn.append(of_measured(title, found, gap.with_margin(*kept_gap) if kept_gap else ""))
    said = "Two measured figures beside each other, at one scale"
    svg = _drawn(pair_page(*drawn), said)
    return svg, apart(list(SHOWN.values()), one.measures, two.measures)


def cautions(*athletes: Athlete) -> list[str]:
    """What to mind, for everybody who is seen."""
    today = datetime.date.today()
    return list(dict.fromkeys(in_short(a.standing(today)) for a in athletes))
