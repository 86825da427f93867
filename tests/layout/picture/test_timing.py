"""Contact and flight times from chosen frames: right, and never off by more than they say."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.picture.timing import Event, spans
from layout.words.faults import BadInput


@given(
    rate=st.sampled_from([25.0, 29.97, 60.0, 240.0]),
    slower=st.sampled_from([1.0, 4.0, 8.0]),
    start=st.floats(0.0, 2.0),
    lasts=st.lists(st.floats(0.1, 0.4), min_size=1, max_size=5),
)
def test_the_truth_is_within_the_margin_whatever_the_frames(
    rate: float, slower: float, start: float, lasts: list[float]
) -> None:
    """An event is first seen in the first frame after it; times of the film are `slower` times longer."""
    at, true = start, [start]
    for last in lasts:
        at += last
        true.append(at)
    events = [
        Event(("down", "off")[i % 2], math.ceil(t * slower * rate) / rate, 1.0 / rate)
        for i, t in enumerate(true)
    ]
    found = spans(events, slower)
    assert [s.measure.name for s in found] == [
        ("contact_time", "flight_time")[i % 2] for i in range(len(lasts))
    ]
    for span, last in zip(found, lasts, strict=True):
        assert span.margin == pytest.approx(1.0 / rate / slower)
        assert abs(span.value - last) <= span.margin + 1e-9


def test_uneven_frames_have_margins_of_their_own() -> None:
    (span,) = spans([Event("off", 1.0, 0.02), Event("down", 1.5, 0.04)])
    assert span.measure.name == "flight_time"
    assert (span.value, span.margin) == pytest.approx((0.49, 0.03))
    # In any order.
    assert spans([Event("down", 1.5, 0.04), Event("off", 1.0, 0.02)]) == (span,)


def test_what_no_jump_has_is_asked_about() -> None:
    assert spans([Event("down", 0.0, 0.03), Event("off", 0.2, 0.03)])[0].odd == ""
    assert "slow motion" in spans([Event("down", 0.0, 0.03), Event("off", 1.6, 0.03)])[0].odd
    assert spans([]) == ()
    assert spans([Event("down", 0.0, 0.03)]) == ()


@pytest.mark.parametrize(
    ("events", "slower", "rule"),
    [
        ([Event("down", 0.0, 0.03), Event("down", 0.2, 0.03)], 1.0, "comes down twice running"),
        ([Event("off", 0.0, 0.03), Event("off", 0.2, 0.03)], 1.0, "is off twice running"),
        ([Event("down", 0.1, 0.03), Event("off", 0.1, 0.03)], 1.0, "cannot be both ends"),
        ([Event("down", 0.1, 0.03)], 0.5, "must be 1 to 64 times"),
        ([Event("down", 0.1, 0.03)], math.nan, "must be 1 to 64 times"),
        ([Event("down", float(i), 0.03) for i in range(41)], 1.0, "at most 40"),
    ],
)
def test_refused(events: list[Event], slower: float, rule: str) -> None:
    with pytest.raises(BadInput, match=rule):
        spans(events, slower)
