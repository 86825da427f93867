"""The data files have the shape their headers promise, and the figures in them agree."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PUBLISHED = ROOT / "tests" / "published"
OURS = (
    "mechanics",
    "approach",
    "load",
    "venue",
    "positions-facts",
    "segments",
    "contacts",
    "kinematics",
    "youth",
    "velocities",
)
TAGS = {"seen", "memory-high", "memory-medium", "memory-low", "derived", "practice", "ours"}
USES = {"hard", "soft", "band", "default"}
NO_SOURCE = "common practice, no source"
LEVELS = ("beginner", "intermediate", "advanced")
HEIGHTS = {15, 23, 30, 40, 46, 50, 60}
NEEDED = {
    *("title", "job", "phases", "cycles", "start", "strides", "lead", "ends", "finish", "arcs"),
    *("level", "youngest", "youngest_source", "dose", "intensity", "points", "faults"),
    *("cautions", "source"),
}
PLACES = {"national", "club", "youth", "hall", "track", "marram-point"}


def _load(path: Path) -> dict[str, Any]:
    with path.open("rb") as file:
        return tomllib.load(file)


CATALOGUE = ROOT / "layout" / "catalogue"
DRILLS = _load(CATALOGUE / "drills.toml")["drill"]
VENUES = _load(CATALOGUE / "venues.toml")["venue"]
SOURCES = _load(CATALOGUE / "sources.toml")["source"]
FILES = {name: _load(PUBLISHED / f"{name}.toml") for name in OURS}
LOAD = {row["id"]: row for row in FILES["load"]["row"]}
VENUE_ROWS = {row["id"]: row for row in FILES["venue"]["row"]}


def _contacts(drill: dict[str, Any]) -> int:
    """In one run; the take-off after a run-in counts."""
    phases = len(drill["phases"]) * int(drill["cycles"])
    return phases + 1 if drill["start"] == "run" else phases


@pytest.mark.parametrize("name", OURS)
def test_rows_are_whole(name: str) -> None:
    seen: set[tuple[str, str]] = set()
    for kind, rows in FILES[name].items():
        for row in rows:
            where = (kind, row["id"])
            assert where not in seen, where
            seen.add(where)
            assert row["tag"] in TAGS, where
            assert row["use"] in USES, where
            assert row["source"] in SOURCES, where
            assert all(row[k] for k in ("what", "unit", "place")), where
            assert "\n" not in row["what"], where
            figures = [k for k, v in row.items() if isinstance(v, (int, float, list))]
            assert set(figures) - {"digits", "rg_digits", "sd_digits"}, where
            if row["tag"] in ("memory-medium", "memory-low"):
                assert row["use"] in ("band", "default"), where
            if row["tag"] == "memory-high":
                assert row["use"] == "soft", where
            if {"low", "high"} <= row.keys():
                assert row["low"] < row["high"], where


def test_sources_are_whole() -> None:
    for key, source in SOURCES.items():
        assert set(source) == {"text", "tag", "note"}, key
        assert source["tag"] in TAGS, key
        assert all(source.values()), key


@pytest.mark.parametrize("slug", DRILLS)
def test_drill(slug: str) -> None:
    d = DRILLS[slug]
    needed = NEEDED - {"strides"} if d.get("full") else NEEDED
    assert needed <= set(d) <= NEEDED | {"hurdle", "board", "full"}
    assert len(d["title"]) <= 48
    assert len(d["job"]) <= 110
    assert len(d["arcs"]) == len(d["phases"])
    assert set(d["phases"]) <= {"hop", "step", "jump"}
    assert "jump" not in d["phases"][:-1]
    assert set(d["arcs"]) <= {"low", "natural", "high"}
    assert (d["start"] == "stand") == (d.get("strides") == 0)
    assert d["start"] in ("run", "stand")
    assert d["lead"] in ("strong", "weak", "either")
    assert d["ends"] in ("track", "sand")
    assert d["finish"] in ("run on", "hold", "land")
    assert (d["phases"][-1] == "jump") == (d["finish"] == "land")
    assert d["level"] in LEVELS
    assert d["intensity"] in ("low", "moderate", "high", "very high")
    for key in ("source", "youngest_source"):
        assert d[key] in SOURCES or d[key] == NO_SOURCE
    assert [len(d["points"]), len(d["faults"])] == [3, 3]
    assert len(d["cautions"]) in (1, 2)
    assert all(len(p) <= 110 for p in d["points"] + d["cautions"])
    assert all(len(f.split(" -> ")) == 3 for f in d["faults"])


@pytest.mark.parametrize("slug", DRILLS)
def test_dose_within_budget_and_youth_limits(slug: str) -> None:
    d = DRILLS[slug]
    assert tuple(d["dose"]) == LEVELS
    for level in LEVELS:
        sets, runs = d["dose"][level]
        # One drill is never a whole session: seven tenths of the lower budget at most.
        assert sets * runs * _contacts(d) <= 0.7 * LOAD[f"contacts-{level}"]["low"]
    sets, runs = d["dose"]["beginner"]
    assert sets <= LOAD["youth-sets"]["high"]
    assert runs * _contacts(d) <= LOAD["youth-reps"]["high"]
    if d["intensity"] == "very high":
        assert d["youngest"] >= LOAD["shock-youngest"]["age"]
    if d.get("board"):
        assert d["intensity"] == "very high"
        assert d["ends"] == "sand"


@pytest.mark.parametrize("slug", [s for s in DRILLS if "hurdle" in DRILLS[s]])
def test_hurdles(slug: str) -> None:
    d = DRILLS[slug]
    h = d["hurdle"]
    heights = [h[level] for level in LEVELS]
    assert h["place"] in ("beside", "over")
    assert set(heights) <= HEIGHTS
    assert heights == sorted(heights)
    assert sorted(set(h["under"])) == h["under"]
    assert all(0 < i < len(d["phases"]) for i in h["under"])
    assert set(LOAD["hurdle-heights"]["heights"]) == HEIGHTS
    assert d["youngest"] > LOAD["under-twelve-obstacle"]["age"]


def test_catalogue_has_what_was_asked() -> None:
    assert len(DRILLS) == 14
    assert set(VENUES) == PLACES


@pytest.mark.parametrize("slug", VENUES)
def test_venue(slug: str) -> None:
    v = dict(VENUES[slug])
    sources, title = v.pop("source"), v.pop("title")
    assert set(sources) == set(v)
    assert title
    assert set(sources.values()) <= set(SOURCES)
    assert v["boards"] == sorted(v["boards"])
    assert bool(v["boards"]) == (v["pit_length"] > 0) == (v["pit_width"] > 0)
    assert (v["lanes"] > 1) == (v["lane_spacing"] > 0)
    if v["lanes"] > 1:
        assert v["lane_spacing"] >= max(v["runway_width"], v["pit_width"])
    low, high = VENUE_ROWS["pit-width"]["low"], VENUE_ROWS["pit-width"]["high"]
    if v["boards"]:
        assert low <= v["pit_width"] <= high
    if slug == "national":
        far = VENUE_ROWS["line-to-far-end"]["low"]
        assert all(b + v["pit_length"] >= far for b in v["boards"])
        assert v["runway_length"] >= VENUE_ROWS["runway-length"]["low"]
        rows = VENUE_ROWS["line-to-pit"]
        assert {rows["men"], rows["women"]} == set(v["boards"])


def test_fixture_b_agrees_with_itself() -> None:
    rows = {r["id"]: r for r in FILES["mechanics"]["row"] if r["id"].startswith("b-")}
    total = 0.0
    for phase in ("hop", "step", "jump"):
        given = ("vx", "vy", "cm-takeoff", "cm-landing", "takeoff-distance", "landing-distance")
        vx, vy, up, down, ahead, behind = (rows[f"b-{k}"][phase] for k in given)
        end = -math.sqrt(vy**2 + 2 * 9.81 * (up - down))
        time = (vy - end) / 9.81
        length = ahead + vx * time + behind
        total += length
        angle = math.degrees(math.atan2(vy, vx))
        found = {
            "flight-time": time,
            "angle": angle,
            "phase": length,
            "apex": up + vy**2 / (2 * 9.81),
            "vy-touchdown": end,
        }
        for key, value in found.items():
            row = rows[f"b-{key}"]
            assert abs(value - row[phase]) <= 0.5 * 10 ** -row["digits"] + 1e-9, (phase, key, value)
    assert round(total, 2) == rows["b-total"]["total"]


def test_mass_fractions_sum_to_one() -> None:
    tables = FILES["segments"]
    once = {"head", "trunk", "head_neck"}
    for rows, key, slack in (
        (tables["row"], "mass_male", 1e-9),
        (tables["row"], "mass_female", 1.01e-4),  # .9999 as printed
        (tables["dempster"], "mass", 1e-9),
    ):
        whole = sum(r[key] * (1 if r["id"] in once else 2) for r in rows)
        assert abs(whole - 1) <= slack, (key, whole)


def test_club_is_complete() -> None:
    names = ("runa", "bram", "imka", "sefa", "odalys", "tevin")
    club = {n: _load(ROOT / "layout" / "catalogue" / "club" / f"{n}.toml") for n in names}
    assert all(club[n]["name"].lower() == n for n in names)
    assert {a["leg"] for a in club.values()} == {"left", "right"}
    assert {a["level"] for a in club.values()} == set(LEVELS)
    assert {a.get("build") for a in club.values()} == {"male", "female", None}
    assert sum("speed" in a for a in club.values()) == 2
