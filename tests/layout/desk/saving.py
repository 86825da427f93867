"""A browser without a window that saves run after run, until the desk is gone: for tests and benches."""

from __future__ import annotations

import http.client
import signal
import subprocess
import threading
from dataclasses import dataclass, field
from itertools import count
from urllib.parse import urlencode, urlsplit

from tests.browser import PATIENCE
from tests.layout.desk.test_desk_club import form_of

RUN = "/jumped?a=6&d=hop-step-sand"


class Browser:
    """One connection to a desk, let in by its address."""

    def __init__(self, address: str) -> None:
        parts = urlsplit(address)
        self.host = parts.netloc
        self.line = http.client.HTTPConnection(self.host, timeout=PATIENCE)
        self.headers: dict[str, str] = {}
        status, _ = self.ask("GET", f"{parts.path}?{parts.query}")
        assert status == 303

    def ask(self, method: str, path: str, fields: dict[str, str] | None = None) -> tuple[int, str]:
        """One request: status and text."""
        body = None if fields is None else urlencode(fields)
        headers = dict(self.headers)
        if body is not None:
            kind = "application/x-www-form-urlencoded"
            headers |= {"content-type": kind, "origin": f"http://{self.host}"}
        self.line.request(method, path, body, headers)
        answer = self.line.getresponse()
        text = answer.read().decode("utf-8", "replace")
        if cookie := answer.getheader("set-cookie"):
            self.headers["cookie"] = cookie.partition(";")[0]
        return answer.status, text


@dataclass
class Told:
    """Notes of the runs that were sent, and of those that the page confirmed."""

    sent: set[str] = field(default_factory=set)
    confirmed: set[str] = field(default_factory=set)

    def wrong_with(self, kept: list[str]) -> str:
        """What is wrong with the notes that a book has; empty where nothing is."""
        lost, made_up = self.confirmed - set(kept), set(kept) - self.sent
        twice = len(kept) - len(set(kept))
        said = (("lost", lost), ("never sent", made_up), ("twice", twice))
        return "; ".join(f"{what}: {which}" for what, which in said if which)


def saved_till_killed(
    address: str, desk: subprocess.Popen[str], turn: str, wait: float, told: Told
) -> None:
    """Put runs down one after the other, each with a note of its own; the desk is killed meanwhile.

    `wait`: from the first run that was confirmed to the kill [s].
    """
    browser = Browser(address)
    form = form_of(browser.ask("GET", RUN)[1])
    timer = threading.Timer(wait, desk.send_signal, (signal.SIGKILL,))
    try:
        for number in count():
            note = f"{turn}-{number}"
            fields = {**form, "once": note, "note": note, "r0": "3.1", "r1": "2.9"}
            told.sent.add(note)
            status, _ = browser.ask("POST", "/jumped", fields)
            assert status in (200, 303)
            told.confirmed.add(note)
            if number == 0:
                timer.start()
    except (OSError, http.client.HTTPException):
        timer.join()
    finally:
        browser.line.close()
