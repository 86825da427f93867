"""The load of one planned session: contacts by kind and leg, forces, balance and budget."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from layout.athlete.athlete import Athlete
from layout.plan.drill import GO_ON, Drill, find_drill
from layout.plan.spacing import OTHER, Choices, make_plan
from layout.plan.value import Contact, Plan
from layout.plan.venue import Venue
from layout.rules.budget import Budget, budget_of
from layout.rules.cautions import cautions_for
from layout.rules.demand import Demand, closed_to, despite_text
from layout.rules.load import PEAKS, REST, Peak, dose_for
from layout.rules.standing import Standing
from layout.training.rungs import HARD, Ladder
from layout.words.faults import BadInput, Fault, refuse
from layout.words.note import Note
from layout.words.trade import LEVELS

CONTACT_KINDS: Final = tuple(PEAKS)
"""Of contacts, named by what the contact takes off into."""
UNEVEN: Final = 0.60
"""One leg with more than this share of the one-foot contacts is said (ours)."""
MOST_PARTS: Final = 20
FROM_PLAN: Final = ("too-young", "shock", "level", "age-unknown", "surface")
"""Warnings of a plan that a session repeats."""
HARD_DOSES: Final = 1.0
"""Doses of hard drills, together, that one session holds (ours)."""


@dataclass(frozen=True)
class Task:
    """One drill of a session as a coach names it, by drill or rung.

    `rest` is the hours needed after it, `dose` the sets and runs that the drill or rung gives this athlete;
    `despite` says why it is closed to the athlete, and who goes on all the same.
    """

    name: str
    drill: Drill
    choices: Choices
    sets: int
    runs: int
    rest: int
    dose: tuple[int, int]
    demand: Demand
    despite: Note | None = None

    @property
    def doses(self) -> float:
        """How many times the drill's own dose this is."""
        return self.sets * self.runs / (self.dose[0] * self.dose[1])


@dataclass(frozen=True)
class Planned:
    """A task with its plan and the contacts of all its runs; `changing`: every second run changes legs."""

    task: Task
    plan: Plan
    contacts: int
    changing: bool


@dataclass(frozen=True)
class KindLoad:
    """All contacts of one kind in a session, by foot.

    Least and most mean force [body weights], None where the model has none; peaks are published, from full
    jumps.
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
    """One session's load; `rest` is the hours needed before the next."""

    name: str
    on: datetime.date
    done: tuple[Planned, ...]
    kinds: tuple[KindLoad, ...]
    budget: Budget
    rest: int
    notes: tuple[Note, ...]
    cautions: tuple[str, ...]
    standing: Standing

    @property
    def contacts(self) -> int:
        """Of the whole session."""
        return sum(k.contacts for k in self.kinds)

    @property
    def over(self) -> bool:
        """Whether it is over the budget."""
        return self.contacts > self.budget.most

    @property
    def balance(self) -> tuple[int, int] | None:
        """Shares of the one-foot contacts, left and right [per cent]; None without any."""
        one_foot = self.left + self.right
        share = round(100 * self.left / one_foot) if one_foot else 0
        return (share, 100 - share) if one_foot else None

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
    despite: str | None = None,
) -> tuple[Task, ...]:
    """Tasks from "hop-step-sand:3x4, bounds-six"; without sets x runs the drill's or rung's dose.

    A dose that is written is kept as written; one that is not is checked against youth limits. Drills that
    are closed to the athlete are refused, all of them at once, unless `despite` says who goes on and why.
    """
    words = [w.strip() for w in text.split(",")]
    if len(words) > MOST_PARTS:
        raise refuse("session", f"at most {MOST_PARTS} drills allowed", len(words))
    stands = athlete.standing(on)
    rungs = {r.slug: r for r in ladder.rungs}
    out, shut = [], []
    for word in words:
        name, colon, amount = (p.strip() for p in word.partition(":"))
        if not name:
            rule = "drills such as hop-step-sand:3x4, commas between, needed"
            raise refuse("session", rule, text)
        rung = rungs.get(name.lower())
        drill, choices = (rung.drill, rung.choices) if rung else (find_drill(name, own), Choices())
        per_run = rung.contacts if rung else drill.contacts
        usual = rung.dose_at(stands.level) if rung else drill.dose[LEVELS.index(stands.level)]
        held = dose_for(*usual, per_run, stands)
        dose = held.sets, held.runs
        sets, runs = dose if not colon else _amount(amount, word)
        rest = rung.rest if rung else REST[drill.intensity in HARD]
        slug, demand = (rung.slug, rung.demand) if rung else (drill.slug, drill.demand())
        task = Task(slug, drill, choices, sets, runs, rest, dose, demand)
        why = closed_to(stands, demand, athlete.name)
        if why is not None:
            rule = f"{slug} is closed to {athlete.name}, so no session with it: {why.text}"
            shut.append(Fault("session", f"{rule} {GO_ON}"))
            note = Note(why.code, despite_text(why, despite or ""), why.source)
            task = replace(task, choices=replace(choices, despite=despite), despite=note)
        out.append(task)
    if shut and despite is None:
        raise BadInput(dict.fromkeys(shut))
    return tuple(out)


def _amount(text: str, word: str) -> tuple[int, int]:
    match = re.fullmatch(r"([0-9]{1,2}) *[x×*] *([0-9]{1,2})", text.lower())
    if not match or not (1 <= int(match[1]) <= 20 and 1 <= int(match[2]) <= 40):
        raise refuse("session", "sets x runs such as 3x4 (1 to 20, 1 to 40) needed", word)
    return int(match[1]), int(match[2])


def kind_of(contact: Contact) -> str:
    """The kind of a contact, named by what it takes off into."""
    if contact.surface == "sand":
        return "sand landing"
    if contact.leave == "end":
        return "track landing"
    return "run take-off" if contact.arrive == "run" else contact.leave


def _kinds(all_done: Sequence[Planned]) -> Iterator[KindLoad]:
    for kind in CONTACT_KINDS:
        feet = {"left": 0, "right": 0, "both": 0}
        forces: list[tuple[float, float]] = []
        for done in all_done:
            runs = done.task.sets * done.task.runs
            other = runs // 2 if done.changing else 0
            for contact in done.plan.contacts:
                if contact.arrive == "stand" or kind_of(contact) != kind:
                    continue
                feet[contact.foot] += runs - other
                feet[OTHER.get(contact.foot, "both")] += other
                if contact.vertical is not None and contact.braking is not None:
                    forces.append((contact.vertical, contact.braking))
        if any(feet.values()):
            spread = [(min(f), max(f)) for f in zip(*forces, strict=True)]
            vertical, braking = spread or (None, None)
            yield KindLoad(kind, **feet, vertical=vertical, braking=braking, peaks=PEAKS[kind])


def _notes(
    all_done: Sequence[Planned], kinds: Sequence[KindLoad], budget: Budget
) -> Iterator[Note]:
    seen = {
        f"{t.name}: {t.despite.text}": t.despite for t in (d.task for d in all_done) if t.despite
    }
    for text, why in seen.items():
        yield replace(why, text=text)
    contacts = sum(k.contacts for k in kinds)
    if contacts > budget.most:
        text = f"{contacts} contacts; {budget.text}. "
        text += "Cut the session to that." if budget.sets else f"Take {contacts - budget.most} off."
        yield Note("over-budget", text, budget.source)
    if budget.sets:
        yield from _youth_notes(all_done, budget)
    yield from _dose_notes(all_done)
    for done in all_done:
        for note in done.plan.warnings:
            text = note.text if note.code == "age-unknown" else f"{done.task.name}: {note.text}"
            if note.code in FROM_PLAN and text not in seen:
                seen[text] = note
                yield Note(note.code, text, note.source)
    left, right = sum(k.left for k in kinds), sum(k.right for k in kinds)
    leg, most = ("left", left) if left > right else ("right", right)
    if most > UNEVEN * (left + right):
        share = 100 * most / (left + right)
        yield Note("uneven", f"{share:.0f} % of the one-foot contacts are on the {leg} leg: start some "
                   "runs on the other, at easier marks.", "ours", grave=False)  # fmt: skip


def _youth_notes(all_done: Sequence[Planned], budget: Budget) -> Iterator[Note]:
    sets = sum(d.task.sets for d in all_done)
    if sets > budget.sets:
        yield Note("youth-sets", f"{sets} sets; at most {budget.sets} in a session {budget.who}, all drills "
                   "together.", budget.source)  # fmt: skip
    for done in all_done:
        in_set = done.task.runs * done.plan.load.per_run
        if in_set > budget.reps:
            yield Note("youth-reps", f"{done.task.name}: {in_set} contacts a set; at most {budget.reps} "
                       f"{budget.who}.", budget.source)  # fmt: skip


def _dose_notes(all_done: Sequence[Planned]) -> Iterator[Note]:
    """Drills over their own dose, and hard drills that come to more than one dose together."""
    by: dict[str, list[Task]] = {}
    for done in all_done:
        by.setdefault(done.task.drill.slug, []).append(done.task)
    for slug, tasks in by.items():
        runs, (sets, each) = sum(t.sets * t.runs for t in tasks), tasks[0].dose
        if sum(t.doses for t in tasks) > 1.0 + 1e-9:
            text = f"{slug}, {tasks[0].demand.intensity}: {runs} runs; its dose here is {sets} x {each}"
            yield Note("over-dose", f"{text}, so {sets * each}. Cut it to that.", "ours")
    hard = [t for tasks in by.values() for t in tasks if t.demand.intensity in HARD]
    whole = sum(t.doses for t in hard)
    if len({t.drill.slug for t in hard}) > 1 and whole > HARD_DOSES + 1e-9:
        names = ", ".join(dict.fromkeys(t.name for t in hard))
        yield Note("hard-together", f"Hard drills, {names}: {whole:.1f} doses together; one session holds "
                   f"{HARD_DOSES:g}.", "ours")  # fmt: skip


def session_load(
    athlete: Athlete, tasks: Sequence[Task], venue: Venue, on: datetime.date
) -> SessionLoad:
    """The load of a session of at least one task.

    Mean forces are the plan's: F/W = 1 + gain / (g t), and loss / (g t) [body weights]. Peaks are published
    ones of full triple jumps. In a drill that either leg may lead, every second run changes legs.

    >>> from importlib.resources import files
    >>> from layout import find_venue, read_athlete
    >>> from layout.training.rungs import ladder
    >>> tevin, day = read_athlete(files("layout.catalogue.club") / "tevin.toml"), datetime.date(2026, 11, 26)
    >>> tasks = parse_session("hop-step-sand:3x4, hop-step-hold:2x3", tevin, day, ladder())
    >>> load = session_load(tevin, tasks, find_venue("club"), day)
    >>> load.contacts, load.left, load.right, load.rest
    (48, 18, 30, 48)
    >>> [(k.kind, k.contacts, k.vertical and round(k.vertical[0], 2)) for k in load.kinds][:2]
    [('run take-off', 12, 2.08), ('step', 18, 2.63)]
    """
    if not tasks:
        raise refuse("session", "at least one drill needed")
    all_done = []
    for task in tasks:
        plan = make_plan(athlete, task.drill, venue, on, task.choices)
        contacts = plan.load.per_run * task.sets * task.runs
        changing = task.drill.lead == "either" and task.choices.lead is None
        all_done.append(Planned(task, plan, contacts, changing))
    kinds = tuple(_kinds(all_done))
    own = tuple(dict.fromkeys(c for t in tasks for c in t.drill.cautions))
    stands = athlete.standing(on)
    budget = budget_of(stands)
    return SessionLoad(
        name=athlete.name,
        on=on,
        done=tuple(all_done),
        kinds=kinds,
        budget=budget,
        rest=max(t.rest for t in tasks),
        notes=tuple(_notes(all_done, kinds, budget)),
        cautions=cautions_for(own, stands),
        standing=stands,
    )
