"""The gallery is what the demo makes today: made anew and compared, file by file."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import resvg_py
from PIL import Image, ImageChops, ImageStat
from pypdf import PdfReader

from layout.cli import main
from tests.make_gallery import sets

GALLERY = Path(__file__).parents[1] / "gallery"
KEPT = GALLERY / "demo"
SETS = GALLERY / "sets"
UNSEEN = ("imka-season.csv", "imka-full.json", "odalys-plots.pdf", "bram-grey-2.svg")
"""Made or read on the way; the page shows what comes of them."""
COMPUTED = ("imka-season.txt", "imka-fit.txt")
"""Least squares: the last digit printed may turn on another processor."""
UNDATED = ("-strip.svg", "-moving.svg", "-trail.svg")
"""Pictures of positions carry no date."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("gallery") / "demo"
    assert main(["demo", str(folder)]) == 0
    return folder


def names(folder: Path) -> list[str]:
    return sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())


def test_same_files(made: Path) -> None:
    assert names(made) == names(KEPT)
    # Five files a plan, six athletes, two tables, five clips and stills of one plan.
    assert len(names(made)) == 12 * 5 + 6 + 2 + 5


@pytest.mark.parametrize("end", [".txt", ".svg", ".toml"])
def test_texts_and_drawings_are_current(made: Path, end: str) -> None:
    """To the byte: figures are printed to the centimetre and to .001 mm, far above float noise."""
    found = [n for n in names(KEPT) if n.endswith(end)]
    assert found
    stale = [n for n in found if (made / n).read_bytes() != (KEPT / n).read_bytes()]
    assert not stale, "make it anew: phasemark demo gallery/demo --overwrite"


def leaves(value: Any, at: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, f"{at}.{key}")
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from leaves(inner, f"{at}[{i}]")
    else:
        yield at, value


def test_plans_are_current(made: Path) -> None:
    """Numbers to 1e-9: another machine's arithmetic may differ in the last digits."""
    found = [n for n in names(KEPT) if n.endswith(".json")]
    assert len(found) == 12
    for name in found:
        new, old = (list(leaves(json.loads((f / name).read_text("utf-8")))) for f in (made, KEPT))
        assert [k for k, _ in new] == [k for k, _ in old]
        for (key, a), (_, b) in zip(new, old, strict=True):
            same = pytest.approx(b, rel=1e-9, abs=1e-9) if isinstance(b, float) else b
            assert a == same, f"{name} {key}"


def test_clips_are_current(made: Path) -> None:
    """By content: the same frames for the same time, whatever the packing."""
    found = [n for n in names(KEPT) if n.endswith(".gif")]
    assert len(found) == 3
    same_clips(made, KEPT, found)


def same_clips(made: Path, kept: Path, found: list[str]) -> None:
    """Assert the same frames, held as long; every ninth is looked at."""
    for name in found:
        with Image.open(made / name) as new, Image.open(kept / name) as old:
            count = old.n_frames  # type: ignore[attr-defined]
            assert (new.size, new.n_frames) == (old.size, count)  # type: ignore[attr-defined]
            for i in range(0, count, 9):
                new.seek(i)
                old.seek(i)
                assert new.info["duration"] == old.info["duration"]
                off = ImageChops.difference(new.convert("RGB"), old.convert("RGB"))
                assert ImageStat.Stat(off).mean < [0.5, 0.5, 0.5], (name, i)


def test_pdfs_are_current(made: Path) -> None:
    """Size of the page, title and text: compressed bytes differ between versions of zlib."""
    for name in [n for n in names(KEPT) if n.endswith(".pdf")]:
        new, old = (PdfReader(io.BytesIO((f / name).read_bytes())) for f in (made, KEPT))
        assert new.pages[0].mediabox == old.pages[0].mediabox
        assert new.metadata.title == old.metadata.title  # type: ignore[union-attr]
        assert new.pages[0].extract_text() == old.pages[0].extract_text(), name


@pytest.fixture(scope="module")
def sets_made(made: Path) -> Path:
    folder = made.parent / "sets"
    sets(folder)
    return folder


def test_same_sets(sets_made: Path) -> None:
    assert names(sets_made) == names(SETS)
    assert len(names(SETS)) > 30


def bare(text: str) -> str:
    """Without what an update of a library may pack otherwise: fonts, and hashes of what holds them."""
    return re.sub(r"(base64,|sha256-)[A-Za-z0-9+/=]+", r"\1", text)


@pytest.mark.parametrize("end", [".txt", ".svg", ".html", ".csv"])
def test_sets_are_current(sets_made: Path, end: str) -> None:
    found = [n for n in names(SETS) if n.endswith(end)]
    assert found
    for name in set(found) - set(COMPUTED):
        new, old = (bare((f / name).read_text("utf-8")) for f in (sets_made, SETS))
        assert new == old, f"{name}: make it anew: python -m tests.make_gallery"


@pytest.mark.parametrize("name", COMPUTED)
def test_computed_texts_are_current(sets_made: Path, name: str) -> None:
    number = r"[0-9]+(?:\.[0-9]+)?"
    new, old = ((f / name).read_text("utf-8") for f in (sets_made, SETS))
    assert re.sub(number, "0", new) == re.sub(number, "0", old)
    for a, b in zip(re.findall(number, new), re.findall(number, old), strict=True):
        last = 10.0 ** -len(a.partition(".")[2])
        assert abs(float(a) - float(b)) < 1.5 * last


def seen(path: Path) -> Image.Image:
    drawn = resvg_py.svg_to_bytes(svg_string=path.read_text("utf-8"), dpi=72)
    return Image.open(io.BytesIO(bytes(drawn))).convert("RGB")


def test_moving_sets_are_current(sets_made: Path) -> None:
    same_clips(sets_made, SETS, ["poster.gif"])


def test_sheets_are_current(sets_made: Path) -> None:
    found = [n for n in names(SETS) if n.endswith(".pdf")]
    assert len(found) >= 12
    for name in found:
        new, old = (PdfReader(io.BytesIO((f / name).read_bytes())) for f in (sets_made, SETS))
        assert len(new.pages) == len(old.pages)
        for one, two in zip(new.pages, old.pages, strict=True):
            assert one.mediabox == two.mediabox
            assert one.extract_text() == two.extract_text(), name


def test_gallery_page_names_every_file_it_has() -> None:
    page = (GALLERY / "README.md").read_text(encoding="utf-8")
    for name in names(SETS):
        assert f"](sets/{name})" in page or name in UNSEEN, name
    for link in re.findall(r"\]\(([^)#:]+)\)", page):
        assert (GALLERY / link).exists(), link
    for name in names(KEPT):
        assert Path(name).stem.removesuffix("-strip") in page or name.startswith("club/"), name


def test_demo_writes_what_it_wrote_before(made: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing of the day or the folder gets into a file."""
    for name in names(made):
        if name.endswith((".txt", ".json", ".svg")):
            text = (made / name).read_text(encoding="utf-8")
            assert str(made) not in text
            dated = name.endswith((".txt", ".json")) or not name.endswith(UNDATED)
            day = "25 Nov 2026" if name.endswith(".svg") else "2026-11-25"
            assert not dated or name.startswith("club/") or day in text
