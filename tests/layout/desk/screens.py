"""Pictures of every screen of the desk for the gallery, and what is read on them."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PIL import Image

from layout.book import entry
from layout.book.people import keep_text, members
from layout.book.store import create, open_book
from layout.book.typed import Typed
from layout.catalogue.club import club_files
from layout.commands.demo_ import COMPARED, DEMO_DAY, plans
from tests.browser import BROWSER
from tests.layout.desk.desks import started

if TYPE_CHECKING:
    from playwright.sync_api import Page

SIZES: Final = {"phone": (390, 844), "laptop": (1366, 768)}
COLOURS: Final = 48
"""Of a kept picture: pages have few, and the file is a third as large."""
TEXTS: Final = "screens.txt"
RUNS: Final = (
    ("imka", "2026-11-09", "2.58 2.31"), ("imka", "2026-11-09", "2.62 2.35"),
    ("imka", "2026-11-12", "2.66 2.33"), ("imka", "2026-11-16", "2.64 2.41"),
    ("imka", "2026-11-16", "2.70 2.44"), ("imka", "2026-11-23", "2.71 2.47"),
    ("tevin", "2026-11-23", "3.31 3.02"), ("tevin", "2026-11-25", "3.36 3.05"),
)  # fmt: skip
"""Invented: whose, on which day, hop and step to the sand."""


SENT: Final = (
    "imka hop-step-sand 2.68 5.12", "imka hop-step-sand 2.74 5.21", "tevin hop-step-sand 3.30 x pain",
)  # fmt: skip
"""Invented: runs that came as a message."""
NOBODYS: Final = "http://192.168.43.12:50123/t/Marram-Point-Marram-Po"
MASK: Final = """([address, host, code]) => {
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode;
    text.data = text.data.replace(/http:\\S+\\/t\\/\\S+/, address).replace(/127\\.0\\.0\\.1:\\d+/, host)
      .replace(/until \\d\\d:\\d\\d/, "until 18:00");
  }
  document.querySelectorAll(".code").forEach((place) => { place.innerHTML = code; });
}"""


def book_of(path: Path) -> dict[str, int]:
    """The demo's athletes with a few weeks of runs, in a book of its own; their numbers."""
    create(path)
    with open_book(path) as book:
        for name, text in club_files().items():
            keep_text(book, text, f"{name}.toml")
        for who, day, read in RUNS:
            entry.add(book, Typed(who, "hop-step-sand", tuple(read.split()), "each", day))
        return {m.name.lower(): m.id for m in members(book)}


def screens(of: dict[str, int]) -> dict[str, str]:
    """Every screen's address by its name: those whose figures are shipped or need none."""
    two = next(plan for stem, plan, _, _ in plans() if stem == COMPARED)
    here = f"a={of[two.who.name.lower()]}&d={two.drill}&v=marram-point"
    tevin = f"a={of['tevin']}&d=full-triple-jump&v=marram-point"
    return {
        "today": f"/?a={of['imka']}",
        "set-out": f"/set-out?{tevin}",
        "two-ways": f"/ways?{here}&of=knees",
        "worth": f"/worth?{here}",
        "jumped": f"/jumped?a={of['tevin']}&d=hop-step-sand",
        "squad": f"/squad?who={','.join(map(str, of.values()))}&d=hop-step-sand&v=marram-point",
        "season": f"/season?a={of['imka']}",
        "picture": f"/picture?{here}",
        "club": "/club",
        "athlete": f"/club/athlete?a={of['odalys']}",
        "drill": "/club/drill?like=hop-step-sand",
        "from-phone": "/from-phone",
        "share": f"/share?a={of['imka']}&d=hop-step-sand&v=marram-point",
    }


def _sent(page: Page) -> None:
    page.fill("#text", "\n".join(SENT))
    page.get_by_role("button", name="Read it").click()
    page.wait_for_selector(".waits")


def _handed(page: Page) -> None:
    page.get_by_role("button", name="Make a page for one phone").click()
    page.wait_for_selector(".door")


FIRST: Final[dict[str, Callable[[Page], None]]] = {"from-phone": _sent, "share": _handed}
"""What is done on a screen before it is a picture; these come last, as others would tell of it."""


def masked(page: Page) -> None:
    """In place of what is another each time, an address, its key and code and an hour that are nobody's."""
    import segno

    page.route("**/share/state", lambda route: route.abort())
    code = segno.make(NOBODYS, error="m").svg_inline(
        omitsize=True, border=4, dark="#000", light="#fff", svgclass=None, lineclass=None
    )
    page.evaluate(MASK, [NOBODYS, NOBODYS.split("/")[2], code])


def small(shot: bytes) -> bytes:
    """A picture of a screen in few colours."""
    out = io.BytesIO()
    with Image.open(io.BytesIO(shot)) as whole:
        few = whole.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
        few.save(out, "PNG", optimize=True)
    return out.getvalue()


def shots(folder: Path) -> None:
    """Every screen at both sizes as a picture in a folder, and one file with what is read on them."""
    from playwright.sync_api import sync_playwright

    from tests.layout.desk.shown import context_of

    folder.mkdir(parents=True, exist_ok=True)
    told = []
    with tempfile.TemporaryDirectory() as here, sync_playwright() as play:
        of = book_of(Path(here) / "marram.book")
        quiet = {
            "PHASEMARK_CACHE": str(Path(here) / "cache")
        }  # what was solved here before is left out
        words = ("marram.book", "--share", "127.0.0.1")
        with started(Path(here), *words, day=DEMO_DAY.isoformat(), more=quiet) as address:
            args = ["--no-sandbox", "--hide-scrollbars", "--disable-lcd-text"]
            browser = play.chromium.launch(executable_path=BROWSER, args=args)
            page = context_of(browser, reduced_motion="reduce").new_page()
            page.goto(address)
            home = address.partition("/enter")[0]
            for name, path in screens(of).items():
                if name in FIRST:
                    page.goto(home + path)
                    FIRST[name](page)
                for size, (wide, high) in SIZES.items():
                    page.set_viewport_size({"width": wide, "height": high})
                    page.goto(home + path, wait_until="networkidle")
                    if name == "share":
                        masked(page)
                    (folder / f"{name}-{size}.png").write_bytes(small(page.screenshot()))
                read = page.locator("body").inner_text().splitlines()
                told += [f"== {name}", *(line.strip() for line in read if line.strip()), ""]
            browser.close()
    (folder / TEXTS).write_text("\n".join(told), encoding="utf-8")
