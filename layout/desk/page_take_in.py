"""Take in: files from this machine into the book, and what became of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from starlette.responses import Response

from layout.book.people import members, numbered
from layout.desk import pages
from layout.desk.app import Desk, Given, Screen
from layout.desk.form import known_only, row_number
from layout.desk.guard import MOST_FILES_BODY
from layout.desk.wanted import wanted
from layout.words.faults import BadInput
from layout.words.reading import one_of

if TYPE_CHECKING:
    from layout.book.store import Book
    from layout.book.typed import Typed
    from layout.desk.taken import Outcome

BASE: Final = ("athlete", "drill", "day", "place")
"""What is said once for a table of attempts that leaves it out."""


def page(desk: Desk, given: Given) -> Response:
    """Room for files."""
    wanted(given)
    return _page(desk, {}, ())


def take_in(desk: Desk, given: Given) -> Response:
    """Take them in; what has to be decided first is asked, and nothing of that file is taken in yet."""
    from layout.desk.taken import WORDS, files_of, take

    known_only((n for n in given if not _is_file(n)), (*BASE, "take", "text"))
    try:
        files = files_of(given)
        word = one_of("take", given["take"], WORDS) if given.get("take") else ""
        with desk.writing, desk.opened() as book:
            done = take(book, files, _base(book, given), word)
    except BadInput as error:
        return _page(desk, given, (), error.told())
    return _page(desk, given, tuple(done))


def _is_file(name: str) -> bool:
    return name[:4] in ("name", "data") and name[4:].isdecimal()


def _base(book: Book, given: Given) -> Typed:
    from layout.book.typed import Typed

    said = {n: given.get(n, "").strip() for n in BASE}
    athlete = ""
    if said["athlete"]:
        athlete = numbered(members(book), row_number("athlete", said["athlete"])).name
    return Typed(athlete, said["drill"], day=said["day"] or None, place=said["place"] or None)


def _page(
    desk: Desk, given: Given, done: tuple[Outcome, ...], told: tuple[str, ...] = ()
) -> Response:
    from layout.book.own import drills_known

    with desk.opened() as book:
        everybody, drills = members(book), drills_known(book)
    wrong = told or any(o.faults for o in done)
    return pages.page(
        "take_in.html", "Club", 400 if wrong else 200, done=done, told=told,
        everybody=[(str(m.id), m.name) for m in everybody],
        drills=[(d.slug, d.title) for d in drills.values()], base={n: given.get(n, "") for n in BASE},
        text=given.get("text", "") if wrong else "", most=MOST_FILES_BODY,
    )  # fmt: skip


SCREENS: Final[dict[str, Screen]] = {"/club/in": page}
POSTS: Final[dict[str, Screen]] = {"/club/in": take_in}
