"""What is it worth in a real browser: before it is worked out, while it is, and where it can't be told."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader

pytest.importorskip("playwright")
from playwright.sync_api import Page, expect

from tests.layout.desk.shown import (
    AT_MOST,
    BROWSING,
    Shown,
    fits,
    fits_everywhere,
    shown_desk,
    stands,
)

pytestmark = BROWSING
ASKED = "/worth?a=6&d=full-triple-jump&v=marram-point"
"""The demo's Tevin: a motion of it is shipped."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("desk")


@pytest.fixture(scope="module")
def shown(folder: Path) -> Iterator[Shown]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PHASEMARK_CACHE", str(folder / "cache" / "motions"))
        with shown_desk(folder, program="tests.layout.desk.short_curve") as made:
            yield made


@pytest.mark.parametrize("of", ["lever", "knees"])
def test_it_fits_both_sizes_in_light_and_dark(shown: Shown, of: str) -> None:
    fits_everywhere(shown, f"{ASKED}&of={of}")


def test_work_goes_on_while_the_page_is_left(shown: Shown) -> None:
    page = shown.go(f"{ASKED}&of=trunk&aim=step", "phone")
    page.get_by_role("link", name="Work it out").click()
    expect(page.locator("#work")).to_have_attribute("data-state", "working")
    shown.go("/")
    page = shown.go(f"{ASKED}&of=trunk&aim=step", "phone")
    expect(page.locator("#work")).to_have_text(re.compile(r"Being worked out: \d+ of about \d+"))
    expect(page.get_by_role("link", name="Look again")).to_be_visible()
    expect(page.locator("#work")).to_have_text(re.compile("[1-9][0-9]* of about [1-9][0-9]"))
    page.get_by_role("link", name="Stop").click()
    expect(page.locator("#work")).to_have_attribute("data-state", "stopped")
    assert [s for s in shown.said if "404" not in s] == []


SHORT = "/worth?a=3&d=hop-step-sand&v=marram-point&of=trunk&aim=step"
"""The demo's Bram: a motion of it is shipped."""


def kept(folder: Path) -> dict[str, int]:
    """The motions that are kept of curves, and when each was written."""
    places = (folder / "cache" / "motions" / "worth").glob("[!.]*.json.gz")
    return {p.name: p.stat().st_mtime_ns for p in places}


def slid(page: Page) -> list[str]:
    """What the slider tells at each point, from the first to the last, and whose row is marked."""
    stands(page)
    slider = page.get_by_role("slider")
    slider.press("Home")
    out = []
    for i, row in enumerate(page.locator(".worth-table tbody tr").all()):
        if i:
            slider.press("ArrowRight")
        value, loss, margin = (row.locator("th, td").nth(k).inner_text() for k in range(3))
        expect(page.locator("#told")).to_have_text(f"{value}: {loss}, {margin}")
        expect(row).to_have_class("worth-here")
        expect(page.locator(".worth-here")).to_have_count(1)
        out.append(page.locator(".worth-body svg").inner_html())
    return out


def test_it_is_asked_for_stopped_gone_on_with_and_read_to_its_end(
    shown: Shown, folder: Path
) -> None:
    """A curve of three points, solved in earnest by the desk's own process."""
    page = shown.go(SHORT, "phone")
    page.get_by_role("link", name="Work it out").click()
    work = page.locator("#work")
    expect(work).to_have_text(re.compile(r"Being worked out: [1-9]\d* of about \d+"))
    page.get_by_role("link", name="Stop").click()
    expect(work).to_have_text(re.compile(r"Stopped at \d+ of about \d+ motions. They are kept."))
    fits(page)
    shown.go(SHORT, "phone")
    expect(work).to_have_attribute("data-state", "stopped")
    page.get_by_role("link", name="Go on").click()
    before = kept(folder)
    expect(work).to_have_attribute("data-state", "working")
    table = page.locator(".worth-table tbody tr")
    expect(table.first).to_be_visible(timeout=3.0 * AT_MOST)
    assert before.items() <= kept(folder).items(), "what was kept is not written again"
    assert len(kept(folder)) > len(before)
    assert table.count() >= 3
    shapes = slid(page)
    assert len(set(shapes)) == table.count(), "another body at each point"
    for size in ("phone", "laptop"):
        shown.go(SHORT, size)
        expect(page.get_by_role("heading", level=2).first).to_contain_text("Trunk at the step")
        fits(page)
    href = page.get_by_role("link", name="Print the sheet").get_attribute("href")
    assert href is not None
    sheet = page.request.get(shown.home + href, timeout=AT_MOST)
    assert sheet.headers["content-type"] == "application/pdf"
    (leaf,) = PdfReader(io.BytesIO(sheet.body())).pages
    told = "".join(leaf.extract_text().split())
    for row in table.all():
        assert "".join(row.locator("th").inner_text().split()) in told
    assert "notameasurement" in told
    assert [s for s in shown.said if "404" not in s] == []
