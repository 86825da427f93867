"""Plain tables out and in: the whole book to the last bit, and tables that a coach filled."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import os
import re
import stat
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.book.correct import changes, correct
from layout.book.exchange import as_csv, back, copied, out
from layout.book.filled import column, take_in
from layout.book.people import add_name
from layout.book.rows import attempts
from layout.book.schema import TABLES
from layout.book.sound import check
from layout.book.store import Book, open_book
from layout.book.typed import Typed
from layout.season.totals import sessions, sums, weeks
from layout.sheet.handout_blocks import columns
from layout.words.faults import BadInput
from layout.words.table import guarded, split_table, unguarded
from tests.layout.book.book_cases import (
    DAY,
    ROOT,
    attempt_rows,
    club_book,
    dump,
    empty_book,
    insert,
    jumped,
    lines,
    signed,
)
from tests.strategies import attempt as tried
from tests.strategies import plan, texts

BASE = Typed("", "", day=DAY)


def again(book: Path, folder: Path) -> Path:
    """A second book, from the tables of the first."""
    with open_book(book) as first:
        out(first, folder / "out")
    other = empty_book(folder)
    with open_book(other) as second:
        back(second, folder / "out")
    return other


hostile = st.text("=+-@';\t\r\n x\uff1d", min_size=1, max_size=8)
"""Texts a spreadsheet might run, some of which look guarded already."""
runs = st.text("=+-@';x1", min_size=1, max_size=8)

# --- the whole book -------------------------------------------------------------------------------


@given(
    rows=st.lists(attempt_rows(), max_size=4),
    note=lines | runs,
    wind=st.none() | signed,
    text=st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from("\n\r\t,;\"'"))
    .filter(bool) | hostile,
)  # fmt: skip
def test_out_and_in_again_is_the_same_book(
    rows: list[dict[str, Any]],
    note: str,
    wind: float | None,
    text: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    folder = tmp_path_factory.mktemp("trip")
    path = club_book(folder)
    with open_book(path) as book, book.writing() as db:
        db.execute("INSERT INTO session (day, place, note) VALUES ('2026-05-02', ?, ?)",
                   (note, note))  # fmt: skip
        db.execute("INSERT INTO correction (at, room, row, field, before, after) "
                   "VALUES ('now', 'session', 1, 'note', ?, 'x')", (text,))  # fmt: skip
        for row in rows:
            insert(db, row)
        db.execute("UPDATE attempt SET wind = ?, note = ?", (wind, note))
    other = again(path, folder)
    assert dump(other) == dump(path)


@given(hostile)
def test_no_cell_of_a_table_can_begin_a_formula(text: str) -> None:
    safe = guarded(text)
    assert unguarded(safe) == text
    for cell in re.split(r"[;\t\r\n]", safe):
        assert not re.match(r"\s*[=+@\uff1d-]", cell)
    assert safe[:1] not in "\t\r\n"
    if safe == text:
        assert guarded(f"Runa {text}") == f"Runa {text}", "what is harmless is left alone"


def test_names_and_notes_go_out_so_that_no_spreadsheet_runs_them(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        add_name(book, "=cmd|' /c calc'!A0")
        jumped(book, "2.61", "4.80", fields={"note": "@SUM(1;-1)", "wind": "-0.3"}, place="+1")
        out(book, tmp_path / "out")
    tables = {
        p.stem: list(csv.reader(io.StringIO(p.read_bytes().decode(), newline="")))
        for p in (tmp_path / "out").iterdir()
    }
    cells = {cell for rows in tables.values() for row in rows for cell in row}
    assert {"'=cmd|' /c calc'!A0", "'@SUM(1;'-1)", "'+1", "-0.3"} <= cells
    assert [c for c in cells if c[:1] in ("=", "+", "-", "@", "\t", "\r") and c != "-0.3"] == []
    other = empty_book(tmp_path)
    with open_book(other) as second:
        back(second, tmp_path / "out")
    assert dump(other) == dump(path)


def test_every_bit_of_a_number_comes_back(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    values = [0.1 + 0.2, 1e-300, 2.0**-1074, 1.7976931348623157e308, 123456789.123456789]
    with open_book(path) as book:
        for value in values:
            number = jumped(book, "2.61", "4.80")
            with book.writing() as db:
                db.execute("UPDATE attempt SET speed = ?, wind = ? WHERE id = ?",
                           (value, -value, number))  # fmt: skip
    with open_book(again(path, tmp_path)) as book:
        assert book.rows("SELECT speed, wind FROM attempt") == [(v, -v) for v in values]


@pytest.mark.skipif(os.name != "posix", reason="no owner bits here")
def test_tables_are_as_private_as_the_book(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        with open_book(club_book(tmp_path)) as book:
            out(book, tmp_path / "out")
    finally:
        os.umask(before)
    folder = tmp_path / "out"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert {p.name: stat.S_IMODE(p.stat().st_mode) for p in folder.iterdir()} == {
        f"{t}.csv": 0o600 for t in TABLES
    }


def test_a_folder_that_exists_is_kept_unless_it_holds_only_tables(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    with open_book(club_book(tmp_path)) as book:
        out(book, folder)
        first = (folder / "attempt.csv").read_text()
        jumped(book, "2.61", "4.80")
        with pytest.raises(BadInput, match="exists already and is kept"):
            out(book, folder)
        assert (folder / "attempt.csv").read_text() == first
        out(book, folder, overwrite=True)
        assert (folder / "attempt.csv").read_text() != first
        (folder / "mine.txt").write_text("x")
        with pytest.raises(BadInput, match="holds something else and is kept"):
            out(book, folder, overwrite=True)
        with pytest.raises(BadInput, match="could not be written"):
            out(book, tmp_path / "gone" / "out")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["marram.book", "out"]


def test_a_whole_folder_goes_only_into_an_empty_book(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        out(book, tmp_path / "out")
        with pytest.raises(BadInput, match=r"must be empty .* phasemark book in OTHER\.book "):
            back(book, tmp_path / "out")


@pytest.mark.parametrize(
    ("table", "change", "rule"),
    [
        ("attempt", lambda t: t.replace("drill,", "drll,", 1), "attempt: the columns of version"),
        ("attempt", lambda t: t.replace(",4.8,", ",tall,"), r"attempt\.csv:2: total: cannot be used"),
        ("attempt", lambda t: t.replace(",4.8,", ",inf,"), r"attempt\.csv:2: total: cannot be used"),
        ("attempt", lambda t: t.replace(",4.8,", ",-4.8,"),
         r"attempt\.csv:2: attempt: must be a row that fits .*a value is out of its range: .*total > 0"),
        ("attempt", lambda t: t.replace("\n1,1,1,", "\n1,1,9,"), r"csv:2: .*to a row not there"),
        ("attempt", lambda t: t.replace("\n1,1,1,", "\n1,x,1,"), "session: cannot be used"),
        ("attempt", lambda t: t + '7,"', r"attempt\.csv:3: table: cannot be read"),
        ("athlete", lambda t: "", r"athlete\.csv: file: is empty"),
        ("plan", lambda t: t.replace('""version""', '""verzion""'), r"plan\.csv:2: plan: must be a row"),
        ("session", lambda t: t.replace("-05-02", "-15-39"), r"session\.csv:2: session: must be a row that"),
        ("attempt", lambda t: t.replace("[2.61, 2.19]", "[2.61]"), "lengths: one for each of its"),
        ("attempt", lambda t: t.replace("[2.61, 2.19]", "[2.61, :]"), "lengths: one for each of"),
        ("attempt", lambda t: t.replace("hop step", "hop stop"), "phases: hop, step, jump"),
        ("session", None, r"session\.csv: file: cannot be read"),
    ],
)  # fmt: skip
def test_a_table_that_was_spoilt_is_refused_and_nothing_taken_in(
    table: str, change: Any, rule: str, tmp_path: Path
) -> None:
    with open_book(club_book(tmp_path)) as book:
        jumped(book, "2.61", "4.80")
        out(book, tmp_path / "out")
    file = tmp_path / "out" / f"{table}.csv"
    if change is None:
        file.unlink()
    else:
        before = file.read_text(encoding="utf-8")
        file.write_text(change(before), encoding="utf-8")
        assert file.read_text(encoding="utf-8") != before
    other = empty_book(tmp_path)
    empty = dump(other)
    with open_book(other) as book, pytest.raises(BadInput, match=rule) as refused:
        back(book, tmp_path / "out")
    assert len(str(refused.value).splitlines()) == 1
    assert dump(other) == empty


@given(table=st.sampled_from(TABLES), junk=st.text() | texts, at=st.floats(0, 1))
def test_any_spoilt_table_is_taken_in_sound_or_refused(
    table: str, junk: str, at: float, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("spoilt")
    path = club_book(folder)
    with open_book(path) as book:
        jumped(book, "2.61", "4.80")
        out(book, folder / "out")
    file = folder / "out" / f"{table}.csv"
    text = file.read_text(encoding="utf-8")
    place = int(at * len(text))
    spoilt = text[:place] + junk + text[place + len(junk) // 2 :]
    file.write_bytes(spoilt.encode("utf-8", "surrogatepass"))
    other = empty_book(folder)
    with open_book(other) as book:
        done = tried(lambda: back(book, folder / "out"))
        if isinstance(done, BadInput):
            assert book.rows("SELECT count(*) FROM athlete") == [(0,)]
        else:
            check(book)
            attempts(book, struck=True)
            weeks(book)
            sums(book)
            sessions(book)
            changes(book)


# --- a table that a coach filled ------------------------------------------------------------------

ROWS = [
    ("Runa", "hop-step-sand", "2.61", "2.19", "4.80"),
    ("Imka", "hop-step-sand", "2.755", "", "5.00"),
]


def filled(file: Path, text: str | bytes) -> Path:
    file.write_bytes(text.encode() if isinstance(text, str) else text)
    return file


@pytest.fixture
def book(tmp_path: Path) -> Any:
    with open_book(club_book(tmp_path)) as opened:
        yield opened


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("sign", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_however_a_spreadsheet_saves_it(
    encoding: str, sign: str, ending: str, book: Book, tmp_path: Path
) -> None:
    comma = sign != ","
    table = [("Athlete", "Drill", "Hop (m)", "Step (m)", "Total", "Remarks"),
             *((*(c.replace(".", ",") if comma else c for c in row), "très\xa0bon") for row in ROWS),
             ("", "", "", "", "", "")]  # fmt: skip
    text = ending.join(sign.join(row) for row in table)
    saved = take_in(book, filled(tmp_path / "f.csv", text.encode(encoding)), BASE).new
    assert [(s.athlete, s.lengths, s.total) for s in saved] == [
        ("Runa", (2.61, 2.19), 4.8), ("Imka", (2.755, 2.245), 5.0)
    ]  # fmt: skip
    assert {a.day for a in attempts(book)} == {DAY}


def test_tape_readings_units_and_several_hops(book: Book, tmp_path: Path) -> None:
    text = (
        "run;name;drill;date;mark 1;mark 2;mark 3;zero;wind;foul;speed\n"
        "1;runa;hop-step-sand;2.5.2026;261;480 cm;;board;+0,3;;5,4\n"
        "2;runa;hop-step-sand;2.5.2026;3,07;0,46;1,73;pit;-0,2;x;19,4 km/h\n"
    )
    take_in(book, filled(tmp_path / "a.csv", text), BASE)
    text = "athlete,drill,hop 1 [cm],hop 2 [cm],step [cm]\nimka,two-hops-step-sand,270,285,250\n"
    take_in(book, filled(tmp_path / "b.csv", text), BASE)
    one, two, three = attempts(book)
    assert one.lengths == two.lengths == (2.61, 2.19)
    assert (one.wind, two.wind, two.foul, one.speed) == (0.3, -0.2, True, 5.4)
    assert three.lengths == (2.7, 2.85, 2.5)


def test_the_handouts_own_table(book: Book, tmp_path: Path) -> None:
    """Its columns as printed, with the athlete and the drill said beside it."""
    p = plan("imka", "two-hops-step-sand")
    titles = [name for name, *_ in columns(p, "cm", 170.0)]
    assert titles == ["run", "hop", "hop", "step", "total", "remarks"]
    text = ",".join(titles) + "\n1,2.70,2.80,2.50,8.00,ok\n2,,,,,\n"
    base = Typed("imka", "two-hops-step-sand", day=DAY)
    (saved,) = take_in(book, filled(tmp_path / "f.csv", text), base).new
    assert saved.lengths == (2.7, 2.8, 2.5)
    text = "run;marks met;total;remarks\n1;7 of 10;15,2;tired\n"
    base = Typed("imka", "two-hops-step-track", day=DAY)
    take_in(book, filled(tmp_path / "g.csv", text), base)
    kept = attempts(book)[-1]
    assert (kept.total, kept.note) == (15.2, "marks met: 7 of 10; tired")


def test_rows_that_nobody_jumped_are_passed_over(book: Book, tmp_path: Path) -> None:
    text = "athlete,drill,hop,step,foul\nruna,hop-step-sand,2.61,2.19,\nimka,hop-step-sand,,,\n"
    assert len(take_in(book, filled(tmp_path / "f.csv", text), BASE).new) == 1
    with pytest.raises(BadInput, match="no row has anything measured"):
        take_in(book, filled(tmp_path / "g.csv", "athlete,drill,hop\nruna,hop-step-sand,\n"), BASE)


def test_the_same_file_is_taken_in_once(book: Book, tmp_path: Path) -> None:
    file = filled(tmp_path / "f.csv", "athlete,drill,hop,step\nruna,hop-step-sand,2.61,2.19\n")
    take_in(book, file, BASE)
    taken = take_in(book, file, BASE)
    assert (taken.new, taken.changed, taken.not_taken.same) == ((), (), (1,))
    assert len(attempts(book)) == 1
    with pytest.raises(BadInput, match=r"was taken in before, on another day .* --again"):
        take_in(book, file, dataclasses.replace(BASE, day="2026-05-03"))
    take_in(book, file, BASE, again=True)
    assert len(attempts(book)) == 2


SHEET = """\
run,athlete,drill,date,hop,step,total,foul,wind
1,runa,hop-step-sand,2026-05-02,2.61,2.19,,,
2,runa,hop-step-sand,2026-05-02,2.58,2.20,,,0.4
3,runa,hop-step-sand,2026-05-02,2.60,2.60,,,
1,imka,hop-step-sand,2026-05-02,2.70,2.30,,,
"""


@pytest.mark.parametrize("numbered", [True, False])
def test_a_corrected_table_doubles_nothing(numbered: bool, book: Book, tmp_path: Path) -> None:
    def sheet(text: str) -> Path:
        if not numbered:
            text = "\n".join(line.partition(",")[2] for line in text.splitlines())
        return filled(tmp_path / "f.csv", text)

    take_in(book, sheet(SHEET), BASE)
    was = attempts(book)
    corrected = SHEET.replace("2.60,2.60", "2.60,2.20") + "2,imka,hop-step-sand,2026-05-02,,,,x,\n"
    file = sheet(corrected)
    with pytest.raises(BadInput, match=r"other figures \(line 4\): --take changed"):
        take_in(book, file, BASE)
    assert attempts(book) == was
    assert changes(book) == []
    taken = take_in(book, file, BASE, decide=lambda _: "new")
    assert (len(taken.new), taken.changed, len(taken.not_taken.changed)) == (1, (), 1)
    assert [a.lengths for a in attempts(book)][:4] == [a.lengths for a in was]
    taken = take_in(book, file, BASE, decide=lambda _: "all")
    assert (taken.new, [c.id for c in taken.changed]) == ((), [3])
    assert taken.not_taken.same == (1, 2, 4, 5)
    kept = attempts(book)
    assert [a.lengths for a in kept][:4] == [(2.61, 2.19), (2.58, 2.2), (2.6, 2.2), (2.7, 2.3)]
    assert kept[4].foul
    assert {(c.field, c.before, c.after) for c in changes(book)} == {
        ("lengths", "'[2.6, 2.6]'", "'[2.6, 2.2]'"), ("total", "5.2", "4.8"),
        ("readings", "'2.60 ; 2.60'", "'2.60 ; 2.20'"),
    }  # fmt: skip
    assert take_in(book, file, BASE).not_taken.same == (1, 2, 3, 4, 5)


def test_a_foul_taken_back_is_a_change_and_an_empty_cell_is_none(
    book: Book, tmp_path: Path
) -> None:
    take_in(book, filled(tmp_path / "f.csv", SHEET.replace(",,0.4", ",x,0.4")), BASE)
    correct(book, 1, {"wind": "-0.3", "note": "cold"})
    (change,) = take_in(
        book, filled(tmp_path / "g.csv", SHEET), BASE, decide=lambda _: "all"
    ).changed
    assert (change.id, change.before, change.after) == (2, {"foul": 1}, {"foul": 0})
    assert [(a.wind, a.note, a.foul) for a in attempts(book)][:2] == [
        (-0.3, "cold", False), (0.4, None, False)
    ]  # fmt: skip


def test_what_was_typed_at_the_trackside_is_known_in_the_table(book: Book, tmp_path: Path) -> None:
    jumped(book, "261", "480")
    jumped(book, "2.58", "4.78", fields={"wind": "0.4"})
    taken = take_in(book, filled(tmp_path / "f.csv", SHEET), BASE)
    assert (len(taken.new), taken.not_taken.same) == (2, (1, 2))
    # a row that was forgotten comes in between
    lines = SHEET.splitlines()
    more = [*lines[:2], lines[1].replace("2.61", "2.50"), *lines[2:]]
    text = "\n".join(line.partition(",")[2] for line in more)
    taken = take_in(book, filled(tmp_path / "g.csv", text), BASE)
    assert ([s.lengths[0] for s in taken.new], len(taken.not_taken.same)) == ([2.5], 4)
    # and one that the table does not have is said
    taken = take_in(book, filled(tmp_path / "h.csv", "\n".join(lines[:3])), BASE)
    assert taken.not_taken.left == (3, 5)


def test_a_row_that_was_put_right_in_the_book_is_not_taken_in_again(
    book: Book, tmp_path: Path
) -> None:
    file = filled(tmp_path / "f.csv", SHEET)
    take_in(book, file, BASE)
    correct(book, 2, {"athlete": "imka"})
    correct(book, 3, {"day": "2026-05-01"})
    correct(book, 1, {"struck": True})
    taken = take_in(book, filled(tmp_path / "g.csv", SHEET + "\n"), BASE)
    assert (taken.new, taken.changed) == ((), ())
    assert taken.not_taken.same == (1, 2, 3, 4)


def test_several_attempts_with_the_same_figures_stay_several(book: Book, tmp_path: Path) -> None:
    row = "runa,hop-step-sand,2.61,2.19\n"
    take_in(book, filled(tmp_path / "f.csv", "athlete,drill,hop,step\n" + 2 * row), BASE)
    assert len(attempts(book)) == 2
    taken = take_in(book, filled(tmp_path / "g.csv", "athlete,drill,hop,step\n" + 3 * row), BASE)
    assert (len(taken.new), taken.not_taken.same) == (1, (1, 2))


@given(
    rows=st.lists(st.tuples(st.sampled_from(("runa", "imka")), st.sampled_from((DAY, "2026-05-03")),
                       st.integers(240, 245), st.booleans()), min_size=1, max_size=8),
    numbered=st.booleans(),
    data=st.data(),
)  # fmt: skip
def test_any_table_twice_is_once(
    rows: list[tuple[str, str, int, bool]], numbered: bool, data: st.DataObject,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:  # fmt: skip
    folder = tmp_path_factory.mktemp("twice")
    head = "run,athlete,date,drill,hop,step,foul"
    lines = [f"{i if numbered else ''},{who},{day},hop-step-sand,{cm},220,{'x' if foul else ''}"
             for i, (who, day, cm, foul) in enumerate(rows)]  # fmt: skip
    with open_book(club_book(folder)) as book:
        take_in(book, filled(folder / "f.csv", "\n".join([head, *lines])), BASE)
        again = data.draw(st.permutations(lines))
        taken = take_in(book, filled(folder / "g.csv", "\n".join([head, *again])), BASE)
        assert (taken.new, taken.changed, taken.not_taken.left) == ((), (), ())
        assert len(taken.not_taken.same) == len(attempts(book)) == len(rows)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (b"", ["f.csv: file: is empty"]),
        (b"\xff\xfe\x00", ["f.csv: file: must be text in UTF-8"]),
        ("athlete,drill,hop,step\n", ["f.csv: table: rows needed below the titles"]),
        ("athlete,drill,hopp\nruna,hop-step-sand,2.6\n", ["f.csv:1: hopp: .*did you mean hop"]),
        ("athlete,drill,hop,total,sum\nruna,hop-step-sand,2,4,4\n", ["f.csv:1: sum: stands twice"]),
        ("athlete,drill,hop\nruna,hop-step-sand,2.6,2,3\n", ["f.csv:2: row: at most the titles' 3"]),
        ('athlete,drill,hop\nruna,hop-step-sand,"2.6\n', ["f.csv:2: table: cannot be read"]),
        ("athlete,drill,jump\nruna,hop-step-sand,2.6\n", ["f.csv:2: jump: is no phase of this"]),
        ("athlete,drill,hop,mark 1\nruna,hop-step-sand,2,2\n", ["f.csv:2: row: phases or tape"]),
        ("drill,hop,step\nhop-step-sand,2,2\n", ["f.csv:2: athlete: is missing"]),
        (
            "athlete,drill,hop,step,wind\nruna,hop-step-sand,2,2,\nrunn,hop-step-sand,2,2,\n"
            "imka,hop-step-sand,22,2,\nimka,hop-step-sand,2,2,gale\n",
            ["f.csv:3: athlete: .*did you mean Runa", "f.csv:4: hop: a phase", "f.csv:5: wind: must be a nu"],
        ),
    ],
)  # fmt: skip
def test_every_fault_is_told_with_its_line_and_nothing_kept(
    text: str | bytes, told: list[str], book: Book, tmp_path: Path
) -> None:
    with pytest.raises(BadInput) as refused:
        take_in(book, filled(tmp_path / "f.csv", text), BASE)
    faults = [str(f).replace(str(tmp_path) + os.sep, "") for f in refused.value.faults]
    assert len(faults) == len(told)
    for fault, wanted in zip(faults, told, strict=True):
        assert re.match(wanted, fault), fault
    assert attempts(book) == []


@given(
    titles=st.lists(
        texts | st.sampled_from(("athlete", "drill", "hop", "step", "mark 1", "total", "date")),
        max_size=5,
    ),
    rows=st.lists(st.lists(texts | st.sampled_from(("runa", "hop-step-sand", "2,61")), max_size=6),
                  max_size=4),
    sign=st.sampled_from((",", ";", "\t")),
    tail=st.binary(max_size=30),
)  # fmt: skip
def test_any_table_is_taken_in_or_refused(
    titles: list[str],
    rows: list[list[str]],
    sign: str,
    tail: bytes,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    folder = tmp_path_factory.mktemp("any")
    text = "\n".join(sign.join(cells) for cells in (titles, *rows))
    file = filled(folder / "f.csv", text.encode("utf-8", "surrogatepass") + tail)
    with open_book(club_book(folder)) as book:
        done = tried(lambda: take_in(book, file, BASE))
        kept = attempts(book)
        if isinstance(done, BadInput):
            assert kept == []
            assert all(len(str(f).splitlines()) == 1 for f in done.faults)
        else:
            assert [s.id for s in done.new] == [a.id for a in kept]


@given(st.lists(st.lists(st.text(st.characters(exclude_categories=["Cs", "Cc"]))
                         | texts, min_size=2, max_size=4), min_size=1, max_size=5))  # fmt: skip
def test_what_is_written_as_a_table_is_read_as_it_was(rows: list[list[str]]) -> None:
    file = io.StringIO(newline="")
    table = [["a", "b", "c", "d"], *([*r, *[""] * (4 - len(r))] for r in rows)]
    table = [[c.replace("\0", "") for c in r] for r in table]
    csv.writer(file).writerows(table)
    titles, found = split_table(file.getvalue(), trim=False)
    assert titles.cells == ("a", "b", "c", "d")
    assert [list(r.cells) for r in found] == [r for r in table[1:] if any(r)]


@given(texts)
def test_titles_are_known_or_not(title: str) -> None:
    name, unit = column(title)
    assert isinstance(name, str)
    assert isinstance(unit, str)


def test_one_table_is_plain_text(book: Book) -> None:
    jumped(book, "2.61", "4.80")
    head, row, *_ = csv.reader(io.StringIO(as_csv(book, "attempt")))
    kept = dict(zip(head, row, strict=True))
    assert (kept["drill"], kept["total"], kept["wind"]) == ("hop-step-sand", "4.8", "")
    assert json.loads(kept["lengths"]) == [2.61, 2.19]


KILLED = """
import os, signal, sys
from pathlib import Path
from layout.book.exchange import back
from layout.book.store import open_book
at, seen = int(sys.argv[3]), 0
with open_book(Path(sys.argv[1])) as book:
    def step():
        global seen
        seen += 1
        if seen == at:
            os.kill(os.getpid(), signal.SIGKILL)
        return 0
    book.db.set_progress_handler(step, 200)
    back(book, Path(sys.argv[2]))
    print("taken in", flush=True)
"""


@pytest.mark.skipif(os.name != "posix", reason="no kill -9 here")
def test_killed_while_a_folder_is_taken_in_all_is_there_or_nothing(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        for _ in range(60):
            jumped(book, "2.61", "4.80")
        out(book, tmp_path / "out")
    kept = set()
    for at in (1, 5, 20, 45, 10_000):
        folder = tmp_path / f"{at}"
        folder.mkdir()
        other = empty_book(folder)
        done = subprocess.run(
            [sys.executable, "-c", KILLED, str(other), str(tmp_path / "out"), f"{at}"],
            env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True,
            check=False, timeout=60,
        )  # fmt: skip
        with open_book(other) as book:
            assert check(book)[0] == []
            count = len(attempts(book))
        assert count == (60 if done.stdout else 0)
        kept.add(count)
    assert kept == {0, 60}, "killed both in the middle and after"


def test_a_copy_is_the_whole_book_while_another_is_writing(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book, open_book(path) as other:
        jumped(book, "2.61", "4.80")  # stands in the log beside the book, not in the file
        before = dump(path)
        other.db.execute("BEGIN IMMEDIATE")
        other.db.execute("UPDATE athlete SET note = 'half'")
        copy = tmp_path / "copy.book"
        copy.touch(0o600)
        copy.write_bytes(copied(book))
        other.db.execute("ROLLBACK")
    assert dump(copy) == before
    with open_book(copy) as book:
        assert check(book)[0] == []
        jumped(book, "2.61", "4.80")
