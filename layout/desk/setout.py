"""Set out: one athlete's drill as the coach wants it, with its drawing, tape card and figure."""

from __future__ import annotations

import contextlib
import datetime
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from animate.motion.chain import Settings
from layout.athlete.athlete import Athlete
from layout.book.own import Own
from layout.book.people import Member
from layout.book.sound import athlete_in
from layout.desk.wanted import Wanted
from layout.desk.where import CLUB
from layout.moving.clip import has_step_contact, step_contact
from layout.moving.poses import at_marks, key_poses
from layout.moving.positions import turned
from layout.moving.solved import at_hand, mark_of, with_motion
from layout.page.svg import letters_of
from layout.phone.drawing import NARROW, screen_drawing
from layout.plan.drill import GO_ON, Choices, Drill, catalogue, easier, find_drill
from layout.plan.spacing import make_plan
from layout.plan.tape import TapeCard, tape_card
from layout.plan.value import Plan
from layout.plan.venue import Venue
from layout.rules.cautions import in_short
from layout.rules.demand import Reason, reasons
from layout.rules.sources import said
from layout.rules.standing import Standing
from layout.sheet.handout import handout
from layout.sheet.texts import Words
from layout.words.faults import BadInput, Fault, refuse
from layout.words.feet import as_read

if TYPE_CHECKING:
    from animate.motion.motion import Motion
    from layout.page.page import Page

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
        return settings_of(self.asked)

    @property
    def day(self) -> datetime.date:
        """The day it is set out for."""
        assert self.plan is not None
        return datetime.date.fromisoformat(self.plan.date)

    def plan_of(self, asked: Wanted) -> Plan:
        """The plan without a figure of the same athlete, drill, place and day, for what is asked."""
        choices = choices_of(asked, self.drill, self.athlete)
        return planned(self.athlete, self.drill, self.venue, self.day, choices)

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


@lru_cache(maxsize=512)
def _athlete(text: str, name: str) -> Athlete:
    return athlete_in(text, name)


@lru_cache(maxsize=256)
def planned(
    athlete: Athlete, drill: Drill, venue: Venue, on: datetime.date, choices: Choices
) -> Plan:
    """The plan as it is without a figure: it is the same whether the figure was worked out or not."""
    return make_plan(athlete, drill, venue, on, choices)


@lru_cache(maxsize=16)
def _moved(plan: Plan, settings: Settings) -> tuple[Plan, Motion]:
    """The plan with what its motion tells, and that motion.

    Raises LookupError where none is at hand, so that one found later is looked for again.
    """
    motion = at_hand(plan, settings)
    if motion is None:
        raise LookupError
    return with_motion(plan, motion), motion


def choices_of(asked: Wanted, drill: Drill, athlete: Athlete) -> Choices:
    """What the coach changes of the drill; a decision to go on stands only where it is closed, and asks no
    more than when it was decided."""
    shut = _shut(asked, drill, athlete) and not outgrown(asked, drill)
    return Choices(
        strides=asked.strides, arc=asked.hops, board=asked.board, hurdle=asked.hurdle,
        despite=asked.despite if shut else None,
    )  # fmt: skip


def outgrown(asked: Wanted, drill: Drill) -> bool:
    """Whether more is asked now than when somebody decided to go on."""
    then, now = drill.demand(asked.decided), drill.demand(asked.strides)
    return asked.despite is not None and then.raised(now) != then


def settings_of(asked: Wanted) -> Settings:
    """The positions that the coach asks for; refused where they do not go together."""
    if asked.held is not None and asked.thigh is None:
        raise refuse("thigh-held", "goes with a height of the thigh", asked.held)
    angles = {"knee_bend": asked.lever, "thigh_high": asked.thigh, "trunk": asked.trunk}
    asked_angles: dict[str, Any] = {n: turned(n, v) for n, v in angles.items() if v is not None}
    return Settings(
        knee_gap=asked.gap, hold=asked.held,
        arms="together" if asked.arms == "together" else "alternate", **asked_angles,
    )  # fmt: skip


def _refuse_positions(asked: Wanted, plan: Plan) -> None:
    """Refuse positions at the step contact of a drill that has none."""
    names = {"gap": "knee-gap", "lever": "free-knee", "thigh": "free-thigh", "held": "thigh-held",
             "trunk": "trunk"}  # fmt: skip
    given = {name: getattr(asked, part) for part, name in names.items()}
    if not has_step_contact(plan):
        why = f"{plan.drill} has no step contact"
        faults = [f for n, v in given.items() if v is not None for f in refuse(n, why, v).faults]
        if faults:
            raise BadInput(faults)


def venue_of(slug: str, own: Own) -> Venue:
    """A place that is known here, by name; what names none is of the time when that was the catalogue's."""
    places, slug = own.all_venues(), slug or CLUB
    if slug not in places:
        raise refuse("venue", f"must be one of {', '.join(places)}", slug)
    return places[slug]


def on_desk(fault: Fault, drill: Drill, venue: Venue) -> Fault:
    """A fault in the desk's words: drills and places by their titles, and no option of the command line."""
    if fault.field == "venue" and fault.value == venue.slug:
        return replace(
            fault, field=venue.title, rule=fault.rule.replace(drill.slug, drill.title), value=None
        )
    rule = fault.rule.replace(f" {GO_ON}", "").removeprefix(f"{drill.slug} ")
    for other in catalogue().values():
        rule = rule.replace(f"open: {other.slug}.", f"open: {other.title}.")
    return replace(fault, field=drill.title if fault.field == "drill" else fault.field, rule=rule)


def _plan_at(
    venue: Venue, asked: Wanted, athlete: Athlete, drill: Drill, day: datetime.date
) -> Plan:
    """The plan at a venue without a figure; refused where it or a position asked for is not possible."""
    plan = planned(athlete, drill, venue, day, choices_of(asked, drill, athlete))
    _refuse_positions(asked, plan)
    settings_of(asked)
    return plan


def set_out(asked: Wanted, member: Member, today: datetime.date, own: Own | None = None) -> SetOut:
    """Set one drill out; with athlete, drill and venue known, what is not possible is told, not raised."""
    own = own or Own()
    athlete, drill = athlete_of(member, today), find_drill(asked.d, own.drills)
    venue = venue_of(asked.v, own)
    bare = (asked, athlete, drill, venue, tuple(own.all_venues().values()))
    try:
        plan, motion = _plan_at(venue, asked, athlete, drill, today), None
        with contextlib.suppress(LookupError):
            plan, motion = _moved(plan, settings_of(asked))
        card = tape_card(plan, asked.zero, asked.tape)
    except BadInput as error:
        return SetOut(
            *bare, None, None, None, tuple(on_desk(f, drill, venue) for f in error.faults)
        )
    return SetOut(*bare, plan, card, motion, ())


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


def closed(out: SetOut) -> bool:
    """Whether the drill is closed to this athlete as it is asked for, whoever goes on with it."""
    return bool(_shut(out.asked, out.drill, out.athlete))


def unknown(out: SetOut) -> bool:
    """Whether something of the athlete that opens drills was taken, not known."""
    return bool(_stands(out.athlete).assumed)


def _shut(asked: Wanted, drill: Drill, athlete: Athlete) -> tuple[Reason, ...]:
    return reasons(_stands(athlete), drill.demand(asked.strides), athlete.name)


def _stands(athlete: Athlete) -> Standing:
    return athlete.standing(athlete.read_on or datetime.date.today())


def instead(out: SetOut) -> Drill | None:
    """An open drill like one that is closed to this athlete; None where it is open or nothing is."""
    if not closed(out):
        return None
    return easier(_stands(out.athlete), out.drill, out.venue.has_pit)


def elsewhere(out: SetOut) -> list[Venue]:
    """Where a drill that is open but not possible here is possible as it is asked for."""
    found: list[Venue] = []
    if out.plan is not None or closed(out):
        return found
    day = out.athlete.read_on or datetime.date.today()
    for place in out.places:
        with contextlib.suppress(BadInput):
            plan = _plan_at(place, out.asked, out.athlete, out.drill, day)
            tape_card(plan, out.asked.zero, out.asked.tape)
            found.append(place)
    return found


def cared(out: SetOut) -> str:
    """The cautions in a line or two, for where the eye is."""
    assert out.plan is not None
    return in_short(out.plan.who.standing)


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


def for_phone(out: SetOut, key: str = "", home: bool = False) -> str:
    """The phone page, as phasemark handout makes it; with its key in the book its runs name nobody."""
    from layout.phone.phone import phone
    from layout.phone.runs import Sent

    assert out.plan is not None
    assert out.card is not None
    poses = () if out.motion is None else key_poses(out.plan, out.motion)
    return phone(
        out.plan,
        out.card,
        sheet(out),
        poses,
        out.motion,
        _reading(out.motion),
        Sent(None, key, home),
    )
