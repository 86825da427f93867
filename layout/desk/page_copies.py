"""What leaves the book: a copy, its tables, one athlete's data for the family; an athlete erased."""

from __future__ import annotations

import datetime
import functools
import gc
import io
import zipfile
from typing import Any, Final

from starlette.responses import Response

from layout.book.people import members, numbered
from layout.desk import pages
from layout.desk.app import Desk, Given, Screen
from layout.desk.form import known_only, mark_of, refuse_changed
from layout.desk.wanted import wanted
from layout.words.faults import BadInput, refuse
from layout.words.names import safe_name
from layout.words.reading import line_text


def _dated(desk: Desk) -> str:
    return f"{safe_name(desk.book.stem)}-{datetime.date.today().isoformat()}"


def copy(desk: Desk, given: Given) -> Response:
    """The whole book in one consistent file."""
    from layout.book.exchange import copied

    wanted(given)
    with desk.opened() as book:
        data = copied(book)
    return pages.file(f"{_dated(desk)}.book", data, "application/octet-stream")


def tables(desk: Desk, given: Given) -> Response:
    """Every table of the book, as any spreadsheet reads it."""
    from layout.book.exchange import tables_of

    wanted(given)
    with desk.opened() as book:
        found, _ = tables_of(book)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in found.items():
            packed.writestr(f"{_dated(desk)}/{name}", data)
    return pages.file(f"{_dated(desk)}.zip", out.getvalue(), "application/zip")


def family(desk: Desk, given: Given) -> Response:
    """Everything that the book holds of one athlete."""
    from layout.book.erase import export

    with desk.opened() as book:
        member = numbered(members(book), wanted(given).a)
        text = export(book, member)
    return pages.file(f"{safe_name(member.name)}.json", text.encode(), "application/json")


def sure(desk: Desk, given: Given, told: tuple[str, ...] = ()) -> Response:
    """What erasing an athlete takes away, and what it cannot reach; nothing is gone yet."""
    from layout.book.erase import held

    with desk.opened() as book:
        member = numbered(members(book), wanted(given).a)
        counts = held(book, member)
    return pages.page(
        "erase.html", "Club", 400 if told else 200, member=member, counts=counts, told=told,
        was=mark_of(member), book=str(desk.book),
    )  # fmt: skip


def erase(desk: Desk, given: Given) -> Response:
    """Take an athlete out for good, or parts of a name that others' texts still hold."""
    from layout.book.erase import erase

    parts = [n.removeprefix("part-") for n in given if n.startswith("part-")]
    known_only((n for n in given if not n.startswith("part-")), ("a", "was", "sure", "name"))
    asked = {"a": given.get("a", "")}
    try:
        with desk.writing, desk.opened() as book:
            who: Any = line_text("name", given.get("name") or "-", 80)
            if asked["a"]:
                who = numbered(members(book), wanted(asked).a)
                if given.get("sure") != "yes":
                    raise refuse("erase", "the box must be ticked; nothing was changed")
                refuse_changed("athlete", given, mark_of(who), who.name)
            elif not parts:
                raise refuse("erase", "no text was chosen; nothing was changed")
            gone = erase(book, who, parts)
    except BadInput as error:
        if asked["a"]:
            return sure(desk, asked, error.told())
        raise
    _forget(desk)
    return pages.page("erased.html", "Club", gone=gone, book=str(desk.book))


def _forget(desk: Desk) -> None:
    """Drop what is remembered of anybody: plans, files and figures are made anew when they are asked for."""
    desk.worker.close()
    for found in gc.get_objects():
        ours = str(getattr(found, "__module__", "")).startswith("layout.")
        if isinstance(found, functools._lru_cache_wrapper) and ours:
            found.cache_clear()


SCREENS: Final[dict[str, Screen]] = {
    "/club/copy.book": copy, "/club/tables.zip": tables, "/club/family.json": family,
    "/club/erase": sure,
}  # fmt: skip
POSTS: Final[dict[str, Screen]] = {"/club/erase": erase}
