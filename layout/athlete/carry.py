"""Speed carried through a chain of contacts by the loss/gain line, one athlete's form, and the march.

A contact takes horizontal speed for the vertical speed it gives back:

    loss = share V + slope (gain - gain_ref) + pull (vx - V) - drive max(0, .6 entry - vx)

where gain is the change of vertical velocity in the contact, and V, gain_ref and share are those of
the same contact in the athlete's own full approach: the line passes through what they have shown.
The pull and the drive make a long chain settle to a rhythm of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY, takeoff, touchdown
from layout.athlete.flight import flight_time, vy_for_time
from layout.words.trade import MOVES

SLOPE: Final = 0.70
"""Default speed lost per vertical speed gained; remembered range .4 to 1.2 (memory, low)."""
SLOPE_RANGE: Final = (0.40, 1.20)
PULL: Final = 0.10
"""Default pull to the rhythm (ours, no source; chosen with the remembered short-approach bands)."""
DRIVE: Final = 0.50
"""Extra push of a slow contact, per m/s below `DRIVE_BELOW` (ours, no source; chosen so that a
standing triple jump comes to its remembered band)."""
DRIVE_BELOW: Final = 0.60
"""Speed under which contacts are long enough to push, as a share of full approach speed (ours)."""
LOSSES: Final = (0.07, 0.085, 0.151)
"""Share of horizontal speed lost: hop take-off (ours, no source), then the published group means of
15 jumpers (attributed to Fukashiro et al. 1981)."""
RUN_FALL: Final = -0.30
"""Vertical velocity at touchdown from a running stride [m/s] (ours, no source)."""
ANGLES: Final = (0.234, 0.192, 0.308)
"""vy/vx at the hop, step and jump take-off, to share a total's phases between speed and height
when no speed is known (fixture B of facts.md, ours)."""
SHOWN_MARGIN: Final = 0.10
"""How far take-off velocities may leave what the athlete has shown (facts.md)."""
BEYOND: Final = 1e6
"""Cost of a m/s beyond what may be asked for: so much that it is only paid where nothing else is left."""
_STEPS: Final = 12


def stance_at(who: Body, arrive: str, speed: Array) -> tuple[Array, Array]:
    """Landing distance and centre-of-mass height at touchdown [m]; in sand to the nearest break."""
    found = touchdown(who, arrive).at(speed)
    return (found.heel if "sand" in arrive else found.toe), found.height


def leave_at(who: Body, leave: str, speed: Array) -> tuple[Array, Array]:
    """Take-off distance (centre of mass ahead of the toe) and height at take-off [m]."""
    found = takeoff(who, leave).at(speed)
    return -found.toe, found.height


def arrival(move: str, sand: bool) -> str:
    """Which touchdown pose ends a move."""
    if move == "jump":
        return "two feet in sand"
    return "sand" if sand else move


def phase_for(
    who: Body, leave: str, arrive: str, vx: Array, vy: Array
) -> tuple[Array, Array, Array]:
    """Phase length, flight time and touchdown vertical velocity of one move.

    Parameters
    ----------
    who : Body
    leave, arrive : str
        Take-off and touchdown poses.
    vx, vy : ndarray (n,)
        Take-off velocity [m/s].

    Returns
    -------
    tuple of ndarray (n,)
        [m], [s], [m/s]
    """
    ahead, start = leave_at(who, leave, vx)
    landing, end = stance_at(who, arrive, vx)
    time = flight_time(vy, start, end)
    return ahead + vx * time + landing, time, vy - GRAVITY * time


def vy_for_phase(who: Body, leave: str, arrive: str, vx: Array, length: float) -> Array:
    """Vertical take-off velocity that makes a phase of given length at given speed [m/s]."""
    ahead, start = leave_at(who, leave, vx)
    landing, end = stance_at(who, arrive, vx)
    time = np.maximum((length - ahead - landing) / np.maximum(vx, 0.1), 0.02)
    return vy_for_time(time, start, end)


@dataclass(frozen=True)
class Form:
    """What one athlete shows in a full approach: three contacts, and the line through them.

    Attributes
    ----------
    entry : float
        Speed at the board's touchdown [m/s].
    vx, vy : tuple of float
        Velocities at the hop, step and jump take-off [m/s].
    gains : tuple of float
        Vertical velocity gained in those contacts [m/s].
    losses : tuple of float
        Share of touchdown speed lost in them [-].
    slope, pull : float
        The line's [-].
    highest : tuple of float
        Greatest upward speed that may be asked for in a hop, step and jump [m/s].
    hardest : float
        Greatest change of upward speed that may be asked for in one contact [m/s].
    """

    entry: float
    vx: tuple[float, float, float]
    vy: tuple[float, float, float]
    gains: tuple[float, float, float]
    losses: tuple[float, float, float]
    slope: float = SLOPE
    pull: float = PULL
    highest: tuple[float, float, float] = (np.inf, np.inf, np.inf)
    hardest: float = np.inf

    @property
    def excess(self) -> float:
        """Upward speed asked for beyond `highest` and `hardest` [m/s]; 0 where none is."""
        over = [vy - most for vy, most in zip(self.vy, self.highest, strict=True)]
        return max(0.0, *over, *(gain - self.hardest for gain in self.gains))

    @property
    def touchdown_speeds(self) -> tuple[float, float, float]:
        """Horizontal speed at the three touchdowns [m/s]."""
        return self.entry, self.vx[0], self.vx[1]

    def loss(
        self, contact: int, vx: Array, gain: Array, slope: Array | float, pull: Array | float
    ) -> Array:
        """Horizontal speed lost in a contact of the kind `contact` (0 board, 1 after a hop, 2
        after a step) [m/s]."""
        reference = self.touchdown_speeds[contact]
        return np.asarray(
            self.losses[contact] * reference
            + slope * (gain - self.gains[contact])
            + pull * (vx - reference)
            - DRIVE * np.maximum(DRIVE_BELOW * self.entry - vx, 0.0)
        )


def _chain_from(
    who: Body, phases: Sequence[float], entry: Array, losses: Sequence[float]
) -> tuple[list[Array], list[Array], list[Array]]:
    """Speeds and gains of three phases when each contact loses a fixed share."""
    vx_in, fall = entry, np.full_like(entry, RUN_FALL)
    vxs, vys, gains = [], [], []
    for move, length, share in zip(MOVES, phases, losses, strict=True):
        vx = vx_in * (1.0 - share)
        vy = vy_for_phase(who, move, arrival(move, False), vx, length)
        vxs.append(vx)
        vys.append(vy)
        gains.append(vy - fall)
        _, _, fall = phase_for(who, move, arrival(move, False), vx, np.clip(vy, -1.5, 6.0))
        vx_in = vx
    return vxs, vys, gains


def form_from_jump(
    who: Body,
    phases: Sequence[float],
    speed: float | None = None,
    losses: Sequence[float] = LOSSES,
    slope: float = SLOPE,
    pull: float = PULL,
) -> Form:
    """Solve for the velocities that make three phase lengths, at the published losses of speed.

    With no speed given, the one whose take-off angles come nearest the pattern `ANGLES`.

    Parameters
    ----------
    who : Body
    phases : sequence of float (3,)
        Hop, step and jump [m].
    speed : float or None
        Speed at the end of the approach [m/s].
    losses : sequence of float (3,)
        Share of horizontal speed lost in each contact [-].
    slope, pull : float
        The athlete's line [-].

    Raises
    ------
    ValueError
        No take-off velocity in the human range makes these phases at this speed.
    """
    low, high = (speed, speed) if speed is not None else (3.0, 12.5)
    for _ in range(1 if speed is not None else 4):
        entry = np.linspace(low, high, 1 if speed is not None else 41)
        vxs, vys, gains = _chain_from(who, phases, entry, losses)
        off = sum((vy / vx - angle) ** 2 for vx, vy, angle in zip(vxs, vys, ANGLES, strict=True))
        best = int(np.argmin(off))
        width = (high - low) / 40.0
        low, high = entry[best] - width, entry[best] + width
    vx, vy, gain = ([float(v[best]) for v in values] for values in (vxs, vys, gains))
    if not all(-0.2 <= v <= 4.5 for v in vy):
        worst = int(np.argmax(np.abs(np.array(vy) - 2.0)))
        raise ValueError(
            f"speed: {entry[best]:.2f} m/s cannot make a {MOVES[worst]} of "
            f"{phases[worst]:.2f} m (it would need {vy[worst]:.2f} m/s upward)"
        )
    return Form(
        float(entry[best]),
        (vx[0], vx[1], vx[2]),
        (vy[0], vy[1], vy[2]),
        (gain[0], gain[1], gain[2]),
        (losses[0], losses[1], losses[2]),
        slope,
        pull,
        (with_margin(vy[0]), with_margin(vy[1]), with_margin(vy[2])),
        with_margin(max(gain)),
    )


def with_margin(shown: float) -> float:
    """The most that is asked for of an upward speed shown: `SHOWN_MARGIN` more.

    >>> with_margin(2.0)
    2.2
    """
    return round(shown + SHOWN_MARGIN * abs(shown), 9)


def _on_line(
    who: Body, form: Form, phases: Sequence[float], entry: Array
) -> tuple[list[Array], list[Array], list[Array]]:
    """Velocities and gains on the athlete's line that make three phases, for each entry speed."""
    vx_in, fall = entry, np.full_like(entry, RUN_FALL)
    vxs, vys, gains = [], [], []
    for contact, (move, length) in enumerate(zip(MOVES, phases, strict=True)):
        vy = np.full_like(entry, form.vy[contact])
        for _ in range(_STEPS):
            loss = form.loss(contact, vx_in, vy - fall, form.slope, form.pull)
            vx = np.maximum(vx_in - loss, 1.0)
            vy = np.clip(vy_for_phase(who, move, arrival(move, False), vx, length), -1.5, 6.0)
        vxs.append(vx)
        vys.append(vy)
        gains.append(vy - fall)
        _, _, fall = phase_for(who, move, arrival(move, False), vx, vy)
        vx_in = vx
    return vxs, vys, gains


def form_for_target(
    who: Body,
    shown: Form,
    phases: Sequence[float],
    slowest: float | None = None,
    fastest: float | None = None,
) -> Form:
    """The form that makes target phases, on the athlete's own line, nearest to what they showed.

    Three phases leave one freedom between speed and height; it is settled by the smallest change,
    3 % of approach speed weighing like 5 % of a vertical velocity (ours, no source), inside the
    form's `highest` and `hardest` where that can be.

    Parameters
    ----------
    who : Body
    shown : Form
        From the athlete's best jump.
    phases : sequence of float (3,)
        Target hop, step and jump [m].
    slowest, fastest : float or None
        Bounds of the entry speed [m/s]; .8 and 1.25 of the shown one when left out.

    Returns
    -------
    Form
        The nearest there is; a march along it shows whether it makes the phases.
    """
    least = 0.8 * shown.entry if slowest is None else slowest
    most = 1.25 * shown.entry if fastest is None else fastest
    found = _nearest(who, shown, phases, least, most, 31, 0.0)
    return found if found.excess <= 0.0 else _nearest(who, shown, phases, least, most, 91, BEYOND)


def _nearest(
    who: Body, shown: Form, phases: Sequence[float], least: float, most: float, count: int,
    beyond: float,
) -> Form:  # fmt: skip
    """The form of least cost, with `beyond` the cost of a m/s more than may be asked for."""
    low, high = least, most
    for _ in range(3):
        entry = np.linspace(low, high, count)
        vxs, vys, gains = _on_line(who, shown, phases, entry)
        cost = ((entry / shown.entry - 1.0) / 0.03) ** 2 + sum(
            ((vy / was - 1.0) / 0.05) ** 2 for vy, was in zip(vys, shown.vy, strict=True)
        )
        if beyond:
            limits = (*shown.highest, *(shown.hardest,) * 3)
            for asked, limit in zip((*vys, *gains), limits, strict=True):
                cost += beyond * np.maximum(asked - limit, 0.0)
        best = int(np.argmin(cost))
        width = (high - low) / (count - 1)
        low, high = max(least, entry[best] - width), min(most, entry[best] + width)
    vx, vy, gain = ([float(v[best]) for v in values] for values in (vxs, vys, gains))
    speeds_in = (float(entry[best]), vx[0], vx[1])
    share = [1.0 - out / into for out, into in zip(vx, speeds_in, strict=True)]
    return Form(
        speeds_in[0],
        (vx[0], vx[1], vx[2]),
        (vy[0], vy[1], vy[2]),
        (gain[0], gain[1], gain[2]),
        (share[0], share[1], share[2]),
        shown.slope,
        shown.pull,
        shown.highest,
        shown.hardest,
    )
