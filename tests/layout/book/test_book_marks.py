"""From tape readings to phases, whatever the zero."""

from __future__ import annotations

import math
from itertools import accumulate, pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.book import marks
from layout.book.marks import unlikely
from layout.book.people import Planned
from layout.book.typed import Typed, as_typed, measured
from layout.plan.tape import ZEROS, tape_card
from layout.words.faults import BadInput
from layout.words.units import show_length
from tests.published import published
from tests.strategies import attempt, plan, texts

phases = st.lists(st.integers(30, 900), min_size=1, max_size=8)
"""In centimetres."""
HOPS = ("hop",) * 8


def facts(drill: str, who: str = "runa") -> Planned:
    """A plan as the book knows it."""
    p = plan(who, drill)
    return Planned(
        1, tuple(f.phase for f in p.flights), tuple(f.arc for f in p.flights),
        tuple(f.length for f in p.flights),
        tuple(f.plus_minus for f in p.flights), p.contacts[-1].surface == "sand",
        p.contacts[0].arrive == "run", p.approach.strides, p.place.pit_x, p.approach.length,
    )  # fmt: skip


def typed(*readings: str, zero: str = "board", **more: str) -> Typed:
    return Typed("Runa", "hop-step-sand", readings, zero=zero, **more)  # type: ignore[arg-type]


def read(*given_: Any) -> tuple[tuple[float | None, ...], float | None]:
    """Lengths and total only."""
    out = measured(*given_)
    return out.lengths, out.total


@given(phases, st.integers(-3000, 3000), st.booleans(), st.booleans())
def test_with_the_toe_read_the_zero_may_be_anywhere(
    cm: list[int], at: int, backwards: bool, comma: bool
) -> None:
    way = -1 if backwards else 1
    texts_ = [f"{(at + way * x) / 100:+.2f} m" for x in accumulate([0, *cm])]
    if comma:
        texts_ = [t.replace(".", ",") for t in texts_]
    phases = HOPS[: len(cm)]
    given_ = typed(*texts_, zero="pit" if backwards else "start")
    lengths, total = read(given_, phases, backwards, None)
    assert lengths == pytest.approx([c / 100 for c in cm], abs=1e-9)
    assert total == pytest.approx(sum(cm) / 100, abs=1e-9)


@pytest.mark.parametrize("zero", ZEROS)
@pytest.mark.parametrize("system", ["cm", "ft"])
@pytest.mark.parametrize("drill", ["hop-step-sand", "two-hops-step-sand", "full-triple-jump"])
def test_readings_off_the_tape_card_give_the_plan_back(zero: str, system: str, drill: str) -> None:
    """What the planner prints for its marks, typed in, is what it planned: one convention."""
    p = plan("imka", drill)
    card = tape_card(p, zero, system)  # type: ignore[arg-type]
    order = sorted((line for line in card.lines if line.kind in ("contact", "landing")),
                   key=lambda line: line.x)  # fmt: skip
    readings = [show_length(abs(line.reading), system, "bare") for line in order]  # type: ignore[arg-type]
    known = facts(drill, "imka")
    lengths, _ = read(typed(*readings, zero=zero), known.phases, known.sand, known)
    near = 0.0101 if system == "cm" else 0.0064  # each of two readings is half a step off at most
    assert all(
        d is not None and abs(d - f.length) <= near for d, f in zip(lengths, p.flights, strict=True)
    )


def test_the_pit_without_a_plan_wants_the_distance() -> None:
    phases = ("hop", "step")
    with pytest.raises(BadInput, match="where the pit is must be known"):
        read(typed("0.46", "1.73", zero="pit"), phases, True, None)
    lengths, total = read(typed("0.46", "1.73", zero="pit", pit="3.07"), phases, True, None)
    assert lengths == (2.61, 2.19)
    assert total == 4.8
    signed = read(typed("0.46", "\u22121.73", zero="pit", pit="3.07"), phases, True, None)
    assert signed == (lengths, total)


def test_toe_behind_the_line_lengthens_the_first_phase_alone() -> None:
    lengths, total = read(typed("2.61", "4.80", behind="8 cm"), ("hop", "step"), True, None)
    assert lengths == (2.69, 2.19)
    assert total == 4.88


def test_the_total_is_the_published_effective_distance() -> None:
    (row,) = (r for r in published("jumps.toml", "derived") if r["id"] == "effective-distance")
    texts_ = [f"{x:.2f}" for x in (6.0, 11.0, row["official"])]
    given_ = typed(*texts_, behind=f"{100 * row['toe_to_line']:.0f} cm")
    assert read(given_, ("hop", "step", "jump"), True, None)[1] == pytest.approx(row["effective"])


def test_what_was_not_measured_stays_unknown() -> None:
    phases = ("hop", "step", "jump")
    assert read(typed("3.4", "?", "9.7"), phases, True, None) == ((3.4, None, None), 9.7)
    assert read(typed("3.4", "6.3", "-"), phases, True, None) == ((3.4, 2.9, None), None)
    assert read(typed("3.4", "2.9", "?", zero="each", total="9.7"), phases, True, None) == (
        (3.4, 2.9, 3.4), 9.7
    )  # fmt: skip
    assert read(typed(total="9.7"), phases, True, None) == ((None, None, None), 9.7)


@pytest.mark.parametrize(
    ("readings", "zero", "more", "rule"),
    [
        (("4.80", "2.61"), "board", {}, "step: each landing must be further"),
        (("2.61", "2.61"), "board", {}, "step: each landing must be further"),
        (("0", "2.61"), "board", {}, "hop: each landing must be further"),
        (("2.61", "2.71"), "board", {}, "step: a phase is 0.2 to 10 m"),
        (("2.61", "13.80"), "board", {}, "step: a phase is 0.2 to 10 m"),
        (("26.1", "48.0"), "board", {}, "hop: a phase is 0.2 to 10 m"),
        (("2.61",), "board", {}, "readings: 2 needed .hop, step., or 3"),
        (("1", "2", "3", "4"), "board", {}, "readings: 2 needed"),
        (("2.61", "4.8o"), "board", {}, "step: must be a length"),
        (("2.61", "nan"), "board", {}, "step: must be a finite number"),
        (("2.61", "99999"), "board", {}, "step: must be -80 to 80 m"),
        (("2.61", "4.80"), "bord", {}, "zero: must be one of board, start, pit, each; did you"),
        (("2.61", "4.80"), "start", {}, "zero: how long the run-up is"),
        (("2.61", "2.19"), "each", {"total": "6"}, "total: must be within 30 cm of the sum"),
        (("2.61", "?"), "each", {"total": "2.70"}, "total: must be more than the phases' sum"),
        (("2.61", "2.19"), "each", {"behind": "10 cm"}, "behind: has no meaning"),
        (("-2.61", "2.19"), "each", {}, "hop: each landing must be further"),
        (("2.61", "?"), "board", {"total": "x"}, "total: must be a length above 0"),
    ],
)
def test_impossible_readings_are_refused(
    readings: tuple[str, ...], zero: str, more: dict[str, str], rule: str
) -> None:
    with pytest.raises(BadInput, match=rule) as refused:
        read(typed(*readings, zero=zero, **more), ("hop", "step"), True, None)
    assert len(str(refused.value).splitlines()) == 1


@given(st.lists(texts, min_size=1, max_size=4), st.sampled_from((*marks.ZEROS, "")), texts)
def test_whatever_is_typed_is_read_or_refused(words: list[str], zero: str, total: str) -> None:
    out = attempt(
        lambda: measured(typed(*words, zero=zero, total=total), ("hop", "step"), True, None)
    )
    if isinstance(out, BadInput):
        return
    lengths, whole = out.lengths, out.total
    for length in lengths:
        assert length is None or marks.SHORTEST <= length <= marks.LONGEST
    if whole is not None and None not in lengths:
        assert math.isclose(whole, math.fsum(d for d in lengths if d), abs_tol=1e-5)


@given(st.lists(texts, max_size=4))
def test_what_was_typed_is_kept_on_one_line(words: list[str]) -> None:
    kept = attempt(lambda: as_typed(typed(*words)))
    assert kept is None or isinstance(kept, BadInput) or kept.isprintable()


def test_a_bare_number_of_a_hundred_or_more_is_centimetres() -> None:
    assert marks.parse_reading("261", "r") == marks.Reading(2.61, False)
    assert marks.parse_reading("-173", "r") == marks.Reading(-1.73, True)
    assert marks.parse_reading("12", "r") == marks.Reading(12.0, False)
    with pytest.raises(BadInput):
        marks.parse_reading("261.0", "r")


def test_only_what_is_far_from_the_plan_is_asked_about() -> None:
    known = facts("hop-step-sand")
    assert known.margins[0] is not None
    hop, step = known.lengths
    assert unlikely(known.phases, (hop + 2.9 * known.margins[0], step), known) == []
    (text,) = unlikely(known.phases, (hop + 3.1 * known.margins[0], step), known)
    assert text.startswith("hop ")
    assert "longer than planned" in text
    assert unlikely(known.phases, (None, None), known) == []
    assert unlikely(("hop", "hop"), (9.0, 9.0), known) == []


def test_phases_that_hardly_belong_together_are_asked_about() -> None:
    phases = ("hop", "step", "jump")
    (text,) = unlikely(("hop", "step"), (2.88, 5.33), None)
    assert text == "step 5.33 m is more than 1.5 times hop 2.88 m; a wrong digit?"
    for usual in ((6.05, 5.22, 7.02), (3.5, 2.2, 4.2), (None, 5.0, None), (3.0, None, 2.0)):
        assert unlikely(phases, usual, None) == []
    assert len(unlikely(("step", "step"), (2.0, 3.2), None)) == 0
    (text,) = unlikely(phases, (6.05, 5.22, 17.02), None)
    assert text.startswith("jump 17.02 m is more than 2 times step")
    middle = (6.0, 5.0, 6.0)
    (text,) = unlikely(phases, (6.0, 5.0, 8.0), None, middle)
    assert text == "jump 8.00 m is 2.00 m longer than the athlete's usual (6.00 m); a wrong digit?"
    assert unlikely(phases, (6.5, 5.5, 7.0), None, middle) == []


def test_phases_are_differences_of_neighbours() -> None:
    xs = [0.0, 2.5, None, 7.0]
    out = marks.lengths_between(xs, ("hop", "hop", "step"))
    assert out == tuple(None if a is None or b is None else b - a for a, b in pairwise(xs))


@pytest.mark.parametrize("text", ["+-300", "--300", "3 00", "0300", "300-", "1e3", "३००"])
def test_what_only_looks_like_centimetres_is_no_reading(text: str) -> None:
    with pytest.raises(BadInput):
        marks.parse_reading(text, "r")
