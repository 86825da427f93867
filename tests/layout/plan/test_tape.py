"""The tape card: complete when spoken, one zero, no rounding that adds up, feet named right."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from layout.athlete.athlete import athlete_from
from layout.plan.tape import ZEROS, TapeCard, tape_card
from layout.plan.value import Plan
from layout.words.faults import BadInput
from layout.words.units import parse_length
from tests.strategies import CLUB, athlete_tables, attempt, drill_names, pit_or_track, plan

OTHER = {"left": "right", "right": "left", "both": "both", "": ""}
SYSTEMS = [("cm", None), ("cm", 0.05), ("cm", 0.10), ("ft", None), ("ft", 0.0254)]
systems = st.sampled_from(SYSTEMS)


def fineness(system: str, step: float | None) -> float:
    return step or {"cm": 0.01, "ft": 0.00635}[system]


def zero_of(made: Plan, zero: str) -> float:
    """Where the zero is, from the plan itself [m]."""
    if zero == "board":
        return 0.0
    if zero == "start":
        return -made.approach.length
    assert made.place.pit_x is not None
    return made.place.pit_x


def cards(made: Plan, system: str = "cm", step: float | None = None) -> dict[str, TapeCard]:
    out = {}
    for zero in ZEROS:
        try:
            out[zero] = tape_card(made, zero, system, step)  # type: ignore[arg-type]
        except BadInput as error:
            assert error.faults[0].field == "zero"  # noqa: PT017
    assert "board" in out
    assert ("start" in out) == (made.approach.strides > 0)
    assert ("pit" in out) == (made.place.pit_x is not None)
    return out


def checked(made: Plan, system: str, step: float | None) -> None:
    """Every rule a card keeps, whatever the plan."""
    fine = fineness(system, step)
    whole = cards(made, system, step)
    for zero, card in whole.items():
        way, at = (-1.0 if zero == "pit" else 1.0), zero_of(made, zero)
        for line in card.lines:
            assert line.reading == pytest.approx(way * (line.x - at), abs=fine / 2 + 1e-6)
            assert line.reading / fine == pytest.approx(round(line.reading / fine), abs=1e-6)
            # What is printed is what was rounded: nothing is rounded twice.
            assert parse_length(line.shown) == pytest.approx(abs(line.reading), abs=1e-9)
        assert card.lines[0].gap == ""
        for before, after in pairwise(card.lines):
            gap = abs(after.reading - before.reading)
            assert parse_length(after.gap) == pytest.approx(gap, abs=1e-9)
        gaps = sum(parse_length(line.gap) for line in card.lines[1:])
        ends = abs(card.lines[-1].reading - card.lines[0].reading)
        assert gaps == pytest.approx(ends, abs=1e-6)
        xs = [line.x for line in card.lines]
        assert xs == sorted(xs, reverse=zero == "pit")
    # The same two things are the same distance apart from every zero, to one rounding step.
    by_thing = [{(n.x, n.what): n.reading for n in c.lines} for c in whole.values()]
    for one, other in pairwise(by_thing):
        assert set(one) == set(other)
        keys = sorted(one)
        for a, b in pairwise(keys):
            apart = abs(one[b] - one[a]) - abs(other[b] - other[a])
            assert abs(apart) <= fine + 1e-6


@given(drill_names, st.sampled_from(CLUB), systems)
def test_card_of_any_drill(drill: str, who: str, way: tuple[str, float | None]) -> None:
    checked(plan(who, drill, pit_or_track(drill)), *way)


@given(athlete_tables(), drill_names, systems)
def test_card_of_any_athlete(
    table: dict[str, Any], drill: str, way: tuple[str, float | None]
) -> None:
    made = attempt(lambda: plan(athlete_from(table), drill, pit_or_track(drill)))
    assume(not isinstance(made, BadInput))  # too many refusals fail the test
    assert not isinstance(made, BadInput)
    checked(made, *way)


@given(drill_names, st.sampled_from(CLUB), st.sampled_from(["cm", "ft"]))
def test_spoken_says_everything(drill: str, who: str, system: str) -> None:
    """A helper who hears it and sees nothing else can set every mark."""
    made = plan(who, drill, pit_or_track(drill))
    for card in cards(made, system).values():
        spoken = card.spoken()
        assert spoken[0] == f"Zero: {card.zero_text}."
        assert len(spoken) == 1 + len(card.lines)
        for line, text in zip(card.lines, spoken[1:], strict=True):
            assert text.startswith(line.shown)
            assert line.what in text
            assert not line.side or f"{line.shown} {line.side}:" in text
            assert line.foot.replace("both", "both feet").upper() in text.upper()
        kinds = [line.kind for line in card.lines]
        assert kinds.count("contact") == len(made.contacts) - 2
        assert kinds.count("take-off") == kinds.count("landing") == 1
        assert kinds.count("hurdle") == len(made.hurdles)
        assert kinds.count("pit") == (made.ends == "sand")
        assert kinds.count("start") == (made.approach.strides > 0)
        assert kinds.count("check") + kinds.count("start") == len(made.approach.marks)


@given(drill_names, st.sampled_from(CLUB))
def test_where_the_tape_runs_both_ways_each_line_says_which(drill: str, who: str) -> None:
    made = plan(who, drill, pit_or_track(drill))
    for zero, card in cards(made).items():
        below = [n for n in card.lines if n.reading < 0]
        above = [n for n in card.lines if n.reading > 0]
        words = ("into the sand", "back up the runway") if zero == "pit" else ("back", "forward")
        if below and above:
            assert {n.side for n in below} == {words[0]}
            assert {n.side for n in above} == {words[1]}
        else:
            # One way only: it must be the way the tape is laid, so plain readings serve.
            assert {n.side for n in card.lines} == {""}
            assert not below or made.place.pit_x is not None
        assert all(n.side == "" for n in card.lines if n.reading == 0)


@given(drill_names, st.sampled_from(CLUB))
def test_feet_follow_the_moves(drill: str, who: str) -> None:
    made = plan(who, drill, pit_or_track(drill))
    lines = [n for n in tape_card(made).lines if n.kind in ("take-off", "contact", "landing")]
    assert [n.foot for n in lines] == [c.foot for c in made.contacts]
    for contact, line in zip(made.contacts, lines, strict=True):
        assert line.x == contact.x
        if contact.foot == "both":
            assert "both feet" in line.what
            assert not re.search(r"LEFT|RIGHT|\blands\b", line.what)
        else:
            assert f"{contact.foot.upper()} foot" in line.what
            assert OTHER[contact.foot].upper() not in line.what
        if contact.leave != "end":
            assert f"then {contact.leave}" in line.what
    for before, after in pairwise(made.contacts):
        if before.foot != "both" and after.foot != "both":
            assert (after.foot == before.foot) == (before.leave == "hop")


@given(drill_names, st.sampled_from(CLUB), systems)
def test_mirrored_athlete_sets_out_the_same_marks(
    drill: str, who: str, way: tuple[str, float | None]
) -> None:
    venue = pit_or_track(drill)
    right, left = (plan(who, drill, venue, lead=leg) for leg in ("right", "left"))
    one, other = (tape_card(p, "board", *way) for p in (right, left))  # type: ignore[arg-type]
    assert [n.shown for n in one.lines] == [n.shown for n in other.lines]
    assert [n.foot for n in one.lines] == [OTHER[n.foot] for n in other.lines]
    swap = {"left": "right", "right": "left", "LEFT": "RIGHT", "RIGHT": "LEFT"}
    turned = [re.sub("left|right|LEFT|RIGHT", lambda m: swap[m[0]], n.what) for n in other.lines]
    assert [n.what for n in one.lines] == turned


def test_several_of_a_kind_are_counted() -> None:
    said = [n.what for n in tape_card(plan("imka", "two-hops-step-track", "track", cycles=2)).lines]
    for text in (
        "then hop 1",
        "then hop 2",
        "then hop 3",
        "then hop 4",
        "then step 1",
        "then step 2",
    ):
        assert sum(s.endswith(text) for s in said) == 1


def test_hurdles_say_side_height_and_distance() -> None:
    """Beside the line on the free side: 30 cm off the middle, as BESIDE in hurdles.py."""
    for leg, side in (("right", "left"), ("left", "right")):
        card = tape_card(plan("tevin", "two-hops-step-beside", "track", lead=leg))
        found = [n.what for n in card.lines if n.kind == "hurdle"]
        assert found
        for text in found:
            assert re.fullmatch(
                rf"\d+ cm hurdle beside the line, {side} side, 30 cm off the middle", text
            )
    card = tape_card(plan("tevin", "three-hops-step-over", "track"))
    assert all(
        re.fullmatch(r"\d+ cm hurdle across the line", n.what)
        for n in card.lines
        if n.kind == "hurdle"
    )


def test_step_of_five_centimetres() -> None:
    card = tape_card(plan("imka", "hop-step-sand"), "board", "cm", 0.05)
    assert all(n.shown[-3] in "05" and n.shown.endswith(" m") for n in card.lines)
    assert any(
        n.shown != m.shown
        for n, m in zip(card.lines, tape_card(plan("imka", "hop-step-sand")).lines, strict=True)
    )


def test_feet_and_inches_look_like_feet_and_inches() -> None:
    for line in tape_card(plan("sefa", "full-triple-jump"), "board", "ft").lines:
        assert re.fullmatch(r"\d+' \d{1,2}[¼½¾]?\"", line.shown)


def test_zero_is_told_in_words() -> None:
    texts = {z: c.zero_text for z, c in cards(plan("tevin", "full-triple-jump")).items()}
    assert texts == {
        "board": f"take-off line, {plan('tevin', 'full-triple-jump').place.board:g} m from the pit",
        "start": "start mark of the approach",
        "pit": "near edge of the pit",
    }
    stand = tape_card(plan("imka", "standing-triple-jump"))
    assert stand.zero_text == "start line, toes of both feet"
    track = tape_card(plan("imka", "two-hops-step-track", "track"))
    assert track.zero_text == "take-off line, wherever the drill is to begin"


@pytest.mark.parametrize("zero", ["", "middle", "Board", "pit "])
def test_unknown_zero(zero: str) -> None:
    with pytest.raises(BadInput, match="zero: must be one of board, start, pit"):
        tape_card(plan("imka", "hop-step-sand"), zero)


def test_zero_a_plan_has_not() -> None:
    with pytest.raises(BadInput, match="zero: this drill has no approach, so no start mark"):
        tape_card(plan("imka", "hop-step-hold"), "start")
    with pytest.raises(BadInput, match="zero: this venue has no pit; board or start needed"):
        tape_card(plan("imka", "two-hops-step-track", "track"), "pit")


@pytest.mark.parametrize("step", [0.0, -0.01, 0.007, 0.51, float("nan")])
def test_steps_a_tape_cannot_show(step: float) -> None:
    with pytest.raises(BadInput, match="tape step"):
        tape_card(plan("imka", "hop-step-sand"), "board", "cm", step)
