"""Picture: the page, the points measured, what is kept of them, and two pictures beside each other."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from starlette.responses import JSONResponse, RedirectResponse, Response

from layout.book.people import Member, members, numbered
from layout.book.pictures import pictures
from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.form import row_number
from layout.desk.guard import POLICY
from layout.desk.page_setout import pain
from layout.desk.wanted import Wanted, wanted
from layout.desk.where import placed
from layout.words.faults import BadInput, Fault, refuse

if TYPE_CHECKING:
    from layout.book.own import Own
    from layout.desk.setout import SetOut

OWN_FILES = POLICY.replace("img-src 'self'", "img-src 'self' blob:; media-src blob:")
"""The policy of the one page that shows a file of the coach's, which never leaves the browser."""


def _asked(given: Given) -> Wanted:
    from layout.desk.picture import FIELDS

    return wanted(given, FIELDS)


def _set(desk: Desk, member: Member, asked: Wanted, own: Own) -> tuple[SetOut | None, str]:
    """What is set out for the athlete, where a drill is named; else why there is none."""
    from layout.desk.setout import set_out

    if not asked.d:
        return None, ""
    try:
        return set_out(placed(desk, asked, own), member, datetime.date.today(), own), ""
    except BadInput as error:
        return None, str(error.faults[0])


def page(desk: Desk, given: Given) -> Response:
    """Room for a picture of an athlete, and what is kept of others."""
    from layout.book.own import own_of
    from layout.book.pictures import INSTANTS
    from layout.book.typed import ENTRY_KINDS
    from layout.desk import picture
    from layout.desk.choices import pick
    from layout.plan.drill import catalogue

    asked, instant = _asked(given), picture.instant_of(given)
    with desk.opened() as book:
        everybody = members(book)
        member = numbered(everybody, asked.a) if asked.a else None
        kept, own = pictures(book), own_of(book)
    out, why = _set(desk, member, asked, own) if member else (None, "")
    target, none = picture.aimed(out, instant) if member else (None, "")
    names, at = [(m.id, m.name) for m in everybody], picture.slug_of(instant)
    drills = [(d.slug, d.title) for d in {**own.drills, **catalogue()}.values()]
    about = (
        pick("a", "Athlete", names, asked.a),
        pick("d", "Drill", [("", "none, a competition"), *drills], asked.d),
        pick("at", "It shows the", [(picture.slug_of(i), i) for i in INSTANTS], at),
    )
    answer = pages.page(
        "picture.html", "Picture", asked=asked, names=names, member=member, out=out, about=about, at=at,
        aimless=why or none, aim=target is not None, marks=picture.marks_of(out), kinds=ENTRY_KINDS,
        kept=_kept(kept, asked.a), pain=pain(desk, asked.a) if member else "", today=datetime.date.today(),
    )  # fmt: skip
    answer.headers["content-security-policy"] = OWN_FILES
    return answer


def _kept(kept: list[Any], athlete: int) -> str:
    from layout.desk import picture

    own = [picture.told_of(k) for k in kept if k.athlete == athlete]
    every = [picture.told_of(k, True) for k in kept]
    return pages.part("picture_kept.html", own=own[::-1], every=every[::-1], athlete=athlete)


def _seen(desk: Desk, given: Given) -> tuple[Member, Wanted, Any]:
    from layout.book.own import own_of
    from layout.desk import picture

    asked = _asked(given)
    if not asked.a:
        raise refuse("athlete", "is needed")
    with desk.opened() as book:
        member, own = numbered(members(book), asked.a), own_of(book)
    out, _ = _set(desk, member, asked, own)
    return member, asked, picture.seen_in(given, member, out, picture.instant_of(given))


def _failed(error: BadInput) -> Response:
    """What is wrong with points or words, line by line, beside what was tapped."""
    return JSONResponse({"state": "failed", "why": [_plain(f) for f in error.faults]})


def _plain(fault: Fault) -> str:
    """A fault without the line of the table that the page has sent."""
    return str(replace(fault, file="", line=0))


def measured(desk: Desk, given: Given) -> Response:
    """The points that were tapped, measured: table, warnings, figures."""
    from layout.desk import picture

    try:
        _, asked, seen = _seen(desk, given)
        html = pages.part(
            "picture_measured.html", seen=seen, rows=picture.rows_of(seen), told=picture.told(seen),
            figures=picture.figures(seen), about=picture.about(given, asked.d),
        )  # fmt: skip
    except BadInput as error:
        return _failed(error)
    return JSONResponse({"state": "ok", "html": html, "over": picture.over(seen)})


def keep(desk: Desk, given: Given) -> Response:
    """Put what is measured into the book; the same page sent twice counts once."""
    from layout.desk import picture

    try:
        member, asked, seen = _seen(desk, given)
        with desk.writing, desk.opened() as book:
            told = picture.keep(book, member, seen, given, asked.d)
            kept = pictures(book)
    except BadInput as error:
        return _failed(error)
    return JSONResponse({"state": "ok", "told": told, "html": _kept(kept, asked.a)})


def strike(desk: Desk, given: Given) -> Response:
    """Strike one kept picture out."""
    from layout.book.pictures import strike_picture

    athlete = row_number("athlete", given.get("a", ""))
    number = row_number("picture", given.get("picture", ""))
    with desk.writing, desk.opened() as book:
        if number not in {p.id for p in pictures(book, athlete)}:
            raise refuse("picture", "is not one of this athlete's, or struck out already", number)
        strike_picture(book, number)
    return RedirectResponse(Wanted(a=athlete).address("/picture") + "#kept", 303)


def two(desk: Desk, given: Given) -> Response:
    """Two kept pictures at one scale, and what differs by more than the margins."""
    from layout.desk import picture
    from layout.desk.setout import athlete_of

    numbers = [row_number(n, given.get(n, "")) for n in ("one", "two")]
    if numbers[0] == numbers[1]:
        raise refuse("two", "must be another picture than the first", numbers[1])
    with desk.opened() as book:
        by_number = {m.id: m for m in members(book)}
        kept = {p.id: p for p in pictures(book)}
    for name, number in zip(("one", "two"), numbers, strict=True):
        if number not in kept:
            raise refuse(name, "no picture of this number is in the book", number)
    first, second = (kept[n] for n in numbers)
    drawn, apart = picture.two_of(first, second, by_number)
    today = datetime.date.today()
    athletes = [athlete_of(by_number[k.athlete], today) for k in (first, second)]
    return pages.page(
        "picture_two.html", "Picture", first=picture.told_of(first, True),
        second=picture.told_of(second, True), drawn=drawn, apart=apart, tight=picture.tight,
        cautions=picture.cautions(*athletes), back=Wanted(a=second.athlete).address("/picture"),
    )  # fmt: skip


SCREENS: Final = {"/picture": page, "/picture/two": two}
ASKED: Final = {"/measure": measured, "/picture/keep": keep}
"""What the page's script sends, and is answered with data."""
POSTS: Final = {"/picture/strike": strike}
SCRIPTS: Final = ("picture", *(f"picture_{n}" for n in ("lists", "points", "reel", "stage")))
