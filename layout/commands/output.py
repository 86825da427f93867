"""What a command puts out: lines on the screen, and files whole or not at all."""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

from animate.refused import Refused
from animate.whole_file import fill_with, refuse_existing, write_all
from layout.commands.streams import tell
from layout.plan.value import Plan
from layout.rules.sources import said
from layout.words.faults import BadInput, Fault, not_written, refuse
from layout.words.names import safe_name
from layout.words.note import Note
from layout.words.reading import read_text

DRAWINGS: Final = (".svg", ".pdf", ".png")
"""Endings of a page."""
PRINT: Final = "next: print it at 100 % and check the bar with a ruler"


def say(lines: Iterable[str], done: str = "") -> None:
    """Print lines; where they cannot be, say what is `done` all the same."""
    tell("\n".join(lines) + "\n", done)


def end(lines: Iterable[str], faults: Sequence[Fault] = (), done: str = "") -> int:
    """Print lines, then what was wrong with a part of it all."""
    say(lines, done)
    if faults:
        raise BadInput(faults)
    return 0


def save(path: str | os.PathLike[str], content: str | bytes, overwrite: bool) -> None:
    """Write a file whole or not at all, keeping one that exists unless told otherwise."""
    save_all([(path, content)], overwrite)


def save_all(files: Sequence[tuple[str | os.PathLike[str], str | bytes]], overwrite: bool) -> None:
    """Write the files of one command, all of them or none, keeping those that exist unless told."""
    filled = [(p, fill_with(c.encode() if isinstance(c, str) else c)) for p, c in files]
    try:
        write_all(filled, overwrite, sync=True)
    except Refused as error:
        raise not_written(error, str(error.given or (files[0][0] if files else ""))) from None


def make_folder(field: str, name: str, inner: str = "") -> None:
    """Make a folder, and one inside it, where they are not there yet."""
    try:
        (Path(name) / inner).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput([Fault(field, f"cannot be made ({error.strerror})", None, name)]) from None


def keep_existing(to: str, overwrite: bool) -> None:
    """Refuse before any work a file that is there and may not be replaced."""
    try:
        refuse_existing(to, overwrite)
    except Refused as error:
        raise not_written(error, to) from None


def keep_what_is_no_plan(path: str, overwrite: bool) -> None:
    """Refuse, before any work, to keep a plan over what is not a plan."""
    if not path.lower().endswith(".json"):
        raise refuse("--save", "must be a file ending in .json", path)
    keep_existing(path, overwrite)
    if os.path.lexists(path):
        try:
            is_plan = {"version", "contacts", "flights"} <= set(json.loads(read_text(Path(path))))
        except (ValueError, RecursionError, TypeError):
            is_plan = False
        if not is_plan:
            raise refuse("--save", "is there and is no plan: it is kept, use another name", path)


def ending_of(to: str, endings: Sequence[str], option: str = "--to", of: str = "") -> str:
    """The ending of a file's name, one of those that can be written."""
    kind = Path(to).suffix.lower()
    if kind not in endings:
        raise refuse(option, f"{of}must be a file ending in {', '.join(endings)}", to)
    return kind


def new_file(given: argparse.Namespace, own: str, endings: Sequence[str]) -> tuple[str, str]:
    """The file to write, `own` where none is named, and its ending; refused before any work."""
    to = given.to or own
    kind = ending_of(to, endings)
    keep_existing(to, given.overwrite)
    return to, kind


def stem_of(plan: Plan) -> str:
    """A safe name for a plan's files."""
    return f"{safe_name(plan.who.name)}-{plan.drill}"


def look_of(given: argparse.Namespace) -> str:
    """The theme that was asked for."""
    return "print-grey" if given.grey else "light"


def warned(notes: Iterable[Note]) -> list[str]:
    """Warnings with their sources, a line each."""
    return [f"  ! {note.text} [{said(note.source)}]" for note in notes]


def marked(line: str) -> list[str]:
    """A line to look at, where there is one."""
    return [f"  ! {line}"] if line else []
