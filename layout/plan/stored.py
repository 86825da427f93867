"""A plan as JSON, and back, checked."""

from __future__ import annotations

import dataclasses
import datetime
import json
import types
import typing
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Final, get_type_hints

from layout.plan.ranges import Wrong, apart, out_of_range
from layout.plan.value import PLAN_VERSION, Plan
from layout.rules.demand import Demand, closed_to, demand_of
from layout.words.faults import BadInput, Fault
from layout.words.trade import SLUG_RULE, is_slug

NEAR: Final = 0.05
REACH: Final = 3.0
MOST_POINTS: Final = 400
"""How far from its hurdle a clearance's lowest point and underside may lie [m], and how many points."""


def to_json(plan: Plan) -> str:
    """A plan as JSON text, every float whole."""
    return json.dumps(dataclasses.asdict(plan), ensure_ascii=False, indent=1) + "\n"


@lru_cache(maxsize=64)
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def _build(kind: Any, value: Any, where: str) -> Any:
    origin, args = typing.get_origin(kind), typing.get_args(kind)
    if dataclasses.is_dataclass(kind):
        if not isinstance(value, dict):
            raise BadInput([Fault(where, "must be a table", value)])
        hints = _hints(kind)  # type: ignore[arg-type]
        missing, more = set(hints) - set(value), set(value) - set(hints)
        if missing or more:
            which = ", ".join(sorted(missing or more))
            raise BadInput([Fault(where, "is missing" if missing else "is not known", which)])
        return kind(**{k: _build(h, value[k], f"{where}.{k}") for k, h in hints.items()})  # type: ignore[operator]
    if origin is types.UnionType:
        inner = next(a for a in args if a is not type(None))
        return None if value is None else _build(inner, value, where)
    if origin is tuple:
        if not isinstance(value, list):
            raise BadInput([Fault(where, "must be a list", value)])
        kinds = [args[0]] * len(value) if len(args) == 2 and args[1] is Ellipsis else list(args)
        if len(kinds) != len(value):
            raise BadInput([Fault(where, f"{len(kinds)} values needed", value)])
        pairs = zip(kinds, value, strict=True)
        return tuple(_build(k, v, f"{where}[{i}]") for i, (k, v) in enumerate(pairs))
    if kind is float and type(value) in (int, float) and abs(value) < 1e9:
        return float(value)
    if kind in (str, int, bool) and type(value) is kind:
        return value
    raise BadInput([Fault(where, f"must be {kind.__name__}", value)])


def _apart(plan: Plan) -> Iterator[Wrong]:
    """What does not hang together: a plan may come from a file that was edited."""
    try:
        datetime.date.fromisoformat(plan.date)
    except ValueError:
        yield "date", "must be a date such as 2026-11-25", plan.date
    if not plan.who.name.strip() or not plan.title.strip():
        yield "who.name", "a name and a title needed", plan.who.name
    if not is_slug(plan.drill):
        yield "drill", SLUG_RULE, plan.drill
    if plan.contacts and abs(plan.total - (plan.contacts[-1].x - plan.contacts[0].x)) > 0.001:
        yield "total", "the distance from the first contact to the last needed", plan.total
    count = len(plan.contacts)
    if not 2 <= count <= 40 or len(plan.flights) != count - 1:
        yield "flights", "one fewer than the contacts needed", f"{len(plan.flights)} and {count}"
        return  # all below would only say so again
    yield from _out_of_order(plan)
    for i, flight in enumerate(plan.flights):
        if flight.number != i:
            yield f"flights[{i}].number", f"{i} needed", flight.number
        if not flight.vx > 0.0:
            yield f"flights[{i}].vx", "must be a speed above 0", flight.vx
    for i, hurdle in enumerate(plan.hurdles):
        if not 0 <= hurdle.flight < len(plan.flights):
            yield f"hurdles[{i}].flight", "must be a flight of this plan", hurdle.flight
    sand = any(c.surface == "sand" for c in plan.contacts[:-1])
    if sand or (plan.contacts[-1].surface == "sand") != (plan.ends == "sand"):
        yield "ends", "sand under the last contact, and only there, or track needed", plan.ends
    place = plan.place
    if not place.start_x < place.end_x:
        yield "place.end_x", "beyond the runway's start needed", place.end_x
    if plan.ends == "sand" and place.pit_x is None:
        yield "place.pit_x", "a plan that ends in sand needs a pit", None
    if plan.gaps and len(plan.gaps) != len(plan.flights):
        yield "gaps", "one for each flight needed", len(plan.gaps)
    if len(plan.shares) != len(plan.flights) or any(not 0.0 < s < 1.0 for s in plan.shares):
        yield "shares", "must be one from 0 to 1 for each flight", plan.shares


def _out_of_order(plan: Plan) -> Iterator[Wrong]:
    """Contacts that do not follow each other as the flights say."""
    leaves = [*(f.phase for f in plan.flights), "end"]
    for i, contact in enumerate(plan.contacts):
        if contact.number != i:
            yield f"contacts[{i}].number", f"{i} needed", contact.number
        fits = contact.arrive == leaves[i - 1] if i else contact.arrive in ("run", "stand")
        if contact.leave != leaves[i] or not fits:
            said = f"{contact.arrive} {contact.leave}"
            yield f"contacts[{i}]", "phases do not fit the flights", said
        if i and not contact.x > plan.contacts[i - 1].x:
            yield f"contacts[{i}].x", "beyond the contact before needed", contact.x


def _check_clearings(plan: Plan) -> None:
    """Refuse a clearance that does not belong to its hurdle: the height or place was edited."""
    for i, hurdle in enumerate(plan.hurdles):
        found, where = hurdle.clearing, f"hurdles[{i}].clearing"
        if found is None:
            continue
        if abs(found.z - hurdle.height - found.gap) > 0.001 or abs(found.x - hurdle.x) > NEAR:
            rule = "does not belong to this hurdle's height and place; plan it again"
            raise BadInput([Fault(where, rule, found.gap)])
        far = [x for x, z in found.under if abs(x - hurdle.x) > REACH or not -1.0 <= z <= 4.0]
        if len(found.under) > MOST_POINTS or far:
            raise BadInput([Fault(f"{where}.under", f"at most {MOST_POINTS} points near it", far)])


def from_json(text: str) -> Plan:
    """Read a plan back from JSON text."""
    try:
        table = json.loads(text)
    except (ValueError, RecursionError) as error:
        line = getattr(error, "lineno", 0)
        raise BadInput([Fault("plan", "not valid JSON", None, line=line)]) from None
    version = table.get("version") if isinstance(table, dict) else None
    if type(version) is not int or version != PLAN_VERSION:
        rule = f"must be a plan of version {PLAN_VERSION}; plan it again"
        raise BadInput([Fault("version", rule, version)])
    plan: Plan = _build(Plan, table, "plan")
    wrong = [*out_of_range(plan), *_apart(plan)] or [*apart(plan)]
    if wrong:
        raise BadInput(Fault(*each) for each in wrong)
    _check_clearings(plan)
    return plan


def still_open(plan: Plan) -> None:
    """Refuse a plan that its athlete may not have and nobody decided to go on with."""
    over = any(h.place == "over" for h in plan.hurdles)
    moves = [f.phase for f in plan.flights]
    run = demand_of(moves, plan.approach.strides, plan.ends == "track", over)
    asked = Demand(0, plan.level, plan.intensity).raised(run)
    why = closed_to(plan.who.standing, asked, plan.who.name)
    if why is not None and not plan.despite:
        rule = f"is closed to {plan.who.name}. {why.text} Plan it again"
        raise BadInput([Fault("plan", rule)])
