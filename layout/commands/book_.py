"""`phasemark book`: one room with a door for each word; see ROOMS."""

from __future__ import annotations

import argparse
import importlib
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from layout.commands.output import end, say
from layout.commands.parsing import OneLine
from layout.commands.uses import refuse_own_input
from layout.words.faults import refuse
from layout.words.reading import nearest

ROOMS: Final[dict[str, tuple[str, str]]] = {
    "new": ("make an empty book, which only you can read", "book_files"),
    "keep": ("take in an athlete file, a saved plan, or just a name", "book_files"),
    "add": ("put down one attempt, from tape readings of any zero", "book_add"),
    "correct": ("change an attempt or strike it out; the earlier values are kept", "book_add"),
    "picture": ("keep what was measured on your own picture, or strike it out", "book_picture"),
    "list": ("what was jumped, sums, load by week, plans, corrections", "book_list"),
    "season": ("what the book tells back: phases, load, next rung, best split", "book_season"),
    "fit": ("the athlete's own figures, as lines of the athlete file", "book_season"),
    "in": ("take in a table you filled, runs from phones, a folder from out", "book_files"),
    "out": ("the whole book as plain tables, or one athlete as JSON", "book_files"),
    "check": ("is the file sound, private and consistent?", "book_files"),
    "erase": ("take one athlete out for good", "book_files"),
}
"""Word: what it does, and the module of `layout.commands` with `EPILOGS`, `options(room, word)` and
`run(given)`. A new word needs one line here."""
_NEGATIVE: Final = re.compile(r"\A-(?=[0-9.,])")


def rooms_text() -> str:
    """The words and what each does, for the help."""
    return "\n".join(f"  {word:8} {what}" for word, (what, _) in ROOMS.items())


def parser(word: str) -> OneLine:
    """The command line of one word."""
    if word not in ROOMS:
        known = f"must be one of {', '.join(ROOMS)}{nearest(word, ROOMS)}"
        raise refuse("book", known, word)
    what, module = ROOMS[word]
    room = importlib.import_module(f"layout.commands.{module}")
    out = OneLine(
        prog=f"phasemark book {word}",
        description=what[0].upper() + what[1:] + "." * (what[-1] != "?"),
        epilog=room.EPILOGS[word],
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    out.add_argument("book", type=Path, metavar="CLUB.book", help="the club's book")
    room.options(out, word)
    return out


def plain_words(words: Sequence[str]) -> list[str]:
    """Words with any minus before a figure as a minus sign: a reading or a wind, never an option."""
    return [_NEGATIVE.sub("\u2212", word, count=1) for word in words]


def run(given: argparse.Namespace) -> int:
    """Hand on to the word's own room."""
    if given.word is None:
        say(["phasemark book WORD CLUB.book ...", "", rooms_text(), ""])
        return end(["Each word has its own help: phasemark book add --help"])
    out = parser(given.word)
    inner = out.parse_args(plain_words(given.rest))
    inner.word = given.word
    refuse_own_input(inner)
    module = importlib.import_module(f"layout.commands.{ROOMS[given.word][1]}")
    return int(module.run(inner))
