"""Contacts in a row: what is refused, and with which words."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from animate.body.body import body
from animate.motion.chain import Chain, Settings, Support, reachable

RUN = Support("l", -1.9, "run", "run", 7.7, 7.7, 0.4, 0.105)
BOARD = Support("r", 0.0, "run", "hop", 7.7, 7.2, 2.1, 0.125)
SECOND = Support("r", 4.2, "hop", "step", 7.2, 6.7, 1.6, 0.15)
THIRD = Support("l", 7.8, "step", "end", 6.7, 6.0, 0.0, 0.15)
TRIPLE = Chain((RUN, BOARD, SECOND, THIRD), (0.11, 0.45, 0.38))


def with_support(index: int, **changes: object) -> Chain:
    supports = list(TRIPLE.supports)
    supports[index] = replace(supports[index], **changes)  # type: ignore[arg-type]
    return Chain(tuple(supports), TRIPLE.flights)


@pytest.mark.parametrize("field", ["toe", "vx_in", "vx", "vy", "duration"])
@pytest.mark.parametrize("value", [math.nan, math.inf, "3", True, None])
def test_a_support_wants_finite_numbers(field: str, value: object) -> None:
    with pytest.raises(ValueError, match=rf"^{field}: must be a finite number, got"):
        replace(BOARD, **{field: value})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("field", "value"),
    [("duration", 0.0), ("duration", 5.0), ("vx", 30.0), ("vy", 9.0), ("toe", 1000.0)],
)
def test_a_support_out_of_range_is_refused(field: str, value: float) -> None:
    with pytest.raises(ValueError, match=rf"^{field}: .* to .*, got {value:g}"):
        replace(BOARD, **{field: value})


def test_words_are_checked() -> None:
    with pytest.raises(ValueError, match="side: r, l, both, got 'x'"):
        replace(BOARD, side="x")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="sand ends the motion"):
        replace(BOARD, surface="sand")


def test_one_contact_is_no_chain() -> None:
    with pytest.raises(ValueError, match="two contacts or more needed, got 1"):
        Chain((THIRD,), ())


def test_flights_are_counted_and_timed() -> None:
    with pytest.raises(ValueError, match="flights: 3 needed"):
        Chain(TRIPLE.supports, (0.1, 0.4))
    with pytest.raises(ValueError, match="flight after contact 2"):
        Chain(TRIPLE.supports, (0.11, 0.0, 0.38))
    with pytest.raises(ValueError, match="flight after contact 3: must be a finite number"):
        Chain(TRIPLE.supports, (0.11, 0.4, math.nan))


def test_contacts_must_fit_together() -> None:
    with pytest.raises(ValueError, match="contact 3 toe: ahead of contact 2"):
        with_support(2, toe=0.0)
    with pytest.raises(ValueError, match="contact 3 side: a hop lands on the same leg"):
        with_support(2, side="l")
    with pytest.raises(ValueError, match="contact 2 side: a run lands on the other leg"):
        with_support(0, side="r")
    with pytest.raises(ValueError, match="contact 3 arrive: 'hop'"):
        with_support(2, arrive="run")
    with pytest.raises(ValueError, match="contact 4 leave: the last must be 'end'"):
        with_support(3, leave="hop")
    with pytest.raises(ValueError, match="contact 2 leave: only the last"):
        with_support(1, leave="end")


def test_out_of_reach_says_which_and_what_would_do() -> None:
    athlete = body(1.75, 70.0)
    reachable(TRIPLE, athlete)
    far = with_support(2, toe=6.5)
    with pytest.raises(ValueError, match=r"contact 3 toe: 6\.50 m .* out of reach .* back"):
        reachable(far, athlete)
    near = with_support(2, toe=2.5)
    with pytest.raises(ValueError, match=r"contact 3 toe: 2\.50 m .* overflown"):
        reachable(near, athlete)
    rushed = Chain(
        (RUN, BOARD, replace(SECOND, duration=0.06, vy=4.5), replace(THIRD, toe=10.5)),
        (0.11, 0.45, 0.9),
    )
    with pytest.raises(ValueError, match=r"contact 3 duration: no time .* s or more needed"):
        reachable(rushed, athlete)
    slow = with_support(1, duration=0.5)
    with pytest.raises(ValueError, match=r"contact 2 duration: .* s or less needed"):
        reachable(slow, athlete)
    fall = Chain(TRIPLE.supports, (0.11, 0.75, 0.38))
    with pytest.raises(ValueError, match=r"flight after contact 2: .* m; shorten it|overflown"):
        reachable(fall, athlete)


def test_the_remedy_for_a_far_mark_is_enough() -> None:
    athlete = body(1.75, 70.0)
    with pytest.raises(ValueError, match="out of reach") as caught:
        reachable(with_support(2, toe=6.5), athlete)
    back = float(str(caught.value).split("bring the mark ")[1].split(" m")[0])
    reachable(Chain(
        (RUN, BOARD, replace(SECOND, toe=6.5 - back - 0.005), replace(THIRD, toe=8.4)),
        TRIPLE.flights,
    ), athlete)  # fmt: skip


def test_mirroring_twice_is_nothing() -> None:
    assert TRIPLE.mirrored().supports[0].side == "r"
    assert TRIPLE.mirrored().mirrored() == TRIPLE


def test_the_digest_is_stable_and_tells_chains_apart() -> None:
    assert TRIPLE.digest == Chain.from_dict(TRIPLE.as_dict()).digest
    assert TRIPLE.digest != TRIPLE.mirrored().digest
    assert with_support(1, vx=7.2 + 1e-9).digest == TRIPLE.digest
    assert with_support(1, vx=7.21).digest != TRIPLE.digest


@given(
    st.floats(allow_nan=True, allow_infinity=True),
    st.sampled_from(["knee_gap", "knee_bend", "thigh_high", "hold", "trunk"]),
)
@settings(max_examples=60)
def test_settings_take_numbers_in_range_or_say_why(value: float, name: str) -> None:
    low, high = {
        "knee_gap": (-0.1, 0.7),
        "knee_bend": (0.2, 2.3),
        "thigh_high": (0.7, 1.75),
        "hold": (0.0, 0.4),
        "trunk": (-0.5, 0.3),
    }[name]
    if low <= value <= high:
        assert getattr(Settings(**{name: value}), name) == value  # type: ignore[arg-type]
    else:
        with pytest.raises(ValueError, match=f"^{name}: "):
            Settings(**{name: value})  # type: ignore[arg-type]


def test_settings_words() -> None:
    with pytest.raises(ValueError, match="arms: alternate or together"):
        Settings(arms="both")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="arc: low, natural or high"):
        Settings(arc="flat")  # type: ignore[arg-type]
