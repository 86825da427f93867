"""A desk on the demo club's book, asked as its own browser asks: for the tests of the desk."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.testclient import TestClient

from layout.book.own import Own, own_of
from layout.book.people import members
from layout.book.store import open_book
from layout.desk.app import Desk
from layout.desk.demo import demo_book
from layout.desk.guard import Guard, Key
from layout.desk.routes import app_of
from tests.browser import PATIENCE

PORT = 50123
HOST = f"http://127.0.0.1:{PORT}"
OWN = {"origin": HOST, "sec-fetch-site": "same-origin"}


class Asked:
    """A desk and a browser that may or may not be let in."""

    def __init__(self, desk: Desk, key: Key, client: TestClient) -> None:
        self.desk, self.key, self.client = desk, key, client
        with open_book(desk.book) as book:
            self.numbers = {m.name: m.id for m in members(book)}

    def get(self, address: str, **more: Any) -> Any:
        """One address."""
        return self.client.get(address, follow_redirects=False, **more)

    def post(self, address: str, fields: dict[str, str] | None = None) -> Any:
        """One form, as the desk's own pages send it."""
        body, kind = urlencode(fields or {}), "application/x-www-form-urlencoded"
        headers = {**OWN, "content-type": kind}
        return self.client.post(address, content=body, headers=headers, follow_redirects=False)

    def own(self) -> Own:
        """The club's own drills and venues as they are kept now."""
        with open_book(self.desk.book) as book:
            return own_of(book)

    def set_out(self, who: str, drill: str, page: str = "/set-out", **more: Any) -> Any:
        """One drill of one athlete."""
        return self.get(page, params={"a": self.numbers[who], "d": drill, **more})


def run_desk(
    folder: Path,
    *words: str,
    day: str = "",
    more: Mapping[str, str] | None = None,
    program: str = "layout",
) -> tuple[str, subprocess.Popen[str]]:
    """phasemark desk as a coach starts it, and the address it tells; `day` instead of today, `program` one
    of this folder's instead of phasemark."""
    words_of = ["tests.layout.desk.on_day", day] if day else [program]
    run = subprocess.Popen(
        [sys.executable, "-m", *words_of, "desk", *words, "--no-browser"],
        cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[3]), **(more or {})},
    )  # fmt: skip
    assert run.stdout is not None
    lines = iter(run.stdout.readline, "")
    address = next((line.strip() for line in lines if line.startswith("  http://127.0.0.1:")), "")
    assert address, run.communicate()
    return address, run


@contextmanager
def started(
    folder: Path,
    *words: str,
    day: str = "",
    more: Mapping[str, str] | None = None,
    program: str = "layout",
) -> Iterator[str]:
    """phasemark desk, its address; ended by an interrupt."""
    address, run = run_desk(folder, *words, day=day, more=more, program=program)
    try:
        yield address
    finally:
        run.send_signal(signal.SIGINT)
        out, fault = run.communicate(timeout=PATIENCE)
    assert (run.returncode, fault) == (0, ""), fault
    assert out.endswith("The desk is closed.\n")


@contextmanager
def halted(desk: Desk) -> Iterator[None]:
    """What works figures out stands still, so that nothing is done before something else is."""
    process = desk.worker._process
    assert process is not None
    assert process.pid is not None
    if os.name == "posix":
        os.kill(process.pid, signal.SIGSTOP)
    try:
        yield
    finally:
        if os.name == "posix":
            os.kill(process.pid, signal.SIGCONT)


@contextmanager
def killed(folder: Path, *words: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """phasemark desk, its address and process; killed in the end."""
    address, run = run_desk(folder, *words)
    try:
        yield address, run
    finally:
        run.kill()
        run.communicate(timeout=PATIENCE)


@contextmanager
def asked(folder: Path, enter: bool = True, book: Path | None = None) -> Iterator[Asked]:
    """A desk on a book, a new demo book where none is given."""
    book = book or demo_book(folder)[0]
    key = Key(PORT)
    desk = Desk(book, True)
    client = TestClient(Guard(app_of(desk), key), base_url=HOST, client=("127.0.0.1", 41000))
    made = Asked(desk, key, client)
    if enter:
        assert made.get(f"/enter?key={key.key}").status_code == 303
    try:
        yield made
    finally:
        desk.worker.close()
