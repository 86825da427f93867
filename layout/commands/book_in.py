"""`phasemark book in` for what came from phones and messages: what waits, taken in or left out."""

from __future__ import annotations

import argparse
import re
import shlex
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from layout.book import inbox, rows
from layout.book.message import NAME
from layout.book.sound import opened
from layout.book.store import Book, privacy_warning
from layout.book.waits import Waiting, waiting
from layout.commands.book_add import looks, phases_text
from layout.commands.output import end, say
from layout.commands.text import counted, folded, tied
from layout.rules.cautions import PAIN
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import read_count
from layout.words.table import read_table, typed_lines

_FOR_A_TABLE: Final = (
    "--athlete", "--drill", "--on", "--zero", "--board-at", "--drill-file", "--again",
)  # fmt: skip
_SEPARATOR: Final = re.compile(r"[;\t]|,(?![0-9])")


def is_messages(source: Path | None) -> bool:
    """Whether a source is messages and typed lines: none, the keyboard, or a text that is no table."""
    if source is None or str(source) == "-":
        return True
    if source.is_dir() or source.suffix.lower() not in (".txt", ".text", ""):
        return False
    lines = read_table(source)[0].splitlines()
    first = next((t for t in lines if t.strip() and t.lstrip()[0] != "#"), "")
    return NAME in first.lower() or (len(first.split()) > 1 and not _SEPARATOR.search(first))


def run(given: argparse.Namespace) -> int:
    """Keep what came, take in or leave out what is named, and tell what waits."""
    _refuse_a_tables(given)
    text = "" if given.source is None else _text(given.source)
    with opened(given.book) as book:
        got = inbox.receive(book, text) if text else inbox.Received()
        told = _received(got) if text else []
        faults = [*got.faults]
        pool = list(got.new) if text else [w.id for w in waiting(book) if w.state == "waits"]
        told += _taken(given, book, pool, faults)
        told += _left(given, book, pool, faults)
        left = waiting(book)
        lines = [*told, *_told(book, left), *privacy_warning(given.book, book.unfinished)]
    file = shlex.quote(str(given.book))
    after = f"in {file} --take all, or --take {left[0].id} --leave N" if left else f"list {file}"
    done = "what was kept and taken in is kept: phasemark book in lists what waits"
    return end(
        [*lines, f"next: phasemark book {after}"], [_placed(f, given.source) for f in faults], done
    )


def _placed(fault: Fault, source: Path | None) -> Fault:
    """A fault of a text with the file it is in."""
    if fault.line and source is not None and str(source) != "-":
        return BadInput([fault]).at(str(source)).faults[0]
    return fault


def _refuse_a_tables(given: argparse.Namespace) -> None:
    for option in _FOR_A_TABLE:
        value = getattr(given, option[2:].replace("-", "_"))
        if value not in (None, False):
            rule = "goes with a filled table; what a phone or a message says has its own"
            raise refuse(option, rule, None if value is True else value)
    if given.place is not None and given.take is None:
        raise refuse("--place", "goes with --take here", given.place)


def _text(source: Path) -> str:
    if str(source) != "-":
        return read_table(source)[0]
    if sys.stdin.isatty():
        say(["one message or one run (name, drill, readings) a line; an empty line ends"])
    lines = []
    for _, line in typed_lines(sys.stdin):
        if not line.strip() and sys.stdin.isatty():
            break
        lines.append(line.rstrip("\r\n"))
    if not any(line.strip() for line in lines):
        raise refuse("messages", "nothing came")
    return "\n".join(lines)


def _received(got: inbox.Received) -> list[str]:
    parts = [f"new: {counted(len(got.new), 'run')}"]
    if got.had:
        parts.append(f"here already: {got.had}")
    if got.struck:
        parts.append(f"struck out on the phone: {got.struck}")
    return ["; ".join(parts)]


def _numbers(option: str, text: str | None, pool: list[int]) -> list[int]:
    """The runs that an option names; all are those of the text, or all that wait."""
    if text is None:
        return []
    if text.strip().lower() == "all":
        return pool
    return [read_count(option, part, 1, 999_999_999) for part in text.split(",")]


def _taken(
    given: argparse.Namespace, book: Book, pool: list[int], faults: list[Fault]
) -> list[str]:
    lines: list[str] = []
    more = {} if given.place is None else {"place": given.place}
    for number in _numbers("--take", given.take, pool):
        try:
            saved = inbox.take(book, number, more)
        except BadInput as error:
            faults += [_named(fault, number) for fault in error.faults]
            continue
        kept = rows.attempt(book, saved.id)
        assert kept is not None
        said = (
            f"{saved.athlete}, {saved.drill}, {saved.day}, {saved.place}: {phases_text(kept, 'cm')}"
        )
        lines += [*folded(tied(f"taken in as attempt {saved.id}: {said}"), "", "   ")]
        lines += looks(saved.warnings)
    return lines


def _left(given: argparse.Namespace, book: Book, pool: list[int], faults: list[Fault]) -> list[str]:
    done = 0
    for number in _numbers("--leave", given.leave, pool):
        try:
            inbox.leave(book, number)
            done += 1
        except BadInput as error:
            faults += [_named(fault, number) for fault in error.faults]
    return [f"left out: {counted(done, 'run')}"] if done else []


def _named(fault: Fault, number: int) -> Fault:
    return Fault(f"run {number}: {fault.field}", fault.rule, fault.value)


def _told(book: Book, found: Sequence[Waiting]) -> list[str]:
    """What waits, a line or two each."""
    if not found:
        return ["nothing waits"]
    lines = ["waiting, by the number to take or leave:"]
    for run in found:
        front = f"{run.id:4}  "
        which = f", run {run.run}" if run.run else ""
        read = f"{run.words} ({run.zero})" if run.zero != "each" else run.words
        lines += folded(f"{run.athlete}, {run.drill}, {run.day}{which}: {read}", front, "      ")
        lines += _about(book, run)
    return lines


def _about(book: Book, run: Waiting) -> list[str]:
    """What is to be minded of one run."""
    out = []
    if run.struck and run.state == "taken":
        out.append(f"struck out on the phone after it was taken in as attempt {run.attempt}")
    elif run.struck:
        out.append("struck out on the phone")
    if "pain" in run.said:
        out.append(PAIN)
    if run.state == "waits":
        try:
            out += inbox.looked_at(book, run).warnings
        except BadInput as error:
            out += [f"not possible as it is: {fault}" for fault in error.faults]
    return looks(out)
