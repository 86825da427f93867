"""Sources: every key resolves, each tells how it is known, and no screen shows a key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from layout.commands.text import drill_text, plan_text
from layout.plan.drill import catalogue
from layout.plan.tape import tape_card
from layout.rules.cautions import GENERAL, YOUTH
from layout.rules.sources import KNOWN, said, sources
from layout.sheet.plots import lever_page, plot_file
from tests.strategies import CLUB, pit_or_track, plan

PLAIN = ("common practice, no source", "ours")
KEY = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)+")


def _named(table: Any, field: str = "") -> Iterator[tuple[str, str]]:
    """Every text under a field that is called a source, with that field."""
    if isinstance(table, dict):
        for name, value in table.items():
            yield from _named(value, field if field == "source" else name)
    elif isinstance(table, list):
        for value in table:
            yield from _named(value, field)
    elif isinstance(table, str) and (field == "source" or field.endswith("_source")):
        yield field, table


@pytest.mark.parametrize("name", ["drills", "ladder", "venues"])
def test_every_source_of_the_catalogue_resolves(name: str) -> None:
    text = files("layout.catalogue").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    found = list(_named(tomllib.loads(text)))
    assert len(found) > 10
    assert [f for f in found if f[1] not in sources() and f[1] not in PLAIN] == []


def test_each_source_tells_how_it_is_known_and_is_said_in_plain_words() -> None:
    for key, source in sources().items():
        assert source.tag in KNOWN, key
        words = said(key)
        assert not KEY.fullmatch(words), key
        assert ("memory" in words) == source.tag.startswith("memory"), key
        assert key in PLAIN or source.text in words
    assert said("no-such-key") == "no-such-key"


ROOT = Path(__file__).resolve().parents[3]
_NAME = r"[A-Z][a-z\u00e0-\u00ff]+"
STUDY = re.compile(
    rf"((?:(?:de|di) )?{_NAME}(?:, {_NAME})*(?: & {_NAME}| et al\.)?),? ((?:19|20)\d\d)\b"
)
BODIES = (
    "NSCA", "ACSM", "World Athletics", "European Athletics", "award book", "oaching article on strides",
    "outh coaching article", "leaflet",
)  # fmt: skip
DATES = (
    *["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"],
    "Born", "Med", "None", "Point", "Runa", "Imka",
)  # fmt: skip
"""Words before a year that name no study; Med is within Am J Sports Med."""


def _texts() -> Iterator[tuple[str, str]]:
    """What a reader of screens, docstrings, tests or pages may find a source named in."""
    kinds = ("*.py", "*.toml", "*.md", "*.csv")
    folders = ("layout", "animate", "tests")
    paths = [p for f in folders for kind in kinds for p in (ROOT / f).rglob(kind)]
    for path in (*paths, ROOT / "README.md", ROOT / "DEVELOPERS.md"):
        if path.name not in ("sources.toml", "test_sources.py"):
            yield path.relative_to(ROOT).as_posix(), " ".join(path.read_text("utf-8").split())


def test_every_study_that_is_named_anywhere_ships_with_how_it_is_known() -> None:
    known = [s.text for s in sources().values()]
    named = [(where, who, year) for where, text in _texts() for who, year in STUDY.findall(text)]
    studies = [one for one in named if one[1] not in DATES]
    assert len(studies) > 40
    lost = [
        (where, who, year)
        for where, who, year in studies
        if not any(who.split(" et al")[0].split(",")[0] in text and year in text for text in known)
    ]
    assert lost == []


def test_so_does_every_body_that_is_named() -> None:
    shipped = " ".join(s.text for s in sources().values())
    for body in BODIES:
        assert body in shipped, body


def test_no_reader_is_sent_to_a_file_that_does_not_ship() -> None:
    sent = [where for where, text in _texts() if "facts.md" in text or "facts file" in text]
    assert sent == []


@pytest.mark.parametrize("table", sorted((ROOT / "tests" / "published").glob("*.toml")))
def test_every_published_row_resolves(table: Path) -> None:
    rows = tomllib.loads(table.read_text(encoding="utf-8"))
    found = [row["source"] for kind in rows.values() for row in kind]
    assert found
    assert [f for f in found if f not in sources()] == []


@pytest.mark.parametrize("drill", sorted(catalogue()))
def test_no_screen_shows_a_key(drill: str) -> None:
    lines = drill_text(catalogue()[drill])
    for who in CLUB:
        made = plan(who, drill, pit_or_track(drill))
        lines += plan_text(made, tape_card(made))
    shown = " ".join(lines)
    named = [w for w in KEY.findall(shown) if w in sources()]
    assert named == []


def test_no_study_stands_for_a_whole_drill() -> None:
    assert {d.source for d in catalogue().values()} == {"common practice, no source"}


def test_the_cautions_name_unit_peak_and_source() -> None:
    general = " ".join(GENERAL)
    assert "15.2" in general
    assert "body weights" in general
    assert "peak" in general
    assert "Perttunen" in general
    assert general.count("from memory") == 2
    assert "ACSM" in YOUTH
    assert "our reading" in YOUTH


def test_the_lever_plot_names_whose_it_is_and_that_it_is_computed() -> None:
    from animate.body.body import body

    page = lever_page(body(1.7, 60.0, "female"), "Imka: Hop and step")
    svg = plot_file(page, "svg", False).decode()
    assert "Imka: Hop and step" in svg
    assert "computed by Phasemark" in svg
    assert "open question" in svg
