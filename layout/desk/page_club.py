"""Club: who is in the book, its own venues and drills, and each as a form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from starlette.responses import RedirectResponse, Response

from layout.book.people import Member, members, numbered
from layout.desk import pages
from layout.desk.app import Desk, Given, Screen
from layout.desk.form import known_only, mark_of
from layout.desk.wanted import Wanted, wanted
from layout.rules.demand import INTENSITIES
from layout.words.faults import BadInput, Fault
from layout.words.names import counted
from layout.words.reading import line_text
from layout.words.trade import LEVELS

if TYPE_CHECKING:
    from layout.desk.club import Row


def page(desk: Desk, given: Given) -> Response:
    """Who is in the book, and what else it holds of the club."""
    from layout.book.own import own_of

    wanted(given)
    with desk.opened() as book:
        everybody, own = members(book), own_of(book)
        unfinished = book.unfinished
    return pages.page(
        "club.html", "Club", everybody=everybody, book=str(desk.book), own=own,
        unfinished=unfinished,
    )  # fmt: skip


def athlete(desk: Desk, given: Given) -> Response:
    """One athlete as a form, empty for a new one."""
    from layout.desk.club import told_of

    asked = wanted(given)
    member = desk.member(asked.a) if asked.a else None
    return _athlete(asked, member, told_of(member), ())


def keep_athlete(desk: Desk, given: Given) -> Response:
    """Keep what the form says, or show it again with what is wrong."""
    from layout.desk.club import keep

    asked = wanted({n: given.get(n, "") for n in ("a", "tape")})
    with desk.writing, desk.opened() as book:
        member = numbered(members(book), asked.a) if asked.a else None
        try:
            kept = keep(book, member, given)
        except BadInput as error:
            return _athlete(asked, member, given, error.faults)
    return RedirectResponse(Wanted(a=kept, tape=asked.tape).address("/") + "#which", 303)


def _athlete(
    asked: Wanted, member: Member | None, values: Given, faults: tuple[Fault, ...]
) -> Response:
    from layout.desk.club import own_figures, rows

    shown, other = rows(values, faults, asked.tape)
    return pages.page(
        "athlete.html", "Club", 400 if faults else 200, rows=shown, other=other, asked=asked,
        wrong=_wrong(shown), name=member.name if member else "",
        was=values.get("was") or mark_of(member or ""), figures=own_figures(member),
    )  # fmt: skip


def _wrong(rows: Sequence[Row]) -> str:
    count = sum(bool(row.faults) for row in rows)
    return counted(count, "field") if count else ""


def venue(desk: Desk, given: Given) -> Response:
    """A venue of the club's own as a form, empty for a new one."""
    asked, slug = _which(given)
    return _venue(desk, asked, slug)


def keep_venue(desk: Desk, given: Given) -> Response:
    """Keep what the form says of a venue, or show it again with what is wrong."""
    from layout.desk.venue_form import keep

    asked, slug = _which({n: given.get(n, "") for n in ("v", "tape")})
    try:
        with desk.writing, desk.opened() as book:
            keep(book, slug, given)
        if not slug:
            desk.keep(place="", placed="")  # whoever has just measured one means to use it
    except BadInput as error:
        return _venue(desk, asked, slug, given, error.faults)
    return RedirectResponse("/club#places", 303)


def _which(given: Given) -> tuple[Wanted, str]:
    """The unit asked for, and the club's own venue, empty for a new one."""
    asked = wanted(given, ("v",))
    slug = given.get("v", "")
    return asked, line_text("venue", slug, 80) if slug else ""


def _venue(
    desk: Desk, asked: Wanted, slug: str, sent: Given | None = None, faults: tuple[Fault, ...] = ()
) -> Response:
    """The form as the book has it, or as it was sent with what is wrong."""
    from layout.desk.venue_form import rows, values_of, venue_mark

    with desk.opened() as book:
        was, before = venue_mark(book, slug), values_of(book, slug)
    values = before if sent is None else sent
    shown, other = rows(values, faults, asked.tape)
    return pages.page(
        "venue.html", "Club", 400 if faults else 200, rows=shown, other=other, asked=asked,
        slug=slug, wrong=_wrong(shown), title=before["title"], was=values.get("was") or was,
    )  # fmt: skip


def drill(desk: Desk, given: Given) -> Response:
    """A drill of the club's own as a form: empty, as it is kept, or as another one is."""
    from layout.desk.drill_form import begun_from, own_drill, values_of
    from layout.plan.drill import find_drill

    known_only(given, ("d", "like"))
    asked = {n: line_text("drill", given[n], 80) for n in ("d", "like") if given.get(n)}
    with desk.opened() as book:
        was, before = own_drill(book, asked.get("d", ""))
    values = values_of(before) if before else {}
    if "like" in asked and not before:
        values = begun_from(find_drill(asked["like"]))
    return _drill(asked.get("d", ""), before.title if before else "", was, values)


def keep_drill(desk: Desk, given: Given) -> Response:
    """Keep what the form says of a drill; or show it again with more room, or what is wrong."""
    from layout.desk.drill_form import keep, own_drill, read_form

    slug, was = given.get("d", ""), given.get("was", "")
    with desk.opened() as book:
        before = own_drill(book, slug)[1]
    title = before.title if before else ""
    try:
        if given.get("more") or given.get("look"):
            read_form(given)
            return _drill(slug, title, was, given)
        with desk.writing, desk.opened() as book:
            keep(book, slug, given)
    except BadInput as error:
        return _drill(slug, title, was, given, error.faults)
    return RedirectResponse("/club#places", 303)


def _drill(
    slug: str, title: str, was: str, values: Given, faults: tuple[Fault, ...] = ()
) -> Response:
    from layout.desk import drill_form
    from layout.plan.drill import HURDLE_HEIGHTS, catalogue

    shown = drill_form.seen(values, faults)
    count = sum(map(bool, shown.wrong.values()))
    return pages.page(
        "drill.html", "Club", 400 if faults else 200, form=shown, slug=slug, title=title, was=was,
        faulty=counted(count, "field") if count else "",
        heights=[(f"{h}", f"{h} cm") for h in HURDLE_HEIGHTS],
        catalogue=catalogue().values(), runs=drill_form.RUNS, levels=LEVELS, intensities=INTENSITIES,
        years=[(f"{n}", f"{n} years") for n in range(6, 19)],
        counts=lambda most: [(f"{n}", f"{n}") for n in range(1, most + 1)],
        pairs=lambda words: [(w, w) for w in words],
    )  # fmt: skip


def own_file(desk: Desk, given: Given) -> Response:
    """An own drill or venue as the file it is, as --drill-file and --venue read it."""
    from layout.book.own import text_of

    known_only(given, ("kind", "name"))
    kind, name = given.get("kind", ""), given.get("name", "")
    with desk.opened() as book:
        text = text_of(book, kind, name)
    return pages.file(f"{name}.toml", text.encode(), "application/toml")


def take_away(desk: Desk, given: Given) -> Response:
    """Offer an own drill or venue no more."""
    from layout.book.own import take_away

    kind, name = given.get("kind", ""), given.get("name", "")
    known_only(given, ("kind", "name"))
    with desk.writing, desk.opened() as book:
        take_away(book, kind, name)
    return RedirectResponse("/club#places", 303)


SCREENS: Final[dict[str, Screen]] = {
    "/club": page, "/club/athlete": athlete, "/club/venue": venue, "/club/drill": drill,
    "/club/own.toml": own_file,
}  # fmt: skip
POSTS: Final[dict[str, Screen]] = {
    "/club/athlete": keep_athlete, "/club/venue": keep_venue, "/club/drill": keep_drill,
    "/club/take-away": take_away,
}  # fmt: skip
