"""`phasemark book erase`: one athlete taken out for good, and what others' texts still say of them."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Sequence
from typing import Final

from layout.book.erase import erase
from layout.book.mentions import Mention
from layout.book.people import find_member
from layout.book.sound import opened
from layout.commands.plan_ import say
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import line_text

EPILOGS: Final = {
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
    """Options of the word."""
    room.add_argument("athlete", help="the whole name")
    room.add_argument(
        "--parts",
        metavar="WHICH",
        help="also parts of the name in others' notes: all, or which",
    )
    room.add_argument("--yes", action="store_true", help="really; there is no way back")


def run(given: argparse.Namespace) -> int:
    """Take an athlete out, and list what is left to decide."""
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
    say([f"{gone.name} is gone. Attempts: {gone.attempts}; plans: {gone.plans}; corrections: "
         f"{gone.corrections}; mentions in other notes: {gone.mentions}.",
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
