"""Squad in a real browser: by finger, by keyboard, without script, and over the desk's end."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser import PATIENCE
from tests.layout.desk.desks import killed, started

pytest.importorskip("playwright")
from playwright.sync_api import Page, expect

from tests.layout.desk.shown import (
    BROWSING,
    DRAWN,
    LEAST,
    SIZES,
    SMALL,
    WIDE,
    Shown,
    context_of,
    fetched,
    fits_everywhere,
    shown_desk,
    stands,
)

pytestmark = BROWSING
ALL = "who=1,2,3,4,5,6"


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    with shown_desk(tmp_path_factory.mktemp("desk")) as made:
        yield made


@pytest.mark.parametrize(
    "path",
    [
        "/squad?v=club",
        f"/squad?{ALL}&d=hop-step-sand&v=marram-point",
        f"/squad?{ALL}&d=two-hops-step-beside,full-triple-jump&tape=ft",
        "/squad?who=4&d=full-triple-jump",
    ],
)
def test_squad_fits_both_sizes_in_light_and_dark(shown: Shown, path: str) -> None:
    fits_everywhere(shown, path)


def test_the_drawing_can_be_read_at_both_sizes(shown: Shown) -> None:
    for drill in ("hop-step-sand", "full-triple-jump", "three-hops-step-beside"):
        for size, least in (("phone", 11.0), ("laptop", 13.0)):
            page = shown.go(f"/squad?{ALL}&d={drill}&v=marram-point", size)
            assert page.evaluate(DRAWN, "#runway text") >= least


def opened(page: Page) -> None:
    for row in page.locator("#roll details").all():
        row.evaluate("(e) => e.open = true")


def test_a_name_that_is_tapped_is_shared_in_at_once_and_back_takes_it_out(shown: Shown) -> None:
    page = shown.go("/squad?who=2&d=hop-step-sand", "phone")
    opened(page)
    runners = page.locator(".runners .name")
    expect(runners).to_have_count(1)
    page.locator(".taps label", has_text="Tevin").click()
    expect(runners).to_have_count(2)
    expect(page).to_have_url(re.compile("who=2,6&"))
    expect(page.locator("[data-part=here]")).to_contain_text("2 athletes: Imka, Tevin")
    page.locator(".taps label", has_text="Standing triple jump").click()
    expect(page.locator(".drilltabs a")).to_have_count(2)
    expect(page.locator("[data-open=full-triple-jump]")).to_have_text("open to all here")
    page.go_back()
    expect(page.locator(".drilltabs a")).to_have_count(0)
    stands(page)
    page.go_back()
    expect(runners).to_have_count(1)


def test_by_keyboard_alone_names_and_drill_lead_to_the_set_out(shown: Shown) -> None:
    page = shown.go("/squad?v=club")

    def tick(name: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.parentElement.innerText.trim()") == name:
                page.keyboard.press("Space")
                return
        raise AssertionError(name)

    tick("Imka")
    tick("Sefa")
    expect(page.locator("[data-open=hop-step-sand]")).to_have_text("open to all here")
    tick("Hop and step to the sand\nopen to all here")
    expect(page.locator(".runners .name")).to_have_text(["Imka", "Sefa"])
    assert page.evaluate("document.activeElement.name") == "d-hop-step-sand"


def test_without_script_names_are_ticked_and_shared(shown: Shown) -> None:
    with shown.unscripted() as page:
        page.goto(f"{shown.home}/squad?v=club")
        for name in ("Imka", "Tevin", "Hop and step to the sand"):
            page.locator(".taps label", has_text=re.compile(f"^{name}")).first.click()
        page.get_by_role("button", name="Share the marks out").click()
        expect(page).to_have_url(re.compile(r"who=2,6&d=hop-step-sand"))
        expect(page.locator(".tape li").first).to_be_visible()
        page.get_by_role("button", name="Work out the figures").click()
        expect(page.locator("#work .state")).to_be_visible()


def test_a_name_leads_to_set_out_and_jumped_with_the_same_wishes(shown: Shown) -> None:
    page = shown.go(f"/squad?{ALL}&d=hop-step-sand&v=marram-point&tape=ft&strides=4")
    page.locator(".runners li", has_text="Tevin").get_by_role("link", name="Jumped").click()
    expect(page.locator("h1")).to_contain_text("Tevin jumped")
    assert all(f in page.url for f in ("a=6", "d=hop-step-sand", "v=marram-point", "tape=ft"))
    page.go_back()
    page.locator(".runners .name", has_text="Tevin").click()
    expect(page.locator("#strides-now")).to_have_text("4")


def test_the_longest_name_makes_no_page_wider(shown: Shown) -> None:
    page = shown.go("/club/athlete", "phone")
    page.get_by_label("Name").fill("W" * 80)
    page.get_by_label("Height").first.fill("1.80")
    page.get_by_label("Mass").first.fill("70")
    page.get_by_label("Take-off leg").select_option("left")
    page.get_by_role("button", name="Keep").click()
    expect(page).to_have_title("W" * 80 + ": which drill?")
    number = page.url.partition("a=")[2].partition("#")[0]
    for size in SIZES:
        page = shown.go(f"/squad?who=6,{number}&d=hop-step-sand", size)
        opened(page)
        expect(page.locator(".mind").first).to_contain_text("No marks for WWWW")  # of unknown age
        assert page.evaluate(WIDE) <= 0
        assert page.evaluate(SMALL, LEAST) == []


def test_hurdles_are_held_against_the_feet_when_nothing_is_tapped(shown: Shown) -> None:
    page = shown.go("/squad?who=6&d=two-hops-step-over")
    expect(page.locator("#runway")).to_have_attribute("data-feet", "yes")


def test_a_desk_killed_amid_the_sheets_goes_on_by_itself(
    shown: Shown, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = tmp_path / "cache"
    monkeypatch.setenv("PHASEMARK_CACHE", str(cache))
    place = "/squad?who=1,2,3,5&d=hop-step-sand"
    context = context_of(shown.browser, viewport={"width": 390, "height": 844})
    page = context.new_page()

    def kept() -> dict[str, int]:
        return {p.name: p.stat().st_mtime_ns for p in cache.glob("[!.]*.json")}

    def motions() -> dict[str, int]:
        return {n: t for n, t in kept().items() if not n.startswith("desk-")}

    with killed(tmp_path) as (address, _):
        page.goto(address)
        page.goto(address.partition("/enter")[0] + place)
        page.get_by_role("button", name="Make the sheets for all").click()
        expect(page.locator("#work [role=status]")).to_contain_text(re.compile(" [0-4] of 5 done"))
        until = time.monotonic() + PATIENCE
        while not motions() and time.monotonic() < until:
            time.sleep(0.02)
    before, found = kept(), motions()
    assert found
    with started(tmp_path) as address:
        page.goto(address)
        page.get_by_role("link", name="Squad", exact=True).click()
        expect(page).to_have_url(re.compile(r"who=1,2,3,5&d=hop-step-sand"))
        expect(page.locator("#work [role=status]")).to_contain_text("made.")
        sheets = page.get_by_role("link", name="Print the sheets")
        paper = address.partition("/enter")[0] + str(sheets.get_attribute("href"))
        assert fetched(page, paper).startswith(b"%PDF")
    after = kept()
    assert {n: after[n] for n in found} == found
    assert len(after) > len(before)
    context.close()


def test_a_drill_that_is_tapped_is_shown_and_stays_so(shown: Shown) -> None:
    page = shown.go("/squad?who=2,6&d=two-hops-step-sand&tape=ft")
    opened(page)
    title = page.locator(".result h2").first
    expect(title).to_have_text("Two hops and a step to the sand")
    page.locator(".taps label", has_text="Hop and step to the sand").click()
    expect(title).to_have_text("Hop and step to the sand")
    expect(page).to_have_url(re.compile("d=two-hops-step-sand,hop-step-sand&at=hop-step-sand"))
    page.reload()
    expect(title).to_have_text("Hop and step to the sand")
    page.get_by_role("link", name="Two hops and a step to the sand").click()
    expect(title).to_have_text("Two hops and a step to the sand")


def test_paper_has_the_drawing_whatever_was_tapped(shown: Shown) -> None:
    page = shown.go("/squad?who=2&d=hop-step-sand", "laptop")
    opened(page)
    page.locator(".taps label", has_text="Tevin").click()
    expect(page.locator(".runners .name")).to_have_count(2)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 700, "height": 900})
    expect(page.locator("#runway svg").first).to_be_visible()
    expect(page.locator("#roll")).to_be_hidden()
    page.emulate_media(media="screen")


def test_the_console_is_still(shown: Shown) -> None:
    page = shown.go(f"/squad?{ALL}&d=two-hops-step-beside")
    expect(page.locator("#runway")).to_have_attribute("data-feet", "yes")
    assert [u for u in shown.asked if not u.startswith(shown.home)] == []
    assert shown.said == []
