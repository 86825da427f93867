"""What a phone page takes of runs: typed, kept, found again, sent home as lines the book reads."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from layout.book.inbox import hand_out, receive, take
from layout.book.message import found_in
from layout.book.store import open_book
from layout.book.waits import waiting
from layout.phone.phone import phone
from layout.phone.runs import Sent
from layout.plan.tape import planned_reading, read_from, tape_card
from layout.rules.cautions import PAIN
from layout.sheet.handout import handout
from layout.words.units import parse_length
from tests.browser import BROWSER, PATIENCE, Tab, browser
from tests.layout.book.book_cases import club_book
from tests.strategies import plan

pytestmark = pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine")
OUT = "document.getElementById('out').value"
KEPT = "document.getElementById('kept').innerText.replace(/\\s+/g, ' ')"
WRONG = "document.getElementById('wrong').innerText"
HOME = "document.getElementById('home').innerText"
PADS = "[...document.querySelectorAll('.pads input')].map((p) => p.value)"


def page_file(folder: Path, key: str = "", system: Any = "cm") -> Path:
    """The page of the plan that `club_book` keeps, as a file."""
    made = plan("runa", "hop-step-sand")
    card = tape_card(made, "board", system)
    file = folder / f"page{key}.html"
    file.write_text(phone(made, card, handout(made, card), sent=Sent(key=key)), encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Tab]:
    with browser(tmp_path_factory.mktemp("browser")) as tab:
        tab.screen(390, 844)
        yield tab


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return club_book(tmp_path)


@pytest.fixture
def tab(shared: Tab, book: Path, tmp_path: Path) -> Tab:
    """A phone with the keyed page freshly opened on it."""
    with open_book(book) as opened:
        shared.open(page_file(tmp_path, hand_out(opened, 1)))
    assert shared.value("document.getElementById('runs').checkVisibility()")
    shared.value("window.confirm = () => true")
    return shared


def choose(tab: Tab, name: str, value: str) -> None:
    tab.value(f"document.querySelector('details').open = true, "
              f"document.querySelector('[name={name}][value=\"{value}\"]').click()")  # fmt: skip


def keys(tab: Tab, *readings: str) -> None:
    """Readings by the page's own keys."""
    tab.click(".pads label:nth-child(1) input")
    for i, text in enumerate(readings):
        if i:
            tab.click('.keys [data-key=">"]')
        for sign in text.replace("-", "F"):
            tab.click(f'.keys [data-key="{"ft" if sign == "F" else sign}"]')


def put(tab: Tab, *readings: str, **said: str) -> None:
    keys(tab, *readings)
    for name, value in said.items():
        choose(tab, name, value)
    tab.click("#put")


def test_what_is_put_down_is_what_the_book_reads(tab: Tab, book: Path) -> None:
    put(tab, "2.61", "2.19")
    put(tab, "261", "x", sound="loud")
    put(tab, went="foul", sound="quiet")
    put(tab, went="pain")
    assert PAIN in tab.value("document.getElementById('hurt').innerText")
    choose(tab, "from", "pit")
    put(tab, "1.2", "0.46", went="stopped")
    choose(tab, "unit", "ft")
    choose(tab, "from", "board")
    put(tab, "8-7½", "15-9")
    tab.click("[data-strike='1']")
    sent = tab.value(OUT)
    assert "runa" not in sent.lower()
    assert [f.fault for f in found_in(sent)] == [None] * 3
    with open_book(book) as opened:
        got = receive(opened, sent)
        assert (len(got.new), got.faults) == (6, ())
        found = waiting(opened)
        assert sorted((w.zero, w.run, w.words, w.struck) for w in found) == [
            ("board", 1, "8-7.5 15-9", False),
            ("each", 1, "2.61 2.19", False),
            ("each", 2, "261 x loud", True),
            ("each", 3, "foul quiet", False),
            ("each", 4, "pain", False),
            ("pit", 1, "1.2 0.46 stopped", False),
        ]
        first = next(w for w in found if w.words == "2.61 2.19")
        assert take(opened, first.id).lengths == (2.61, 2.19)
        assert receive(opened, sent).new == ()
    assert "6 runs kept on this phone." in tab.value(HOME)
    assert tab.complaints() == []


@pytest.mark.parametrize(
    ("readings", "rule"),
    [
        (("26.1", "2.19"), "hop: must be 0.2 to 10 m; is the point where it belongs?"),
        (("2.61", "..5"), "step: a length such as 2.61, 261 or 8-7 needed"),
        (("2.61", "7-2"), "in metres or in feet and inches, not both in one run"),
        (("8-12", "7-2"), "hop: a length such as"),
        ((), "what was read is needed, x where it was not, or how the run went"),
    ],
)
def test_what_cannot_be_is_said_and_not_put_down(
    tab: Tab, readings: tuple[str, ...], rule: str
) -> None:
    choose(tab, "unit", "ft")
    put(tab, *readings)
    assert rule in tab.value(WRONG)
    assert tab.value(KEPT) == ""
    assert tab.value(PADS) == [*readings, "", ""][:2]


def test_planned_figures_follow_zero_and_unit(tab: Tab) -> None:
    made = plan("runa", "hop-step-sand")
    small = "[...document.querySelectorAll('.pads small')].map((s) => s.innerText)"
    zeros = [zero for zero, _ in read_from(made)]
    assert zeros == ["each", "board", "start", "pit"]
    for zero in zeros:
        choose(tab, "from", zero)
        for unit, off in (("cm", 0.006), ("ft", 0.004)):
            choose(tab, "unit", unit)
            shown = [parse_length(text) for text in tab.value(small)]
            real = [planned_reading(made, i, zero) for i in range(2)]
            assert shown == pytest.approx(real, abs=off), (zero, unit)
    assert planned_reading(made, 1, "board") == pytest.approx(made.total)
    assert planned_reading(made, 0, "start") == pytest.approx(
        made.approach.length + made.flights[0].length
    )


def test_two_tabs_of_one_page_keep_both_their_runs(tab: Tab) -> None:
    put(tab, "2.61", "2.19")
    tab.value(
        "(() => { const name = 'runs-' + JSON.parse(document.getElementById('runs').dataset.runs).key;"
        "const kept = JSON.parse(localStorage.getItem(name));"
        "kept.runs.push({ day: kept.runs[0].day, zero: 'each', words: ['2.5', '2.1'], struck: false });"
        "localStorage.setItem(name, JSON.stringify(kept)); })()"
    )
    put(tab, "2.71", "2.19")
    assert tab.value(OUT).count("|") == 2


def test_a_full_store_loses_nothing_on_the_page_and_says_so(tab: Tab) -> None:
    put(tab, "2.61", "2.19")
    tab.value("Storage.prototype.setItem = () => { throw new Error('full'); }")
    put(tab, "2.71", "2.19")
    put(tab, "2.81", "2.19")
    assert "each 2.61 2.19|2.71 2.19|2.81 2.19 *" in tab.value(OUT)
    assert "this browser keeps nothing" in tab.value(HOME)


def test_found_again_after_the_browser_was_closed(tmp_path: Path) -> None:
    file = page_file(tmp_path, "a" * 16)
    with browser(tmp_path) as tab:
        tab.screen(390, 844)
        tab.open(file)
        put(tab, "2.61", "2.19")
        keys(tab, "2.7")
        before = tab.value(OUT)
        time.sleep(
            1.0
        )  # a browser that is told to end writes its stores; one that is killed may not
        tab.send("Browser.close")
    with browser(tmp_path) as tab:
        tab.screen(390, 844)
        tab.open(file)
        assert tab.value(OUT) == before
        assert tab.value(PADS) == ["2.7", ""]


def test_ways_home_are_offered_where_there_are_any(tab: Tab, tmp_path: Path) -> None:
    assert "no share button" in tab.value("document.getElementById('cannot').textContent")
    put(tab, "2.61", "2.19")
    tab.value(
        "navigator.clipboard.writeText = (t) => { window.copied = t; return Promise.resolve(); }"
    )
    tab.click("#copy")
    assert tab.value("window.copied") == tab.value(OUT)
    tab.value("navigator.clipboard.writeText = () => Promise.reject(new Error('no'))")
    tab.click("#copy")
    assert "copy it by hand" in tab.value("document.getElementById('cannot').innerText")
    # As on a hotspot, where there is no such thing.
    tab.value("Object.defineProperty(navigator, 'clipboard', { value: undefined })")
    tab.value(
        "window.said = [], new MutationObserver(() => said.push(document.getElementById('copy').textContent))"
        ".observe(document.getElementById('copy'), { childList: true })"
    )
    tab.click("#copy")
    tab.until("said.includes('Copied')")  # it says so for three seconds only
    folder = tmp_path / "down"
    tab.send("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(folder))
    tab.click("#save")
    until = time.monotonic() + PATIENCE
    while not (found := [*folder.glob("runs-*.txt")]) and time.monotonic() < until:
        time.sleep(0.05)
    assert found[0].read_text("utf-8") == tab.value(OUT) + "\n"


@pytest.mark.parametrize("system", ["cm", "ft"])
def test_without_script_it_shows_the_line_to_send(
    shared: Tab, book: Path, tmp_path: Path, system: str
) -> None:
    shared.send("Emulation.setScriptExecutionDisabled", value=True)
    try:
        shared.open(page_file(tmp_path, system=system))
        assert not shared.value("document.getElementById('runs').checkVisibility()")
        line = shared.value("document.querySelector('.unscripted kbd').innerText")
    finally:
        shared.send("Emulation.setScriptExecutionDisabled", value=False)
    with open_book(book) as opened:
        got = receive(opened, line)
        assert (len(got.new), got.faults) == (1, ())
        saved = take(opened, got.new[0])
        lengths = [f.length for f in plan("runa", "hop-step-sand").flights]
        assert saved.lengths == pytest.approx(lengths, abs=0.011)
        assert saved.warnings == ()


def test_a_page_without_a_key_sends_lines_with_the_name(
    shared: Tab, book: Path, tmp_path: Path
) -> None:
    shared.open(page_file(tmp_path))
    shared.value("localStorage.clear()")
    shared.open(page_file(tmp_path))
    put(shared, "2.61", "2.19", sound="quiet")
    put(shared, "2.61", "2.19", sound="quiet")
    assert "It says who it is of" in shared.value("document.querySelector('.out').innerText")
    with open_book(book) as opened:
        got = receive(opened, shared.value(OUT))
        assert (len(got.new), got.faults) == (2, ())
        assert take(opened, got.new[0]).lengths == (2.61, 2.19)
