"""Sources: every key resolves, each tells how it is known, and no screen shows a key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import pytest

from layout.commands.text import drill_text, plan_text
from layout.plan.drill import catalogue
from layout.plan.tape import tape_card
from layout.rules.cautions import GENERAL, YOUTH
from layout.rules.sources import KNOWN, said, sources
from layout.sheet.plots import lever_plot
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

    svg = lever_plot(body(1.7, 60.0, "female"), "svg", name="Imka: Hop and step").decode()
    assert "Imka: Hop and step" in svg
    assert "computed by Phasemark" in svg
    assert "open question" in svg
