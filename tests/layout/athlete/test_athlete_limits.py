"""Limits of what is read and asked of an athlete: each begins where the rule says, to the figure."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from animate.body.stances import GRAVITY
from layout.athlete.ability import Ability, ability
from layout.athlete.approach import MOST_STRIDES, approach, check_marks
from layout.athlete.athlete import FIELDS, Athlete, athlete_from
from layout.athlete.bend import WHOLE, asked, bent, whole
from layout.athlete.carry import Form, carried, fastest_from, form_for_target, form_from_jump
from layout.athlete.flight import flight_time, leave_at, stance_at
from layout.athlete.inverse import enough_strides, entry_for
from layout.athlete.march import Chain, allowed_gain, march
from layout.athlete.optimum import best_split
from layout.athlete.questions import questions
from layout.words.trade import MOVES
from tests.limits import flips, taken_from_to

BASE: dict[str, Any] = {
    "name": "A", "stature": 1.88, "mass": 79.0, "leg": "right", "best": 15.0, "target": 15.0,
    "speed": 9.3, "strides": 18,
}  # fmt: skip


def told(**changed: Any) -> Athlete:
    return athlete_from({**BASE, **changed})


def able(**changed: Any) -> Ability:
    return ability(told(**changed))


def noted(code: str, **changed: Any) -> bool:
    return any(n.code == code for n in able(**changed).notes)


# --- read -----------------------------------------------------------------------------------------

READ = [
    ("stature", 1.10, 2.30), ("mass", 18.0, 180.0), ("best", 3.0, 19.5), ("target", 3.0, 19.5),
    ("training_years", 0, 80), ("speed", 3.0, 13.0), ("strides", 2, 24), ("born", 1900, 2100),
    ("calibration.slope", 0.0, 1.5), ("calibration.pull", 0.0, 0.4), ("calibration.tau", 0.5, 3.0),
    ("calibration.stand_speed", 1.0, 5.0), ("calibration.run_up", 3.0, 60.0),
    ("calibration.losses", -0.1, 0.35), ("calibration.margin", 0.01, 0.30), ("best_behind", 0.0, 1.0),
]  # fmt: skip


@pytest.mark.parametrize(("field", "low", "high"), READ)
def test_a_field_is_read_from_its_least_to_its_most(field: str, low: float, high: float) -> None:
    def take(value: Any) -> None:
        kept = [value] * 3 if field == "calibration.losses" else value
        part, _, name = field.partition(".")
        told(**({part: {name: kept}} if name else {field: kept}))

    taken_from_to(take, low, high)


@pytest.mark.parametrize(("field", "most"), [("name", 80), ("note", 300)])
def test_a_text_is_as_long_as_it_may_be(field: str, most: int) -> None:
    told(**{field: "x" * most})
    with pytest.raises(ValueError, match=rf"^{field}: "):
        told(**{field: "x" * (most + 1)})


FIGURES: list[tuple[str, Callable[[Any], object], float, float]] = [
    ("upward speed", lambda v: flight_time(v, 3.0, 0.0), -5.0, 8.0),
    ("approach speed", lambda v: approach(v, 12, 1.7), 2.0, 13.0),
    ("approach strides", lambda v: approach(8.0, v, 1.7), 2, 24),
    ("time constant", lambda v: approach(8.0, 12, 1.7, v), 0.5, 3.0),
    ("strides of a run", lambda v: approach(8.0, 12, 1.7).run_up(v), 0, 24),
]


@pytest.mark.parametrize(("what", "take", "low", "high"), FIGURES)
def test_a_figure_is_taken_from_its_least_to_its_most(
    what: str, take: Callable[[Any], object], low: float, high: float
) -> None:
    taken_from_to(take, low, high)


def test_one_bad_figure_among_good_ones_is_refused() -> None:
    """Arrays are looked at whole, not by their first or any of them."""
    for vy in ([1.0, np.nan], [9.0, 1.0], [-6.0, 2.0]):
        with pytest.raises(ValueError, match=r"^vy: -5 to 8 m/s"):
            flight_time(np.array(vy), 1.0, 1.0)
    with pytest.raises(ValueError, match=r"^vy: too small to rise"):
        flight_time(np.array([3.0, 1.0]), 1.0, 1.2)


def test_a_board_of_the_search_for_the_best_split() -> None:
    best_split(able(), 0.25)
    best_split(able(), 0.001)
    for margin in (0.2501, 0.0):
        with pytest.raises(ValueError, match=r"margin"):
            best_split(able(), margin)


# --- said -----------------------------------------------------------------------------------------


def test_more_speed_is_said_from_half_a_percent_and_grave_from_three() -> None:
    def more(target: float) -> float:
        found = able(target=target)
        return found.form.entry / found.shown.entry - 1.0

    def grave(target: float) -> bool:
        return any(n.code == "needs-speed" and n.grave for n in able(target=target).notes)

    assert more(flips(grave, 15.1, 16.0, 14)) == pytest.approx(0.03, abs=2e-4)
    said = flips(lambda t: noted("needs-speed", target=t), 15.0, 15.6, 14)
    assert more(said) == pytest.approx(0.005, abs=2e-4)
    # Asked for less than was shown: less speed is said too, and never grave.
    less = next(n for n in able(target=14.0).notes if n.code == "needs-speed")
    assert not less.grave
    assert f"{100 * more(14.0):+.1f} % on the timed speed" in less.text


def test_a_target_beyond_what_was_shown_is_said_from_half_a_centimetre() -> None:
    most = able(target=17.5).reach
    beyond = flips(lambda t: noted("beyond-shown", target=t), 15.2, 17.5, 16)
    assert beyond == pytest.approx(most + 0.005, abs=1e-3)
    text = next(n.text for n in able(target=17.5).notes if n.code == "beyond-shown")
    assert "more than 10 % over" in text
    assert f"drills are spaced for {most:.2f} m" in text


@pytest.mark.parametrize(("speed", "said"), [(None, True), (9.3, False)])
def test_an_estimated_speed_is_said_and_named(speed: float | None, said: bool) -> None:
    table = {k: v for k, v in {**BASE, "speed": speed, "target": 15.6}.items() if v is not None}
    notes = {n.code: n for n in ability(athlete_from(table)).notes}
    assert ("speed-estimated" in notes) == said
    assert ("the best jump's estimate" in notes["needs-speed"].text) == said
    assert not notes["carry-default"].grave
    if said:
        assert not notes["speed-estimated"].grave


@pytest.mark.parametrize(
    ("text", "field", "low", "high", "at"),
    [
        ("kg/m2", "mass", 18.0, 79.0, 12.5 * 1.88**2), ("kg/m2", "mass", 79.0, 180.0, 32.0 * 1.88**2),
        ("A hop of", "target", 15.0, 19.0, 6.33 / 0.36), ("A step of", "target", 14.0, 19.4, 5.22 / 0.28),
        ("is less than the best", "target", 14.0, 15.0, 14.995),
    ],
)  # fmt: skip
def test_what_is_hardly_so_is_asked_about_from_its_limit(
    text: str, field: str, low: float, high: float, at: float
) -> None:
    def asked(value: float) -> bool:
        who = told(**{"split": "36:28:36", field: value})
        return any(text in n.text for n in questions(who))

    assert flips(asked, low, high) == pytest.approx(at, abs=2e-4)


# --- the line and the march -----------------------------------------------------------------------


def test_slow_contacts_push_and_no_contact_drives_past_the_approach() -> None:
    form = able().shown
    at = np.array([0.3, 0.5, 0.7, 0.9]) * form.entry
    lost = form.loss(1, at, np.full(4, form.gains[1]))
    # Below .61 of the approach each m/s less is pushed by .46 more; above it only the pull of .13 acts.
    rate = np.diff(lost) / np.diff(at)
    assert rate[0] == pytest.approx(0.13 + 0.46)
    assert rate[2] == pytest.approx(0.13)
    assert lost[2] == pytest.approx(
        form.losses[1] * form.vx[0] + 0.13 * (at[2] - form.touchdown_speeds[1])
    )
    assert lost[0] == pytest.approx(lost[2] + 0.13 * (at[0] - at[2]) - 0.46 * 0.31 * form.entry)
    assert form.out_of(0, np.array([3.0]), np.array([20.0])) == pytest.approx([1.2])
    assert fastest_from(9.0, np.array([4.0, 10.0])) == pytest.approx([4.0 + 0.9 * 5.0, 10.0])
    pushed = dataclasses.replace(form, slope=5.0).out_of(0, np.array([2.0]), np.array([0.0]))
    assert pushed == pytest.approx([2.0 + 0.9 * (form.entry - 2.0)])


def test_what_is_asked_beyond_the_shown_is_the_most_of_it() -> None:
    form = dataclasses.replace(
        able().shown, vy=(2.0, 1.5, 2.2), gains=(2.3, 4.0, 3.5), highest=(2.2, 1.65, 2.1), hardest=4.1
    )  # fmt: skip
    assert form.excess == pytest.approx(0.1)
    assert dataclasses.replace(form, hardest=3.7).excess == pytest.approx(0.3)
    assert dataclasses.replace(form, highest=(9.0, 9.0, 9.0)).excess == 0.0


def test_a_run_falls_a_little_and_a_flight_is_flown_within_bounds() -> None:
    who, speed = able().who, np.array([8.0])

    def made(vy: float) -> Any:
        return carried(who, ("hop",), speed, lambda *_: (speed, np.array([vy])))

    assert made(2.0).vy_in[0, 0] == pytest.approx(-0.30)
    for wanted, flown in ((7.0, 6.0), (5.9, 5.9), (-2.0, -1.5), (-1.4, -1.4)):
        found = made(wanted)
        start, end = float(leave_at(who, "hop", speed)[1][0]), float(found.height_in[1, 0])
        under = flown**2 + 2.0 * GRAVITY * (start - end)
        assert found.time[0, 0] == pytest.approx((flown + under**0.5) / GRAVITY)
        assert found.vy[0, 0] == wanted


def test_the_first_contact_from_standing_is_not_there() -> None:
    speed = np.array([3.0])
    found = carried(able().who, ("hop",), speed, lambda *_: (speed, speed), stand=True)
    assert np.isnan([found.vx_in[0], found.vy_in[0], found.landing[0], found.height_in[0]]).all()
    lead = leave_at(able().who, "stand", speed)
    assert found.ahead[0] == pytest.approx(lead[0])


@pytest.mark.parametrize(("high", "vy"), [(True, 4.5), (False, -0.2)])
def test_a_jump_s_speed_is_refused_where_no_take_off_makes_its_phases(
    high: bool, vy: float
) -> None:
    who, phases = able().who, (5.2, 4.2, 5.0) if high else (3.4, 2.6, 3.2)

    def refused(speed: float) -> bool:
        try:
            form_from_jump(who, phases, speed)
        except ValueError:
            return True
        return False

    at = flips(refused, 4.0, 8.5) if high else flips(refused, 6.0, 16.0)
    form = form_from_jump(who, phases, at + (1e-4 if high else -1e-4))
    assert (max if high else min)(form.vy) == pytest.approx(vy, abs=5e-3)


def test_a_target_s_speed_is_looked_for_from_four_fifths_to_five_quarters() -> None:
    found = able()
    shown, who = found.shown, found.who
    sizes = np.array(whole(who, shown).length[:, 0])
    for share, at in ((1.9, 1.25), (0.6, 0.8)):
        assert form_for_target(who, shown, tuple(share * sizes)).entry == pytest.approx(
            at * shown.entry
        )


def test_the_most_a_form_may_be_asked_is_a_tenth_over_the_shown() -> None:
    form = able().shown
    assert form.highest == pytest.approx([1.1 * v for v in form.vy])
    assert form.hardest == pytest.approx(1.1 * max(form.gains))


@pytest.mark.parametrize(("arc", "times"), [("low", 0.80), ("natural", 1.0), ("high", 1.10)])
def test_an_arc_is_a_share_of_the_athlete_s_own(arc: str, times: float) -> None:
    found = able()
    form = dataclasses.replace(found.shown, highest=(9.0,) * 3, hardest=99.0)
    made = march(found.who, form, Chain(("hop", "step"), (arc, "natural")), np.array([form.entry]))
    assert made.vy[0, 0] == pytest.approx(times * form.vy[0])
    # Before and after a high arc a contact may give as much more, after a low one no less.
    assert allowed_gain(4.0, (arc, "natural", "natural"), 0) == pytest.approx(4.0 * max(1.0, times))
    assert allowed_gain(4.0, (arc, "natural", "natural"), 1) == pytest.approx(4.0 * max(1.0, times))
    assert allowed_gain(4.0, (arc, "natural", "natural"), 2) == pytest.approx(4.0)


def test_repeated_moves_are_no_higher_than_the_next_can_be_again() -> None:
    """Asked for more than can be given twice, hops are of one height: most = vy + fall before it."""
    found, most = able(), 4.0
    form = dataclasses.replace(
        found.shown, vy=(3.5, 3.5, 3.5), gains=(most,) * 3, highest=(9.0,) * 3, hardest=most
    )
    entry = np.array([8.0])
    run = Chain((*("hop",) * 3, "step"), ("natural",) * 4)
    made = march(found.who, form, run, entry)
    gain = made.vy[1:3, 0] - made.vy_in[1:3, 0]
    assert gain == pytest.approx([most, most], abs=0.05)
    assert np.ptp(made.vy[:3, 0]) < 0.05
    alone = march(found.who, form, Chain(("hop", "step"), ("natural",) * 2), entry)
    assert alone.vy[0, 0] > made.vy[0, 0] + 0.2


@pytest.mark.parametrize(
    ("moves", "arcs", "rule"),
    [((), (), "one arc for each"), (("hop",), (), "one arc"), (("hop",), ("tall",), "of hop, step"),
     (("skip",), ("low",), "of hop"), (("jump", "hop"), ("low",) * 2, "a jump can only be the last")],
)  # fmt: skip
def test_a_chain_is_of_known_moves_and_arcs(
    moves: tuple[str, ...], arcs: tuple[str, ...], rule: str
) -> None:
    with pytest.raises(ValueError, match=rf"^moves: {rule}"):
        Chain(moves, arcs)


# --- bending --------------------------------------------------------------------------------------


def test_a_split_bends_no_further_than_it_must() -> None:
    """By halves to a 128th of the way: a form that fits, and none that fits nearer by that."""
    found = able(target=15.2)
    can = whole(found.who, found.form).length[:, 0]
    wish = float(can.sum()) * np.array([0.42, 0.24, 0.34])
    fastest = 1.1 * found.shown.entry
    form, share = bent(
        found.who, found.shown, tuple(wish), tuple(can), 0.8 * found.shown.entry, fastest
    )
    assert form is not None
    assert 0.0 < share < 1.0
    assert share * 128 == pytest.approx(round(share * 128))
    assert whole(found.who, form).length[:, 0] == pytest.approx(
        wish + share * (can - wish), abs=3e-3
    )
    assert form.excess <= 0.002
    assert form.entry <= fastest + 1e-6
    nearer = wish + (share - 1 / 128) * (can - wish)
    other = form_for_target(found.who, found.shown, tuple(nearer), 0.8 * found.shown.entry, fastest)
    made = whole(found.who, other).length[:, 0]
    assert other.excess > 0.002 or np.abs(made - nearer).max() > 0.002
    same, none = bent(found.who, found.form, tuple(can), tuple(can), None, fastest)
    assert same is not None
    assert none == 0.0


@pytest.mark.parametrize(
    "split", [(0.375, 0.25, 0.375), (0.35, 0.30, 0.35), (0.25, 0.40, 0.35), (0.6, 0.2, 0.2)]
)
def test_a_target_far_beyond_the_shown_is_all_speeds_a_tenth_more(
    split: tuple[float, float, float],
) -> None:
    """Whatever its split: where none nearer to it can be made, the athlete's own, that much further."""
    who = able().who
    shown = form_from_jump(who, (5.2, 4.2, 5.0), 9.0)
    most = march(who, shown, WHOLE, np.array([1.1 * shown.entry]), 1.1)
    form, total = asked(who, shown, [share * 18.0 for share in split])
    assert total == pytest.approx(float(most.total[0]), abs=1e-6)
    made = whole(who, form)
    assert float(made.total[0]) == pytest.approx(total, abs=6e-3)
    assert max(form.excess, form.entry / (1.1 * shown.entry) - 1.0) <= 2e-3


def test_a_target_beyond_the_shown_keeps_as_much_of_its_split_as_can_be() -> None:
    """Nearer to the wanted phases than the shown jump at more speed and height is."""
    found = able(target=16.2, split="38:28:34", best_phases="35:30:35")
    wish = found.reach * np.array([0.38, 0.28, 0.34])
    more = np.linspace(1.0, 1.1, 81)
    drawn = march(found.who, found.shown, WHOLE, found.shown.entry * more, more)
    out = np.array([np.interp(found.reach, drawn.total, row) for row in drawn.length])
    made = whole(found.who, found.form).length[:, 0]
    assert np.abs(made - wish).max() < 0.8 * np.abs(out - wish).max()
    assert made.sum() == pytest.approx(found.reach, abs=6e-3)


def test_what_a_file_must_have() -> None:
    needed = {name for name, f in FIELDS.items() if f.needed}
    assert needed == {"name", "stature"}
    assert FIELDS["strides"].dest == "full_strides"
    assert FIELDS["target"].dest == "target"


# --- the approach ---------------------------------------------------------------------------------


@pytest.mark.parametrize("stature", [1.4, 1.88])
def test_a_stride_is_stature_times_a_line_in_speed(stature: float) -> None:
    run = approach(9.0, 16, stature)
    assert run.tau == 2.0
    middle = (run.speed[1:] + run.speed[:-1]) / 2.0
    stride = stature * (0.40 + 0.085 * middle)
    assert np.diff(run.distance)[3:] == pytest.approx(stride[3:], rel=2e-3)
    assert len(run.speed) == MOST_STRIDES + 1 == 25


@pytest.mark.parametrize(
    ("strides", "to_go"), [(0, []), (1, [1]), (6, [6]), (7, [7, 4]), (9, [9, 4]), (10, [10, 6])]
)
def test_check_marks_are_six_or_four_strides_out(strides: int, to_go: list[int]) -> None:
    run = approach(9.0, 16, 1.8)
    found = check_marks(run, strides)
    assert [n for n, _ in found] == to_go
    for left, back in found:
        assert back == pytest.approx(run.distance[strides] - run.distance[strides - left])


def test_the_slowest_run_with_the_most_strides_is_still_a_run() -> None:
    run = approach(2.0, 24, 1.1, 3.0)
    assert (np.diff(run.distance) > 0.4).all()
    # As long as a run-up may be said to be, it takes 33 s.
    longest = approach(2.0, 24, 1.1, 3.0, 60.0)
    assert longest.run_up(24) == pytest.approx((2.0, 60.0), rel=1e-3)
    assert (np.diff(longest.distance) > 0.4).all()


# --- the forecast turned round --------------------------------------------------------------------


def test_the_lengths_a_drill_can_be_are_those_of_1_to_13_m_s() -> None:
    found, chain = able(), Chain(("hop", "step"), ("natural",) * 2)
    least, most = march(found.who, found.form, chain, np.array([1.0, 13.0])).total
    for total in (least + 1e-3, most - 1e-3):
        entry = entry_for(found, chain, float(total))
        assert march(found.who, found.form, chain, np.array([entry])).total[0] == pytest.approx(
            total, abs=2e-3
        )
    rule = rf"^length: this drill can be {least:.2f} to {most:.2f} m long"
    for total in (least - 0.01, most + 0.01):
        with pytest.raises(ValueError, match=rule):
            entry_for(found, chain, float(total))


def test_strides_that_would_reach_it_in_words() -> None:
    found, chain = able(), Chain(("hop", "step"), ("natural",) * 2)
    made = [
        float(march(found.who, found.form, chain, found.run.speed[n : n + 1]).total[0])
        for n in range(25)
    ]
    assert enough_strides(found, chain, made[9], 18) == "9 strides would reach it"
    assert enough_strides(found, chain, made[9] + 1e-3, 18) == "10 strides would reach it"
    assert (
        enough_strides(found, chain, made[18] + 1e-3, 18)
        == "the full 18 strides would not reach it"
    )


def test_places_of_the_body_are_those_of_its_tables() -> None:
    """In the sand the heel counts and not the toe; heights never stand in for lengths."""
    who, speed = able().who, np.array([8.0])
    for move in MOVES:
        (landing, height), (ahead, up) = (
            stance_at(who, move if move != "jump" else "two feet in sand", speed),
            leave_at(who, move, speed),
        )
        assert 0.0 < float(landing[0]) < float(height[0]) < 1.3 * who.stature
        assert 0.2 < float(ahead[0]) < float(up[0])


def test_the_losses_and_slope_an_athlete_has_of_their_own_are_used() -> None:
    known = {"slope": 0.9, "pull": 0.2, "losses": [0.05, 0.10, 0.16], "tau": 1.4, "run_up": 35.0}
    found = able(calibration=known)
    assert (found.shown.slope, found.shown.pull) == (0.9, 0.2)
    assert found.shown.losses == (0.05, 0.10, 0.16)
    assert found.run.tau == 1.4
    assert found.run.run_up(18)[1] == pytest.approx(35.0, rel=1e-3)
    # The best jump's own split is what was shown, not the split wanted.
    shown = able(best_phases="6.00/4.30/4.70 m")
    assert whole(shown.who, shown.shown).length[:, 0] == pytest.approx((6.0, 4.3, 4.7), abs=3e-3)
    assert isinstance(shown.form, Form)
