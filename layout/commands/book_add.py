"""`phasemark book add` and `correct`: one line for each attempt."""

from __future__ import annotations

import argparse
import contextlib
import dataclasses
import io
import json
import shlex
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, Final

from layout.book import entry, marks, rows
from layout.book.correct import plain
from layout.book.people import find_member, planned
from layout.book.sound import opened
from layout.book.store import Book, privacy_warning
from layout.book.typed import Typed, read_word
from layout.commands.output import end, say
from layout.commands.streams import complain, silence
from layout.commands.text import counted, folded, tied
from layout.plan.drill import read_drills
from layout.rules.wind import MEASURED, wind_text
from layout.words.faults import BadInput, refuse
from layout.words.reading import is_file, read_count, spread
from layout.words.table import typed_lines
from layout.words.units import System, show_length

EPILOGS: Final = {
    "add": """\
examples:
  phasemark book add marram.book runa hop-step-sand 2.61 4.80
  phasemark book add marram.book runa 2.58 4.83 --wind +0.4
  phasemark book add marram.book runa 3.07 0.46 1.73 --zero pit
  phasemark book add marram.book runa 8-7 15-9 --foul
  phasemark book add marram.book runa 2.61 2.19 --zero each --on 2026-11-20
  phasemark book add marram.book runa --runs 6
  phasemark book add marram.book - --on 2026-11-20 < attempts.txt
Readings are those of the landings, in order; with one more, the first is the
take-off toe and the zero may be anywhere. From the pit the last reading, in the
sand, counts beyond the zero. 2.61, 2,61, 261, 261cm and 8-7 are all lengths;
x is one that was not measured (? is, too, but a shell may put a file's name
for it). Without a drill it is the athlete's last;
without a day it is today. With - instead of a name, one attempt is read from
each line that you type (runa 2.61 4.80 --wind 0.3), kept at once, until an
empty line; options beside - hold for every line that has none of its own.
A total is from the mark: --total 16.90 --behind 0.07 is 16.97 m from the toe.
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
    "wind": ("V", f"wind, m/s; minus is against; {MEASURED}"),
    "surface": ("WORD", "track, grass, floor, mat, sand or road"),
    "runs": ("N", "runs that were not measured, for the load"),
    "note": ("TEXT", "anything worth keeping"),
    "knee_gap": ("L", "free knee behind the support knee at the step contact"),
    "support_knee": ("DEG", "support knee at the step contact, 180 straight"),
    "free_knee": ("DEG", "free knee at the step contact, 180 straight"),
    "free_thigh": ("DEG", "free thigh in the step flight, minus below level"),
    "trunk": ("DEG", "trunk lean at the step contact, 0 upright, plus forward"),
    "kind": ("WORD", "training or competition; not known if left out"),
}
_TYPED: Final = ("pit", "behind", "total", "phases", "day", "place")
"""Of `Typed`, as the options give them."""


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
        room.add_argument("--zero", help="board, start, pit or each (board)")
        room.add_argument("--foul", action="store_true", help="a foul: counts for the load only")
        room.add_argument("--drill-file", metavar="FILE", help="your own drills, as TOML")
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
    room.add_argument(
        "--board-at", dest="pit", metavar="L", help="take-off line to pit, for --zero pit"
    )
    room.add_argument("--behind", metavar="L", help="take-off toe behind its mark")
    room.add_argument(
        "--total", metavar="L", help="total from the mark (from a board: the official)"
    )
    room.add_argument("--phases", help='phases, if not the drill\'s: "hop step"')
    room.add_argument("--on", dest="day", metavar="DATE", help="day, as 2026-11-25 (today)")
    room.add_argument("--place", help="where (that of the last session)")
    for name, (what, text) in _HELP.items():
        room.add_argument(f"--{name.replace('_', '-')}", metavar=what, help=text)
    room.add_argument("--tape", metavar="UNIT", help="show in cm or ft (cm)")
    room.add_argument("--json", action="store_true", help="print what was put down as JSON")


def run(given: argparse.Namespace) -> int:
    """Put an attempt down, or change one."""
    system = shown_in(given.tape, given.json)
    if given.word == "add" and given.athlete == "-":
        return _lines(given, system)
    with opened(given.book) as book:
        warn = privacy_warning(given.book, book.unfinished)
        lines = _add(book, given, system) if given.word == "add" else _correct(book, given, system)
    done = "the attempt is kept" if given.word == "add" else "the correction is kept"
    return end([*lines, *([] if given.json else warn)], (), done)


def shown_in(tape: str | None, as_json: bool) -> System:
    """The units asked for; JSON is always in metres."""
    if tape is not None and as_json:
        raise refuse("--tape", "has no meaning with --json, which is in metres", tape)
    return "ft" if read_word("--tape", tape or "cm", ("cm", "ft")) == "ft" else "cm"


def _lines(given: argparse.Namespace, system: System) -> int:
    """One attempt from each line typed; a line that is refused is told, and the exit code is 2."""
    if given.words:
        raise refuse("words", "nothing may follow -", given.words[0])
    refused = 0
    with opened(given.book) as book:
        if not given.json:
            say(
                privacy_warning(given.book, book.unfinished)
                or ["name, drill, readings; an empty line ends"]
            )
        for number, line in typed_lines(sys.stdin):
            if not line.strip():
                break
            try:
                inner = _one_line(given, line)
                lines = _add(
                    book, inner, shown_in(inner.tape, inner.json) if inner.tape else system
                )
            except BadInput as error:
                for fault in error.at("", number).faults:
                    complain(str(fault))
                refused += 1
                continue
            kept = f"the attempt of line {number} is kept, those after it are not"
            try:
                say(lines if inner.json else lines[:-2], kept)
            except BrokenPipeError:  # more lines may wait: not to be passed over in silence
                silence()
                return 2
    file = shlex.quote(str(given.book))
    if not given.json:
        say([f"{refused} not kept; next: phasemark book list {file}" if refused
             else f"next: phasemark book list {file}"])  # fmt: skip
    return 2 if refused else 0


def _one_line(given: argparse.Namespace, line: str) -> argparse.Namespace:
    """A line's own words, and for the rest what stands beside the -."""
    from layout.commands.book_ import parser, plain_words

    try:
        words = shlex.split(line)
    except ValueError:
        raise refuse("line", "a quote is left open; write feet and inches as 8-7") from None
    said = io.StringIO()
    try:
        with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
            own = parser("add").parse_args(plain_words([str(given.book), *words]))
            beside = {k: v for k, v in vars(given).items() if k not in ("book", "athlete", "words")}
            whole = argparse.Namespace(**beside)
            whole = parser("add").parse_args(plain_words([str(given.book), *words]), whole)
    except SystemExit:
        rule = said.getvalue().strip().removeprefix("phasemark: ").partition(" (help:")[0]
        raise refuse("line", rule or "name, drill and readings needed") from None
    if whole.athlete == "-":
        raise refuse("athlete", "must be a name", "-")
    # Where the tape lay is said for lines that have readings.
    if not any(marks.is_reading(word) for word in whole.words):
        beside_tape = ("zero", "pit", *(() if whole.total else ("behind",)))
        unsaid = {name: None for name in beside_tape if getattr(own, name) is None}
        return argparse.Namespace(**{**vars(whole), **unsaid})
    return whole


def _said(given: argparse.Namespace, names: Iterable[str]) -> dict[str, Any]:
    return {name: getattr(given, name) for name in names if getattr(given, name) is not None}


def _fields(given: argparse.Namespace) -> dict[str, str]:
    return _said(given, _HELP)


def _drill_and_readings(book: Book, given: argparse.Namespace) -> tuple[str, tuple[str, ...]]:
    words: Sequence[str] = given.words
    letters = [w for w in words if len(w) == 1 and w not in marks.UNKNOWN and is_file(w)]
    strange = next(iter([*letters, *(w for w in words[1:] if not marks.is_reading(w))]), "")
    if strange and (hint := spread(words)):
        raise refuse(
            "readings", f"lengths, or x for one that was not measured, needed{hint}", strange
        )
    if words and not marks.is_reading(words[0]):
        return words[0], tuple(words[1:])
    member = find_member(book, given.athlete)
    last = rows.attempts(book, member.id, last=1)
    if not last:
        raise refuse(
            "drill", "needed with the first attempt of an athlete", words[0] if words else None
        )
    return last[0].drill, tuple(words)


def _add(book: Book, given: argparse.Namespace, system: System) -> list[str]:
    own = read_drills(Path(given.drill_file)) if given.drill_file else None
    drill, readings = _drill_and_readings(book, given)
    fields = _fields(given)
    if given.foul:
        fields["foul"] = "yes"
    if not readings and given.total is None and not given.foul and "runs" not in fields:
        raise refuse("readings", "needed; or --total, or --runs for runs that were not measured")
    if given.zero is not None and not readings:
        raise refuse("--zero", "has no meaning without readings", given.zero)
    if given.pit is not None and given.zero != "pit":
        raise refuse("--board-at", "has no meaning without --zero pit", given.pit)
    rest = {name: getattr(given, name) for name in (*_TYPED, "session_note")}
    typed = Typed(given.athlete, drill, readings, given.zero or "board", fields=fields, **rest)
    saved = entry.add(book, typed, own)
    if given.json:
        return [json.dumps(dataclasses.asdict(saved), ensure_ascii=False)]
    kept = rows.attempt(book, saved.id)
    assert kept is not None
    name, file = shlex.quote(saved.athlete), shlex.quote(str(given.book))
    front = f"{saved.id}  "
    said = f"{saved.athlete}, {saved.drill}, {saved.day}, {saved.place}:"
    read = phases_text(kept, system, book)
    lines = folded(f"{said} {read}", front)
    if len(lines) > 1:
        lines = [*folded(said, front), *folded(tied(read), " " * len(front))]
    return [
        *lines,
        *looks(saved.warnings),
        f"next: phasemark book add {file} {name} READINGS",
        f"wrong? phasemark book correct {file} {saved.id} --readings ...",
    ]


def looks(texts: Sequence[str]) -> list[str]:
    """What looks unlikely, as questions under an attempt."""
    return [line for text in texts for line in folded(f"look: {text}", "   ", "     ")]


def phases_text(kept: rows.Attempt, system: System, book: Book | None = None) -> str:
    """Phases and total as a coach reads them; with a book, also what was planned."""
    if all(d is None for d in kept.lengths) and kept.total is None:
        runs = f"{counted(kept.runs, 'run')} not measured, "
        return runs + counted(kept.contacts, "contact") + _after(kept)
    named = zip(marks.named(kept.phases), kept.lengths, strict=True)
    parts = [f"{n} {'?' if d is None else show_length(d, system)}" for n, d in named]
    text = ", ".join(parts)
    if kept.total is not None and len(kept.phases) > 1:
        text += f", total {show_length(kept.total, system)}"
    if kept.official is not None and kept.behind:
        toe = f"toe {show_length(abs(kept.behind), system)} {'behind' if kept.behind > 0 else 'past'} it"
        text += f" ({show_length(kept.official, system, down=True)} from the mark, {toe})"
    if book is not None and kept.plan is not None:
        plan = planned(book, kept.plan)
        text += f" (planned {' + '.join(show_length(d, system, 'bare') for d in plan.lengths)})"
    return text + _after(kept)


def _after(kept: rows.Attempt) -> str:
    text = (", foul" if kept.foul else "") + (f", {kept.kind}" if kept.kind else "")
    return text + (f", wind {wind_text(kept.wind)}" if kept.wind is not None else "")


def said(value: Any, field: str = "") -> str:
    """A value of the book as a coach reads it."""
    if field == "lengths" or value is None or isinstance(value, str):
        return plain("NULL" if value is None else f"'{value}'", field)
    return plain(repr(value), field)


def _correct(book: Book, given: argparse.Namespace, system: System) -> list[str]:
    from layout.book.correct import correct, looks_at

    changed: dict[str, Any] = dict(_fields(given))
    changed |= _said(given, ("athlete", "drill", "readings", "zero", "foul", *_TYPED))
    if given.strike or given.restore:
        changed["struck"] = bool(given.strike)
    if not changed:
        raise refuse("correct", "say what to change, such as --readings 2.61 4.80 or --strike")
    number = read_count("number", given.number, 1, 999_999_999)
    done = correct(book, number, changed)
    if given.json:
        return [json.dumps([dataclasses.asdict(c) for c in done], ensure_ascii=False)]
    kept = rows.attempt(book, number)
    assert kept is not None
    lines = [line for c in done for line in folded(
        f"{c.field}: {plain(c.before, c.field)} -> {plain(c.after, c.field)}", "   ", "     ")]  # fmt: skip
    now = "struck out" if kept.struck else phases_text(kept, system)
    if not kept.struck:
        lines += looks(looks_at(book, number))
    front = f"{kept.id}  "
    return [*folded(tied(f"{kept.athlete}, {kept.drill}, {kept.day}: {now}"), front), *lines,
            "The earlier values are kept: phasemark book list "
            f"{shlex.quote(str(given.book))} --corrections"]  # fmt: skip
