"""A coach's whole day in a real browser: by finger at both sizes, light and dark; once by keyboard alone."""

from __future__ import annotations

import contextlib
import datetime
import io
import json
import re
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import pytest

from layout.book.people import keep_text, members
from layout.book.rows import attempts
from layout.book.store import create, open_book
from layout.catalogue.club import club_files
from layout.cli import main
from tests.browser import BROWSER
from tests.layout.desk.desks import started
from tests.layout.phone.phone_pages import NAMES

pytest.importorskip("playwright")
from playwright.sync_api import Page, expect, sync_playwright

from tests.layout.desk.shown import (
    BROWSING,
    WIDE,
    Shown,
    context_of,
    fetched,
    fits,
    press,
    shown_desk,
    stands,
)

pytestmark = BROWSING
LOOKS = [("phone", False), ("laptop", True)]
PLACES = ("Today", "Squad", "Season", "Picture", "Club")


@pytest.fixture
def shown(tmp_path: Path) -> Iterator[Shown]:
    with shown_desk(tmp_path) as made:
        yield made


def commanded(*words: str) -> str:
    """What a command prints."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        assert main(list(words)) == 0
    return said.getvalue()


def as_planned(page: Page, *options: str) -> None:
    """The card on the page reads what phasemark plan prints of the same."""
    path = str(files("layout.catalogue.club") / "imka.toml")
    card = commanded("plan", path, "hop-step-sand", *options).partition("TAPE CARD")[2]
    lines = re.findall(r"^ +(\d+\.\d\d m)  ", card.partition("\n\n")[0], re.M)
    assert len(lines) > 4
    assert page.locator("#card .tape b").all_inner_texts() == lines


def kept(book: Path) -> list[tuple[tuple[float | None, ...], bool]]:
    with open_book(book) as opened:
        return [(a.lengths, a.foul) for a in attempts(opened)]


def typed(page: Page, field: str, keys: str) -> None:
    """A reading by the keys on the page."""
    page.locator(f"#{field}").click()
    for key in keys:
        page.locator(f"#keys [data-key='{key}']").click()


def choose(page: Page, text: str) -> None:
    """One of the choices of a question, where a finger would tap it."""
    page.locator("label", has=page.get_by_text(text, exact=True)).click()


def morning(page: Page) -> None:
    """Who, which drill, the runway as it is to be, its figure, the sheet."""
    page.get_by_role("link", name="Imka", exact=True).click()
    stands(page, "Imka: which drill?")
    fits(page)
    page.get_by_role("link", name=re.compile("^Hop and step to the sand")).click()
    stands(page, "Imka: Hop and step to the sand")
    as_planned(page)
    page.get_by_role("button", name="One stride more").click()
    now = page.locator("#strides").input_value()
    expect(page.locator("#card")).to_contain_text(f"{now} strides")
    choose(page, "pit")
    expect(page.locator(".zero")).to_contain_text("near edge of the pit")
    choose(page, "30 cm")
    expect(page.locator("#state")).to_have_text("Worked out for this spacing.")
    expect(page.locator("#said")).to_have_text(re.compile(r"knee gap (29\.[5-9]|30\.[0-5]) cm"))
    as_planned(page, "--strides", now, "--zero", "pit")
    fits(page)
    sheet = page.locator("[data-away='/sheet.pdf']").get_attribute("href") or ""
    assert fetched(page, page.url.partition("/set-out")[0] + sheet).startswith(b"%PDF")


def at_the_runway(page: Page, book: Path) -> None:
    """Runs put down by the keys on the page, a foul, one put right, one struck out and put back."""
    page.get_by_role("link", name="Jumped", exact=True).click()
    stands(page, re.compile("^Imka jumped"))
    expect(page.locator("#run")).to_have_text("Run 1")
    fits(page)
    typed(page, "r0", "2.61")
    typed(page, "r1", "2.4")
    page.get_by_role("button", name="Put down").click()
    expect(page.locator("#run")).to_have_text("Run 2")
    stands(page)
    typed(page, "r0", "2.7")
    choose(page, "foul")
    page.get_by_role("button", name="Put down").click()
    expect(page.locator("#run")).to_have_text("Run 3")
    page.get_by_role("link", name="Put run 1 right").click()
    expect(page.get_by_role("button", name="Put right")).to_be_visible()
    stands(page)
    page.get_by_label("step").fill("2.45")
    page.get_by_role("button", name="Put right").click()
    expect(page.locator(".before")).to_contain_text("2.61 m / 2.40 m")
    page.get_by_role("button", name="Strike out run 2").click()
    page.get_by_role("button", name="Put run 2 back").click()
    expect(page.get_by_role("button", name="Strike out run 2")).to_be_visible()
    fits(page)
    assert kept(book) == [((2.61, 2.45), False), ((2.7, None), True)]


def two_ways(page: Page) -> None:
    """Knees both ways beside each other."""
    page.get_by_role("link", name="Back to the runway").click()
    page.get_by_role("link", name="Two ways side by side").click()
    expect(page.locator("#state")).to_have_text("Both worked out for this spacing.")
    stands(page)
    assert page.locator(".differs tbody tr").count() > 20
    page.get_by_role("button", name="Frame on").click()
    expect(page.locator("#clock")).to_contain_text("after the step contact")
    fits(page)


def the_rest(page: Page) -> None:
    """Every place on the bar; the season tells of the runs that were put down."""
    for name in PLACES:
        page.get_by_role("navigation", name="Screens").get_by_role("link", name=name).click()
        expect(page.locator("[aria-current=page]")).to_have_text(name)
        fits(page)
    page.goto(page.url.partition("/club")[0] + "/season?a=2")
    expect(page.locator("main")).to_contain_text("2.61")
    fits(page)


@pytest.mark.parametrize(("size", "dark"), LOOKS)
def test_a_whole_day_by_finger(shown: Shown, tmp_path: Path, size: str, dark: bool) -> None:
    book = next(tmp_path.glob("*/*.book"))
    with open_book(book) as opened:
        assert {m.name: m.id for m in members(opened)}["Imka"] == 2
    page = shown.go("/", size, dark)
    fits(page)
    morning(page)
    at_the_runway(page, book)
    two_ways(page)
    the_rest(page)
    assert shown.said == []
    assert len(kept(book)) == 2


def test_a_whole_day_by_keyboard_alone(shown: Shown, tmp_path: Path) -> None:
    book = next(tmp_path.glob("*/*.book"))
    page = shown.go("/")
    keys = page.keyboard
    press(page, "Tevin")
    stands(page, "Tevin: which drill?")
    press(page, "Hop and step to the sand")
    stands(page, "Tevin: Hop and step to the sand")
    before = page.locator("#card").inner_text()
    for _ in range(60):
        keys.press("Tab")
        if page.evaluate("document.activeElement.id") == "strides":
            break
    keys.press("ArrowLeft")
    expect(page.locator("#card")).not_to_have_text(before)
    press(page, "Two ways side by side")
    expect(page.locator("h1")).to_contain_text("two ways of")
    press(page, "Back to the runway")
    stands(page, "Tevin: Hop and step to the sand")
    press(page, "Jumped")
    expect(page.locator("#run")).to_have_text("Run 1")
    stands(page)
    for _ in range(60):
        keys.press("Tab")
        if page.evaluate("document.activeElement.id") == "r0":
            break
    keys.type("3.20")
    keys.press("Tab")
    keys.type("2.98")
    keys.press("Enter")
    expect(page.locator("#run")).to_have_text("Run 2")
    assert kept(book) == [((3.2, 2.98), False)]
    for name in PLACES[1:]:
        press(page, name)
        expect(page.locator("[aria-current=page]")).to_have_text(name)
    assert shown.said == []


def test_names_of_every_kind_on_every_screen(tmp_path: Path) -> None:
    book = tmp_path / "own.book"
    create(book)
    names = [" ".join(n[:80].split()) for n in NAMES]
    # Motions of that drill of Imka's are shipped: nothing is worked out.
    with open_book(book) as opened:
        for name in names:
            text = club_files()["imka"].replace('"Imka"', json.dumps(name, ensure_ascii=False))
            keep_text(opened, text)
        numbers = [m.id for m in members(opened)]
    with started(tmp_path, "own.book") as address, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        shown = Shown(browser, address)
        shown.page.on("dialog", lambda _: shown.said.append("a dialog"))
        for number in numbers:
            for path in ("/?", "/set-out?d=short-triple-jump&", "/jumped?d=short-triple-jump&",
                         "/ways?d=short-triple-jump&", "/season?", "/club/athlete?"):  # fmt: skip
                page = shown.go(f"{path}a={number}", "phone")
                assert page.evaluate(WIDE) <= 0, path
                assert any(n in " ".join(page.locator("body").inner_text().split()) for n in names)
                assert page.locator("main img").count() == 0
        page = shown.go("/club/athlete", "phone")
        page.get_by_label("Name").fill("W" * 300)
        page.get_by_label("Height").fill("1.70")
        page.get_by_label("Mass").fill("58")
        page.get_by_label("Take-off leg").select_option("left")
        page.get_by_role("button", name="Keep").click()
        expect(page.locator("#e-name")).to_be_visible()
        page.wait_for_load_state()  # without its style sheet it is wide
        assert page.evaluate(WIDE) <= 0
        assert [s for s in shown.said if "400" not in s] == []
        browser.close()


def test_a_finger_needs_no_keyboard_of_the_system(shown: Shown) -> None:
    """Where there is a finger the fields ask for no keyboard until one is wanted; not with a mouse."""
    path, mode = (
        f"{shown.home}/jumped?a=6&d=hop-step-sand",
        "document.getElementById('r0').inputMode",
    )
    assert shown.go("/jumped?a=6&d=hop-step-sand").evaluate(mode) == "decimal"
    state = shown.context.storage_state()
    touch = context_of(shown.browser, has_touch=True, is_mobile=True, storage_state=state)
    page = touch.new_page()
    page.goto(path)
    page.locator("#r0").tap()
    assert page.evaluate(mode) == "none"
    for key in "3.25":
        page.locator(f"#keys [data-key='{key}']").tap()
    page.get_by_role("button", name="Take the last sign away").tap()
    assert page.locator("#r0").input_value() == "3.2"
    page.get_by_role("button", name="Next").tap()
    page.locator("#keys [data-key='2']").tap()
    assert page.locator("#r1").input_value() == "2"
    page.get_by_role("button", name="Letters").tap()
    assert page.evaluate(mode) == "decimal"
    page.get_by_text("feet and inches", exact=True).locator("..").tap()
    expect(page.get_by_role("button", name="ft-in")).to_be_visible()
    expect(page.locator("#r0")).to_have_value("3.2")  # what was typed stays
    touch.close()


def test_today_is_the_day_of_the_machine(shown: Shown) -> None:
    today = datetime.date.today()
    expect(shown.go("/").locator("h1")).to_have_text(f"{today:%A} {today.day} {today:%B}")
