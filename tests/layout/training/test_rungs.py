"""The shipped ladder, and a coach's own: read with every fault at once."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from layout.plan.drill import catalogue, drills_from
from layout.rules.load import LONGEST_FAST_CONTACT, REST
from layout.training.ladder import beside
from layout.training.rungs import HARD, SOUNDS, Ladder, Rung, ladder, ladder_from, read_ladder
from layout.words.faults import BadInput
from layout.words.split import STEP_BAND
from layout.words.trade import LEVELS
from tests.published import published

LOAD = {row["id"]: row for row in published("load.toml")}
SOURCES = tomllib.loads(
    (Path(__file__).parents[3] / "layout" / "catalogue" / "sources.toml").read_text(
        encoding="utf-8"
    )
)["source"]
RUNGS = {r.slug: r for r in ladder().rungs}

GOOD: dict[str, Any] = {"title": "Mine", "height": 1, "drill": "hop-step-sand"}

OWN = """\
[rung.first]
title = "Held"
height = 1
drill = "hop-step-hold"
start = "beginner"
[rung.second]
title = "To the sand"
height = 2
drill = "hop-step-sand"
hops = "low"
strides = 5
dose = [2, 4]
tolerance = "15 cm"
enter = { hit = 75, sound = "firm", contact = 0.24, knee_gap = "8 in", step_share = [28, 32] }
down = { hit = 30, sound = "loud", contact = 0.3 }
sessions = 6
rest = 72
lead_in = "first"
source = "ours"
"""

BAD = """\
[rung.one]
title = 3
height = 0
drill = "hop-step-snad"
hops = "lo"
strides = 30
level = "expert"
dose = [0, 3]
tolerance = "2 m"
enter = { hit = 120, sound = "soft" }
down = { knee_gap = "3 cm" }
sessions = 0
rest = 24
lead_in = "tow"
colour = "red"
[rung.two]
title = "Two"
height = 2
drill = "two-hops-step-over"
level = "beginner"
youngest = 9
start = "beginner"
lead_in = "three"
[rung.three]
title = "Three"
height = 3
drill = "standing-triple-jump"
strides = 4
hurdle = 23
cycles = 2
start = "beginner"
"""


def _refused(table: Any) -> list[str]:
    with pytest.raises(BadInput) as error:
        ladder_from(table, "own.toml", "")
    return str(error.value).splitlines()


# --- the shipped ladder ---------------------------------------------------------------------------


def test_it_climbs_as_it_was_asked_to() -> None:
    def height(slug: str) -> int:
        return RUNGS[slug].height

    # Repeats on the track, then to the sand, then the single change.
    assert height("track-three") < height("two-sand-low") < height("single-eight")
    assert RUNGS["track-three"].contacts > RUNGS["two-sand-low"].contacts
    # Hurdles beside, then over; two hops, then three.
    assert height("two-beside") < height("two-over")
    assert height("three-beside") < height("three-over")
    assert height("two-beside") < height("three-beside")
    assert height("two-over") < height("three-over")
    # Low hop, then natural; strides up.
    assert height("hold-low") < height("hold-natural")
    assert height("sand-low") < height("sand-natural") < height("sand-six") < height("single-eight")
    strides = [RUNGS[s].choices.strides for s in ("sand-natural", "sand-six", "single-eight")]
    assert strides == [4, 6, 8]
    assert height("short-six") < height("short-eight") < height("full")


def test_every_drill_of_the_catalogue_is_on_it() -> None:
    assert {r.drill.slug for r in RUNGS.values()} == set(catalogue())


def test_one_rung_is_the_start_of_each_level() -> None:
    starts = [r for r in RUNGS.values() if r.start]
    assert sorted(str(r.start) for r in starts) == sorted(LEVELS)
    heights = [next(r.height for r in starts if r.start == level) for level in LEVELS]
    assert heights == sorted(set(heights))
    for rung in starts:
        assert LEVELS.index(rung.level) <= LEVELS.index(str(rung.start))


@pytest.mark.parametrize("rung", RUNGS.values(), ids=list(RUNGS))
def test_a_rung_keeps_to_the_limits(rung: Rung) -> None:
    assert rung.source in SOURCES
    assert rung.youngest >= rung.drill.youngest
    low, high = LOAD["rest-between-sessions"]["low"], LOAD["rest-between-sessions"]["high"]
    assert (low, high) == REST
    assert low <= rung.rest <= high
    assert rung.rest == high or rung.drill.intensity not in HARD
    assert rung.contacts <= LOAD["youth-reps"]["high"]
    if rung.drill.intensity == "very high":
        assert rung.youngest >= LOAD["shock-youngest"]["age"]
    if rung.lead_in:
        lead = RUNGS[rung.lead_in]
        assert lead.height < rung.height
        assert lead.youngest <= rung.youngest
        assert lead.drill.intensity in ("low", "moderate")
    for level in LEVELS:
        sets, runs = rung.dose_at(level)
        assert sets * runs * rung.contacts <= LOAD[f"contacts-{level}"]["high"]


@pytest.mark.parametrize("rung", list(RUNGS.values())[1:], ids=list(RUNGS)[1:])
def test_what_lets_up_is_stricter_than_what_sends_down(rung: Rung) -> None:
    enter, down = rung.enter, rung.down
    assert enter.hit == LOAD["ladder-hits"]["up"] / 100
    assert enter.hit is not None
    assert down.hit is not None
    assert enter.hit > down.hit >= LOAD["ladder-hits"]["down"] / 100
    assert enter.sound
    assert down.sound
    assert SOUNDS.index(enter.sound) < SOUNDS.index(down.sound)
    assert enter.contact is None or enter.contact <= LONGEST_FAST_CONTACT
    assert down.contact in (None, LONGEST_FAST_CONTACT)
    assert enter.step_share in (None, STEP_BAND)


def test_what_is_asked_never_loosens_on_the_way_up() -> None:
    rungs = list(RUNGS.values())
    gaps = [r.enter.knee_gap or 0.0 for r in rungs]
    tolerances = [r.tolerance for r in rungs]
    assert gaps == sorted(gaps)
    assert tolerances == sorted(tolerances, reverse=True)


def test_sideways_never_leads_to_a_shock_level_rung_from_an_easier_one() -> None:
    for rung in RUNGS.values():
        other = beside(rung, list(RUNGS.values()))
        if other and other.drill.intensity == "very high":
            assert rung.drill.intensity == "very high"


# --- a coach's own --------------------------------------------------------------------------------


def test_an_own_ladder_is_read(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(OWN, encoding="utf-8")
    first, second = read_ladder(path).rungs
    assert (first.slug, first.start, first.dose, first.rest) == ("first", "beginner", None, 48)
    assert first.dose_at("advanced") == catalogue()["hop-step-hold"].dose[2]
    assert (second.choices.arc, second.choices.strides, second.dose_at("beginner")) == (
        "low", 5, (2, 4),
    )  # fmt: skip
    assert second.tolerance == pytest.approx(0.15)
    assert second.enter.knee_gap == pytest.approx(8 * 0.0254)
    assert second.enter.step_share == (0.28, 0.32)
    assert (second.enter.hit, second.enter.contact) == (0.75, 0.24)
    assert (second.down.hit, second.down.sound, second.down.contact) == (0.3, "loud", 0.3)
    assert (second.sessions, second.rest, second.lead_in) == (6, 72, "first")


def test_rungs_are_put_in_order_of_height() -> None:
    table = {"rung": {"b": {**GOOD, "height": 3}, "c": GOOD, "a": {**GOOD, "height": 3}}}
    assert [r.slug for r in ladder_from(table, "", "").rungs] == ["c", "b", "a"]


def test_an_own_ladder_may_use_own_drills() -> None:
    text = (
        '[drill.skips]\ntitle = "Skips"\njob = "Easy."\nphases = ["step"]\ncycles = 4\n'
        'ends = "track"\nlevel = "beginner"\nintensity = "moderate"\npoints = ["Tall."]\nfaults = ["x"]\n'
        "dose = { beginner = [1, 2], intermediate = [2, 2], advanced = [2, 3] }\n"
    )
    own = drills_from(tomllib.loads(text), "drills.toml", text)
    table = {"rung": {"mine": {**GOOD, "drill": "skips"}}}
    assert ladder_from(table, "", "", own).rungs[0].drill is own["skips"]
    assert "is not in the catalogue" in _refused(table)[0]


def test_every_fault_of_every_rung_with_file_and_line(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(BAD, encoding="utf-8")
    with pytest.raises(BadInput) as error:
        read_ladder(path)
    rows = BAD.splitlines()
    found = {f.field: f for f in error.value.faults}
    for key in ("title", "height", "drill", "hops", "strides", "level", "dose", "tolerance", "sessions",
                "rest", "lead_in", "colour"):  # fmt: skip
        fault = found[f"rung.one.{key}"]
        line = next(n for n, row in enumerate(rows, 1) if row.startswith(f"{key} ="))
        assert (fault.file, fault.line) == (str(path), line), key
    enter = [f for f in error.value.faults if f.field.startswith("rung.one.enter")]
    assert len(enter) == 2
    assert {f.line for f in enter} == {rows.index(next(r for r in rows if "enter" in r)) + 1}
    assert "did you mean hop-step-sand," in found["rung.one.drill"].rule
    assert "did you mean two" in found["rung.one.lead_in"].rule
    two = rows.index("[rung.two]")
    assert found["rung.two.youngest"].value == 9
    assert found["rung.two.youngest"].line == rows.index("youngest = 9") + 1 > two
    assert "advanced" in found["rung.two.level"].rule
    assert "lower than height 2" in found["rung.two.lead_in"].rule
    assert "from standing" in found["rung.three.strides"].rule
    assert "no hurdles" in found["rung.three.hurdle"].rule
    assert "cannot repeat" in found["rung.three.cycles"].rule
    assert "two is already where beginner" in found["rung.three.start"].rule
    assert all(
        line.startswith(str(path)) and line.isprintable() for line in str(error.value).splitlines()
    )


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"height": 41}, "height"), ({"height": True}, "height"), ({"height": "2"}, "height"),
        ({"drill": 3}, "drill"), ({"drill": ["hop-step-sand"]}, "drill"), ({"years": -1}, "years"),
        ({"years": float("nan")}, "years"), ({"start": "adult"}, "start"), ({"dose": [3]}, "dose"),
        ({"dose": [3, True]}, "dose"), ({"dose": {"beginner": [1, 1]}}, "dose"), ({"enter": 80}, "enter"),
        ({"enter": {"hits": 80}}, "enter"), ({"enter": {"step_share": [33, 27]}}, "enter"),
        ({"enter": {"step_share": 30}}, "enter"), ({"enter": {"contact": 2.0}}, "enter"),
        ({"down": {"sound": "bang"}}, "down"), ({"rest": 47}, "rest"), ({"lead_in": "mine"}, "lead_in"),
        ({"drill": "alternate-bounds", "hops": "low"}, "hops"),
        ({"drill": "alternate-bounds", "cycles": 13}, "cycles"),
        ({"drill": "three-hops-step-beside", "cycles": 8}, "cycles"),
        ({"drill": "two-hops-step-beside", "hurdle": 17}, "hurdle"), ({"source": ""}, "source"),
    ],
)  # fmt: skip
def test_wrong_rungs_are_refused(changes: dict[str, Any], key: str) -> None:
    lines = _refused({"rung": {"mine": {**GOOD, **changes}}})
    assert all(line.startswith("own.toml: rung.mine.") for line in lines)
    assert any(line.startswith(f"own.toml: rung.mine.{key}") for line in lines), lines


@pytest.mark.parametrize(
    "table", [{}, {"rung": {}}, {"rung": 3}, {"rungs": {}}, {"rung": {"a": 1}}]
)
def test_tables_without_rungs_are_refused(table: dict[str, Any]) -> None:
    assert all(line.startswith("own.toml: ") for line in _refused(table))


@pytest.mark.parametrize("slug", ["", "Mine", "a b"])
def test_names_that_are_not_slugs_are_refused(slug: str) -> None:
    assert any("small letters" in line for line in _refused({"rung": {slug: GOOD}}))


def test_an_unknown_rung_names_the_nearest() -> None:
    known: Ladder = ladder()
    assert known.find(" Sand-Six ").slug == "sand-six"
    with pytest.raises(BadInput, match="did you mean sand-six"):
        known.find("sand-sx")
