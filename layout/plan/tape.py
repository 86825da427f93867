"""The tape card: what a coach reads aloud to set the runway out with one tape from one zero."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from layout.plan.hurdles import flight_text
from layout.plan.value import Contact, Hurdle, Plan
from layout.words.faults import refuse
from layout.words.feet import as_read
from layout.words.units import System, show_length, tape

Zero = Literal["board", "start", "pit"]
ZEROS: Final = ("board", "start", "pit")
READ_FROM: Final = {
    "each": "each phase by itself", "board": "from the take-off line", "start": "from the start mark",
    "pit": "from the pit",
}  # fmt: skip
"""Where a tape may be read from once somebody has jumped."""


@dataclass(frozen=True)
class Line:
    """One thing to put down or to know of; x is from the first contact [m].

    `kind` is start, check, take-off, contact, landing, hurdle or pit. `reading` is rounded [m] and `shown`
    as printed; `side` says which way from the zero when the tape runs both ways; `gap` is from the line
    before, empty for the first; `foot` is left, right, both or empty.
    """

    kind: str
    x: float
    reading: float
    shown: str
    side: str
    gap: str
    foot: str
    what: str


@dataclass(frozen=True)
class TapeCard:
    """A whole card, in the order of a walk up the runway; `zero_text` says where to hold the tape's zero."""

    zero: str
    zero_text: str
    system: System
    lines: tuple[Line, ...]

    def spoken(self) -> tuple[str, ...]:
        """One sentence per line, enough to set out without the drawing."""
        lines = (f"{n.shown} {n.side}".rstrip() + f": {n.what}." for n in self.lines)
        return (f"Zero: {self.zero_text}.", *lines)


def _foot(contact: Contact) -> str:
    return "both feet" if contact.foot == "both" else f"{contact.foot.upper()} foot"


def _contact_text(plan: Plan, contact: Contact) -> tuple[str, str]:
    if contact.number == 0:
        kind = "take-off"
        base = f"take-off line, {_foot(contact)}, toe on it"
        if contact.arrive == "stand":
            base = "start line, toes of both feet"
    elif contact.leave == "end":
        kind = "landing"
        land = "land" if contact.foot == "both" else "lands"
        where = f"with the toe here and {'holds' if plan.finish == 'hold' else 'runs on'}"
        if contact.surface == "sand":
            where = "in the sand, nearest break here"
        return kind, f"{_foot(contact)} {land} {where}"
    else:
        kind = "contact"
        base = f"{_foot(contact)} lands with the toe here"
    return kind, f"{base}, then {flight_text(plan, contact.number)}"


def _hurdle_text(h: Hurdle, system: System) -> str:
    tall = as_read(f"{100 * h.height:.0f} cm {h.thing}", system)
    if h.place == "over":
        return f"{tall} across the line"
    side = "left" if h.y0 > 0 else "right"
    off = as_read(f"{100 * min(abs(h.y0), abs(h.y1)):.0f} cm", system)
    return f"{tall} beside the line, {side} side, {off} off the middle"


def _things(plan: Plan, system: System) -> list[tuple[float, str, str, str]]:
    out = []
    for to_go, back in plan.approach.marks:
        start = to_go == plan.approach.strides
        text = f"start mark, {to_go} strides" if start else f"check mark, {to_go} strides to go"
        out.append((-back, "start" if start else "check", "", text))
    for contact in plan.contacts:
        kind, text = _contact_text(plan, contact)
        out.append((contact.x, kind, contact.foot, text))
    out += [(h.x, "hurdle", "", _hurdle_text(h, system)) for h in plan.hurdles]
    if plan.ends == "sand" and plan.place.pit_x is not None:
        out.append((plan.place.pit_x, "pit", "", "near edge of the pit"))
    return sorted(out, key=lambda row: row[0])


def _zero(plan: Plan, zero: str, system: System) -> tuple[float, str]:
    stand = plan.contacts[0].arrive == "stand"
    if zero == "board":
        if stand:
            return 0.0, "start line, toes of both feet"
        if plan.place.board is not None:
            return 0.0, as_read(f"take-off line, {plan.place.board:g} m from the pit", system)
        if plan.ends == "sand" and plan.place.pit_x is not None:
            back = show_length(plan.place.pit_x, system)
            return 0.0, f"take-off line, to be marked {back} from the pit"
        return 0.0, "take-off line, wherever the drill is to begin"
    if zero == "start":
        if not plan.approach.marks:
            raise refuse("zero", "this drill has no approach, so no start mark; board needed", zero)
        return -plan.approach.length, "start mark of the approach"
    if zero == "pit":
        if plan.place.pit_x is None:
            raise refuse("zero", "this venue has no pit; board or start needed", zero)
        return plan.place.pit_x, "near edge of the pit"
    raise refuse("zero", f"must be one of {', '.join(ZEROS)}", zero)


def read_from(plan: Plan) -> list[tuple[str, str]]:
    """Where a run of this plan may be read from, and how it is said."""
    there = {"pit": plan.place.pit_x is not None, "start": bool(plan.approach.marks)}
    line = "from the start line" if plan.contacts[0].arrive == "stand" else READ_FROM["board"]
    said = {**READ_FROM, "board": line}
    return [(zero, text) for zero, text in said.items() if there.get(zero, True)]


def planned_reading(plan: Plan, number: int, zero: str) -> float:
    """What a tape of `READ_FROM` reads where a flight of the plan ends [m], never below nought."""
    x = plan.contacts[number + 1].x
    if zero == "each":
        return plan.flights[number].length
    return abs(x - {"pit": plan.place.pit_x or 0.0, "start": -plan.approach.length}.get(zero, 0.0))


def tape_card(
    plan: Plan, zero: str = "board", system: System = "cm", step: float | None = None
) -> TapeCard:
    """Make the tape card of a plan.

    reading = x - x of the zero, from the pit the other way round, each rounded once from the exact
    distance (`layout.words.units.tape`); gaps are differences of the rounded readings, so they add up.
    `step`: readings to this [m], else one centimetre or a quarter inch. Refused for a zero that this plan
    does not have.

    >>> from datetime import date
    >>> from importlib.resources import files
    >>> from layout import find_drill, find_venue, make_plan, read_athlete
    >>> tevin = read_athlete(files("layout.catalogue.club") / "tevin.toml")
    >>> plan = make_plan(tevin, find_drill("hop-step-sand"), find_venue("club"), date(2026, 11, 25))
    >>> [line.shown for line in tape_card(plan, "pit").lines]
    ['2.21 m', '0.00 m', '0.85 m', '4.11 m', '9.67 m']
    >>> tape_card(plan).spoken()[2]
    '0.00 m: take-off line, RIGHT foot, toe on it, then hop.'
    """
    at, text = _zero(plan, zero, system)
    things = _things(plan, system)
    # A tape pulled back from the pit reads upward toward the runway; sand lies behind its zero.
    way = -1.0 if zero == "pit" else 1.0
    if zero == "pit":
        things.reverse()
    made = tape([way * (x - at) for x, *_ in things], system, step)
    both_ways = min(made.readings) < 0 < max(made.readings)
    lines = []
    for i, ((x, kind, foot, what), reading) in enumerate(zip(things, made.readings, strict=True)):
        side = ""
        if both_ways and zero == "pit":
            side = "into the sand" if reading < 0 else "back up the runway" if reading > 0 else ""
        elif both_ways:
            side = "back" if reading < 0 else "forward" if reading > 0 else ""
        shown = show_length(abs(reading), system)
        gap = show_length(abs(made.gaps[i - 1]), system) if i else ""
        lines.append(Line(kind, x, reading, shown, side, gap, foot, what))
    return TapeCard(zero, text, system, tuple(lines))
