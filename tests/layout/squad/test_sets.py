"""Sharing marks: the optimum compared with every way there is."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.squad import grouping
from layout.squad.grouping import (
    all_neighbours,
    every_sharing,
    fewest,
    improved,
    least_misfit,
    misfit,
    neighbours,
    neighbours_within,
)
from layout.squad.sets import (
    ALL,
    EVERY,
    ONE_LENGTH,
    Sharing,
    Tolerance,
    letters,
    parse_tolerance,
    share,
)
from layout.words.faults import BadInput


def partitions(n: int) -> Iterator[list[list[int]]]:
    """Every way of sharing out n athletes."""
    if n == 0:
        yield []
        return
    for rest in partitions(n - 1):
        yield [*rest, [n - 1]]
        for i in range(len(rest)):
            yield [[*g, n - 1] if j == i else g for j, g in enumerate(rest)]


def plain(y: np.ndarray, u: np.ndarray, groups: list[list[int]], low: np.ndarray | None = None,
          high: np.ndarray | None = None) -> float:  # fmt: skip
    """Misfit written out athlete by athlete; infinite where no marks suit a group."""
    out = 0.0
    for group in groups:
        for p in range(y.shape[1]):
            mark = sum(u[i] * y[i, p] for i in group) / sum(u[i] for i in group)
            if low is not None and high is not None:
                least, most = max(low[i, p] for i in group), min(high[i, p] for i in group)
                if least > most + 1e-9:
                    return float("inf")
                mark = min(max(mark, least), most)
            out += sum(u[i] * (y[i, p] - mark) ** 2 for i in group)
    return out


@st.composite
def squads(draw: st.DrawFn, most: int = 7, phases: int = 3) -> tuple[np.ndarray, np.ndarray]:
    n, m = draw(st.integers(1, most)), draw(st.integers(1, phases))
    centimetres = st.integers(150, 420)
    x = [[draw(centimetres) / 100.0 for _ in range(m)] for _ in range(n)]
    u = [draw(st.sampled_from((0.5, 1.0, 3.0))) for _ in range(n)]
    return np.array(x), np.array(u)


tolerances = st.sampled_from((0.05, 0.15, 0.4, 1.0))
young = st.lists(st.booleans(), min_size=18, max_size=18)
"""Who may only be given shorter marks; as many as there are athletes count."""


def limits(y: np.ndarray, room: float | None, who: list[bool]) -> tuple[np.ndarray, np.ndarray]:
    """Least and greatest marks: within the tolerance, and never longer for some."""
    wide = np.full_like(y, np.inf) if room is None else np.full_like(y, room)
    return y - wide, np.where(np.array(who[: len(y)])[:, None], y, y + wide)


def test_there_are_as_many_partitions_as_bell_says() -> None:
    assert [sum(1 for _ in partitions(n)) for n in range(7)] == [1, 1, 2, 5, 15, 52, 203]


@given(squads(), st.integers(1, 4), young)
def test_every_sharing_is_the_optimum_of_all_partitions(
    squad: tuple[np.ndarray, np.ndarray], k: int, who: list[bool]
) -> None:
    x, u = squad
    y = x - x.mean(axis=0)
    low, high = limits(y, None, who)
    value, groups = every_sharing(y, u, k, low, high)
    best = min(plain(y, u, g, low, high) for g in partitions(len(x)) if len(g) <= k)
    assert value == pytest.approx(best, abs=1e-9)
    assert plain(y, u, groups, low, high) == pytest.approx(best, abs=1e-9)
    assert sorted(itertools.chain(*groups)) == list(range(len(x)))
    assert len(groups) <= k


@given(squads(), tolerances, young)
def test_fewest_sets_within_the_tolerance_and_then_the_least_misfit(
    squad: tuple[np.ndarray, np.ndarray], room: float, who: list[bool]
) -> None:
    x, u = squad
    y = x - x.mean(axis=0)
    low, high = limits(y, room, who)
    value, groups = every_sharing(y, u, None, low, high)
    tried = [(len(g), plain(y, u, g, low, high)) for g in partitions(len(x))]
    count, best = min(t for t in tried if np.isfinite(t[1]))
    assert len(groups) == count
    assert value == pytest.approx(best, abs=1e-9)
    assert fewest(low, high) <= count


@given(squads(phases=1), st.integers(1, 4), tolerances, st.booleans())
def test_neighbours_are_the_optimum_where_one_length_counts(
    squad: tuple[np.ndarray, np.ndarray], k: int, room: float, shorter: bool
) -> None:
    """And the same limits hold for everybody: all may be stretched, or nobody."""
    x, u = squad
    order = np.argsort(x[:, 0], kind="stable")
    y, v = (x - x.mean(axis=0))[order], u[order]
    low, high = limits(y, None, [shorter] * len(x))
    value, _ = neighbours(y, v, k, high)
    best = min(plain(y, v, g, low, high) for g in partitions(len(x)) if len(g) <= k)
    assert value == pytest.approx(best, abs=1e-9)
    for over in (np.full_like(y, room), x[order] * room / 4):
        low, high = y - over, y if shorter else y + over
        count, value, _ = neighbours_within(y, v, low, high)
        tried = [(len(g), plain(y, v, g, low, high)) for g in partitions(len(x))]
        least, best = min(t for t in tried if np.isfinite(t[1]))
        assert count == least
        assert value == pytest.approx(best, abs=1e-9)


@given(squads(), st.integers(1, 4), tolerances, young)
def test_neighbours_are_the_best_runs_of_their_order(
    squad: tuple[np.ndarray, np.ndarray], k: int, room: float, who: list[bool]
) -> None:
    """For vectors: exact over groups that are neighbours in the order given."""
    x, u = squad
    y, n = x - x.mean(axis=0), len(x)
    low, high = limits(y, None, who)

    def runs() -> Iterator[list[list[int]]]:
        for cuts in itertools.product((False, True), repeat=n - 1):
            at = [0, *(i + 1 for i, cut in enumerate(cuts) if cut), n]
            yield [list(range(a, b)) for a, b in itertools.pairwise(at)]

    value, starts = neighbours(y, u, k, high)
    best = min(plain(y, u, g, low, high) for g in runs() if len(g) <= k)
    assert value == pytest.approx(best, abs=1e-9)
    groups = [list(range(a, b)) for a, b in itertools.pairwise([*starts, n])]
    assert plain(y, u, groups, low, high) == pytest.approx(value, abs=1e-9)
    low, high = limits(y, room, who)
    count, value, _ = neighbours_within(y, u, low, high)
    tried = [(len(g), plain(y, u, g, low, high)) for g in runs()]
    least, best = min(t for t in tried if np.isfinite(t[1]))
    assert count == least
    assert value == pytest.approx(best, abs=1e-9)


@given(squads(most=9), st.integers(1, 4), tolerances, young)
def test_improved_is_between_the_optimum_and_neighbours(
    squad: tuple[np.ndarray, np.ndarray], k: int, room: float, who: list[bool]
) -> None:
    x, u = squad
    y = x - x.mean(axis=0)
    for sets in (k, None):
        low, high = limits(y, None if sets else room, who)
        found = all_neighbours(y, u, sets, low, high)
        first, groups, _ = found[0]
        value, better = improved(y, u, [g for _, g, _ in found], sets, low, high)
        best, exact = every_sharing(y, u, sets, low, high)
        assert sorted(itertools.chain(*better)) == list(range(len(x)))
        if sets is None:
            assert len(exact) <= len(better) <= len(groups)
            assert fewest(low, high) <= len(exact)
            assert plain(y, u, better, low, high) == pytest.approx(value, abs=1e-9)
        else:
            assert best - 1e-9 <= value <= first + 1e-9
            assert least_misfit(y, u, k) <= best + 1e-9
            assert plain(y, u, better, low, high) == pytest.approx(value, abs=1e-9)
            assert len(better) <= k


def total_misfit(
    x: np.ndarray, groups: tuple[tuple[int, ...], ...], w: np.ndarray, u: np.ndarray
) -> float:
    """Misfit of athletes on the weighted means of their groups, by the book [m^2]."""
    parts = [(x[list(g)], u[list(g)]) for g in groups]
    return sum(float(v @ ((a - np.average(a, axis=0, weights=v)) ** 2 @ w)) for a, v in parts)


@given(squads(most=6), st.integers(1, 3))
def test_weights_are_the_coachs(squad: tuple[np.ndarray, np.ndarray], k: int) -> None:
    """Phases weighted: the same as brute force on weighted squares, and 0 leaves a phase out."""
    x, u = squad
    w = np.array([2.0, 0.0, 0.5][: x.shape[1]])
    made = share(x, k, Tolerance(5.0), w, u)
    best = min(
        total_misfit(x, tuple(map(tuple, g)), w, u) for g in partitions(len(x)) if len(g) <= k
    )
    assert made.misfit == pytest.approx(best, abs=1e-9)
    assert made.off == ()
    assert made.search == EVERY


@given(squads(most=18), tolerances, st.sampled_from(["length", "share"]), young)
def test_nobody_is_off_by_more_than_the_tolerance(
    squad: tuple[np.ndarray, np.ndarray], room: float, kind: str, who: list[bool]
) -> None:
    """And those who may only be shortened are not stretched by a hair."""
    x, u = squad
    shorter = np.array(who[: len(x)])
    for k in (None, 1, 3):
        made = share(x, k, Tolerance(room, kind), athletes=u, shorter=shorter)  # type: ignore[arg-type]
        assert sorted(i for s in made.sets for i in s.members) == list(range(len(x)))
        assert len({s.label for s in made.sets}) == len(made.sets)
        for item in made.sets:
            assert item.shared == item.label.isalpha()
            for i in item.members:
                limit = room * (x[i] if kind == "share" else 1.0)
                assert (abs(np.array(item.lengths) - x[i]) <= limit + 1e-6).all()
                assert not shorter[i] or (np.array(item.lengths) <= x[i] + 1e-9).all()
                if not item.shared:
                    assert item.lengths == pytest.approx(x[i])
        if k is not None:
            kept = sum(s.shared for s in made.sets)
            assert kept <= k
        assert all(not made.set_of(i).shared for i in made.off)


def test_known_sharing() -> None:
    x = np.array([[4.00, 3.40], [4.10, 3.50], [5.00, 4.20], [5.10, 4.30], [6.50, 5.00]])
    made = share(x)
    assert [(s.label, s.members) for s in made.sets] == [("A", (0, 1)), ("B", (2, 3)), ("1", (4,))]
    assert made.sets[0].lengths == pytest.approx((4.05, 3.45))
    assert made.misfit == pytest.approx(2 * 2 * 2 * 0.05**2)
    two = share(x, 2)
    # The last athlete costs a set; the four others share marks that suit none of them.
    assert two.off == (0, 1, 2, 3)
    assert two.misfit == pytest.approx(plain(x, np.ones(5), [[0, 1, 2, 3], [4]]))
    assert all(not s.shared for s in two.sets)
    heavy = share(x[:2], 1, athletes=np.array([3.0, 1.0]))
    assert heavy.sets[0].lengths == pytest.approx((4.025, 3.425))


def test_one_length_is_told_and_exact_for_large_squads() -> None:
    random = np.random.default_rng(3)
    x = random.uniform(2, 5, (60, 3))
    made = share(x, 4, phases=np.array([0.0, 1.0, 0.0]))
    assert made.search == ONE_LENGTH
    assert made.bound == made.misfit
    order = np.argsort(x[:, 1])
    assert made.misfit == pytest.approx(
        neighbours(x[order][:, [1]] - x[:, 1].mean(), np.ones(60), 4)[0]
    )


@given(squads(most=6), st.sampled_from((None, 1, 2)), young)
def test_a_phase_that_does_not_count_stretches_no_child(
    squad: tuple[np.ndarray, np.ndarray], k: int | None, who: list[bool]
) -> None:
    x, u = squad
    w = np.array([2.0, 0.0, 0.5][: x.shape[1]])
    shorter = np.array(who[: len(x)])
    made = share(x, k, Tolerance(0.4), w, u, shorter)
    for item in made.sets:
        for i in item.members:
            assert not shorter[i] or (np.array(item.lengths) <= x[i] + 1e-9).all()


def test_one_length_is_not_called_proven_where_some_may_only_be_shortened() -> None:
    """A child at 5.0 m goes to 4.0 m while an adult at 4.9 m goes to 5.1 m: no neighbours."""
    random = np.random.default_rng(3)
    x = random.uniform(2, 5, (30, 1))
    half = np.arange(30) % 2 == 0
    assert share(x, 4).search == ONE_LENGTH
    assert share(x, 4, shorter=np.ones(30, bool)).search == ONE_LENGTH
    mixed = share(x, 4, shorter=half)
    assert "not proven" in mixed.search
    assert mixed.bound is not None
    assert mixed.bound < mixed.misfit


def test_large_squads_say_what_is_proven() -> None:
    random = np.random.default_rng(5)
    x = random.uniform(8, 15, 80)[:, None] * (
        np.array([0.36, 0.29, 0.35]) + random.normal(0, 0.01, (80, 3))
    )
    made: Sharing = share(x)
    assert "not proven" in made.search
    assert made.bound is not None
    assert made.bound <= len(made.sets)
    fixed = share(x, 4)
    assert fixed.bound is not None
    assert 0.0 < fixed.bound <= fixed.misfit


def test_the_limit_of_exact_search() -> None:
    x = np.random.default_rng(1).uniform(2, 4, (ALL + 1, 2))
    assert share(x[:ALL], 3).search == EVERY
    assert share(x, 3).search != EVERY


def test_misfit_of_groups_agrees_with_the_plain_sum() -> None:
    y = np.random.default_rng(2).normal(0, 0.2, (9, 3))
    u = np.arange(1.0, 10.0)
    groups = [[0, 4, 8], [1, 2], [3, 5, 6, 7]]
    wide = np.full_like(y, np.inf)
    assert misfit(y, u, groups, -wide, wide) == pytest.approx(plain(y, u, groups))
    assert grouping.SLACK < 1e-6


@pytest.mark.parametrize(
    ("lengths", "more", "field"),
    [(np.zeros((0, 3)), {}, "lengths"), (np.array([[1.0, np.nan]]), {}, "lengths"),
     (np.array([[1.0, -1.0]]), {}, "lengths"), (np.ones(3), {}, "lengths"),
     (np.ones((2, 2)), {"k": 0}, "--sets"), (np.ones((2, 2)), {"phases": np.zeros(2)}, "phases"),
     (np.ones((2, 2)), {"phases": np.ones(3)}, "phases"),
     (np.ones((2, 2)), {"athletes": np.array([1.0, 0.0])}, "athletes"),
     (np.ones((2, 2)), {"athletes": np.array([1.0, np.inf])}, "athletes"),
     (np.ones((2, 2)), {"shorter": np.array([True])}, "shorter")],
)  # fmt: skip
def test_what_cannot_be_shared_out(
    lengths: np.ndarray, more: dict[str, object], field: str
) -> None:
    with pytest.raises(BadInput) as error:
        share(lengths, **more)  # type: ignore[arg-type]
    assert error.value.faults[0].field == field


def test_tolerances_as_written() -> None:
    assert parse_tolerance("12cm") == Tolerance(0.12)
    assert parse_tolerance("0.2") == Tolerance(0.2)
    assert parse_tolerance("2.5 %") == Tolerance(0.025, "share")
    for bad in ("", "%", "0", "70 %", "3 m", "x", "nan %"):
        with pytest.raises(BadInput):
            parse_tolerance(bad)


def test_letters_never_end() -> None:
    assert [letters(i) for i in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]
    assert len({letters(i) for i in range(2000)}) == 2000
