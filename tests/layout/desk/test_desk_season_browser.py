"""Season in a real browser: both sizes, light and dark, by finger and by keyboard, read by all, in time."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from layout.book.people import keep_text, members
from layout.book.store import open_book
from tests.layout.desk.season_desks import named, season_of_club
from tests.layout.season.season_cases import put

pytest.importorskip("playwright")
from playwright.sync_api import expect

from tests.layout.desk.shown import (
    BROWSING,
    DRAWN,
    SIZES,
    Shown,
    fits_everywhere,
    press,
    shown_desk,
    stands,
)

pytestmark = BROWSING
LONG = "Wolfeschlegelsteinhausenbergerdorff" * 2
RTL = "الكتاب <b>שלום</b>"
LED = """(e) => {
  const box = e.getBoundingClientRect();
  const hit = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return hit.closest("a")?.getAttribute("href");
}"""
"""Where a tap in the middle of something leads."""


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    folder = tmp_path_factory.mktemp("season")
    path = season_of_club(folder)
    with open_book(path) as book:
        for name in (LONG, RTL):
            keep_text(book, named("runa", name))
        numbers = {m.name: m.id for m in members(book)}
        row = {
            "day": "2026-05-04",
            "drill": "hop-step-sand",
            "phases": "hop step",
            "lengths": [2.6, 2.2],
        }
        for name in (LONG, RTL):
            put(book, numbers[name], [{**row, "note": "W" * 300}] * 40)
        put(book, numbers["Sefa"], [{**row, "note": "pain; heel", "lengths": [9.9, 0.3]}])
    with shown_desk(folder, str(path)) as made:
        yield made


SCREENS = (
    "/season",
    "/season?a=1&until=2026-05-20",
    "/season?a=1&tape=ft&d=full-triple-jump&since=2026-03-01&sound=bang",
    "/season?a=1&pain=yes",
    "/season?a=3",
    "/season?a=5&until=2026-05-20",
    "/season?a=7&until=2026-05-20",
    "/season?a=8&until=2026-05-20",
    "/season/runs?a=7",
    "/season/runs?a=1&tape=ft",
    "/season/run?a=1&n=5",
    "/season/own?a=1",
    "/season/own?a=3",
    "/season?a=99",
)


@pytest.mark.parametrize("path", SCREENS)
def test_every_page_fits_both_sizes_in_light_and_dark(shown: Shown, path: str) -> None:
    fits_everywhere(shown, path)


def test_plots_can_be_read_at_both_sizes(shown: Shown) -> None:
    for size in SIZES:
        page = shown.go("/season?a=1&until=2026-05-20", size)
        page.evaluate("() => document.querySelectorAll('details').forEach((d) => d.open = true)")
        assert page.locator(".plot svg").count() >= 6
        assert page.evaluate(DRAWN, ".plot text") >= 11.0


def test_from_today_to_a_run_put_right_and_back(shown: Shown) -> None:
    page = shown.go("/?a=1", "phone")
    page.get_by_role("link", name="The season").click()
    stands(page, "Imka: season")
    # Any number of a row leads to its runs, not only the name.
    link = page.get_by_role("link", name="step").first
    row = page.locator("tr", has=link).first
    assert row.locator("td").count() >= 4
    for cell in row.locator("td").all():
        cell.scroll_into_view_if_needed()
        assert cell.evaluate(LED) == link.get_attribute("href")
    link.click()
    expect(page).to_have_title("Imka: runs")
    expect(page.locator("h2")).to_contain_text("Full-approach triple jump, 14 strides")
    page.locator(".tile").first.click()
    page.get_by_label("Hop", exact=True).fill("far")
    page.get_by_label("Wind").fill("+0.6")
    page.get_by_role("button", name="Put right").click()
    expect(page.locator("#e-r0")).to_be_visible()
    expect(page.get_by_label("Wind")).to_have_value("+0.6")
    page.get_by_label("Hop", exact=True).fill("4.32")
    page.get_by_role("button", name="Put right").click()
    expect(page.locator("#changed + ul")).to_contain_text("wind [m/s] nothing, then 0.6")
    page.get_by_role("link", name="Back to the runs").click()
    expect(page.locator(".tile").first).to_contain_text("before:")
    page.get_by_role("link", name="Back to the season").click()
    expect(page).to_have_title("Imka: season")


def test_days_and_a_drill_are_asked_and_back_undoes_it(shown: Shown) -> None:
    page = shown.go("/season?a=1", "phone")
    page.locator("summary", has_text="Show a part").click()
    page.get_by_label("Drill", exact=True).select_option("hop-step-sand")
    page.get_by_label("From", exact=True).fill("2026-04-01")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page).to_have_url(re.compile("since=2026-04-01"))
    expect(page.locator("summary", has_text="Only a part is shown")).to_be_visible()
    page.reload()
    expect(page.get_by_label("From", exact=True)).to_have_value("2026-04-01")
    page.go_back()
    expect(page.locator("summary", has_text="Show a part")).to_be_visible()


def test_a_whole_way_by_keyboard_alone(shown: Shown) -> None:
    page = shown.go("/")

    press(page, "Season")
    expect(page.locator("h1")).to_have_text("Season")
    press(page, "Imka")
    stands(page, "Imka: season")
    press(page, page.locator("th a[href*='week=']").first.inner_text())  # the latest with contacts
    stands(page, "Imka: runs")
    press(page, "Back to the season")
    stands(page, "Imka: season")
    press(page, "Take them into the file")
    stands(page, "Imka: own figures into the file")
    press(page, "Leave as it is")
    stands(page, "Imka: season")


def test_own_figures_are_taken_in_by_two_taps(shown: Shown) -> None:
    page = shown.go("/season?a=1&until=2026-05-20", "phone")
    page.get_by_role("link", name="Take them into the file").click()
    expect(page.locator(".lines").first).to_contain_text("[calibration]")
    page.get_by_role("button", name="Take in").click()
    expect(page).to_have_title("Imka: season")
    expect(page.locator("section", has=page.locator("#own"))).to_contain_text("last changed on")
    page.go_back()
    page.reload()
    expect(page.locator("#change ~ ul").first).to_contain_text("count twice")


def test_without_script_the_pages_read_and_ask(shown: Shown) -> None:
    with shown.unscripted() as page:
        page.goto(f"{shown.home}/season?a=3")
        page.locator("summary", has_text="What did you see").click()
        page.get_by_label("Runs with every mark met").fill("9/10")
        page.get_by_label("Loudest contact").select_option("quiet")
        page.get_by_role("button", name="Say where next").click()
        expect(page).to_have_url(re.compile("sound=quiet"))
        expect(page.locator("#rung ~ .big")).to_have_text(
            re.compile("^(Up to|Stay on|Sideways to) ")
        )


def test_nothing_is_asked_elsewhere_and_the_console_is_still(shown: Shown) -> None:
    shown.go("/season?a=1")
    assert [u for u in shown.asked if not u.startswith(shown.home)] == []
    assert [s for s in shown.said if "404" not in s and "400" not in s] == []


def test_no_name_makes_markup(shown: Shown, tmp_path: Path) -> None:
    page = shown.go("/season?a=8")
    assert page.locator("h1 b").count() == 0
    expect(page.locator("h1")).to_contain_text(RTL)
