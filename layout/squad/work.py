"""Jobs of a squad, done by any executor and kept in a folder: no job twice, no coach's change lost.

A job is a plain function of values; only this process writes files, so the workers of an executor
of `concurrent.futures` need not share a disk with it. What is finished stands in the folder's ledger
(layout.squad.ledger).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, as_completed
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from layout.squad.laid import NoMarks
from layout.squad.ledger import Ledger, fingerprint
from layout.squad.roster import Member
from layout.words.faults import BadInput, Fault, shown

ATHLETES: Final = "athletes"
"""Folder of the athletes' own files, inside the squad's."""
Tell = Callable[[int, int], None]
"""Told how many jobs are done, and of how many."""


@dataclass
class Report:
    """What a run did."""

    # made, finished: Files written, and files found finished from before
    made: list[str] = field(default_factory=list)
    finished: list[str] = field(default_factory=list)
    # Files left as they are, since somebody changed them or they are not ours
    kept: list[str] = field(default_factory=list)
    # Of athletes and drills that could not be done
    faults: list[Fault] = field(default_factory=list)
    # Drills and the athletes they are closed to, for whom nothing is made
    closed: list[tuple[str, NoMarks]] = field(default_factory=list)
    whole: bool = True  # False where a worker stopped, so that some jobs were not done

    def close_to(self, shut: Mapping[str, Mapping[int, NoMarks]]) -> None:
        """Note the drills that are closed to somebody."""
        self.closed = [(slug, why) for slug, rows in shut.items() for why in rows.values()]


@dataclass(frozen=True)
class JobDone:
    """What a job hands back: files by name, faults, and what the run goes on with."""

    files: Mapping[str, bytes]
    faults: tuple[Fault, ...]
    more: Any = None


def caught(work: Callable[[], None], member: Member | None, name: str) -> tuple[Fault, ...]:
    """Faults of one piece of work, whatever it raises, so that the others go on."""
    file, line = (member.file, member.line) if member else ("", 0)
    try:
        work()
    except BadInput as error:
        placed = error.at(file, line).faults
        return tuple(replace(f, field=f"{name}: {f.field}") for f in placed)
    except Exception as error:
        kind = f"{type(error).__name__}: {shown(error)}"
        return (Fault(name, f"a fault of the program, not of yours ({kind})", None, file, line),)
    return ()


class Work:
    """One run over one folder, or over none: what is wanted, the jobs, and what they made.

    folder: made where it is not there; without one no file is kept.
    overwrite: replace files that somebody changed, too.
    """

    def __init__(
        self, folder: Path | None = None, overwrite: bool = False, tell: Tell | None = None
    ) -> None:
        self.report, self.overwrite = Report(), overwrite
        self.made_from: dict[str, str] = {}
        self.tell, self._done, self._total = tell, 0, 0
        self.ledger: Ledger | None = None
        if folder is not None:
            try:
                (folder / ATHLETES).mkdir(parents=True, exist_ok=True)
            except OSError as error:
                rule = f"cannot be made ({error.strerror})"
                raise BadInput([Fault("folder", rule, None, str(folder / ATHLETES))]) from None
            self.ledger = Ledger(folder)

    def wanted(self, names: Sequence[str], made_from: str) -> bool:
        """Whether any of a job's files is to be made; notes those that are not."""
        assert self.ledger is not None
        self.made_from |= dict.fromkeys(names, made_from)
        states = {n: self.ledger.state(n, made_from) for n in names}
        again = {"missing", "stale", "unknown", *(["changed"] if self.overwrite else [])}
        if again & set(states.values()):
            return True
        for name, state in states.items():
            (self.report.finished if state == "finished" else self.report.kept).append(name)
        return False

    def keep(self, name: str, data: bytes, made_from: str = "") -> None:
        """Write a file of the folder unless it stands there already or somebody changed it."""
        if self.ledger is None:
            return
        made_from = made_from or self.made_from.get(name) or fingerprint(data)
        state = self.ledger.state(name, made_from)
        outcome = self.ledger.write(name, data, made_from, state, self.overwrite)
        into = {"made": self.report.made, "finished": self.report.finished}
        into.get(outcome, self.report.kept).append(name)

    def expect(self, total: int) -> None:
        """Say how many jobs there will be."""
        self._total = total
        if self.tell:
            self.tell(0, total)

    def run(
        self,
        executor: Executor,
        jobs: Sequence[tuple[Any, ...]],
        key: Callable[[int], str] | None = None,
    ) -> dict[int, JobDone]:
        """Do jobs, each a function and what it is given, and keep their files as they are made.

        Returns what each job handed back, by its place; not of those whose worker stopped. After one
        did, no later run starts any. `key` tells what a job's files were made from, once it is done.
        """
        out: dict[int, JobDone] = {}
        running: dict[Future[JobDone], int] = {}
        try:
            for i, job in enumerate(jobs if self.report.whole else ()):
                running[executor.submit(*job)] = i
            for future in as_completed(running):
                i = running[future]
                try:
                    made = out[i] = future.result()
                except BrokenExecutor:
                    self.report.whole = False  # others may have been done before the workers went
                    continue
                self.report.faults += made.faults
                made_from = key(i) if key and self.ledger is not None else ""
                for name, data in made.files.items():
                    self.keep(name, data, made_from)
                self._done += 1
                if self.tell:
                    self.tell(self._done, self._total)
        except BrokenExecutor:
            self.report.whole = False
        finally:
            for future in running:
                future.cancel()
        return dict(sorted(out.items()))

    def close(self) -> Report:
        """Put the ledger in order, and say what was done."""
        if self.ledger is not None:
            self.ledger.close()
        if not self.report.whole:
            rule = "a worker stopped; run the same again, what is finished is kept"
            self.report.faults.append(Fault("squad", rule))
        self.report.faults.sort(key=lambda f: (f.file, f.line, f.field))
        return self.report


def names_of(files: Iterable[str], most: int = 5) -> str:
    """A few file names for a message."""
    names = list(files)
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
