"""The forecast turned round."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from layout.athlete.ability import Ability, ability
from layout.athlete.athlete import athlete_from
from layout.athlete.inverse import entry_for, strides_for_total
from layout.athlete.march import Chain, march
from layout.plan.drill import catalogue
from layout.words.faults import BadInput
from tests import strategies as own


def _able(table: dict[str, Any]) -> Ability:
    try:
        return ability(athlete_from(table))
    except BadInput:
        assume(False)
        raise


@given(own.athlete_tables(), own.drill_names, st.floats(2.0, 11.0))
def test_entry_for_inverts_the_forecast(table: dict[str, Any], slug: str, entry: float) -> None:
    able, drill = _able(table), catalogue()[slug]
    arcs = drill.arcs * drill.cycles
    sand, stand = drill.ends == "sand", drill.start == "stand"
    total = float(
        march(able.who, able.form, Chain(drill.chain, arcs, sand, stand), np.array([entry])).total[
            0
        ]
    )
    found = entry_for(able, Chain(drill.chain, arcs, sand, stand), total)
    again = march(
        able.who, able.form, Chain(drill.chain, arcs, sand, stand), np.array([found])
    ).total[0]
    assert float(again) == pytest.approx(total, abs=1e-3)


@pytest.mark.parametrize("losses", [0.25, 0.30, 0.35])
def test_a_length_that_many_speeds_make_gets_one_of_them(losses: float) -> None:
    """Who loses much is down to the slowest chain whatever the entry: the totals stand still there."""
    table = {
        "name": "A", "stature": 1.7, "mass": 60, "leg": "right", "best": 9.0, "born": 2000,
        "level": "advanced", "calibration": {"losses": [losses] * 3, "pull": 0.0},
    }  # fmt: skip
    able, chain = ability(athlete_from(table)), Chain(("hop", "step"), ("natural",) * 2)
    slow = march(able.who, able.form, chain, np.array([1.0, 1.3])).total
    assert slow[0] == slow[1]
    found = entry_for(able, chain, float(slow[0]))
    assert march(able.who, able.form, chain, np.array([found])).total == pytest.approx(slow[:1])


@given(own.athlete_tables(), own.drill_names, st.floats(0.3, 1.0))
def test_strides_for_total_are_the_fewest_that_reach_it(
    table: dict[str, Any], slug: str, share: float
) -> None:
    able, drill = _able(table), catalogue()[slug]
    arcs, sand = drill.arcs * drill.cycles, drill.ends == "sand"

    def made(strides: int) -> float:
        entry = np.array([able.run.run_up(strides)[0]])
        return float(march(able.who, able.form, Chain(drill.chain, arcs, sand), entry).total[0])

    least, most = made(1), made(24)
    wanted = least + share * (most - least)
    found = strides_for_total(able, Chain(drill.chain, arcs, sand), wanted)
    assert found is not None
    assert made(found) >= wanted - 1e-6
    assert found == 1 or made(found - 1) < wanted
    assert strides_for_total(able, Chain(drill.chain, arcs, sand), most + 0.1) is None


@pytest.mark.parametrize("drill", ["two-hops-step-sand", "hop-step-sand", "step-jump-sand"])
@pytest.mark.parametrize("name", own.CLUB)
def test_the_strides_a_warning_names_do_reach_the_length(name: str, drill: str) -> None:
    here, most = own.plan(name, drill, strides=4), own.member(name).strides
    who, found = own.member(name), catalogue()[drill]
    able = ability(who.on_day(own.ON))
    for more in (0.1, 0.2, 0.6):
        total = here.total + more
        asked = own.attempt(lambda total=total: own.plan(name, drill, strides=4, total=total))
        if isinstance(asked, BadInput):
            text = str(asked)
            longest = re.search(r"can be asked for ([\d.]+) m at most from 4 strides; ", text)
            assert longest
            assert here.total < float(longest[1]) < total
        else:
            assert asked.total == pytest.approx(total, abs=1e-3)
            text = next(n for n in asked.warnings if n.code == "out-of-reach").text
        strides = strides_for_total(able, Chain(found.chain, found.arcs, True), total, most)
        if strides is None:
            assert f"the full {most} strides would not reach it" in text
            continue
        assert f"{strides} strides would reach it" in text
        assert own.plan(name, drill, strides=strides).total >= total - 1e-6
        assert own.plan(name, drill, strides=strides - 1).total < total


@pytest.mark.parametrize("total", [0.5, 60.0, float("nan")])
def test_a_length_no_speed_makes_is_refused_with_the_ones_it_does(total: float) -> None:
    able = ability(own.member("imka").on_day(own.ON))
    with pytest.raises(BadInput, match=r"this drill can be \d+\.\d\d to \d+\.\d\d m long, got"):
        entry_for(able, Chain(("hop", "step"), ("natural",) * 2, True), total)
