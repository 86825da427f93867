"""Limits of the ladder, of what is seen and of a session: each begins where the rule says."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import Any

import pytest

from layout.plan.venue import venues
from layout.rules.budget import budget_of
from layout.rules.standing import Standing
from layout.training.block import Part, block, ladder_view, parse_days, session_parts
from layout.training.ladder import _first, above, below, beside, next_rung
from layout.training.rungs import Falls, Wants, ladder, ladder_from
from layout.training.seen import Observed, asked, falls, judge, observed_from, parse_hit
from layout.training.session import Task, parse_session, session_load
from layout.words.split import Split
from tests.limits import taken_from_to
from tests.strategies import ON, member

ROWS = ladder()
SIX = ROWS.find("sand-six")
WANTS = Wants(0.8, "quiet", 0.25, 0.15, (0.27, 0.33))
FALLS = Falls(0.4, "loud", 0.25)


def seen(**what: Any) -> Observed:
    return Observed(ON, **what)


# --- read -----------------------------------------------------------------------------------------

RUNG = [
    ("height", 1, 40), ("strides", 1, 24), ("cycles", 1, 12), ("years", 0.0, 40.0), ("sessions", 1, 30),
    ("rest", 48, 336), ("youngest", 11, 40), ("tolerance", 0.02, 1.0), ("enter.hit", 0.0, 100.0),
    ("enter.contact", 0.08, 1.0), ("enter.knee_gap", 0.0, 1.0), ("down.hit", 0.0, 100.0),
    ("down.contact", 0.08, 1.0), ("enter.step_share.0", 10.0, 58.0), ("enter.step_share.1", 12.0, 60.0),
    ("dose.0", 1, 10), ("dose.1", 1, 20),
]  # fmt: skip


@pytest.mark.parametrize(("field", "low", "high"), RUNG)
def test_a_field_of_a_rung_is_read_from_its_least_to_its_most(
    field: str, low: float, high: float
) -> None:
    name, _, inner = field.partition(".")

    def take(value: Any) -> None:
        table: dict[str, Any] = {"title": "Mine", "height": 1, "drill": "hop-step-sand"}
        if name == "dose":
            table["dose"] = [value, 3] if inner == "0" else [3, value]
        elif inner.startswith("step_share"):
            pair = [value, 59.0] if inner.endswith("0") else [11.0, value]
            table["enter"] = {"step_share": pair}
        else:
            table[name] = {inner: value} if inner else value
        if name == "cycles":
            table["drill"] = "alternate-bounds"
        ladder_from({"rung": {"mine": table}}, "", "")

    if field.startswith("enter.step_share"):
        low, high = (10.0, 58.0) if inner.endswith("0") else (12.0, 60.0)
        take(low)
        take(high)
        with pytest.raises(ValueError, match=r"step_share"):
            take(9.9 if inner.endswith("0") else 60.1)
        return
    taken_from_to(take, low, high)


def test_what_a_rung_leaves_out() -> None:
    bare = {"title": "M", "height": 1, "drill": "hop-step-sand"}
    (rung,) = ladder_from({"rung": {"m": bare}}, "", "").rungs
    assert (rung.years, rung.tolerance, rung.sessions, rung.rest) == (0.0, 0.20, 4, 48)
    assert rung.lead_in is None
    assert (rung.enter, rung.down, rung.dose, rung.start) == (Wants(), Falls(), None, None)
    for pair in ([30, 30], [31, 30]):
        with pytest.raises(ValueError, match="least below most"):
            ladder_from({"rung": {"m": {**bare, "enter": {"step_share": pair}}}}, "", "")


SEEN = [
    ("contact", 0.08, 1.0, 0.08, 1.0), ("step_share", 10.0, 60.0, 0.1, 0.6),
    ("knee_gap", -0.5, 1.0, -0.5, 1.0), ("sessions", 0, 500, 0, 500),
]  # fmt: skip


@pytest.mark.parametrize(("field", "low", "high", "least", "most"), SEEN)
def test_what_was_seen_is_read_from_its_least_to_its_most(
    field: str, low: float, high: float, least: float, most: float
) -> None:
    taken_from_to(lambda v: observed_from({field: v}, ON), low, high)
    taken_from_to(lambda v: seen(**{field: v}), least, most)
    assert getattr(observed_from({field: high}, ON), field) == pytest.approx(most)
    if field != "knee_gap":  # a length, and read as one
        taken_from_to(lambda v: observed_from({field: f"{v:.8g}"}, ON), low, high)


def test_nothing_seen_is_no_word_of_the_athlete() -> None:
    assert seen(at="full", sessions=3).nothing
    for what in ({"hit": (0, 1)}, {"sound": "loud"}, {"contact": 0.2}, {"step_share": 0.3},
                 {"knee_gap": 0.0}, {"pain": True}):  # fmt: skip
        assert not seen(**what).nothing
    for hit in ((-1, 3), (4, 3)):
        with pytest.raises(ValueError, match=r"^hit: runs on the marks"):
            seen(hit=hit)
    assert seen(hit=(0, 0)).hit == (0, 0)
    for text in ("5/4", "0/0", "12345/12345", 4, "4"):
        with pytest.raises(ValueError, match=r"^hit: runs on the marks"):
            parse_hit(text)
    assert parse_hit("9999/9999") == (9999, 9999)
    with pytest.raises(ValueError, match=r"^pain: must be true or false"):
        observed_from({"pain": 1}, ON)


@pytest.mark.parametrize(
    ("text", "made"),
    [("hop-step-sand:1x1", (1, 1)), ("hop-step-sand:20x40", (20, 40)), ("hop-step-sand:20 X 40", (20, 40)),
     ("hop-step-sand:21x1", None), ("hop-step-sand:1x41", None), ("hop-step-sand:0x1", None),
     ("hop-step-sand:1x0", None), ("hop-step-sand:", None), ("hop-step-sand:3", None), (":3x4", None)],
)  # fmt: skip
def test_sets_and_runs_of_a_session(text: str, made: tuple[int, int] | None) -> None:
    if made is None:
        with pytest.raises(ValueError, match=r"^session: "):
            parse_session(text, member("tevin"), ON, ROWS)
        return
    (task,) = parse_session(text, member("tevin"), ON, ROWS)
    assert (task.sets, task.runs) == made


def test_a_session_is_of_20_drills_at_most() -> None:
    assert len(parse_session(", ".join(["hop-step-sand"] * 20), member("tevin"), ON, ROWS)) == 20
    with pytest.raises(ValueError, match=r"^session: at most 20 drills allowed, got 21"):
        parse_session(", ".join(["hop-step-sand"] * 21), member("tevin"), ON, ROWS)


def test_a_dose_that_is_not_written_is_the_drill_s_or_rung_s_inside_the_youth_limits() -> None:
    who, child = member("tevin"), member("runa")
    drill, rung = parse_session("hop-step-sand, sand-six", who, ON, ROWS)
    assert (drill.sets, drill.runs) == drill.drill.dose[2]
    assert (rung.sets, rung.runs) == SIX.dose_at("advanced")
    assert (drill.rest, rung.rest) == (48, SIX.rest)
    assert parse_session("full-triple-jump", who, ON, ROWS)[0].rest == 72
    (small,) = parse_session("hop-step-sand", child, ON, ROWS)
    assert small.sets <= 3
    assert small.runs * 3 <= 10
    assert (small.sets, small.runs) == small.dose
    assert small.doses == 1.0


# --- judged ---------------------------------------------------------------------------------------

MET, SHAPE, HELD = "met", "shape", "held"
JUDGED = [
    ("hit", {"hit": (4, 5)}, MET), ("hit", {"hit": (79, 100)}, HELD), ("hit", {"hit": (3, 3)}, HELD),
    ("hit", {"hit": (4, 4)}, MET), ("hit", {}, HELD), ("sound", {"sound": "quiet"}, MET),
    ("sound", {"sound": "firm"}, HELD), ("sound", {}, HELD), ("contact", {"contact": 0.25}, MET),
    ("contact", {"contact": 0.251}, HELD), ("contact", {}, None), ("knee-gap", {"knee_gap": 0.15}, MET),
    ("knee-gap", {"knee_gap": 0.149}, SHAPE), ("knee-gap", {}, None),
    ("step-share", {"step_share": 0.27}, MET), ("step-share", {"step_share": 0.33}, MET),
    ("step-share", {"step_share": 0.269}, SHAPE), ("step-share", {"step_share": 0.331}, SHAPE),
    ("step-share", {}, HELD), ("sessions", {"sessions": 3}, HELD), ("sessions", {"sessions": 4}, None),
    ("sessions", {}, None),
]  # fmt: skip


@pytest.mark.parametrize(("code", "what", "where"), JUDGED)
def test_what_was_seen_is_judged_at_the_rung_s_own_figures(
    code: str, what: dict[str, Any], where: str | None
) -> None:
    found = judge(WANTS, seen(**what), replace(member("tevin"), best_phases=None), 4)
    places = {k for k in (MET, SHAPE, HELD) if code in {n.code for n in getattr(found, k)}}
    assert places == ({where} if where else set())
    assert not any(n.grave for n in found.met)
    assert all(n.grave for n in (*found.shape, *found.held))


def test_what_a_judgement_says() -> None:
    what = seen(hit=(9, 10), sound="firm", contact=0.16, knee_gap=0.1, step_share=0.284, sessions=1)
    found = judge(WANTS, what, member("tevin"), 4)
    said = {n.code: (n.text, n.source) for n in (*found.met, *found.shape, *found.held)}
    assert said["hit"] == ("9 of 10 runs on the marks; 80 % asked.", "ours")
    assert said["sound"][0] == "Contacts are firm; quiet asked."
    assert said["contact"][0] == "On the ground 0.16 s; 0.25 s or less asked."
    assert said["contact"][1].startswith("Schmidtbleicher")
    assert said["knee-gap"][0] == "Free knee 10 cm behind at the step contact; 15 cm or more asked."
    assert said["step-share"][0] == "The step is 28.4 %; 27 to 33 % asked."
    assert said["sessions"][0] == "1 of 4 sessions done on this rung."
    other = judge(replace(WANTS, contact=0.2), what, member("tevin"), 4)
    assert next(n.source for n in other.met if n.code == "contact") == "ours"
    few = judge(WANTS, seen(hit=(2, 3)), member("tevin"), 4)
    assert few.held[0].text == "2 of 3 runs on the marks: too few to tell; 4 runs at least."
    shown = replace(member("tevin"), best_phases=Split((0.36, 0.28, 0.36), ""))
    text = next(n.text for n in judge(WANTS, seen(), shown, 4).met if n.code == "step-share")
    assert text == "The step is 28.0 % in the best jump; 27 to 33 % asked."
    assert judge(Wants(), seen(), shown, 4) == judge(Wants(), what, shown, 1)
    assert asked(Wants(), SIX) == ()
    assert asked(WANTS, replace(SIX, tolerance=0.25)) == (
        "80 % of runs with every mark met within 25 cm", "quiet contacts", "contacts up to 0.25 s, if timed",
        "free knee 15 cm or more behind at the step, if filmed", "step 27 to 33 % of a whole jump",
    )  # fmt: skip
    assert asked(Wants(sound="firm"), SIX) == ("no louder than firm",)


@pytest.mark.parametrize(
    ("what", "codes"),
    [
        ({}, []), ({"sound": "firm"}, []), ({"sound": "loud"}, ["sound"]), ({"hit": (2, 5)}, []),
        ({"hit": (39, 100)}, ["hit"]), ({"hit": (0, 3)}, []), ({"hit": (1, 4)}, ["hit"]),
        ({"contact": 0.25}, []), ({"contact": 0.251}, ["contact"]),
        ({"sound": "loud", "hit": (0, 9), "contact": 0.4}, ["sound", "hit", "contact"]),
    ],
)  # fmt: skip
def test_what_sends_down_does_so_at_the_rung_s_own_figures(
    what: dict[str, Any], codes: list[str]
) -> None:
    rung = replace(SIX, down=FALLS)
    found = falls(rung, seen(**what))
    assert [n.code for n in found] == codes
    assert falls(replace(SIX, down=Falls()), seen(**what)) == []
    said = {n.code: n for n in found}
    if "hit" in said:
        assert said["hit"].text.endswith("runs on the marks; under 40 % goes down.")
    if "contact" in said:
        assert "over 0.25 s is no longer a fast rebound" in said["contact"].text
        assert said["contact"].source.startswith("Schmidtbleicher")
        slower = falls(replace(SIX, down=Falls(contact=0.24)), seen(**what))
        assert slower[0].source == "ours"


# --- rungs and weeks ------------------------------------------------------------------------------


@pytest.mark.parametrize("level", ["intermediate", "advanced"])
def test_where_a_level_s_start_is_closed_one_as_high_comes_before_a_lower_one(level: str) -> None:
    start = next(r for r in ROWS.rungs if r.start == level)
    lower = [r for r in ROWS.rungs if r.height < start.height]
    as_high, higher = (
        replace(start, slug=slug, start=None, height=start.height + n)
        for n, slug in enumerate(("as-high", "higher"))
    )
    assert _first([*lower, start, higher], level, ROWS) is start
    assert _first([*lower, as_high, higher], level, ROWS) is as_high
    assert _first([*lower, higher], level, ROWS).height == lower[-1].height
    assert _first([higher], level, ROWS) is higher


def test_above_below_and_beside_are_of_the_next_height_that_has_one() -> None:
    rungs = list(ROWS.rungs)
    heights = sorted({r.height for r in rungs})
    for rung in rungs:
        at = heights.index(rung.height)
        up, down, aside = above(rung, rungs), below(rung, rungs), beside(rung, rungs)
        first = {h: next(r for r in rungs if r.height == h) for h in heights}
        assert up == (first[heights[at + 1]] if at + 1 < len(heights) else None)
        assert down == (first[heights[at - 1]] if at else None)
        same = [r for r in rungs if r.height == rung.height]
        assert aside is None or (aside in same and aside is not rung)
        if aside is not None and rung.intensity != "very high":
            assert aside.intensity != "very high"


@pytest.mark.parametrize(("weeks", "fine"), [(0, False), (1, True), (26, True), (27, False)])
def test_a_block_is_of_1_to_26_weeks(weeks: int, fine: bool) -> None:
    who = member("tevin")
    placing = next_rung(who, seen(), ROWS)
    if not fine:
        with pytest.raises(ValueError, match=r"^weeks: must be 1 to 26"):
            block(who, placing, ROWS, ON, weeks)
        return
    made = block(who, placing, ROWS, datetime.date(2026, 5, 4), weeks)
    assert len(made.sessions) == 2 * weeks
    assert [s.week for s in made.sessions] == [1 + n // 2 for n in range(2 * weeks)]
    assert [s.number for s in made.sessions] == list(range(1, 2 * weeks + 1))
    assert [s.easy for s in made.sessions] == [s.week % 4 == 0 for s in made.sessions]
    assert made.contacts == sum(made.by_week().values()) == sum(made.by_drill().values())
    assert made.most == max(s.contacts for s in made.sessions)
    assert sum(made.by_intensity().values()) == made.contacts
    with pytest.raises(ValueError, match=r"^from: must be a year before 9999"):
        block(who, placing, ROWS, datetime.date(9999, 1, 1), weeks)


@pytest.mark.parametrize(("done", "stays"), [(0, 4), (1, 3), (2, 2), (3, 2), (9, 2)])
def test_a_rung_not_left_is_stayed_on_for_two_sessions_at_least(done: int, stays: int) -> None:
    who = member("tevin")
    placing = next_rung(who, seen(at="sand-six", sessions=done), ROWS)
    made = block(who, placing, ROWS, datetime.date(2026, 5, 4), 8, done=done)
    assert placing.rung.sessions == 4
    here = [s.main.rung.slug for s in made.sessions]
    assert here[:stays] == ["sand-six"] * stays
    assert here[stays] != "sand-six"
    assert [bool(s.only_if) for s in made.sessions[: stays + 1]] == [False] * stays + [True]
    # The first session on a rung has one set fewer, one done before is not the first.
    whole = session_parts(who, SIX, ROWS.rungs, ON)[-1].sets
    assert made.sessions[0].main.sets == (whole - 1 if done == 0 else whole)
    assert made.sessions[stays].main.sets < made.sessions[stays + 1].main.sets


def test_too_few_hours_and_too_many_days_are_left_out_and_said() -> None:
    monday, who = datetime.date(2026, 5, 4), member("tevin")
    placing = next_rung(who, seen(at="sand-six"), ROWS)
    close = block(who, placing, ROWS, monday, 1, (0, 1, 2))
    assert [(r.on.day, r.hours) for r in close.left_out] == [(5, 24)]
    assert close.left_out[0].why.startswith("only 24 h after ")
    assert close.left_out[0].why.endswith(f"; {SIX.rest} h needed")
    assert [s.on.day for s in close.sessions] == [4, 6]
    child = member("runa")
    young = block(child, next_rung(child, seen(), ROWS), ROWS, monday, 2, (0, 2, 4, 6))
    # Two in any seven days: Monday, Wednesday; Friday and Sunday are out; then again.
    assert [s.on.day for s in young.sessions] == [4, 6, 11, 13]
    assert {r.why for r in young.left_out} == {"at most 2 sessions a week under 16"}
    assert not block(who, replace(placing, advice="rest"), ROWS, monday, 4).sessions


def test_a_session_over_the_budget_loses_the_lead_in_then_sets_then_runs() -> None:
    who = member("tevin")
    lead = next(r for r in ROWS.rungs if r.lead_in)
    most = budget_of(who.standing(ON)).most

    def cut(sets: int, runs: int) -> list[tuple[int, int]]:
        rung = replace(lead, dose=(sets, runs))
        return [(p.sets, p.runs) for p in session_parts(who, rung, ROWS.rungs, ON)]

    assert len(cut(1, 1)) == 2
    assert cut(1, 1)[0][0] == 1
    per = lead.contacts
    runs = most // per
    assert cut(1, runs) == [(1, runs)]
    assert cut(1, runs + 1) == [(1, runs)]
    assert cut(3, runs // 2) == [(2, runs // 2)]
    assert session_parts(who, SIX, ROWS.rungs, ON, fewer=99)[-1].sets == 1
    part = Part(SIX, 3, 4)
    assert part.contacts == 3 * 4 * SIX.contacts


def test_days_are_read_once_each_in_order() -> None:
    assert parse_days("sun,Mon, friday") == (0, 4, 6)
    for text in ("mon,mon", "mon,monday", "mo", ""):
        with pytest.raises(ValueError, match=r"^days: "):
            parse_days(text)


# --- a session's load -----------------------------------------------------------------------------


def _load(text: str, **changed: Any) -> Any:
    who = replace(member("tevin"), **changed)
    return session_load(who, parse_session(text, who, ON, ROWS), venues()["club"], ON)


def test_over_the_budget_over_the_dose_and_hard_together() -> None:
    budget = budget_of(Standing(27, "advanced", 10.0))
    exact, over = _load("hop-step-sand:10x4"), _load("hop-step-sand:10x5")
    assert (exact.contacts, over.contacts, budget.most) == (120, 150, 140)
    assert not exact.over
    assert over.over
    text = next(n.text for n in over.notes if n.code == "over-budget")
    assert text == "150 contacts; at most 140 in a session at advanced level. Take 10 off."
    assert "over-budget" not in {n.code for n in exact.notes}
    assert not _load("hop-step-sand:7x5, standing-triple-jump:1x1").over
    sets, runs = exact.done[0].task.drill.dose[2]
    for n, said in ((0, False), (1, True)):
        made = _load(f"hop-step-sand:1x{sets * runs + n}")
        assert ("over-dose" in {x.code for x in made.notes}) == said
    assert f"its dose here is {sets} x {runs}, so {sets * runs}. Cut it to that." in next(
        x.text for x in made.notes if x.code == "over-dose"
    )


def test_of_a_plan_s_warnings_a_session_says_those_of_the_athlete_and_the_ground() -> None:
    """Where a board or a mark lies is on each drill's own sheet."""
    who, slug = member("tevin"), "hop-step-sand"
    tasks, club = parse_session(f"{slug}:1x2", who, ON, ROWS), venues()["club"]
    plain = session_load(who, tasks, club, ON).done[0].plan
    into = plain.contacts[-1].x - plain.place.end_x
    rough = replace(club, surface="concrete", pit_length=into + 0.3)
    made = session_load(who, tasks, rough, ON)
    codes = {n.code for n in made.done[0].plan.warnings}
    assert {"surface", "sand-end"} <= codes
    assert {n.code for n in made.notes} & codes == {"surface"}


def test_hard_drills_come_to_one_dose_together() -> None:
    tasks = parse_session("full-triple-jump, short-triple-jump", member("tevin"), ON, ROWS)

    def together(*shares: tuple[int, int]) -> list[str]:
        own: list[Task] = [
            replace(t, sets=s, runs=1, dose=(of, 1))
            for t, (s, of) in zip(tasks, shares, strict=True)
        ]
        load = session_load(member("tevin"), own, venues()["club"], ON)
        return [n.text for n in load.notes if n.code == "hard-together"]

    assert together((1, 2), (1, 2)) == []
    (text,) = together((2, 3), (1, 2))
    assert text == (
        "Hard drills, full-triple-jump, short-triple-jump: 1.2 doses together; one session holds 1."
    )


def test_one_leg_with_over_three_fifths_is_said() -> None:
    even = _load("single-leg-hops:2x2")
    assert even.balance == (50, 50)
    assert "uneven" not in {n.code for n in even.notes}
    edge = _load("single-leg-hops:1x2, single-leg-hops:1x1")
    assert (edge.left, edge.right) == (6, 12)
    note = next(n for n in edge.notes if n.code == "uneven")
    assert note.text.startswith("67 % of the one-foot contacts are on the right leg")
    assert not note.grave
    # Five runs that change legs, of six contacts: 12 and 18 is 60 %, and no more than that.
    five = _load("single-leg-hops:5x1")
    assert (five.left, five.right, five.balance) == (12, 18, (40, 60))
    assert "uneven" not in {n.code for n in five.notes}
    left = _load("single-leg-hops:1x2, single-leg-hops:1x1", leg="left")
    assert "on the left leg" in next(n.text for n in left.notes if n.code == "uneven")


def test_the_young_have_sets_and_contacts_a_set_said() -> None:
    who = member("runa")

    def codes(text: str) -> list[str]:
        made = session_load(who, parse_session(text, who, ON, ROWS), venues()["club"], ON)
        return [n.code for n in made.notes if n.code.startswith("youth")]

    assert codes("hop-step-sand:3x3") == []
    assert codes("hop-step-sand:4x3") == ["youth-sets"]
    assert codes("hop-step-sand:2x2, hop-step-sand:2x2") == ["youth-sets"]
    assert codes("hop-step-sand:3x4") == ["youth-reps"]


def test_a_view_shows_what_is_open_ahead_and_what_to_set_out() -> None:
    who = member("imka")
    placing = next_rung(who, seen(at="sand-six"), ROWS)
    made = block(who, placing, ROWS, datetime.date(2026, 5, 4), 4)
    view = ladder_view(who, placing, ROWS, made, venues()["club"], ON, 4)
    shut = {r.slug for r, _ in placing.closed}
    assert [r.slug for r in view.ahead] == [
        r.slug for r in ROWS.rungs if r.slug not in shut and r.height >= SIX.height
    ]
    assert view.highest == max(r.height for r in ROWS.rungs)
    used = {p.rung.slug for s in made.sessions for p in s.parts}
    assert placing.up is not None
    assert set(view.to_set_out) == used | {"sand-six", placing.up.slug}
    assert len(view.to_set_out) == len(set(view.to_set_out))
    assert set(view.plans) | set(view.unplanned) == {r.slug for r in ROWS.rungs} - shut
    assert list(view.budgets.values()) == [made.sessions[0].on]
    close = block(who, placing, ROWS, datetime.date(2026, 5, 4), 2, (0, 1, 3))
    again = ladder_view(who, placing, ROWS, close, venues()["club"], ON, 2)
    assert [len(days) for days in again.left_out.values()] == [2]
    assert list(again.left_out) == ["only 24 h after the session before"]
