"""A desk's memory over a long day, by hand: python -m tests.bench.desk_day [REQUESTS]

Told in MB of the desk's own process (resident): idle, after a first round of every page, after each tenth of
the requests, and with eight tabs in a browser where there is one. The worker that solves is another process.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from tests.browser import BROWSER
from tests.layout.desk.desks import killed
from tests.layout.desk.saving import RUN, Browser
from tests.layout.desk.test_desk_club import form_of

PAGES = (
    "/", "/?a=4", "/?a=6", "/jumped?a=6&d=hop-step-sand", "/club", "/club/athlete?a={a}", "/club/in",
    "/live?a=6&d=hop-step-sand&strides={n}&w=narrow", "/club/venue", "/desk.css", "/nothing",
)  # fmt: skip
SELDOM = (
    "/set-out?a=6&d=hop-step-sand&strides={n}", "/set-out?a=2&d=short-triple-jump&tape=ft",
    "/live?a=6&d=full-triple-jump&strides={m}&w=wide", "/season", "/season?a=6", "/squad",
    "/sheet.pdf?a=6&d=hop-step-sand&strides={n}", "/club/copy.book", "/club/tables.zip",
)  # fmt: skip
"""Asked once in twenty: they take long."""
TABS = ("/", "/set-out?a=6&d=full-triple-jump", "/jumped?a=6&d=hop-step-sand", "/season?a=6",
        "/squad", "/club", "/club/in", "/club/athlete?a=4")  # fmt: skip


def resident(number: int) -> float:
    """Memory of a process [MB]."""
    for line in Path(f"/proc/{number}/status").read_text().splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024
    return 0.0


def main(requests: int) -> None:
    """Ask, and tell."""
    with tempfile.TemporaryDirectory() as name, killed(Path(name)) as (address, run):
        time.sleep(3.0)
        print(f"idle {resident(run.pid):.0f} MB", flush=True)
        browser = Browser(address)
        form = form_of(browser.ask("GET", RUN)[1])
        statuses: dict[int, int] = {}

        def ask(i: int) -> None:
            if i % 50 == 0:
                once = {**form, "once": str(i), "r0": "3.1", "r1": "2.9"}
                status, _ = browser.ask("POST", "/jumped", once)
            else:
                path = SELDOM[i // 20 % len(SELDOM)] if i % 20 == 7 else PAGES[i % len(PAGES)]
                path = path.format(n=2 + i % 9, m=4 + i % 11, a=1 + i % 6)
                status, _ = browser.ask("GET", path)
            statuses[status] = statuses.get(status, 0) + 1

        for i in range(20 * len(SELDOM)):
            ask(i)
        print(f"every page once {resident(run.pid):.0f} MB", flush=True)
        start = time.monotonic()
        for i in range(requests):
            ask(i)
            if (i + 1) % (requests // 10) == 0:
                print(f"{i + 1} requests {resident(run.pid):.0f} MB", flush=True)
        print(f"{requests} requests in {time.monotonic() - start:.0f} s; answers {statuses}")
        if BROWSER is not None:
            _tabs(browser, run.pid)


def _tabs(browser: Browser, number: int) -> None:
    """Eight tabs of one browser, each loaded ten times."""
    from playwright.sync_api import sync_playwright

    name, _, value = browser.headers["cookie"].partition("=")
    home = f"http://{browser.host}"
    with sync_playwright() as play:
        shown = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        context = shown.new_context()
        context.add_cookies([{"name": name, "value": value, "url": home}])
        tabs = [context.new_page() for _ in TABS]
        for turn in range(10):
            for tab, path in zip(tabs, TABS, strict=True):
                tab.goto(home + path)
            if turn in (0, 9):
                print(f"eight tabs, loaded {turn + 1} times: {resident(number):.0f} MB", flush=True)
        shown.close()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
