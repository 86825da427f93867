"""All that a phone on the hotspot reaches: one page behind a secret, opened by one tap on one phone.

Nothing else of the desk is here: no list, no book, no other page.
"""

from __future__ import annotations

import datetime
import re
import time
from base64 import b64encode
from collections.abc import Callable
from hashlib import sha256
from typing import Final

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.responses import (
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    RedirectResponse,
    Response,
)
from starlette.types import Receive, Scope, Send

from layout.book import doors
from layout.book.doors import Door
from layout.book.inbox import receive
from layout.book.store import Book
from layout.desk import pages
from layout.desk.app import Desk
from layout.desk.guard import (
    FORM,
    HEADERS,
    MOST_BODY,
    kind_of,
    marked,
    sent_body,
    shown_cookie,
    stray,
    told_long,
)
from layout.words.faults import BadInput

PLACE: Final = "/t/"
KEPT_FOR: Final = 2 * 24 * 3600
"""How long a phone keeps its cookie [s] (ours): longer than any page is open, by a day, since phones' clocks
may jump; the desk's clock alone decides."""
_PATH: Final = re.compile(rf"{PLACE}([A-Za-z0-9_-]{{{doors.LETTERS}}})")
_RUNS: Final = "text/plain"
STYLE: Final = (
    ":root{color-scheme:light dark}body{font:1.125rem/1.45 system-ui,sans-serif;margin:1rem;max-width:40rem}"
    "button{font:inherit;font-weight:700;font-size:1.4rem;min-height:4rem;width:100%;border:0;"
    "border-radius:.6rem;color:#fff;background:#0b4f8a}"
)
OWN: Final = {
    **{
        n: v for n, v in HEADERS.items() if n != "cross-origin-opener-policy"
    },  # means nothing over http
    "content-security-policy": (
        "default-src 'none'; style-src 'sha256-"
        + b64encode(sha256(STYLE.encode()).digest()).decode()
        + "'; img-src data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
}
FOR_THE_PAGE: Final = "frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
"""The page's own policy stands in the page: it allows its style and script by their digests."""
NOWHERE: Final = "There is no such page here."
ENDED: Final = (
    "The coach has ended this page, or its time has run out. What was put down is on the phone."
)
BUSY: Final = "The desk cannot answer just now.\n"
ANOTHER: Final = "Another phone has opened this page. Ask the coach for one of your own."


def _told(text: str, status: int) -> Response:
    return HTMLResponse(pages.part("track.html", style=STYLE, text=text, tap=False), status)


class Track:
    """The application that phones ask.

    host: the address and port it is asked by.
    now: the desk's clock.
    """

    def __init__(self, desk: Desk, host: str, now: Callable[[], float] = time.time) -> None:
        self.desk, self.host, self.now = desk, host, now

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer."""
        if scope["type"] != "http":
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
            return
        body, answer = b"", _refused(scope, self.host)
        if answer is None and scope["method"] == "POST":
            told = await sent_body(receive, MOST_BODY)
            if told is None:
                answer = PlainTextResponse(f"At most {MOST_BODY} bytes.\n", 413)
            body = told or b""
        if answer is None:
            answer = await run_in_threadpool(self._answer, scope, body)
        await answer(scope, receive, marked(send, OWN))

    def _answer(self, scope: Scope, body: bytes) -> Response:
        try:
            with self.desk.opened() as book:
                door = doors.found(book, scope["path"].removeprefix(PLACE))
                if door is None:
                    return _told(NOWHERE, 404)
                if door.until <= self.now():
                    return _told(ENDED, 410)
                if scope["method"] == "POST":
                    return self._sent(scope, book, door, body)
                return self._shown(scope, book, door)
        except BadInput:  # what the book says is for the coach's eyes
            return PlainTextResponse(BUSY, 503)

    def _mine(self, scope: Scope, door: Door) -> bool:
        """Whether the phone that asks is the one that opened the page; it is then heard."""
        cookies = Headers(scope=scope).get("cookie", "")
        mine = door.knows(shown_cookie(cookies, f"track-{door.id}"))
        if mine:
            self._hear(scope, door)
        return mine

    def _hear(self, scope: Scope, door: Door) -> None:
        self.desk.hotspot.hear(door.id, scope["client"][0] if scope.get("client") else "")

    def _shown(self, scope: Scope, book: Book, door: Door) -> Response:
        if door.claim is None:
            return HTMLResponse(pages.part("track.html", style=STYLE, text="", tap=True))
        if not self._mine(scope, door):
            return _told(ANOTHER, 403)
        if scope["method"] == "HEAD":
            return Response()
        return HTMLResponse(page_of(book, door), headers={"content-security-policy": FOR_THE_PAGE})

    def _sent(self, scope: Scope, book: Book, door: Door, body: bytes) -> Response:
        if kind_of(Headers(scope=scope)) == FORM:
            return self._opened(scope, book, door)
        if not self._mine(scope, door):
            return _told(ANOTHER, 403)
        try:
            with self.desk.writing:
                got = receive(book, body.decode(), only=door.key)
        except UnicodeDecodeError:
            return PlainTextResponse("Text needed.\n", 400)
        if got.faults:
            return PlainTextResponse("\n".join(map(str, got.faults)) + "\n", 400)
        return JSONResponse({"here": len(got.new) + got.had + got.struck})

    def _opened(self, scope: Scope, book: Book, door: Door) -> Response:
        """The tap that opens a page: the first phone has it from now on."""
        headers = {}
        if door.claim is None:
            when = datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")
            token = doors.claim(book, door.id, when)
            if token is None:
                return _told(ANOTHER, 403)
            keep = f"Path={scope['path']}; Max-Age={KEPT_FOR}; HttpOnly; SameSite=Strict"
            headers = {"set-cookie": f"track-{door.id}={token}; {keep}"}
            self._hear(scope, door)
        elif not self._mine(scope, door):
            return _told(ANOTHER, 403)
        return RedirectResponse(scope["path"], 303, headers=headers)


def _refused(scope: Scope, host: str) -> Response | None:
    """The answer to what is asked in any way but the one."""
    if why := stray(scope, host):
        return PlainTextResponse(why[1], why[0], headers={"connection": "close"})
    raw = scope.get("raw_path", b"").partition(b"?")[0]
    if scope["query_string"] or not _PATH.fullmatch(scope["path"]) or raw != scope["path"].encode():
        return _told(NOWHERE, 404)
    if scope["method"] == "POST":
        headers = Headers(scope=scope)
        if kind_of(headers) not in (FORM, _RUNS):
            return PlainTextResponse("Runs or a tap needed.\n", 415)
        if told_long(headers, MOST_BODY):
            return PlainTextResponse(f"At most {MOST_BODY} bytes.\n", 413)
    return None


def page_of(book: Book, door: Door) -> str:
    """The phone page of a door, as it was set out; it sends its runs to where it came from."""
    from urllib.parse import parse_qsl

    from layout.book.own import own_of
    from layout.book.people import members, numbered
    from layout.desk.setout import for_phone, set_out
    from layout.desk.wanted import wanted

    asked = wanted(dict(parse_qsl(door.asked)))
    day = datetime.date.fromisoformat(door.day)
    out = set_out(asked, numbered(members(book), door.member), day, own_of(book))
    if out.plan is None:
        raise BadInput(out.why)
    return for_phone(out, door.key, home=True)
