"""Placings on the ladder, by hand and by property."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.athlete.athlete import CHILD_STRIDES, Athlete
from layout.plan.drill import catalogue
from layout.training.ladder import (
    MOVED,
    Placing,
    above,
    below,
    beside,
    closed,
    next_rung,
    open_rungs,
)
from layout.training.rungs import Ladder, ladder, ladder_from
from layout.training.seen import Observed, observed_from, parse_hit
from layout.words.faults import BadInput
from layout.words.split import Split
from layout.words.trade import LEVELS, Level
from tests.published import published
from tests.strategies import CLUB, ON, attempt, member

LOAD = {row["id"]: row for row in published("load.toml")}
SHOCK_AGE: int = LOAD["shock-youngest"]["age"]
GROWN = replace(member("tevin"), best_phases=None)
"""Advanced, 27, ten years of training: every rung is open."""
GOOD: dict[str, Any] = {"hit": (9, 10), "sound": "quiet", "knee_gap": 0.35, "contact": 0.16,
                        "step_share": 0.30}  # fmt: skip


def seen(at: str | None = None, **what: Any) -> Observed:
    return Observed(ON, at, **what)


def placed(who: Athlete, at: str | None = None, **what: Any) -> Placing:
    return next_rung(who, seen(at, **what), ladder())


def went(who: Athlete, at: str | None = None, **what: Any) -> tuple[str, str]:
    placing = placed(who, at, **what)
    return placing.advice, placing.rung.slug


def codes(placing: Placing, grave: bool) -> list[str]:
    return [n.code for n in placing.reasons if n.grave == grave]


# --- by hand --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "rung"),
    [("runa", "hold-low"), ("bram", "sand-six"), ("imka", "sand-six"), ("tevin", "two-sand-low")],
)
def test_with_nothing_seen_an_athlete_starts_where_the_level_does(name: str, rung: str) -> None:
    placing = placed(member(name))
    assert (placing.advice, placing.rung.slug, placing.first) == ("stay", rung, True)
    assert codes(placing, grave=False) == ["start", "nothing-seen"]


def test_a_start_that_is_closed_falls_to_the_nearest_open_rung_below() -> None:
    # Five strides: the intermediate start, from six, is closed.
    who = replace(member("bram"), strides=5, strides_given=True)
    placing = placed(who)
    assert placing.rung.slug == "sand-natural"
    assert "nearest the start" in placing.reasons[0].text


@pytest.mark.parametrize(
    ("what", "move", "rung"),
    [
        (GOOD, "up", "standing-triple"),
        # Steps: exactly what is asked, and one under it.
        ({"hit": (4, 5), "sound": "quiet", "knee_gap": 0.15, "contact": 0.25}, "up", "standing-triple"),
        ({**GOOD, "hit": (79, 100)}, "stay", "sand-six"), ({**GOOD, "sound": "firm"}, "stay", "sand-six"),
        ({**GOOD, "knee_gap": 0.149}, "sideways", "bounds-six"),
        ({**GOOD, "contact": 0.251}, "down", "sand-natural"),
        ({**GOOD, "hit": (39, 100)}, "down", "sand-natural"), ({**GOOD, "hit": (4, 10)}, "stay", "sand-six"),
        ({**GOOD, "sound": "loud"}, "down", "sand-natural"),
        # Not known: hits and sound must be, the others need not.
        ({"hit": (9, 10), "sound": "quiet"}, "up", "standing-triple"), ({"hit": (9, 10)}, "stay", "sand-six"),
        ({"sound": "quiet"}, "stay", "sand-six"), ({"knee_gap": 0.4}, "stay", "sand-six"),
        ({}, "stay", "sand-six"),
        # Three runs tell little, either way.
        ({**GOOD, "hit": (3, 3)}, "stay", "sand-six"), ({**GOOD, "hit": (0, 3)}, "stay", "sand-six"),
        ({**GOOD, "hit": (4, 4)}, "up", "standing-triple"),
        # Too few sessions hold back; too many without going up change the drill.
        ({**GOOD, "sessions": 3}, "stay", "sand-six"), ({**GOOD, "sessions": 4}, "up", "standing-triple"),
        ({**GOOD, "sound": "firm", "sessions": 7}, "stay", "sand-six"),
        ({**GOOD, "sound": "firm", "sessions": 8}, "sideways", "bounds-six"),
        # Shape missed while something else is: stay and mend that first.
        ({**GOOD, "knee_gap": 0.05, "sound": "firm"}, "stay", "sand-six"),
        ({**GOOD, "pain": True}, "rest", "sand-six"), ({"pain": True}, "rest", "sand-six"),
    ],
)  # fmt: skip
def test_moves_from_one_rung(what: dict[str, Any], move: str, rung: str) -> None:
    assert went(GROWN, "sand-six", **what) == (move, rung)


def test_each_move_says_why_and_with_what_source() -> None:
    up = placed(GROWN, "sand-six", **GOOD)
    assert codes(up, grave=False) == ["hit", "sound", "contact", "knee-gap"]
    assert codes(up, grave=True) == []
    assert "9 of 10" in up.reasons[0].text
    down = placed(GROWN, "sand-six", **{**GOOD, "sound": "loud", "contact": 0.3})
    assert codes(down, grave=True) == ["sound", "contact"]
    assert "Schmidtbleicher" in down.reasons[1].source
    aside = placed(GROWN, "sand-six", **{**GOOD, "knee_gap": 0.05})
    assert codes(aside, grave=True) == ["knee-gap"]
    assert "5 cm" in aside.reasons[0].text
    assert "15 cm" in aside.reasons[0].text
    assert all(n.source for p in (up, down, aside) for n in p.reasons)


def test_the_step_share_counts_before_the_full_jump() -> None:
    near = {**GOOD, "step_share": 0.27}
    assert went(GROWN, "short-eight", **near) == ("up", "full")
    assert went(GROWN, "short-eight", **{**GOOD, "step_share": 0.269})[0] == "sideways"
    without = {k: v for k, v in GOOD.items() if k != "step_share"}
    placing = placed(GROWN, "short-eight", **without)
    assert (placing.advice, codes(placing, grave=True)) == ("stay", ["step-share"])
    # The best jump's share is taken where none was measured.
    shown = replace(GROWN, best_phases=Split((0.36, 0.28, 0.36), "36:28:36"))
    assert went(shown, "short-eight", **without) == ("up", "full")
    short = replace(GROWN, best_phases=Split((0.38, 0.24, 0.38), "38:24:38"))
    placing = placed(short, "short-eight", **without)
    assert placing.advice == "sideways"
    assert "in the best jump" in placing.reasons[0].text


def test_up_passes_over_what_is_closed_but_never_onto_it() -> None:
    imka = member("imka")  # intermediate: no hurdles over
    assert went(imka, "two-beside", **GOOD) == ("up", "three-beside")
    assert went(GROWN, "two-beside", **GOOD) == ("up", "two-over")


def test_the_highest_open_rung_says_what_closes_the_next() -> None:
    placing = placed(member("bram"), "two-beside", **GOOD)
    assert placing.advice == "stay"
    assert placing.up is None
    assert "16 years" in placing.reasons[0].text or "15 years" in placing.reasons[0].text
    top = placed(GROWN, "full", **GOOD)
    assert (top.advice, codes(top, grave=False)) == ("stay", ["top"])


def test_a_rung_the_athlete_is_too_young_for_goes_down_whatever_was_seen() -> None:
    placing = placed(member("bram"), "full", **GOOD)
    assert (placing.advice, placing.rung.slug) == ("down", "two-beside")
    assert placing.reasons[0].code == "shock"
    assert placing.reasons[0].source.startswith("Allerheiligen & Rogers 1995")


def test_the_lowest_rung_has_no_lower() -> None:
    placing = placed(GROWN, "hold-low", **{**GOOD, "sound": "loud"})
    assert (placing.advice, placing.rung.slug) == ("stay", "hold-low")
    assert placing.reasons[-1].code == "lowest"


def test_next_moves_are_those_from_the_new_rung() -> None:
    placing = placed(GROWN, "sand-natural", **GOOD)
    rungs, _ = open_rungs(GROWN, ON, ladder())
    assert placing.up is above(placing.rung, rungs)
    assert placing.down is below(placing.rung, rungs)
    assert placing.sideways is beside(placing.rung, rungs)
    assert placing.up is not None
    assert placing.ask[0] == "80 % of runs with every mark met within 25 cm"


@pytest.mark.parametrize("born", [None, 1914, 2025])
@pytest.mark.parametrize("level", LEVELS)
def test_an_unknown_or_impossible_birth_year_opens_no_rung(born: int | None, level: Level) -> None:
    rungs, shut = open_rungs(replace(GROWN, born=born, level=level), ON, ladder())
    assert not rungs
    assert all(f"counts as {LOAD['careful-age']['age']}." in note.text for _, note in shut)
    assert all("Give the year of birth" in note.text for _, note in shut)


GIRL = replace(member("imka"), born=2008, training_years=None)
"""Intermediate, 17: two years are asked of her on the short and the full triple jump."""


@pytest.mark.parametrize("at", ["short-six", "short-eight", "full", "three-beside"])
def test_who_is_on_a_rung_is_not_sent_down_because_nobody_told_the_years(at: str) -> None:
    placing = placed(GIRL, at)
    assert (placing.advice, placing.rung.slug) == ("stay", at)
    (kept,) = (n for n in placing.reasons if n.code == "held")
    assert "years of training" in kept.text
    assert placing.rung not in dict(placing.closed)
    assert "years of training" in placing.standing.text
    # What is known, and every other limit, sends her down as ever; so do loud contacts.
    assert went(replace(GIRL, training_years=1.5), at)[0] == "down"
    assert went(replace(GIRL, born=2013), at)[0] == "down"
    assert went(replace(GIRL, level="beginner"), at)[0] == "down"
    assert went(GIRL, at, sound="loud")[0] == "down"


def test_taken_years_open_nothing_new_and_the_cure_is_said() -> None:
    placing = placed(GIRL, "short-six", **GOOD)
    assert (placing.advice, placing.rung.slug, placing.up) == ("stay", "short-six", None)
    assert any("is closed" in n.text and "years of training" in n.text for n in placing.reasons)
    assert went(replace(GIRL, training_years=2.0), "short-six", **GOOD) == ("up", "short-eight")
    # The next rung is for advanced athletes; the years open the ones after it, and that is said too.
    top = placed(GIRL, "two-beside", **GOOD)
    assert top.advice == "stay"
    assert "advanced" in top.reasons[0].text
    assert "years of training" in top.reasons[0].text
    assert went(replace(GIRL, training_years=2.0), "two-beside", **GOOD) == ("up", "three-beside")


def test_unknown_training_years_are_taken_from_the_level() -> None:
    rung = ladder().find("three-over")
    assert closed(rung, replace(GROWN, training_years=3.9), ON) is not None
    why = closed(rung, replace(GROWN, training_years=None), ON)
    assert why is not None
    assert "taken as 3, the least for advanced. Give the years of training" in why.text
    assert closed(rung, replace(GROWN, training_years=4.0), ON) is None


def test_a_child_s_full_approach_is_short_where_none_is_given() -> None:
    child = replace(member("runa"), strides=8, strides_given=False)
    why = closed(ladder().find("sand-six"), child, ON)
    assert why is not None
    assert f"has {CHILD_STRIDES}" in why.text


def test_a_run_with_too_many_contacts_is_closed_to_the_young_alone() -> None:
    table = {
        "rung": {"long": {"title": "Long", "height": 1, "drill": "alternate-bounds", "cycles": 10}}
    }
    rung = ladder_from(table, "", "").rungs[0]
    why = closed(rung, member("bram"), ON)
    assert why is not None
    assert (why.code, rung.contacts) == ("youth-run", LOAD["youth-reps"]["high"] + 1)
    assert closed(rung, GROWN, ON) is None


def _own(*slugs: str) -> Ladder:
    """A ladder of one height with drills that a coach's own file makes younger than they should be."""
    full = replace(catalogue()["full-triple-jump"], slug="bold", youngest=10, level="beginner")
    own = {"bold": full}
    rungs = {s: {"title": s, "height": 1, "drill": s} for s in slugs}
    return ladder_from({"rung": rungs}, "", "", own)


def test_shock_level_is_closed_under_the_age_whatever_a_coach_s_file_says() -> None:
    (rung,) = _own("bold").rungs
    assert (rung.youngest, rung.level) == (SHOCK_AGE, "intermediate")
    for age in range(10, SHOCK_AGE):
        why = closed(rung, replace(GROWN, born=ON.year - 1 - age), ON)
        assert why is not None
        assert why.code == "shock"
    assert closed(rung, replace(GROWN, born=ON.year - 1 - SHOCK_AGE), ON) is None


def test_sideways_never_steps_from_an_easier_rung_onto_a_shock_level_one() -> None:
    rungs = list(_own("alternate-bounds", "bold", "hop-step-sand").rungs)
    bounds, bold, sand = rungs
    assert beside(bounds, rungs) is sand
    assert beside(sand, rungs) is bounds
    assert beside(bold, rungs) is sand


def test_no_open_rung_is_said_on_one_line() -> None:
    baby = replace(member("runa"), born=2019)
    with pytest.raises(
        BadInput, match=r"^ladder: no rung is open to Runa. .*From 10 years"
    ) as error:
        placed(baby)
    assert str(error.value).isprintable()
    with pytest.raises(BadInput, match=r"^at: is not a rung"):
        placed(GROWN, "nowhere")


def test_a_closed_rung_with_nothing_open_as_low_is_refused() -> None:
    table = {"rung": {"a": {"title": "A", "height": 1, "drill": "full-triple-jump"},
                      "b": {"title": "B", "height": 2, "drill": "hop-step-hold"}}}  # fmt: skip
    with pytest.raises(BadInput, match="no rung this low is open"):
        next_rung(member("bram"), seen("a"), ladder_from(table, "", ""))


def test_placing_is_pure() -> None:
    once = placed(member("imka"), "sand-six", **GOOD)
    assert once == placed(member("imka"), "sand-six", **GOOD)


# --- by property ----------------------------------------------------------------------------------

slugs = st.none() | st.sampled_from([r.slug for r in ladder().rungs])


@st.composite
def people(draw: st.DrawFn) -> Athlete:
    """The club's athletes at any age, level, training and approach."""
    who = member(draw(st.sampled_from(CLUB)))
    strides = draw(st.integers(2, 20))
    return replace(
        who,
        born=draw(st.none() | st.integers(1975, ON.year - 9)),
        level=draw(st.sampled_from(LEVELS)),
        training_years=draw(st.none() | st.floats(0, 20)),
        strides=strides,
        strides_given=draw(st.booleans()),
        best_phases=draw(st.sampled_from([None, who.best_phases])),
    )


@st.composite
def sights(draw: st.DrawFn, on: datetime.date = ON) -> Observed:
    """Anything a coach may have seen."""
    of = draw(st.integers(1, 30))
    made = draw(st.integers(0, of))
    return Observed(
        on,
        draw(slugs),
        draw(st.sampled_from([None, (made, of)])),
        draw(st.sampled_from([None, "quiet", "firm", "loud"])),
        draw(st.none() | st.floats(0.08, 0.5)),
        draw(st.none() | st.floats(0.15, 0.45)),
        draw(st.none() | st.floats(-0.2, 0.8)),
        draw(st.none() | st.integers(0, 20)),
        draw(st.sampled_from([False, False, False, True])),
    )


@given(people(), sights())
def test_no_placing_is_beyond_a_limit(who: Athlete, what: Observed) -> None:
    placing = attempt(lambda: next_rung(who, what, ladder()))
    if isinstance(placing, BadInput):
        assert str(placing).isprintable()
        # Refused only where nothing as low is open.
        rungs, _ = open_rungs(who, ON, ladder())
        assert not rungs or what.at is not None
        return
    rung, counted = placing.rung, who.standing(ON).age
    assert who.born is not None or counted == LOAD["careful-age"]["age"]
    assert placing.advice in MOVED
    shut = closed(rung, who, ON)
    # Closed by nothing but years that nobody has told, and only for whoever is on it.
    assert (
        shut is None
        or placing.advice == "rest"
        or (shut.code == "years" and who.training_years is None and rung.slug == what.at)
    )
    if placing.advice != "rest":
        assert counted >= max(rung.youngest, rung.drill.youngest)
        assert LEVELS.index(who.level) >= LEVELS.index(rung.drill.level)
        assert rung.drill.intensity != "very high" or counted >= SHOCK_AGE
        assert counted >= SHOCK_AGE or rung.contacts <= LOAD["youth-reps"]["high"]
    for other in (placing.up, placing.sideways, placing.down):
        assert other is None or closed(other, who, ON) is None
    assert placing.reasons
    assert all(n.text.isprintable() and n.source for n in placing.reasons)


@given(people(), sights())
def test_moves_are_one_rung_and_in_their_direction(who: Athlete, what: Observed) -> None:
    placing = attempt(lambda: next_rung(who, what, ladder()))
    if isinstance(placing, BadInput):
        return
    here, there = placing.came_from, placing.rung
    rungs, _ = open_rungs(who, ON, ladder())
    steps = {"up": above(here, rungs), "down": below(here, rungs), "sideways": beside(here, rungs)}
    if placing.advice in steps:
        assert there == steps[placing.advice]
        order = {"up": there.height > here.height, "down": there.height < here.height,
                 "sideways": there.height == here.height}  # fmt: skip
        assert order[placing.advice]
    else:
        assert there == here
    if what.pain:
        assert placing.advice == "rest"
    if placing.advice == "up":
        assert what.sound == "quiet"
        assert what.hit is not None
        assert what.hit[0] >= 0.8 * what.hit[1] - 1e-9


def _reached(who: Athlete, known: Ladder) -> set[str]:
    """Rungs reached from the start by good, crooked and loud observations."""
    found = [next_rung(who, seen(), known).rung.slug]
    for at in found:
        for what in (GOOD, {**GOOD, "knee_gap": 0.0}, {**GOOD, "sound": "loud"},
                     {**GOOD, "sessions": 30, "sound": "firm"}):  # fmt: skip
            slug = next_rung(who, seen(at, **what), known).rung.slug
            if slug not in found:
                found.append(slug)
    return set(found)


@given(people())
def test_every_open_rung_is_reached_from_the_start(who: Athlete) -> None:
    rungs, _ = open_rungs(who, ON, ladder())
    if rungs:
        assert _reached(who, ladder()) == {r.slug for r in rungs}


def test_every_rung_of_the_ladder_is_reached_by_somebody() -> None:
    assert _reached(GROWN, ladder()) == {r.slug for r in ladder().rungs}


# --- what was seen --------------------------------------------------------------------------------


def test_observations_are_read_as_a_coach_writes_them() -> None:
    table = {"at": "sand-six", "hit": "4 of 5", "sound": "firm", "contact": "0,18 s", "step_share": "29 %",
             "knee_gap": "35cm", "sessions": 3, "pain": False}  # fmt: skip
    read = observed_from(table, ON)
    assert read == Observed(ON, "sand-six", (4, 5), "firm", 0.18, 0.29, 0.35, 3, False)
    assert observed_from({}, ON).nothing
    assert observed_from({"contact": 0.2, "step_share": 30}, ON) == Observed(
        ON, contact=0.2, step_share=0.3
    )


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("hit", "5/4"), ("hit", "x"), ("hit", "0/0"), ("hit", 0.8), ("hit", "4/5/6"), ("hit", "-1/5"),
        ("sound", "soft"), ("sound", 3), ("contact", "fast"), ("contact", "1e9"), ("contact", 0.01),
        ("contact", True), ("contact", "nan"), ("step_share", "inf"), ("step_share", 3), ("knee_gap", "far"),
        ("knee_gap", "2 m"), ("sessions", "many"), ("sessions", -1), ("sessions", 1.5), ("sessions", True),
        ("pain", "yes"), ("at", ""), ("speed", 3),
    ],
)  # fmt: skip
def test_bad_observations_are_one_line_with_field_value_file_and_line(key: str, value: Any) -> None:
    shown = repr(value).replace("'", '"').replace("True", "true")
    text = f'at = "full"\n{key} = {shown}\n' if key != "at" else f"{key} = {shown}\n"
    table = {"at": "full", key: value}
    with pytest.raises(BadInput) as error:
        observed_from(table, ON, "seen.toml", text)
    line = text.splitlines().index(f"{key} = {shown}") + 1
    assert str(error.value).startswith(f"seen.toml:{line}: {key}")
    assert len(str(error.value).splitlines()) == 1
    with pytest.raises(BadInput, match=f"^--{key.replace('_', '-')}"):
        observed_from({key: value}, ON, options=frozenset({key}))


@given(st.text(max_size=20))
def test_any_hit_is_read_or_refused(text: str) -> None:
    read = attempt(lambda: parse_hit(text))
    if not isinstance(read, BadInput):
        assert 0 <= read[0] <= read[1]
        assert read[1] > 0


@pytest.mark.parametrize(
    "what", [{"hit": (5, 4)}, {"sound": "soft"}, {"contact": 3.0}, {"step_share": 30.0},
             {"knee_gap": 35.0}, {"sessions": -1}],
)  # fmt: skip
def test_observations_made_in_python_are_checked(what: dict[str, Any]) -> None:
    with pytest.raises(BadInput):
        seen(**what)
