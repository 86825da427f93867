"""Splits read, classified and laid out, against published jumps."""

from __future__ import annotations

import math
from itertools import accumulate
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from layout.rules.sources import said
from layout.words.faults import BadInput
from layout.words.split import (
    JUMP_RANGE,
    LEAD,
    SHARE_RANGE,
    STEP_BAND,
    STEP_CONTEXT,
    Split,
    classify,
    lead,
    phases,
    step_check,
)
from layout.words.split_text import WORDS, parse_split
from tests import strategies as own
from tests.published import TAGS, ids, published

ROWS = published("jumps.toml")
BY_ID = {row["id"]: row for row in ROWS}
SEEN = [r for r in ROWS if r["tag"] == "seen" and ("shares" in r or "phases" in r)]
MEMORY = [r for r in ROWS if r["tag"].startswith("memory") and "phases" in r]


def _split(row: dict[str, Any]) -> Split:
    """A row's split, written out as text and read."""
    if "phases" in row:
        return parse_split("/".join(f"{p:.2f}" for p in row["phases"]) + " m", row["total"])
    return parse_split(":".join(f"{s:g}" for s in row["shares"]), row.get("total"))


def _half(row: dict[str, Any]) -> float:
    """Half of the last digit printed, and a little for floats."""
    return float(0.5 * 10 ** -row["digits"] + 1e-9)


# --- published jumps ------------------------------------------------------------------------------


@pytest.mark.parametrize("row", SEEN, ids=ids(SEEN))
def test_seen_rows(row: dict[str, Any]) -> None:
    split = _split(row)
    assert classify(split) == row["class"]
    if "lead" in row:
        assert lead(split)[1] == pytest.approx(row["lead"], abs=1e-9)
    if "shares" in row:
        # Dividing by the printed sum moves a share by up to 1 % of itself when it isn't 100.
        slack = abs(sum(row["shares"]) - 100) / 100 * max(row["shares"])
        assert [100 * s for s in split.shares] == pytest.approx(row["shares"], abs=slack + 1e-9)
    if "phases" in row:
        assert phases(row["total"], split) == pytest.approx(row["phases"], abs=1e-9)
    if "marks" in row:
        assert list(accumulate(phases(row["total"], split))) == pytest.approx(
            row["marks"], abs=1e-9
        )


@pytest.mark.parametrize("row", MEMORY, ids=ids(MEMORY))
def test_rows_from_memory(row: dict[str, Any]) -> None:
    """Softer: when one of these fails, doubt the row before the code."""
    split = _split(row)
    assert sum(row["phases"]) == pytest.approx(row["total"], abs=0.015)
    assert classify(split) == row["class"]
    if "lead" in row:
        assert lead(split)[1] == pytest.approx(row["lead"], abs=_half(row))


def test_distances_from_memory_give_the_published_shares() -> None:
    printed = BY_ID["record-1995-shares"]
    split = _split(BY_ID["record-1995-phases"])
    assert [100 * s for s in split.shares] == pytest.approx(printed["shares"], abs=_half(printed))


def test_rounding_the_shares_first_would_misjudge() -> None:
    """17.97 m leads by 1.95 points; in whole per cent it would be 35/28/37, a lead of 2."""
    split = _split(BY_ID["record-1985-phases"])
    rounded = [round(100 * s) for s in split.shares]
    assert rounded == [35, 28, 37]
    assert lead(split)[1] == pytest.approx(1.95, abs=0.005)
    assert classify(split) == "balanced"
    # One centimetre from hop to jump and back is enough to change the class.
    assert classify(parse_split([6.32, 4.96, 6.69])) == "jump-dominated"
    assert classify([0.3517, 0.2761, 0.3722]) == "jump-dominated"
    assert classify([0.3524, 0.2761, 0.3715]) == "balanced"


def test_words_are_the_published_splits() -> None:
    assert WORDS["hop-dominated"][0] == tuple(BY_ID["youth-award-split"]["shares"])
    assert WORDS["jump-dominated"][0] == tuple(BY_ID["record-1995-shares"]["shares"])
    assert WORDS["balanced"][0] == tuple(BY_ID["youth-7"]["shares"])
    for word in WORDS:
        assert classify(parse_split(word)) == word


def test_constants_are_the_published_ones() -> None:
    assert BY_ID["two-point-rule"]["lead"] == LEAD
    row = BY_ID["finalists-step-share"]
    for value in (row["men"], row["men_sd"], row["women"], row["women_sd"]):
        assert f"{value:g}" in STEP_CONTEXT
    assert said(row["source"]) in STEP_CONTEXT
    assert sum(STEP_BAND) / 2 == pytest.approx(BY_ID["step-about-30"]["share"] / 100)


def test_every_row_is_used() -> None:
    used = {r["id"] for r in [*SEEN, *MEMORY]}
    used |= {"two-point-rule", "finalists-step-share", "step-about-30", "effective-distance"}
    assert used == set(BY_ID)


# --- reading --------------------------------------------------------------------------------------

THIRDS = (0.35, 0.30, 0.35)
RECORD = tuple(p / 18.29 for p in (6.05, 5.22, 7.02))
RECORD_FT = tuple(p / 720.25 for p in (238.25, 205.5, 276.5))


@pytest.mark.parametrize(
    ("value", "shares"),
    [
        ("35:30:35", THIRDS),
        (" 35 : 30 : 35 ", THIRDS),
        ("35/30/35", THIRDS),
        ("35-30-35", THIRDS),
        ("35-30-35 %", THIRDS),
        ("35\u201330\u201335%", THIRDS),
        ("35 % 30 % 35 %", THIRDS),
        ("35%, 30%, 35%", THIRDS),
        ("35 30 35", THIRDS),
        ("35,30,35", THIRDS),
        ("35,0 30,0 35,0", THIRDS),
        (".35:.30:.35", THIRDS),
        ("0.35 / 0.30 / 0.35", THIRDS),
        ("33.6/31.7/34.8", tuple(x / 100.1 for x in (33.6, 31.7, 34.8))),
        ("33:33:33", (1 / 3, 1 / 3, 1 / 3)),
        ("34:33:34", (34 / 101, 33 / 101, 34 / 101)),
        ("6.05/5.22/7.02 m", RECORD),
        ("6.05 5.22 7.02", RECORD),
        ("6.05-5.22-7.02 m", RECORD),
        ("6,05/5,22/7,02 m", RECORD),
        ("6,05, 5,22, 7,02", RECORD),
        ("6.05 m, 5.22 m, 7.02 m", RECORD),
        ("605/522/702 cm", RECORD),
        ("605 cm; 5.22 m; 7020 mm", RECORD),
        ("19-10 1/4, 17-1 1/2, 23-0 1/2", RECORD_FT),
        ("19-10 1/4 / 17-1 1/2 / 23-0 1/2", RECORD_FT),
        ("19-10 1/4 17-1 1/2 23-0 1/2", RECORD_FT),
        ("19' 10\u00bc\" 17' 1\u00bd\" 23' 0\u00bd\"", RECORD_FT),
        ("19' 10\u00bc\", 17' 1\u00bd\", 23' 0\u00bd\"", RECORD_FT),
        ("19ft 10.25in / 17ft 1.5in / 23ft 0.5in", RECORD_FT),
        ("19-10 1/4/17-1 1/2/23-0 1/2", RECORD_FT),
        ("19-10\u00bc/17-1\u00bd/23-0\u00bd", RECORD_FT),
        ("19' 10 1/4\"/17' 1 1/2\"/23' 0 1/2\"", RECORD_FT),
        ("19-10 1/4 - 17-1 1/2 - 23-0 1/2", RECORD_FT),
        ("20/16/20 ft", (20 / 56, 16 / 56, 20 / 56)),
        ([35, 30, 35], THIRDS),
        ((0.35, 0.3, 0.35), THIRDS),
        ([1 / 3, 1 / 3, 1 / 3], (1 / 3, 1 / 3, 1 / 3)),
        ([6.05, 5.22, 7.02], RECORD),
        (["6.05 m", "5.22 m", "7.02 m"], RECORD),
        (["35 %", "30 %", "35 %"], THIRDS),
        ("balanced", THIRDS),
        ("Hop Dominated", (0.37, 0.30, 0.33)),
        ("jump_dominated", (0.33, 0.29, 0.38)),
    ],
)
def test_splits_as_coaches_write_them(value: Any, shares: tuple[float, float, float]) -> None:
    split = parse_split(value)
    assert split.shares == pytest.approx(shares, abs=1e-11)
    assert math.fsum(split.shares) == pytest.approx(1, abs=1e-12)
    if isinstance(value, str):
        assert split.source == value


@pytest.mark.parametrize(
    ("value", "rule"),
    [
        ("35:30:40", "these sum to 105"),
        ("35:30:30", "these sum to 95"),
        ("33:33:32.9", "these sum to 98.9"),
        (".35:.30:.40", "these sum to 1.05"),
        ("35:30:40 %", "these sum to 105"),
        ("6:5:6 %", "these sum to 17"),
        ("35:.30:34.7", "percentages and decimal shares can't be mixed"),
        ("35 % / 6 m / 30 %", "can't be mixed"),
        ("35 % : .30 : .35", "can't be mixed"),
        ("20% 30 50", "can't be mixed"),
        ("6 m, 17-1 1/2, 23-0 1/2", "can't be mixed"),
        ("70:15:15", "the hop's share must be 15 to 60 %"),
        ("43:14:43", "the step's share must be 15 to 60 %"),
        ("20:19:61", "the jump's share must be 15 to 60 %"),
        ("10/1/8 m", "the step's share must be 15 to 60 %"),
        ("-35:100:35", "must be above 0"),
        ([-35, 100, 35], "must be above 0"),
        ("0:0:0", "must be above 0"),
        ("0/0/0 m", "must be above 0"),
        ("30/30/30 m", "distances must sum to 1.5-25 m, these sum to 90.00 m"),
        ("", "must be three shares or three distances"),
        ("  ", "must be three shares or three distances"),
        ("35:30", "must be three shares or three distances"),
        ("35:30:20:15", "must be three shares or three distances"),
        ("35:30/35", "must be three shares or three distances"),
        ("a:b:c", "must be three shares or three distances"),
        ("nan:nan:nan", "must be three shares or three distances"),
        ("step-dominated", "must be three shares or three distances"),
        ("35:30:35" * 40, "must be three shares or three distances"),
        ([35, 30], "must be three shares or three distances"),
        ([35, 30, 20, 15], "must be three shares or three distances"),
        ([True, 30, 69], "must be three shares or three distances"),
        ([[35], 30, 35], "must be three shares or three distances"),
        ([math.nan, 30, 35], "finite"),
        ([math.inf, 30, 35], "finite"),
        (35, "must be three shares or three distances"),
        (b"abc", "must be three shares or three distances"),
        ({"hop": 35}, "must be three shares or three distances"),
    ],
)
def test_refused_splits_name_field_rule_and_value(value: Any, rule: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_split(value)
    line = str(caught.value)
    assert line.startswith("split: ")
    assert rule in line
    assert ", got " in line
    assert "\n" not in line


def test_distances_must_agree_with_the_total() -> None:
    for total in (18.305, 18.275):
        assert parse_split("6.05/5.22/7.02 m", total).shares == pytest.approx(RECORD)
    with pytest.raises(BadInput, match=r"total of 18\.31 m within 1\.5 cm, these sum to 18\.29 m"):
        parse_split("6.05/5.22/7.02 m", 18.31)
    with pytest.raises(BadInput, match=r"these sum to 10\.00 m"):
        parse_split("3:3:4", 17.0)


@pytest.mark.parametrize("total", [-17.0, 0.0, 1.49, 25.1, 300.0, math.nan, math.inf])
def test_absurd_totals_are_refused(total: float) -> None:
    split = parse_split("balanced")
    for call in (lambda: parse_split("35:30:35", total), lambda: phases(total, split)):
        with pytest.raises(BadInput, match=r"^total: must be"):
            call()


@given(own.texts)
@example("1/0 in:1/0 in:1/0 in")
@example("---")
def test_any_text_is_a_split_or_refused(text: str) -> None:
    try:
        shares, said = parse_split(text).shares, ""
    except BadInput as refused:
        shares, said = (1.0, 0.0, 0.0), str(refused)
    assert math.fsum(shares) == pytest.approx(1, abs=1e-12)
    assert "\n" not in said


@given(
    st.integers(220, 400), st.integers(220, 400), st.integers(990, 1010), st.sampled_from(":/- ;,")
)
def test_printed_shares_read_back(hop: int, step: int, total: int, separator: str) -> None:
    tenths = (hop, step, total - hop - step)
    expected = [t / total for t in tenths]
    assert parse_split(separator.join(f"{t / 10:.1f}" for t in tenths)).shares == pytest.approx(
        expected, abs=1e-12
    )


@pytest.mark.parametrize(
    "shares", [(0.35, 0.30, 0.34), (0.5, 0.5), (math.nan, 0.5, 0.5), (0.7, 0.15, 0.15)]
)
def test_a_split_that_is_none_can_not_be_made(shares: Any) -> None:
    with pytest.raises(BadInput, match="split"):
        Split(shares, "by hand")


# --- classifying ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shares", "name", "largest"),
    [
        ((0.36, 0.30, 0.34), "hop-dominated", "hop"),  # exactly 2; 1.9999999999999962 in floats
        ((0.34, 0.30, 0.36), "jump-dominated", "jump"),
        ((0.3599, 0.30, 0.3401), "balanced", "hop"),
        ((0.35, 0.30, 0.35), "balanced", "hop"),
        ((0.32, 0.36, 0.32), "step-dominated: outside the scheme", "step"),
        ((0.34, 0.35, 0.31), "balanced", "step"),
    ],
)
def test_two_point_rule(shares: tuple[float, float, float], name: str, largest: str) -> None:
    assert (classify(shares), lead(shares)[0]) == (name, largest)


@given(st.integers(25, 39), st.integers(25, 39))
def test_exactly_two_whole_points_dominate_whatever_the_floats(a: int, b: int) -> None:
    hop, step, jump = sorted((a, b, 100 - a - b))
    assume(hop > 0)
    found = [hop / 100, step / 100, jump / 100]
    assert (classify(found) == "jump-dominated") == (jump - step >= 2)
    assert lead(found)[1] == pytest.approx(jump - step, abs=1e-9)


@given(own.shares())
def test_hop_and_jump_swap_names(shares: tuple[float, float, float]) -> None:
    hop, step, jump = shares
    swap = {"hop-dominated": "jump-dominated", "jump-dominated": "hop-dominated"}
    there, back = classify((hop, step, jump)), classify((jump, step, hop))
    assert swap.get(there, there) == back
    assert lead((hop, step, jump))[1] == pytest.approx(lead((jump, step, hop))[1])
    assert lead((hop, step, jump))[1] >= 0


@pytest.mark.parametrize("bad", [(0.5, 0.5), (35, 30, 35), (math.nan, 0.5, 0.5)])
def test_only_shares_are_classified(bad: tuple[float, ...]) -> None:
    with pytest.raises(BadInput):
        classify(bad)
    with pytest.raises(BadInput):
        step_check(bad)


@pytest.mark.parametrize("step", [0.27, 0.30, 0.33])
def test_step_in_the_band(step: float) -> None:
    assert step_check((0.36, step, 1 - 0.36 - step)) == ""


@pytest.mark.parametrize(
    ("shares", "said"),
    [((0.40, 0.25, 0.35), "shorter step"), ((0.33, 0.34, 0.33), "longer step")],
)
def test_step_out_of_the_band(shares: tuple[float, float, float], said: str) -> None:
    warning = step_check(shares)
    assert said in warning
    assert f"{100 * shares[1]:.1f} %" in warning
    assert "27 to 33 %" in warning
    assert "common practice, no source" in warning
    assert STEP_CONTEXT in warning


# --- laying out -----------------------------------------------------------------------------------


@given(own.totals, own.splits)
def test_phases_sum_to_the_total(total: float, split: Split) -> None:
    assert math.fsum(phases(total, split)) == pytest.approx(total, rel=1e-12)


@given(own.totals, own.splits)
def test_distances_give_their_shares_back(total: float, split: Split) -> None:
    text = "/".join(f"{p:.9f}" for p in phases(total, split)) + " m"
    assume(JUMP_RANGE[0] + 1e-6 < total < JUMP_RANGE[1] - 1e-6)
    assume(all(SHARE_RANGE[0] + 1e-6 < s < SHARE_RANGE[1] - 1e-6 for s in split.shares))
    assert parse_split(text, total).shares == pytest.approx(split.shares, abs=1e-8)


# --- the loader -----------------------------------------------------------------------------------

GOOD = 'id="a"\nwhat="w"\nsource="s"\nplace="p"\ndigits=2\ntag="seen"\n'


def test_a_complete_row_is_loaded(tmp_path: Path) -> None:
    file = tmp_path / "rows.toml"
    file.write_text("[[row]]\n" + GOOD)
    assert [r["id"] for r in published(file)] == ["a"]
    assert published(file, "practice") == []


@pytest.mark.parametrize("key", ["id", "what", "source", "place", "tag", "digits"])
def test_a_row_without_its_source_is_refused(tmp_path: Path, key: str) -> None:
    file = tmp_path / "rows.toml"
    lines = [line for line in GOOD.splitlines() if not line.startswith(key)]
    file.write_text("[[row]]\n" + "\n".join(lines))
    with pytest.raises(ValueError, match=key):
        published(file)


def test_other_wrong_tables_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "rows.toml"
    for text in ("", "[[row]]\n" + GOOD.replace("seen", "sure"), ("[[row]]\n" + GOOD) * 2):
        file.write_text(text)
        with pytest.raises(ValueError, match=r"rows\.toml"):
            published(file)
    with pytest.raises(ValueError, match="tag"):
        published("jumps.toml", "sure")


def test_tags_are_told_apart() -> None:
    assert {r["tag"] for r in ROWS} <= set(TAGS)
    assert len(published("jumps.toml", "seen")) + len(
        published("jumps.toml", *[t for t in TAGS if t != "seen"])
    ) == len(ROWS)
