"""Who may ask the desk anything: the browser that opened it, on this machine, from the desk's own pages.

Another page of the same browser, another user of the machine and a name that somebody points here are
all refused before any page is made.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from http.cookies import SimpleCookie
from ipaddress import ip_address
from typing import Final
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BODY: Final = 64_000
"""Bytes of what a page may send (ours)."""
MOST_FILES_BODY: Final = 8_000_000
"""The same for files that are taken into the book (ours)."""
MOST_FILM: Final = 2_000_000_000
"""Bytes of a video whose frames are cut out here (ours)."""
FILM: Final = "/frame"
"""The one address that takes a file: streamed, never held whole."""
FORM: Final = "application/x-www-form-urlencoded"
"""What a form's fields come as."""
LARGE: Final = {"/club/in": MOST_FILES_BODY, FILM: MOST_FILM}
"""Addresses that take more than a form."""
MOST_ADDRESS: Final = 4_000
"""Characters of an address's question (ours)."""
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS: Final = {
    "content-security-policy": POLICY,
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    # Not no-referrer: a form without script would then say it comes from nowhere.
    "referrer-policy": "same-origin",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}
CLOSED: Final = (
    "This desk is open to the browser that phasemark opened it in.\n"
    "To open it here, end it (Ctrl-C) and run phasemark desk again.\n"
)


class Key:
    """The key in the address that opens the desk, good once, and the cookie given for it.

    port: cookies know no ports: each desk has a name of its own.
    """

    def __init__(self, port: int) -> None:
        self.host = f"127.0.0.1:{port}"
        self.name, self._worth = f"desk-{port}", secrets.token_urlsafe(32)
        self.renew()

    def renew(self) -> str:
        """A new key, for a browser that was closed and has lost its cookie; gives the address."""
        self.key, self._used = secrets.token_urlsafe(32), False
        return self.address

    @property
    def address(self) -> str:
        """The address that opens the desk."""
        return f"http://{self.host}/enter?key={self.key}"

    def taken(self, key: str) -> bool:
        """Whether a key is the right one, for the first time."""
        right = secrets.compare_digest(key.encode(), self.key.encode()) and not self._used
        self._used |= right
        return right

    def cookie(self) -> str:
        """The cookie as a header says it: for this desk alone, out of every script's reach."""
        return f"{self.name}={self._worth}; Path=/; HttpOnly; SameSite=Strict"

    def knows(self, cookies: str) -> bool:
        """Whether a browser has shown the cookie."""
        shown = shown_cookie(cookies, self.name)
        return secrets.compare_digest(shown.encode(), self._worth.encode())


def shown_cookie(cookies: str, name: str) -> str:
    """What a browser shows as the cookie of a name; "" where it has none."""
    found = SimpleCookie()
    try:
        found.load(cookies)
    except Exception:  # a cookie of another program may be anything
        return ""
    return found[name].value if name in found else ""


def _refusal(scope: Scope, key: Key) -> tuple[int, str] | None:
    """Why a request is refused whoever asks: status and words."""
    client = scope.get("client")
    if client is None or not ip_address(client[0]).is_loopback:
        return 403, "This machine only.\n"
    if why := stray(scope, key.host):
        return why
    if scope["method"] == "POST":
        headers = Headers(scope=scope)
        film = scope["path"] == FILM
        if kind_of(headers) != ("application/octet-stream" if film else FORM):
            return 415, "A form's fields needed.\n"
        most = LARGE.get(scope["path"], MOST_BODY)
        # Without a length told a stream has no end: a form's body is counted, a film's is not held.
        if told_long(headers, most, "" if film else "0"):
            return 413, f"At most {most} bytes.\n"
    return None


def kind_of(headers: Headers) -> str:
    """What kind of thing a request says that it sends."""
    return headers.get("content-type", "").partition(";")[0].strip().lower()


def told_long(headers: Headers, most: int, untold: str = "0") -> bool:
    """Whether a request says that it is longer than allowed, or no length; `untold`: where it says none."""
    told = headers.get("content-length", untold)
    return not told.isdecimal() or int(told[:12]) > most


def stray(scope: Scope, host: str) -> tuple[int, str] | None:
    """Why a request does not come from pages of this host: status and words; None where it may."""
    headers = Headers(scope=scope)
    hosts = headers.getlist("host")
    if len(hosts) > 1:
        return 400, "One host needed.\n"
    if hosts != [host]:
        return 421, f"The desk is at {host}.\n"
    if len(scope["query_string"]) > MOST_ADDRESS:
        return 414, "Address too long.\n"
    if scope["method"] not in ("GET", "HEAD", "POST"):
        return 405, "GET or POST needed.\n"
    if headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
        return 403, "From the desk's own pages only.\n"
    origins = headers.getlist("origin")
    own = [f"http://{host}"]
    if origins not in ([], own) or (scope["method"] == "POST" and origins != own):
        return 403, "From the desk's own pages only.\n"
    return None


async def sent_body(receive: Receive, most: int) -> bytes | None:
    """What is sent, counted as it comes, since a length told beforehand may be a lie; None where too long."""
    parts, size = [], 0
    while size <= most:
        message = await receive()
        parts.append(message.get("body", b""))
        size += len(parts[-1])
        if message["type"] != "http.request" or not message.get("more_body"):
            return b"".join(parts) if size <= most else None
    return None


def _read(body: bytes, receive: Receive) -> Receive:
    """A body read already, handed on; after it what comes."""
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def handed() -> Message:
        return waiting.pop() if waiting else await receive()

    return handed


def marked(send: Send, own: Mapping[str, str] = HEADERS) -> Send:
    """Every answer with the guard's headers."""

    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in own.items():
                headers.setdefault(name, value)
        await send(message)

    return with_headers


class Guard:
    """Stands before every page.

    app: asked only by whom the key let in.
    """

    def __init__(self, app: ASGIApp, key: Key) -> None:
        self.app, self.key = app, key

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or hand on."""
        if scope["type"] != "http":
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
            return
        answer, refused = marked(send), self._refused(scope)
        if refused is None and scope["method"] == "POST" and scope["path"] != FILM:
            most = LARGE.get(scope["path"], MOST_BODY)
            body = await sent_body(receive, most)
            if body is None:
                refused = PlainTextResponse(f"At most {most} bytes.\n", 413)
            else:
                receive = _read(body, receive)
        await (refused or self.app)(scope, receive, answer)

    def _refused(self, scope: Scope) -> Response | None:
        """The answer to who does not come further; None for who does."""
        why = _refusal(scope, self.key)
        if why is not None:
            return PlainTextResponse(why[1], why[0], headers={"connection": "close"})
        headers = Headers(scope=scope)
        if scope["path"] == "/enter":
            # A browser that loads ahead of the tap would use the key up for nobody.
            ahead = "prefetch" in headers.get("sec-purpose", "") + headers.get("purpose", "")
            given = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
            known = self.key.knows(headers.get("cookie", ""))
            if scope["method"] == "GET" and not ahead and (known or self.key.taken(given)):
                return RedirectResponse("/", 303, headers={"set-cookie": self.key.cookie()})
            return PlainTextResponse(CLOSED, 403)
        if not self.key.knows(headers.get("cookie", "")):
            return PlainTextResponse(CLOSED, 403)
        return None
