"""A second listener, for phones on the hotspot: on one address that the coach picks, opened and closed."""

from __future__ import annotations

import asyncio
import contextlib
import errno
import logging
import os
import secrets
import socket
import struct
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from ipaddress import IPv4Address
from typing import TYPE_CHECKING, Final

from layout.words.faults import refuse

if TYPE_CHECKING:
    import uvicorn
    from starlette.types import ASGIApp

PORTS: Final = range(20_000, 60_000)
"""Where a book's port is drawn from (ours)."""
TRIES: Final = 30
_TAKEN: Final = (errno.EADDRINUSE, 10048)
"""Codes of a port that is in use; the second is that of Windows."""
_ADDRESS_OF: Final = 0x8915  # SIOCGIFADDR


def config(app: ASGIApp) -> uvicorn.Config:
    """How anything of the desk is served: no log of addresses, no websockets, nothing told of the server."""
    import uvicorn

    return uvicorn.Config(
        app, loop="asyncio", http="h11", ws="none", lifespan="off", interface="asgi3",
        log_config=None, access_log=False, server_header=False, date_header=False,
        proxy_headers=False, timeout_graceful_shutdown=2, timeout_keep_alive=30,
    )  # fmt: skip


def server_of(app: ASGIApp) -> uvicorn.Server:
    """What serves anything of the desk; a request that its end cuts off is not told as a fault."""
    import uvicorn

    logging.getLogger("uvicorn.error").addFilter(_not_cut_off)
    return uvicorn.Server(config(app))


def _not_cut_off(told: logging.LogRecord) -> bool:
    kind = told.exc_info[0] if told.exc_info else None
    return kind is not asyncio.CancelledError and "graceful shutdown exceeded" not in told.msg


def addresses() -> list[tuple[str, str]]:
    """This machine's own addresses, and what each belongs to where that is known; loopback left out."""
    found: dict[str, str] = {}
    with contextlib.suppress(ImportError, OSError, AttributeError):
        import fcntl

        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
            for _, name in socket.if_nameindex():
                with contextlib.suppress(OSError):
                    told = fcntl.ioctl(asked, _ADDRESS_OF, struct.pack("256s", name.encode()[:15]))
                    found[socket.inet_ntoa(told[20:24])] = name
    with contextlib.suppress(OSError):
        for row in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            found.setdefault(str(row[4][0]), "")
    return [(a, name) for a, name in found.items() if not IPv4Address(a).is_loopback]


def _hint() -> str:
    """The addresses there are, to end a rule with."""
    found = [f"{a} ({name})" if name else a for a, name in addresses()]
    return f"; it has {', '.join(found)}" if found else ""


def read_address(text: str) -> str:
    """One address of this machine, as four numbers; refused where the internet could reach it."""
    try:
        address = IPv4Address(text.strip())
    except ValueError:
        rule = "must be one address of this machine, such as 192.168.43.12"
        raise refuse("share", rule + _hint(), text) from None
    if address.is_unspecified or address.is_multicast or address == IPv4Address("255.255.255.255"):
        raise refuse("share", "must be one address, not all of them" + _hint(), text)
    if address.is_global:
        rule = "can be reached from the internet; pick the address that the phone's hotspot gave"
        raise refuse("share", rule, text)
    return str(address)


@dataclass(frozen=True)
class Seen:
    """When a phone was heard last, by this process's clock, and its address."""

    at: float
    client: str


@dataclass
class Hotspot:
    """The listener, closed at first.

    host: address and port while it is open; else "".
    codes: secrets of pages that no phone has opened yet, for their QR codes; they are kept nowhere else.
    seen: when each page's phone was heard.
    """

    host: str = ""
    codes: dict[int, str] = field(default_factory=dict)
    seen: dict[int, Seen] = field(default_factory=dict)
    _server: uvicorn.Server | None = None
    _thread: threading.Thread | None = None

    def open(self, address: str, port: int | None, app: Callable[[str], ASGIApp]) -> int:
        """Listen; returns the port, drawn where the book has none yet."""
        if self.host:
            raise refuse("share", f"is open at {self.host} already; end it first", address)
        listening, port = _bound(address, port)
        host = f"{address}:{port}"
        server = server_of(app(host))

        def run() -> None:
            with listening:
                server.run(sockets=[listening])

        thread = threading.Thread(target=run, daemon=True)
        thread.start()
        self.host, self._server, self._thread = host, server, thread
        return port

    def close(self) -> None:
        """Listen no more."""
        if self._server is not None and self._thread is not None:
            self._server.should_exit = True
            self._thread.join(5.0)
        self.host, self._server, self._thread = "", None, None

    def hear(self, number: int, client: str) -> None:
        """Note that a page's phone was heard."""
        self.codes.pop(number, None)
        self.seen[number] = Seen(time.monotonic(), client)


def _bound(address: str, port: int | None) -> tuple[socket.socket, int]:
    """A socket of an address, at the book's port or a free one."""
    drawn = [port] if port is not None else [secrets.choice(PORTS) for _ in range(TRIES)]
    for number in drawn:
        made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name == "posix":  # elsewhere it would let two programs have one port
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            made.bind((address, number))
            made.listen(32)
            return made, number
        except OSError as error:
            made.close()
            if error.errno not in _TAKEN:
                rule = f"is no address of this machine{_hint()}"
                raise refuse("share", rule, address) from None
    rule = "the port at which phones know this book is in use; is it open in another desk? Close that first"
    raise refuse("share", rule, f"{address}:{drawn[0]}")
