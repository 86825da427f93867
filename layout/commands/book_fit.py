"""`phasemark book fit`: an athlete's own figures as lines of the athlete file."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path
from typing import Final

from layout.book.people import find_member
from layout.book.sound import opened
from layout.book.store import privacy_warning
from layout.commands.book_season import told_days, who_and_when
from layout.commands.plan_ import say
from layout.commands.streams import tell
from layout.words.faults import refuse

EPILOGS: Final = {
    "fit": """\
examples:
  phasemark book fit marram.book imka
  phasemark book fit marram.book imka --save imka-own.toml
  phasemark book fit marram.book imka --since 2026-01-01 --json
Only what the attempts tell is moved; the rest stays at its default. The athlete
file that you wrote is never changed: --save makes a new one.
next: phasemark plan imka-own.toml DRILL
""",
}


def options(room: argparse.ArgumentParser, word: str) -> None:
    """Options of the word."""
    who_and_when(room, "up to this day")
    room.add_argument("--save", metavar="FILE", help="a new athlete file with the figures in it")
    room.add_argument("--json", action="store_true", help="print as JSON")


def run(given: argparse.Namespace) -> int:
    """Print the figures, and keep them in a new file where asked.

    Raises
    ------
    BadInput
        Not enough attempts for a file of one's own, or nothing to begin from.
    """
    from layout.book.private import save_private
    from layout.commands.as_json import VERSION, json_text, rounded
    from layout.commands.season_entries import aside_text
    from layout.commands.season_json import refit_values
    from layout.commands.season_text import refit_text
    from layout.season.own_file import calibration_lines, own_file, top_lines
    from layout.season.season import fit_of

    on, since = told_days(given)
    with opened(given.book) as book:
        member = find_member(book, given.athlete)
        fitted = fit_of(book, member, on, since)
    found, athlete, refitted = fitted.refit, fitted.athlete, fitted.refitted
    table = calibration_lines(refitted, found, fitted.first, fitted.last) if found.enough else []
    lines = [*top_lines(athlete, refitted).values(), *table] if found.enough else []
    words = f"{shlex.quote(str(given.book))} {shlex.quote(member.name)}"
    if given.save is not None:
        if not found.enough:
            raise refuse("--save", f"not enough yet: {'; '.join(found.lacking)}")
        if member.file is None:
            raise refuse("--save", "the book has no athlete file to begin from; copy the lines")
        made = own_file(member.file, athlete, refitted, table)
        save_private(Path(given.save), made.encode())
    if given.json:
        out = {
            "version": VERSION, "athlete": member.name, "on": on.isoformat(), **refit_values(found),
            "lines": lines, "left_out": [row.id for row in fitted.aside],
        }  # fmt: skip
        tell(json_text(rounded(out)))
        return 0
    out_lines = [f"{member.name}: own figures to {on.isoformat()}", *aside_text(fitted.aside, "cm"),
                 *refit_text(found)]  # fmt: skip
    if lines:
        out_lines += ["", "FOR THE ATHLETE FILE", *(f"  {line}" for line in lines), ""]
    else:
        out_lines += ["", f"next: phasemark book add {words} DRILL READINGS --strides N --speed V"]
    if given.save is not None:
        file = shlex.quote(given.save)
        out_lines += [f"saved {given.save}; your own file is as it was",
                      f"next: phasemark plan {file} hop-step-sand"]  # fmt: skip
    elif lines and member.file is not None:
        out_lines.append(f"next: phasemark book fit {words} --save FILE.toml")
    say([*out_lines, *privacy_warning(given.book, book.unfinished)])
    return 0
