"""The gallery is what the demo makes today: made anew and compared, file by file."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageChops, ImageStat
from pypdf import PdfReader

from layout.cli import main

GALLERY = Path(__file__).parents[1] / "gallery"
KEPT = GALLERY / "demo"
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
    # Five files a plan, six athletes, five clips and stills of one plan.
    assert len(names(made)) == 12 * 5 + 6 + 5


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
    for name in found:
        with Image.open(made / name) as new, Image.open(KEPT / name) as old:
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


def test_gallery_page_names_every_file_it_has() -> None:
    page = (GALLERY / "README.md").read_text(encoding="utf-8")
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
            assert not dated or name.startswith("club/") or "2026-11-25" in text
