"""What is it worth in a real browser: before it is worked out, while it is, and where it can't be told."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

pytest.importorskip("playwright")
from playwright.sync_api import expect

from tests.layout.desk.shown import BROWSING, Shown, fits_everywhere, shown_desk

pytestmark = BROWSING
ASKED = "/worth?a=6&d=full-triple-jump&v=marram-point"
"""The demo's Tevin: a motion of it is shipped."""


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("desk")
        patch.setenv("PHASEMARK_CACHE", str(folder / "cache" / "motions"))
        with shown_desk(folder) as made:
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
    expect(page.locator("#work")).to_have_text(re.compile("[1-9][0-9]* of about [2-9][0-9]"))
    assert [s for s in shown.said if "404" not in s] == []
