"""Picture in a real browser: by mouse, finger and keys, seen by all, kept and printed."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from layout.book.pictures import pictures
from layout.book.store import open_book

pytest.importorskip("playwright")
from playwright.sync_api import expect

from tests.layout.desk.picture_desks import (
    IMKA,
    Desk,
    all_points,
    choose,
    in_quiet,
    measured,
    opened,
    order_of,
    picture_desk,
    place,
    points_sent,
    tap,
    with_marks,
    zoom_of,
)
from tests.layout.desk.shown import BROWSING, SIZES, fits, stands
from tests.layout.picture.shots import Camera, film, picture_of

pytestmark = BROWSING


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    with picture_desk(tmp_path_factory.mktemp("desk")) as made:
        yield made


@pytest.fixture(autouse=True)
def quiet(desk: Desk) -> Iterator[None]:
    with in_quiet(desk):
        yield


# --- tapping ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("touch", [False, True])
def test_taps_land_where_they_are_and_are_always_the_next_point(desk: Desk, touch: bool) -> None:
    shot = picture_of(IMKA[1], Camera(runs="left" if touch else "right"))
    page = desk.page(size="phone" if touch else "laptop", touch=touch)
    choose(page, shot.jpeg)
    with_marks(page, shot.readings)
    for name in order_of(shot):
        tap(page, *shot.pixels[name], touch)
    expect(page.locator("#next")).to_contain_text("All points are set")
    found = measured(page)
    sent = points_sent(desk)
    # A tap is a whole pixel of the screen; most of them were made after the view has closed in.
    zoom = zoom_of(page)
    for name, (x, y) in shot.pixels.items():
        if name not in ("hip", *(n for n in shot.pixels if "mark" in n)):
            assert np.hypot(sent[name][0] - x, sent[name][1] - y) <= 0.75 / zoom + 0.02
    truth = {m: float(v) for m, v in shot.target.measures.items()}
    gap = float(found["knee gap"].split()[0])
    assert abs(gap - 100 * truth["knee_gap"]) < 2.0
    assert "± " in found["knee gap"].replace("\u00a0", " ")
    assert f"running {shot.runs}" in page.inner_text("#measured")


def test_undo_for_all_moving_by_name_and_what_cannot_be_seen(desk: Desk) -> None:
    shot = picture_of(IMKA[1], Camera())
    page = desk.page()
    choose(page, shot.jpeg)
    with_marks(page, shot.readings)
    now = page.locator("#points [aria-current]")
    expect(now).to_have_text("mark at 2.70")
    page.click("#unseen")
    expect(now).to_have_text("mark at 4.20")
    for name in ("mark 4.20", "mark 5.40", "hip"):
        tap(page, *shot.pixels[name])
    expect(now).to_have_text("near knee")
    # Right beside the hip: still the next point, never the one that is near.
    tap(page, shot.pixels["hip"][0] + 6, shot.pixels["hip"][1] + 6)
    expect(now).to_have_text("near ankle")
    page.click("#points button[data-name='near knee']")
    expect(page.locator("#next")).to_have_text("Move the near knee.")
    tap(page, *shot.pixels["near knee"])
    expect(now).to_have_text("near ankle")
    for _ in range(5):
        page.click("#undo")
    expect(now).to_have_text("mark at 4.20")
    page.click("#undo")
    expect(now).to_have_text("mark at 2.70")
    page.click("#undo")
    expect(page.locator("#marks")).to_have_value("")
    expect(page.locator("#undo")).to_be_disabled()


def test_arrows_move_by_a_pixel_and_keys_alone_will_do(desk: Desk) -> None:
    shot = picture_of(IMKA[1], Camera())
    page = desk.page()
    choose(page, shot.jpeg)
    all_points(page, shot)
    measured(page)
    before = points_sent(desk)["far wrist"]
    page.locator("#look").focus()
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowDown", "ArrowUp"):
        page.keyboard.press(key)
    expect(page.locator("#measured.late")).to_have_count(0)
    after = points_sent(desk)["far wrist"]
    assert (after[0] - before[0], after[1] - before[1]) == pytest.approx((2.0, 9.0), abs=0.011)
    # From nothing, by keys: the cross, Enter, the next.
    page.click("#clear")
    page.locator("#look").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#points button[data-name='mark 2.70']")).to_have_text("✓ mark at 2.70")
    page.keyboard.press("Enter")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("#points button[data-name='mark 4.20']")).to_have_text("✓ mark at 4.20")


def test_a_finger_is_slowed_and_the_loupe_keeps_away_from_it(desk: Desk) -> None:
    shot = picture_of(IMKA[1], Camera())
    page = desk.page(size="phone", touch=True)
    choose(page, shot.jpeg)
    all_points(page, shot, True)
    measured(page)
    client = page.context.new_cdp_session(page)

    def finger(kind: str, *at: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(at)]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    page.click("#points button[data-name='hip']")
    page.locator("#frame").scroll_into_view_if_needed()
    x, y = place(page, *shot.pixels["hip"])
    finger("touchStart", (x - 60, y))
    loupe = page.locator("#loupe")
    expect(loupe).to_be_visible()
    box, wide = loupe.bounding_box(), page.locator("#look").bounding_box()
    assert box is not None
    assert wide is not None
    left = x - 60 < wide["x"] + wide["width"] / 2
    assert (box["x"] > wide["x"] + wide["width"] / 2) is left
    for i in range(1, 11):
        finger("touchMove", (x - 60 + 10 * i, y))
    finger("touchEnd")
    expect(loupe).to_be_hidden()
    expect(page.locator("#measured.late")).to_have_count(0)
    zoom = zoom_of(page)
    moved = points_sent(desk)["hip"][0] - shot.pixels["hip"][0]
    assert moved * zoom == pytest.approx(-60 + 0.35 * 100, abs=1.0)
    # Two fingers look closer, and put nothing down.
    was = points_sent(desk)
    page.click("#points button[data-name='hip']")
    page.locator("#frame").scroll_into_view_if_needed()
    finger("touchStart", (x - 20, y))
    finger("touchStart", (x - 20, y), (x + 20, y))
    for i in range(1, 6):
        finger("touchMove", (x - 20 - 8 * i, y), (x + 20 + 8 * i, y))
    finger("touchEnd")
    expect(page.locator("#measured.late")).to_have_count(0)
    assert zoom_of(page) > 1.3 * zoom
    assert points_sent(desk) == was


def test_a_reload_brings_the_points_back_and_only_numbers_are_remembered(desk: Desk) -> None:
    shot = picture_of(IMKA[1], Camera())
    page = desk.page()
    choose(page, shot.jpeg, "Imka Example final.jpg")
    all_points(page, shot)
    before = measured(page)
    kept = page.evaluate("() => JSON.stringify([{...sessionStorage}, {...localStorage}])")
    assert "near knee" in kept
    for word in ("Imka", "Example", "final", "jpg", "blob"):
        assert word not in kept
    page.reload()
    expect(page.locator("#next")).to_contain_text("Your points are back")
    assert measured(page) == before
    choose(page, shot.jpeg)
    assert measured(page) == before
    # Another picture begins anew; Undo brings the points back.
    other = picture_of(IMKA[1], Camera(size=(1600, 1000)))
    choose(page, other.jpeg)
    expect(page.locator("#points [data-is='put']")).to_have_count(0)
    page.click("#undo")
    expect(page.locator("#points [data-is='put']")).to_have_count(18)
    # The file's name went nowhere.
    for request in desk.asked:
        assert "Example" not in request.url + (request.post_data or "")


def test_todays_own_marks_are_offered_as_the_scale(desk: Desk) -> None:
    page = desk.page("/set-out?a=2&d=short-triple-jump")
    card = page.inner_text("#card")
    page = desk.page()
    own = (page.locator("#own").get_attribute("data-marks") or "").split()
    assert len(own) == 3
    for reading in own[1:]:
        assert f"{reading} m" in card
    page.click("#own")
    expect(page.locator("#marks")).to_have_value(" ".join(own))
    expect(page.locator("#points button").first).to_have_text(f"mark at {own[0]}")


# --- kept, compared, printed, seen by all -------------------------------------------------------------


def test_kept_compared_struck_out_and_told_in_season(desk: Desk) -> None:
    shot = picture_of(IMKA[1], Camera())
    page = desk.page("/picture?a=4&d=short-triple-jump")
    choose(page, shot.jpeg)
    all_points(page, shot)
    shown = measured(page)
    expect(page.locator("#measured")).to_contain_text(
        "No target figure: Short-approach triple jump, split markers: is closed to Runa"
    )
    for kind, day in (("training", "2026-05-02"), ("competition", "2026-05-09")):
        page.locator("#keep label", has_text=kind).click()
        page.fill("#day", day)
        page.click("#keep-it")
        expect(page.locator("#kept-told")).to_contain_text(f"is kept: step touchdown, {day}")
    page.click("#keep-it")
    expect(page.locator("#kept-told")).to_contain_text("in the book already")
    page.fill("#day", "2999-01-01")
    page.press("#day", "Tab")
    expect(page.locator("#measured")).to_contain_text("day: must be a day from 1900 to today")
    expect(page.locator("#keep-it")).to_be_disabled()
    with open_book(desk.book) as book:
        kept = pictures(book, 4)
    assert [(k.kind, k.day, k.drill) for k in kept] == [
        ("training", "2026-05-02", "short-triple-jump"),
        ("competition", "2026-05-09", "short-triple-jump"),
    ]
    page.click("text=Show both")
    expect(page.locator(".pair svg")).to_be_visible()
    stands(page)
    assert page.locator(".found tbody tr").first.inner_text().count("within margin") == 1
    assert shown["knee gap"].replace("\u00a0", " ") in page.inner_text("main").replace(
        "\u00a0", " "
    )
    assert "Sefa" not in page.url
    page.goto(f"{desk.home}/season?a=4&until=2026-05-20")
    expect(page.locator("main")).to_contain_text("Competition does not differ from training")
    page.goto(f"{desk.home}/picture?a=4")
    page.locator("[aria-label^='Strike out']").first.click()
    expect(page.locator("#kept .runs li")).to_have_count(1)
    with open_book(desk.book) as book:
        assert [k.kind for k in pictures(book, 4)] == ["training"]


def test_everything_is_printed_on_one_sheet(desk: Desk, tmp_path: Path) -> None:
    from pypdf import PdfReader

    shot = picture_of(IMKA[1], Camera())
    page = desk.page(size="phone")
    choose(page, shot.jpeg)
    all_points(page, shot)
    measured(page)
    # With a mark's reading wrong and a pole out of plumb: every warning is on the sheet too.
    page.fill("#marks", "2.70 4.40 5.40")
    page.fill("#pole", "1.2")
    page.press("#pole", "Tab")
    page.locator("#frame").scroll_into_view_if_needed()
    for way in ((0, 0), (0, 0), (20, -330)):
        tap(page, shot.pixels["mark 4.20"][0] + way[0], shot.pixels["mark 4.20"][1] + way[1])
    expect(page.locator("#measured .mind li")).to_have_count(2)
    data = page.pdf(prefer_css_page_size=True, print_background=True)
    (sheet,) = PdfReader(io.BytesIO(data)).pages
    assert float(sheet.mediabox.width) > float(sheet.mediabox.height)
    said = sheet.extract_text()
    for text in ("Picture: Imka", "Step touchdown, Short-approach", "knee gap", "Target", "within margin",
                 "stop at once on any pain"):  # fmt: skip
        assert text in said
    assert "Keep" not in said
    assert len(sheet.images) == 1


@pytest.mark.parametrize("size", list(SIZES))
@pytest.mark.parametrize("dark", [False, True])
def test_the_page_fits_reads_and_works_for_all(
    desk: Desk, tmp_path: Path, size: str, dark: bool
) -> None:
    path = tmp_path / "a.mp4"
    film(path, 30, 20)
    shot = picture_of(IMKA[1], Camera())
    page = desk.page(size=size, color_scheme="dark" if dark else "light")
    opened(page, path)
    page.click("#down")
    expect(page.locator("#events li")).to_have_count(1)
    choose(page, shot.jpeg)
    all_points(page, shot)
    measured(page)
    choose(page, path)
    expect(page.locator("#measured.late")).to_have_count(0)
    fits(page)


def test_without_script_the_page_reads(desk: Desk) -> None:
    page = desk.page(java_script_enabled=False)
    expect(page.locator(".unscripted").first).to_be_visible()
    expect(page.locator("#shot")).to_be_hidden()
    page.select_option("select[name=at]", "jump-touchdown")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page).to_have_url(re.compile("at=jump-touchdown"))
