"""`phasemark book` new, keep, in, out, check and erase: the book as a file."""

from __future__ import annotations

import argparse
import json
import shlex
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from layout.book.erase import Mention
from layout.book.filled import TAKE, Decide, undecided
from layout.book.known import Compared
from layout.book.own import changes_of, is_own, put_own
from layout.book.people import add_name, find_member, keep_plan, keep_text
from layout.book.rows import to_look_at
from layout.book.sound import opened
from layout.book.store import Book, create, privacy_warning
from layout.book.typed import Typed, read_word
from layout.commands import book_in
from layout.commands.book_add import looks, said
from layout.commands.output import end, say
from layout.commands.text import counted, folded
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import LARGEST_TOML, line_text, read_text, table_of

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
  phasemark book in marram.book filled.csv --take changed
  phasemark book in marram.book filled.csv --athlete runa --drill hop-step-sand
  phasemark book in another.book marram-out
  phasemark book in marram.book sent.txt
  phasemark book in marram.book - < messages
  phasemark book in marram.book --take 3,4 --leave 5
A filled table has a first line of titles: athlete, drill, date, hop, step,
jump, total, strides, speed, wind, foul, note. Instead of phases: mark 1,
mark 2, ... as read from the tape, and zero. A line that begins with # above
the titles is a remark. All of it is taken in, or, where a row is wrong,
nothing. A row is known by athlete, date, drill and run: what is in the book
already is passed over, and where the figures differ you are asked. A folder
goes into a new, empty book. Messages from phones, and runs as you type them
(runa hop-step-sand 2.61 4.80), wait until you take them in or leave them out,
by the numbers shown or all; with nothing to read, it tells what waits. The
same message twice counts once.
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
  phasemark book erase marram.book Runa --parts all --yes
For good: attempts, plans, corrections and the name in others' notes, also from
the file's free pages and its log. Notes that hold only a part of the name (the
first name alone, without accents, joined by a hyphen) are listed: it may be
somebody else's. --parts takes it out of all of them, or of those you name, such
as attempt-12,session-3, now or later.
Copies, exports and plans that you saved elsewhere are yours to delete.
""",
}


def options(room: argparse.ArgumentParser, word: str) -> None:
    """Options of a word."""
    if word == "keep":
        room.add_argument(
            "files",
            nargs="*",
            default=[],
            metavar="FILE",
            help="athlete, drills or venue (.toml), plan (.json)",
        )
        room.add_argument("--name", help="an athlete of whom there is no file yet")
    elif word == "in":
        room.add_argument("source", type=Path, nargs="?", help="filled table (.csv), a folder from "
                          "out, messages (.txt, or - to type them); nothing to see what waits")  # fmt: skip
        room.add_argument("--athlete", help="where the table has no athlete")
        room.add_argument("--drill", help="where the table has no drill")
        room.add_argument("--on", metavar="DATE", help="where the table has no date (today)")
        room.add_argument("--place", help="where the table has no place")
        room.add_argument("--zero", help="of tape readings: board, start or pit (board)")
        room.add_argument("--board-at", metavar="L", help="take-off line to pit, for --zero pit")
        room.add_argument("--drill-file", metavar="FILE", help="your own drills, as TOML")
        what = room.add_mutually_exclusive_group()
        what.add_argument("--take", metavar="WORD", help="where rows are in the book with other "
                          "figures: new, changed or all; of what waits: numbers, or all")  # fmt: skip
        what.add_argument("--again", action="store_true", help="every row is another attempt")
        room.add_argument("--leave", metavar="N", help="of what waits: leave out, numbers or all")
    elif word == "out":
        room.add_argument("target", type=Path, help="new folder; with --athlete a .json file")
        room.add_argument("--athlete", help="only this athlete's data, as JSON")
        room.add_argument("--overwrite", action="store_true", help="replace what an out wrote")
    elif word == "check":
        room.add_argument("--json", action="store_true", help="print as JSON")
    elif word == "erase":
        room.add_argument("athlete", help="the whole name")
        parts = "also parts of the name in others' notes: all, or which"
        room.add_argument("--parts", metavar="WHICH", help=parts)
        room.add_argument("--yes", action="store_true", help="really; there is no way back")


def run(given: argparse.Namespace) -> int:
    """Do what the word says."""
    doors: dict[str, Callable[[argparse.Namespace], int]] = {
        "new": _new, "keep": _keep, "in": _in, "out": _out, "check": _check,
        "erase": _erase,
    }  # fmt: skip
    return doors[given.word](given)


def _new(given: argparse.Namespace) -> int:
    create(given.book)
    file = shlex.quote(str(given.book))
    say([f"{given.book}: an empty book that only you can read.",
         f"next: phasemark book keep {file} ATHLETE.toml"], "the book is made")  # fmt: skip
    return 0


def _keep(given: argparse.Namespace) -> int:
    if not given.files and given.name is None:
        raise refuse("keep", "must be an athlete file (.toml), a saved plan (.json) or --name")
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
    after = f"next: phasemark book add {file_name} NAME DRILL READINGS"
    return end([*lines, *privacy_warning(given.book, book.unfinished), after], faults,
               "what could be kept is kept: phasemark book list --athletes, --plans")  # fmt: skip


def _kept(book: Book, file: Path) -> str:
    """Take one file in, and say what was done."""
    if file.suffix.lower() == ".json":
        who, drill, new = keep_plan(book, file)
        return f"{who}: plan of {drill} {'kept' if new else 'was kept already'}"
    if file.suffix.lower() != ".toml":
        rule = "must be an athlete's, drills' or venue's file (.toml) or a saved plan (.json)"
        raise BadInput([Fault("file", rule, None, str(file))])
    text = read_text(file, LARGEST_TOML)
    if is_own(table_of(text, str(file))):
        changes = changes_of(book, text, str(file))
        put_own(book, changes)
        return "\n".join(f"{c.kind} {c.title}: {_OWN[c.state]}" for c in changes)
    who, new = keep_text(book, text, str(file))
    return f"{who}: {'new in the book' if new else 'up to date'}"


_OWN: Final = {
    "new": "new in the book", "changed": "changed; the earlier one is kept",
    "back": "in the book again", "same": "in the book already",
}  # fmt: skip


def _in(given: argparse.Namespace) -> int:
    if book_in.is_messages(given.source):
        return book_in.run(given)
    if given.leave is not None:
        raise refuse("--leave", "is for what came in messages, not for a table", given.leave)
    file = shlex.quote(str(given.book))
    if given.take is not None:
        read_word("--take", given.take, TAKE)
    with opened(given.book) as book:
        lines = _folder_in(given, book) if given.source.is_dir() else _table_in(given, book)
    lines += [*privacy_warning(given.book, book.unfinished), f"next: phasemark book list {file}"]
    return end(lines, (), "the table is dealt with: phasemark book list shows what is kept")


_FOR_TABLES: Final = {
    "athlete": "--athlete", "drill": "--drill", "day": "--on", "place": "--place",
    "zero": "--zero", "pit": "--board-at",
}  # fmt: skip


def _folder_in(given: argparse.Namespace, book: Book) -> list[str]:
    from layout.book.exchange import back

    for option in (*_FOR_TABLES.values(), "--drill-file", "--take", "--again"):
        value = getattr(given, option[2:].replace("-", "_"))
        if value not in (None, False):
            rule = "goes with a filled table; a folder is taken in as it is"
            raise refuse(option, rule, None if value is True else value)
    counts = back(book, given.source)
    lines = [f"taken in: {counted(counts['attempt'], 'attempt')} of "
             f"{counted(counts['athlete'], 'athlete')}"]  # fmt: skip
    return lines + look_lines(to_look_at(book))


def look_lines(found: Sequence[str], most: int = 20) -> list[str]:
    """What looks unlikely in a whole book, as questions."""
    more = [f"   and {len(found) - most} more to look at"] if len(found) > most else []
    return [*looks(found[:most]), *more]


def _table_in(given: argparse.Namespace, book: Book) -> list[str]:
    from layout.book.filled import take_in
    from layout.plan.drill import read_drills

    base = Typed(given.athlete or "", given.drill or "", zero=given.zero or "board", day=given.on,
                 place=given.place, pit=given.board_at)  # fmt: skip
    only = {name: option for name, option in _FOR_TABLES.items()
            if getattr(given, option[2:].replace("-", "_")) is not None}  # fmt: skip
    own = read_drills(Path(given.drill_file)) if given.drill_file else None
    taken = take_in(book, given.source, base, own, given.again, _decider(given), only)
    lines = []
    if taken.new:
        ids = f"{taken.new[0].id}" + (f" to {taken.new[-1].id}" if len(taken.new) > 1 else "")
        lines.append(f"taken in: {counted(len(taken.new), 'attempt')}, number {ids}")
    if taken.changed:
        lines.append(f"corrected: {counted(len(taken.changed), 'attempt')}; the earlier values are "
                     "kept (list --corrections)")  # fmt: skip
    rest = taken.not_taken
    if rest.same:
        lines.append(f"in the book already and passed over: {counted(len(rest.same), 'attempt')}")
    for what, rows in (("new", rest.new), ("changed", rest.changed)):
        if rows:
            lines.append(f"left out, {what}: {counted(len(rows), 'row')} of the table")
    if rest.left:
        ids = ", ".join(map(str, rest.left[:10])) + (" ..." if len(rest.left) > 10 else "")
        lines += folded(f"of these days but not in the table: attempt {ids}; if one is a mistake: "
                        f"phasemark book correct {shlex.quote(str(given.book))} N --strike")  # fmt: skip
    questions = [f"{s.id} {s.athlete}: {w}" for s in taken.new for w in s.warnings]
    questions += [f"{c.id} {c.ready.athlete}: {w}" for c in taken.changed for w in c.ready.warnings]
    return (lines or ["nothing new in this table"]) + looks(questions)


def _changes_text(found: Compared, most: int = 20) -> list[str]:
    """What a table has otherwise than the book."""
    lines = [f"new: {len(found.new)}; changed: {len(found.changed)}; the same: {len(found.same)}"]
    for change in found.changed[:most]:
        parts = [
            f"{k}: {said(change.before[k], k)} -> {said(v, k)}" for k, v in change.after.items()
        ]
        lines += folded(f"line {change.line}, attempt {change.id}, {change.ready.athlete}, "
                        f"{change.ready.day}: {'; '.join(parts)}", "   ", "     ")  # fmt: skip
    if len(found.changed) > most:
        lines.append(f"   and {len(found.changed) - most} more")
    return lines


def _decider(given: argparse.Namespace) -> Decide:
    """How it is decided what to take in: by option, by asking at a terminal, or not at all."""

    def decide(found: Compared) -> str:
        if given.take is not None:
            return read_word("--take", given.take, TAKE)
        if not found.changed:
            return "new"
        say(_changes_text(found))
        if not (sys.stdin.isatty() and sys.stdout.isatty()):
            return undecided(found)
        sys.stdout.write("take in: new, changed, all or nothing? ")
        sys.stdout.flush()
        answer = sys.stdin.readline().strip().lower()
        return read_word("answer", answer, TAKE) if answer != "nothing" else undecided(found)

    return decide


def _out(given: argparse.Namespace) -> int:
    from layout.book.erase import export
    from layout.book.exchange import out, save_private

    with opened(given.book) as book:
        if given.athlete is not None:
            if given.target.suffix.lower() != ".json":
                raise refuse("target", "must be a file ending in .json", str(given.target))
            member = find_member(book, given.athlete)
            save_private(given.target, export(book, member).encode(), given.overwrite)
            told = f"{given.target}: everything the book holds of {member.name}"
            return end([told], (), "the file is written")
        counts = out(book, given.target, given.overwrite)
    parts = [counted(n, t).replace(" ", "\u00a0") for t, n in counts.items() if n or t == "attempt"]
    say([*folded(f"{given.target}: {', '.join(parts)}", "", "  "), "Keep it as private as the book.",
         "next, into a new book: phasemark book in NEW.book "
         f"{shlex.quote(str(given.target))}"], "the tables are written")  # fmt: skip
    return 0


def _check(given: argparse.Namespace) -> int:
    from layout.book.sound import check

    with opened(given.book) as book:
        wrong, counts = check(book)
        questions = [] if wrong else to_look_at(book)
    warn = privacy_warning(given.book, book.unfinished)
    if given.json:
        say([json.dumps({"wrong": wrong, "rows": counts, "private": not warn,
                         "look": questions})])  # fmt: skip
    else:
        rows = ", ".join(counted(n, table).replace(" ", "\u00a0") for table, n in counts.items())
        state = f"{given.book}: {'damaged' if wrong else 'sound'}; {rows}"
        say([*wrong, *warn, *look_lines(questions), *folded(state, "", "  ")])
    return 2 if wrong else 0


def _erase(given: argparse.Namespace) -> int:
    from layout.book.erase import erase

    parts: list[str] | None = []
    if given.parts is not None:
        parts = [w.strip().lower() for w in given.parts.split(",") if w.strip()]
        if not parts:
            raise refuse("--parts", "must be all, or labels such as attempt-12", given.parts)
        parts = None if parts == ["all"] else parts
    file = shlex.quote(str(given.book))
    with opened(given.book) as book:
        try:
            member = find_member(book, given.athlete, exact=True)
        except BadInput:
            if given.parts is None:
                raise
            member = None  # only what others' texts say of the name
        name = member.name if member else line_text("athlete", given.athlete, 80)
        again = f"phasemark book erase {file} {shlex.quote(name)}"
        if not given.yes:
            rule = f"--yes needed: {name} will be gone for good"
            raise refuse("erase", rule, given.athlete)
        gone = erase(book, member or name, parts)
    if gone.unfinished:
        if gone.left:
            say(_left(gone.left, again))
        rule = f"{gone.name} is deleted, but traces are still in the file ({gone.unfinished})"
        raise BadInput([Fault("erase", rule, None, str(given.book))])
    say([f"{gone.name} is gone. Attempts: {gone.attempts}; plans: {gone.plans}; pictures: "
         f"{gone.pictures}; corrections: {gone.corrections}; mentions in other notes: {gone.mentions}.",
         *_left(gone.left, again),
         "Copies, exports and plans that you saved elsewhere are yours to delete."],
        f"{gone.name} is gone from the book")  # fmt: skip
    return 0


def _left(left: Sequence[Mention], again: str) -> list[str]:
    """Texts that still hold a part of a name, and how to take it out of each."""
    if not left:
        return []
    labels = list(dict.fromkeys(m.label for m in left))
    some = ",".join(labels[:2])
    return [
        "These still hold a part of the name; it may be somebody else's:",
        *(f"  {m.label:14} {m.column}: {m.around}" for m in left),
        f"to take it out of all:  {again} --parts all --yes",
        f"or only of some:        {again} --parts {some} --yes",
    ]
