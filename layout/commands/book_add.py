"""`phasemark book add` and `correct`: one line for each attempt."""

from __future__ import annotations

import argparse
import dataclasses
import json
import shlex
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from layout.book import entry, marks, rows
from layout.book.people import find_member, planned
from layout.book.store import Book, open_book, privacy_warning
from layout.book.typed import read_whole, read_word
from layout.commands.plan_ import say
from layout.commands.text import counted, folded, tied
from layout.faults import BadInput, refuse
from layout.plan.drill import read_drills
from layout.plan.units import System, show_length

EPILOGS: Final = {
    "add": """\
examples:
  phasemark book add marram.book runa hop-step-sand 2.61 4.80
  phasemark book add marram.book runa 2.58 4.83 --wind +0.4
  phasemark book add marram.book runa 3.07 0.46 1.73 --zero pit
  phasemark book add marram.book runa 8-7 15-9 --foul
  phasemark book add marram.book runa 2.61 2.19 --zero each --on 2026-11-20
  phasemark book add marram.book runa --runs 6
  phasemark book add marram.book - < attempts.txt
Readings are those of the landings, in order; with one more, the first is the
take-off toe and the zero may be anywhere. From the pit the last reading, in the
sand, counts beyond the zero. 2.61, 2,61, 261, 261cm and 8-7 are all lengths;
? is one that was not measured. Without a drill it is the athlete's last;
without a day it is today. With - instead of a name, one attempt is read from
each line that you type (runa 2.61 4.80 --wind 0.3), kept at once, until an
empty line.
""",
    "correct": """\
examples:
  phasemark book correct marram.book 1 --readings 2.63 4.80
  phasemark book correct marram.book 1 --wind -0.2 --note "slipped at step"
  phasemark book correct marram.book 1 --strike
The number is the one that add and list show. What stood before is kept:
phasemark book list marram.book --corrections
""",
}
_HELP: Final = {
    "strides": ("N", "strides of approach, if not the plan's"),
    "speed": ("V", "timed speed at the board, m/s or km/h"),
    "wind": ("V", "wind, m/s; minus is against"),
    "surface": ("WORD", "track, grass, floor, mat, sand or road"),
    "runs": ("N", "runs that were not measured, for the load"),
    "note": ("TEXT", "anything worth keeping"),
    "knee_gap": ("L", "free knee behind the support knee at the step contact"),
    "support_knee": ("DEG", "support knee at the step contact, 180 straight"),
    "free_knee": ("DEG", "free knee at the step contact, 180 straight"),
    "free_thigh": ("DEG", "free thigh in the step flight, 0 level, minus below"),
    "trunk": ("DEG", "trunk at the step contact, 0 upright, minus forward"),
}


def options(room: argparse.ArgumentParser, word: str) -> None:
    """Options of a word."""
    if word == "add":
        room.add_argument("athlete", help="name, or its beginning; - for a line each")
        room.add_argument(
            "words",
            nargs="*",
            default=[],
            metavar="DRILL READING",
            help="drill, then the tape's readings",
        )
        room.add_argument("--zero", default="board", help="board, start, pit or each (board)")
        room.add_argument("--foul", action="store_true", help="a foul: counts for the load only")
        room.add_argument("--drills", metavar="FILE", help="your own drills, as TOML")
        room.add_argument("--session-note", metavar="TEXT", help="kept with the session")
    else:
        room.add_argument("number", help="number of the attempt")
        room.add_argument("--athlete", help="it was somebody else's")
        room.add_argument("--drill", help="it was another drill")
        room.add_argument("--readings", nargs="+", metavar="READING", help="readings, all of them")
        room.add_argument("--zero", help="board, start, pit or each")
        room.add_argument("--foul", metavar="YES", help="yes or no")
        strike = room.add_mutually_exclusive_group()
        strike.add_argument("--strike", action="store_true", help="count it nowhere any more")
        strike.add_argument("--restore", action="store_true", help="count it again")
    room.add_argument("--board-at", metavar="L", help="take-off line to pit, for --zero pit")
    room.add_argument("--behind", metavar="L", help="take-off toe behind its mark")
    room.add_argument("--total", metavar="L", help="measured total, where a phase is not measured")
    room.add_argument("--moves", help='moves, if not the drill\'s: "hop step"')
    room.add_argument("--on", metavar="DATE", help="day, as 2026-11-25 (today)")
    room.add_argument("--place", help="where (that of the last session)")
    for name, (what, text) in _HELP.items():
        room.add_argument(f"--{name.replace('_', '-')}", metavar=what, help=text)
    room.add_argument("--tape", default="cm", metavar="UNIT", help="show in cm or ft")
    room.add_argument("--json", action="store_true", help="print what was put down as JSON")


def run(given: argparse.Namespace) -> int:
    """Put an attempt down, or change one.

    Raises
    ------
    BadInput
    """
    read_word("--tape", given.tape, ("cm", "ft"))
    if given.word == "add" and given.athlete == "-":
        return _lines(given)
    with open_book(given.book) as book:
        warn = privacy_warning(given.book)
        lines = _add(book, given) if given.word == "add" else _correct(book, given)
    say([*lines, *([] if given.json else warn)])
    return 0


def _lines(given: argparse.Namespace) -> int:
    """One attempt from each line typed; a line that is refused is told and asks for another.

    Returns
    -------
    int
        2 where any line was refused.
    """
    from layout.commands.book_ import parser, plain_words

    if given.words:
        raise refuse("words", "none wanted after -", given.words[0])
    refused = 0
    with open_book(given.book) as book:
        say(privacy_warning(given.book) or ["name, drill, readings; an empty line ends"])
        for line in sys.stdin:
            if not line.strip():
                break
            try:
                words = plain_words([str(given.book), *shlex.split(line)])
                inner = parser("add").parse_args(words)
                say(_add(book, inner)[:-2] if not inner.json else _add(book, inner))
            except SystemExit:
                refused += 1
            except BadInput as error:
                sys.stderr.write("".join(f"phasemark: {f}\n" for f in error.faults))
                refused += 1
            except ValueError:
                sys.stderr.write(
                    "phasemark: line: a quote is left open; write feet and inches as 8-7\n"
                )
                refused += 1
            sys.stdout.flush()
    file = shlex.quote(str(given.book))
    say([f"{refused} not kept; next: phasemark book list {file}" if refused
         else f"next: phasemark book list {file}"])  # fmt: skip
    return 2 if refused else 0


def _fields(given: argparse.Namespace) -> dict[str, str]:
    return {name: getattr(given, name) for name in _HELP if getattr(given, name) is not None}


def _drill_and_readings(book: Book, given: argparse.Namespace) -> tuple[str, tuple[str, ...]]:
    words: Sequence[str] = given.words
    if words and not marks.is_reading(words[0]):
        return words[0], tuple(words[1:])
    member = find_member(book, given.athlete)
    last = rows.attempts(book, member.id, last=1)
    if not last:
        raise refuse(
            "drill", "wanted with the first attempt of an athlete", words[0] if words else None
        )
    return last[0].drill, tuple(words)


def _add(book: Book, given: argparse.Namespace) -> list[str]:
    own = read_drills(Path(given.drills)) if given.drills else None
    drill, readings = _drill_and_readings(book, given)
    fields = _fields(given)
    if given.foul:
        fields["foul"] = "yes"
    if not readings and given.total is None and not given.foul and "runs" not in fields:
        raise refuse("readings", "wanted; or --total, or --runs for runs that were not measured")
    saved = entry.add(
        book,
        entry.Typed(
            athlete=given.athlete, drill=drill, readings=readings, zero=given.zero, day=given.on,
            place=given.place, pit=given.board_at, behind=given.behind, total=given.total,
            moves=given.moves, session_note=given.session_note, fields=fields,
        ),
        own,
    )  # fmt: skip
    if given.json:
        return [json.dumps(dataclasses.asdict(saved), ensure_ascii=False)]
    kept = rows.attempt(book, saved.id)
    assert kept is not None
    system: System = "ft" if given.tape == "ft" else "cm"
    name, file = shlex.quote(saved.athlete), shlex.quote(str(given.book))
    front = f"{saved.id}  "
    said = f"{saved.athlete}, {saved.drill}, {saved.day}, {saved.place}:"
    read = phases_text(kept, system, book)
    lines = folded(f"{said} {read}", front)
    if len(lines) > 1:
        lines = [*folded(said, front), *folded(tied(read), " " * len(front))]
    looks = [line for text in saved.warnings for line in folded(f"look: {text}", "   ", "     ")]
    return [
        *lines,
        *looks,
        f"next: phasemark book add {file} {name} READINGS",
        f"wrong? phasemark book correct {file} {saved.id} --readings ...",
    ]


def phases_text(kept: rows.Attempt, system: System, book: Book | None = None) -> str:
    """Phases and total as a coach reads them; with a book, also what was planned."""
    if all(d is None for d in kept.lengths) and kept.total is None:
        runs = f"{counted(kept.runs, 'run')} not measured, "
        return runs + counted(kept.contacts, "contact") + (", foul" if kept.foul else "")
    named = zip(marks.named(kept.moves), kept.lengths, strict=True)
    parts = [f"{n} {'?' if d is None else show_length(d, system)}" for n, d in named]
    text = ", ".join(parts)
    if kept.total is not None and len(kept.moves) > 1:
        text += f", total {show_length(kept.total, system)}"
    if book is not None and kept.plan is not None:
        plan = planned(book, kept.plan)
        text += f" (planned {' + '.join(show_length(d, system, 'bare') for d in plan.lengths)})"
    return text + (", foul" if kept.foul else "")


def plain(kept: str, field: str = "") -> str:
    """A kept value as a coach reads it.

    >>> plain("'2.61 ; 4.80'"), plain("NULL"), plain("1", "foul"), plain("'[2.61, null]'", "lengths")
    ('2.61 ; 4.80', 'nothing', 'yes', '2.61, ? m')
    """
    if kept == "NULL":
        return "nothing"
    if field in ("foul", "struck"):
        return "yes" if kept == "1" else "no"
    text = kept[1:-1].replace("''", "'") if kept.startswith("'") else kept
    if field == "lengths":
        return text.strip("[]").replace("null", "?") + " m"
    return text


def _correct(book: Book, given: argparse.Namespace) -> list[str]:
    from layout.book.correct import correct

    changed: dict[str, Any] = dict(_fields(given))
    for key, value in (
        ("athlete", given.athlete), ("drill", given.drill), ("readings", given.readings),
        ("zero", given.zero), ("foul", given.foul), ("pit", given.board_at),
        ("behind", given.behind), ("total", given.total), ("moves", given.moves),
        ("day", given.on), ("place", given.place),
    ):  # fmt: skip
        if value is not None:
            changed[key] = value
    if given.strike or given.restore:
        changed["struck"] = bool(given.strike)
    if not changed:
        raise refuse("correct", "what to change wanted, such as --readings 2.61 4.80 or --strike")
    number = read_whole("number", given.number, 1, 999_999_999)
    done = correct(book, number, changed)
    if given.json:
        return [json.dumps([dataclasses.asdict(c) for c in done], ensure_ascii=False)]
    kept = rows.attempt(book, number)
    assert kept is not None
    system: System = "ft" if given.tape == "ft" else "cm"
    lines = [f"   {c.field}: {plain(c.before, c.field)} -> {plain(c.after, c.field)}" for c in done]
    now = "struck out" if kept.struck else phases_text(kept, system)
    return [f"{kept.id}  {kept.athlete}, {kept.drill}, {kept.day}: {now}", *lines,
            "The earlier values are kept: phasemark book list "
            f"{shlex.quote(str(given.book))} --corrections"]  # fmt: skip
