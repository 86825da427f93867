"""Set out: the page, what follows a finger, and the figure that is worked out for it."""

from __future__ import annotations

import datetime
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Final

from starlette.responses import JSONResponse, Response

from layout.book.people import members, numbered
from layout.desk import pages
from layout.desk.app import Desk, Given
from layout.desk.wanted import wanted
from layout.desk.where import chosen, placed
from layout.words.faults import BadInput, refuse

if TYPE_CHECKING:
    from layout.book.own import Own
    from layout.desk.setout import SetOut
    from layout.desk.worker import Work

_AWAY: Final = (
    "/jumped",
    "/worth",
    "/picture",
    "/sheet.pdf",
    "/phone.html",
    "/clip.svg",
    "/clip.gif",
    "/clip.mp4",
    "/ways",
    "/share",
)
"""Addresses that go along with what is set out."""


def asked_for(desk: Desk, given: Given, also: tuple[str, ...] = ()) -> SetOut:
    """The drill that an address asks for, possible or not."""
    return _asked(desk, given, also)[0]


def _asked(desk: Desk, given: Given, also: tuple[str, ...]) -> tuple[SetOut, Own]:
    """The same, and the club's own."""
    from layout.book.own import own_of
    from layout.desk.setout import set_out

    asked = wanted(given, also)
    if not asked.a or not asked.d:
        raise refuse("address", "an athlete and a drill needed; choose them on Today")
    with desk.opened() as book:
        member, own = numbered(members(book), asked.a), own_of(book)
    return set_out(placed(desk, asked, own), member, datetime.date.today(), own), own


def whole(desk: Desk, given: Given, also: tuple[str, ...] = ()) -> SetOut:
    """The drill that an address asks for; what is not possible is refused."""
    out = asked_for(desk, given, also)
    if out.plan is None:
        raise BadInput(out.why)
    return out


def pain(desk: Desk, athlete: int) -> str:
    """What is told before anything else of an athlete who had pain today; else nothing."""
    from layout.desk.jumped import pain_told

    with desk.opened() as book:
        return pain_told(book, athlete, datetime.date.today())


def page(desk: Desk, given: Given) -> Response:
    """One drill set out."""
    from layout.desk.choices import controls

    out, own = _asked(desk, given, ("work",))
    start = chosen(desk, out.venue.slug, own)
    if out.plan is not None and out.motion is None and given.get("work"):
        desk.worker.ask(out.key, out.plan, out.settings)
    return pages.page(
        "setout.html", "Today", out=out, asked=out.asked, wishes=controls(out, start),
        pain=pain(desk, out.asked.a),
        parts=_parts(out, (True, False)),
        work=_work(desk, out), figure=_figure(out), video=find_spec("av") is not None,
    )  # fmt: skip


def _parts(out: SetOut, widths: tuple[bool, ...]) -> dict[str, str]:
    """What changes while a finger moves, as markup by name."""
    from layout.desk.setout import cared, runway, warnings, words

    if out.plan is None:
        return {"faults": _faults(out), **_decided(out)}
    said, warned = words(out), warnings(out)
    drawn = [(narrow, *runway(out, narrow)) for narrow in widths]
    return {
        "faults": "",
        "runway": pages.part("runway.html", drawn=drawn),
        "legend": pages.part("legend.html", legend=drawn[0][2], plan=out.plan),
        "card": pages.part("card.html", card=out.card, words=said),
        "warnings": pages.part("warnings.html", warnings=warned, short=cared(out)),
        "care": pages.part("care.html", words=said, warnings=warned),
        "facts": pages.part("facts.html", words=said),
        **_decided(out),
    }


def _decided(out: SetOut) -> dict[str, str]:
    """Who goes on with a closed drill, where somebody decided."""
    if not out.asked.despite:
        return {}
    from layout.desk.setout import closed, outgrown

    more = closed(out) and outgrown(out.asked, out.drill)
    return {"decided": pages.part("decided.html", plan=out.plan, asked=out.asked, more=more)}


def _faults(out: SetOut) -> str:
    """Why a drill is not possible, what is open instead, and how to go on where it is closed."""
    from layout.desk.setout import closed, elsewhere, instead, unknown
    from layout.plan.drill import LONGEST_DESPITE

    return pages.part(
        "faults.html", told=[str(f) for f in out.why], instead=instead(out), out=out,
        elsewhere=elsewhere(out), closed=closed(out), unknown=closed(out) and unknown(out),
        fields=out.asked.fields(), longest=LONGEST_DESPITE,
    )  # fmt: skip


def live(desk: Desk, given: Given) -> Response:
    """The same for the newest value of a slider."""
    out, own = _asked(desk, given, ("w",))
    chosen(desk, out.venue.slug, own)
    narrow = given.get("w") == "narrow"
    parts = _parts(out, (narrow,))
    figure = "none" if out.plan is None else "solved" if out.motion is not None else "sketch"
    away = {} if out.plan is None else {n: out.asked.address(n) for n in _AWAY}
    return JSONResponse({"parts": parts, "figure": figure, "away": away})


def _work(desk: Desk, out: SetOut) -> Work | None:
    if out.plan is None or out.motion is not None:
        return None
    return desk.worker.about(out.key)


def _figure(out: SetOut) -> str:
    """The figure in motion as markup; empty where none is at hand."""
    from layout.desk.figure import shown

    return shown(out) if out.motion is not None else ""


def figure(desk: Desk, given: Given) -> Response:
    """The figure, or how far the work on it is."""
    out = asked_for(desk, given)
    if out.plan is None:
        return JSONResponse({"state": "failed", "why": str(out.why[0])})
    if out.motion is not None:
        return JSONResponse({"state": "solved", "html": _figure(out)})
    return JSONResponse(_told(desk.worker.about(out.key)))


def solve(desk: Desk, given: Given) -> Response:
    """Work the figure out."""
    out = asked_for(desk, given)
    if out.plan is None:
        return JSONResponse({"state": "failed", "why": str(out.why[0])})
    if out.motion is not None:
        return JSONResponse({"state": "solved"})
    return JSONResponse(_told(desk.worker.ask(out.key, out.plan, out.settings)))


def stop(desk: Desk, given: Given) -> Response:
    """Leave what is being worked out."""
    desk.worker.stop()
    return JSONResponse({"state": "stopped"})


def _told(work: Work | None) -> dict[str, Any]:
    if work is None:
        return {"state": "sketch"}
    return {"state": work.state, "done": work.done, "of": work.of, "why": work.why}
