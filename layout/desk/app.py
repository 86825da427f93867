"""What answers each of the desk's addresses: reads the book, calls the planner, shows what comes."""

from __future__ import annotations

import datetime
import secrets
import shutil
import tempfile
import threading
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import parse_qsl, quote

from starlette.responses import JSONResponse, RedirectResponse, Response

from layout.book.people import Member, members, numbered
from layout.book.store import Book, open_book
from layout.desk import pages
from layout.desk.wanted import Wanted, wanted
from layout.desk.worker import Work, Worker
from layout.words.faults import BadInput, Fault, refuse
from layout.words.names import safe_name
from layout.words.reading import read_count

if TYPE_CHECKING:
    from layout.desk.setout import SetOut

KINDS: Final = {".svg": "image/svg+xml", ".gif": "image/gif", ".mp4": "video/mp4"}
"""Clips that can be taken away."""


Given = Mapping[str, str]
"""What was asked for: an address's question, a form's fields, and parts of the path."""
Answer = Callable[[Given], Response]


@dataclass
class Desk:
    """One desk: its book, what works figures out, and how it ends.

    demo: whether the book is the demo club's.
    end: ends the server.
    """

    book: Path
    demo: bool = False
    end: Callable[[], None] = lambda: None
    worker: Worker = field(default_factory=Worker)
    _had: deque[str] = field(default_factory=lambda: deque(maxlen=500))
    _writing: threading.Lock = field(default_factory=threading.Lock)

    def opened(self) -> Book:
        """The book, opened for one answer: nothing is held that a crash could lose."""
        return open_book(self.book)

    def member(self, number: int) -> Member:
        """An athlete of the book by number."""
        with self.opened() as book:
            return numbered(members(book), number)

    # --- Today

    def today(self, given: Given) -> Response:
        """Who jumps, and which drills are open to them."""
        asked = wanted(given)
        with self.opened() as book:
            everybody = members(book)
        chosen, about = None, None
        if asked.a:
            chosen = numbered(everybody, asked.a)
            about = self._drills(chosen)
        return pages.page(
            "today.html", "Today", asked=asked, everybody=everybody, chosen=chosen, about=about,
            demo=self.demo, book=str(self.book), day=pages.day_text(datetime.date.today()),
        )  # fmt: skip

    def _drills(self, member: Member) -> dict[str, Any]:
        """Drills open and closed to an athlete, or why there are none."""
        from layout.desk.setout import athlete_of, drills_for

        today = datetime.date.today()
        try:
            athlete = athlete_of(member, today)
        except BadInput as error:
            return {"faults": error.told(), "open": [], "closed": [], "counts": ""}
        fit, closed = drills_for(athlete, today)
        counts = athlete.standing(today).text
        return {"faults": (), "open": fit, "closed": closed, "counts": counts}

    # --- Club

    def club(self, given: Given) -> Response:
        """Who is in the book."""
        with self.opened() as book:
            everybody = members(book)
        return pages.page("club.html", "Club", everybody=everybody, book=str(self.book))

    def athlete(self, given: Given) -> Response:
        """One athlete as a form, empty for a new one."""
        from layout.desk.club import told_of

        asked = wanted(given)
        member = self.member(asked.a) if asked.a else None
        return self._form(member, told_of(member), ())

    def keep_athlete(self, given: Given) -> Response:
        """Keep what the form says, or show it again with what is wrong."""
        from layout.desk.club import answered

        number = wanted({"a": given.get("a", "")}).a
        with self.opened() as book:
            kept, faults = answered(book, number, given)
        if not faults:
            return RedirectResponse(Wanted(a=kept).address("/") + "#which", 303)
        return self._form(self.member(number) if number else None, given, faults)

    def _form(self, member: Member | None, values: Given, faults: tuple[Fault, ...]) -> Response:
        from layout.desk.club import mark_of, rows

        shown, other = rows(values, faults)
        wrong = sum(bool(row.faults) for row in shown)
        return pages.page(
            "athlete.html", "Club", 400 if faults else 200, rows=shown, other=other,
            wrong=f"{wrong} field{'s' * (wrong != 1)}" if wrong else "",
            name=member.name if member else "", number=member.id if member else 0,
            was=values.get("was") or mark_of(member),
        )  # fmt: skip

    # --- Set out

    def _set(self, given: Given, also: tuple[str, ...] = ()) -> SetOut:
        from layout.desk.setout import set_out

        asked = wanted(given, also)
        if not asked.a or not asked.d:
            raise refuse("address", "an athlete and a drill needed; choose them on Today")
        return set_out(asked, self.member(asked.a), datetime.date.today())

    def set_out(self, given: Given) -> Response:
        """One drill set out."""
        from layout.desk.setout import controls, instead

        out = self._set(given, ("work",))
        if out.plan is not None and out.motion is None and given.get("work"):
            self.worker.ask(out.key, out.plan, out.settings)
        return pages.page(
            "setout.html", "Set out", out=out, asked=out.asked, wishes=controls(out),
            instead=instead(out) if out.why else None, parts=self._parts(out, (True, False)),
            work=self._work(out), figure=self._figure(out), video=_has_video(),
        )  # fmt: skip

    def _parts(self, out: SetOut, widths: tuple[bool, ...]) -> dict[str, str]:
        """What changes while a finger moves, as markup by name."""
        from layout.desk.setout import instead, runway, warnings, words

        if out.plan is None:
            other = instead(out)
            return {
                "faults": pages.part(
                    "faults.html", told=[str(f) for f in out.why], instead=other, out=out
                )
            }
        said = words(out)
        drawn, warned = [(narrow, *runway(out, narrow)) for narrow in widths], warnings(out)
        return {
            "faults": "",
            "runway": pages.part("runway.html", drawn=drawn),
            "legend": pages.part("legend.html", legend=drawn[0][2], plan=out.plan),
            "card": pages.part("card.html", card=out.card, words=said),
            "warnings": pages.part("warnings.html", warnings=warned),
            "facts": pages.part("facts.html", words=said, warnings=warned),
        }

    def live(self, given: Given) -> Response:
        """The same for the newest value of a slider."""
        out = self._set(given, ("w",))
        narrow = given.get("w") == "narrow"
        parts = self._parts(out, (narrow,))
        figure = "none" if out.plan is None else "solved" if out.motion is not None else "sketch"
        away = {} if out.plan is None else {n: out.asked.address(n) for n in _AWAY}
        return JSONResponse({"parts": parts, "figure": figure, "away": away})

    def _work(self, out: SetOut) -> Work | None:
        if out.plan is None or out.motion is not None:
            return None
        return self.worker.about(out.key)

    def _figure(self, out: SetOut) -> str:
        """The figure in motion as markup; empty where none is at hand."""
        from layout.desk.figure import shown

        return shown(out) if out.motion is not None else ""

    def figure(self, given: Given) -> Response:
        """The figure, or how far the work on it is."""
        out = self._set(given)
        if out.plan is None:
            return JSONResponse({"state": "failed", "why": str(out.why[0])})
        if out.motion is not None:
            return JSONResponse({"state": "solved", "html": self._figure(out)})
        return JSONResponse(_told(self.worker.about(out.key)))

    def solve(self, given: Given) -> Response:
        """Work the figure out."""
        out = self._set(given)
        if out.plan is None:
            return JSONResponse({"state": "failed", "why": str(out.why[0])})
        if out.motion is not None:
            return JSONResponse({"state": "solved"})
        return JSONResponse(_told(self.worker.ask(out.key, out.plan, out.settings)))

    def stop(self, given: Given) -> Response:
        """Leave what is being worked out."""
        self.worker.stop()
        return JSONResponse({"state": "stopped"})

    # --- what leaves the desk

    def _whole(self, given: Given) -> SetOut:
        out = self._set(given)
        if out.plan is None:
            raise BadInput(out.why)
        return out

    def sheet(self, given: Given) -> Response:
        """The handout as PDF, of exact scale."""
        from layout.desk.setout import sheet
        from layout.page.letters import fonts_of
        from layout.page.pdf import to_pdf

        out = self._whole(given)
        assert out.plan is not None
        made = sheet(out)
        title = f"{out.plan.who.name}: {out.plan.title}, 1:{made[0].scale}"
        data = to_pdf(made, title=title, fonts=fonts_of(made))
        return _file(out, data, ".pdf", "application/pdf", "inline")

    def phone(self, given: Given) -> Response:
        """The page for a telephone, one file to send."""
        from layout.desk.setout import for_phone

        out = self._whole(given)
        return _file(out, for_phone(out).encode(), ".html", "text/html; charset=utf-8")

    def clip(self, given: Given) -> Response:
        """The clip as a file."""
        from animate.film.film import save
        from layout.moving.clip import clip_of

        out = self._whole({k: v for k, v in given.items() if k != "kind"})
        kind = f".{given['kind']}"
        if kind not in KINDS:
            raise refuse("clip", f"must be one of {', '.join(KINDS)}", kind)
        if out.plan is None or out.motion is None:
            raise refuse("clip", "the figure is not worked out for this spacing yet")
        fps = 12.5 if kind == ".gif" else 25.0
        folder = Path(tempfile.mkdtemp(prefix="phasemark-"))
        try:
            save(clip_of(out.plan, out.motion, fps=fps), folder / f"clip{kind}")
            data = (folder / f"clip{kind}").read_bytes()
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        return _file(out, data, kind, KINDS[kind])

    # --- Jumped

    def _run(self, given: Given) -> SetOut:
        from layout.desk.jumped import FIELDS

        out = self._set(given, FIELDS)
        if out.plan is None:
            raise BadInput(out.why)
        return out

    def jumped(self, given: Given) -> Response:
        """What was jumped today of a drill, and room for the next run."""
        return self._runs(self._run(given), given, ())

    def put_down(self, given: Given) -> Response:
        """Put one run down; the same page sent twice counts once."""
        from layout.desk.jumped import put_down, zero_of

        out, once = self._run(given), given.get("once", "")
        zero = zero_of(out, given)
        with self._writing:
            if not once or once not in self._had:
                try:
                    with self.opened() as book:
                        told = put_down(book, out, given)
                except BadInput as error:
                    return self._runs(out, given, error.told(), 400)
                self._had.append(once)
                if told:
                    return self._runs(out, {"from": zero}, told)
        return RedirectResponse(_more(out.asked.address("/jumped"), zero), 303)

    def strike(self, given: Given) -> Response:
        """Strike one of today's runs out."""
        from layout.desk.jumped import strike, zero_of

        out = self._run(given)
        with self._writing, self.opened() as book:
            strike(book, out, read_count("run", given.get("run", ""), 1, 10**9))
        return RedirectResponse(_more(out.asked.address("/jumped"), zero_of(out, given)), 303)

    def _runs(
        self, out: SetOut, values: Given, told: tuple[str, ...], status: int = 200
    ) -> Response:
        from layout.desk.jumped import WENT, readings_of, runs_of, zero_of, zeros

        assert out.plan is not None
        zero = zero_of(out, values)
        with self.opened() as book:
            runs = runs_of(book, out)
        asked = dict(parse_qsl(out.asked.address().partition("?")[2]))
        return pages.page(
            "jumped.html", "Jumped", status, out=out, asked=asked, zero=zero, zeros=zeros(out),
            readings=readings_of(out, zero), runs=runs, values=values, told=told,
            once=secrets.token_hex(8), cautions=out.plan.cautions, went=WENT,
        )  # fmt: skip

    # --- the end

    def ended(self, given: Given) -> Response:
        """End the desk from the page."""
        self.end()
        return pages.page("ended.html", "", book=str(self.book))


_AWAY: Final = ("/jumped", "/sheet.pdf", "/phone.html", "/clip.svg", "/clip.gif", "/clip.mp4")


def _more(address: str, zero: str) -> str:
    return f"{address}&from={zero}"


def _has_video() -> bool:
    from importlib.util import find_spec

    return find_spec("av") is not None


def _told(work: Work | None) -> dict[str, Any]:
    if work is None:
        return {"state": "sketch"}
    return {"state": work.state, "done": work.done, "of": work.of, "why": work.why}


def _file(out: SetOut, data: bytes, ending: str, kind: str, how: str = "attachment") -> Response:
    assert out.plan is not None
    name = quote(f"{safe_name(out.plan.who.name)}-{out.plan.drill}{ending}")
    headers = {"content-disposition": f"{how}; filename*=UTF-8''{name}"}
    if ending == ".pdf":  # the browser's own viewer is no part of our page
        headers["content-security-policy"] = "frame-ancestors 'none'"
    return Response(data, media_type=kind, headers=headers)
