"""From a phone and Share in a real browser: by finger, by keyboard, without script, and on a hotspot."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("playwright")
from playwright.sync_api import Page, expect

from tests.layout.desk.practice import AT
from tests.layout.desk.shown import (
    BROWSING,
    Shown,
    context_of,
    fits,
    fits_everywhere,
    shown_desk,
    stands,
)

pytestmark = BROWSING
LINES = "tevin hop-step-sand 3.40 6.38 loud\nimka hop-step-sand 2.61 4.80 pain\n"
TEVIN = "a=6&d=hop-step-sand&v=marram-point"


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    with shown_desk(tmp_path_factory.mktemp("desk"), "--share", AT) as made:
        yield made


def paste(page: Page, text: str) -> None:
    page.locator("#text").fill(text)
    page.get_by_role("button", name="Read it").click()
    expect(page.locator("main")).to_contain_text(re.compile("[0-9] (new run|runs? here already)"))
    stands(page)


@pytest.mark.parametrize(
    "path", ["/from-phone", "/from-phone/change?run=1", f"/share?{TEVIN}", "/share"]
)
def test_every_screen_fits_both_sizes_in_light_and_dark(shown: Shown, path: str) -> None:
    paste(shown.go("/from-phone"), LINES)
    shown.go(f"/share?{TEVIN}").get_by_role("button", name="Make a page").click()
    expect(shown.page.locator(".code svg").first).to_be_visible()
    fits_everywhere(shown, path)
    assert [s for s in shown.said if "404" not in s and "400" not in s] == []


def test_what_waits_is_taken_in_by_keyboard_alone(shown: Shown) -> None:
    page = shown.go("/from-phone", "phone")
    paste(page, "runa hop-step-sand 2.61 4.80")
    take = page.get_by_label("Take in Runa", exact=True)
    expect(take).to_have_count(1)
    for _ in range(80):
        page.keyboard.press("Tab")
        if take.evaluate("(e) => e === document.activeElement"):
            page.keyboard.press("Enter")
            break
    expect(page.get_by_label("Take in Runa", exact=True)).to_have_count(0)


def test_a_small_file_is_read_into_the_box_before_anything_is_sent(
    shown: Shown, tmp_path: Path
) -> None:
    file = tmp_path / "runs.txt"
    file.write_text("odalys hop-step-sand 2.61 4.80\n", encoding="utf-8")
    page = shown.go("/from-phone")
    page.locator("#file").set_input_files(file)
    expect(page.locator("#text")).to_have_value("odalys hop-step-sand 2.61 4.80\n")
    expect(page.get_by_label("Take in Odalys")).to_have_count(0)
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_label("Take in Odalys")).to_have_count(1)


def test_a_fault_stands_beside_its_field(shown: Shown) -> None:
    page = shown.go("/from-phone", "phone")
    paste(page, "sefa hop-step-sand 2.41 4.50")
    page.get_by_label("Change Sefa").click()
    page.locator("[name=r0]").fill("24.1")
    page.get_by_role("button", name="Take in as changed").click()
    expect(page.locator("#e-r0")).to_be_visible()
    expect(page.locator("[name=r0]")).to_have_value("24.1")
    page.locator("[name=r0]").fill("2.51")
    page.get_by_role("button", name="Take in as changed").click()
    expect(page).to_have_url(re.compile("/from-phone$"))
    expect(page.get_by_label("Change Sefa")).to_have_count(0)


def test_without_script_what_came_is_pasted_and_taken_in(shown: Shown) -> None:
    with shown.unscripted() as page:
        page.goto(f"{shown.home}/from-phone")
        expect(page.locator("#file")).to_be_hidden()
        paste(page, "bram hop-step-sand 2.21 4.10")
        page.get_by_label("Take in Bram", exact=True).click()
        expect(page.get_by_label("Take in Bram", exact=True)).to_have_count(0)
        page.goto(f"{shown.home}/share?{TEVIN}")
        page.get_by_role("button", name="Make a page").click()
        expect(page.locator(".address").first).to_contain_text(f"http://{AT}:")


def test_a_phone_on_the_hotspot_from_the_code_to_the_coachs_end(shown: Shown) -> None:
    page = shown.go(f"/share?{TEVIN}&strides=6")
    doors = page.locator(".door")
    for left in range(doors.count() - 1, -1, -1):
        page.get_by_role("button", name="End the page").first.click()
        expect(doors).to_have_count(left)
    page.goto(f"{shown.home}/share?{TEVIN}&strides=6")
    page.get_by_role("button", name="Make a page").click()
    address = page.locator(".address").inner_text()
    context = context_of(
        shown.browser, viewport={"width": 390, "height": 844}, reduced_motion="reduce"
    )
    phone, said = context.new_page(), []
    phone.on("console", lambda m: said.append(m.text))
    phone.on("pageerror", lambda e: said.append(str(e)))
    phone.goto(address)
    fits(phone)
    phone.get_by_role("button", name="Open it on this phone").click()
    expect(phone.locator("h1")).to_contain_text("Tevin")
    stands(phone)
    fits(phone, small=False)  # what may be tapped there is measured in tests/layout/phone
    for key in ("3", ".", "4", ">", "2", ".", "9", "8"):
        phone.locator(f'.keys [data-key="{key}"]').click()
    phone.locator("#put").click()
    expect(phone.locator("#home")).to_have_text("1 run on the desk.")
    assert said == []
    other = context_of(shown.browser).new_page()
    answer = other.goto(address)
    assert answer is not None
    assert answer.status == 403
    page.mouse.click(5, 5)
    expect(page.locator("#doors")).to_contain_text(re.compile("connected from .*; 1 run here"))
    expect(page.locator(".code")).to_have_count(0)
    shown.go("/from-phone")
    expect(page.locator("body")).to_contain_text("3.40 m / 2.98 m")
    shown.go("/share")
    page.get_by_role("button", name="End the page").first.click()
    phone.locator('.keys [data-key="x"]').click()
    phone.locator("#put").click()
    expect(phone.locator("#home")).to_contain_text("The coach has ended this page")
    assert "each 3.4 2.98|x *" in phone.locator("#out").input_value()
    context.close()
