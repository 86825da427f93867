"""`phasemark book` from outside: a session at the track, one-line refusals, every word explained."""

from __future__ import annotations

import io
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from layout.book.rows import attempts
from layout.book.store import open_book
from layout.cli import main
from layout.commands import book_, book_list
from layout.commands.book_ import ROOMS, parser
from tests.layout.book.book_cases import ROOT, club_book, empty_book
from tests.layout.book.book_cases import plan_text as saved_plan
from tests.strategies import CLUB_FOLDER


@pytest.fixture
def track(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the club's files and a saved plan, gone to."""
    for file in CLUB_FOLDER.glob("*.toml"):
        shutil.copy(file, tmp_path)
    (tmp_path / "plan.json").write_text(saved_plan(), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(line: str) -> int:
    try:
        return main(["book", *shlex.split(line)])
    except SystemExit as gone:
        return int(str(gone.code))


def said(line: str, capsys: pytest.CaptureFixture[str]) -> str:
    """What a command that goes well prints."""
    capsys.readouterr()
    assert run(line) == 0, capsys.readouterr().err
    captured = capsys.readouterr()
    assert captured.err == ""
    return captured.out


def complaint(line: str, capsys: pytest.CaptureFixture[str]) -> str:
    """The one line of a command that is refused."""
    capsys.readouterr()
    assert run(line) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    lines = captured.err.splitlines()
    assert len(lines) == 1, captured.err
    assert "Traceback" not in lines[0]
    return str(lines[0])


def test_every_example_runs_in_the_order_of_the_words(
    track: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Their order in ROOMS is that of a season; out and in need what the other makes."""
    table = "athlete;drill;date;hop;step;total\nImka;hop-step-sand;2.5.2026;2,75;2,25;\n"
    (track / "filled.csv").write_text(table, encoding="utf-8")
    sent = "".join(f"runa hop-step-sand 2.6{i} 4.80\n" for i in range(5))
    (track / "sent.txt").write_text(sent, encoding="utf-8")
    seen = 0
    run("new another.book")
    order = ["new", "keep", "add", "correct", "list", "out", "in", "check", "erase"]
    assert {*order} == {w for w, (_, room) in ROOMS.items() if room in (
        "book_files", "book_add", "book_list", "book_erase")}  # fmt: skip
    for word in order:
        text = parser(word).epilog
        assert text
        examples = re.findall(r"^ {2}phasemark book (.*)$", text, re.M)
        assert examples
        for example in examples:
            monkeypatch.setattr(sys, "stdin", io.StringIO("runa 2.61 4.80\n"))
            example = example.removesuffix(" < attempts.txt").removesuffix(" < messages")
            if "filled.csv --athlete" in example:
                (track / "filled.csv").write_text("hop;step\n2,61;2,19\n", encoding="utf-8")
            if word == "keep" and "--name" not in example:
                shutil.copy(CLUB_FOLDER / "runa.toml", track)
            assert said(example, capsys)
            seen += 1
    assert seen >= 20


def test_a_session(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said("new club.book", capsys)
    said("keep club.book runa.toml plan.json imka.toml", capsys)
    out = said("add club.book runa hop-step-sand 2.61 4.80 --wind -0.3", capsys)
    assert "hop 2.61 m, step 2.19 m, total 4.80 m (planned 2.53 + 2.10)" in out
    assert "phasemark book correct club.book 1 --readings" in out
    out = said("add club.book run 0,45 -1,74 --zero pit --foul", capsys)  # Runa's last drill again
    assert "hop 2.61 m, step 2.19 m, total 4.80 m" in out
    assert "foul" in out
    assert "look: hop 4.61 m is" in said("add club.book runa 461 680", capsys)
    assert "8' 7\"" in said("add club.book runa 8-7 15-9 --tape ft", capsys)
    assert "6 runs not measured, 18 contacts" in said("add club.book runa --runs 6", capsys)
    assert "readings: 461 ; 680 -> 261 ; 480" in said(
        "correct club.book 3 --readings 261 480", capsys
    )
    out = said("list club.book", capsys)
    assert [line.split()[0] for line in out.splitlines() if line[:4].strip()] == list("12345")
    assert "wind -0.3" in out
    kept = json.loads(said("list club.book runa --json", capsys))
    assert [k["id"] for k in kept] == [1, 2, 3, 4, 5]
    assert kept[0]["lengths"] == [2.61, 2.19]
    assert "Imka  born 2009" in said("list club.book --athletes", capsys)
    assert re.search(
        r"Runa +hop-step-sand +10 +4 +1 +4\.80 m", said("list club.book --sums", capsys)
    )
    assert json.loads(said("list club.book --by-week --json", capsys))[0]["contacts"] == 30
    assert "461 ; 680 -> 261 ; 480" in said("list club.book --corrections", capsys)
    assert json.loads(said("check club.book --json", capsys))["wrong"] == []
    saved = json.loads(said("add club.book imka hop-step-sand 2.6 4.9 --json", capsys))
    assert (saved["id"], saved["athlete"], saved["total"]) == (6, "Imka", 4.9)


def test_a_line_for_each_attempt(
    track: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    club_book(track, "club.book")
    typed = (
        "runa hop-step-sand 2.61 4.80\nruna 2.58 -4.83\nruna 2.58 4.83 --wind -0.3 --note 'a b'\n"
        "imka --wnd 3\nruna 'x\nimka hop-step-sand 2.6 4.9\n\nruna 2.0 4.0\n"
    )
    monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
    assert run("add club.book -") == 2
    captured = capsys.readouterr()
    assert "3 not kept" in captured.out
    assert [line.split(": ")[1:3] for line in captured.err.splitlines()] == [
        ["line 2", "step"], ["line 4", "line"], ["line 5", "line"]
    ]  # fmt: skip
    assert "unknown: --wnd 3; did you mean --wind?" in captured.err
    kept = json.loads(said("list club.book --json", capsys))
    assert [(k["athlete"], k["total"], k["wind"]) for k in kept] == [
        ("Runa", 4.8, None), ("Runa", 4.83, -0.3), ("Imka", 4.9, None)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        (
            "add gone.book runa hop-step-sand 2.6 4.8",
            r"gone\.book: book: is not there; phasemark bo",
        ),
        ("add runa.toml runa hop-step-sand 2.6 4.8", r"runa\.toml: book: is not a book"),
        ("add club.book runna hop-step-sand 2.6 4.8", "athlete: .*did you mean Runa"),
        ("add club.book runa hop-step-sant 2.6 4.8", "drill: .*did you mean hop-step-sand"),
        ("add club.book runa 2.6 4.8", "drill: needed with the first attempt"),
        ("add club.book runa hop-step-sand", "readings: needed; or --total, or --runs"),
        ("add club.book runa hop-step-sand 4.8 2.6", "step: each landing must be further"),
        ("add club.book runa hop-step-sand 2.6 4.8 --zero bord", "zero: .*did you mean board"),
        ("add club.book runa hop-step-sand 2.6 4.8 --on tomorrow", "on: must be a date such as"),
        ("add club.book runa hop-step-sand 2.6 4.8 --tape yd", "--tape: must be one of cm, ft"),
        ("add club.book runa hop-step-sand 2.6 4.8 --wnd 1", "did you mean --wind"),
        (
            "add club.book runa hop-step-sand 2.6 4.8 --drill-file gone.toml",
            r"gone\.toml: file: cannot",
        ),
        ("add club.book", r"missing: athlete \("),
        ("add", r"missing: CLUB\.book, athlete \("),
        ("ad club.book", "book: must be one of .*; did you mean add"),
        ("keep club.book", "keep: must be an athlete file"),
        ("keep club.book gone.toml", r"gone\.toml: file: cannot be read"),
        (
            "keep club.book club.book",
            r"club\.book: file: must be an athlete's, drills' or venue's file \(\.toml\) or a saved plan",
        ),
        ("correct club.book 1", "correct: say what to change"),
        ("correct club.book 1 --strike", "attempt: no attempt of this number"),
        ("correct club.book one --strike", "number: must be a whole number from 1"),
        ("list club.book nobody", "athlete: is not in this book"),
        ("list club.book --last 0", "--last: must be a whole number from 1"),
        ("list club.book --corrections", "corrections: none were made"),
        ("list club.book --since soon", "--since: must be a date such as"),
        ("in club.book gone.csv", r"gone\.csv: file: cannot be read"),
        ("in club.book .", r"must be empty to take a whole folder in"),
        ("out club.book plan.json", "output: exists already and is kept"),
        ("out club.book a.csv --athlete runa", r"target: must be a file ending in \.json"),
        ("out club.book plan.json --athlete runa", "output: exists already and is kept"),
        ("erase club.book run --yes", "athlete: is not in this book; did you mean Runa"),
        ("erase club.book Runa", "erase: --yes needed: Runa will be gone for good"),
        ("new club.book", "exists already and is kept"),
        ("new club.db", r"must be a name ending in \.book"),
        ("check gone.book", "is not there"),
        (
            "correct club.book 99999999999999999999 --strike",
            "number: must be a whole number from 1",
        ),
        (
            "list club.book --since 2026-02-01 --until 2026-01-01",
            "--until: must be a day from 2026-02-01",
        ),
        ("correct club.book 1 --strike --restore", "--restore: cannot go with --strike"),
    ],
)
def test_bad_input_is_one_line_and_nothing_changes(
    line: str, rule: str, track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    before = {p.name: p.read_bytes() for p in track.iterdir()}
    assert re.search(rule, complaint(line, capsys))
    assert {p.name: p.read_bytes() for p in track.iterdir()} == before


@pytest.mark.skipif(os.name != "posix", reason="no owner bits here")
def test_a_readable_book_is_warned_of_by_every_word(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book").chmod(0o644)
    for line in ("add club.book runa hop-step-sand 2.6 4.8", "list club.book", "check club.book",
                 "keep club.book imka.toml"):  # fmt: skip
        assert "warning: others on this machine may read club.book" in said(line, capsys)


def test_a_damaged_book_is_told_by_check(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = club_book(track, "club.book")
    said("add club.book runa hop-step-sand 2.6 4.8", capsys)
    import sqlite3

    db = sqlite3.connect(path)
    db.execute("UPDATE attempt SET total = 99")
    db.commit()
    db.close()
    assert run("check club.book") == 2
    assert "attempt 1: phases and total do not fit" in capsys.readouterr().out


def test_every_word_has_help_and_every_option_is_explained(
    capsys: pytest.CaptureFixture[str],
) -> None:
    for word in ROOMS:
        with pytest.raises(SystemExit):
            main(["book", word, "--help"])
        assert "examples:\n  phasemark book " + word in capsys.readouterr().out
        for action in parser(word)._actions:
            assert action.help, (word, action.option_strings)
    assert main(["book"]) == 0
    out = capsys.readouterr().out
    assert all(word in out for word in ROOMS)
    assert book_.rooms_text() in out


def test_adding_needs_nothing_heavy(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    words = ["book", "add", str(path), "runa", "hop-step-sand", "2.61", "4.80"]
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "layout", *words], capture_output=True,
        text=True, encoding="utf-8", check=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    names = {n.partition(".")[0] for n in re.findall(r"\|\s*([\w.]+)$", done.stderr, re.M)}
    assert "sqlite3" in names
    assert not names & {"numpy", "shapely", "matplotlib", "scipy", "casadi", "resvg_py"}


@pytest.mark.parametrize("word", [w for w in ROOMS if w not in ("season", "fit")])
def test_help_fits_the_screen(word: str, capsys: pytest.CaptureFixture[str],
                              monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit):
        main(["book", word, "--help"])
    out = capsys.readouterr().out
    assert not [line for line in out.splitlines() if len(line) > 80]
    assert "?." not in out


def test_the_usage_of_list_names_every_option() -> None:
    known = {o for a in parser("list")._actions for o in a.option_strings if o.startswith("--")}
    assert set(re.findall(r"--[a-z-]+", parser("list").format_usage())) == known - {"--help"}


def test_what_add_says_fits_the_screen(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    club_book(track, "club.book")
    for line in ("runa hop-step-sand 2.61 4.80", "runa 2.61 4.95 --place 'the hall by the river'",
                 "imka two-hops-step-track ? ? ? 2.1 2.2 2.3 2 2 2 --zero each"):  # fmt: skip
        out = said(f"add club.book {line}", capsys)
        assert all(len(n) <= 80 for n in out.splitlines()), out
        assert "next: phasemark book add club.book" in out
        assert "wrong? phasemark book correct club.book" in out


def test_a_phase_far_from_the_others_is_asked_about(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    out = said("add club.book imka hop-step-sand 2 999", capsys)
    assert "look: step 7.99 m is more than 2 times hop 2.00 m; a wrong digit?" in out
    assert "look" not in said("add club.book imka hop-step-sand 2.70 5.10", capsys)
    assert "look" not in said("add club.book imka hop-step-sand ? 5.20", capsys)


def test_an_attempt_is_not_moved_into_the_future(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    said("add club.book runa hop-step-sand 2.61 4.80", capsys)
    told = complaint("correct club.book 1 --on 2999-01-01", capsys)
    assert "on: must be a day from 1900 to today" in told
    assert "2999" not in said("list club.book", capsys)


def test_one_file_that_is_wrong_stops_no_other(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said("new marram.book", capsys)
    assert run("keep marram.book --name Ada gone.toml runa.toml") == 2
    caught = capsys.readouterr()
    assert "Ada: new in the book\nRuna: new in the book" in caught.out
    assert caught.err == "phasemark: gone.toml: file: cannot be read (No such file or directory)\n"


def test_corrections_are_told_in_words(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    club_book(track, "club.book")
    said("add club.book runa hop-step-sand 2.61 4.80", capsys)
    assert "struck: no -> yes" in said("correct club.book 1 --strike", capsys)
    out = said("correct club.book 1 --readings 2.63 ?", capsys)
    assert "lengths: 2.61, 2.19 m -> 2.63, ? m" in out
    assert "no -> yes" in said("list club.book --corrections", capsys)


def test_one_is_not_several(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    club_book(track, "club.book")
    (track / "f.csv").write_text("athlete,drill,hop,step\nruna,hop-step-sand,2.6,2.2\n")
    assert "taken in: 1 attempt, number 1\n" in said("in club.book f.csv", capsys)
    assert "1 run  3 contacts" in said("list club.book --by-session", capsys)
    assert " 1 attempt," in said("check club.book", capsys)


@pytest.mark.parametrize(
    "words",
    ["runa --wind -0.3 hop-step-sand 2.61 4.80", "runa hop-step-sand 2.61 --wind -0.3 4.80",
     "--wind -0.3 runa hop-step-sand 2.61 4.80"],
)  # fmt: skip
def test_words_and_options_come_in_any_order(
    words: str, track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    said(f"add club.book {words}", capsys)
    (kept,) = json.loads(said("list club.book --json", capsys))
    assert (kept["total"], kept["wind"]) == (4.8, -0.3)
    assert "hop 2.61 m" in said("list --tape cm club.book --last 1 runa", capsys)


def test_options_beside_the_dash_hold_for_every_line(
    track: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    club_book(track, "club.book")
    typed = "runa hop-step-sand 2.61 4.80\nimka hop-step-sand 2.6 4.9 --strides 4\nruna --runs 3\n"
    monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
    common = "--on 2026-05-02 --strides 6 --kind competition --zero board --note x --json"
    assert run(f"add club.book - {common}") == 0
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [t["id"] for t in told] == [1, 2, 3]
    kept = json.loads(said("list club.book --json", capsys))
    assert [(k["day"], k["strides"], k["kind"], k["note"]) for k in kept] == [
        ("2026-05-02", 6, "competition", "x"), ("2026-05-02", 4, "competition", "x"),
        ("2026-05-02", 6, "competition", "x"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        (
            "add club.book runa hop-step-sand --runs 6 --zero pit",
            "--zero: has no meaning without rea",
        ),
        (
            "add club.book runa hop-step-sand 2.6 4.8 --board-at 9",
            "--board-at: has no meaning without",
        ),
        ("add club.book runa hop-step-sand --runs 6 --behind .1", "behind: has no meaning without"),
        (
            "add club.book runa hop-step-sand .1 2.6 4.8 --behind .1",
            "behind: is not needed where the",
        ),
        (
            "add club.book runa hop-step-sand 2.6 2.2 --zero each --behind .1",
            "behind: has no meaning",
        ),
        (
            "add club.book runa hop-step-sand 2.6 4.8 --kind gala",
            "kind: must be one of training, competition",
        ),
        (
            "add club.book runa hop-step-sand 2.6 4.8 --json --tape ft",
            "--tape: has no meaning with",
        ),
        ("add club.book - runa", "words: nothing may follow -"),
        ("season club.book runa --grey", "--grey: goes with --plots"),
        ("season club.book runa --as png", "--as: goes with --plots"),
        ("season club.book runa --overwrite", "--overwrite: goes with --plots"),
        ("season club.book runa --json --tape ft", "--tape: has no meaning with --json"),
        ("season club.book runa --on 2099-01-01", "--on: must be a day from 1900 to today"),
        ("fit club.book runa --on 2099-01-01", "--on: must be a day from 1900 to today"),
        (
            "season club.book runa --since 2026-05-03 --on 2026-05-02",
            "--since: must be a day up to 2026-05-02",
        ),
        (
            "list club.book --by-week --drill hop-step-sand",
            "--drill: has no meaning with --by-week",
        ),
        ("list club.book --plans --last 3", "--last: has no meaning with --plans"),
        ("list club.book --sums --struck", "--struck: has no meaning with --sums"),
        (
            "list club.book --by-session --since 2026-01-01",
            "--since: has no meaning with --by-session",
        ),
        ("list club.book --athletes --tape ft", "--tape: has no meaning with --athletes"),
        ("list club.book --json --tape ft", "--tape: has no meaning with --json"),
    ],
)
def test_an_option_that_cannot_be_used_is_refused(
    line: str, rule: str, track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    assert re.search(rule, complaint(line, capsys))
    assert json.loads(said("list club.book --json", capsys)) == []


def test_official_and_effective_distance_are_told_apart(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Effective distance = official + toe-to-line gap (the rules measure from the line)."""
    club_book(track, "club.book")
    drill = "full-triple-jump --phases 'hop step jump'"
    out = said(f"add club.book runa {drill} --total 16.90 --behind .07", capsys)
    assert "total 16.97 m (16.90 m from the mark, toe 0.07 m behind it)" in " ".join(out.split())
    said(f"add club.book runa {drill} 6.05 11.27 16.90 --behind 7cm", capsys)
    said(f"add club.book runa {drill} -0.07 6.05 11.27 16.90", capsys)
    said(f"add club.book runa {drill} ? 5.22 5.63 --zero each --total 16.90 --behind .07", capsys)
    kept = json.loads(said("list club.book --json", capsys))
    assert {(k["total"], k["official"], k["behind"]) for k in kept} == {(16.97, 16.9, 0.07)}
    assert kept[-1]["lengths"] == kept[1]["lengths"] == [6.12, 5.22, 5.63]
    assert "16.97 m (16.90 m from the mark" in said("list club.book", capsys)
    # a correction of one keeps the other
    said("correct club.book 1 --behind 0.10", capsys)
    said("correct club.book 2 --readings 6.05 11.27 16.91", capsys)
    one, two, *_ = json.loads(said("list club.book --json", capsys))
    assert (one["total"], one["official"]) == (17.0, 16.9)
    assert (two["total"], two["official"]) == (16.98, 16.91)


def test_a_total_that_does_not_agree_is_asked_about(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    out = said("add club.book runa hop-step-sand 2.61 4.80 --total 4.65", capsys)
    assert "look: total 4.65 m and the phases' sum 4.80 m do not agree" in " ".join(out.split())
    out = said("add club.book runa hop-step-sand 2.61 4.80 --total 4.81", capsys)
    assert "agree" not in out
    out = said("add club.book runa hop-step-sand 2.61 4.80 --behind=-.05", capsys)
    assert "past its mark; on a board that is a foul" in " ".join(out.split())


def test_wind_is_rounded_by_the_rule_and_a_best_with_too_much_of_it_is_marked(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    for total, wind in (("4.90", "2.4"), ("4.80", "2.0"), ("4.70", "2.03"), ("4.60", "-1.23")):
        said(f"add club.book runa hop-step-sand 2.61 {total} --wind {wind}", capsys)
    said("add club.book imka hop-step-sand 2.61 4.80", capsys)
    out = said("list club.book runa", capsys)
    assert re.findall(r"wind (\S+(?: w)?)", out) == ["+2.4 w", "+2.0", "+2.1 w", "-1.2"]
    assert "w: wind-assisted, over +2.0" in out
    out = said("list club.book --sums", capsys)
    assert "4.90 m w, legal 4.80 m" in out
    assert json.loads(said("list club.book runa --sums --json", capsys))[0]["best_legal"] == 4.8
    assert "legal" not in said("list club.book imka --sums", capsys)


def test_competition_and_training_are_told_apart(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    said("add club.book runa hop-step-sand 2.61 4.80 --kind Competition", capsys)
    said("add club.book runa hop-step-sand 2.60 4.79", capsys)
    out = said("list club.book", capsys)
    assert ", competition" in " ".join(out.split())
    assert "1 of these does not say whether it was training or competition" in out
    said("correct club.book 2 --kind training", capsys)
    out = said("list club.book", capsys)
    assert "whether it was" not in out
    (track / "f.csv").write_text(
        "athlete,drill,date,hop,step,kind of day\nruna,hop-step-sand,2026-05-02,2.6,2.2,training\n"
    )
    said("in club.book f.csv", capsys)
    kept = json.loads(said("list club.book --json", capsys))
    assert sorted(k["kind"] for k in kept) == ["competition", "training", "training"]


def test_a_table_that_differs_is_shown_and_asked_about(
    track: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    club_book(track, "club.book")
    head = "athlete,drill,date,hop,step\n"
    file = track / "f.csv"
    file.write_text(head + "runa,hop-step-sand,2026-05-02,2.61,2.19\n")
    assert "taken in: 1 attempt, number 1" in said("in club.book f.csv", capsys)
    assert "in the book already and passed over: 1 attempt" in said("in club.book f.csv", capsys)
    file.write_text(head + "runa,hop-step-sand,2026-05-02,2.61,5.33\n")
    before = (track / "club.book").read_bytes()
    assert run("in club.book f.csv") == 2
    captured = capsys.readouterr()
    out = " ".join(captured.out.split())
    assert "new: 0; changed: 1; the same: 0" in out
    assert "line 2, attempt 1, Runa, 2026-05-02: lengths: 2.61, 2.19 m -> 2.61, 5.33 m" in out
    assert re.fullmatch(r"phasemark: f\.csv: table: rows are in the book with other figures "
                        r"\(line 2\): --take changed .*\n", captured.err)  # fmt: skip
    assert (track / "club.book").read_bytes() == before
    assert "left out, changed: 1 row" in said("in club.book f.csv --take new", capsys)
    out = said("in club.book f.csv --take changed", capsys)
    assert "corrected: 1 attempt" in out
    assert "look: 1 Runa: step 5.33 m is 3.23 m longer than planned" in " ".join(out.split())
    assert "2.19 m -> 2.61, 5.33 m" in said("list club.book --corrections", capsys)
    # at a terminal it is asked
    file.write_text(head + "runa,hop-step-sand,2026-05-02,2.61,2.18\n")
    for answer, code in (("nothing\n", 2), ("", 2), ("ALL\n", 0)):
        stdin = io.StringIO(answer)
        monkeypatch.setattr(stdin, "isatty", lambda: True)
        monkeypatch.setattr(sys, "stdin", stdin)
        monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
        assert run("in club.book f.csv") == code
        assert "take in: new, changed, all or nothing?" in capsys.readouterr().out
    assert json.loads(said("list club.book --json", capsys))[0]["lengths"] == [2.61, 2.18]


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        ("in club.book f.csv --athlete imka", r"f\.csv: --athlete: is needed by no row"),
        ("in club.book f.csv --on 2026-05-03", "--on: is needed by no row"),
        ("in club.book f.csv --zero pit", "--zero: is needed by no row"),
        ("in club.book f.csv --board-at 9", "--board-at: is needed by no row"),
        ("in club.book f.csv --take some", "--take: must be one of new, changed, all"),
        ("in club.book f.csv --take all --again", "cannot go with"),
        ("in empty.book folder --athlete imka", "--athlete: goes with a filled table"),
        ("in empty.book folder --again", "--again: goes with a filled table"),
        ("in empty.book folder --drill-file x.toml", "--drill-file: goes with a filled table"),
        ("in club.book folder", "must be empty to take a whole folder in"),
    ],
)
def test_what_a_table_or_folder_has_no_use_for_is_refused(
    line: str, rule: str, track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    empty_book(track, "empty.book")
    said("out club.book folder", capsys)
    (track / "f.csv").write_text(
        "athlete,drill,date,hop,step\nruna,hop-step-sand,2026-05-02,2.61,2.19\n"
    )
    assert re.search(rule, complaint(line, capsys))
    assert json.loads(said("list club.book --json", capsys)) == []


def test_a_folder_is_looked_over_too(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    club_book(track, "club.book")
    empty_book(track, "empty.book")
    said("add club.book imka hop-step-sand 2.88 8.21", capsys)
    said("out club.book folder", capsys)
    out = " ".join(said("in empty.book folder", capsys).split())
    assert "look: 1 Imka: step 5.33 m is more than 1.5 times hop 2.88 m; a wrong digit?" in out


def test_what_looks_wrong_is_no_best(track: Path, capsys: pytest.CaptureFixture[str]) -> None:
    club_book(track, "club.book")
    for total in ("4.80", "4.81", "4.82", "4.83", "9.80"):
        said(f"add club.book runa hop-step-sand 2.61 {total}", capsys)
    out = said("list club.book --sums", capsys)
    assert re.search(r"runs +measured .*\n.* 5 +4 +0 +4.83 m +4.82 m", out)
    assert "1 attempt looks wrong and is left out of best and mean: 5;" in " ".join(out.split())
    (kept,) = json.loads(said("list club.book --sums --json", capsys))
    assert (kept["best"], kept["attempts"]) == (4.83, 5)
    out = " ".join(said("season club.book runa", capsys).split())
    assert "1 attempt looks wrong and is left out of every figure here" in out
    assert "5, " in out
    assert "step 7.19 m where 2.2" in out
    assert "Best 4.83 m" in out
    assert [
        r["id"] for r in json.loads(said("season club.book runa --json", capsys))["left_out"]
    ] == [5]


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        ("--board-at 9", "board-at: has no meaning without --zero pit"),
        ("--runs 3", "runs: readings belong to one run"),
        ("--total 4.80 --total 9.80", "total: must be within 30 cm of the sum"),
        ("--json --tape ft --wind 1", "--tape: has no meaning with --json"),
    ],
)
def test_a_correction_is_held_to_the_rules_of_an_entry(
    words: str, rule: str, track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    said("add club.book runa hop-step-sand 2.61 4.80", capsys)
    before = said("list club.book --json", capsys)
    assert re.search(rule, complaint(f"correct club.book 1 {words}", capsys))
    assert said("list club.book --json", capsys) == before


def test_a_correction_is_looked_over_like_an_entry(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    club_book(track, "club.book")
    said("add club.book imka hop-step-sand 2.61 4.80", capsys)
    out = said("correct club.book 1 --readings 2.61 8.80", capsys)
    assert "look: step 6.19 m is more than 2 times hop 2.61 m" in " ".join(out.split())
    out = said("correct club.book 1 --readings 2.61 4.80 --total 4.70 --wind 2.31", capsys)
    assert "look: total 4.70 m and the phases' sum 4.80 m do not agree" in " ".join(out.split())
    assert "wind +2.4 w" in out
    assert max(map(len, out.splitlines())) <= 80
    assert "look" not in said("correct club.book 1 --total 4.80", capsys)


def test_check_asks_about_what_seems_to_stand_twice(
    track: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As in a book into which an earlier version took a corrected table."""
    club_book(track, "club.book")
    for _ in range(2):
        said("add club.book runa hop-step-sand 2.61 4.80 --on 2026-05-02 --kind training", capsys)
    assert "look" not in said("check club.book", capsys)  # two alike in one session may well be
    with open_book(track / "club.book") as book, book.writing() as db:
        db.execute("UPDATE attempt SET made = '2026-05-03T10:00:00.000+00:00' WHERE id = 2")
    out = " ".join(said("check club.book", capsys).split())
    assert "look: 1 Runa: the same figures 2 times on 2026-05-02, hop-step-sand" in out
    assert "sound;" in out
    assert len(json.loads(said("check club.book --json", capsys))["look"]) == 1
    said("correct club.book 2 --strike", capsys)
    assert "look" not in said("check club.book", capsys)
    out = said("list club.book --by-session", capsys)
    assert re.search(r"2026-05-02 +no place named +training +1 athlete", out)


@pytest.mark.skipif(os.name != "posix", reason="no such files here")
@pytest.mark.parametrize(
    ("where", "code", "reason"),
    [
        (">&-", 2, "cannot be written (it is closed)"),
        ("> /dev/full", 2, "cannot be written (No space left on device)"),
        ("| true", 0, "nobody reads it any more"),
    ],
)
def test_an_entry_that_nobody_can_read_is_kept_and_said_to_be(
    where: str, code: int, reason: str, tmp_path: Path
) -> None:
    path = club_book(tmp_path)
    words = f"book add '{path}' runa hop-step-sand 2.61 4.80 --on 2026-05-02"
    line = f"(sleep 0.1; '{sys.executable}' -m layout {words}) {where}"
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", line], capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == code
    assert done.stderr == f"phasemark: standard output: {reason}; the attempt is kept\n"
    with open_book(path) as book:
        assert len(attempts(book)) == 1


@pytest.mark.skipif(os.name != "posix", reason="no such files here")
@pytest.mark.parametrize("where", [">&-", "> /dev/full"])
def test_lines_typed_end_where_the_answers_cannot_be_read(where: str, tmp_path: Path) -> None:
    path = club_book(tmp_path)
    line = f"yes 'runa hop-step-sand 2.61 4.80 --on 2026-05-02' | '{sys.executable}' -m layout "
    line += f"book add '{path}' - --json {where}"
    done = subprocess.run(
        ["bash", "-c", line], capture_output=True, text=True, check=False, timeout=60,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.endswith("; the attempt of line 1 is kept, those after it are not\n")
    with open_book(path) as book:
        assert len(attempts(book)) == 1


def test_a_long_list_is_printed_part_by_part_in_one_set_of_columns(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it keeps in memory is a part, however long the list; the widest row may come last."""
    path = club_book(tmp_path)
    with open_book(path) as book, book.writing() as db:
        db.execute("INSERT INTO session (day, place) VALUES ('2026-05-02', 'track')")
        put = (
            "INSERT INTO attempt (session, athlete, drill, phases, lengths, total, foul, made) "
            "VALUES (1, 1, ?, 'hop', '[2.5]', 2.5, 0, '2026-05-02')"
        )
        db.executemany(put, [("own",)] * 2500 + [("own-longest-drill",)])
    parts: list[list[str]] = []
    monkeypatch.setattr(book_list, "say", lambda lines, done="": parts.append([*lines]))
    run(f"list {path} --last 9999")
    assert [len(part) for part in parts] == [1000, 1000, 501, 1]
    rows = [line for part in parts[:3] for line in part]
    assert {line.index("hop 2.50 m") for line in rows} == {rows[-1].index("hop 2.50 m")}
    assert "own-longest-drill  hop" in rows[-1]
