"""A few rounds of a whole practice; two hundred by hand: python -m tests.bench.practice 200."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser import BROWSER

pytest.importorskip("playwright")
from playwright.sync_api import sync_playwright

from tests.layout.desk.practice import held

pytestmark = [
    pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]


def test_every_run_confirmed_on_a_phone_is_in_the_inbox_exactly_once(tmp_path: Path) -> None:
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        found = held(tmp_path, browser, rounds=2, seed=99)
        browser.close()
    assert found.runs >= 12
    assert found.deaths > 0
    assert found.cuts > 5
