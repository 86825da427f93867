"""A whole squad through all chosen drills: planned, shared out and drawn, and never twice.

Work is done by any executor of `concurrent.futures`; the tasks are plain functions of values, and
only this process writes files, so the executor's workers need not share a disk with it. What is
finished stands in the folder's ledger (layout.squad.ledger).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, as_completed
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from animate.film.themes import theme
from layout.page.svg import to_svg
from layout.plan.drill import Drill
from layout.plan.spacing import make_plan
from layout.plan.stored import to_json
from layout.plan.tape import tape_card
from layout.plan.value import Plan
from layout.sheet.drawing import draw
from layout.squad.laid import NoMarks, SetOut
from layout.squad.ledger import Ledger, fingerprint
from layout.squad.roster import Member
from layout.squad.shared import Runner, Settings, closed_in, setout_json, shared_out
from layout.squad.squad_drawing import on_paper, squad_page
from layout.words.faults import BadInput, Fault, shown
from layout.words.names import safe_name

ATHLETES: Final = "athletes"
"""Folder of the athletes' own drawings, inside the batch's."""


Card = Callable[[SetOut, int | None], bytes]
"""Makes a set-out's text; a function of a module, so that it can be sent to another process."""


@dataclass
class Report:
    """What a batch did.

    Attributes
    ----------
    made, finished : list of str
        Files written, and files found finished from before.
    kept : list of str
        Files left as they are, since somebody changed them or they are not ours.
    faults : list of Fault
        Of athletes and drills that could not be done.
    closed : list of (str, NoMarks)
        Drills and the athletes they are closed to, for whom nothing is made.
    """

    made: list[str] = field(default_factory=list)
    finished: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    closed: list[tuple[str, NoMarks]] = field(default_factory=list)


@dataclass(frozen=True)
class Done:
    """What one task hands back.

    Attributes
    ----------
    plans : mapping of str to Plan
        By drill.
    files : mapping of str to bytes
    faults : tuple of Fault
    """

    plans: Mapping[str, Plan]
    files: Mapping[str, bytes]
    faults: tuple[Fault, ...]


def _caught(work: Callable[[], None], file: str, line: int, name: str) -> tuple[Fault, ...]:
    """Faults of one piece of work, whatever it raises, so that the others go on."""
    try:
        work()
    except BadInput as error:
        placed = error.at(file, line).faults
        return tuple(replace(f, field=f"{name}: {f.field}") for f in placed)
    except Exception as error:
        kind = f"{type(error).__name__}: {shown(error)}"
        return (Fault(name, f"a fault of the program, not of yours ({kind})", None, file, line),)
    return ()


def athlete_files(member: Member, drill: str) -> tuple[str, str]:
    """Names of an athlete's drawing and plan, from the batch's folder."""
    stem = f"{ATHLETES}/{safe_name(member.athlete.name)}-{drill}"
    return f"{stem}.svg", f"{stem}.json"


def squad_files(drill: str) -> tuple[str, str, str]:
    """Names of a squad's drawing, tape card and values, from the batch's folder."""
    return f"{drill}.svg", f"{drill}.txt", f"{drill}.json"


def athlete_work(
    member: Member, drills: Sequence[Drill], drawn: frozenset[str], settings: Settings
) -> Done:
    """Plan one athlete's drills and draw those that are wanted; never raises for bad input.

    Parameters
    ----------
    member : Member
    drills : sequence of Drill
    drawn : frozenset of str
        Drills to draw.
    settings : Settings
    """
    plans: dict[str, Plan] = {}
    files: dict[str, bytes] = {}
    faults: list[Fault] = []

    def one(drill: Drill) -> None:
        plan = make_plan(member.athlete, drill, settings.venue, settings.on, settings.choices)
        if drill.slug in drawn:
            card = tape_card(plan, "board", settings.system, settings.step)
            page = on_paper(lambda sheet: draw(plan, card, sheet), settings.sheet)
            svg, data = athlete_files(member, drill.slug)
            files[svg] = to_svg(page, theme(settings.look)).encode()
            files[data] = to_json(plan).encode()
        plans[drill.slug] = plan

    for drill in drills:
        name = f"{member.athlete.name}, {drill.slug}"
        faults += _caught(lambda d=drill: one(d), member.file, member.line, name)  # type: ignore[misc]
    return Done(plans, files, tuple(faults))


def squad_work(
    runners: Sequence[Runner],
    closed: Sequence[NoMarks],
    drill: Drill,
    settings: Settings,
    card: Card,
) -> Done:
    """Share out and draw one drill for a squad; never raises for bad input."""
    files: dict[str, bytes] = {}
    svg, text, data = squad_files(drill.slug)

    def one() -> None:
        laid = shared_out(runners, closed, drill, settings)
        files[text] = card(laid, settings.sets)
        files[data] = setout_json(laid).encode()
        page = squad_page(laid, settings.sheet, settings.step)
        files[svg] = to_svg(page, theme(settings.look)).encode()

    return Done({}, files, _caught(one, "", 0, f"squad, {drill.slug}"))


class _Batch:
    """One run over one folder."""

    def __init__(self, folder: Path, report: Report, overwrite: bool) -> None:
        self.ledger, self.report, self.overwrite = Ledger(folder), report, overwrite
        self.made_from: dict[str, str] = {}
        self.states: dict[str, str] = {}

    def wanted(self, names: Sequence[str], made_from: str) -> bool:
        """Whether any of a task's files is to be made; notes those that are not."""
        states = {n: self.ledger.state(n, made_from) for n in names}
        if self.overwrite:
            states = {n: "stale" if s in ("changed", "unknown") else s for n, s in states.items()}
        self.made_from |= dict.fromkeys(names, made_from)
        self.states |= states
        if any(s in ("missing", "stale", "unknown") for s in states.values()):
            return True
        for name, state in states.items():
            (self.report.finished if state == "finished" else self.report.kept).append(name)
        return False

    def take(self, done: Done) -> None:
        """Write what a task made."""
        self.report.faults += done.faults
        for name, data in done.files.items():
            state = self.states[name]
            outcome = self.ledger.write(name, data, self.made_from[name], state, self.overwrite)
            into = {"made": self.report.made, "finished": self.report.finished}
            into.get(outcome, self.report.kept).append(name)


def run_batch(
    members: Sequence[Member],
    drills: Sequence[Drill],
    settings: Settings,
    folder: Path,
    executor: Executor,
    card: Card,
    overwrite: bool = False,
    tell: Callable[[int, int], None] | None = None,
) -> Report:
    """Plan, share out and draw a squad's drills into a folder, going on where a run before stopped.

    Parameters
    ----------
    members : sequence of Member
        With names that differ.
    drills : sequence of Drill
    settings : Settings
    folder : Path
        Must exist.
    executor : concurrent.futures.Executor
        Any: a pool of processes, or one that a cluster's library hands out.
    card : callable
        Text of a set-out.
    overwrite : bool
        Replace files that somebody changed, too.
    tell : callable, optional
        Told how many tasks are done, and of how many.

    Returns
    -------
    Report
        A broken athlete or drill is in its faults and stops no other.

    Raises
    ------
    BadInput
        The disk refuses; what was finished stays so.
    """
    report = Report()
    batch = _Batch(folder, report, overwrite)
    _make_folder(folder / ATHLETES)
    shut = closed_in(members, drills, settings.on, settings.choices)
    report.closed = [(slug, why) for slug, rows in shut.items() for why in rows.values()]
    squads = {
        d.slug: len(shut[d.slug]) < len(members) and batch.wanted(squad_files(d.slug), fingerprint(tuple(
            (m.athlete, m.weight) for m in members), d, settings))
        for d in drills
    }  # fmt: skip
    tasks = []
    for i, member in enumerate(members):
        open_ = [d for d in drills if i not in shut[d.slug]]
        drawn = frozenset(
            d.slug
            for d in open_
            if batch.wanted(athlete_files(member, d.slug), fingerprint(member.athlete, d, settings))
        )
        needed = [d for d in open_ if d.slug in drawn or squads[d.slug]]
        if needed:
            tasks.append((member, needed, drawn))
    total, done = len(tasks) + sum(squads.values()), 0
    tell = tell or (lambda _done, _total: None)
    tell(0, total)
    plans: dict[str, dict[int, Plan]] = {d.slug: {} for d in drills}
    place = {id(m): i for i, m in enumerate(members)}
    running: dict[Future[Done], Member | None] = {}
    broken = False
    try:
        for member, needed, drawn in tasks:
            running[executor.submit(athlete_work, member, needed, drawn, settings)] = member
        for future in as_completed(running):
            owner = running[future]
            try:
                made = future.result()
            except BrokenExecutor:
                broken = True  # others may have been done before the workers went
                continue
            batch.take(made)
            for slug, plan in made.plans.items():
                plans[slug][place[id(owner)]] = plan
            done += 1
            tell(done, total)
        running = {}
        for drill in () if broken else drills:
            mine = sorted(plans[drill.slug].items())
            if not squads[drill.slug] or not mine:
                continue
            some = [
                Runner(plan, members[i].weight, members[i].athlete.standing(settings.on).young)
                for i, plan in mine
            ]
            closed = tuple(shut[drill.slug].values())
            running[executor.submit(squad_work, some, closed, drill, settings, card)] = None
        for future in as_completed(running):
            try:
                batch.take(future.result())
            except BrokenExecutor:
                broken = True
                continue
            done += 1
            tell(done, total)
    except BrokenExecutor:
        broken = True
    finally:
        for future in running:
            future.cancel()
    if broken:
        rule = "a worker stopped; run the same again, what is finished is kept"
        report.faults.append(Fault("squad", rule))
    batch.ledger.close()
    report.faults.sort(key=lambda f: (f.file, f.line, f.field))
    return report


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        rule = f"cannot be made ({error.strerror})"
        raise BadInput([Fault("folder", rule, None, str(folder))]) from None


def names_of(files: Iterable[str], most: int = 5) -> str:
    """A few file names for a message."""
    names = list(files)
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
