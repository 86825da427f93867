"""`phasemark book` new, keep, in, out, check and erase: the book as a file."""

from __future__ import annotations

import argparse
import json
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Final

from layout.book.people import add_name, find_member, keep_athlete, keep_plan
from layout.book.sound import opened
from layout.book.store import Book, create, privacy_warning
from layout.commands.plan_ import say
from layout.commands.text import counted, folded
from layout.faults import BadInput, Fault, refuse
from layout.reading import is_folder

EPILOGS: Final = {
    "new": """\
examples:
  phasemark book new marram.book
One file for the club, which only you can read. Copy it to keep it safe;
nothing leaves this machine.
""",
    "keep": """\
examples:
  phasemark book keep marram.book runa.toml imka.toml
  phasemark book keep marram.book plan.json
  phasemark book keep marram.book --name Ada
Attempts are compared with the last plan kept of that athlete and drill. Make
one with: phasemark plan runa.toml hop-step-sand --save plan.json
""",
    "in": """\
examples:
  phasemark book in marram.book filled.csv
  phasemark book in marram.book filled.csv --athlete runa --drill hop-step-sand
  phasemark book in another.book marram-out
A filled table has a first line of titles: athlete, drill, date, hop, step,
jump, total, strides, speed, wind, foul, note. Instead of phases: mark 1,
mark 2, ... as read from the tape, and zero. A line that begins with # above
the titles is a remark. All of it is taken in, or, where a row is wrong,
nothing. A folder goes into a new, empty book.
""",
    "out": """\
examples:
  phasemark book out marram.book marram-out
  phasemark book out marram.book runa.json --athlete runa
Plain tables for any spreadsheet, every value whole; phasemark book in takes
them back.
""",
    "check": """\
examples:
  phasemark book check marram.book
""",
    "erase": """\
examples:
  phasemark book erase marram.book Runa --yes
For good: attempts, plans, corrections and notes that name them, also from the
file's free pages and its log. Copies, exports and plans that you saved
elsewhere are yours to delete.
""",
}


def options(room: argparse.ArgumentParser, word: str) -> None:
    """Options of a word."""
    if word == "keep":
        room.add_argument(
            "files", nargs="*", default=[], metavar="FILE", help="athlete (.toml), plan (.json)"
        )
        room.add_argument("--name", help="an athlete of whom there is no file yet")
    elif word == "in":
        room.add_argument("source", type=Path, help="filled table (.csv), or a folder from out")
        room.add_argument("--athlete", default="", help="where the table has no athlete")
        room.add_argument("--drill", default="", help="where the table has no drill")
        room.add_argument("--on", metavar="DATE", help="where the table has no date (today)")
        room.add_argument("--place", help="where the table has no place")
        room.add_argument("--zero", default="board", help="of tape readings: board, start or pit")
        room.add_argument("--board-at", metavar="L", help="take-off line to pit, for --zero pit")
        room.add_argument("--drills", metavar="FILE", help="your own drills, as TOML")
        room.add_argument("--again", action="store_true", help="although it was taken in before")
    elif word == "out":
        room.add_argument("target", type=Path, help="new folder; with --athlete a .json file")
        room.add_argument("--athlete", help="only this athlete's data, as JSON")
        room.add_argument("--overwrite", action="store_true", help="replace what an out wrote")
    elif word == "check":
        room.add_argument("--json", action="store_true", help="print as JSON")
    elif word == "erase":
        room.add_argument("athlete", help="the whole name")
        room.add_argument("--yes", action="store_true", help="really; there is no way back")


def run(given: argparse.Namespace) -> int:
    """Do what the word says.

    Raises
    ------
    BadInput
    """
    doors: dict[str, Callable[[argparse.Namespace], int]] = {
        "new": _new, "keep": _keep, "in": _in, "out": _out, "check": _check, "erase": _erase,
    }  # fmt: skip
    return doors[given.word](given)


def _new(given: argparse.Namespace) -> int:
    create(given.book)
    file = shlex.quote(str(given.book))
    say([f"{given.book}: an empty book that only you can read.",
         f"next: phasemark book keep {file} ATHLETE.toml"])  # fmt: skip
    return 0


def _keep(given: argparse.Namespace) -> int:
    if not given.files and given.name is None:
        raise refuse("keep", "an athlete file (.toml), a saved plan (.json) or --name wanted")
    lines: list[str] = []
    faults: list[Fault] = []
    with opened(given.book) as book:
        if given.name is not None:
            _, new = add_name(book, given.name)
            lines.append(f"{given.name}: {'new in the book' if new else 'already in the book'}")
        for file in map(Path, given.files):
            try:
                lines.append(_kept(book, file))
            except BadInput as error:
                faults += error.faults
    if faults and not lines:
        raise BadInput(faults)
    file_name = shlex.quote(str(given.book))
    say([*lines, *privacy_warning(given.book, book.unfinished),
         f"next: phasemark book add {file_name} NAME DRILL READINGS"])  # fmt: skip
    if faults:
        raise BadInput(faults)
    return 0


def _kept(book: Book, file: Path) -> str:
    """Take one file in, and say what was done."""
    if file.suffix.lower() == ".json":
        who, drill, new = keep_plan(book, file)
        return f"{who}: plan of {drill} {'kept' if new else 'was kept already'}"
    who, new = keep_athlete(book, file)
    return f"{who}: {'new in the book' if new else 'up to date'}"


def _in(given: argparse.Namespace) -> int:
    file = shlex.quote(str(given.book))
    with opened(given.book) as book:
        if is_folder(str(given.source)):
            from layout.book.exchange import back

            counts = back(book, given.source)
            lines = [f"taken in: {counted(counts['attempt'], 'attempt')} of "
                     f"{counted(counts['athlete'], 'athlete')}"]  # fmt: skip
        else:
            from layout.book.filled import take_in
            from layout.book.jumped import Typed
            from layout.plan.drill import read_drills

            base = Typed(given.athlete, given.drill, zero=given.zero, day=given.on,
                         place=given.place, pit=given.board_at)  # fmt: skip
            own = read_drills(Path(given.drills)) if given.drills else None
            saved = take_in(book, given.source, base, own, given.again)
            ids = f"{saved[0].id}" + (f" to {saved[-1].id}" if len(saved) > 1 else "")
            lines = [f"taken in: {counted(len(saved), 'attempt')}, number {ids}"]
            lines += [f"   look: {s.id} {s.athlete}: {w}" for s in saved for w in s.warnings]
    say(
        [*lines, *privacy_warning(given.book, book.unfinished), f"next: phasemark book list {file}"]
    )
    return 0


def _out(given: argparse.Namespace) -> int:
    from layout.book.exchange import out

    with opened(given.book) as book:
        if given.athlete is not None:
            from layout.book.erase import export
            from layout.book.private import save_private

            if given.target.suffix.lower() != ".json":
                raise refuse("target", "a file ending in .json wanted", str(given.target))
            member = find_member(book, given.athlete)
            save_private(given.target, export(book, member).encode(), given.overwrite)
            say([f"{given.target}: everything the book holds of {member.name}"])
            return 0
        counts = out(book, given.target, given.overwrite)
    parts = [counted(n, t).replace(" ", "\u00a0") for t, n in counts.items() if n or t == "attempt"]
    say([*folded(f"{given.target}: {', '.join(parts)}", "", "  "), "Keep it as private as the book.",
         "next, into a new book: phasemark book in NEW.book "
         f"{shlex.quote(str(given.target))}"])  # fmt: skip
    return 0


def _check(given: argparse.Namespace) -> int:
    from layout.book.sound import check

    with opened(given.book) as book:
        wrong, counts = check(book)
    warn = privacy_warning(given.book, book.unfinished)
    if given.json:
        say([json.dumps({"wrong": wrong, "rows": counts, "private": not warn})])
    else:
        rows = ", ".join(counted(n, table).replace(" ", "\u00a0") for table, n in counts.items())
        state = f"{given.book}: {'damaged' if wrong else 'sound'}; {rows}"
        say([*wrong, *warn, *folded(state, "", "  ")])
    return 2 if wrong else 0


def _erase(given: argparse.Namespace) -> int:
    from layout.book.erase import erase

    with opened(given.book) as book:
        member = find_member(book, given.athlete, exact=True)
        if not given.yes:
            raise refuse(
                "erase", f"--yes wanted: {member.name} will be gone for good", given.athlete
            )
        gone = erase(book, member)
    if gone.unfinished:
        rule = f"{gone.name} is deleted, but traces are still in the file ({gone.unfinished})"
        raise BadInput([Fault("erase", rule, None, str(given.book))])
    say([f"{gone.name} is gone. Attempts: {gone.attempts}; plans: {gone.plans}; corrections: "
         f"{gone.corrections}; mentions in other notes: {gone.mentions}.",
         "Copies, exports and plans that you saved elsewhere are yours to delete."])  # fmt: skip
    return 0
