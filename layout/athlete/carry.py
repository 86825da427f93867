"""Speed carried through a chain of contacts by the loss/gain line, one athlete's form, and the march.

A contact takes horizontal speed for the vertical speed it gives back:

    loss = share V + slope (gain - gain_ref) + pull (vx - V) - drive max(0, below entry - vx)

where gain is the change of vertical velocity in the contact, and V, gain_ref and share are those of
the same contact in the athlete's own full approach: the line passes through what they have shown.
The pull and the drive make a long chain settle to a rhythm of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, cast

import numpy as np

from animate.body.body import Array, Body
from animate.body.stances import GRAVITY
from animate.refused import Refused
from layout.athlete.flight import arrival, flight_time, leave_at, stance_at, vy_for_time
from layout.rules.rule import rule
from layout.words.trade import MOVES

SLOPE: Final[float] = rule("slope")
"""Default speed lost per vertical speed gained."""
SLOPE_RANGE: Final[tuple[float, float]] = rule("slope_range")
PULL: Final[float] = rule("pull")
"""Default pull to the rhythm."""
DRIVE: Final[float] = rule("drive")
"""Extra push of a slow contact, per m/s below `DRIVE_BELOW`."""
DRIVE_BELOW: Final[float] = rule("drive_below")
HOP_AGAIN: Final[float] = rule("hop_again")
"""Share of speed that a hop out of a hop loses less than a step out of one."""
CAREFUL: Final[dict[str, Any]] = rule("careful_carry")
"""The same, and `LOSSES`, of who is not grown, a beginner or unknown."""
LOSSES: Final[tuple[float, float, float]] = rule("losses")
"""Share of horizontal speed lost at the hop, step and jump take-off."""
RUN_FALL: Final = -0.30
"""Vertical velocity at touchdown from a running stride [m/s] (ours, no source)."""
UPWARD: Final[tuple[float, float, float]] = rule("upward")
"""Usual upward speed at the hop, step and jump take-off of a jump of `UPWARD_AT` [m/s], to share a
total's phases between speed and height when no speed is known."""
UPWARD_AT: Final = 14.0
"""[m]"""
UPWARD_POWER: Final[float] = rule("upward_power")
"""How the usual upward speeds grow with the total."""
SHOWN_MARGIN: Final[float] = rule("shown_margin")
"""How far take-off velocities may leave what the athlete has shown."""
SLOWEST: Final = 1.2
"""A chain slower than this at a take-off [m/s] is no longer a chain of bounds (ours)."""
MOST_DRIVEN: Final = 0.9
"""Greatest share of what is missing to the full approach's speed that one contact adds (ours)."""
FLOWN: Final = (-1.5, 6.0)
"""Upward speeds a flight is worked out for [m/s]; one asked for beyond is flown as the end of it."""
BEYOND: Final = 1e6
"""Cost of a m/s beyond what may be asked for: so much that it is only paid where nothing else is left."""
_STEPS: Final = 12


CONTACTS: Final = {"run": 0, "hop": 1, "step": 2}
"""Kind of contact by what comes before it; no jump does."""


@dataclass(frozen=True, eq=False)
class March:
    """A chain worked out for n cases at once; contact i is followed by move i.

    At touchdown, ndarray (contacts, n): velocity `vx_in`, `vy_in` [m/s], nan for a standing start; the
    toe (sand: nearest break) ahead of the centre of mass `landing`, and its height `height_in` [m]. At
    take-off, ndarray (moves, n): velocity `vx`, `vy`, the centre of mass `ahead` of the toe, its
    `height`, phase `length` [m] and flight `time` [s].
    """

    vx_in: Array
    vy_in: Array
    landing: Array
    height_in: Array
    vx: Array
    vy: Array
    ahead: Array
    height: Array
    length: Array
    time: Array

    @property
    def total(self) -> Array:
        """Sum of the phases [m], ndarray (n,)."""
        return np.asarray(self.length.sum(axis=0))


def carried(
    who: Body,
    moves: Sequence[str],
    entry: Array,
    take_off: Callable[[int, int | None, Array, Array], tuple[Array, Array]],
    sand: bool = False,
    stand: bool = False,
) -> March:
    """Carry speed through a chain of moves: the one loop, whatever settles the take-offs.

        length = ahead + vx t + landing;  t = flight time of vy between the two heights;
        speed in at the next contact = vx;  fall there = vy - g t

    entry: (n,), speed at the first touchdown, or at take-off from standing [m/s].
    take_off: (number, contact, speed in, fall) -> (vx, vy), ndarray (n,) [m/s]; `contact` is the kind
        of `Form.loss`, None from standing.
    sand, stand: whether the last landing is in sand, whether it starts from two feet.

    >>> from animate.body.body import body
    >>> who, speed = body(1.86, 76.0, "male"), np.array([9.5])
    >>> made = carried(who, ("hop", "step"), speed, lambda i, kind, vx, fall: (0.93 * vx, vx / 4.0))
    >>> made.vx.ravel().round(2).tolist(), made.length.ravel().round(2).tolist()
    ([8.84, 8.22], [5.98, 5.43])
    """
    into, out = np.empty((4, len(moves) + 1, *entry.shape)), np.empty((6, len(moves), *entry.shape))
    vx, fall = entry, np.full_like(entry, RUN_FALL)
    _keep(into[:, 0], (np.nan,) * 4 if stand else (vx, fall, *stance_at(who, "run", entry)))
    for i, move in enumerate(moves):
        standing = stand and i == 0
        contact = None if standing else CONTACTS[moves[i - 1] if i else "run"]
        vx, vy = take_off(i, contact, vx, fall)
        ahead, start = leave_at(who, "stand" if standing else move, vx)
        landing, end = stance_at(who, arrival(move, sand and i == len(moves) - 1), vx)
        flown = np.minimum(np.maximum(vy, FLOWN[0]), FLOWN[1])
        time = flight_time(flown, start, end)
        fall = flown - GRAVITY * time
        _keep(into[:, i + 1], (vx, fall, landing, end))
        _keep(out[:, i], (vx, vy, ahead, start, ahead + vx * time + landing, time))
    return March(*into, *out)


def _keep(rows: Array, values: Sequence[Array | float]) -> None:
    for row, value in zip(rows, values, strict=True):
        row[...] = value


def vy_for_phase(who: Body, leave: str, arrive: str, vx: Array, length: float) -> Array:
    """Vertical take-off velocity that makes a phase of given length at given speed [m/s]."""
    ahead, start = leave_at(who, leave, vx)
    landing, end = stance_at(who, arrive, vx)
    time = np.maximum((length - ahead - landing) / np.maximum(vx, 0.1), 0.02)
    return vy_for_time(time, start, end)


@dataclass(frozen=True)
class Form:
    """What one athlete shows in a full approach: three contacts, and the line through them.

    `entry` is the speed at the board's touchdown; `vx`, `vy` those at the hop, step and jump take-off;
    `gains` the vertical velocity gained in those contacts [m/s]; `losses` the share of touchdown speed
    lost in them; `slope`, `pull`, `drive` and `below` are the line's [-]. `highest` upward speed of a
    hop, step and jump, and `hardest` change of it in one contact, are the most that may be asked for
    [m/s]; `again` is what a hop out of a hop loses less than a step out of one [-].
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
    drive: float = DRIVE
    below: float = DRIVE_BELOW
    again: float = HOP_AGAIN

    @property
    def excess(self) -> float:
        """Upward speed asked for beyond `highest` and `hardest` [m/s]; 0 where none is."""
        over = [vy - most for vy, most in zip(self.vy, self.highest, strict=True)]
        return max(0.0, *over, *(gain - self.hardest for gain in self.gains))

    @property
    def touchdown_speeds(self) -> tuple[float, float, float]:
        """Horizontal speed at the three touchdowns [m/s]."""
        return self.entry, self.vx[0], self.vx[1]

    def loss(self, contact: int, vx: Array, gain: Array) -> Array:
        """Horizontal speed lost in a contact [m/s], ndarray (...).

            loss = share V + slope (gain - gain_ref) + pull (vx - V) - drive max(0, below entry - vx)

        Source: form Yu & Hay 1996; pull and drive ours.

        contact: 0 board, 1 after a hop, 2 after a step; V, gain_ref and share are those of the same
            contact in the form.
        vx, gain: (...), speed in, and change of upward speed [m/s].

        >>> from animate.body.body import body
        >>> form = form_from_jump(body(1.80, 72.0, "male"), (5.2, 4.2, 5.0), speed=9.0)
        >>> round(float(form.loss(1, np.array([8.0]), np.array([4.0]))[0]), 2)
        0.69
        """
        reference = self.touchdown_speeds[contact]
        return np.asarray(
            self.losses[contact] * reference
            + self.slope * (gain - self.gains[contact])
            + self.pull * (vx - reference)
            - self.drive * np.maximum(self.below * self.entry - vx, 0.0)
        )

    def out_of(self, contact: int, vx: Array, gain: Array, spared: Array | float = 0.0) -> Array:
        """Speed out of a contact that loses `spared` less: no slower than `SLOWEST`, no faster than
        `fastest_from` [m/s]."""
        return np.clip(
            vx - self.loss(contact, vx, gain) + spared, SLOWEST, fastest_from(self.entry, vx)
        )


def fastest_from(full: Array | float, vx: Array) -> Array:
    """Greatest forward speed a contact drives an athlete to who comes in at vx [m/s].

    No contact drives past the speed of the full approach, nor all the way to it.
    """
    return np.asarray(vx + MOST_DRIVEN * np.maximum(full - vx, 0.0))


def form_of_march(made: March, like: Form, at: int | None = 0) -> Form:
    """The form of a whole jump as made: column `at` in plain numbers, or all as arrays; its line and
    limits are those of another form."""

    def three(rows: Array) -> tuple[float, float, float]:
        first = tuple(rows[:3]) if at is None else tuple(rows[:3, at].tolist())
        return cast(tuple[float, float, float], first)

    entry = made.vx_in[0] if at is None else float(made.vx_in[0, at])
    return replace(
        like, entry=cast(float, entry), vx=three(made.vx), vy=three(made.vy),
        gains=three(made.vy - made.vy_in[:3]), losses=three(1.0 - made.vx / made.vx_in[:3]),
    )  # fmt: skip


def _human(vy: Array) -> Any:
    """Whether all upward speeds of a jump are in the human range (ours)."""
    return ((vy >= -0.2) & (vy <= 4.5)).all(axis=0)


def usual_upward(total: float) -> tuple[float, float, float]:
    """Usual upward speeds at the three take-offs of a jump of so many metres [m/s].

        up_i = UPWARD_i (total / 14)^UPWARD_POWER

    Source: fit of eight elite women, and of two speeds of men; its spread is in the margins.
    """
    hop, step, jump = (up * (total / UPWARD_AT) ** UPWARD_POWER for up in UPWARD)
    return hop, step, jump


def form_from_jump(
    who: Body,
    phases: Sequence[float],
    speed: float | None = None,
    losses: Sequence[float] = LOSSES,
    slope: float = SLOPE,
    pull: float = PULL,
    usual: Sequence[float] | None = None,
) -> Form:
    """Solve for the velocities that make three phase lengths, at the published losses of speed.

    vx = (1 - loss) vx_in; vy as `vy_for_phase`. With no speed given, the one whose upward speeds
    come nearest the usual ones: least sum of (vy / usual - 1)^2.

    Refused: phases that no upward speed in the human range, -.2 to 4.5 m/s, makes at this speed.

    phases: hop, step and jump [m].
    speed: speed at the end of the approach [m/s].
    losses: share of horizontal speed lost in each contact [-].
    usual: upward speeds [m/s]; those of `usual_upward` when left out.

    >>> from animate.body.body import body
    >>> form = form_from_jump(body(1.80, 72.0, "male"), (5.2, 4.2, 5.0), speed=9.0)
    >>> [round(v, 2) for v in form.vx], [round(v, 2) for v in form.vy]
    ([8.25, 7.31, 6.15], [2.12, 1.71, 2.42])
    """

    def at_shares(i: int, _: int | None, into: Array, fall: Array) -> tuple[Array, Array]:
        vx = into * (1.0 - losses[i])
        return vx, vy_for_phase(who, MOVES[i], arrival(MOVES[i], False), vx, phases[i])

    pattern = np.array(usual or usual_upward(sum(phases)))[:, None]
    low, high, count = (3.0, 12.5, 41) if speed is None else (speed, speed, 1)
    for _ in range(4 if speed is None else 1):
        entry = np.linspace(low, high, count)
        made = carried(who, MOVES, entry, at_shares)
        off = ((made.vy / pattern - 1.0) ** 2).sum(axis=0)
        off += BEYOND * ~_human(made.vy)
        best = int(np.argmin(off))
        width = (high - low) / 40.0
        low, high = entry[best] - width, entry[best] + width
    vy = made.vy[:, best]
    if not _human(vy):
        worst = int(np.argmax(np.abs(vy - 2.0)))
        raise Refused(
            "speed",
            f"{entry[best]:.2f} m/s cannot make a {MOVES[worst]} of "
            f"{phases[worst]:.2f} m (it would need {vy[worst]:.2f} m/s upward)",
        )
    none = (0.0, 0.0, 0.0)
    form = form_of_march(made, Form(0.0, none, none, none, none, slope, pull), best)
    most = tuple(with_margin(v) for v in form.vy)
    return replace(form, losses=cast(Any, tuple(losses)), highest=cast(Any, most),
                   hardest=with_margin(max(form.gains)))  # fmt: skip


def with_margin(shown: float) -> float:
    """The most that is asked for of an upward speed shown: `SHOWN_MARGIN` more.

    >>> with_margin(2.0)
    2.2
    """
    return round(shown + SHOWN_MARGIN * abs(shown), 9)


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

    The form is the nearest there is; a march along it shows whether it makes the phases.

    shown: from the athlete's best jump.
    phases: target hop, step and jump [m].
    slowest, fastest: bounds of the entry speed [m/s]; .8 and 1.25 of the shown one when left out.

    >>> from animate.body.body import body
    >>> who = body(1.80, 72.0, "male")
    >>> found = form_for_target(who, form_from_jump(who, (5.2, 4.2, 5.0), 9.0), (5.3, 4.25, 5.1))
    >>> round(found.entry, 2), [round(v, 2) for v in found.vy]
    (9.18, [2.13, 1.69, 2.45])
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

    def on_line(i: int, contact: int | None, into: Array, fall: Array) -> tuple[Array, Array]:
        vy = np.full_like(into, shown.vy[i])
        for _ in range(_STEPS):
            vx = shown.out_of(cast(int, contact), into, vy - fall)
            vy = np.clip(
                vy_for_phase(who, MOVES[i], arrival(MOVES[i], False), vx, phases[i]), *FLOWN
            )
        return vx, vy

    low, high = least, most
    limits = np.array([*shown.highest, *(shown.hardest,) * 3])[:, None]
    for _ in range(3):
        entry = np.linspace(low, high, count)
        made = carried(who, MOVES, entry, on_line)
        change = made.vy / np.array(shown.vy)[:, None] - 1.0
        cost = ((entry / shown.entry - 1.0) / 0.03) ** 2 + ((change / 0.05) ** 2).sum(axis=0)
        if beyond:
            asked = np.concatenate([made.vy, made.vy - made.vy_in[:3]])
            cost += beyond * np.maximum(asked - limits, 0.0).sum(axis=0)
        best = int(np.argmin(cost))
        width = (high - low) / (count - 1)
        low, high = max(least, entry[best] - width), min(most, entry[best] + width)
    return form_of_march(made, shown, best)
