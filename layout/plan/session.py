"""The load of one planned session: contacts by kind and leg, forces, balance and budget."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from layout.faults import refuse
from layout.plan.athlete import Athlete
from layout.plan.block import Block, Part
from layout.plan.cautions import cautions_for
from layout.plan.drill import Drill, find_drill
from layout.plan.load import (
    BUDGET,
    PEAKS,
    REST,
    YOUTH_AGE,
    YOUTH_REPS,
    YOUTH_SETS,
    Peak,
    counted_age,
    dose_for,
)
from layout.plan.rungs import HARD, Ladder
from layout.plan.spacing import OTHER, Choices, make_plan
from layout.plan.value import Contact, Note, Plan
from layout.plan.venue import Venue
from layout.plan.words import LEVELS

KINDS: Final = tuple(PEAKS)
"""Of contacts, named by what the contact takes off into."""
UNEVEN: Final = 0.60
"""One leg with more than this share of the one-foot contacts is said (ours)."""
MOST_PARTS: Final = 20
FROM_PLAN: Final = ("too-young", "shock", "level", "age-unknown", "surface")
"""Warnings of a plan that a session repeats."""
BUDGET_SOURCE: Final = "NSCA Essentials of Strength Training (from memory)"


@dataclass(frozen=True)
class Task:
    """One drill of a session as a coach names it.

    Attributes
    ----------
    name : str
        Of a drill or a rung.
    drill : Drill
    choices : Choices
    sets, runs : int
    rest : int
        Hours wanted after it.
    """

    name: str
    drill: Drill
    choices: Choices
    sets: int
    runs: int
    rest: int


@dataclass(frozen=True)
class Done:
    """A task with its plan.

    Attributes
    ----------
    task : Task
    plan : Plan
    contacts : int
        Of all runs.
    changing : bool
        Whether every second run starts on the other leg.
    """

    task: Task
    plan: Plan
    contacts: int
    changing: bool


@dataclass(frozen=True)
class KindLoad:
    """All contacts of one kind in a session.

    Attributes
    ----------
    kind : str
    left, right, both : int
        Contacts by foot.
    vertical, braking : tuple of float or None
        Least and most mean force [body weights]; None where the model has none.
    peaks : tuple of Peak
        Published, from full jumps.
    """

    kind: str
    left: int
    right: int
    both: int
    vertical: tuple[float, float] | None
    braking: tuple[float, float] | None
    peaks: tuple[Peak, ...]

    @property
    def contacts(self) -> int:
        """By whatever foot."""
        return self.left + self.right + self.both


@dataclass(frozen=True)
class SessionLoad:
    """One session's load.

    Attributes
    ----------
    done : tuple of Done
    kinds : tuple of KindLoad
        Those that occur.
    budget : tuple of int
        Contacts a session for the level.
    rest : int
        Hours wanted before the next session.
    notes : tuple of Note
    cautions : tuple of str
    """

    done: tuple[Done, ...]
    kinds: tuple[KindLoad, ...]
    budget: tuple[int, int]
    rest: int
    notes: tuple[Note, ...]
    cautions: tuple[str, ...]

    @property
    def contacts(self) -> int:
        """Of the whole session."""
        return sum(k.contacts for k in self.kinds)

    @property
    def left(self) -> int:
        """Contacts on the left foot alone."""
        return sum(k.left for k in self.kinds)

    @property
    def right(self) -> int:
        """Contacts on the right foot alone."""
        return sum(k.right for k in self.kinds)

    @property
    def both(self) -> int:
        """Contacts on both feet."""
        return sum(k.both for k in self.kinds)


def parse_session(
    text: str,
    athlete: Athlete,
    on: datetime.date,
    ladder: Ladder,
    own: Mapping[str, Drill] | None = None,
) -> tuple[Task, ...]:
    """Tasks from "hop-step-sand:3x4, bounds-six"; without sets x runs the drill's or rung's dose.

    Parameters
    ----------
    text : str
        Names of drills or rungs, commas between.
    athlete : Athlete
    on : date
    ladder : Ladder
    own : mapping, optional
        The coach's drills.

    Returns
    -------
    tuple of Task
        A dose that is written is kept as written; one that is not is held against youth limits.

    Raises
    ------
    BadInput
    """
    words = [w.strip() for w in text.split(",")]
    if len(words) > MOST_PARTS:
        raise refuse("session", f"at most {MOST_PARTS} drills wanted", len(words))
    age = counted_age(athlete.age(on), athlete.level)
    rungs = {r.slug: r for r in ladder.rungs}
    out = []
    for word in words:
        name, colon, amount = (p.strip() for p in word.partition(":"))
        if not name:
            raise refuse(
                "session", "drills such as hop-step-sand:3x4, commas between, wanted", text
            )
        rung = rungs.get(name.lower())
        drill, choices = (rung.drill, rung.choices) if rung else (find_drill(name, own), Choices())
        per_run = rung.contacts if rung else drill.contacts
        order = LEVELS.index(athlete.level)
        sets, runs = rung.dose_at(athlete.level) if rung else drill.dose[order]
        dose = dose_for(sets, runs, per_run, athlete.level, age)
        sets, runs = (dose.sets, dose.runs) if not colon else _amount(amount, word)
        rest = rung.rest if rung else REST[drill.intensity in HARD]
        out.append(Task(rung.slug if rung else drill.slug, drill, choices, sets, runs, rest))
    return tuple(out)


def _amount(text: str, word: str) -> tuple[int, int]:
    match = re.fullmatch(r"([0-9]{1,2}) *[x×*] *([0-9]{1,2})", text.lower())
    if not match or not (1 <= int(match[1]) <= 20 and 1 <= int(match[2]) <= 40):
        raise refuse("session", "sets x runs such as 3x4 (1 to 20, 1 to 40) wanted", word)
    return int(match[1]), int(match[2])


def tasks_of(parts: Sequence[Part]) -> tuple[Task, ...]:
    """The tasks of a session of a block."""
    return tuple(
        Task(p.rung.slug, p.rung.drill, p.rung.choices, p.sets, p.runs, p.rung.rest) for p in parts
    )


def kind_of(contact: Contact) -> str:
    """The kind of a contact, named by what it takes off into."""
    if contact.surface == "sand":
        return "sand landing"
    if contact.leave == "end":
        return "track landing"
    return "run take-off" if contact.arrive == "run" else contact.leave


def _runs_by_lead(done: Done) -> tuple[int, int]:
    """Runs that start on the plan's leg, and on the other."""
    runs = done.task.sets * done.task.runs
    other = runs // 2 if done.changing else 0
    return runs - other, other


def _kinds(all_done: Sequence[Done]) -> Iterator[KindLoad]:
    for kind in KINDS:
        feet = {"left": 0, "right": 0, "both": 0}
        vertical: list[float] = []
        braking: list[float] = []
        for done in all_done:
            same, other = _runs_by_lead(done)
            for contact in done.plan.contacts:
                if contact.arrive == "stand" or kind_of(contact) != kind:
                    continue
                feet[contact.foot] += same
                feet[OTHER.get(contact.foot, "both")] += other
                if contact.vertical is not None and contact.braking is not None:
                    vertical.append(contact.vertical)
                    braking.append(contact.braking)
        if any(feet.values()):
            yield KindLoad(
                kind, feet["left"], feet["right"], feet["both"],
                (min(vertical), max(vertical)) if vertical else None,
                (min(braking), max(braking)) if braking else None,
                PEAKS[kind],
            )  # fmt: skip


def _notes(athlete: Athlete, all_done: Sequence[Done], kinds: Sequence[KindLoad]) -> Iterator[Note]:
    contacts = sum(k.contacts for k in kinds)
    low, high = BUDGET[athlete.level]
    budget = f"{low} to {high} a session at {athlete.level} level"
    if contacts > high:
        yield Note("over-budget", f"{contacts} contacts; {budget}. Take {contacts - high} off.",
                   BUDGET_SOURCE)  # fmt: skip
    age = counted_age(all_done[0].plan.who.age, athlete.level)
    if age < YOUTH_AGE:
        yield from _youth_notes(all_done)
    seen: set[str] = set()
    for done in all_done:
        for note in done.plan.warnings:
            text = note.text if note.code == "age-unknown" else f"{done.task.name}: {note.text}"
            if note.code in FROM_PLAN and text not in seen:
                seen.add(text)
                yield Note(note.code, text, note.source)
    left, right = sum(k.left for k in kinds), sum(k.right for k in kinds)
    leg, most = ("left", left) if left > right else ("right", right)
    if most > UNEVEN * (left + right):
        share = 100 * most / (left + right)
        yield Note("uneven", f"{share:.0f} % of the one-foot contacts are on the {leg} leg: start some "
                   "runs on the other, at easier marks.", "ours", grave=False)  # fmt: skip


def _youth_notes(all_done: Sequence[Done]) -> Iterator[Note]:
    sets = sum(d.task.sets for d in all_done)
    if sets > YOUTH_SETS:
        yield Note("youth-sets", f"{sets} sets; at most {YOUTH_SETS} a session under {YOUTH_AGE} (we count "
                   "all drills together).", "ACSM leaflet")  # fmt: skip
    for done in all_done:
        in_set = done.task.runs * done.plan.load.per_run
        if in_set > YOUTH_REPS:
            yield Note("youth-reps", f"{done.task.name}: {in_set} contacts a set; at most {YOUTH_REPS} under "
                       f"{YOUTH_AGE} (we count contacts).", "ACSM leaflet")  # fmt: skip


def session_load(
    athlete: Athlete, tasks: Sequence[Task], venue: Venue, on: datetime.date
) -> SessionLoad:
    """The load of a session.

    Mean forces are the plan's: F/W = 1 + gain / (g t), and loss / (g t). Peaks are published ones
    of full triple jumps. In a drill that either leg may lead, every second run changes legs.

    Parameters
    ----------
    athlete : Athlete
    tasks : sequence of Task
        At least one.
    venue : Venue
    on : date

    Returns
    -------
    SessionLoad

    Raises
    ------
    BadInput
        A drill cannot be planned.
    """
    if not tasks:
        raise refuse("session", "at least one drill wanted")
    all_done = []
    for task in tasks:
        plan = make_plan(athlete, task.drill, venue, on, task.choices)
        contacts = plan.load.per_run * task.sets * task.runs
        changing = task.drill.lead == "either" and task.choices.lead is None
        all_done.append(Done(task, plan, contacts, changing))
    kinds = tuple(_kinds(all_done))
    own = tuple(dict.fromkeys(c for t in tasks for c in t.drill.cautions))
    return SessionLoad(
        done=tuple(all_done),
        kinds=kinds,
        budget=BUDGET[athlete.level],
        rest=max(t.rest for t in tasks),
        notes=tuple(_notes(athlete, all_done, kinds)),
        cautions=cautions_for(own, athlete.age(on)),
    )


def heaviest(block: Block) -> tuple[Task, ...]:
    """The tasks of the session with most contacts of a block; none where it is empty."""
    if not block.sessions:
        return ()
    return tasks_of(max(block.sessions, key=lambda s: s.contacts).parts)
