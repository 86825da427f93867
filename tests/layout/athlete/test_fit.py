"""The defaults shipped are what the published rows give when they are fitted again."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from layout.rules.rule import rule
from tests.fit_defaults import (
    BEFORE,
    JUMPERS,
    NAMES,
    Defaults,
    _phases,
    before_form,
    fit,
    five_hops,
    in_margins,
    jump_errors,
    of_kind,
    pooled,
    shipped,
    who_of,
)

DIGITS = {"losses": 3, "loss_spread": 3}


@lru_cache(maxsize=1)
def fitted() -> Defaults:
    return fit()


@pytest.mark.parametrize("name", NAMES)
def test_a_default_is_the_fit_to_its_digits(name: str) -> None:
    within = 0.5001 * 10.0 ** -DIGITS.get(name, 2)
    assert rule(name) == pytest.approx(getattr(fitted(), name), abs=within)


def _errors(held: bool, form: Any) -> dict[str, float]:
    """Root mean square of each kind of speed, untimed."""
    got: dict[str, list[float]] = {}
    for row in of_kind("jump", held):
        for name, error in jump_errors(row, form(who_of(row), _phases(row["id"]))).items():
            got.setdefault(name, []).append(error)
    return {k: float(np.sqrt(np.mean(np.square(v)))) for k, v in got.items()}


@pytest.mark.parametrize("held", [False, True], ids=["fitted", "held out"])
def test_speeds_of_untimed_jumps_are_nearer_than_they_were(held: bool) -> None:
    now, was = _errors(held, shipped().form), _errors(held, before_form)
    assert all(now[k] < was[k] for k in now)
    assert max(now[k] for k in now if k.startswith("vx")) < 0.07
    assert max(now[k] for k in now if k.startswith("vy")) < 0.12


def test_a_third_is_held_out_by_place_alone() -> None:
    for kind in ("jump", "loss", "standing"):
        every, out = of_kind(kind), of_kind(kind, True)
        assert out == every[2::3]
        assert sorted(r["id"] for r in of_kind(kind, False) + out) == sorted(r["id"] for r in every)


def test_losses_held_out_lie_within_their_spread() -> None:
    now = shipped()
    for row in of_kind("loss", True):
        off = abs(now.losses[row["contact"]] - row["share"] / 100.0)
        assert off < now.loss_spread[row["contact"]]


@pytest.mark.parametrize("timed", [False, True])
def test_speeds_held_out_lie_within_the_margins_forms_as_likely_have(timed: bool) -> None:
    size = np.abs(
        np.concatenate([in_margins(r, timed) for r in of_kind("jump", True) if "vx" in r])
    )
    assert size.size == 12
    assert (size < 1.0).mean() >= 0.60
    assert (size < 2.0).mean() >= 0.92


def test_five_hops_are_within_two_of_the_groups_spreads_and_were_not() -> None:
    """Still short of the group: see `fit_defaults.AGAIN`."""
    (row,) = of_kind("chain")
    now, was = shipped(), Defaults(**{**vars(shipped()), **BEFORE})
    assert abs(five_hops(now, row) - row["total"]) < 1.8 * row["sd"]
    assert abs(five_hops(was, row) - row["total"]) > 2.0 * row["sd"]


def test_pooling_by_hand() -> None:
    """Two groups alike are one of twice the size; two far apart are their plain mean, and spread."""
    alike = [{"share": 10.0, "sd": 2.0, "count": n} for n in (5, 15)]
    assert pooled(alike) == pytest.approx((0.10, 0.02))
    mean, spread = pooled([{"share": s, "sd": 1.0, "count": 1000} for s in (8.0, 14.0)])
    assert mean == pytest.approx(0.11)
    assert spread == pytest.approx(np.sqrt(0.01**2 + 0.03**2 * 2), rel=0.01)


def test_neither_sex_nor_level_is_told_apart_by_the_groups() -> None:
    """Why there is one share for all: groups of a kind lie as far apart as kinds do."""
    step = [r for r in of_kind("loss") if r["contact"] == 1]
    women = [r["share"] for r in step if r["sex"] == "female"]
    men = [r["share"] for r in step if r["sex"] == "male"]
    assert min(men) < np.mean(women) < max(men)
    assert len(JUMPERS) == 3


def test_careful_figures_are_the_lesser_of_the_fit_and_of_what_was_before() -> None:
    """The pull is less than both, and how much less is held by forecasts of the young."""
    careful, now = rule("careful_carry"), shipped()
    assert careful["losses"] == tuple(map(min, BEFORE["losses"], now.losses))
    for name in ("drive", "drive_below", "hop_again"):
        assert careful[name] == min(BEFORE[name], getattr(now, name))
    assert careful["pull"] < min(BEFORE["pull"], now.pull)
