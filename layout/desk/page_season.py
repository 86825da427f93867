"""Season: everybody in a line each, one athlete's season, and own figures taken into the athlete's file."""

from __future__ import annotations

import datetime

from starlette.responses import RedirectResponse, Response

from layout.book.people import members, numbered
from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.form import mark_of
from layout.desk.wanted import Look, looked
from layout.desk.where import usual_of


def page(desk: Desk, given: Given) -> Response:
    """One athlete's season; everybody's in short where nobody is named."""
    from layout.book.own import own_of
    from layout.desk import season as told
    from layout.season import words

    look = looked(given)
    if not look.a:
        return _everybody(desk, look)
    with desk.opened() as book:
        everybody = members(book)
        start = usual_of(desk, own_of(book))
        view = told.view_of(book, numbered(everybody, look.a), look, start.slug)
    shown, wrong = told.block_of(view)
    wrong = {**view.wrong, **wrong}
    return pages.page(
        "season.html", "Season", 400 if wrong else 200, view=view, season=view.season, look=look,
        told=told, words=words, block=shown, wrong=wrong, member=view.member,
        everybody=everybody, today=datetime.date.today().isoformat(),
    )  # fmt: skip


def _everybody(desk: Desk, look: Look) -> Response:
    from layout.season import words
    from layout.season.everybody import WEEKS, everybody

    with desk.opened() as book:
        rows = everybody(book, datetime.date.today())
    return pages.page("everybody.html", "Season", rows=rows, look=look, weeks=WEEKS, words=words)


def fit(desk: Desk, given: Given) -> Response:
    """What taking the own figures in would change of the athlete's file."""
    return _fit(desk, looked(given), ())


def take_in(desk: Desk, given: Given) -> Response:
    """Take the own figures into the athlete's file, as they were shown; what stood before is kept."""
    from layout.desk.own_figures import take_in

    look = looked(given, ("was",))
    with desk.writing, desk.opened() as book:
        told = take_in(book, numbered(members(book), look.a), look, given.get("was", ""))
    if told:
        return _fit(desk, look, told)
    return RedirectResponse(look.address() + "#own", 303)


def put_back(desk: Desk, given: Given) -> Response:
    """Put the athlete's file back as it stood until a moment; what stands now is kept too."""
    from layout.desk.own_figures import put_back

    look = looked(given, ("was", "at"))
    with desk.writing, desk.opened() as book:
        member = numbered(members(book), look.a)
        told = put_back(book, member, given.get("at", ""), given.get("was", ""))
    if told:
        return _fit(desk, look, told)
    return RedirectResponse(look.address("/season/own") + "#before", 303)


def _fit(desk: Desk, look: Look, told: tuple[str, ...]) -> Response:
    from layout.desk.own_figures import before_of, shown

    with desk.opened() as book:
        member = numbered(members(book), look.a)
        change, before = shown(book, member, look), before_of(book, member)
    return pages.page(
        "own_figures.html", "Season", 400 if told else 200, member=member, look=look, change=change,
        before=before, told=told, mark=mark_of(member.file),
    )  # fmt: skip
