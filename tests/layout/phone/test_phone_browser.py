"""The phone page in a real browser: quiet, moving, by hand and by keyboard, legible, printed true."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageChops
from pypdf import PdfReader

from layout.page.page import PAPERS
from layout.sheet.handout import Wish
from tests.browser import BROWSER, Tab, browser
from tests.layout.phone.phone_pages import NAMES, made
from tests.paper import INCH, bare, contrast, has_span, pdf_paths

pytestmark = pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine")

LEAST = 44.0
"""Least side of anything to tap [px] (W3C, Web Content Accessibility Guidelines 2.1, 2.5.5)."""
READABLE = 4.5
"""Least contrast of text (the same, 1.4.3)."""
FRAME = "Number(document.getElementById('moment').value)"
SOON = "new Promise((go) => setTimeout(go, 300))"
IN_SIGHT = """new Promise((go) => new IntersectionObserver((_, seen) => go(seen.disconnect()))
  .observe(document.getElementById('film')))"""
"""By then the page has been told whether its film is in sight."""
PLAY = "document.getElementById('play').textContent"
LIES = "document.querySelector('[data-track=\"3\"]').getAttribute('transform')"
NOTED = "getComputedStyle(document.querySelector('[data-frame]')).display !== 'none'"
POSTER = "JSON.parse(document.getElementById('frames').textContent).poster"
CLOCK = """
window.requestAnimationFrame = (f) => { window.next = f; return 1; };
performance.now = () => 0;
"""
"""The page's frames are then drawn when the test says so."""
NO_STORE = """
for (const room of ['localStorage', 'sessionStorage'])
  Object.defineProperty(window, room, { get() { throw new Error('forbidden'); } });
"""
TEXTS = """(() => {
  const out = [];
  const parsed = (c) => (c.match(/[\\d.]+/g) || []).map(Number);
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode.textContent.trim();
    let e = walk.currentNode.parentElement;
    if (!text || !e.checkVisibility() || ['STYLE', 'SCRIPT'].includes(e.tagName)) continue;
    const style = getComputedStyle(e);
    const ink = parsed(e.closest('svg') ? style.fill : style.color);
    let paper = null;
    for (; e && !paper; e = e.parentElement) {
      const found = parsed(getComputedStyle(e).backgroundColor);
      if (found.length === 3 || found[3] === 1) paper = found;
    }
    out.push([text, ink, paper]);
  }
  for (const e of document.querySelectorAll('input[type=text]')) {
    const style = getComputedStyle(e);
    out.push([e.dataset.keep, parsed(style.color), parsed(style.backgroundColor)]);
  }
  return out;
})()"""
TAPS = """[...document.querySelectorAll('button, input, textarea')]
  .filter((e) => e.checkVisibility())
  .map((e) => e.type === 'checkbox' ? e.closest('label') : e)
  .map((e) => { const b = e.getBoundingClientRect();
    return [e.outerHTML.slice(0, 90), b.width, b.height]; })"""
WIDE = """[...document.querySelectorAll('.screen *')].filter((e) => e.checkVisibility() && !e.closest('svg'))
  .map((e) => [e.outerHTML.slice(0, 90), e.getBoundingClientRect()])
  .filter(([, b]) => b.right > innerWidth + 0.5 || b.left < -0.5).map(([t]) => t)"""


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Pages as files: an ordinary one, one under a dangerous name, one on Letter, one long."""
    folder = tmp_path_factory.mktemp("pages")
    pages = {
        "plain": made("tevin", "full-triple-jump"),
        "letter": made("imka", "short-triple-jump", wish=Wish("Letter", False)),
        "long": made("odalys", "alternate-bounds"),
        "still": made("runa", "hop-step-hold", still=True),
    }
    pages |= {f"name{i}": made("sefa", "full-triple-jump", name) for i, name in enumerate(NAMES)}
    out = {}
    for name, page in pages.items():
        out[name] = folder / f"{name}.html"
        out[name].write_text(page.html, encoding="utf-8")
    return out


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Tab]:
    with browser(tmp_path_factory.mktemp("browser")) as tab:
        yield tab


@pytest.fixture
def tab(shared: Tab, files: dict[str, Path]) -> Tab:
    """A telephone with the ordinary page on it, moving, in the light."""
    return opened(shared, files["plain"])


def opened(tab: Tab, file: Path, width: int = 360, **wishes: str) -> Tab:
    """A page freshly opened, its stores empty."""
    light = {"prefers_color_scheme": "light", "prefers_reduced_motion": "no-preference"}
    tab.screen(width, 740, **{**light, **wishes})
    tab.open(file)
    tab.value("localStorage.clear(), sessionStorage.clear()")
    tab.open(file)
    return tab


def still(tab: Tab, file: Path) -> Tab:
    """The page paused at the step contact, as a viewer who asks for less motion gets it."""
    return opened(tab, file, prefers_reduced_motion="reduce")


@pytest.mark.parametrize(
    "name", ["plain", "letter", "long", "still", *(f"name{i}" for i in range(len(NAMES)))]
)
def test_it_is_quiet_asks_for_nothing_and_fits_a_telephone(
    shared: Tab, files: dict[str, Path], name: str
) -> None:
    tab = opened(shared, files[name])
    assert tab.complaints() == []
    assert tab.asked_for() == []
    for width in (320, 360, 740, 1200):
        tab.screen(width, 740)
        assert tab.value("document.documentElement.scrollWidth") <= width
        assert tab.value(WIDE) == []
    assert tab.value("document.querySelectorAll('script').length") == 2 - (name == "still")


def test_what_the_policy_forbids_is_refused(tab: Tab) -> None:
    """The policy works: an image, a request and a script of a stranger's are all turned away."""
    tab.value(
        "fetch('data:,x').then(() => 'asked', () => 'refused')"
        ".then((said) => { document.title = said; })"
    )
    tab.value("document.body.append(Object.assign(document.createElement('script'), {text:'x=1'}))")
    assert tab.value("document.title") == "refused"
    assert tab.value("typeof x") == "undefined"
    assert len(tab.complaints()) >= 2


def test_the_clip_moves_by_itself_and_rests_when_told(tab: Tab, tmp_path: Path) -> None:
    tab.value("document.getElementById('film').scrollIntoView()")
    lay = tab.value(LIES)
    tab.picture(tmp_path / "one.png")
    end = tab.value(f"Math.min({FRAME} + 12, Number(document.getElementById('moment').max))")
    tab.until(f"{FRAME} >= {end}")  # it may rest on the way
    assert tab.value(LIES) != lay
    tab.picture(tmp_path / "two.png")
    with Image.open(tmp_path / "one.png") as one, Image.open(tmp_path / "two.png") as two:
        assert ImageChops.difference(one.convert("RGB"), two.convert("RGB")).getbbox()
    assert tab.value(PLAY) == "Pause"
    tab.click("#play")
    rest = tab.value(FRAME)
    tab.value(SOON)
    assert (tab.value(FRAME), tab.value(PLAY)) == (rest, "Play")


def test_less_motion_starts_still_at_the_step_contact(shared: Tab, files: dict[str, Path]) -> None:
    tab = still(shared, files["plain"])
    tab.value(SOON)
    assert tab.value(FRAME) == tab.value(POSTER)
    assert tab.value(PLAY) == "Play"
    assert tab.value("document.getElementById('said').textContent").startswith("step contact: knee")
    assert tab.value(NOTED)


def test_the_script_draws_what_the_page_was_written_with(
    shared: Tab, files: dict[str, Path]
) -> None:
    """Before the script runs the figure stands as the script then leaves it."""
    lies = (
        "[...document.querySelectorAll('#world, [data-track]')].map((e) =>"
        "e.getAttribute('transform').match(/-?[\\d.]+/g).map(Number))"
    )
    shared.send("Emulation.setScriptExecutionDisabled", value=True)
    try:
        shared.open(files["plain"])
        before = shared.value(lies)
        hidden = shared.value(
            "[...document.querySelectorAll('.scripted')].every(e => !e.checkVisibility())"
        )
        assert hidden
    finally:
        shared.send("Emulation.setScriptExecutionDisabled", value=False)
    after = still(shared, files["plain"]).value(lies)
    assert len(before) == len(after)
    for one, other in zip(before, after, strict=True):
        assert one == pytest.approx(other, abs=0.06)


def press_or_click(tab: Tab, selector: str, keyboard: bool) -> None:
    if not keyboard:
        tab.click(selector)
        return
    for _ in range(80):
        if tab.value(f"document.activeElement.matches({selector!r})"):
            tab.press("Enter")
            return
        tab.press("Tab")
    raise AssertionError(f"{selector} is not reached with the keyboard")


@pytest.mark.parametrize("keyboard", [False, True])
def test_frame_steps_and_jumps(shared: Tab, files: dict[str, Path], keyboard: bool) -> None:
    tab = still(shared, files["plain"])
    start = tab.value(FRAME)
    press_or_click(tab, "#back", keyboard)
    assert tab.value(FRAME) == start - 1
    assert not tab.value(NOTED)
    press_or_click(tab, "#play", keyboard)
    assert tab.value(PLAY) == "Pause"
    press_or_click(tab, "#on", keyboard)
    assert tab.value(PLAY) == "Play"
    for button in range(1, 5):
        press_or_click(tab, f".jumps button:nth-child({button})", keyboard)
        wanted = tab.value(
            f"document.querySelector('.jumps button:nth-child({button})').dataset.go"
        )
        assert tab.value(FRAME) == int(wanted)
        label = tab.value(
            f"document.querySelector('.jumps button:nth-child({button})').textContent"
        )
        assert tab.value("document.getElementById('said').textContent").startswith(f"{label}: ")
    press_or_click(tab, ".jumps button:nth-child(2)", keyboard)
    assert tab.value(FRAME) == start
    press_or_click(tab, "#on", keyboard)
    assert tab.value(FRAME) == start + 1


def test_the_slider_takes_arrow_keys(shared: Tab, files: dict[str, Path]) -> None:
    tab = still(shared, files["plain"])
    start = tab.value(FRAME)
    tab.value("document.getElementById('moment').focus()")
    tab.press("ArrowRight")
    tab.press("ArrowRight")
    tab.press("ArrowLeft")
    assert tab.value(FRAME) == start + 1
    assert f"frame {start + 2} of" in tab.value("document.getElementById('clock').textContent")
    assert "seconds" in tab.value(
        "document.getElementById('moment').getAttribute('aria-valuetext')"
    )


@pytest.mark.parametrize("keyboard", [False, True])
def test_full_half_and_quarter_speed(shared: Tab, files: dict[str, Path], keyboard: bool) -> None:
    """In 80 ms the clip goes on by 8, 4 and 2 frames of a hundredth of a second."""
    tab = still(shared, files["plain"])
    tab.value(CLOCK)
    tab.value("document.querySelector('[name=speed][value=\"1\"]').focus()")
    for value, frames in (("1", 8), ("0.5", 4), ("0.25", 2)):
        if keyboard:
            tab.value("document.querySelector('[name=speed]:checked').focus()")
            while tab.value("document.querySelector('[name=speed]:checked').value") != value:
                tab.press("ArrowRight")
        else:
            tab.click(f'[name=speed][value="{value}"]')
        tab.click(".jumps button:nth-child(1)")
        start = tab.value(FRAME)
        tab.click("#play")
        tab.value(IN_SIGHT)
        tab.value("window.next(80)")
        assert tab.value(FRAME) == start + frames


def test_it_rests_at_the_step_contact_then_goes_round(shared: Tab, files: dict[str, Path]) -> None:
    tab = still(shared, files["plain"])
    tab.value(CLOCK)
    step, last = tab.value(FRAME), tab.value("Number(document.getElementById('moment').max)")
    tab.click('[name=speed][value="1"]')
    tab.click("#back")
    tab.click("#play")
    tab.value(IN_SIGHT)
    seen = tab.value(
        f"(() => {{ const out = []; for (let t = 50; t < 9000; t += 50)"
        f" {{ window.next(t); out.push({FRAME}); }} return out; }})()"
    )
    assert seen[0] == step
    # 1.6 s of rest are 32 of these.
    assert 32 <= seen[: seen.index(last)].count(step) <= 34
    assert last in seen
    assert 0 in seen[seen.index(last) :]


@pytest.mark.parametrize("stores", [True, False])
def test_ticks_and_what_is_written_are_kept(
    shared: Tab, files: dict[str, Path], stores: bool
) -> None:
    told = shared.send("Page.addScriptToEvaluateOnNewDocument", source="" if stores else NO_STORE)
    try:
        shared.screen(360, 740)
        shared.open(files["plain"])
        if stores:
            shared.value("localStorage.clear(), sessionStorage.clear()")
            shared.open(files["plain"])
        tab = shared
        count = "document.getElementById('ticked').textContent"
        assert tab.value(count) == "0 of 7 ticked"
        tab.click(".ticks li:nth-child(2) label span")
        tab.value("document.querySelector('.ticks li:nth-child(4) input').focus()")
        tab.press(" ")
        assert tab.value(count) == "2 of 7 ticked"
        tab.click(".pads label:nth-child(2) input")
        for key in "5.31":
            tab.click(f'.keys [data-key="{key}"]')
        tab.click("#put")
        kept = "document.getElementById('kept').innerText.replace(/\\s+/g, ' ')"
        out = "document.getElementById('out').value"
        assert tab.value(kept) == "1 – / 5.31 / – Strike out"
        assert re.fullmatch(
            r"Tevin full-triple-jump x 5\.31 x each \d{4}-\d\d-\d\d", tab.value(out)
        )
        said = "document.getElementById('home').innerText"
        assert ("kept on this phone" if stores else "this browser keeps nothing") in tab.value(said)
        assert tab.complaints() == []
        tab.open(files["plain"])
        assert tab.value(count) == f"{2 if stores else 0} of 7 ticked"
        if stores:
            assert tab.value(kept) == "1 – / 5.31 / – Strike out"
            tab.click("#untick")
            assert tab.value(count) == "0 of 7 ticked"
    finally:
        shared.send("Page.removeScriptToEvaluateOnNewDocument", identifier=told["identifier"])


@pytest.mark.parametrize("name", ["plain", "name0", "long"])
@pytest.mark.parametrize("look", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1200])
def test_text_is_readable(
    shared: Tab, files: dict[str, Path], name: str, look: str, width: int
) -> None:
    tab = opened(
        shared, files[name], width, prefers_color_scheme=look, prefers_reduced_motion="reduce"
    )
    found = tab.value(TEXTS)
    assert len(found) > 100
    poor = []
    for text, ink, paper in found:
        assert len(ink) == len(paper) == 3, text
        if contrast(tuple(ink), tuple(paper)) < READABLE:
            poor.append((text, ink, paper))
    assert poor == []
    bright = sum(tab.value(TEXTS)[0][2]) > 400
    assert bright == (look == "light")


def test_the_switch_turns_light_and_dark_whatever_was_asked_for(
    shared: Tab, files: dict[str, Path]
) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    pressed = "document.getElementById('dark').getAttribute('aria-checked')"
    seen = {}
    for look in ("light", "dark"):
        tab = opened(shared, files["plain"], prefers_color_scheme=look)
        seen[look] = tab.value(ground)
        assert tab.value(pressed) == str(look == "dark").lower()
    tab = opened(shared, files["plain"], prefers_color_scheme="dark")
    tab.click("#dark")
    assert (tab.value(ground), tab.value(pressed)) == (seen["light"], "false")
    tab.open(files["plain"])
    assert tab.value(ground) == seen["light"]
    tab.value("document.getElementById('dark').focus()")
    tab.press(" ")
    assert (tab.value(ground), tab.value(pressed)) == (seen["dark"], "true")


@pytest.mark.parametrize("name", ["plain", "long", "name2"])
def test_everything_to_tap_is_large_enough(shared: Tab, files: dict[str, Path], name: str) -> None:
    for width in (320, 360, 1200):
        tab = opened(shared, files[name], width)
        small = [row for row in tab.value(TAPS) if min(row[1:]) < LEAST]
        assert small == []


def test_every_control_has_a_name(tab: Tab) -> None:
    nodes = tab.send("Accessibility.getFullAXTree")["nodes"]
    roles = ("button", "checkbox", "radio", "slider", "textbox", "switch", "image", "group")
    found: list[tuple[str, str]] = []
    for node in nodes:
        role = node.get("role", {}).get("value")
        if role in roles and not node.get("ignored"):
            found.append((role, node.get("name", {}).get("value", "")))
    assert [pair for pair in found if not pair[1].strip() and pair[0] != "group"] == []
    names = dict.fromkeys(found)
    assert ("button", "Pause") in names
    assert ("slider", "Moment of the clip") in names
    assert ("radio", "quarter") in names
    assert ("switch", "Dark") in names
    assert ("group", "Keys") in names
    assert ("textbox", "hop 5.25 m") in names
    assert ("button", "Put down run 1") in names
    assert sum(role == "checkbox" for role, _ in found) == 7


def test_the_keyboard_reaches_all_and_shows_where_it_is(
    shared: Tab, files: dict[str, Path]
) -> None:
    tab = still(shared, files["plain"])
    everything = tab.value(
        "[...document.querySelectorAll('button, input, textarea')].filter(e => e.checkVisibility()"
        " && (e.type !== 'radio' || e.checked)).length"
    )
    reached: set[str] = set()
    for _ in range(everything):
        tab.press("Tab")
        here: Any = tab.value(
            "(() => { const e = document.activeElement; "
            "const s = getComputedStyle(e.type === 'radio' ? e.nextElementSibling : e);"
            "return [e.outerHTML, s.outlineStyle, parseFloat(s.outlineWidth)]; })()"
        )
        assert here[1] == "solid", here
        assert here[2] >= 2, here
        reached.add(here[0])
    assert len(reached) == everything


@pytest.mark.parametrize(("name", "look"), [("plain", "dark"), ("letter", "light")])
def test_it_prints_the_sheet_at_exact_scale(
    shared: Tab, files: dict[str, Path], name: str, look: str
) -> None:
    """Phases and the scale bar, in millimetres, out of the PDF that the browser prints."""
    tab = opened(shared, files[name], prefers_color_scheme=look)
    sheet = (
        made("tevin", "full-triple-jump")
        if name == "plain"
        else made("imka", "short-triple-jump", wish=Wish("Letter", False))
    )
    pdf = PdfReader(io.BytesIO(tab.printed()))
    assert len(pdf.pages) == len(sheet.pages)
    wide, high = PAPERS["A4"] if name == "plain" else PAPERS["Letter"][::-1]
    first = pdf.pages[0]
    assert float(first.mediabox.width) * INCH / 72 == pytest.approx(wide, abs=0.2)
    assert float(first.mediabox.height) * INCH / 72 == pytest.approx(high, abs=0.2)
    scale = sheet.pages[0].scale
    paths = pdf_paths(first)
    for flight in sheet.plan.flights:
        assert has_span(paths, 1000.0 * flight.length / scale)
    # Ten metres, out of the greatest length there is.
    total = 1000.0 * sheet.plan.total / scale
    ends = {round(x, 4) for p in paths if len(p) == 2 and p[0][0] == p[1][0] for x, _ in p}
    ten = min((abs(b - a) for a in ends for b in ends), key=lambda found: abs(found - total))
    assert 10.0 * ten / sheet.plan.total == pytest.approx(10_000.0 / scale, abs=0.1)
    assert boxes_wide(first) == pytest.approx({50: 40.0, 100: 50.0}[scale], abs=0.1)
    assert tab.complaints() == []
    for page, leaf in zip(sheet.pages, pdf.pages, strict=True):
        assert bare(page.title.partition(":")[0]) in bare(leaf.extract_text())
    said = bare("".join(leaf.extract_text() for leaf in pdf.pages))
    assert bare(sheet.plan.cautions[0])[:20] in said


def boxes_wide(leaf: Any) -> float:
    """Length of the scale bar: its boxes, 1.8 mm high, out of the drawing commands [mm]."""
    ends: list[float] = []

    def note(operator: bytes, operands: Any, matrix: Any, _: Any) -> None:
        if operator == b"re":
            x, _y, wide, high = (float(v) for v in operands)
            one = INCH / 72.0
            if abs(abs(high * matrix[3]) * one - 1.8) < 0.02:
                ends.extend((matrix[0] * v + matrix[4]) * one for v in (x, x + wide))

    leaf.extract_text(visitor_operand_before=note)
    return max(ends) - min(ends)
