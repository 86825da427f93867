"""The load of a planned session: counted by hand and against independent counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from layout.plan.drill import catalogue
from layout.plan.spacing import make_plan
from layout.plan.venue import venues
from layout.rules.load import COMPARED, PEAKS
from layout.training.block import Part, block
from layout.training.ladder import next_rung
from layout.training.rungs import ladder
from layout.training.seen import Observed
from layout.training.session import (
    CONTACT_KINDS,
    SessionLoad,
    Task,
    kind_of,
    parse_session,
    session_load,
)
from layout.words.faults import BadInput
from layout.words.trade import LEVELS
from tests.published import published
from tests.strategies import CLUB, ON, attempt, drill_names, member, plan

LOAD = {row["id"]: row for row in published("load.toml")}
MECHANICS = {row["id"]: row for row in published("mechanics.toml")}


def tasks_of(parts: Sequence[Part]) -> tuple[Task, ...]:
    """The tasks of a session of a block."""
    return tuple(
        Task(
            p.rung.slug,
            p.rung.drill,
            p.rung.choices,
            p.sets,
            p.runs,
            p.rung.rest,
            (p.sets, p.runs),
            p.rung.demand,
        )
        for p in parts
    )


def load_of(name: str, text: str, **changed: object) -> SessionLoad:
    who = replace(member(name), **changed)  # type: ignore[arg-type]
    return session_load(who, parse_session(text, who, ON, ladder()), venues()["club"], ON)


def counted(load: SessionLoad) -> dict[str, tuple[int, int, int]]:
    return {k.kind: (k.left, k.right, k.both) for k in load.kinds}


def codes(load: SessionLoad) -> list[str]:
    return [n.code for n in load.notes if n.grave]


# --- published ------------------------------------------------------------------------------------


def test_peaks_are_the_published_ones() -> None:
    college, step = MECHANICS["force-first-college"], MECHANICS["peak-force-step"]
    for kind in ("run take-off", "hop", "step", "jump"):
        assert (PEAKS[kind][0].low, PEAKS[kind][0].high) == (college["low"], college["high"])
        assert PEAKS[kind][0].source == "Ramey & Williams 1985"
    assert [p.high for p in PEAKS["step"]] == [college["high"], step["peak"]]
    # Nothing was measured of landings: nothing is said.
    assert PEAKS["sand landing"] == PEAKS["track landing"] == ()
    rows = [LOAD[f"peak-{k}"]["peak"] for k in ("vertical-jump", "standing-long-jump", "drop-90")]
    assert [p.low for p in COMPARED] == rows


# --- by hand --------------------------------------------------------------------------------------


def test_contacts_by_kind_and_leg_by_hand() -> None:
    """Tevin, right-legged: run take-off and hop landing right, step lands left in the sand."""
    load = load_of("tevin", "hop-step-sand:3x4, full-triple-jump:1x2")
    assert counted(load) == {
        "run take-off": (0, 14, 0),
        "step": (0, 14, 0),
        "jump": (2, 0, 0),
        "sand landing": (12, 0, 2),
    }
    assert (load.contacts, load.left, load.right, load.both) == (44, 14, 28, 2)
    assert [d.contacts for d in load.done] == [36, 8]
    assert load.budget.pair == (120, 140)
    assert load.rest == 72
    assert codes(load) == []
    assert [n.code for n in load.notes] == ["uneven"]


def test_a_left_legged_athlete_is_the_mirror() -> None:
    text = "hop-step-sand:3x4, two-hops-step-track:2x2, full-triple-jump:1x2"
    left, right = (load_of("tevin", text, leg=leg) for leg in ("left", "right"))
    assert counted(left) == {k: (r, lft, b) for k, (lft, r, b) in counted(right).items()}


def test_a_drill_that_either_leg_leads_changes_legs_every_run() -> None:
    # Five hops from the run-in: six contacts on the lead leg; 4 runs make 12 and 12.
    load = load_of("tevin", "single-leg-hops:2x2")
    assert (load.left, load.right) == (12, 12)
    assert load.done[0].changing
    # Of three runs two are on the strong leg.
    load = load_of("tevin", "single-leg-hops:1x3")
    assert (load.left, load.right) == (6, 12)


def test_a_start_from_standing_is_not_counted() -> None:
    load = load_of("tevin", "standing-triple-jump:1x1")
    assert counted(load) == {"step": (0, 1, 0), "jump": (1, 0, 0), "sand landing": (0, 0, 1)}


def test_mean_forces_are_those_of_the_plan() -> None:
    load = load_of("tevin", "full-triple-jump:1x1")
    made = plan("tevin", "full-triple-jump")
    for kind, contact in zip(("run take-off", "step", "jump"), made.contacts[:3], strict=True):
        found = next(k for k in load.kinds if k.kind == kind)
        assert found.vertical == (contact.vertical, contact.vertical)
        assert found.braking == (contact.braking, contact.braking)
    sand = next(k for k in load.kinds if k.kind == "sand landing")
    assert (sand.vertical, sand.braking, sand.peaks) == (None, None, ())


def test_over_budget_warns_with_its_source_and_nothing_is_cut() -> None:
    row = LOAD["contacts-advanced"]
    # 3 contacts a run: 18 runs are its dose. 9 a run: 15 runs are 135, 16 are 144.
    assert codes(load_of("tevin", "hop-step-sand:3x6")) == []
    inside = load_of("tevin", "alternate-bounds:3x5")
    assert inside.contacts == 135 <= row["high"]
    assert codes(inside) == ["over-dose"]
    over = load_of("tevin", "alternate-bounds:4x4")
    assert over.contacts == 144 > row["high"]
    note = over.notes[0]
    assert note.code == "over-budget"
    assert f"at most {row['high']} in a session at advanced level" in note.text
    assert "Take 4 off" in note.text
    assert "NSCA" in note.source


def test_a_session_is_held_against_each_drills_own_dose_and_intensity() -> None:
    """35 full jumps are 140 contacts, which the budget alone would let through."""
    load = load_of("tevin", "full-triple-jump:7x5")
    assert load.contacts == 140 == load.budget.most
    (note,) = (n for n in load.notes if n.grave)
    assert note.code == "over-dose"
    assert (
        note.text
        == "full-triple-jump, very high: 35 runs; its dose here is 2 x 4, so 8. Cut it to that."
    )
    # Named twice, as rung and as drill, it is the same drill.
    assert codes(load_of("tevin", "full-triple-jump, full")) == ["over-dose"]
    assert codes(load_of("tevin", "full-triple-jump:1x4, full:1x4")) == []
    # Each hard drill inside its own dose, and too much together; easy ones beside are no matter.
    assert codes(load_of("tevin", "full-triple-jump:2x4, short-triple-jump:3x4")) == [
        "hard-together"
    ]
    assert codes(load_of("tevin", "full-triple-jump:1x4, short-triple-jump:1x6")) == []
    assert codes(load_of("tevin", "full-triple-jump:2x4, hop-step-hold:3x6")) == []


@pytest.mark.parametrize(
    ("name", "text", "changed", "why"),
    [("runa", "full-triple-jump:1x1", {}, "Very hard contacts"), ("bram", "short-six", {}, "Very hard"),
     ("runa", "hop-step-hold, two-hops-step-track", {}, "two-hops-step-track is closed to Runa"),
     ("tevin", "full-triple-jump", {"born": None}, "Give the year of birth"),
     ("tevin", "full-triple-jump", {"level": "beginner"}, "For intermediate athletes"),
     ("tevin", "full-triple-jump", {"level": "beginner", "level_given": False}, "Give the level")],
)  # fmt: skip
def test_a_session_with_a_drill_that_is_closed_is_refused(
    name: str, text: str, changed: dict[str, object], why: str
) -> None:
    with pytest.raises(BadInput, match="is closed to") as error:
        load_of(name, text, **changed)
    assert why in str(error.value)


def test_a_childs_session_is_held_against_the_youth_limit_and_no_other() -> None:
    load = load_of("runa", "hop-step-sand:4x15")
    assert load.contacts == 180
    note = load.notes[0]
    assert note.code == "over-budget"
    assert note.text == (
        "180 contacts; at most 30 in a session under 16, 3 sets of 10. Cut the session to that."
    )
    assert "ACSM" in note.source
    for fine in ("hop-step-sand:1x1", "hop-step-sand:3x3"):
        assert codes(load_of("runa", fine)) == []


def test_youth_limits_warn_with_their_sources() -> None:
    load = load_of("bram", "hop-step-sand:3x4, alternate-bounds:2x1")
    notes = {n.code: n for n in load.notes}
    assert {"youth-sets", "youth-reps", "over-budget", "over-dose"} <= set(notes)
    assert "5 sets" in notes["youth-sets"].text
    assert "12 contacts a set" in notes["youth-reps"].text
    assert notes["youth-sets"].source == notes["youth-reps"].source
    assert "ACSM leaflet" in notes["youth-sets"].source
    assert "ours" in notes["youth-sets"].source
    assert any("Under 16" in c for c in load.cautions)
    assert codes(load_of("imka", "hop-step-sand:3x4, alternate-bounds:2x1")) == []


@pytest.mark.parametrize("slug", sorted(catalogue()))
def test_of_unknown_age_no_session_is_opened_and_the_cure_is_said(slug: str) -> None:
    with pytest.raises(BadInput, match="Give the year of birth"):
        load_of("tevin", f"{slug}:1x1", born=None)


# --- reading --------------------------------------------------------------------------------------


def test_names_of_drills_and_rungs_and_doses() -> None:
    who = member("tevin")
    tasks = parse_session(" Hop-Step-Sand : 3X4 ,sand-six,single-leg-hops:2×3", who, ON, ladder())
    assert [(t.name, t.sets, t.runs) for t in tasks] == [
        ("hop-step-sand", 3, 4), ("sand-six", 3, 6), ("single-leg-hops", 2, 3),
    ]  # fmt: skip
    assert tasks[1].choices.strides == 6
    assert tasks[0].choices.strides is None
    assert tasks[2].rest == 72


def test_a_dose_left_out_is_held_against_youth_limits() -> None:
    (task,) = parse_session("two-hops-step-sand", member("bram"), ON, ladder())
    drill = catalogue()["two-hops-step-sand"]
    assert task.sets * task.runs * drill.contacts < 3 * 4 * drill.contacts
    assert task.runs * drill.contacts <= LOAD["youth-reps"]["high"]


@pytest.mark.parametrize(
    "text",
    ["", ",", "hop-step-sand:", "hop-step-sand:3", "hop-step-sand:0x4", "hop-step-sand:3x41", ":3x4",
     "hop-step-sand:3x4:2", "hop-step-sand:-3x4", "hop-step-snad:3x4", "hop-step-sand:3x4,", "x" * 500,
     ",".join(["hop-step-sand"] * 21), "hop-step-sand:٣x٤"],
)  # fmt: skip
def test_bad_sessions_are_one_line(text: str) -> None:
    with pytest.raises(BadInput) as error:
        parse_session(text, member("tevin"), ON, ladder())
    assert len(str(error.value).splitlines()) == 1
    assert str(error.value).isprintable()


@given(st.text(max_size=30))
def test_any_session_is_read_or_refused(text: str) -> None:
    read = attempt(lambda: parse_session(text, member("tevin"), ON, ladder()))
    assert not isinstance(read, BadInput) or str(read).isprintable()


def test_no_drill_at_all_is_refused() -> None:
    with pytest.raises(BadInput, match="at least one drill"):
        session_load(member("tevin"), (), venues()["club"], ON)


# --- by property ----------------------------------------------------------------------------------


@given(
    st.sampled_from(CLUB),
    st.sampled_from(LEVELS),
    st.lists(st.tuples(drill_names, st.integers(1, 6), st.integers(1, 8)), min_size=1, max_size=4),
)
def test_counts_agree_with_a_count_run_by_run(
    name: str, level: str, rows: list[tuple[str, int, int]]
) -> None:
    text = ",".join(f"{slug}:{sets}x{runs}" for slug, sets, runs in rows)
    load = attempt(lambda: load_of(name, text, level=level))
    assume(not isinstance(load, BadInput))
    who = replace(member(name), level=level)  # type: ignore[arg-type]
    count: Counter[tuple[str, str]] = Counter()
    for slug, sets, runs in rows:
        drill = catalogue()[slug]
        made = make_plan(who, drill, venues()["club"], ON)
        other = {"left": "right", "right": "left", "both": "both"}
        for run in range(sets * runs):
            for contact in made.contacts[1 if drill.start == "stand" else 0 :]:
                swap = drill.lead == "either" and run % 2 == 1
                foot = other[contact.foot] if swap else contact.foot
                count[kind_of(contact), foot] += 1
    for kind in CONTACT_KINDS:
        found = counted(load).get(kind, (0, 0, 0))
        assert found == tuple(count[kind, foot] for foot in ("left", "right", "both"))
    assert load.contacts == sum(s * r * catalogue()[slug].contacts for slug, s, r in rows)
    young = who.standing(ON).young
    over = load.contacts > (30 if young else LOAD[f"contacts-{level}"]["high"])
    assert ("over-budget" in codes(load)) == over
    for kind_load in load.kinds:
        if kind_load.vertical is not None:
            assert 1.0 < kind_load.vertical[0] <= kind_load.vertical[1]


@pytest.mark.parametrize("name", CLUB)
def test_the_heaviest_session_of_a_block_weighs_what_the_block_says(name: str) -> None:
    who = member(name)
    made = block(who, next_rung(who, Observed(ON), ladder()), ladder(), ON, 8)
    load = session_load(
        who, tasks_of(max(made.sessions, key=lambda s: s.contacts).parts), venues()["club"], ON
    )
    assert load.contacts == max(s.contacts for s in made.sessions)
    assert not {"over-budget", "over-dose", "hard-together", "youth-sets", "youth-reps"} & set(
        codes(load)
    )
    assert tasks_of(made.sessions[0].parts)[-1].drill is made.sessions[0].main.rung.drill
