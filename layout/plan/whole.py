"""Whether a plan hangs together."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any, Final

from layout.faults import BadInput, Fault
from layout.plan.value import Plan
from layout.plan.words import ARC_WORDS, LEGS, LEVELS, MOVES, SLUG

LONGEST_TEXT: Final = 500
FARTHEST: Final = 200.0
"""From the first contact [m]."""


def check_plan(plan: Plan) -> None:
    """Raise where a plan does not hang together: one may come from a file that was edited.

    Raises
    ------
    BadInput
        All faults at once.
    """
    faults: list[Fault] = []

    def wrong(field: str, rule: str, value: Any) -> None:
        faults.append(Fault(field, rule, value))

    for text in _texts(plan):
        if not text.isprintable() or len(text) > LONGEST_TEXT:
            wrong("plan", f"one-line texts of at most {LONGEST_TEXT} characters wanted", text)
    if not plan.who.name.strip() or not plan.title.strip():
        wrong("who.name", "a name and a title wanted", plan.who.name)
    if not plan.drill or any(c not in SLUG for c in plan.drill):
        wrong("drill", "small letters, digits and hyphens wanted", plan.drill)
    spots = [plan.place.start_x, plan.place.end_x, plan.place.pit_x or 0.0]
    if any(abs(x) > FARTHEST for x in (*spots, *(c.x for c in plan.contacts))):
        wrong("place", f"everything within {FARTHEST:g} m wanted", max(spots, key=abs))
    if plan.contacts and abs(plan.total - (plan.contacts[-1].x - plan.contacts[0].x)) > 0.001:
        wrong("total", "the distance from the first contact to the last wanted", plan.total)
    count = len(plan.contacts)
    if not 2 <= count <= 40 or len(plan.flights) != count - 1:
        wrong("flights", "one fewer than the contacts wanted", f"{len(plan.flights)} and {count}")
    for i, contact in enumerate(plan.contacts):
        if contact.number != i or contact.foot not in ("left", "right", "both"):
            wrong(f"contacts[{i}]", "its number, and foot left, right or both wanted", contact.foot)
        if contact.surface not in ("track", "sand"):
            wrong(f"contacts[{i}].surface", "track or sand wanted", contact.surface)
        leave = "end" if i == count - 1 else plan.flights[i].move if i < len(plan.flights) else ""
        first = contact.arrive in ("run", "stand")
        if contact.leave != leave or (i == 0) != first:
            wrong(
                f"contacts[{i}]",
                "moves do not fit the flights",
                f"{contact.arrive} {contact.leave}",
            )
        if i and not contact.x > plan.contacts[i - 1].x:
            wrong(f"contacts[{i}].x", "beyond the contact before wanted", contact.x)
    for i, flight in enumerate(plan.flights):
        if flight.number != i or flight.move not in MOVES or flight.arc not in ARC_WORDS:
            wrong(f"flights[{i}]", "its number, a known move and arc wanted", flight.move)
        if not 0.0 < flight.time < 3.0 or not 0.0 < flight.vx < 15.0:
            wrong(f"flights[{i}]", "a time and a speed above 0 wanted", flight.time)
    for i, hurdle in enumerate(plan.hurdles):
        if not 0 <= hurdle.flight < len(plan.flights) or not 0.0 < hurdle.height <= 1.2:
            wrong(f"hurdles[{i}]", "a flight of this plan and a height wanted", hurdle.flight)
    who = plan.who
    if not (1.1 <= who.stature <= 2.3 and 18.0 <= who.mass <= 180.0) or who.leg not in LEGS:
        wrong(
            "who", "a stature, mass and leg within range wanted", f"{who.stature} m {who.mass} kg"
        )
    if who.build not in ("male", "female", "average") or who.level not in LEVELS:
        wrong("who", "a known build and level wanted", f"{who.build} {who.level}")
    place = plan.place
    if not 0.5 <= place.width <= 12.0 or place.pit_width < 0 or place.pit_length < 0:
        wrong("place", "a width wanted", place.width)
    if plan.ends == "sand" and place.pit_x is None:
        wrong("place.pit_x", "a plan that ends in sand wants a pit", None)
    if plan.gaps and len(plan.gaps) != len(plan.flights):
        wrong("gaps", "one for each flight wanted", len(plan.gaps))
    if faults:
        raise BadInput(faults)


def _texts(value: Any) -> Iterator[str]:
    """Every text inside a value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _texts(getattr(value, field.name))
