"""Squad: who is here, the marks they share, sheets for all, and long work that goes on by itself."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, NamedTuple

from starlette.responses import JSONResponse, RedirectResponse, Response

from layout.book.people import Member, members
from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.kept import kept_of
from layout.desk.roll import MOST_HERE, Roll, is_ticked, rolled
from layout.desk.where import chosen, placed
from layout.words.faults import BadInput, refuse
from layout.words.names import counted
from layout.words.reading import one_of

if TYPE_CHECKING:
    from layout.book.own import Own
    from layout.desk.rounds import Kind, Round, Told
    from layout.desk.shared import Crew, Shared


class Seen(NamedTuple):
    """What the book has: athletes, the club's own, and who had pain today."""

    everybody: list[Member]
    own: Own
    hurt: frozenset[int]


def _book(desk: Desk) -> Seen:
    from layout.book.own import own_of
    from layout.desk.jumped import pained

    with desk.opened() as book:
        return Seen(members(book), own_of(book), pained(book, datetime.date.today()))


def page(desk: Desk, given: Given) -> Response:
    """Who is here, and what is shared out among them."""
    today = datetime.date.today()
    roll = rolled(given, ("feet",))
    if is_ticked(given):
        return RedirectResponse(roll.address(), 303)
    if not any(given.values()):
        before = kept_of(desk.book).today(today)
        if before is not None and before != roll:
            return RedirectResponse(before.address(), 303)
    else:
        _here(desk, roll, today)
    seen = _book(desk)
    roll = placed(desk, roll, seen.own)
    start = chosen(desk, roll.v, seen.own)
    resume(desk, seen)
    from layout.desk.setout import venue_of
    from layout.desk.shared import open_to, picks

    crew = _crew(roll, seen)
    parts = _parts(roll, seen.own, crew, (True, False), bool(given.get("feet")))
    return pages.page(
        "squad.html", "Squad", roll=roll, everybody=seen.everybody, parts=parts, most=MOST_HERE,
        drills=open_to(crew, seen.own, roll, today), day=pages.day_text(today),
        place=venue_of(roll.v, seen.own).title, picks=picks(roll, seen.own, start),
        work=_work(desk, roll, seen),
    )  # fmt: skip


def _here(desk: Desk, roll: Roll, today: datetime.date) -> None:
    """Keep who is here for the day, so that the bar leads back to them; where is kept for every page."""
    desk.keep(day=today.isoformat(), here=roll.changed(v=""))


def _crew(roll: Roll, seen: Seen) -> Crew:
    from layout.desk.shared import crew_of

    return crew_of(roll, seen.everybody, datetime.date.today(), seen.hurt)


def _parts(
    roll: Roll, own: Own, crew: Crew, widths: tuple[bool, ...], feet: bool
) -> dict[str, str]:
    """What changes as names and drills are tapped, as markup by name."""
    from layout.desk.shared import drawn, drills_of, shared, told

    drills = drills_of(roll, own)
    names = [m.athlete.name for m in crew.members]
    here = f"{counted(len(names), 'athlete')}: {', '.join(names)}" if names else "Nobody yet"
    which = ", ".join(d.title for d in drills) or "None yet"
    parts = {"here": pages.part("squad_line.html", text=here),
             "which": pages.part("squad_line.html", text=which)}  # fmt: skip
    out: Shared | None = None
    if drills and crew.members:
        out = shared(roll, crew, own, datetime.date.today(), feet)
    laid = out is not None and out.laid is not None
    parts["shared"] = pages.part(
        "squad_shared.html", roll=roll, crew=crew, drills=drills, out=out, feet=feet,
        drawn=[drawn(out, n) for n in widths] if out and laid else [],
        told=told(out) if out and laid else None,
    )  # fmt: skip
    return parts


def live(desk: Desk, given: Given) -> Response:
    """The same for what is tapped now, for one width of screen."""
    from layout.desk.shared import open_to

    today, roll = datetime.date.today(), rolled(given, ("w", "feet"))
    seen = _book(desk)
    _here(desk, roll, today)
    roll = placed(desk, roll, seen.own)
    chosen(desk, roll.v, seen.own)
    crew = _crew(roll, seen)
    parts = _parts(roll, seen.own, crew, (given.get("w") == "narrow",), bool(given.get("feet")))
    parts["work"] = _work(desk, roll, seen)
    opened = open_to(crew, seen.own, roll, today)
    return JSONResponse({
        "parts": parts, "address": roll.address(), "open": {s: t for s, (_, t) in opened.items()},
    })  # fmt: skip


# --- the set-out on paper


def paper(desk: Desk, given: Given) -> Response:
    """The shown drill's set-out as PDF, of exact scale."""
    from layout.desk.shared import page_of, shared
    from layout.page.pdf import to_pdf

    seen, today = _book(desk), datetime.date.today()
    roll = placed(desk, rolled(given), seen.own)
    if not roll.shown:
        raise refuse("drill", "one needed; tap it on Squad")
    made = page_of(shared(roll, _crew(roll, seen), seen.own, today, True))
    return pages.file(f"squad-{roll.shown}.pdf", to_pdf([made]), "application/pdf", "inline")


# --- long work


def _round(kind: Kind, roll: Roll, seen: Seen) -> Round:
    from layout.desk.rounds import round_of
    from layout.desk.shared import drills_of, making_of

    today = datetime.date.today()
    crew, drills = _crew(roll, seen), drills_of(roll, seen.own)
    if not crew.members or not drills:
        raise refuse("squad", "somebody must be here, and a drill chosen")
    return round_of(kind, roll, crew.members, drills, making_of(roll, seen.own, today), crew.left)


def begin(desk: Desk, given: Given) -> Response:
    """Begin or go on with a squad's round."""
    word = one_of("kind", given.get("kind", ""), ("figures", "sheets"))
    kind: Kind = "figures" if word == "figures" else "sheets"
    seen = _book(desk)
    roll = placed(desk, rolled(given, ("kind",)), seen.own)
    wish, found = _round(kind, roll, seen), desk.worker.round()
    if found is not None and found[1].state == "working" and found[0].mark != wish.mark:
        raise refuse(
            "squad", f"{found[0].kind} for {_said(found[0])} are under way; stop them first"
        )
    desk.worker.begin(wish)
    desk.keep(kind=kind, round=roll, stopped=False)
    return RedirectResponse(f"{roll.address()}#work", 303)


def stop(desk: Desk, given: Given) -> Response:
    """Stop the round; what it found is kept, and it can go on."""
    desk.worker.leave()
    if kept_of(desk.book).round is not None:
        desk.keep(stopped=True)
    return RedirectResponse(f"{rolled(given).address()}#work", 303)


def resume(desk: Desk, seen: Seen | None = None) -> None:
    """Go on with a round that was under way when the desk was last ended."""
    kept = kept_of(desk.book)
    if kept.round is None or kept.kind is None or kept.stopped or desk.worker.round() is not None:
        return
    try:
        desk.worker.begin(_round(kept.kind, kept.round, seen or _book(desk)))
    except (
        BadInput
    ):  # nobody of it is in the book any more, or the book is busy: Squad offers it again
        desk.keep(stopped=True)


def progress(desk: Desk, given: Given) -> Response:
    """How far the round is, as markup and in a word."""
    html, found = _work(desk, rolled(given), _book(desk)), desk.worker.round()
    return JSONResponse({"state": found[1].state if found else "none", "html": html})


def _work(desk: Desk, roll: Roll, seen: Seen) -> str:
    """The round there is, as markup."""
    found, kept = _found(desk, seen), kept_of(desk.book)
    if found is None:
        waiting = (kept.kind, kept.round) if kept.stopped and kept.round else None
        return pages.part("squad_work.html", roll=roll, round=None, waiting=waiting)
    wish, told, waits = found
    if told.state == "done" and kept.round == wish.asked:  # nothing to go on with at the next start
        desk.keep(kind=None, round=None)
    return pages.part(
        "squad_work.html", roll=roll, round=told, waits=waits, kind=wish.kind, asked=wish.asked,
        said=_said(wish),
    )  # fmt: skip


def _found(desk: Desk, seen: Seen) -> tuple[Round, Told, bool] | None:
    """The round there is; what was made before a file or the day changed is let go."""
    found = desk.worker.round()
    if found is None or found[1].state != "done" or _same(found[0], seen):
        return found
    desk.worker.drop()
    return desk.worker.round()


def _said(wish: Round) -> str:
    drills = f"{len(wish.drills)} drills" if len(wish.drills) > 1 else wish.drills[0].title
    return f"{counted(len(wish.members), 'athlete')}, {drills}"


def _same(wish: Round, seen: Seen) -> bool:
    """Whether a round is of what the book has now: an athlete's file or the day may have changed."""
    try:
        return _round(wish.kind, wish.asked, seen).mark == wish.mark
    except BadInput:
        return False


def sheets(desk: Desk, given: Given) -> Response:
    """Everybody's sheets in one PDF, once they are made."""
    found = _found(desk, _book(desk))
    if found is not None and found[0].kind == "sheets" and found[1].state == "stale":
        raise refuse("sheets", "an athlete, a drill or the day has changed since; make them again")
    if found is None or found[0].kind != "sheets" or found[1].state != "done":
        raise refuse("sheets", "are not made yet; Squad makes them")
    if not found[1].data:
        raise refuse("sheets", "there are none: see on Squad what could not be made")
    return pages.file("squad-sheets.pdf", found[1].data, "application/pdf", "inline")
