"""`phasemark book season` and `fit` from outside, and seasons of any book."""

from __future__ import annotations

import datetime
import json
import re
import shlex
import tempfile
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layout.athlete.athlete import Calibration, athlete_from, read_athlete
from layout.book.exchange import back, out
from layout.book.people import add_name, find_member
from layout.book.record import read_record
from layout.book.store import open_book
from layout.cli import main
from layout.commands.as_json import season_json
from layout.commands.season_text import season_text
from layout.page.page import Line, Text, extent
from layout.plan.venue import find_venue
from layout.season.plots import season_pages
from layout.season.put_in import calibration_lines, own_file
from layout.season.refit import calibrated, refit
from layout.season.season import Asked, athlete_of, fit_of, planned_as, season_of
from layout.sheet.plots import plot_file
from layout.training.rungs import ladder
from layout.words.faults import BadInput
from tests.layout.book.book_cases import attempt_rows, club_book, empty_book, insert, keep_file
from tests.layout.season.season_cases import drawn, put, record_from, season_book, truth
from tests.paper import collisions
from tests.strategies import CLUB_FOLDER

ON = datetime.date(2026, 5, 12)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A book with a season in it."""
    return season_book(tmp_path_factory.mktemp("season")).read_bytes()


@pytest.fixture
def track(tmp_path: Path, kept: bytes, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with that book, gone to."""
    (tmp_path / "a.book").touch(0o600)
    (tmp_path / "a.book").write_bytes(kept)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def said(line: str, capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert main(["book", *shlex.split(line)]) == 0, capsys.readouterr().err
    captured = capsys.readouterr()
    assert captured.err == ""
    return captured.out


def complaint(line: str, capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert main(["book", *shlex.split(line)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    (one,) = captured.err.splitlines()
    return one


# --- what a coach reads ---------------------------------------------------------------------------


def test_a_season_is_told_in_plain_words(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = said("season a.book imka --on 2026-05-12 --sound quiet", capsys)
    for title in ("JUMPED AGAINST PLANNED", "THE NEXT CENTIMETRES", "OWN PARAMETERS", "NEW SPACING",
                  "THE LADDER", "CONTACTS BY WEEK", "BEST SPLIT", "TAKE CARE"):  # fmt: skip
        assert title in text
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "common practice, no source" in " ".join(text.split())
    assert "next: phasemark book fit a.book Imka" in text
    assert not re.search(r"\bnan\b|\binf\b|None|e-0", text)


def test_the_refit_of_that_season_finds_what_it_was_made_with(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = json.loads(said("fit a.book imka --on 2026-05-12 --json", capsys))
    by_name = {p["name"]: p for p in out["parameters"]}
    assert out["enough"]
    assert by_name["pull"]["value"] == pytest.approx(0.17, abs=0.05)
    assert by_name["tau"]["value"] == pytest.approx(1.7, abs=0.25)
    assert "[calibration]" in out["lines"]


def test_json_and_text_tell_the_same(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = json.loads(said("season a.book imka --on 2026-05-12 --json", capsys))
    text = said("season a.book imka --on 2026-05-12", capsys)
    assert f"{out['entries']} entries, {out['fouls']} fouls" in text
    full = next(t for t in out["measured"] if t["drill"] == "full-triple-jump")
    for phase in full["phases_m"]:
        assert f"{phase['name']:6}  {phase['usual']:.2f}" in re.sub(r"   +", "  ", text) or (
            f"{phase['usual']:.2f}" in text
        )
    assert out["ladder"]["rung"] in text
    # What the target asks for is said once, here, and not on every drill's sheet.
    assert [n["code"] for n in out["target_asks"]] == ["needs-speed"]
    assert " ".join(text.split()).count(out["target_asks"][0]["text"]) == 1
    assert [w["contacts"] for w in out["weeks"]].count(0) == 3
    assert any(n["code"] == "rise" for w in out["weeks"] for n in w["notes"])


def test_feet_and_inches(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = said("season a.book imka --on 2026-05-12 --tape ft", capsys)
    assert "in feet" in text
    assert re.search(r"hop +1[34]-", text)


def test_pain_rests(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = said("season a.book imka --on 2026-05-12 --pain", capsys)
    assert "REST." in text
    assert "next rung:" not in text


def test_what_is_after_the_day_is_not_told(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    early = json.loads(said("season a.book imka --on 2026-02-05 --json", capsys))
    late = json.loads(said("season a.book imka --on 2026-05-12 --json", capsys))
    assert 0 < early["entries"] < 40 < late["entries"]
    assert len(early["weeks"]) == 1
    since = json.loads(said("season a.book imka --on 2026-05-12 --since 2026-05-01 --json", capsys))
    assert 0 < since["entries"] < early["entries"] * 2
    assert since["weeks"] == late["weeks"]


# --- too little to say much -----------------------------------------------------------------------


@pytest.mark.parametrize(
    "rows",
    [
        [],
        [{"lengths": [4.0, 3.4, 4.0]}],
        [{"lengths": [4.0, 3.4, 4.0], "foul": 1}] * 5,
        [{"lengths": [None, 3.4, None]}, {"lengths": [4.0, None, 4.0], "total": 11.4}] * 4,
        [{"lengths": [None, None, None], "runs": 6, "contacts": 24}],
        [{"lengths": [4.0, 3.4, 4.0]}] * 30,
    ],
    ids=["none", "one", "only fouls", "missing phases", "not measured", "all alike"],
)  # fmt: skip
def test_little_is_told_as_little(
    tmp_path: Path, rows: list[dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        more = {"day": "2026-05-01", "drill": "full-triple-jump", "phases": "hop step jump"}
        put(book, find_member(book, "imka").id, [{**more, **row} for row in rows])
    text = said(f"season {shlex.quote(str(path))} imka --on 2026-05-12", capsys)
    assert "Defaults are kept" in text
    assert "TAKE CARE" in text
    assert not re.search(r"\bnan\b|\binf\b|None", text)
    said(f"season {shlex.quote(str(path))} imka --on 2026-05-12 --json", capsys)
    folder = shlex.quote(str(tmp_path / "plots"))
    out = said(f"season {shlex.quote(str(path))} imka --on 2026-05-12 --plots {folder}", capsys)
    assert ("saved" in out) == bool(rows)
    assert "not enough yet" in complaint(f"fit {shlex.quote(str(path))} imka --save x.toml", capsys)


def test_an_athlete_of_whom_only_the_name_is_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        number, _ = add_name(book, "Nobody")
        more = {"day": "2026-05-01", "drill": "hop-step-sand", "phases": "hop step"}
        put(book, number, [{**more, "lengths": [2.5, 2.1]}] * 12)
    text = said(f"season {shlex.quote(str(path))} nobody --on 2026-05-12", capsys)
    assert "NO ATHLETE FILE TO GO BY" in text
    assert "stature" in text
    assert "36 " in text  # the load is told all the same
    assert "Under 16" in text
    assert "stature" in main_error(f"fit {shlex.quote(str(path))} nobody", capsys)


def main_error(line: str, capsys: pytest.CaptureFixture[str]) -> str:
    capsys.readouterr()
    assert main(["book", *shlex.split(line)]) == 2
    return capsys.readouterr().err


def test_a_child_on_no_open_rung_is_told_of_the_load_all_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight years: no rung is open, and why; three sessions on days in a row are flagged."""
    path = club_book(tmp_path)
    with open_book(path) as book:
        text = (CLUB_FOLDER / "runa.toml").read_text(encoding="utf-8")
        text = text.replace("born = 2014", "born = 2017").replace("training_years = 0.5\n", "")
        (tmp_path / "zoe.toml").write_text(text.replace("Runa", "Zoe"), encoding="utf-8")
        keep_file(book, tmp_path / "zoe.toml")
        rows = [{"day": f"2026-05-0{day}", "drill": "hop-step-hold", "phases": "hop step",
                 "lengths": [1.1, 1.1]} for day in (4, 5, 6)]  # fmt: skip
        whole = {"day": "2026-05-06", "drill": "full-triple-jump", "phases": "hop step jump",
                 "lengths": [1.3, 1.1, 1.3]}  # fmt: skip
        put(book, find_member(book, "zoe").id, [*rows * 12, whole])
    book_ = shlex.quote(str(path))
    out = said(f"season {book_} zoe --on 2026-05-12", capsys)
    plain = " ".join(out.split())
    assert (
        "! No rung is open to Zoe. The lowest is hold-low: From 10 years; Zoe counts as 8." in plain
    )
    assert "Counts as 8 years old" in plain
    assert "years of training" in plain
    assert "! full-triple-jump: Very hard contacts, from 16 years; Zoe counts as 8." in plain
    for flag in ("3 sessions; at most 2 a week under 16", "never on days in a row", "TAKE CARE"):
        assert flag in plain
    assert "120" not in plain
    found = json.loads(said(f"season {book_} zoe --on 2026-05-12 --json", capsys))
    assert found["ladder"] is None
    assert "no rung is open to Zoe" in found["no_rung"]
    assert found["counts_as"]["age"] == 8
    assert [n["code"] for n in found["closed_but_jumped"]] == ["shock", "too-young"]
    assert {n["code"] for w in found["weeks"] for n in w["notes"]} >= {"sessions", "row"}
    # A rung that is not there stays a refusal.
    assert "at: is not a rung" in complaint(
        f"season {book_} zoe --on 2026-05-12 --at hold-lo", capsys
    )


def test_size_and_a_whole_jump_make_an_athlete(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        who = replace(find_member(book, "imka"), file=None)
        put(book, who.id, [{"day": "2026-05-01", "drill": "full-triple-jump",
                            "phases": "hop step jump", "lengths": [4.2, 3.5, 4.2]}])  # fmt: skip
        season = season_of(book, who, ON, ladder(), find_venue("club"))
        assert season.athlete is not None
        assert season.athlete.best == pytest.approx(11.9)
        bare = replace(who, stature=None)
        assert season_of(book, bare, ON, ladder(), find_venue("club")).athlete is None


def test_refusals_are_one_line(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "bram" in complaint("season a.book bram", capsys)
    assert "--on" in complaint("season a.book imka --on today", capsys)
    assert "--as" in complaint("season a.book imka --as gif", capsys)
    assert "sound" in complaint("season a.book imka --sound soft", capsys)
    assert "at" in complaint("season a.book imka --at nowhere", capsys)
    (track / "taken").write_text("x")
    assert "taken" in complaint("season a.book imka --on 2026-05-12 --plots taken", capsys)
    assert "no-folder" in complaint(
        "season a.book imka --on 2026-05-12 --plots no-folder/x", capsys
    )
    assert "no-folder" in complaint(
        "fit a.book imka --on 2026-05-12 --save no-folder/x.toml", capsys
    )


# --- plots ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_plots_are_saved_and_never_overwritten_unasked(
    track: Path, kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    line = f"season a.book imka --on 2026-05-12 --plots plots --as {kind}"
    said(f"{line} --grey", capsys)
    names = sorted(p.name for p in (track / "plots").iterdir())
    assert names == [f"contacts.{kind}", f"phases.{kind}", f"step-share.{kind}"]
    start = {"svg": b"<?xml", "png": b"\x89PNG"}[kind]
    assert all(p.read_bytes().startswith(start) for p in (track / "plots").iterdir())
    before = (track / "plots" / f"phases.{kind}").read_bytes()
    assert "overwrite" in complaint(line, capsys)
    assert (track / "plots").stat().st_mode & 0o077 == 0
    assert (track / "plots" / f"phases.{kind}").read_bytes() == before
    said(f"{line} --overwrite", capsys)
    assert (track / "plots" / f"phases.{kind}").read_bytes() != before


def test_the_same_season_is_the_same_plot(track: Path) -> None:
    with open_book(track / "a.book") as book:
        season = season_of(book, find_member(book, "imka"), ON, ladder(), find_venue("club"))
    pages = season_pages(season)
    assert set(pages) == {"phases", "step-share", "contacts"}
    odd = season_pages(replace(season, name="$x_1 \\ <b>&"))
    for name, page in pages.items():
        assert page == season_pages(season)[name]
        assert plot_file(page, "svg", False) == plot_file(page, "svg", False)
        assert any("$x_1 \\ <b>&" in i.text for i in odd[name].ink if isinstance(i, Text))
        left, top, right, low = extent(page.ink)
        assert min(left, top, page.width - right, page.height - low) >= 0.0
        assert collisions(page, 0.0) == []


def test_bars_of_weeks_are_as_high_as_their_contacts(track: Path) -> None:
    with open_book(track / "a.book") as book:
        season = season_of(book, find_member(book, "imka"), ON, ladder(), find_venue("club"))
    page = season_pages(season)["contacts"]
    at = {i.text: i.at[1] for i in page.ink if isinstance(i, Text) and i.align == "right"}
    per_mm = 100.0 / (at["0"] - at["100"])
    bars = {
        i.name.removeprefix("week-"): (i.points[2][1] - i.points[0][1]) * per_mm
        for i in page.ink if isinstance(i, Line) and i.name.startswith("week-")
    }  # fmt: skip
    assert bars == pytest.approx({w.monday: w.contacts for w in season.weeks if w.contacts})
    budgets = {i.points[0][1] for i in page.ink if isinstance(i, Line) and i.stroke == "measure"
               if len(i.points) > 2}  # fmt: skip
    assert [(at["0"] - 1.1 - y) * per_mm for y in budgets] == pytest.approx(
        [season.weeks[0].budget]
    )


# --- a file of one's own --------------------------------------------------------------------------


def test_the_own_file_is_new_and_reads_back(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = said("fit a.book imka --on 2026-05-12 --save own.toml", capsys)
    assert "your own file is as it was" in text
    own = read_athlete(track / "own.toml")
    with open_book(track / "a.book") as book:
        fitted = fit_of(book, find_member(book, "imka"), ON)
    assert own.calibration.pull == pytest.approx(fitted.refitted.calibration.pull, abs=6e-4)
    assert own.calibration.tau == pytest.approx(fitted.refitted.calibration.tau, abs=6e-4)
    assert own.speed == pytest.approx(fitted.refitted.speed, abs=6e-3)
    assert own.name == "Imka"
    kept = (track / "own.toml").read_bytes()
    assert (track / "own.toml").stat().st_mode & 0o077 == 0
    assert "exists" in complaint("fit a.book imka --on 2026-05-12 --save own.toml", capsys)
    assert (track / "own.toml").read_bytes() == kept
    assert main(["plan", "own.toml", "hop-step-sand"]) == 0


FILES = (
    (CLUB_FOLDER / "imka.toml").read_text(encoding="utf-8"),
    'name="A"\nstature=1.7\nmass=60\nleg="left"\nbest=11.9 # today\ntarget=12.3\n[calibration]\n'
    "slope = 0.9 # mine\npull=0.2\n",
    "name='B'\nstature=1.7\nmass=60\nleg='left'\nspeed=8.1\ntarget=12.3\nbest='11.9 m'\n"
    "\n[ calibration ] # by hand\nlosses = [\n 0.07,\n 0.08,\n 0.15,\n]\ntau = 1.9\nrun_up='28.5 m'\n",
)


@pytest.mark.parametrize("text", FILES)
def test_lines_are_put_into_any_file(text: str) -> None:
    athlete = athlete_from(tomllib.loads(text))
    rng = np.random.default_rng(1)
    found = refit(truth("imka"), record_from("imka", drawn("imka", rng, 0.3), rng))
    after = calibrated(athlete, found)
    table = calibration_lines(after, found, "2026-01-01", "2026-05-01")
    made = own_file(text, athlete, after, table)
    got = athlete_from(tomllib.loads(made))
    assert got.calibration.slope == pytest.approx(after.calibration.slope, abs=6e-4)
    assert got.calibration.run_up == athlete.calibration.run_up
    assert made.count("[calibration]") + made.count("[ calibration ]") == 1
    assert got.speed == pytest.approx(after.speed, abs=6e-3)
    assert ("it was 8.10" in made) == (athlete.speed == 8.1)
    for line in text.splitlines():
        if line.startswith(("name", "stature", "#", "note", "target")):
            assert line in made


def test_a_file_that_lines_cannot_be_put_into_is_refused() -> None:
    text = "calibration = {slope = 0.9}\nname='B'\nstature=1.7\nmass=60\nleg='left'\nbest=11.9\n"
    athlete = athlete_from(tomllib.loads(text))
    after = replace(athlete, calibration=Calibration(slope=0.8))
    found = refit(truth("imka"), record_from("imka", drawn("imka", np.random.default_rng(1), 0.3),
                                             np.random.default_rng(1)))  # fmt: skip
    with pytest.raises(BadInput, match="copy the printed lines"):
        own_file(text, athlete, after, calibration_lines(after, found, "a", "b"))


# --- any book -------------------------------------------------------------------------------------


@given(rows=st.lists(attempt_rows(), max_size=25), days=st.lists(st.integers(0, 200), min_size=25,
                                                                  max_size=25))  # fmt: skip
@settings(max_examples=12, deadline=None)
def test_any_book_is_told_without_a_fall(rows: list[dict[str, Any]], days: list[int]) -> None:
    with tempfile.TemporaryDirectory() as name, open_book(club_book(Path(name))) as book:
        with book.writing() as db:
            for i in range(25):
                day = (datetime.date(2026, 1, 1) + datetime.timedelta(days=days[i])).isoformat()
                db.execute("INSERT OR IGNORE INTO session (day, place) VALUES (?, 'x')", (day,))
            count = db.execute("SELECT count(*) FROM session").fetchone()[0]
            for i, row in enumerate(rows):
                insert(db, {**row, "session": 1 + i % count})
        for who in ("runa", "imka"):
            member = find_member(book, who)
            on = datetime.date(2026, 12, 1)
            season = season_of(book, member, on, ladder(), find_venue("club"), Asked("2000-01-01"))
            assert season.attempts == sum(
                r["athlete"] == member.id and not r.get("struck") for r in rows
            )
            text = "\n".join(season_text(season, "cm"))
            assert not re.search(r"\bnan\b|\binf\b", text)
            json.loads(season_json(season))
            contacts = sum(r["contacts"] for r in rows if r["athlete"] == member.id
                           and not r.get("struck"))  # fmt: skip
            assert sum(w.contacts for w in season.weeks) == contacts


def test_the_athlete_is_the_one_of_the_file(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        athlete = athlete_of(find_member(book, "runa"), read_record(book, 1))
    assert athlete == read_athlete(CLUB_FOLDER / "runa.toml")
    assert planned_as(replace(athlete, strides=11, strides_given=False), ON).strides == 5


def test_a_book_that_went_out_and_in_tells_the_same(track: Path) -> None:
    other = empty_book(track)
    told = []
    with open_book(track / "a.book") as one, open_book(other) as two:
        out(one, track / "out")
        back(two, track / "out")
        for book in (one, two):
            who = find_member(book, "imka")
            told.append(season_json(season_of(book, who, ON, ladder(), find_venue("club"))))
    assert told[0] == told[1]
