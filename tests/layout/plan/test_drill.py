"""The drill catalogue and a coach's own drills."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.plan.drill import (
    HURDLE_HEIGHTS,
    MOST_MOVES,
    Drill,
    catalogue,
    drills_from,
    find_drill,
    read_drills,
)
from layout.words.faults import BadInput
from layout.words.trade import LEVELS
from tests import strategies as own
from tests.published import published

LOAD = {row["id"]: row for row in published("load.toml")}

ASKED = {
    "two hops and a step repeated on the track": (
        ("hop", "hop", "step"),
        "track",
        "run",
        None,
        True,
    ),
    "two hops and a step to the sand": (("hop", "hop", "step"), "sand", "run", None, False),
    "hop and step to the sand": (("hop", "step"), "sand", "run", None, False),
    "three hops and a step, hurdles beside": (
        ("hop", "hop", "hop", "step"),
        "track",
        "run",
        "beside",
        False,
    ),
    "three hops and a step, hurdles over": (
        ("hop", "hop", "hop", "step"),
        "track",
        "run",
        "over",
        False,
    ),
    "two hops and a step, hurdles beside": (
        ("hop", "hop", "step"),
        "track",
        "run",
        "beside",
        False,
    ),
    "two hops and a step, hurdles over": (("hop", "hop", "step"), "track", "run", "over", False),
    "short-approach triple jump": (("hop", "step", "jump"), "sand", "run", None, False),
    "standing triple jump": (("hop", "step", "jump"), "sand", "stand", None, False),
    "alternate bounds": (("step",), "track", "run", None, True),
    "single-leg hops": (("hop",), "track", "run", None, True),
    "step and jump to the sand": (("step", "jump"), "sand", "run", None, False),
}
"""What issue 2 lists: moves, surface, start, hurdle, repeated."""

GOOD: dict[str, Any] = {
    "title": "Hop and step", "job": "The change of legs.", "phases": ["hop", "step"], "ends": "track",
    "level": "beginner", "dose": {"beginner": [2, 3], "intermediate": [3, 3], "advanced": [3, 4]},
    "intensity": "moderate", "points": ["Knees apart."], "faults": ["Knees together -> hurried -> wait."],
}  # fmt: skip

BAD = """\
[drill.first]
title = 3
job = "The change of legs."
phases = ["hop", "stpe"]
cycles = 0
start = "fly"
ends = "snad"
arcs = ["low", "steep"]
level = "expert"
youngest = 2
dose = { beginner = [2, 3], intermediate = [0, 3], advanced = [3, 4] }
intensity = "mild"
points = []
faults = ["x"]
colour = "red"
[drill.second]
title = "Second"
job = "None."
phases = ["jump", "hop"]
ends = "track"
level = "beginner"
dose = { beginner = [2, 3], intermediate = [3, 3], advanced = [3, 4] }
intensity = "low"
faults = ["x"]
"""


def _read(entry: dict[str, Any], slug: str = "mine") -> Drill:
    return drills_from({"drill": {slug: entry}}, "own.toml", "")[slug]


def _hurdle(place: str, under: list[int], *heights: int) -> dict[str, Any]:
    return {"hurdle": {"place": place, "under": under, **dict(zip(LEVELS, heights, strict=True))}}


def _lines(entry: Any, slug: str = "mine") -> list[str]:
    with pytest.raises(BadInput) as error:
        drills_from({"drill": {slug: entry}}, "own.toml", "")
    return str(error.value).splitlines()


# --- the catalogue --------------------------------------------------------------------------------


@pytest.mark.parametrize("asked", ASKED)
def test_the_catalogue_has_what_was_asked(asked: str) -> None:
    moves, ends, start, place, repeated = ASKED[asked]
    fits = [
        d for d in catalogue().values()
        if d.moves == moves and d.ends == ends and d.start == start and (d.cycles > 1) == repeated
        and (d.hurdle.place if d.hurdle else None) == place
    ]  # fmt: skip
    assert fits


def test_hop_step_and_hold() -> None:
    assert any(d.moves == ("hop", "step") and d.finish == "hold" for d in catalogue().values())


@pytest.mark.parametrize("slug", catalogue())
def test_every_drill_is_whole(slug: str) -> None:
    drill = catalogue()[slug]
    assert drill.slug == slug
    assert drill.points
    assert drill.faults
    assert drill.cautions
    assert len(drill.arcs) == len(drill.moves)
    assert drill.contacts == len(drill.moves) * drill.cycles + (drill.start == "run")
    if drill.hurdle:
        assert set(drill.hurdle.heights) <= set(LOAD["hurdle-heights"]["heights"])


def test_hurdle_heights_are_the_ones_to_be_had() -> None:
    assert list(HURDLE_HEIGHTS) == LOAD["hurdle-heights"]["heights"]


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("slug", catalogue())
def test_doses_are_within_the_budget_of_the_level(slug: str, level: str) -> None:
    drill = catalogue()[slug]
    sets, runs = drill.dose[LEVELS.index(level)]
    assert sets * runs * drill.contacts <= LOAD[f"contacts-{level}"]["high"]


@pytest.mark.parametrize("slug", catalogue())
def test_shock_level_drills_are_not_for_the_young(slug: str) -> None:
    if catalogue()[slug].intensity == "very high":
        assert catalogue()[slug].youngest >= LOAD["shock-youngest"]["age"]


# --- finding --------------------------------------------------------------------------------------


def test_found_by_slug_and_title_in_any_case() -> None:
    for drill in catalogue().values():
        assert find_drill(drill.slug.upper()) is drill
        assert find_drill(f" {drill.title.swapcase()} ") is drill


@pytest.mark.parametrize(
    ("typo", "meant"),
    [
        ("alternate-bound", "alternate-bounds"),
        ("hop-step-snad", "hop-step-sand"),
        ("standing-tripple-jump", "standing-triple-jump"),
        ("full_triple_jump", "full-triple-jump"),
    ],
)
def test_an_unknown_drill_names_the_nearest(typo: str, meant: str) -> None:
    with pytest.raises(BadInput, match=r"^drill: is not in the catalogue; did you mean") as error:
        find_drill(typo)
    assert meant in error.value.faults[0].rule
    assert error.value.faults[0].value == typo


@given(own.names)
def test_any_name_is_found_or_refused_on_one_line(name: str) -> None:
    found = own.attempt(lambda: find_drill(name))
    if isinstance(found, BadInput):
        assert str(found).isprintable()
        assert len(str(found)) < 400
    else:
        assert found in catalogue().values()


def test_the_coach_s_own_comes_first() -> None:
    mine = _read({**GOOD, "title": "Mine"}, "alternate-bounds")
    assert find_drill("alternate-bounds", {"alternate-bounds": mine}) is mine
    assert find_drill("mine", {"alternate-bounds": mine}) is mine


# --- a coach's own --------------------------------------------------------------------------------


def test_a_coach_s_own_drill_is_read_and_planned(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(
        '[drill.hop-hop]\ntitle = "Łucja’s hops"\njob = "Two hops."\nphases = ["hop", "hop"]\n'
        'cycles = 2\nstrides = 5\nends = "track"\nlevel = "intermediate"\nintensity = "high"\n'
        'arcs = ["low", "high"]\npoints = ["Tall."]\nfaults = ["Loud -> tired -> stop."]\n'
        "dose = { beginner = [1, 2], intermediate = [2, 2], advanced = [2, 3] }\n"
        'hurdle = { place = "beside", under = [1], beginner = 15, intermediate = 15, advanced = 23 }\n',
        encoding="utf-8",
    )
    from layout.plan.spacing import make_plan
    from layout.plan.venue import venues

    drill = find_drill("hop-hop", read_drills(path))
    plan = make_plan(own.member("imka"), drill, venues()["track"], own.ON)
    assert [f.phase for f in plan.flights] == ["hop"] * 4
    assert [f.arc for f in plan.flights] == ["low", "high"] * 2
    assert {c.foot for c in plan.contacts} == {"right"}
    assert [h.flight for h in plan.hurdles] == [1, 3]
    assert plan.approach.strides == 5
    assert plan.title == "Łucja’s hops"


def test_every_fault_of_every_entry_with_file_and_line(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(BAD, encoding="utf-8")
    with pytest.raises(BadInput) as error:
        read_drills(path)
    rows = BAD.splitlines()
    second = rows.index("[drill.second]")
    found = {f.field: f for f in error.value.faults}
    wrong = ("title", "phases", "cycles", "start", "ends", "arcs", "level", "youngest", "dose", "intensity",
             "points", "colour")  # fmt: skip
    for key in wrong:
        fault = found[f"drill.first.{key}"]
        line = next(n for n, row in enumerate(rows, 1) if row.startswith(f"{key} ="))
        assert (fault.file, fault.line) == (str(path), line), key
    assert "did you mean step?" in found["drill.first.phases"].rule
    assert "did you mean sand?" in found["drill.first.ends"].rule
    assert found["drill.second.phases"].line == rows.index('phases = ["jump", "hop"]') + 1
    assert found["drill.second.points"].rule == "is missing"
    assert found["drill.second.points"].line == second + 1
    assert all(
        line.startswith(f"{path}") and line.isprintable() for line in str(error.value).splitlines()
    )


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"phases": []}, "phases"), ({"phases": "hop"}, "phases"),
        ({"phases": ["hop"] * (MOST_MOVES + 1)}, "phases"),
        ({"phases": [["hop"]]}, "phases"), ({"phases": ["jump", "hop"]}, "phases"),
        ({"cycles": 13}, "cycles"),
        ({"phases": ["hop"] * 10, "cycles": 4}, "cycles"),
        ({"phases": ["step", "jump"], "ends": "track"}, "ends"),
        ({"phases": ["step", "jump"], "ends": "sand", "cycles": 2}, "cycles"), ({"arcs": ["low"]}, "arcs"),
        ({"arcs": "low"}, "arcs"), ({"strides": 0}, "strides"), ({"strides": 25}, "strides"),
        ({"start": "stand", "strides": 4}, "strides"), ({"dose": {"beginner": [1, 1]}}, "dose"),
        ({"dose": {"beginner": [1, 1], "intermediate": [1, 1], "advanced": [11, 1]}}, "dose"),
        ({"dose": {"beginner": [1, 1], "intermediate": [1, True], "advanced": [1, 1]}}, "dose"),
        ({"youngest": 5}, "youngest"), ({"youngest": 19}, "youngest"), ({"board": "yes"}, "board"),
        ({"full": 1}, "full"), ({"hurdle": 30}, "hurdle"), ({"hurdle": {"place": "beside"}}, "hurdle"),
        (_hurdle("over", [2], 15, 15, 15), "hurdle"), (_hurdle("over", [1, 2], 15, 15, 15), "hurdle"),
        (_hurdle("over", [1], 17, 23, 30), "hurdle"),
        (_hurdle("over", [], 15, 15, 15), "hurdle"),
        (_hurdle("over", [1, -1], 15, 15, 15), "hurdle"), (_hurdle("over", [0, True], 15, 15, 15), "hurdle"),
        (_hurdle("on", [1], 15, 15, 15), "hurdle"),
        ({"title": "two\nlines"}, "title"), ({"points": ["x" * 141]}, "points"), ({"lead": "left"}, "lead"),
        ({"speed": 3}, "speed"),
    ],
)  # fmt: skip
def test_wrong_entries_are_refused(changes: dict[str, Any], key: str) -> None:
    lines = _lines({**GOOD, **changes})
    assert any(line.startswith(f"own.toml: drill.mine.{key}") for line in lines), lines


def test_a_fault_inside_a_hurdle_names_the_field() -> None:
    hurdle = {"place": "over", "under": [1], "beginner": 15, "intermediate": 16}
    lines = _lines({**GOOD, "hurdle": hurdle})
    assert len(lines) == 2
    assert any("intermediate" in line and "16" in line for line in lines)
    assert any("advanced" in line and "missing" in line for line in lines)


@pytest.mark.parametrize("slug", ["", "Mine", "../up", "a b", "<b>", "é"])
def test_names_that_are_not_slugs_are_refused(slug: str) -> None:
    assert any("small letters, digits and hyphens" in line for line in _lines(GOOD, slug))


@pytest.mark.parametrize(
    "table", [{}, {"drill": {}}, {"drill": 3}, {"drills": {"a": GOOD}}, {"drill": {"a": 3}}]
)
def test_tables_without_drills_are_refused(table: dict[str, Any]) -> None:
    with pytest.raises(BadInput, match="drill"):
        drills_from(table, "own.toml", "")


anything = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | own.texts
    | st.lists(st.integers(), max_size=3)
)


@given(
    st.dictionaries(
        st.sampled_from([*GOOD, "arcs", "cycles", "start", "strides", "hurdle", "board", "lead"]),
        anything,
    )
)
def test_any_entry_is_read_or_refused(changes: dict[str, Any]) -> None:
    found = own.attempt(lambda: _read({**GOOD, **changes}))
    if isinstance(found, BadInput):
        assert all(str(f).startswith("own.toml") and str(f).isprintable() for f in found.faults)
    else:
        assert found.chain
