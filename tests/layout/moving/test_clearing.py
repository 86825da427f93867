"""Hurdles against the demo's solved motions: best place, clearance, advice that works when followed."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest
import shapely

from animate.body.figure import athlete
from animate.body.shapes import Area, Stroke
from animate.motion.check import check
from animate.motion.clearance import BAR, lowest, sweep_of
from animate.motion.motion import Motion
from layout.commands.demo_ import plans
from layout.moving.clearing import CAUTION, OURS, cleared, holds, room_for, shown, unsolved
from layout.moving.solved import motion_of
from layout.plan.drill import HURDLE_HEIGHTS
from layout.plan.hurdles import CHECKED, MARGIN, SLACK
from layout.plan.spacing import FOOT_Y
from layout.plan.value import Hurdle, Plan
from layout.rules.standing import CONE, YOUNG_MOST
from tests import strategies as own

DEMO = {stem: plan for stem, plan, *_ in plans() if plan.hurdles}
STEMS = sorted(DEMO)


_kept = lru_cache(maxsize=8)(sweep_of)


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a motion sweeps is worked out once for all tests."""
    monkeypatch.setattr("layout.moving.clearing.sweep_of", _kept)


@lru_cache(maxsize=4)
def motion(stem: str) -> Motion:
    return motion_of(DEMO[stem])


@lru_cache(maxsize=16)
def made(stem: str, move: bool = True) -> Plan:
    return cleared(DEMO[stem], motion(stem), move)


def tall(plan: Plan, height: float) -> Plan:
    """The same plan with hurdles of another height, not checked."""
    hurdles = tuple(
        replace(h, height=height, body_above=h.body_above + h.height - height) for h in plan.hurdles
    )
    return replace(plan, hurdles=hurdles)


def warned(plan: Plan) -> list[str]:
    return [n.text for n in plan.warnings if n.code in OURS]


def found(hurdle: Hurdle) -> float:
    assert hurdle.clearing is not None
    return hurdle.clearing.gap


def test_the_demo_has_both_kinds() -> None:
    assert {h.place for p in DEMO.values() for h in p.hurdles} == {"beside", "over"}


# --- where it stands ------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", STEMS)
def test_no_other_place_has_more_room(stem: str) -> None:
    plan = made(stem)
    swept = _kept(motion(stem))
    for hurdle in plan.hurdles:
        start, end = room_for(plan, hurdle.flight)
        assert start <= hurdle.x <= end
        assert 100 * hurdle.x == pytest.approx(round(100 * hurdle.x), abs=1e-6)
        # Every five centimetres of the flight, as badly as it may be met.
        others = np.arange(start, end, 0.05)
        around = others[:, None] + np.linspace(-SLACK, SLACK, 11)
        low = lowest(swept, np.unique(around.round(6)))
        at = dict(zip(np.unique(around.round(6)).tolist(), low.tolist(), strict=True))
        best = max(min(at[x] for x in row.round(6).tolist()) for row in around)
        assert hurdle.clearing is not None
        assert hurdle.clearing.worst + hurdle.height >= best - 0.003


@pytest.mark.parametrize("stem", STEMS)
def test_it_stands_clear_of_every_landing(stem: str) -> None:
    plan = made(stem)
    for hurdle in plan.hurdles:
        before, after = plan.contacts[hurdle.flight], plan.contacts[hurdle.flight + 1]
        shoe = 0.152 * plan.who.stature
        assert before.x < hurdle.x - 0.1
        assert hurdle.x + 0.1 < after.x - shoe


@pytest.mark.parametrize("stem", STEMS)
def test_under_the_highest_point_is_not_the_best_place(stem: str) -> None:
    """What this is for: in the middle of the flight the free foot comes through low."""
    for one, two in zip(made(stem, False).hurdles, made(stem).hurdles, strict=True):
        assert one.x == pytest.approx(DEMO[stem].flights[one.flight].apex_x)
        assert found(two) > found(one) + 0.01


@pytest.mark.parametrize("stem", STEMS)
def test_the_other_leg_is_the_same_with_the_sides_changed(stem: str) -> None:
    one, two = made(stem), cleared(DEMO[stem], motion(stem).mirrored())
    other = {"left": "right", "right": "left"}
    for a, b in zip(one.hurdles, two.hurdles, strict=True):
        assert a.clearing is not None
        assert b.clearing is not None
        assert a.x == b.x
        assert a.clearing.gap == pytest.approx(b.clearing.gap, abs=1e-9)
        side, _, part = a.clearing.part.partition(" ")
        assert b.clearing.part == f"{other[side]} {part}"


# --- how much room --------------------------------------------------------------------------------


@pytest.mark.parametrize("heights", [(0.60, 0.30), (0.30, 0.05)])
@pytest.mark.parametrize("stem", STEMS)
def test_lowering_by_d_clears_by_d_more(stem: str, heights: tuple[float, float]) -> None:
    high, low = (_placed(stem, h) for h in heights)
    for a, b in zip(high.hurdles, low.hurdles, strict=True):
        assert a.x == b.x
        assert found(b) - found(a) == pytest.approx(heights[0] - heights[1], abs=1e-9)


@lru_cache(maxsize=16)
def _placed(stem: str, height: float) -> Plan:
    return cleared(tall(DEMO[stem], height), motion(stem))


@pytest.mark.parametrize("stem", STEMS)
def test_the_body_drawn_at_that_instant_is_that_far_over_the_bar(stem: str) -> None:
    for hurdle in made(stem).hurdles:
        clearing = hurdle.clearing
        assert clearing is not None
        assert clearing.gap == pytest.approx(clearing.z - hurdle.height)
        body = motion(stem).frames(np.array([clearing.time])).positions[0]
        strip = shapely.box(hurdle.x - BAR / 2, -1, hurdle.x + BAR / 2, 3)
        areas = [shapely.Polygon(s.points).buffer(0) for s in athlete(body) if isinstance(s, Area)]
        low = shapely.bounds(shapely.union_all(areas).intersection(strip))[1]
        # Half a millisecond of a foot's way, and the hollow of a sole that the hull fills.
        assert low == pytest.approx(clearing.z, abs=0.012)
        assert low >= clearing.z - 5e-4


@pytest.mark.parametrize("stem", STEMS)
def test_the_greatest_height_leaves_the_margin_and_the_next_does_not(stem: str) -> None:
    grown = replace(DEMO[stem], who=replace(DEMO[stem].who, age=20))
    ladder = [CONE, *(h / 100 for h in HURDLE_HEIGHTS)]
    for hurdle in cleared(grown, motion(stem)).hurdles:
        assert hurdle.clearing is not None
        room = hurdle.height + hurdle.clearing.worst
        most = hurdle.clearing.greatest
        assert most in ladder
        assert most + MARGIN <= room + 1e-9
        assert all(h + MARGIN > room for h in ladder if h > most)
        at = tall(replace(grown, hurdles=(hurdle,)), most)
        assert warned(cleared(at, motion(stem))) == []
        higher = tall(at, ladder[ladder.index(most) + 1])
        assert len(warned(cleared(higher, motion(stem)))) == 1


@pytest.mark.parametrize(("age", "most"), [(11, CONE), (12, YOUNG_MOST), (14, YOUNG_MOST)])
@pytest.mark.parametrize("stem", STEMS)
def test_the_young_are_offered_no_more_than_their_limit(stem: str, age: int, most: float) -> None:
    young = replace(DEMO[stem], who=replace(DEMO[stem].who, age=age))
    for hurdle in cleared(young, motion(stem)).hurdles:
        assert hurdle.clearing is not None
        assert hurdle.clearing.greatest <= most


def test_sideways_is_from_the_hurdle_to_the_shoe_on_its_side() -> None:
    plan = made("bram-two-hops-step-beside")
    half = 0.36 * 0.152 * plan.who.stature / 2
    hop, step = (h.clearing.aside for h in plan.hurdles if h.clearing)
    # Left-legged: hurdles on the right; two left feet round the hop, a right one after the step.
    assert hop == pytest.approx(0.30 + FOOT_Y - half, abs=0.002)
    assert step == pytest.approx(0.30 - FOOT_Y - half, abs=0.002)
    over = made("tevin-three-hops-step-over")
    assert all(h.clearing and h.clearing.aside is None for h in over.hurdles)


@pytest.mark.parametrize("stem", STEMS)
def test_the_underside_is_near_and_under_the_body(stem: str) -> None:
    swept = _kept(motion(stem))
    for hurdle in made(stem).hurdles:
        assert hurdle.clearing is not None
        xs, zs = np.array(hurdle.clearing.under).T
        assert len(xs) > 20
        assert all(b > a for a, b in pairwise(xs.tolist()))
        assert np.abs(xs - hurdle.x).max() <= 0.751
        assert np.abs(lowest(swept, xs, 0.001) - zs).max() < 0.02
        assert np.interp(hurdle.x, xs, zs) >= hurdle.clearing.z - 0.002


# --- what is said ---------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", STEMS)
def test_what_is_checked_says_so_and_no_longer_that_it_is_not(stem: str) -> None:
    assert any(n.code == "hurdle-unchecked" for n in DEMO[stem].warnings)
    plan = made(stem)
    assert {h.checked for h in plan.hurdles} == {CHECKED}
    assert [n.code for n in plan.notes if n.code in OURS] == ["hurdle-checked"]
    (note,) = [n for n in plan.notes if n.code == "hurdle-checked"]
    assert "ours" in note.source
    assert f"{100 * MARGIN:.0f} cm" in note.text
    assert plan.cautions.count(CAUTION) == 1
    assert plan.cautions[-1] == DEMO[stem].cautions[-1]
    assert cleared(plan, motion(stem)) == plan


@pytest.mark.parametrize("stem", STEMS)
def test_a_hit_is_warned_of_and_lowering_as_told_mends_it(stem: str) -> None:
    plan = _placed(stem, 0.60)
    texts = warned(plan)
    assert len(texts) == len(plan.hurdles)
    for hurdle, text in zip(plan.hurdles, texts, strict=True):
        assert hurdle.clearing is not None
        assert text.startswith("The 60 cm hurdle ")
        assert hurdle.clearing.part in text
        assert f"{np.ceil(-100 * hurdle.clearing.gap - 1e-6):.0f} cm too low" in text
        assert f"ower it to {100 * hurdle.clearing.greatest:.0f} cm" in text
        assert ("if a foot strays over it" in text) == (hurdle.place == "beside")
        lower = tall(replace(plan, hurdles=(hurdle,)), hurdle.clearing.greatest)
        assert warned(cleared(lower, motion(stem))) == []


@pytest.mark.parametrize("stem", STEMS)
def test_moving_as_told_mends_a_hit(stem: str) -> None:
    """A hurdle right in front of the take-off foot is hit; where it is told to go it is not."""
    for index in range(len(DEMO[stem].hurdles)):
        hurdle = DEMO[stem].hurdles[index]
        near = replace(hurdle, x=room_for(DEMO[stem], hurdle.flight)[0])
        plan = cleared(replace(DEMO[stem], hurdles=(near,)), motion(stem), False)
        (text,) = warned(plan)
        assert "hits it" in text
        assert _flight(plan, hurdle.flight) in text
        told = re.search(r"Move it (\d+) cm (on|back)", text)
        assert told is not None
        far = int(told[1]) / 100 * (1 if told[2] == "on" else -1)
        moved = replace(near, x=near.x + far)
        again = cleared(replace(plan, hurdles=(moved,)), motion(stem), False)
        assert warned(again) == []


def _flight(plan: Plan, number: int) -> str:
    flight = plan.flights[number]
    nth = [f.number for f in plan.flights if f.phase == flight.phase].index(number) + 1
    return f"{flight.phase} {nth}" if flight.phase == "hop" else "the step"


def spread(hurdle: Hurdle) -> float:
    """How much less room there is a step off its place [m]."""
    assert hurdle.clearing is not None
    return hurdle.clearing.gap - hurdle.clearing.worst


def most_spread(move: bool) -> tuple[str, Hurdle]:
    """The demo's hurdle with the most."""
    stem, hurdle = max(
        ((s, h) for s in STEMS for h in made(s, move).hurdles), key=lambda row: spread(row[1])
    )
    assert spread(hurdle) > 0.008
    return stem, hurdle


def test_a_tight_one_says_how_tight_and_what_a_step_off_does() -> None:
    stem, hurdle = most_spread(True)
    assert hurdle.clearing is not None
    room, part = hurdle.height + hurdle.clearing.worst, hurdle.clearing.part
    alone = replace(made(stem), hurdles=(hurdle,))
    for off, code, said in (
        (-0.03, "hurdle-tight", "by 3 cm when 10 cm off its place; 5 cm needed"),
        (spread(hurdle) / 2, "hurdle-tight", "but hits it when 10 cm off its place"),
        (spread(hurdle) + 0.015, "hurdle-hit", f"the {part} hits it, 2 cm too low"),
    ):
        notes = cleared(tall(alone, room + off), motion(stem)).warnings
        (note,) = [n for n in notes if n.code in OURS]
        assert note.code == code
        assert said in note.text


def test_a_longer_approach_is_for_a_flight_too_short_not_too_low() -> None:
    """Room enough in the middle of a gap too narrow: only then does length help."""
    stem, hurdle = most_spread(False)
    assert hurdle.clearing is not None
    height = hurdle.height + hurdle.clearing.worst - MARGIN + spread(hurdle) / 2
    alone = replace(made(stem, False), hurdles=(hurdle,))
    tight = cleared(tall(alone, height), motion(stem), False)
    found_ = tight.hurdles[0].clearing
    assert found_ is not None
    assert found_.gap >= MARGIN > found_.worst
    assert "longer approach" in warned(tight)[0]
    assert "longer approach" not in " ".join(warned(_placed(stem, 0.60)))


def test_a_hurdle_moved_off_a_landing_is_no_longer_said_to_stand_there() -> None:
    from layout.words.note import Note

    stem = STEMS[0]
    stale = Note("underfoot", "The hurdle under flight 2 stands where a foot lands.", "venue")
    lane = Note("misplaced", "The hurdle under flight 2 stands in the next lane.", "venue")
    plan = replace(DEMO[stem], notes=(*DEMO[stem].notes, stale, lane))
    notes = cleared(plan, motion(stem)).notes
    assert stale not in notes
    assert lane in notes
    assert stale in cleared(plan, motion(stem), False).notes


def test_a_motion_that_breaks_mechanics_is_not_trusted_in_silence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stem = STEMS[0]
    good = check(motion(stem))
    second, third = replace(good.contacts[1], slip=9e-3), replace(good.contacts[2], least=-0.5)
    spoilt = replace(good, contacts=(good.contacts[0], second, third, *good.contacts[3:]))
    monkeypatch.setattr("layout.moving.clearing.check", lambda _: spoilt)
    (note,) = [n for n in cleared(DEMO[stem], motion(stem)).warnings if n.code in OURS]
    assert "contact 2: foot slips 9.00 mm and 1 more" in note.text
    assert "cones" in note.text


def test_without_hurdles_nothing_is_done() -> None:
    plan = own.plan("imka", "hop-step-sand")
    assert cleared(plan, motion(STEMS[0])) is plan


def test_an_unsolved_plan_says_why() -> None:
    plan = unsolved(DEMO[STEMS[0]], "no motion in 0.5 s")
    (note,) = [n for n in plan.warnings if n.code in OURS]
    assert note.code == "hurdle-unchecked"
    assert "no motion in 0.5 s" in note.text
    assert "not checked for clearance" in note.text
    assert all(h.clearing is None for h in plan.hurdles)


# --- in a clip ------------------------------------------------------------------------------------


@pytest.mark.parametrize("stem", STEMS)
def test_a_clip_rests_where_each_hurdle_is_passed_and_measures_it(stem: str) -> None:
    plan = made(stem)
    notes = shown(plan)
    assert [n.start for n in notes] == [t for t, _ in holds(plan)]
    assert holds(plan, [t for t, _ in holds(plan)]) == ()
    for note, hurdle in zip(notes, plan.hurdles, strict=True):
        assert hurdle.clearing is not None
        assert note.start == note.end == hurdle.clearing.time
        assert hurdle.clearing.part in note.text
        assert note.draw is not None
        shapes = note.draw([(0.0, 0.0)] * 17)
        heights = {z for s in shapes if isinstance(s, Stroke) for _, z in s.points}
        assert heights == {hurdle.height, hurdle.clearing.z}
    assert shown(DEMO[stem]) == []
    assert holds(DEMO[stem]) == ()
