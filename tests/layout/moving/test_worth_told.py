"""What a curve says: flat, told, or not to be told."""

from __future__ import annotations

import math
from typing import Any, cast

import pytest

from animate.motion.best import Best
from animate.motion.solver.freed import Terms
from layout.moving.worth import Aim, At, Worth, _rough
from layout.moving.worth_told import flat, headline, limits, rows, said
from layout.moving.worth_topics import TOPICS


class Nothing:
    """Stands for a best motion whose speed alone is read."""

    speed = 7.5


def curve(
    gains: tuple[float, ...], margins: tuple[float, ...], aim: Aim = "both", **more: Any
) -> Worth:
    points = tuple(At(0.30 + 0.03 * i, gain, cast(Best, Nothing())) for i, gain in enumerate(gains))
    stops = more.get("stops", ("", ""))
    return Worth(TOPICS["knees"], aim, points, stops, margins, Terms(0.6), 1.0, 0.01)


def test_a_clear_end_is_told_with_its_margin_and_the_flat_part_named() -> None:
    worth = curve((-0.20, -0.02, 0.0, -0.01, -0.12), (0.05, 0.02, 0.0, 0.02, 0.05))
    assert flat(worth) == (1, 3)
    text = headline(worth)
    assert "between 33 cm and 39 cm it changes step and jump together by under 3 cm" in text
    assert "at 30 cm it costs 20 cm ± 5 cm" in text
    assert "at 42 cm it costs 12 cm ± 5 cm" in text


def test_the_answer_begins_with_that_it_is_untested() -> None:
    for gains in ((-0.2, 0.0, -0.2), (-0.01, 0.0, -0.01)):
        assert headline(curve(gains, (0.02, 0.0, 0.02))).startswith(
            "Untested against anything published"
        )


def test_what_lies_in_its_margin_cannot_be_told() -> None:
    none = headline(curve((-0.1, 0.0, -0.11), (0.2, 0.0, 0.15)))
    assert (
        "no difference in step and jump together can be told; the most found is 11 cm ± 15 cm"
        in none
    )
    one = headline(curve((-0.1, 0.0, -0.1), (0.2, 0.0, 0.02)))
    assert "at 36 cm it costs 10 cm" in one
    assert "at 30 cm it can't be told" in one


def test_a_margin_that_was_not_found_tells_nothing() -> None:
    worth = curve((-0.5, 0.0, -0.5), (math.inf, 0.0, math.inf))
    assert "can be told; the most found is 50 cm ± not known" in headline(worth)
    assert rows(worth)[0][2] == "± not known"


def test_a_difference_under_what_two_solves_are_apart_is_none() -> None:
    assert not curve((-0.025, 0.0), (0.0, 0.0)).tells(0)
    assert curve((-0.035, 0.0), (0.0, 0.0)).tells(0)


@pytest.mark.parametrize(("aim", "unit"), [("both", "cm"), ("step", "cm"), ("speed", "m/s")])
def test_units_go_with_the_aim(aim: Aim, unit: str) -> None:
    worth = curve((-0.2, 0.0, -0.2), (0.01, 0.0, 0.01), aim)
    assert all(row[2].endswith(unit) for row in rows(worth))


def test_limits_and_honesty_go_with_every_answer() -> None:
    worth = curve((-0.2, 0.0), (0.01, 0.0), stops=("hips in the hop's flight", ""))
    assert "Beyond 30 cm" in limits(worth)
    assert "hips in the hop's flight" in limits(worth)
    told = " ".join(said(worth))
    assert "not a measurement" in told
    assert "60 % of one published jumper's strength" in told
    assert "solved from both its neighbours, 1 cm apart at most" in told


def test_a_notch_says_how_far_solves_are_apart() -> None:
    assert _rough([-0.2, 0.0, -0.05, -0.01, -0.2]) == pytest.approx(0.045)
    assert _rough([-0.2, 0.0, -0.1]) == 0.0
