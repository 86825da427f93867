"""What each figure, word and text of a plan may be: a plan may come from a file that was edited.

The bounds are ours: wide of anything a planner makes, narrow enough that all of it can be drawn,
moved and printed.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any, Final

from layout.plan.value import thrown
from layout.rules.standing import AGES
from layout.words.faults import is_line
from layout.words.trade import ARC_WORDS, LEGS, LEVELS, MOVES

FARTHEST: Final = 200.0
"""From the first contact [m]."""
NEAR: Final = 0.002
"""How far figures that belong together may be apart: rounding [m, m/s]."""
_X: Final = (-FARTHEST, FARTHEST)
_SPEED: Final = (0.0, 15.0)
_UP: Final = (-10.0, 5.0)
_HIGH: Final = (-0.5, 3.5)
SAVED: Final[dict[str, tuple[float, float]]] = {
    "Contact.x": _X, "Contact.y": (-6.0, 6.0),
    "Contact.vx_in": _SPEED, "Contact.vx": _SPEED, "Contact.vy_in": _UP, "Contact.vy": _UP,
    "Contact.landing": (-1.0, 2.0), "Contact.ahead": (-1.0, 2.0),
    "Contact.height_in": _HIGH, "Contact.height": _HIGH, "Contact.time": (0.02, 3.0),
    "Contact.vertical": (0.0, 20.0), "Contact.braking": (-10.0, 10.0),
    "Flight.length": (0.05, 20.0), "Flight.time": (0.02, 3.0), "Flight.vx": _SPEED,
    "Flight.vy": _UP, "Flight.vy_end": _UP, "Flight.start_x": _X, "Flight.end_x": _X,
    "Flight.apex_x": _X, "Flight.start_z": _HIGH, "Flight.end_z": _HIGH, "Flight.apex_z": _HIGH,
    "Flight.plus_minus": (0.0, 10.0),
    "Hurdle.x": _X, "Hurdle.y0": (-12.0, 12.0), "Hurdle.y1": (-12.0, 12.0),
    "Hurdle.height": (0.01, 1.2), "Hurdle.body_above": (-3.0, 4.0),
    "Clearing.gap": (-2.0, 3.0), "Clearing.worst": (-2.0, 3.0), "Clearing.time": (0.0, 30.0),
    "Clearing.x": _X, "Clearing.z": (-1.0, 4.0), "Clearing.greatest": (0.0, 3.0),
    "Clearing.moved": (-3.0, 3.0), "Clearing.aside": (-12.0, 12.0),
    "ApproachPlan.strides": (0, 24), "ApproachPlan.speed": _SPEED, "ApproachPlan.length": (0, 100),
    "Load.sets": (0, 99), "Load.runs": (0, 99), "Load.per_run": (0, 99), "Load.contacts": (0, 9999),
    "Load.left": (0, 99), "Load.right": (0, 99), "Load.both": (0, 99),
    "Load.budget_low": (0, 9999), "Load.budget_high": (0, 9999),
    "Who.stature": (1.1, 2.3), "Who.mass": (18.0, 180.0), "Who.age": AGES,
    "Who.target": (1.0, 60.0), "Who.best": (1.0, 60.0),
    "Place.width": (0.5, 12.0), "Place.start_x": _X, "Place.pit_x": _X, "Place.end_x": _X,
    "Place.pit_length": (0.0, 20.0), "Place.pit_width": (0.0, 12.0), "Place.board": (0.0, 30.0),
    "Place.lanes": (1, 12), "Place.lane_spacing": (0.0, 20.0),
    "Plan.total": (0.05, 60.0),
}  # fmt: skip
"""By class and field; None is let through where the field may have none."""
WORDS: Final[dict[str, tuple[str, ...]]] = {
    "Contact.foot": ("left", "right", "both"),
    "Contact.surface": ("track", "sand"),
    "Flight.phase": MOVES,
    "Flight.arc": ARC_WORDS,
    "Hurdle.place": ("beside", "over"),
    "Hurdle.thing": ("hurdle", "cone"),
    "Who.leg": LEGS,
    "Who.level": LEVELS,
    "Who.build": ("male", "female", "average"),
    "Plan.level": LEVELS,
    "Plan.ends": ("track", "sand"),
}
TEXTS: Final[dict[str, int]] = {
    "Note.code": 60, "Note.text": 500, "Note.source": 200, "Hurdle.checked": 300,
    "Clearing.part": 40, "Who.name": 80, "Place.slug": 80, "Place.title": 80, "Plan.date": 10,
    "Plan.drill": 80, "Plan.title": 120, "Plan.job": 140, "Plan.intensity": 40, "Plan.finish": 40,
    "Plan.style": 40, "Plan.points": 140, "Plan.faults": 180, "Plan.cautions": 300,
}  # fmt: skip
"""Characters of each text, or of each text of a list."""
COUNTS: Final[dict[str, int]] = {
    "Plan.contacts": 40, "Plan.flights": 40, "Plan.hurdles": 40, "Plan.shares": 40,
    "Plan.gaps": 40, "Plan.points": 6, "Plan.faults": 6, "Plan.cautions": 20, "Plan.notes": 60,
    "ApproachPlan.marks": 30, "Clearing.under": 400,
}  # fmt: skip
"""How many things a list holds at most."""
Wrong = tuple[str, str, Any]
"""Field, rule and value given."""


def out_of_range(value: Any, where: str = "") -> Iterator[Wrong]:
    """Every figure, word, text and list of a plan that is beyond its bounds."""
    kind = type(value).__name__
    for field in dataclasses.fields(value):
        key, inner = f"{kind}.{field.name}", getattr(value, field.name)
        at = f"{where}.{field.name}" if where else field.name
        if isinstance(inner, tuple):
            most = COUNTS.get(key)
            if most is not None and len(inner) > most:
                yield at, f"at most {most} allowed", len(inner)
                continue
            for i, item in enumerate(inner):
                yield from _one(key, item, f"{at}[{i}]")
        else:
            yield from _one(key, inner, at)


def _one(key: str, value: Any, at: str) -> Iterator[Wrong]:
    if dataclasses.is_dataclass(value):
        yield from out_of_range(value, at)
    elif isinstance(value, str):
        most = TEXTS.get(key, 500)
        if key in WORDS and value not in WORDS[key]:
            yield at, f"must be one of {', '.join(WORDS[key])}", value
        elif len(value) > most or not is_line(value):
            yield at, f"must be one line of printable text, at most {most} characters", value
    elif key in SAVED and value is not None:
        low, high = SAVED[key]
        if not low <= value <= high:
            yield at, f"must be from {low:g} to {high:g}", value
    elif isinstance(value, tuple) and any(not abs(v) <= FARTHEST for v in value):
        yield at, f"must be figures up to {FARTHEST:g}", value


def apart(plan: Any) -> Iterator[Wrong]:
    """Every figure of a plan that does not follow from those beside it: flights are thrown bodies."""
    for i, flight in enumerate(plan.flights):
        one, two = plan.contacts[i], plan.contacts[i + 1]
        body = thrown(flight.start_x, flight.start_z, flight.vx, flight.vy, flight.time)
        pairs = (
            ("length", two.x - one.x),
            *body.items(),
            ("vx", one.vx),
            ("vy", one.vy),
            ("start_x", None if one.ahead is None else one.x + one.ahead),
            ("start_z", one.height),
            ("end_x", None if two.landing is None else two.x - two.landing),
            ("end_z", two.height_in),
            ("vx", two.vx_in),
            ("vy_end", two.vy_in),
        )
        for name, wanted in pairs:
            found = getattr(flight, name)
            if wanted is None:
                yield f"contacts[{i}]", "its flight's figures needed", None
            elif abs(found - wanted) > NEAR:
                rule = f"must be {wanted:.3f}, as the figures beside it say"
                yield f"flights[{i}].{name}", rule, found
        share = flight.length / plan.total
        if abs(plan.shares[i] - share) > NEAR:
            yield f"shares[{i}]", f"must be {share:.3f}, as the lengths say", plan.shares[i]
