"""Low hurdles under the flights: where, how high, and what has been checked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from layout.plan.drill import HURDLE_HEIGHTS, Drill
from layout.plan.value import Contact, Flight, Hurdle, Plan, thrown
from layout.rules.rule import rule
from layout.rules.standing import CONE, hurdle_allowed
from layout.words.trade import LEVELS

UNCHECKED: Final = "not checked for clearance"
CHECKED: Final = "checked against the outline of the moving body"
MINUS: Final = "\N{MINUS SIGN}"
BESIDE: Final = (0.30, 0.55)
"""Where a hurdle beside the line stands, from the runway's middle [m] (ours)."""
OVER: Final = 0.45
"""Half the width of a hurdle over the line [m] (ours)."""
SHOE: Final = 0.36
"""Width of a sole as a share of its length (ours)."""
MARGIN: Final[float] = rule("hurdle_margin")
"""Between a hurdle's top and the lowest part of the body [m]."""
SLACK: Final[float] = rule("hurdle_slack")
"""Either way along the runway that the margin is kept, since nobody hits a mark exactly [m]."""


def height_of(flight: Flight, x: float) -> float:
    """Height of the centre of mass over a place under a flight [m].

    z = z0 + vy s - g s^2 / 2 with s = (x - x0) / vx: a thrown body, valid from take-off to touchdown.
    """
    time = (x - flight.start_x) / flight.vx
    return thrown(flight.start_x, flight.start_z, flight.vx, flight.vy, time)["end_z"]


def wanted_height(drill: Drill, level: str, height: float | None) -> float:
    """The coach's own height, or the drill's for the level [m]."""
    assert drill.hurdle is not None
    return height if height is not None else drill.hurdle.heights[LEVELS.index(level)] / 100.0


def hurdles_for(
    drill: Drill,
    flights: Sequence[Flight],
    level: str,
    age: int,
    leg: str,
    height: float | None = None,
) -> tuple[Hurdle, ...]:
    """Stand the drill's hurdles under the highest point of their flights.

    x = apex of the flight [m]; height = the coach's own or the drill's for the level [m], as far as
    `hurdle_allowed` lets one of the counted age [years] have it; body_above = the centre of mass's height
    there less the hurdle's [m]: the feet come lower. Beside the line they stand `BESIDE` from the middle,
    on the other side than the leg that leads; over it they reach `OVER` either way.

    Source: heights and places common practice and ours; limits by age as in `layout.rules.standing`.

    >>> from datetime import date
    >>> from importlib.resources import files
    >>> from layout import find_drill, find_venue, make_plan, read_athlete
    >>> tevin = read_athlete(files("layout.catalogue.club") / "tevin.toml")
    >>> three = find_drill("three-hops-step-beside")
    >>> plan = make_plan(tevin, three, find_venue("club"), date(2026, 11, 25))
    >>> [(h.flight, round(h.x, 2), h.height, round(h.body_above, 2)) for h in plan.hurdles]
    [(1, 4.77, 0.3, 1.03), (2, 8.18, 0.3, 1.04), (3, 11.38, 0.3, 1.02)]
    >>> [round(sideways(h, plan.contacts, foot=0.27), 2) for h in plan.hurdles]
    [0.33, 0.33, 0.17]
    """
    if drill.hurdle is None:
        return ()
    tall = wanted_height(drill, level, height)
    tall, thing = hurdle_allowed(tall, age)
    side = 1.0 if leg == "right" else -1.0
    if drill.hurdle.place == "beside":
        y0, y1 = sorted((side * BESIDE[0], side * BESIDE[1]))
    else:
        y0, y1 = -OVER, OVER
    out = []
    for flight in flights:
        if flight.number % len(drill.moves) in drill.hurdle.under:
            x = flight.apex_x
            above = height_of(flight, x) - tall
            kind = (drill.hurdle.place, thing)
            out.append(Hurdle(flight.number, x, y0, y1, tall, *kind, above, UNCHECKED, None))
    return tuple(out)


def greatest(room: float, age: int) -> float:
    """The greatest height hurdles come in that leaves `MARGIN` and that youth limits allow [m]; 0 for none.

    height <= room - margin, of `HURDLE_HEIGHTS` and a cone's; `room` is the lowest point of what the body
    sweeps near the place [m]. Source: margin ours, limits as in `layout.rules.standing`.

    >>> greatest(0.376, 25), greatest(0.376, 13), greatest(0.09, 25)
    (0.3, 0.23, 0.0)
    """
    fits = [
        tall
        for tall in (CONE, *(h / 100.0 for h in HURDLE_HEIGHTS))
        if tall <= room - MARGIN + 1e-9 and hurdle_allowed(tall, age)[0] >= tall - 1e-9
    ]
    return max(fits, default=0.0)


def sideways(hurdle: Hurdle, contacts: Sequence[Contact], foot: float) -> float | None:
    """From a hurdle beside the line to the edge of the nearest shoe on the ground [m].

    room = |near end| - |foot's middle| - `SHOE` foot / 2 over the two contacts round its flight, on that
    side; `foot` is the shoe's length [m]. None for a hurdle over the line. Of feet in the air a side view
    knows nothing. Source: ours; `hurdles_for` has an example.
    """
    if hurdle.place != "beside":
        return None
    side = 1.0 if hurdle.y0 > 0 else -1.0
    edge = min(side * hurdle.y0, side * hurdle.y1)
    ground = max(side * c.y for c in contacts[hurdle.flight : hurdle.flight + 2])
    return edge - ground - SHOE * foot / 2.0


def flight_text(plan: Plan, number: int) -> str:
    """A flight as a coach says it: "hop 2", or "step" where there is one."""
    move = plan.flights[number].phase
    several = sum(f.phase == move for f in plan.flights) > 1
    nth = sum(f.phase == move for f in plan.flights[: number + 1])
    return f"{move} {nth}" if several else move


def within_text(plan: Plan, number: int) -> str:
    """A flight inside a sentence: "hop 2", or "the step" where there is one."""
    name = flight_text(plan, number)
    return name if name[-1].isdigit() else f"the {name}"


def cm(metres: float) -> str:
    """Centimetres of room rounded down, of too little room rounded up.

    >>> cm(0.049), cm(-0.001)
    ('4 cm', '1 cm')
    """
    return f"{abs(math.floor(100 * metres + 1e-6))} cm"


def signed_cm(metres: float) -> str:
    """A clearance with its sign: minus is a hit.

    >>> signed_cm(0.149)
    '+14 cm'
    """
    return f"{'+' if metres >= 0 else MINUS}{cm(metres)}"
