"""By how much each constant of the model is moved, and which rows then no longer hold.

A margin is ours: what a constant could be off by without being wrong, at the least what its rows can tell.
"""

from __future__ import annotations

from typing import Final

from layout.words.trade import LEVELS
from tests.published.moved import constants

LIMBS = ("trunk", "upper_arm", "forearm", "hand", "thigh", "shank", "foot")
APPROACH, CARRY, GROWTH = (f"layout.athlete.{name}:" for name in ("approach", "carry", "growth"))
RULES, BODY = "layout.rules.", "animate.body."

ROWS: Final[dict[str, tuple[float, str]]] = {
    BODY + "body:ANKLE_ALONG_FOOT": (0.08, "velocities/women-mean velocities/over-17"),
    APPROACH + "TAU": (0.5, "approach/run-up-men approach/fraction-6"),
    APPROACH + "SPRINT_TAU": (0.2, "approach/sprint-rise"),
    APPROACH + "STRIDE_BASE": (0.08, "approach/first-step-women"),
    APPROACH + "STRIDE_PER_SPEED": (0.017, "approach/stride-at-speed"),
    CARRY + "SLOPE": (0.3, "mechanics/carry-slope-flat"),
    CARRY + "SLOPE_RANGE[0]": (0.08, "mechanics/carry-slope"),
    CARRY + "SLOPE_RANGE[1]": (0.24, "mechanics/carry-slope"),
    CARRY + "PULL": (0.1, "approach/fraction-standing"),
    CARRY + "DRIVE": (0.15, "velocities/standing-2 velocities/standing-4"),
    CARRY + "DRIVE_BELOW": (0.08, "velocities/standing-2 velocities/standing-4"),
    CARRY + "LOSSES[0]": (0.023, "velocities/record-1995-speed velocities/hop-loss-woman"),
    CARRY + "LOSSES[1]": (0.024, "kinematics/step-vx-best"),
    CARRY + "LOSSES[2]": (0.026, "velocities/over-17"),
    CARRY + "UPWARD[0]": (0.15, "velocities/over-17 velocities/women-mean"),
    CARRY + "UPWARD[1]": (0.1, "velocities/over-17"),
    CARRY + "UPWARD[2]": (0.25, "velocities/over-17"),
    CARRY + "HOP_AGAIN": (0.03, "approach/hop-length velocities/five-hops"),
    CARRY + "UPWARD_POWER": (0.25, "velocities/over-17"),
    CARRY + "UPWARD_AT": (2.0, "velocities/over-17"),
    CARRY + "RUN_FALL": (0.15, "approach/last-stride-flight"),
    CARRY + "SHOWN_MARGIN": (0.02, "mechanics/vy-bound"),
    GROWTH + "SPREAD[0]": (0.01, "youth/three-hops-spread"),
    GROWTH + "SPREAD[1]": (0.015, "youth/three-hops-beside"),
    GROWTH + "SHORT": (0.05, "youth/shorter-less"),
    GROWTH + "FROM": (1, "youth/points-girls"),
    "layout.athlete.athlete:CHILD": (1, "approach/strides-age-11-13"),
    "layout.athlete.athlete:CHILD_STRIDES": (2, "approach/strides-age-11-13"),
    "layout.athlete.march:ARCS[low]": (0.13, "approach/low-hop-rise"),
    "layout.athlete.march:ARCS[natural]": (0.1, "approach/high-hop-rise"),
    "layout.athlete.march:ARCS[high]": (0.05, "approach/high-hop-rise"),
    "layout.athlete.march:STAND_SPEED": (0.06, "velocities/standing-4"),
    "layout.athlete.questions:LONGEST[hop][0]": (0.05, "jumps/record-1985-phases"),
    "layout.athlete.questions:LONGEST[step][0]": (0.05, "jumps/record-1995-phases"),
    "layout.athlete.questions:LONGEST[jump][0]": (0.05, "jumps/record-1995-phases"),
    "layout.plan.warn:REACH_DOUBT": (0.04, "mechanics/geometry-speed-trade-length"),
    RULES + "load:LONGEST_FAST_CONTACT": (0.02, "mechanics/fast-contact-limit"),
    RULES + "load:REST[0]": (6, "load/rest-between-sessions"),
    RULES + "load:REST[1]": (6, "load/rest-between-sessions"),
    RULES + "budget:YOUTH_SETS": (1, "load/youth-sets"),
    RULES + "budget:YOUTH_REPS": (1, "load/youth-reps"),
    RULES + "budget:YOUTH_SESSIONS": (1, "load/youth-sessions"),
    RULES + "standing:CAREFUL_AGE": (1, "load/careful-age"),
    RULES + "standing:AGES[1]": (5, "load/careful-age"),
    RULES + "standing:CONE_AGE": (1, "load/under-twelve-obstacle"),
    RULES + "standing:CONE": (0.02, "load/under-twelve-obstacle"),
    RULES + "ground:INTO_SAND": (0.05, "venue/sand-margin"),
    RULES + "ground:FALLS[along]": (50, "venue/fall-along"),
    RULES + "ground:FALLS[across]": (5, "venue/fall-across"),
    RULES + "wind:LEGAL_WIND": (0.2, "venue/wind-legal"),
    RULES + "wind:WORTH": (0.01, "mechanics/tailwind-worth"),
    "layout.words.split:LEAD": (0.2, "mechanics/dominance-threshold"),
    BODY + "stances:GRAVITY": (0.1, "mechanics/b-flight-time"),
    BODY + "swing_table:KNEE_BEND_REACHED": (0.05, "swing/knee-bend-most"),
    BODY + "swing_table:HIP_MOMENT_PER_MASS": (0.2, "swing/hip-moment"),
    BODY + "body:FOOT_HEIGHT": (0.005, "segments.length/foot_height"),
    **{
        f"{RULES}budget:BUDGET[{level}][{i}]": (10, f"load/contacts-{level}")
        for level in LEVELS for i in (0, 1)
    },
    **{f"layout.plan.drill:HURDLE_HEIGHTS[{i}]": (2, "load/hurdle-heights") for i in range(7)},
    **{f"{BODY}body:_LENGTH[{kind}]": (0.005, f"segments.length/{kind}") for kind in LIMBS},
    **{
        f"{BODY}body:_DE_LEVA[{build}][{kind}][{i}]": (0.005, f"segments/{kind}")
        for build in ("male", "female") for kind in ("head", *LIMBS) for i in range(3)
    },
}  # fmt: skip
"""Margin, and the rows of which one fails a margin up and one a margin down."""


ATHLETE, PLAN, RULE, FIGURE = (
    f"tests/{folder}/"
    for folder in ("layout/athlete", "layout/plan", "layout/rules", "animate/body")
)
LIMITS = ATHLETE + "test_athlete_limits.py::"
DAY, PLACED, PLANNED = (f"{PLAN}test_{name}.py::" for name in ("day", "place", "plan_limits"))
DEMANDS = (
    "any drill", "a run-up", "a hop from a run-up on the track", "hop, step and jump", "over 6 strides",
    "hurdles over the line", "hops repeated", "two hops in a row", "three hops in a row", "over 8 strides",
    "over 12 strides", "two hops in a row over hurdles", "three hops in a row over hurdles",
    "hop, step and jump from a run-up",
)  # fmt: skip
_NAMED: Final[dict[str, tuple[str, ...]]] = {
    LIMITS + "test_a_figure_is_taken_from_its_least_to_its_most": (APPROACH + "MOST_STRIDES",),
    LIMITS + "test_slow_contacts_push_and_no_contact_drives_past_the_approach": (
        CARRY + "SLOWEST", CARRY + "MOST_DRIVEN",
    ),
    LIMITS + "test_a_run_falls_a_little_and_a_flight_is_flown_within_bounds": (
        CARRY + "FLOWN[0]", CARRY + "FLOWN[1]",
    ),
    LIMITS + "test_what_is_hardly_so_is_asked_about_from_its_limit": (
        "layout.athlete.questions:MASS_INDEX[0]", "layout.athlete.questions:MASS_INDEX[1]",
    ),
    RULE + "test_standing.py::test_forecasts_are_held_low_up_to_17_years": (RULES + "standing:GROWN_AGE",),
    ATHLETE + "test_growth.py::test_a_guess_stands_low_by_its_spreads_and_no_lower_than_can_be_laid_out": (
        GROWTH + "LOW[0]", GROWTH + "LOW[1]", GROWTH + "LEAST[0]", GROWTH + "LEAST[1]", GROWTH + "OLDEST",
    ),
    ATHLETE + "test_optimum.py::test_flatness_is_every_split_within_5_cm_of_the_best": (
        "layout.athlete.optimum:FLAT",
    ),
    PLANNED + "test_a_drill_is_read_from_its_least_to_its_most": (
        "layout.plan.drill:MOST_MOVES", "layout.plan.drill:YOUNGEST", "layout.plan.drill:MOST_STRIDES",
    ),
    PLANNED + "test_words_of_a_choice": ("layout.plan.drill:LONGEST_DESPITE",),
    PLANNED + "test_hurdles_stand_where_they_are_said_to": tuple(
        f"layout.plan.hurdles:{name}" for name in ("BESIDE[0]", "BESIDE[1]", "OVER", "SHOE")
    ),
    "tests/layout/moving/test_clearing.py::test_a_tight_one_says_how_tight_and_what_a_step_off_does": (
        "layout.plan.hurdles:SLACK",
    ),
    PLANNED + "test_the_greatest_hurdle_leaves_5_cm": ("layout.plan.hurdles:MARGIN",),
    PLANNED + "test_margins_are_of_speed_losses_slope_pull_approach_and_model": (
        *(f"layout.plan.made:SPREAD[{key}]" for key in ("timed", "untimed", "approach", "pull", "model")),
        *(f"layout.plan.made:LOSS_SPREAD[{i}]" for i in range(3)),
    ),
    PLANNED + "test_a_fitted_athletes_margin_is_a_share_and_wider_once_a_move_repeats": (
        "layout.plan.made:REPEATED",
    ),
    PLAN + "test_spacing.py::test_feet_of_plans_follow_the_moves": ("layout.plan.spacing:FOOT_Y",),
    DAY + "test_falls_read " + DAY + "test_what_is_no_fall": ("layout.plan.venue:STEEPEST",),
    PLANNED + "test_footprints_leave_room_for_the_shoe": tuple(
        f"layout.plan.warn:{name}" for name in ("THICK", "TOE_ROOM", "FOOT_ROOM[0]", "FOOT_ROOM[1]")
    ),
    PLANNED + "test_a_phase_3_cm_off_the_wanted_split_is_among_the_warnings": ("layout.plan.warn:BENT",),
    PLANNED + "test_room_before_the_sand_and_behind_it_is_said_from_its_limit": (
        RULES + "ground:EDGE_ROOM", RULES + "ground:SHORTFALL",
    ),
    PLAN + "test_warn.py::test_only_who_runs_on_needs_room_to_run_out": (RULES + "ground:RUN_OUT",),
    PLACED + "test_a_metre_of_runway_stays_behind_the_start_of_a_drill_on_the_track": (
        RULES + "ground:START_ROOM",
    ),
    PLANNED + "test_a_board_is_where_the_less_of_two_margins_is_most": (RULES + "ground:OVERSHOOT",),
    PLACED + "test_a_board_in_feet_and_its_twin_in_metres_are_one": (RULES + "ground:ONE_BOARD",),
    DAY + "test_the_margin_holds_what_is_not_sure_of_the_wind": (RULES + "wind:DOUBT",),
    DAY + "test_a_storm_moves_a_forecast_no_more_than_a_wind_that_is_counted": (RULES + "wind:COUNTED",),
    DAY + "test_an_impossible_wind_is_refused": (RULES + "wind:RANGE[0]", RULES + "wind:RANGE[1]"),
    RULE + "test_rules_limits.py::test_budgets_in_full": (RULES + "budget:SESSIONS",),
    RULE + "test_rules_limits.py::test_what_a_run_demands": tuple(
        f"{RULES}demand:ROWS[{key}][0]" for key in DEMANDS
    ),
    RULE + "test_rules_limits.py::test_ages_from_8_to_80_are_believed": (
        RULES + "standing:AGES[0]", RULES + "standing:YOUTH_AGE",
    ),
    RULE + "test_rules_limits.py::test_a_level_stands_for_its_least_years": tuple(
        f"{RULES}standing:YEARS_BY_LEVEL[{level}]" for level in LEVELS
    ),
    RULE + "test_rules_limits.py::test_hurdles_by_age": (
        RULES + "standing:YOUNG_AGE", RULES + "standing:YOUNG_MOST",
    ),
    RULE + "test_rules_limits.py::test_a_day_moves_an_age_up_to_a_year_ahead": (RULES + "standing:FARTHEST",),
    RULE + "test_strength_share.py::test_shares_by_level_sex_and_age": (
        RULES + "strength:WOMEN", *(f"{RULES}strength:BY_LEVEL[{level}]" for level in LEVELS),
        *(f"{RULES}strength:BY_AGE[{i}][{j}]" for i in range(9) for j in (0, 1)),
    ),
    FIGURE + "test_stances.py::test_the_stance_leg_turns_with_speed_within_its_limits": tuple(
        f"{BODY}stances:{name}"
        for name in ("SPEED_AT_BASE", "TURN_PER_SPEED", "TURN_LIMITS[0]", "TURN_LIMITS[1]")
    ),
    FIGURE + "test_swing.py::test_bad_input_is_refused_in_one_line": tuple(
        f"{BODY}swing:{name}[{i}]"
        for name in ("KNEE_BEND_RANGE", "GRAVITY_RANGE") for i in (0, 1)
    ),
    FIGURE + "test_swing.py::test_a_thigh_swings_from_level_behind_to_30_degrees_short_of_straight_up": (
        BODY + "swing:THIGH_RANGE[0]", BODY + "swing:THIGH_RANGE[1]",
    ),
}  # fmt: skip
AS_READ: Final = {
    LIMITS + "test_the_slowest_run_with_the_most_strides_is_still_a_run": (APPROACH + "LONGEST",),
    FIGURE + "test_swing_table.py::test_defaults_are_the_rows_they_claim": (
        BODY + "swing_table:STEP_CONTACT",
    ),
    ATHLETE + "test_fit.py::test_careful_figures_are_the_lesser_of_the_fit_and_of_what_was_before": tuple(
        f"{CARRY}CAREFUL[{key}]"
        for key in ("losses][0", "losses][1", "losses][2", "drive", "drive_below", "hop_again")
    ),
    ATHLETE + "test_march.py::test_the_young_are_forecast_the_lesser_of_the_fit_and_of_what_was_before": (
        CARRY + "CAREFUL[pull]",
    ),
    LIMITS + "test_a_field_is_read_from_its_least_to_its_most": (
        "layout.athlete.athlete:MOST_BEHIND", "layout.athlete.athlete:TOTAL_RANGE[0]",
        "layout.athlete.athlete:TOTAL_RANGE[1]",
        *(
            f"layout.athlete.athlete:CALIBRATED[{field}][{i}]"
            for field in ("slope", "pull", "losses", "tau", "stand_speed", "margin") for i in (0, 1)
        ),
        *(f"{BODY}sizes:{name}[{i}]" for name in ("STATURE_RANGE", "MASS_RANGE") for i in (0, 1)),
    ),
}  # fmt: skip
"""Constants that are read with the files they stand in, so that no move in a running program shows: their
tests hold the figures themselves, as a rule's file or an athlete's has them."""
NUMERIC: Final = {
    "layout.athlete.bend:CLOSE": 0.001, "layout.athlete.bend:_HALVINGS": 1,
    "layout.athlete.carry:BEYOND": 1e5,
    "layout.athlete.carry:_STEPS": 2, "layout.athlete.optimum:_GRID": 2, "animate.body.swing:_STEPS": 100,
}  # fmt: skip
"""How finely something is worked out, and by how much that may change: no figure then leaves its row."""
TESTS: Final = {name: test for test, names in _NAMED.items() for name in names}
"""Constants that no row bears on, and a test that fails a margin up and a margin down."""


OWN: Final = {APPROACH + "LONGEST": 10.0}
"""Margins of what has a test."""
ONE_WAY: Final = {RULES + "demand:ROWS[three hops in a row over hurdles][0]": 1}
"""Two hops over hurdles ask for the age of three: only more of it shows."""


def margin(name: str) -> float:
    """By how much a constant is moved: its own margin, else a tenth of it, or one of what is counted."""
    if name in ROWS:
        return ROWS[name][0]
    if name in OWN or name in NUMERIC:
        return (OWN | NUMERIC)[name]
    value = constants()[name]
    return max(1, round(0.1 * abs(value))) if isinstance(value, int) else 0.1 * abs(value) or 0.1


def held_by(name: str) -> str:
    """Which rows or which test hold a constant, for the table in the docs."""
    if name in ROWS:
        return ", ".join(ROWS[name][1].split())
    if name in NUMERIC:
        return "as fine as need be: no row moves"
    named = {n: test for test, names in AS_READ.items() for n in names} | TESTS
    tests = (one.partition("::") for one in named[name].split())
    return ", ".join(f"{test} ({file})" for file, _, test in tests)
