"""A desk in a real browser, and what each of its pages holds to: for tests with a browser."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from re import Pattern
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from tests.browser import BROWSER, PATIENCE
from tests.layout.desk.desks import started

AT_MOST: Final = 1000.0 * PATIENCE
"""How long anything may take before a test fails: a shared machine is slow now and then [ms]."""
expect.set_options(timeout=AT_MOST)
BROWSING = [
    pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]
"""The mark of a file of tests with a browser."""
LEAST = 44.0
"""Least side of anything to tap [px] (W3C, Web Content Accessibility Guidelines 2.1, 2.5.5)."""
READ = 16.0
"""Least height of letters to read [px] (ours)."""
SIZES = {"phone": (390, 844), "laptop": (1366, 768)}
SMALL = """(least) => [...document.querySelectorAll('a, button, select, input:not([type=hidden]), summary')]
  .filter((e) => e.checkVisibility() && !e.closest('.skip') && !e.closest('svg'))
  .map((e) => e.type === 'radio' ? e.closest('label') : e)
  .map((e) => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])
  .filter(([, b]) => b.width < least || b.height < least).map(([t]) => t)"""
LETTERS = """(least) => {
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), out = [];
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.textContent.trim() || !e.checkVisibility() || e.closest('svg, script')) continue;
    if (parseFloat(getComputedStyle(e).fontSize) < least) out.push(walk.currentNode.textContent);
  }
  return out;
}"""
DRAWN = """(texts) => Math.min(...[...document.querySelectorAll(texts)].filter((e) => e.checkVisibility())
  .map((e) => parseFloat(e.getAttribute('font-size')) * e.getScreenCTM().a))"""
"""The least height of letters in a drawing [px]."""
AXE = """async (rules) => {
  const only = rules.length ? { runOnly: { type: 'rule', values: rules } } : {};
  const found = await axe.run({ resultTypes: ['violations'], ...only });
  return found.violations.map(({ id, nodes }) => [id, nodes[0].html.slice(0, 200)]);
}"""
COLOURS = ("color-contrast", "link-in-text-block")
"""The rules that another light can break."""
WIDE = "() => document.documentElement.scrollWidth - innerWidth"


def context_of(browser: Browser, **given: Any) -> BrowserContext:
    """A profile of its own, patient with a slow machine."""
    made = browser.new_context(**given)
    made.set_default_timeout(AT_MOST)
    return made


def stands(page: Page, title: str | Pattern[str] = "") -> None:
    """A page that was led to is there whole, its scripts at work: what they act on can be tapped and read."""
    if title:
        expect(page).to_have_title(title)
    page.wait_for_load_state()


def fetched(page: Page, address: str) -> bytes:
    """What a page's link leads to, where that is a file."""
    return page.request.get(address, timeout=AT_MOST).body()


class Shown:
    """One desk and one browser that is let in."""

    def __init__(self, browser: Browser, address: str) -> None:
        self.browser, self.home = browser, address.partition("/enter")[0]
        self.context = context_of(browser, viewport={"width": 390, "height": 844})
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page = self._page()
        self.page.goto(address)

    def _page(self) -> Page:
        page = self.context.new_page()
        page.on("console", lambda m: self.said.append(m.text))
        page.on("pageerror", lambda e: self.said.append(str(e)))
        page.on("request", lambda r: self.asked.append(r.url))
        return page

    def go(self, path: str, size: str = "laptop", dark: bool = False) -> Page:
        wide, high = SIZES[size]
        self.page.set_viewport_size({"width": wide, "height": high})
        self.page.emulate_media(color_scheme="dark" if dark else "light", reduced_motion="reduce")
        self.page.goto(self.home + path)
        return self.page

    @contextmanager
    def unscripted(self) -> Iterator[Page]:
        """A page of a browser that is let in and runs no script."""
        context = context_of(
            self.browser, java_script_enabled=False, storage_state=self.context.storage_state()
        )
        yield context.new_page()
        context.close()


@contextmanager
def shown_desk(folder: Path, *words: str, program: str = "layout") -> Iterator[Shown]:
    """phasemark desk as a coach starts it, and a browser that is let in."""
    with started(folder, *words, program=program) as address, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield Shown(browser, address)
        browser.close()


def fits(page: Page, small: bool = True) -> None:
    """A page as it stands can be seen, tapped, read and heard; `small`: whether targets are measured."""
    page.wait_for_load_state()
    assert page.evaluate(WIDE) <= 0, page.url
    assert not small or page.evaluate(SMALL, LEAST) == []
    assert page.evaluate(LETTERS, READ) == []
    heard(page)


def heard(page: Page, *rules: str) -> None:
    """Nothing that axe knows of keeps anybody from a page; `rules`: some of its rules alone."""
    from axe_playwright_python.base import AXE_SCRIPT

    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    assert page.evaluate(AXE, rules) == []


def fits_everywhere(shown: Shown, path: str) -> None:
    """The same for a page with all that is folded away opened, at both sizes, light and dark."""
    for size in SIZES:
        page = shown.go(path, size)
        page.evaluate("() => document.querySelectorAll('details').forEach((d) => d.open = true)")
        fits(page)
        page.emulate_media(color_scheme="dark", reduced_motion="reduce")
        heard(page, *COLOURS)


def press(page: Page, name: str) -> None:
    """Go on by the tab key to what begins with a name, and take it."""
    page.wait_for_load_state()
    for _ in range(150):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.innerText.trim()").startswith(name):
            page.keyboard.press("Enter")
            return
    raise AssertionError(name)


@contextmanager
def hostile_page(shown: Shown) -> Iterator[tuple[Page, list[int]]]:
    """A page on another port of this machine, in the same browser, and how the desk answers it."""
    from http.server import BaseHTTPRequestHandler, HTTPServer
    from threading import Thread

    class Hostile(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.end_headers()
            self.wfile.write(b"<!doctype html><title>x</title>")

        def log_message(self, *_: Any) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Hostile)
    Thread(target=server.serve_forever, daemon=True).start()
    page = shown.context.new_page()
    answers: list[int] = []
    page.on("response", lambda r: r.url.startswith(shown.home) and answers.append(r.status))
    page.goto(f"http://127.0.0.1:{server.server_port}/")
    try:
        yield page, answers
    finally:
        page.close()
        server.shutdown()
        server.server_close()
