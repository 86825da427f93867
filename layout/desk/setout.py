"""Set out: one athlete's drill as the coach wants it, with its drawing, tape card and figure."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from animate.motion.chain import Settings
from layout.athlete.athlete import Athlete
from layout.book.own import Own
from layout.book.people import Member
from layout.book.sound import athlete_in
from layout.desk.wanted import Wanted
from layout.moving.both import with_both
from layout.moving.clearing import cleared
from layout.moving.clip import has_step_contact, step_contact
from layout.moving.poses import at_marks, key_poses
from layout.moving.solved import at_hand, mark_of
from layout.page.svg import letters_of
from layout.phone.drawing import NARROW, screen_drawing
from layout.plan.drill import GO_ON, HURDLE_HEIGHTS, Choices, Drill, catalogue, easier, find_drill
from layout.plan.spacing import make_plan
from layout.plan.tape import TapeCard, tape_card
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.rules.demand import Reason, reasons
from layout.rules.sources import said
from layout.sheet.handout import handout
from layout.sheet.texts import Words
from layout.words.faults import BadInput, Fault, refuse
from layout.words.feet import as_read
from layout.words.trade import ARC_WORDS
from layout.words.units import show_length

if TYPE_CHECKING:
    from animate.motion.motion import Motion
    from layout.page.page import Page

KNEE_GAPS: Final = (0.2, 0.3, 0.4, 0.5)
"""Knee gaps offered at the step contact [m] (ours)."""
UNSEEN: Final = (
    "Hurdles are not held against the feet yet: they may move once the figure is worked out."
)
ROOM: Final = 150.0
"""Width of a drawing for a laptop [mm] (ours): its letters are then 13 px or more beside sliders and card."""
LETTERS: Final = letters_of(None)
"""A page of the desk is shown in the machine's own letters."""


@dataclass(frozen=True, eq=False)
class SetOut:
    """One drill set out: `asked`, who for, where of all `places`, and what came of it.

    `plan` and `card` are None where it is not possible, `why` says why not; `motion` is None where it was
    not worked out yet.
    """

    asked: Wanted
    athlete: Athlete
    drill: Drill
    venue: Venue
    places: tuple[Venue, ...]
    plan: Plan | None
    card: TapeCard | None
    motion: Motion | None
    why: tuple[Fault, ...]

    @property
    def settings(self) -> Settings:
        """The positions the coach asks for."""
        return Settings(knee_gap=self.asked.gap)

    @property
    def key(self) -> str:
        """The name of the figure: the same for the same contacts, body and positions."""
        assert self.plan is not None
        return mark_of(self.plan, self.settings)


def athlete_of(member: Member, today: datetime.date) -> Athlete:
    """The athlete as the book keeps them, counted from today."""
    if member.file is None:
        raise refuse("athlete", "only the name is known; Club takes in height, mass and leg")
    return replace(_athlete(member.file, member.name), read_on=today).on_day(today)


@lru_cache(maxsize=128)
def _athlete(text: str, name: str) -> Athlete:
    return athlete_in(text, name)


@lru_cache(maxsize=64)
def planned(
    athlete: Athlete, drill: Drill, venue: Venue, on: datetime.date, choices: Choices
) -> Plan:
    """The plan as it is without a figure: it is the same whether the figure was worked out or not."""
    return make_plan(athlete, drill, venue, on, choices)


@lru_cache(maxsize=16)
def _moved(plan: Plan, gap: float | None) -> tuple[Plan, Motion]:
    """The plan with what its motion tells, and that motion.

    Raises LookupError where none is at hand, so that one found later is looked for again.
    """
    motion = at_hand(plan, Settings(knee_gap=gap))
    if motion is None:
        raise LookupError
    return with_both(cleared(plan, motion), motion), motion


def choices_of(asked: Wanted) -> Choices:
    """What the coach changes of the drill."""
    return Choices(strides=asked.strides, arc=asked.hops, board=asked.board, hurdle=asked.hurdle)


def set_out(asked: Wanted, member: Member, today: datetime.date, own: Own | None = None) -> SetOut:
    """Set one drill out; with athlete, drill and venue known, what is not possible is told, not raised."""
    own = own or Own()
    athlete, drill = athlete_of(member, today), find_drill(asked.d, own.drills)
    places = own.all_venues()
    if asked.v not in places:
        raise refuse("venue", f"must be one of {', '.join(places)}", asked.v)
    venue = places[asked.v]
    bare = (asked, athlete, drill, venue, tuple(places.values()))
    try:
        plan = planned(athlete, drill, venue, today, choices_of(asked))
        if asked.gap is not None and not has_step_contact(plan):
            raise refuse("knee-gap", f"{drill.slug} has no step contact", asked.gap)
        motion = None
        with contextlib.suppress(LookupError):
            plan, motion = _moved(plan, asked.gap)
        card = tape_card(plan, asked.zero, asked.tape)
    except BadInput as error:
        # What the command line can go on with, the desk cannot.
        why = tuple(replace(f, rule=f.rule.replace(f" {GO_ON}", "")) for f in error.faults)
        return SetOut(*bare, None, None, None, why)
    return SetOut(*bare, plan, card, motion, ())


class Choice(NamedTuple):
    """One thing to choose: what the address says, what is read, and whether it is chosen."""

    value: str
    text: str
    chosen: bool


class Controls(NamedTuple):
    """What a coach may change here; empty where the drill has no place for it."""

    strides: tuple[int, int, int] | None  # least, most, now
    hops: list[Choice]
    gaps: list[Choice]
    zeros: list[Choice]
    tapes: list[Choice]
    boards: list[Choice]
    hurdles: list[Choice]
    venues: list[Choice]


def _strides(out: SetOut) -> tuple[int, int, int] | None:
    """Strides: least, most, and as they are now; None from standing."""
    if out.drill.start != "run":
        return None
    most = out.athlete.strides
    usual = most if out.drill.full else min(out.drill.strides, most)
    now = out.plan.approach.strides if out.plan is not None else out.asked.strides or usual
    return 1, most, min(max(now, 1), most)


def _choices(rows: Iterable[tuple[Any, str]], now: Any) -> list[Choice]:
    """Choices of values and their texts; nothing is what the drill or the body has."""
    said = {float: "{:g}".format, type(None): lambda _: ""}
    return [Choice(said.get(type(v), str)(v), text, v == now) for v, text in rows]


def controls(out: SetOut) -> Controls:
    """What may be changed, by what this drill, venue and athlete have."""
    asked, drill, venue, feet = out.asked, out.drill, out.venue, out.asked.tape == "ft"
    step = has_step_contact(out.plan) if out.plan is not None else "step" in drill.moves
    run = drill.start == "run"
    zeros = [("board", "take-off line" if run else "start line")]
    zeros += [("start", "start mark")] if run else []
    zeros += [("pit", "pit")] if venue.has_pit else []

    def cm(metres: float) -> str:
        return as_read(f"{100 * metres:.0f} cm", asked.tape)

    def rows(usual: str, values: Iterable[float], text: Callable[[float], str]) -> list[Any]:
        return [(None, usual), *((v, text(v)) for v in values)]

    hops = [(None, "as the drill"), *((word, word) for word in ARC_WORDS)]
    boards = rows(
        "as it fits", venue.boards, lambda b: show_length(b, "ft") if feet else f"{b:g} m"
    )
    hurdles = rows("as the drill", (h / 100 for h in HURDLE_HEIGHTS), cm)
    return Controls(
        _strides(out),
        _choices(hops if "hop" in drill.moves else (), asked.hops),
        _choices(rows("as it comes", KNEE_GAPS, cm) if step else (), asked.gap),
        _choices(zeros, asked.zero),
        _choices((("cm", "metres"), ("ft", "feet and inches")), asked.tape),
        _choices(boards if drill.ends == "sand" and venue.boards else (), asked.board),
        _choices(hurdles if drill.hurdle else (), asked.hurdle),
        _choices(((v.slug, v.title) for v in out.places), asked.v),
    )


class OpenDrill(NamedTuple):
    """A drill of the catalogue as it stands to one athlete."""

    drill: Drill
    closed: tuple[Reason, ...]
    meta: str


def drills_for(
    athlete: Athlete, today: datetime.date, own: Own | None = None
) -> tuple[list[OpenDrill], list[OpenDrill]]:
    """Drills that are open to an athlete, the club's own first, and those that are closed, with reasons."""
    stands, told = athlete.standing(today), []
    yours = own.drills if own else {}
    for drill in {**yours, **catalogue()}.values():
        run = "full approach" if drill.full else f"{min(drill.strides, athlete.strides)} strides"
        meta = ", ".join((
            run if drill.start == "run" else "from standing",
            "into sand" if drill.ends == "sand" else "on the track",
            drill.intensity,
            *(["the club's own"] if drill.slug in yours else []),
        ))  # fmt: skip
        told.append(OpenDrill(drill, reasons(stands, drill.demand(), athlete.name), meta))
    return [t for t in told if not t.closed], [t for t in told if t.closed]


def instead(out: SetOut) -> Drill | None:
    """An open drill like one that is closed to this athlete; None where it is open or nothing is."""
    stands = out.athlete.standing(out.athlete.read_on or datetime.date.today())
    if not reasons(stands, out.drill.demand(out.asked.strides), out.athlete.name):
        return None
    return easier(stands, out.drill, out.venue.has_pit)


def runway(out: SetOut, narrow: bool) -> tuple[str, tuple[str, ...]]:
    """The drawing for a narrow or a wide screen as SVG, and what is said under it."""
    assert out.plan is not None
    assert out.card is not None
    return _runway(out.plan, out.card, out.motion, narrow)


@lru_cache(maxsize=32)
def _runway(
    plan: Plan, card: TapeCard, motion: Motion | None, narrow: bool
) -> tuple[str, tuple[str, ...]]:
    figures = () if motion is None else at_marks(plan, motion)
    return screen_drawing(plan, card, LETTERS, figures, NARROW if narrow else ROOM)


def words(out: SetOut) -> Words:
    """What is said of the plan, as on the sheet."""
    assert out.plan is not None
    assert out.card is not None
    return Words(out.plan, out.card, _reading(out.motion))


def _reading(motion: Motion | None) -> dict[str, str] | None:
    if motion is None:
        return None
    try:
        return dict(step_contact(motion).reading.shown())
    except BadInput:
        return None


def warnings(out: SetOut) -> list[tuple[str, str]]:
    """Grave notes, each with where its rule is from."""
    assert out.plan is not None
    told = [(as_read(n.text, out.asked.tape), said(n.source)) for n in out.plan.warnings]
    unseen = out.plan.hurdles and out.motion is None
    return [*told, *([(UNSEEN, said("ours"))] if unseen else [])]


def sheet(out: SetOut) -> tuple[Page, ...]:
    """The handout, as phasemark handout makes it."""
    assert out.plan is not None
    assert out.card is not None
    plan, motion = out.plan, out.motion
    if motion is None:
        return handout(plan, out.card)
    marks = at_marks(plan, motion)
    return handout(plan, out.card, key_poses(plan, motion), _reading(motion), None, marks)


def for_phone(out: SetOut) -> str:
    """The phone page, as phasemark handout makes it."""
    from layout.phone.phone import phone

    assert out.plan is not None
    assert out.card is not None
    poses = () if out.motion is None else key_poses(out.plan, out.motion)
    return phone(out.plan, out.card, sheet(out), poses, out.motion, _reading(out.motion))
