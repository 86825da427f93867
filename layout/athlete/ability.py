"""What an athlete can do: the forms behind their best and their target, and their approach."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache, partial

import numpy as np

from animate.body.body import Body, body
from animate.refused import Refused
from layout.athlete.approach import TAU, Approach, approach, board_speed
from layout.athlete.athlete import Athlete
from layout.athlete.bend import asked
from layout.athlete.carry import CAREFUL, LOSSES, PULL, SHOWN_MARGIN, SLOPE, Form, form_from_jump
from layout.athlete.growth import SOURCE as GUESSED
from layout.athlete.growth import guessed_mass
from layout.rules.rule import source_of
from layout.words.faults import refuse
from layout.words.note import Note
from layout.words.split import phases


@dataclass(frozen=True, eq=False)
class Ability:
    """An athlete's body, forms and approach.

    `shown` is the form behind the best jump, or the target where no best is known; `form` that behind
    the target, as far as it may be asked for; `reach` the target, or the longest jump that may be asked
    for where that is less [m].
    """

    who: Body
    shown: Form
    form: Form
    run: Approach
    reach: float
    notes: tuple[Note, ...]


@lru_cache(maxsize=8192)
def ability(athlete: Athlete) -> Ability:
    """Solve an athlete's forms, with their own calibration where it is known.

    shown = `form_from_jump` of the best; form, reach = `asked` for the target; run = `approach` to
    form.entry. Refused: totals that a body of that size cannot make at that speed, or only with an
    upward speed outside -1 to 5 m/s. Source: of each function called.

    >>> from layout.athlete.athlete import athlete_from
    >>> table = {"name": "A", "stature": 1.7, "mass": 60, "leg": "left", "best": 11.0, "target": 11.3}
    >>> able = ability(athlete_from(table))
    >>> round(able.shown.entry, 2), round(able.form.entry, 2), round(able.reach, 2)
    (7.9, 8.16, 11.3)
    """
    known = athlete.calibration
    who = body(athlete.stature, athlete.mass, athlete.build)
    slope = SLOPE if known.slope is None else known.slope
    losses, pull = (CAREFUL["losses"], CAREFUL["pull"]) if athlete.held_low else (LOSSES, PULL)
    losses, pull = known.losses or losses, pull if known.pull is None else known.pull
    target = phases(athlete.target, athlete.split)
    jumped = athlete.jumped
    best = phases(jumped, athlete.best_phases or athlete.split) if jumped else target
    try:
        shown = _held(
            athlete,
            _shown(
                athlete, partial(form_from_jump, who, best, losses=losses, slope=slope, pull=pull)
            ),
        )
        form, reach = asked(who, shown, target)
        tau = TAU if known.tau is None else known.tau
        run = approach(form.entry, athlete.strides, athlete.stature, tau, known.run_up)
    except Refused as fault:
        told = fault.field
        if told == "speed" and athlete.speed is None:  # an estimate: what it comes from is at fault
            told = "best" if athlete.best else "target"
        raise refuse(told, f"{fault.told} (athlete {athlete.name})") from None
    if not all(np.isfinite(form.vy)) or max(form.vy) > 5.0 or min(form.vy) < -1.0:
        raise refuse("target", "no take-off a human can make gives these phases", athlete.target)
    notes = tuple(_notes(athlete, shown, form, reach))
    return Ability(who, shown, form, run, reach, notes)


def _sprinted(athlete: Athlete) -> float | None:
    """Speed at the board by the flying 30 m, where it is not timed and the total is known [m/s]."""
    known = athlete.speed is not None or athlete.guess is not None
    if athlete.flying_30 is None or known or not athlete.strides_given:
        return None
    return board_speed(30.0 / athlete.flying_30, athlete.strides, athlete.stature)


def _shown(athlete: Athlete, form_at: Callable[..., Form]) -> Form:
    """The form behind the best: at the timed speed; at the flying 30 m's, where it is within
    `SHOWN_MARGIN` of the usual one and can make the best; or at the usual one, as for every guessed total."""
    sprinted = _sprinted(athlete)
    if sprinted is None:
        return form_at(speed=None if athlete.guess else athlete.speed)
    usual = form_at()
    if abs(sprinted / usual.entry - 1.0) > SHOWN_MARGIN:
        return usual
    try:
        return form_at(speed=sprinted)
    except Refused:
        return usual


def _held(athlete: Athlete, form: Form) -> Form:
    """A form with the careful line where forecasts are held low: grown, trained jumpers told of the other."""
    if not athlete.held_low:
        return form
    drive, below = CAREFUL["drive"], CAREFUL["drive_below"]
    return replace(form, drive=drive, below=below, again=CAREFUL["hop_again"])


def _speed_note(athlete: Athlete, entry: float) -> Note | None:
    """That the speed at the board is an estimate, and of what."""
    if athlete.guess is not None or athlete.speed is not None:
        return None
    sprinted, of = _sprinted(athlete), "the best or target jump"
    if sprinted is not None:
        fits = abs(sprinted - entry) < 1e-9
        of = (
            "the flying 30 m"
            if fits
            else f"{of} (by the flying 30 m {sprinted:.1f}, too far from it to count)"
        )
    unused = athlete.flying_30 is not None and not athlete.strides_given
    more = " With the strides of the full approach the flying 30 m would count." if unused else ""
    return Note(
        "speed-estimated",
        f"No approach speed given: {entry:.1f} m/s is an estimate from {of}. A timed one makes every "
        f"drill's spacing better.{more}",
        "ours",
        grave=False,
    )


def _untold(athlete: Athlete) -> Iterator[Note]:
    if not athlete.mass_given:
        width = 2.0 * guessed_mass(athlete.build, athlete.stature)[1]
        yield Note(
            "mass-guessed",
            f"No mass given: taken as {athlete.mass:.0f} kg, give or take {width:.0f} kg, as young "
            "jumpers of that height have it. No length depends on it; the figure in motion does.",
            GUESSED,
            grave=False,
        )
    if not athlete.leg_given:
        yield Note(
            "leg-guessed",
            f"No take-off leg given: set out for the {athlete.leg}. If it is the other, every foot changes "
            "over.",
            "ours",
        )


def _notes(athlete: Athlete, shown: Form, form: Form, reach: float) -> Iterator[Note]:
    if reach < athlete.target - 0.005:
        yield Note(
            "beyond-shown",
            f"The target of {athlete.target:.2f} m asks for more than {100 * SHOWN_MARGIN:.0f} % over "
            f"the speeds of the best jump; drills are spaced for {reach:.2f} m, the longest within "
            "that. Aim at a nearer total first.",
            "carry model, ours",
        )
    if athlete.best and athlete.jumped and athlete.best_behind:
        yield Note(
            "best-effective",
            f"The best of {athlete.best:.2f} m was taken off {100 * athlete.best_behind:.0f} cm behind the "
            f"line: {athlete.jumped:.2f} m from toe to sand, which the drills are worked out from.",
            "effective distance: official and the toe behind the line",
            grave=False,
        )
    more = form.entry / shown.entry - 1.0
    if abs(more) > 0.005:
        known_as = "the timed speed" if athlete.speed is not None else "the best jump's estimate"
        yield Note(
            "needs-speed",
            f"The target asks for about {form.entry:.2f} m/s at the board, {100 * more:+.1f} % on "
            f"{known_as}, {shown.entry:.2f} m/s. The drills are spaced for the target.",
            "carry model, ours",
            grave=more > 0.03,
        )
    yield from _untold(athlete)
    if athlete.guess is not None:
        yield Note("total-guessed", athlete.guess.text, GUESSED)
    if note := _speed_note(athlete, shown.entry):
        yield note
    if athlete.calibration.slope is None:
        yield Note(
            "carry-default",
            f"Speed carried through contacts by {'careful' if athlete.held_low else 'default'} parameters "
            f"(slope {SLOPE:g}, from memory), not fitted to this athlete.",
            f"form: Yu & Hay 1996; shares of speed lost: {source_of('losses')}",
            grave=False,
        )
