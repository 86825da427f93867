"""Picture on a desk in a real browser: pages, files chosen, taps, and what is read: for its tests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs

from playwright.sync_api import Browser, Page, expect, sync_playwright

from layout.picture.points import points_from
from tests.browser import BROWSER
from tests.layout.desk.desks import started
from tests.layout.desk.shown import SIZES, context_of
from tests.layout.picture.shots import TAPPED, Shot, solved

IMKA = next((p, m) for p, m in solved() if p.drill == "short-triple-jump")
HERE = "/picture?a=2&d=short-triple-jump"


class Desk:
    """One desk, a browser that is let in, and all that its pages asked for and said."""

    def __init__(self, browser: Browser, address: str, folder: Path) -> None:
        self.browser, self.folder = browser, folder
        self.home = address.partition("/enter")[0]
        self.said: list[str] = []
        self.asked: list[Any] = []
        self.context = context_of(browser)
        self.context.new_page().goto(address)
        self.cookies = self.context.cookies()

    @property
    def book(self) -> Path:
        return next(self.folder.rglob("*.book"))

    def page(
        self, path: str = HERE, size: str = "laptop", touch: bool = False, **more: Any
    ) -> Page:
        """A page of its own, with nothing remembered."""
        wide, high = SIZES[size]
        context = context_of(
            self.browser,
            viewport={"width": wide, "height": high},
            has_touch=touch,
            reduced_motion="reduce",
            **more,
        )
        context.add_cookies(self.cookies)  # type: ignore[arg-type]
        page = context.new_page()
        page.on("console", lambda m: self.said.append(m.text))
        page.on("pageerror", lambda e: self.said.append(str(e)))
        page.on("request", lambda r: self.asked.append(r))
        page.goto(self.home + path)
        return page


@contextmanager
def picture_desk(folder: Path) -> Iterator[Desk]:
    """A desk and a browser that is let in."""
    with started(folder) as address, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield Desk(browser, address, folder)
        browser.close()


@contextmanager
def in_quiet(desk: Desk) -> Iterator[None]:
    """Nothing goes to the console, and nothing is asked from elsewhere."""
    desk.said.clear()
    desk.asked.clear()
    yield
    assert desk.said == [], desk.said
    assert all(r.url.startswith((desk.home, "blob:" + desk.home)) for r in desk.asked)
    for context in desk.browser.contexts[1:]:
        context.close()


def choose(page: Page, data: bytes | Path, name: str = "a.jpg", kind: str = "image/jpeg") -> None:
    """Choose a file, and wait till it is seen."""
    offered: Any = data if isinstance(data, Path) else {
        "name": name, "mimeType": kind, "buffer": data
    }  # fmt: skip
    page.set_input_files("#file", offered)
    expect(page.locator("#look[data-view]")).to_be_visible()
    expect(page.locator("#what")).to_contain_text("It stays in this browser")


def opened(page: Page, path: Path) -> None:
    choose(page, path)
    expect(page.locator("#clock")).to_contain_text("s")


PLACE = """
  const look = document.getElementById('look');
  const place = async ([x, y]) => {
    for (let frame = 0; frame < 1000; frame += 1) {
      const box = look.getBoundingClientRect();
      // Where its size changes, the picture is drawn a frame later.
      const sharp = [box.width, box.height].map((side) => Math.round(side * devicePixelRatio));
      if (look.width === sharp[0] && look.height === sharp[1]) {
        const [midX, midY, zoom] = look.dataset.view.split(' ').map(Number);
        return [box.x + box.width / 2 + (x - midX) * zoom, box.y + box.height / 2 + (y - midY) * zoom];
      }
      await new Promise(requestAnimationFrame);
    }
    throw new Error('the picture is not drawn at its size');
  };
"""
TAPS = """
  for (const at of places) {
    const [clientX, clientY] = (await place(at)).map(Math.round);
    const how = { clientX, clientY, pointerId: 1, pointerType, bubbles: true, cancelable: true };
    for (const type of ['pointerdown', 'pointerup']) look.dispatchEvent(new PointerEvent(type, how));
  }
"""
ROWS = """(rows) => rows.map((row) => [row.querySelector('th').innerText,
  [...row.querySelectorAll('td')].map((cell) => cell.innerText)])"""


def place(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a pixel of the picture is on the page."""
    at_x, at_y = page.evaluate(f"async (at) => {{ {PLACE} return place(at); }}", [x, y])
    return at_x, at_y


def tap(page: Page, x: float, y: float, touch: bool = False) -> None:
    """Tap the whole screen pixel next to a place of the picture."""
    at = tuple(map(round, place(page, x, y)))
    (page.touchscreen.tap if touch else page.mouse.click)(*at)


def taps(page: Page, places: Sequence[Sequence[float]], touch: bool = False) -> None:
    """What `tap` does at one place after the other, told to the page all at once: it is much faster."""
    told = [[list(at) for at in places], "touch" if touch else "mouse"]
    page.evaluate(f"async ([places, pointerType]) => {{ {PLACE} {TAPS} }}", told)


def with_marks(page: Page, readings: str) -> None:
    page.fill("#marks", readings)
    page.press("#marks", "Tab")
    page.locator("#frame").scroll_into_view_if_needed()


def measured(page: Page) -> dict[str, str]:
    """The table as it is read: measure and what was measured of it."""
    expect(page.locator("#measured:not(.late) table")).to_be_visible()
    rows = page.locator("#measured:not(.late) tbody tr").evaluate_all(ROWS)
    return {name: found[len(found) // 2] for name, found in rows}


def order_of(shot: Shot) -> tuple[str, ...]:
    """The points in the order in which they are tapped."""
    return (*(n for n in shot.pixels if "mark" in n), *TAPPED)


def all_points(page: Page, shot: Shot, touch: bool = False) -> None:
    with_marks(page, shot.readings)
    taps(page, [shot.pixels[name] for name in order_of(shot)], touch)
    expect(page.locator("#next")).to_contain_text("All points are set")


def points_sent(desk: Desk) -> dict[str, tuple[float, float]]:
    """The points of the latest question to the desk, in pixels."""
    asked = [r for r in desk.asked if r.url.endswith("/measure")][-1]
    frame = points_from(parse_qs(asked.post_data)["points"][0]).frames[0]
    found = {name: (c.x, c.y) for name, c in frame.body.items()}
    return found | {f"mark {m.reading:.2f}": (m.at.x, m.at.y) for m in frame.marks}


def zoom_of(page: Page) -> float:
    """How many screen pixels one of the picture has."""
    return float((page.locator("#look").get_attribute("data-view") or "").split()[2])
