"""Jobs of a squad, done by any executor and kept in a folder: no job twice, no coach's change lost.

A job is a plain function of values; only this process writes files, so the workers of an executor
of `concurrent.futures` need not share a disk with it. What is finished stands in the folder's ledger,
a line a file: a fingerprint of what it was made from and one of its content. A file whose content is
no longer the ledger's was changed by somebody: it is kept, never replaced unless asked.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, as_completed
from dataclasses import dataclass, field, replace
from hashlib import blake2b
from pathlib import Path
from typing import Any, Final

from animate.motion.outcome import Stopped
from animate.refused import Refused
from animate.whole_file import fill_with, read_whole, write_whole
from layout import __version__
from layout.squad.laid import NoMarks
from layout.squad.roster import Member
from layout.words.faults import BadInput, Fault, not_written, shown

ATHLETES: Final = "athletes"  # Folder of the athletes' own files, inside the squad's
Tell = Callable[[int, int], None]  # Told how many jobs are done, and of how many


LEDGER: Final = "phasemark-done.jsonl"
LARGEST: Final = 500_000_000
"""A file looked at most [bytes]: a pack of a large squad has tens of millions."""


def fingerprint(*values: Any) -> str:
    """What a file was made from, as 32 hexadecimal figures."""
    return blake2b(repr((__version__, *values)).encode(), digest_size=16).hexdigest()


@dataclass
class Report:
    """What a run did."""

    made: list[str] = field(default_factory=list)
    finished: list[str] = field(default_factory=list)  # Found so from before
    kept: list[str] = field(default_factory=list)  # As somebody changed them or they are not ours
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
    faults: Sequence[Fault]
    more: Any = None


def caught(
    work: Callable[..., None], member: Member | None, drill: str, *given: Any
) -> list[Fault]:
    """Faults of one piece of work, whatever it raises but that it was stopped, so that the others go on."""
    file, line = (member.file, member.line) if member else ("", 0)
    name = f"{member.athlete.name if member else 'squad'}, {drill}"
    try:
        work(*given)
    except Stopped:
        raise
    except BadInput as error:
        placed = error.at(file, line).faults
        return [replace(f, field=f"{name}: {f.field}") for f in placed]
    except Exception as error:
        kind = f"{type(error).__name__}: {shown(error)}"
        return [Fault(name, f"a fault of the program, not of yours ({kind})", None, file, line)]
    return []


class Ledger:
    """What is finished in a folder: one line a file, added as files are written."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.path = folder, folder / LEDGER
        self.rows = self._read()
        if self.path.is_file():
            self.close()

    def _read(self) -> dict[str, tuple[str, str]]:
        try:
            text = read_whole(self.path, LARGEST).decode(errors="replace")
        except (OSError, ValueError):
            return {}
        rows = {}
        for line in text.splitlines():
            # A line cut short by a stopped run says nothing; its file is then compared instead.
            try:
                row = json.loads(line)
                rows[str(row["file"])] = str(row["made_from"]), str(row["content"])
            except (ValueError, KeyError, TypeError, RecursionError):
                continue
        return rows

    def state(self, name: str, made_from: str) -> str:
        """Of one file: missing, finished, stale, changed (by somebody) or unknown (not ours)."""
        try:
            data = read_whole(self.folder / name, LARGEST)
        except FileNotFoundError:
            # A link that leads nowhere is somebody's all the same.
            return "unknown" if os.path.lexists(self.folder / name) else "missing"
        except (OSError, ValueError):
            return "unknown"
        if name not in self.rows:
            return "unknown"
        inputs, content = self.rows[name]
        if content != fingerprint(data):
            return "changed"
        return "finished" if inputs == made_from else "stale"

    def write(self, name: str, data: bytes, made_from: str, state: str, overwrite: bool) -> str:
        """Write one file and its line; returns "made", "finished" or "kept"."""
        path = self.folder / name
        outcome = "finished"
        if state == "missing" or not _holds(path, data):
            if state in ("changed", "unknown") and not overwrite:
                return "kept"
            outcome = "made"
            try:
                _write(path, data, state != "missing")
            except BadInput:
                if state != "missing" or not path.is_file():
                    raise
                # Another run in the same folder was faster.
                if not _holds(path, data):
                    return "kept"
                outcome = "finished"
        self.rows[name] = made_from, fingerprint(data)
        try:
            with open(self.path, "a", encoding="utf-8") as stream:
                stream.write(self._line(name))
        except OSError as error:
            rule = f"cannot be written ({error.strerror})"
            raise BadInput([Fault("output", rule, None, str(self.path))]) from None
        return outcome

    def _line(self, name: str) -> str:
        inputs, content = self.rows[name]
        row = {"file": name, "made_from": inputs, "content": content}
        return json.dumps(row, ensure_ascii=False) + "\n"

    def close(self) -> None:
        """Put the ledger in order: one line a file, also of those that another run added meanwhile."""
        self.rows = {**self._read(), **self.rows}
        text = "".join(self._line(name) for name in sorted(self.rows))
        _write(self.path, text.encode(), True)


def _holds(path: Path, data: bytes) -> bool:
    """Whether a file is there with just this content."""
    try:
        return read_whole(path, LARGEST) == data
    except (OSError, ValueError):
        return False


def _write(path: Path, data: bytes, overwrite: bool) -> None:
    try:
        write_whole(path, fill_with(data), overwrite)
    except Refused as error:
        raise not_written(error, path) from None


class Work:
    """One run over one folder, or over none: what is wanted, the jobs, and what they made.

    The folder is made where it is not there; without one no file is kept.
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
