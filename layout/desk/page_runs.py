"""Runs of the season: the list behind a figure, and one run looked at and put right."""

from __future__ import annotations

from typing import Any

from starlette.responses import RedirectResponse, Response

from layout.book.people import find_member, members, numbered
from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.wanted import Look, looked
from layout.words.faults import BadInput


def page(desk: Desk, given: Given) -> Response:
    """The runs behind a figure."""
    from layout.desk.runs import listed

    look = looked(given)
    with desk.opened() as book:
        member = numbered(members(book), look.a)
        found = listed(book, member, look)
    return pages.page("runs.html", "Season", member=member, look=look, found=found)


def run(desk: Desk, given: Given) -> Response:
    """One run, what was changed of it, and a form to put it right."""
    from layout.desk.runs import one_of

    look = looked(given)
    with desk.opened() as book:
        everybody = members(book)
        one = one_of(book, numbered(everybody, look.a), look)
    return _shown(look, everybody, one, {}, [])


def put_right(desk: Desk, given: Given) -> Response:
    """Put one run right; what stood before is kept. What is wrong stands beside its field."""
    from layout.desk.runs import FORM, mended, one_of, put_right

    look = looked(given, FORM)
    with desk.writing, desk.opened() as book:
        everybody = members(book)
        member = numbered(everybody, look.a)
        try:
            _, whose = put_right(book, member, look, given)
        except BadInput as error:
            one, wrong, other = mended(one_of(book, member, look), given, error)
            return _shown(look, everybody, one, wrong, other)
        number = find_member(book, whose, exact=True).id
    return RedirectResponse(look.address("/season/run", a=number) + "#changed", 303)


def _shown(
    look: Look, everybody: Any, one: Any, wrong: dict[str, str], other: list[str]
) -> Response:
    from layout.book.typed import ENTRY_KINDS
    from layout.desk.runs import CHANGED, ZERO_TEXTS

    return pages.page(
        "run.html", "Season", 400 if wrong or other else 200, look=look, one=one, kept=one.kept,
        wrong=wrong, other=other, names=CHANGED, zeros=ZERO_TEXTS,
        kinds=[(kind, kind) for kind in ENTRY_KINDS], everybody=[(m.name, m.name) for m in everybody],
        drills=list(one.drills.items()),
    )  # fmt: skip
