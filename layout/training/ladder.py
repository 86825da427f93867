"""Where an athlete stands on the ladder, and what moves them up, sideways or down."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from layout.athlete.athlete import Athlete
from layout.rules.cautions import UNTIL_GONE
from layout.rules.demand import PRACTICE, SHOCK, closed_to
from layout.rules.standing import Standing
from layout.training.rungs import Ladder, Rung
from layout.training.seen import Observed, asked, falls, judge
from layout.words.faults import BadInput, refuse
from layout.words.note import Note

STALE: Final = 2
"""After this many times a rung's sessions without going up, another drill of its height (ours)."""
MOVED: Final = {
    "up": "Up to",
    "stay": "Stay on",
    "sideways": "Sideways to",
    "down": "Down to",
    "rest": "Rest. Now on",
}
"""What an athlete is told to do, before the name of a rung."""


@dataclass(frozen=True)
class Placing:
    """Where an athlete goes next and why.

    Rest: no jumping now, because of pain. `came_from` is the rung counted from, taken as the level's start
    where none was named (`first`); `ask` is what must be seen on `rung` to go up, `closed` the rungs not
    open to this athlete with their reasons, `standing` how the athlete counted.
    """

    advice: str
    rung: Rung
    came_from: Rung
    first: bool
    reasons: tuple[Note, ...]
    up: Rung | None
    sideways: Rung | None
    down: Rung | None
    ask: tuple[str, ...]
    closed: tuple[tuple[Rung, Note], ...]
    standing: Standing


def closed(rung: Rung, athlete: Athlete, on: datetime.date) -> Note | None:
    """Why a rung is not open to an athlete on a day; None where it is.

    Unknown age, level or history is taken as `standing` says. Source: `layout.rules.demand`; ages, levels
    and years of the ladder and the catalogue.
    """
    stands = athlete.standing(on)
    why = closed_to(stands, rung.demand, athlete.name)
    if why is not None:
        return Note(why.code, why.text, why.source)
    if stands.years < rung.years:
        text = f"After {rung.years:g} training years; it is {stands.years:g}."
        return Note("years", f"{text} {stands.taken('training_years')}".strip(), "ours")
    full = athlete.full_strides(on)
    if rung.drill.start == "run" and rung.strides(full) > full:
        text = f"Wants {rung.strides(full)} strides; the full approach has {full}."
        return Note("strides", text, "ours")
    return None


# --- moving ---------------------------------------------------------------------------------------


def _first(rungs: list[Rung], level: str, ladder: Ladder) -> Rung:
    """The start rung of a level, or the highest open one below it."""
    start = next((r for r in ladder.rungs if r.start == level), ladder.rungs[0])
    if start in rungs:
        return start
    below = [r for r in rungs if r.height <= start.height]
    return _lowest_of(below[-1].height, below) if below else rungs[0]


def _lowest_of(height: int, rungs: list[Rung]) -> Rung:
    return next(r for r in rungs if r.height == height)


def above(rung: Rung, rungs: list[Rung]) -> Rung | None:
    """The first open rung of the next height that has one."""
    return next((r for r in rungs if r.height > rung.height), None)


def below(rung: Rung, rungs: list[Rung]) -> Rung | None:
    """The first open rung of the next height down that has one."""
    lower = [r for r in rungs if r.height < rung.height]
    return _lowest_of(lower[-1].height, lower) if lower else None


def beside(rung: Rung, rungs: list[Rung]) -> Rung | None:
    """The next open rung of the same height, going round; never a shock-level one from an easier."""
    shock = rung.intensity == SHOCK
    same = [r for r in rungs if r.height == rung.height and (shock or r.intensity != SHOCK)]
    if rung not in same:
        return same[0] if same else None
    after = same[(same.index(rung) + 1) % len(same)]
    return None if after is rung else after


def open_rungs(
    athlete: Athlete, on: datetime.date, ladder: Ladder
) -> tuple[list[Rung], tuple[tuple[Rung, Note], ...]]:
    """Rungs open to an athlete on a day, and those closed with their reasons."""
    fine, shut = [], []
    for rung in ladder.rungs:
        why = closed(rung, athlete, on)
        if why is None:
            fine.append(rung)
        else:
            shut.append((rung, why))
    return fine, tuple(shut)


def held(here: Rung, shut: Mapping[Rung, Note], standing: Standing) -> Note | None:
    """Why the rung an athlete is on stays open: closed by nothing but years that nobody has told."""
    why = shut.get(here)
    if why is None or why.code != "years" or not standing.taken("training_years"):
        return None
    asks = f"it asks {here.years:g} training years"
    text = f"Stays open, since the athlete is on it; {asks}: give the years of training."
    return Note("held", text, "ours", grave=False)


def next_rung(athlete: Athlete, observed: Observed, ladder: Ladder) -> Placing:
    """Where an athlete goes from what was seen: up, stay, sideways, down, or rest.

    In this order: pain rests; a rung that is not open goes down to the highest open one, but for one
    that only the taken training years close: whoever is on it stays; loud or slow contacts or too few
    runs on the marks go down; everything asked for the next rung met goes up; only knee gap or step
    share missed goes sideways, and so does staying for twice the rung's sessions; all else stays.
    One rung at a time. Nothing is read, kept or printed.
    """
    rungs, shut = open_rungs(athlete, observed.on, ladder)
    first = observed.at is None
    if not rungs:
        raise no_rung(athlete, ladder, shut)
    stands = athlete.standing(observed.on)
    here = _first(rungs, stands.level, ladder) if observed.at is None else ladder.find(observed.at)
    kept = held(here, dict(shut), stands)
    free = rungs if kept is None else [r for r in ladder.rungs if r in rungs or r == here]
    move, goal, reasons = _move(here, free, dict(shut), athlete, observed)
    if kept is not None and goal == here:
        reasons = (*reasons, kept)
        shut = tuple(row for row in shut if row[0] != here)
    if first:
        text = f"No rung named, so counted from where {stands.level} athletes start."
        if here.start != stands.level:
            text = "No rung named, so counted from the open rung nearest the start."
        reasons = (Note("start", text, "ours", grave=False), *reasons)
    up = above(goal, rungs)
    return Placing(
        advice=move,
        rung=goal,
        came_from=here,
        first=first,
        reasons=reasons,
        up=up,
        sideways=beside(goal, rungs),
        down=below(goal, rungs),
        ask=() if up is None else asked(up.enter, goal),
        closed=shut,
        standing=stands,
    )


def no_rung(athlete: Athlete, ladder: Ladder, shut: tuple[tuple[Rung, Note], ...]) -> BadInput:
    """The refusal where every rung is closed."""
    rung, why = shut[0]
    rule = f"no rung is open to {athlete.name}. The lowest is {rung.slug}: {why.text}"
    return refuse("ladder", rule)


Moved = tuple[str, Rung, tuple[Note, ...]]


def _move(
    here: Rung, rungs: list[Rung], shut: dict[Rung, Note], athlete: Athlete, seen: Observed
) -> Moved:
    if seen.pain:
        return "rest", here, (Note("pain", f"Pain: {UNTIL_GONE}.", PRACTICE),)
    lower, other = below(here, rungs), beside(here, rungs)
    if here not in rungs:
        why = shut[here]
        notes = (Note(why.code, f"{here.title}: {why.text}", why.source),)
        if lower is not None:
            return "down", lower, notes
        if other is not None:
            return "sideways", other, notes
        raise refuse("at", f"no rung this low is open; {why.text}", here.slug)
    down = falls(here, seen)
    if down and lower is not None:
        return "down", lower, tuple(down)
    if down:
        text = "There is no lower rung: bring each mark in by a shoe, and halve the runs."
        return "stay", here, (*down, Note("lowest", text, PRACTICE))
    goal = above(here, rungs)
    stale = seen.sessions is not None and seen.sessions >= STALE * here.sessions
    if goal is None:
        top = _top(here, shut, athlete, seen.on)
        if other is None or not stale:
            return "stay", here, (top,)
        text = f"{seen.sessions} sessions here: another drill of this height."
        return "sideways", other, (Note("stale", text, "ours"), top)
    if seen.nothing:
        text = "Nothing seen on this rung yet: runs on the marks and sound decide."
        return "stay", here, (Note("nothing-seen", text, "ours", grave=False),)
    found = judge(goal.enter, seen, athlete, here.sessions)
    if not found.held and not found.shape:
        return "up", goal, found.met
    if other is not None and (stale or (found.shape and not found.held)):
        why_not = (*found.shape, *found.held, *found.met)
        if stale:
            text = f"{seen.sessions} sessions here without going up: another drill of this height."
            why_not = (Note("stale", text, "ours"), *why_not)
        return "sideways", other, why_not
    return "stay", here, (*found.held, *found.shape, *found.met)


def _top(here: Rung, shut: dict[Rung, Note], athlete: Athlete, on: datetime.date) -> Note:
    """Why there is no rung to climb to: the ladder ends, or the next is closed."""
    higher = [r for r in shut if r.height > here.height]
    if not higher:
        return Note("top", "This is the top of the ladder.", "ours", grave=False)
    why = shut[higher[0]]
    text = f"The next, {higher[0].title.lower()}, is closed. {why.text}"
    mends = next((r for r in higher if shut[r].code == "years"), higher[0])
    if mends is not higher[0] and athlete.standing(on).taken("training_years"):
        text = f"{text} {mends.title}: {shut[mends].text}"
    return Note(why.code, text, why.source)
