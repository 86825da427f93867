"""Today: who jumps, and which drill."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from layout.book.people import Member, members, numbered
from layout.book.store import Book
from layout.book.waits import count
from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.wanted import wanted
from layout.words.faults import BadInput

if TYPE_CHECKING:
    from layout.rules.standing import Standing


def page(desk: Desk, given: Given) -> Response:
    """Who jumps, and which drills are open to them."""
    asked = wanted(given)
    with desk.opened() as book:
        everybody, waits = members(book), count(book)
        chosen = numbered(everybody, asked.a) if asked.a else None
        about = _drills(chosen, book) if chosen else None
    return pages.page(
        "today.html", "Today", asked=asked, everybody=everybody, chosen=chosen, about=about,
        demo=desk.demo, book=str(desk.book), day=pages.day_text(datetime.date.today()),
        waits=waits,
    )  # fmt: skip


def _drills(member: Member, book: Book) -> dict[str, Any]:
    """Drills open and closed to an athlete, or why there are none."""
    from layout.book.own import own_of
    from layout.desk.jumped import pain_told
    from layout.desk.setout import athlete_of, drills_for
    from layout.rules.cautions import in_short

    today = datetime.date.today()
    try:
        athlete = athlete_of(member, today)
    except BadInput as error:
        return {"faults": error.told(), "open": [], "closed": []}
    fit, closed = drills_for(athlete, today, own_of(book))
    stands = athlete.standing(today)
    shut = [
        {"drill": row.drill, "why": [_once(why.text, stands) for why in row.closed]}
        for row in closed
    ]
    pain = pain_told(book, member.id, today)
    told = {"counts": stands.text, "short": in_short(stands), "pain": pain}
    return {"faults": (), "open": fit, "closed": shut, "unknown": bool(stands.assumed), **told}


def _once(why: str, stands: Standing) -> str:
    """Why a drill is closed, without what was taken for the unknown: that is said once, above."""
    for one in stands.assumed:
        why = why.replace(f" {one.text}", "")
    return why
