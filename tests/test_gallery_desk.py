"""The desk's screens in the gallery are what the desk shows today: made anew and compared."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image, ImageChops, ImageStat

from tests.browser import BROWSER
from tests.layout.desk.screens import SIZES, TEXTS, book_of, screens, shots

pytest.importorskip("playwright")
pytestmark = [
    pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]
KEPT = Path(__file__).parents[1] / "gallery" / "desk"
ANEW = "make them anew: python -m tests.make_gallery desk"
COARSE = 12
"""Pictures are compared in squares so wide [px], so that another font's edges do not count."""
FAR = 6.0
"""How far the mean of all squares may be off, of 255 (ours): the same screen made twice is 0 off, the two
nearest of different screens 16; another machine's letters were not tried."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("screens")
    shots(folder)
    return folder


def off(one: Path, two: Path) -> float:
    """How far two pictures are from each other, square by square."""
    with Image.open(one) as a, Image.open(two) as b:
        assert a.size == b.size
        small = [p.convert("RGB").reduce(COARSE) for p in (a, b)]
    return max(ImageStat.Stat(ImageChops.difference(*small)).mean)


def test_every_screen_is_there_at_both_sizes(tmp_path: Path) -> None:
    names = screens(book_of(tmp_path / "own.book"))
    wanted = {f"{name}-{size}.png" for name in names for size in SIZES}
    assert {p.name for p in KEPT.iterdir()} == {*wanted, TEXTS}
    page = (KEPT.parent / "README.md").read_text("utf-8")
    assert [n for n in wanted if f"](desk/{n})" not in page] == []
    assert all(p.stat().st_size < 120_000 for p in KEPT.iterdir())


def test_the_screens_say_what_they_said(made: Path) -> None:
    """To the letter: this finds what changed on any of them."""
    new, old = ((folder / TEXTS).read_text("utf-8").splitlines() for folder in (made, KEPT))
    differs = [(a, b) for a, b in zip(new, old, strict=False) if a != b][:3]
    assert (differs, len(new)) == ([], len(old)), ANEW


def test_the_screens_look_as_they_did(made: Path) -> None:
    kept = sorted(KEPT.glob("*.png"))
    assert len(kept) > 16
    assert [p.name for p in kept if off(made / p.name, p) > FAR] == [], ANEW


def test_another_screen_would_be_noticed() -> None:
    for size in SIZES:
        kept = sorted(KEPT.glob(f"*-{size}.png"))
        pairs = [(a, b) for a in kept for b in kept if a < b]
        assert min(off(a, b) for a, b in pairs) > FAR
