"""`phasemark desk`."""

from __future__ import annotations

import argparse
from pathlib import Path

from layout.book.store import open_book, privacy_warning
from layout.commands.output import end, say
from layout.desk.demo import demo_book
from layout.desk.serve import serve, shown_in_browser


def run(given: argparse.Namespace) -> int:
    """Open the desk, and stay until it is ended."""
    if given.book:
        book, made, demo = Path(given.book), False, False
    else:
        (book, made), demo = demo_book(Path()), True
    with open_book(book) as found:  # refused before anything is opened
        warned = privacy_warning(book, found.unfinished)
    whose = "the demo club's book, " if demo else ""
    lines = [f"The desk is open on {whose}{book}{', newly made' if made else ''}.", *warned]

    def ready(address: str) -> None:
        if given.no_browser or not shown_in_browser(address):
            say([*lines, "Open this address in a browser of this machine; it is good once:", f"  {address}",
                 "Ctrl-C ends it; everything put down is kept."])  # fmt: skip
        else:
            say([*lines, "It is in your browser. Ctrl-C ends it; everything put down is kept."])

    try:
        serve(book, demo, ready)
    except KeyboardInterrupt as error:
        if hasattr(error, "number"):
            raise  # a signal's number is told to whoever sent it
    return end(["The desk is closed."])
