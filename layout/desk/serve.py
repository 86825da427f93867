"""The desk served to one browser of this machine, from the first page to the last."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Final

from layout.desk.app import Desk
from layout.desk.guard import Guard, Key
from layout.desk.hotspot import server_of
from layout.desk.page_share import open_hotspot
from layout.desk.page_squad import resume
from layout.desk.routes import app_of, warm

REST: Final = 3.0
"""How long a desk leaves the first page alone before it goes on with what was under way [s] (ours)."""


def listening() -> socket.socket:
    """A free port of this machine alone."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    made.bind(("127.0.0.1", 0))
    return made


def shown_in_browser(address: str) -> bool:
    """Whether a browser with a window took the address."""
    apart = sys.platform in ("win32", "darwin")
    if not apart and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return False  # a browser of the terminal would take the terminal away
    with contextlib.suppress(webbrowser.Error, OSError):
        return webbrowser.open(address)
    return False


_MMAP_THRESHOLD, _ARENA_MAX = -3, -8  # as malloc.h names them
_PIECE = 131_072
"""Pieces of memory from which on each is handed back as soon as it is free [bytes]."""


def hand_memory_back() -> None:
    """Have freed memory handed back: glibc otherwise learns to keep ever larger pieces, a heap a thread.

    Arrays of a page are small, too: numpy, which is not loaded yet, is to need no threads for them.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(2_000, 10, 5)  # a command looks for circles seldom; fonts are full of them
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):  # another libc has no such setting
            allocator = ctypes.CDLL(None)
            allocator.mallopt(_MMAP_THRESHOLD, _PIECE)
            allocator.mallopt(_ARENA_MAX, 1)


def serve(
    book: Path, demo: bool, ready: Callable[[Callable[[], str]], None], share: str | None = None
) -> None:
    """Serve the desk until its page or a signal ends it.

    ready: told, once the desk can be asked, what gives an address that opens it, good once.
    share: an address of this machine at which phones reach pages that are made for them.
    """
    hand_memory_back()
    with listening() as own:
        key = Key(own.getsockname()[1])
        desk = Desk(book, demo)
        if share is not None:
            open_hotspot(desk, share)
        server = server_of(Guard(app_of(desk), key))
        desk.end = lambda: setattr(server, "should_exit", True)
        own.listen(64)  # from here on it can be asked; it answers as soon as it runs
        ready(key.renew)
        warm()
        go_on = threading.Timer(REST, resume, (desk,))
        go_on.daemon = True
        go_on.start()
        try:
            server.run(sockets=[own])
        finally:
            go_on.cancel()
            desk.worker.close()
            desk.hotspot.close()
