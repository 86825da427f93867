"""`phasemark book picture`: what was measured on the coach's own picture, kept in the book."""

from __future__ import annotations

import argparse
import shlex
from pathlib import Path
from typing import Final

from layout.book.people import find_member
from layout.book.pictures import keep_picture, short_of, strike_picture
from layout.book.sound import opened
from layout.book.store import privacy_warning
from layout.commands.output import end
from layout.commands.text import folded
from layout.picture.beside import camera_text
from layout.picture.kept import USUAL, Said, body_of, sight_of
from layout.picture.measured import measure
from layout.picture.points import read_points
from layout.picture.signs import signs_of
from layout.words.faults import BadInput, refuse
from layout.words.reading import read_count

EPILOGS: Final = {
    "picture": """\
examples:
  phasemark book picture marram.book imka step.csv --drill short-triple-jump
  phasemark book picture marram.book imka final.csv --kind competition
  phasemark book picture marram.book --strike 3
The file of points is the one that compare --measured reads; only points and
measures with their margins are kept, never the picture. Of a file with several
frames it is the one called touchdown, else the first.
next: phasemark book list marram.book --pictures
"""
}


def options(room: argparse.ArgumentParser, word: str) -> None:
    """Options of the word."""
    room.add_argument("athlete", nargs="?", help="name, or its beginning")
    room.add_argument("points", nargs="?", type=Path, help="file of points (.csv)")
    room.add_argument("--drill", help="the drill it was filmed in")
    room.add_argument("--kind", help="training or competition (training)")
    room.add_argument("--instant", metavar="WORDS", help=f"which instant it shows ({USUAL})")
    room.add_argument("--on", metavar="DATE", help="the day it was taken (today)")
    room.add_argument("--note", help="a note to it")
    room.add_argument("--strike", metavar="N", help="strike picture N out; it stays in the book")


def run(given: argparse.Namespace) -> int:
    """Keep a measured picture, or strike one out."""
    if given.strike is not None:
        return _strike(given)
    if given.athlete is None or given.points is None:
        raise refuse("picture", "an athlete and a file of points needed")
    points = read_points(given.points)
    frame = points.frames[points.chosen]
    said = Said(given.on, given.kind or "training", given.drill or "", given.instant or USUAL,
                given.note or "")  # fmt: skip
    with opened(given.book) as book:
        member = find_member(book, given.athlete)
        who = body_of(member)
        try:
            found = measure(frame, who)
        except BadInput as error:
            raise error.at(str(given.points)) from None
        sight = sight_of(book, member, frame, found, said)
        number, new = keep_picture(book, sight)
    of = "" if sight.drill is None else f" of {sight.drill}"
    state = "kept" if new else "was kept already"
    lines = [
        f"picture {number}, {member.name}, {sight.instant}{of} on {sight.day}, {sight.kind}: {state}",
        *folded(f"{short_of(sight.measures)}; {camera_text(found)}", "  ", "  "),
        *(line for sign in signs_of(frame, who, found) for line in folded(sign, "  ! ")),
    ]
    lines += privacy_warning(given.book, book.unfinished)
    file = shlex.quote(str(given.book))
    return end([*lines, f"next: phasemark book list {file} {shlex.quote(member.name)} --pictures"])


def _strike(given: argparse.Namespace) -> int:
    for name in ("athlete", "points", "drill", "kind", "instant", "on", "note"):
        if getattr(given, name) is not None:
            raise refuse(f"--{name}" if name not in ("athlete", "points") else name,
                         "has no meaning with --strike", getattr(given, name))  # fmt: skip
    with opened(given.book) as book:
        kept = strike_picture(book, read_count("--strike", given.strike, 1, 10**9))
    return end([f"picture {kept.id}, {kept.name}, {kept.instant} on {kept.day}: struck out; it stays "
                "among the corrections"])  # fmt: skip
