"""Whether a plan hangs together."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from layout.plan.ranges import apart, day_fault, out_of_range
from layout.plan.value import Plan
from layout.words.faults import BadInput, Fault
from layout.words.trade import SLUG


def check_plan(plan: Plan) -> None:
    """Raise where a plan does not hang together: one may come from a file that was edited."""
    faults: list[Fault] = []

    def wrong(field: str, rule: str, value: Any) -> None:
        faults.append(Fault(field, rule, value))

    for each in (*out_of_range(plan), *day_fault(plan)):
        wrong(*each)
    if not plan.who.name.strip() or not plan.title.strip():
        wrong("who.name", "a name and a title needed", plan.who.name)
    if not plan.drill or any(c not in SLUG for c in plan.drill):
        wrong("drill", "small letters, digits and hyphens needed", plan.drill)
    if plan.contacts and abs(plan.total - (plan.contacts[-1].x - plan.contacts[0].x)) > 0.001:
        wrong("total", "the distance from the first contact to the last needed", plan.total)
    count = len(plan.contacts)
    if not 2 <= count <= 40 or len(plan.flights) != count - 1:
        wrong("flights", "one fewer than the contacts needed", f"{len(plan.flights)} and {count}")
    for each in _out_of_order(plan):
        wrong(*each)
    for i, flight in enumerate(plan.flights):
        if flight.number != i:
            wrong(f"flights[{i}].number", f"{i} needed", flight.number)
        if not flight.vx > 0.0:
            wrong(f"flights[{i}].vx", "must be a speed above 0", flight.vx)
    for i, hurdle in enumerate(plan.hurdles):
        if not 0 <= hurdle.flight < len(plan.flights):
            wrong(f"hurdles[{i}].flight", "must be a flight of this plan", hurdle.flight)
    sand = any(c.surface == "sand" for c in plan.contacts[:-1])
    if plan.contacts and (sand or (plan.contacts[-1].surface == "sand") != (plan.ends == "sand")):
        wrong("ends", "sand under the last contact, and only there, or track needed", plan.ends)
    place = plan.place
    if not place.start_x < place.end_x:
        wrong("place.end_x", "beyond the runway's start needed", place.end_x)
    if plan.ends == "sand" and place.pit_x is None:
        wrong("place.pit_x", "a plan that ends in sand wants a pit", None)
    if plan.gaps and len(plan.gaps) != len(plan.flights):
        wrong("gaps", "one for each flight needed", len(plan.gaps))
    if len(plan.shares) != len(plan.flights) or any(not 0.0 < s < 1.0 for s in plan.shares):
        wrong("shares", "must be one from 0 to 1 for each flight", plan.shares)
    if not faults:
        for each in apart(plan):
            wrong(*each)
    if faults:
        raise BadInput(faults)


def _out_of_order(plan: Plan) -> Iterator[tuple[str, str, Any]]:
    """Contacts that do not follow each other as the flights say."""
    count = len(plan.contacts)
    for i, contact in enumerate(plan.contacts):
        if contact.number != i:
            yield (f"contacts[{i}].number", f"{i} needed", contact.number)
        leave = "end" if i == count - 1 else plan.flights[i].phase if i < len(plan.flights) else ""
        before = plan.flights[i - 1].phase if 0 < i <= len(plan.flights) else ""
        fits = contact.arrive == before if i else contact.arrive in ("run", "stand")
        if contact.leave != leave or not fits:
            yield (
                f"contacts[{i}]",
                "moves do not fit the flights",
                f"{contact.arrive} {contact.leave}",
            )
        if i and not contact.x > plan.contacts[i - 1].x:
            yield (f"contacts[{i}].x", "beyond the contact before needed", contact.x)
