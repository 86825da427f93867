"""The desk in a real browser: by finger, by keyboard, read by all, kept from other pages."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser import PATIENCE
from tests.layout.desk.desks import killed, started

pytest.importorskip("playwright")
from playwright.sync_api import expect

from tests.layout.desk.shown import (
    BROWSING,
    DRAWN,
    Shown,
    context_of,
    fetched,
    fits_everywhere,
    hostile_page,
    press,
    shown_desk,
    stands,
)

pytestmark = BROWSING


HOSTILE = """async (home) => {
  const out = [], own = { credentials: 'include' };
  const tried = async (what, how) => out.push([what, await how().catch(() => null)]);
  await tried('fetch', async () => (await fetch(home + '/', own)).text());
  await tried('opaque', async () => (await fetch(home + '/', { ...own, mode: 'no-cors' })).type);
  const body = new URLSearchParams('a=1');
  await tried('post', async () => (await fetch(home + '/stop', { ...own, method: 'POST', body })).text());
  for (const [tag, path] of [['img', '/icon.svg'], ['script', '/desk.js'], ['iframe', '/']]) {
    await tried(tag, () => new Promise((go, stop) => {
      const e = document.createElement(tag);
      e.onload = () => tag === 'iframe' ? go(e.contentDocument && 'read') : go('loaded');
      e.onerror = stop;
      e.src = home + path;
      document.body.append(e);
      setTimeout(stop, 30000);
    }));
  }
  return out;
}"""
"""What a page of another address can try."""


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    with shown_desk(tmp_path_factory.mktemp("desk")) as made:
        yield made


KEPT = "/set-out?a=6&d=full-triple-jump&v=marram-point"
"""The demo's Tevin: a motion of it is shipped."""
SCREENS = (
    "/",
    "/?a=4",
    KEPT,
    "/set-out?a=4&d=full-triple-jump",
    "/set-out?a=4&d=full-triple-jump&despite=Bo:+seen+by+the+doctor&thigh=0&tape=ft",
    "/ways?a=3&d=hop-step-sand&of=knees&v=marram-point",
    "/jumped?a=6&d=hop-step-sand&tape=ft",
    "/jumped?a=3&d=three-hops-step-over&from=start",
    "/picture",
    "/picture?a=4",
    "/club",
    "/club/athlete?a=4",
    "/nothing",
)


@pytest.mark.parametrize("path", SCREENS)
def test_every_screen_fits_both_sizes_in_light_and_dark(shown: Shown, path: str) -> None:
    fits_everywhere(shown, path)


def test_the_drawing_can_be_read_at_both_sizes(shown: Shown) -> None:
    for size, least in (("phone", 11.0), ("laptop", 13.0)):
        assert shown.go(KEPT, size).evaluate(DRAWN, "#runway text") >= least


def test_a_finger_on_the_strides_moves_everything_and_the_newest_wins(shown: Shown) -> None:
    page = shown.go("/set-out?a=6&d=hop-step-sand", "phone")
    card = page.locator("#card")
    before = card.inner_text()
    slider = page.locator("#strides")
    slider.focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    now = slider.input_value()
    expect(page.locator("#strides-now")).to_have_text(now)
    expect(page).to_have_url(re.compile(f"strides={now}"))
    expect(card).to_contain_text(f"{now} strides")
    assert card.inner_text() != before
    expect(page.locator("#state")).to_have_text("Worked out for this spacing.")
    expect(page.locator("#film")).to_be_visible()
    expect(page.locator(".bare")).to_be_hidden()
    assert f"strides={now}" in (
        page.locator("[data-away='/sheet.pdf']").get_attribute("href") or ""
    )
    page.go_back()
    expect(page.locator("#strides-now")).to_have_text(str(int(now) - 1))
    stands(page)
    page.reload()
    expect(page.locator("#card")).to_contain_text(f"{int(now) - 1} strides")


def test_two_tabs_are_two_desks(shown: Shown) -> None:
    page = shown.go("/set-out?a=6&d=hop-step-sand&strides=5")
    other = shown._page()
    other.goto(f"{shown.home}/set-out?a=6&d=hop-step-sand&strides=9")
    expect(page.locator("#card")).to_contain_text("5 strides")
    expect(other.locator("#card")).to_contain_text("9 strides")
    other.close()


def test_a_whole_way_by_keyboard_alone(shown: Shown) -> None:
    page = shown.go("/")

    press(page, "Tevin")
    stands(page, "Tevin: which drill?")
    press(page, "Hop and step to the sand")
    expect(page.locator("h1")).to_have_text("Tevin: Hop and step to the sand")


def test_a_new_athlete_by_form_and_faults_beside_the_field(shown: Shown) -> None:
    page = shown.go("/club", "phone")
    page.get_by_role("link", name="A new athlete").click()
    page.get_by_label("Name").fill("Ada")
    page.get_by_label("Height").fill("tall")
    page.get_by_label("Mass").fill("58")
    page.get_by_label("Take-off leg").select_option("left")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_label("Height")).to_have_value("tall")
    expect(page.locator("#e-stature")).to_be_visible()
    page.get_by_label("Height").fill("5-7")
    page.get_by_role("button", name="Keep").click()
    expect(page).to_have_title("Ada: which drill?")


def test_the_clip_plays_and_is_held(shown: Shown) -> None:
    page = shown.go(KEPT)
    page.get_by_role("button", name="step contact").click()
    expect(page.locator("#said")).to_contain_text("step contact")
    frame = page.locator("#moment").input_value()
    page.get_by_role("button", name="Frame on").click()
    assert int(page.locator("#moment").input_value()) == int(frame) + 1


def test_without_script_a_page_reads_changes_and_prints(shown: Shown) -> None:
    with shown.unscripted() as page:
        page.goto(f"{shown.home}/?a=6")
        page.get_by_role("link", name="Hop and step to the sand").click()
        stands(page, re.compile("Hop and step to the sand"))
        page.locator("label", has=page.get_by_text("pit", exact=True)).click()
        page.get_by_role("button", name="Set out").click()
        expect(page).to_have_url(re.compile("zero=pit"))
        expect(page.locator(".zero")).to_contain_text("near edge of the pit")
        address = str(page.locator("[data-away='/sheet.pdf']").get_attribute("href"))
        assert fetched(page, shown.home + address).startswith(b"%PDF")


def test_another_page_of_the_same_browser_gets_nothing(shown: Shown) -> None:
    """A hostile page on another port of this machine: same site, so the cookie would go along."""
    shown.go("/")
    with hostile_page(shown) as (page, answers):
        found = page.evaluate(HOSTILE, shown.home)
        assert [what for what, got in found if got] == []
        assert answers
        assert set(answers) == {403}


def test_nothing_is_asked_elsewhere_and_the_console_is_still(shown: Shown) -> None:
    shown.go(KEPT)
    assert shown.asked
    assert [u for u in shown.asked if not u.startswith(shown.home)] == []
    assert [s for s in shown.said if "404" not in s and "400" not in s] == []


def test_the_desk_ends_from_its_page_and_on_an_interrupt(shown: Shown, tmp_path: Path) -> None:
    with killed(tmp_path) as (address, run):
        context = context_of(shown.browser)
        page = context.new_page()
        page.goto(address)
        page.get_by_role("button", name="Close the desk").click()
        expect(page.locator("h1")).to_have_text("The desk is closed")
        context.close()
        assert run.wait(PATIENCE) == 0  # by itself
    with started(tmp_path) as address:
        assert address.startswith("http://127.0.0.1:")


def test_the_command_refuses_what_is_no_book(tmp_path: Path) -> None:
    for name in ("none.book", ".", ""):
        run = subprocess.run(
            [sys.executable, "-m", "layout", "desk", name, "--no-browser"],
            cwd=tmp_path, capture_output=True, text=True, timeout=PATIENCE, check=False,
        )  # fmt: skip
        assert run.returncode == 2
        assert run.stderr.count("\n") == 1
        assert run.stderr.startswith("phasemark: ")
