"""A plan's contacts as a chain for the moving body, with a stride of the run-in before them."""

from __future__ import annotations

from math import sqrt
from typing import Final, Literal, cast

from animate.body.body import LEG, Body, body
from animate.body.stances import GRAVITY
from animate.motion.chain import SAND_TIME, Arrive, Chain, Foot, Leave, Support
from layout.plan.value import Contact, Plan
from layout.rules.strength import strength_of

STRIDE_RISE: Final = 0.4
"""Vertical take-off velocity of a running stride [m/s] (ours, no source)."""
STRIDE_DROP: Final = 0.01
"""How much lower a running stride ends than it starts, in leg lengths (ours)."""
STRIDE_BEHIND: Final = 0.72
STRIDE_BEFORE: Final = 0.32
"""Toe behind the centre of mass at a stride's take-off, ahead of it at its touchdown, in leg lengths
(ours, no source)."""
STAND_TIME: Final = 0.62
"""From the crouch to leaving the ground, from standing [s] (ours)."""
SAND_KEEPS: Final = 0.6
"""Share of the speed left when it ends (ours)."""
HOLD_TIME: Final = 0.6
"""From touchdown to standing still on one foot [s] (ours)."""
LAST_SHOWN: Final = 0.65
"""How much of the way over the last foot is shown, as a share of the leg over the speed: about until
the body is over the whole foot (ours)."""

_SIDE: Final[dict[str, Foot]] = {"left": "l", "right": "r", "both": "both"}
_OTHER: Final[dict[str, Foot]] = {"left": "r", "right": "l"}


def _support(plan: Plan, contact: Contact) -> Support:
    leg = LEG * plan.who.stature
    surface: Literal["track", "sand"] = "sand" if contact.surface == "sand" else "track"
    stand = contact.arrive == "stand"
    last = contact.leave == "end"
    before = 0.0 if contact.vx_in is None else contact.vx_in
    after = before * SAND_KEEPS if contact.vx is None else contact.vx
    hold = last and plan.finish == "hold"
    time = contact.time
    if stand:
        time = STAND_TIME
    elif time is None:
        time = HOLD_TIME if hold else min(LAST_SHOWN * leg / max(before, 1.0), 0.35)
        if surface == "sand":
            time = SAND_TIME[_SIDE[contact.foot]]
    return Support(
        side=_SIDE[contact.foot],
        toe=contact.x,
        arrive=cast(Arrive, contact.arrive),
        leave=cast(Leave, contact.leave),
        vx_in=before,
        vx=0.0 if hold else after,
        vy=0.0 if last or contact.vy is None else contact.vy,
        duration=time,
        surface=surface,
    )


def _stride(plan: Plan, first: Contact) -> tuple[Support, float]:
    """The running stride that ends on the first contact: its own contact, and its flight."""
    leg = LEG * plan.who.stature
    speed = first.vx_in or plan.approach.speed
    flight = (STRIDE_RISE + sqrt(STRIDE_RISE**2 + 2 * GRAVITY * STRIDE_DROP * leg)) / GRAVITY
    travel = (STRIDE_BEHIND + STRIDE_BEFORE) * leg
    reach = STRIDE_BEFORE * leg if first.landing is None else first.landing
    toe = first.x - reach - speed * flight - STRIDE_BEHIND * leg
    contact = Support(
        side=_OTHER[first.foot],
        toe=toe,
        arrive="run",
        leave="run",
        vx_in=speed,
        vx=speed,
        vy=STRIDE_RISE,
        duration=travel / speed,
    )
    return contact, flight


def body_of(plan: Plan) -> Body:
    """The body that moves through a plan: its athlete's size, build and presumed strength."""
    who = plan.who
    return body(who.stature, who.mass, who.build, strength_of(who.standing, who.build))


def chain_of(plan: Plan) -> Chain:
    """The chain of contacts that a plan sets out.

    Returns with one stride of the run-in, unless the drill starts from standing.
    """
    supports = [_support(plan, c) for c in plan.contacts]
    flights = [f.time for f in plan.flights]
    if plan.contacts[0].arrive == "run":
        stride, flight = _stride(plan, plan.contacts[0])
        supports.insert(0, stride)
        flights.insert(0, flight)
    return Chain(tuple(supports), tuple(flights))
