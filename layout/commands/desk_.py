"""`phasemark desk`."""

from __future__ import annotations

import argparse
import sys
import threading
from collections.abc import Callable
from pathlib import Path

from layout.book.store import open_book, privacy_warning
from layout.commands.output import end, say
from layout.desk.demo import demo_book
from layout.desk.lock import only_desk
from layout.desk.serve import serve, shown_in_browser


def run(given: argparse.Namespace) -> int:
    """Open the desk, and stay until it is ended."""
    if given.book is not None:
        book, made, demo = Path(given.book), False, False
    else:
        (book, made), demo = demo_book(Path()), True
    with open_book(book) as found:  # refused before anything is opened
        warned = privacy_warning(book, found.unfinished)
    whose = "the demo club's book, " if demo else ""
    lines = [f"The desk is open on {whose}{book}{', newly made' if made else ''}.", *warned]

    if given.share is not None:
        lines.append(f"Phones reach pages made for them at {given.share}, and nothing else of it.")

    def show(address: str) -> bool:
        return not given.no_browser and shown_in_browser(address)

    def again(opens: Callable[[], str]) -> None:
        for _ in sys.stdin:
            address = opens()
            say([] if show(address) else [f"  {address}"])

    def ready(opens: Callable[[], str]) -> None:
        address = opens()
        told = ["It is in your browser."]
        if not show(address):
            told = [
                "Open this address in a browser of this machine; it is good once:",
                f"  {address}",
            ]
        asked = sys.stdin is not None and sys.stdin.isatty()
        more = "Enter opens it once more. " if asked else ""
        say([*lines, *told, f"{more}Ctrl-C ends it; everything put down is kept."])
        if asked:
            threading.Thread(target=again, args=(opens,), daemon=True).start()

    try:
        with only_desk(book):
            serve(book, demo, ready, given.share)
    except KeyboardInterrupt as error:
        if hasattr(error, "number"):
            raise  # a signal's number is told to whoever sent it
    return end(["The desk is closed."])
