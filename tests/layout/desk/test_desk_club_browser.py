"""Club in a real browser: both sizes, files chosen and pasted, an athlete erased, a hostile page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.layout.desk.test_desk_take_in import ADA, JUMPED, ROSTER

pytest.importorskip("playwright")
from playwright.sync_api import expect

from tests.layout.desk.shown import (
    BROWSING,
    Shown,
    fits,
    fits_everywhere,
    hostile_page,
    shown_desk,
    stands,
)

pytestmark = BROWSING


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    with shown_desk(tmp_path_factory.mktemp("desk")) as made:
        yield made


@pytest.mark.parametrize(
    "path",
    [
        "/club",
        "/club/athlete?a=1&tape=ft",
        "/club/venue",
        "/club/drill",
        "/club/in",
        "/club/erase?a=1",
    ],
)
def test_every_page_of_club_fits_both_sizes_in_light_and_dark(shown: Shown, path: str) -> None:
    fits_everywhere(shown, path)


def test_files_are_chosen_taken_in_and_asked_about(shown: Shown, tmp_path: Path) -> None:
    (tmp_path / "ada.toml").write_text(ADA)
    (tmp_path / "squad.csv").write_bytes(ROSTER.replace("Ada", "Zoë").encode("utf-16"))
    (tmp_path / "jumped.csv").write_text(JUMPED.replace("2.61", "tall"))
    page = shown.go("/club", "phone")
    page.get_by_role("link", name="Take in files").click()
    stands(page, "Take in files")
    files = [str(tmp_path / n) for n in ("ada.toml", "squad.csv", "jumped.csv")]
    page.set_input_files("#files", files)
    page.get_by_role("button", name="Take in", exact=True).click()
    expect(page.locator("#done")).to_be_visible()
    expect(page.locator("main")).to_contain_text("Ada: new in the book")
    expect(page.locator("main")).to_contain_text("jumped.csv:2: ")
    fits(page)
    page.get_by_role("button", name="Take in only who is new").click()
    expect(page.locator("main")).to_contain_text("Zoë: new in the book")
    page.get_by_label("Or paste what one holds").fill(JUMPED)
    page.get_by_role("button", name="Take in", exact=True).click()
    expect(page.locator("main")).to_contain_text("2 attempts taken in")


def test_what_is_too_large_is_told_before_it_is_sent(shown: Shown, tmp_path: Path) -> None:
    (tmp_path / "large.csv").write_bytes(b"x" * 7_000_000)
    page = shown.go("/club/in")
    page.set_input_files("#files", str(tmp_path / "large.csv"))
    page.get_by_role("button", name="Take in", exact=True).click()
    expect(page.locator("#over")).to_contain_text("too large")
    fits(page)


def test_a_drill_is_put_together_by_taps_and_stands_on_today(shown: Shown) -> None:
    page = shown.go("/club", "phone")
    page.get_by_role("link", name="A drill of your own").click()
    page.get_by_label("Begin from a drill that is there").select_option("Hop, step and hold")
    page.get_by_role("button", name="Begin from it").click()
    expect(page.get_by_label("Say needed")).to_have_value(re.compile("Hop low and forward"))
    page.get_by_role("group", name="Phase 3", exact=True).get_by_role("radio", name="step").check()
    page.get_by_role("group", name="How high is phase 3?").get_by_role("radio", name="high").check()
    page.get_by_role("button", name="Another phase").click()
    page.get_by_role("group", name="Phase 5", exact=True).get_by_role("radio", name="jump").check()
    page.get_by_role("button", name="Work it out again").click()
    expect(page.locator(".told")).to_contain_text(
        "From 13 years (its run holds hop, step and jump)"
    )
    fits(page)
    page.get_by_label("Name needed").fill("Dune steps")
    page.get_by_label("Name needed").press("Enter")
    expect(page.locator("#e-ends")).to_contain_text("a jump wants sand to land in")
    expect(page.locator("main")).to_contain_text("1 field to mend")
    fits(page)
    page.get_by_role("radio", name="in the sand").check()
    page.get_by_role("button", name="Keep").click()
    expect(page.locator(".own")).to_contain_text("Dune steps drill, high, from 13 years")
    shown.go("/", "phone").get_by_role("link", name="Tevin").click()
    expect(page.locator("#which")).to_contain_text("Tevin")
    page.get_by_role("link", name="Dune steps").click()
    expect(page.locator("h1")).to_contain_text("Dune steps")


def test_a_venue_by_form_is_chosen_on_set_out(shown: Shown) -> None:
    page = shown.go("/club", "phone")
    page.get_by_role("link", name="A venue you measured").click()
    for label, text in (
        ("Name", "Dune track"),
        ("Runway, to the", "far"),
        ("Take-off lines", "7/9"),
    ):
        page.get_by_label(label).fill(text)
    page.get_by_label("Length of the pit").fill("8")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#e-runway_length")).to_be_visible()
    fits(page)
    page.get_by_label("Runway, to the").fill("126-4")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#places")).to_be_visible()
    stands(page)
    shown.go("/set-out?a=6&d=hop-step-sand")
    page.get_by_label("Where").select_option(label="Dune track")
    expect(page.locator("#card")).to_contain_text("m")
    expect(page).to_have_url(re.compile("v=dune-track"))


def test_a_copy_comes_as_a_download(shown: Shown) -> None:
    page = shown.go("/club")
    with page.expect_download() as waiting:
        page.get_by_role("link", name="A copy of the whole book").click()
    assert waiting.value.suggested_filename.endswith(".book")
    assert Path(waiting.value.path()).read_bytes().startswith(b"SQLite format 3")


def test_an_athlete_is_erased_in_two_steps_by_keyboard(shown: Shown) -> None:
    page = shown.go("/club")
    page.get_by_role("link", name="Sefa").click()
    page.get_by_role("link", name="Erase…").press("Enter")
    page.get_by_role("button", name="Erase for good").press("Enter")
    expect(page.locator("h1")).to_have_text("Erase Sefa?")  # the box is not ticked
    page.get_by_role("checkbox").press("Space")
    page.get_by_role("button", name="Erase for good").press("Enter")
    expect(page.locator("h1")).to_have_text("Erased")
    fits(page)
    page.get_by_role("link", name="To Club").click()
    expect(page.get_by_role("link", name="Sefa")).to_have_count(0)


def test_without_script_a_file_is_pasted_and_a_question_answered(shown: Shown) -> None:
    with shown.unscripted() as page:
        page.goto(f"{shown.home}/club/in")
        expect(page.locator("#files")).to_be_hidden()
        page.get_by_label("Or paste what one holds").fill(ROSTER.replace("57.5", "58.5"))
        page.get_by_role("button", name="Take in", exact=True).click()
        page.get_by_role("button", name="Bring these up to date too").click()
        expect(page.locator("main")).to_contain_text("Imka: brought up to date")


def test_a_hostile_page_reaches_none_of_it(shown: Shown) -> None:
    """On another port of this machine: the same site to a browser, so the cookie would go along."""
    with hostile_page(shown) as (page, answers):
        tried = """async (home) => {
          const out = [], own = { credentials: 'include', mode: 'no-cors' };
          const tried = async (what, how) => out.push([what, await how().catch(() => null)]);
          for (const path of ['/club/copy.book', '/club/tables.zip', '/club/family.json?a=1', '/club/in'])
            await tried(path, async () => (await fetch(home + path, own)).type);
          for (const path of ['/club/in', '/club/erase', '/club/venue', '/club/take-away', '/club/athlete'])
            await tried('POST ' + path, async () => (await fetch(home + path, { ...own, method: 'POST',
              body: new URLSearchParams({ a: '1', sure: 'yes', text: 'name = "Evil"' }) })).type);
          return out;
        }"""
        found = page.evaluate(tried, shown.home)
        assert [what for what, got in found if got] == []
        page.evaluate(
            """(home) => {
              const form = document.createElement('form');
              [form.method, form.action] = ['post', home + '/club/in'];
              form.innerHTML = '<textarea name="text">name = "Evil"</textarea>';
              document.body.append(form);
              form.submit();
            }""",
            shown.home,
        )
        expect(page.locator("body")).to_contain_text("From the desk's own pages only")
    assert set(answers) == {403}
    expect(shown.go("/club").get_by_role("link", name="Evil")).to_have_count(0)


def test_the_console_is_still_and_nothing_is_asked_elsewhere(shown: Shown) -> None:
    shown.go("/club/in")
    assert [u for u in shown.asked if not u.startswith(shown.home)] == []
    assert [s for s in shown.said if "400" not in s] == []
