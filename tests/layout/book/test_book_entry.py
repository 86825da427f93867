"""One line per attempt, corrections, people and plans."""

from __future__ import annotations

import contextlib
import dataclasses
import datetime
import json
import math
import tracemalloc
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layout.book.correct import changes, correct
from layout.book.entry import FIELDS, add, find_slug
from layout.book.people import (
    _put_member,
    add_name,
    find_member,
    keep_plan,
    members,
    plan_for,
)
from layout.book.rows import attempt, attempts, each_attempt
from layout.book.schema import columns_of
from layout.book.store import Book, open_book
from layout.book.typed import Typed
from layout.plan.stored import from_json, to_json
from layout.season.totals import plans, sessions, sums, weeks
from layout.words.dates import read_day
from layout.words.faults import BadInput
from tests.layout.book.book_cases import DAY, club_book, empty_book, jumped, keep_file, plan_text
from tests.strategies import attempt as tried
from tests.strategies import plan, texts


@pytest.fixture
def book(tmp_path: Path) -> Any:
    with open_book(club_book(tmp_path)) as opened:
        yield opened


# --- entry ----------------------------------------------------------------------------------------


def test_little_has_to_be_typed(book: Book) -> None:
    saved = add(book, Typed("ru", "hop-step-s", ("2.61", "4.80")))
    assert (saved.athlete, saved.drill) == ("Runa", "hop-step-sand")
    assert saved.day == datetime.date.today().isoformat()
    assert saved.place == "no place named"
    kept = attempt(book, saved.id)
    assert kept is not None
    assert (kept.strides, kept.runs, kept.contacts, kept.plan) == (4, 1, 3, 1)
    assert (kept.readings, kept.zero) == ("2.61 ; 4.80", "board")
    add(book, Typed("runa", "hop-step-sand", ("2.61", "4.80"), place="indoor hall"))
    again = add(book, Typed("RUNA", "Hop and step to the sand", ("2.62", "4.80")))
    assert again.place == "indoor hall"  # that of the latest session
    assert book.rows("SELECT count(*) FROM session") == [(2,)]


def test_everything_that_can_be_typed_is_kept_in_si(book: Book) -> None:
    fields = {
        "strides": "6", "speed": "21,6 km/h", "wind": "-0,3 m/s", "surface": "Track",
        "foul": "yes", "note": "cold", "runs": "1", "knee_gap": "35 cm", "support_knee": "155",
        "free_knee": "95°", "free_thigh": "-5 deg", "trunk": "−3",
            "kind": "Training",
    }  # fmt: skip
    assert set(fields) == set(FIELDS)
    kept = attempt(book, jumped(book, "2.61", "4.80", fields=fields))
    assert kept is not None
    assert kept.speed == pytest.approx(6.0)
    assert (kept.strides, kept.wind, kept.surface, kept.foul) == (6, -0.3, "track", True)
    assert (kept.note, kept.knee_gap) == ("cold", 0.35)
    degrees = [kept.support_knee, kept.free_knee, kept.free_thigh, kept.trunk]
    assert [round(math.degrees(d or 0), 9) for d in degrees] == [155, 95, -5, -3]


def test_runs_that_were_not_measured_count_for_the_load(book: Book) -> None:
    jumped(book, fields={"runs": "6"})
    jumped(book, who="imka", drill="standing-triple-jump", fields={"foul": "x"})
    kept = attempts(book)
    assert [(a.runs, a.contacts, a.total, a.foul) for a in kept] == [
        (6, 18, None, False), (1, 3, None, True)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "rule"),
    [
        (Typed("rune", "hop-step-sand", ("2.6", "4.8")), "athlete: .*did you mean Runa"),
        (Typed("zz", "hop-step-sand", ("2.6", "4.8")), "athlete: .*take the athlete in first"),
        (Typed("runa", "hop-stp-sand", ("2.6", "4.8")), "drill: .*did you mean hop-step-sand"),
        (Typed("runa", "two", ("2.6", "4.8")), "drill: more of the name needed: two-hops"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), day="2099-01-01"), "on: must be a day from 1900"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), day="1/2/2026"), "on: day or month"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), place="a\nb"), "place: must be one line"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), phases="hop skip"), "phases: must be 1 to 30 of"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), fields={"wind": "gale"}), "wind: must be a numb"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), fields={"wind": "99"}), "wind: must be a number"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), fields={"speed": "55"}), "speed: must be"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), fields={"strides": "3.5"}), "strides: must be a"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), fields={"runs": "4"}), "runs: readings"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), fields={"foul": "hm"}), "foul: must be yes or"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), fields={"surface": "moon"}), "surface: must be o"),
        (Typed("runa", "hop-step-sand", ("2.6", "4.8"), fields={"trunk": "200"}), "trunk: must be a numb"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_and_nothing_is_kept(typed: Typed, rule: str, book: Book) -> None:
    with pytest.raises(BadInput, match=rule) as refused:
        add(book, typed)
    assert len(str(refused.value).splitlines()) == 1
    assert book.rows("SELECT (SELECT count(*) FROM attempt), (SELECT count(*) FROM session)") == [
        (0, 0)
    ]


def test_far_from_the_plan_or_entered_twice_is_kept_and_asked_about(book: Book) -> None:
    assert add(book, Typed("runa", "hop-step-sand", ("2.61", "4.80"), day=DAY)).warnings == ()
    (twice,) = add(book, Typed("runa", "hop-step-sand", ("2.61", "4.80"), day=DAY)).warnings
    assert twice == "the same readings as attempt 1; entered twice?"
    far = add(book, Typed("runa", "hop-step-sand", ("3.61", "5.80"), day=DAY)).warnings
    assert [w.split()[0] for w in far] == ["hop"]
    assert len(attempts(book)) == 3


def test_the_plan_is_the_last_one_made_by_that_day(book: Book, tmp_path: Path) -> None:
    later = dataclasses.replace(plan("runa", "hop-step-sand", cycles=1), date="2026-06-01")
    file = tmp_path / "later.json"
    file.write_text(to_json(later), encoding="utf-8")
    assert keep_plan(book, file) == ("Runa", "hop-step-sand", True)
    assert keep_plan(book, file) == ("Runa", "hop-step-sand", False)
    runa = find_member(book, "Runa").id
    found = [plan_for(book, runa, "hop-step-sand", d)
             for d in ("2026-04-30", "2026-05-31", "2026-06-01")]  # fmt: skip
    assert [p and p.id for p in found] == [None, 1, 2]
    assert from_json(book.rows("SELECT json FROM plan WHERE id = 2")[0][0]) == later
    assert [(p.id, p.athlete, p.attempts) for p in plans(book)] == [(1, "Runa", 0), (2, "Runa", 0)]


@pytest.mark.parametrize(
    "said", ["Hop and step to the sand", "hop-and-step-to-the-sand", "hop-step-sand"]
)
def test_a_drill_goes_by_its_title_too_as_the_desk_shows_it(book: Book, said: str) -> None:
    assert find_slug(book, said) == "hop-step-sand"


def test_own_drill_wants_its_phases_or_a_plan(book: Book) -> None:
    with pytest.raises(BadInput, match="drill: is not known"):
        find_slug(book, "garden-hops")
    mine = Typed("imka", "hop-step-sand", ("2", "4", "6"), phases="hop hop step", day=DAY)
    assert add(book, mine).lengths == (2.0, 2.0, 2.0)


@given(
    st.builds(
        Typed,
        athlete=texts | st.just("runa"),
        drill=texts | st.just("hop-step-sand"),
        readings=st.lists(texts, max_size=4).map(tuple),
        zero=texts | st.sampled_from(("board", "pit", "each")),
        day=st.none() | texts,
        place=st.none() | texts,
        pit=st.none() | texts,
        phases=st.none() | texts,
        fields=st.dictionaries(st.sampled_from(sorted(FIELDS)), texts, max_size=4),
    )
)
def test_any_typing_is_kept_or_refused_in_one_line(
    tmp_path_factory: pytest.TempPathFactory, typed: Typed
) -> None:
    with open_book(club_book(tmp_path_factory.mktemp("any"))) as book:
        out = tried(lambda: add(book, typed))
        if isinstance(out, BadInput):
            assert all(len(str(f).splitlines()) == 1 for f in out.faults)
            assert attempts(book) == []
        else:
            assert attempt(book, out.id) is not None


# --- single values --------------------------------------------------------------------------------


@given(st.dates(datetime.date(1900, 1, 1), datetime.date(2099, 12, 31)))
def test_days_are_read_as_they_are_written(day: datetime.date) -> None:
    forms = [day.isoformat(), f"{day.day}.{day.month}.{day.year}", f"{day:%d.%m.%Y}"]
    if day.day > 12:
        forms += [f"{day:%d/%m/%Y}", f"{day:%m/%d/%Y}", f"{day.day}-{day.month}-{day.year}"]
    assert {read_day("on", f) for f in forms} == {day}
    if day.day <= 12 and day.day != day.month:
        with pytest.raises(BadInput, match="day or month first"):
            read_day("on", f"{day:%d/%m/%Y}")


@given(texts)
def test_single_values_are_read_or_refused(text: str) -> None:
    for name, read in FIELDS.items():
        tried(lambda read=read, name=name: read(name, text))  # type: ignore[misc]
    tried(lambda: read_day("on", text))


# --- people ---------------------------------------------------------------------------------------


def test_names_meet_whatever_their_case_and_spelling(book: Book) -> None:
    assert add_name(book, "E\u0301lodie  Fictive")[1]
    assert not add_name(book, "\u00c9LODIE fictive")[1]
    assert find_member(book, "élodie").name == "\u00c9lodie  Fictive"
    add_name(book, "Runar")
    assert find_member(book, "runa").name == "Runa"
    with pytest.raises(BadInput, match="more of the name needed: Runa, Runar"):
        find_member(book, "run")
    with pytest.raises(BadInput, match="is not in this book"):
        find_member(book, "run", exact=True)
    for bad in ("", " ", "a\nb", "x" * 81, "\ud800"):
        with pytest.raises(BadInput, match="name"):
            add_name(book, bad)


def test_names_are_found_without_their_accents(book: Book) -> None:
    """One way to look names up, wherever a name is typed."""
    for name in ("Zo\u00eb Fictive", "Z", "\u0141ucja", "Bj\u00f8rn"):
        add_name(book, name)
    assert find_member(book, "zoe").name == "Zo\u00eb Fictive"
    assert find_member(book, "ZOE\u0308 fictive", exact=True).name == "Zo\u00eb Fictive"
    assert find_member(book, "zoe FICTIVE", exact=True).name == "Zo\u00eb Fictive"
    assert find_member(book, "lucja").name == "\u0141ucja"
    assert find_member(book, "bj\u00f8").name == find_member(book, "bjo").name == "Bj\u00f8rn"
    # one letter: a name of its own, or the only one that begins so
    assert find_member(book, "z").name == "Z"
    assert find_member(book, "i").name == "Imka"
    assert add_name(book, "Zoe Fictive")[1]  # another athlete, not the same one
    assert find_member(book, "zo\u00eb fictive").name == "Zo\u00eb Fictive"
    assert find_member(book, "zoe fictive").name == "Zoe Fictive"
    with pytest.raises(BadInput, match=r"more of the name needed: Zo.* Fictive, Zo.* Fictive"):
        find_member(book, "zoe")
    for nobody in ("", " ", "\u0301", "x"):
        with pytest.raises(BadInput, match="is not in this book"):
            find_member(book, nobody)


def test_names_are_looked_up_once_and_never_stale(book: Book, tmp_path: Path) -> None:
    find_member(book, "runa")
    with open_book(book.path) as other:
        add_name(other, "Anselm")
    assert find_member(book, "anselm").name == "Anselm"
    with contextlib.suppress(KeyboardInterrupt), book.writing() as db:
        _put_member(db, book, {"name": "Nobody"})
        raise KeyboardInterrupt
    with pytest.raises(BadInput, match="is not in this book"):
        find_member(book, "nobody")


def test_keeping_plans_takes_each_the_same_work(tmp_path: Path) -> None:
    """Of one athlete or of many, the last of sixty costs what the first ones do."""
    table = json.loads(plan_text())
    for many in (False, True):
        steps = [0]

        def count(steps: list[int] = steps) -> int:
            steps[0] += 1
            return 0

        with open_book(empty_book(tmp_path, f"{many}.book")) as book:
            book.db.set_progress_handler(count, 100)
            spent = []
            for i in range(60):
                table["who"]["mass"] = 50.0 + i / 10
                table["who"]["name"] = f"Athlete {i}" if many else "Runa"
                file = tmp_path / "p.json"
                file.write_text(json.dumps(table), encoding="utf-8")
                before = steps[0]
                assert keep_plan(book, file)[2]
                spent.append(steps[0] - before)
                assert not keep_plan(book, file)[2]
            assert book.rows("SELECT count(*) FROM plan") == [(60,)]
        assert sum(spent[40:]) <= 1.5 * sum(spent[:20]) + 5


def test_attempts_are_read_a_few_at_a_time(book: Book) -> None:
    jumped(book, "2.61", "4.80")
    columns = ", ".join(c for c in columns_of(book.db, "attempt") if c != "id")
    with book.writing() as db:
        for _ in range(13):
            db.execute(f"INSERT INTO attempt ({columns}) SELECT {columns} FROM attempt")
    assert book.rows("SELECT count(*) FROM attempt") == [(8192,)]
    tracemalloc.start()
    count = sum(1 for _ in each_attempt(book))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert count == 8192
    assert peak < 3_000_000
    assert [a.id for a in each_attempt(book, last=700)] == list(range(8192 - 699, 8193))


def test_a_changed_athlete_file_keeps_what_was_before(book: Book, tmp_path: Path) -> None:
    file = tmp_path / "runa.toml"
    text = 'name = "runa"\nstature = 1.56\nmass = 43\nleg = "right"\ntarget = 8.4\n'
    file.write_text(text, encoding="utf-8")
    assert keep_file(book, file) == ("runa", False)
    assert [m.name for m in members(book)] == ["Imka", "Runa"]
    assert find_member(book, "Runa").stature == 1.56
    kept = {c.field: c.before for c in changes(book, "athlete")}
    assert (kept["stature"], kept["mass"]) == ("1.52", "41.0")
    assert "First season" in kept["file"]
    with pytest.raises(BadInput, match=r"gone\.toml: file: cannot be read"):
        keep_file(book, tmp_path / "gone.toml")
    for text in ("{", '{"version": 9}', "[]", to_json(plan("runa", "hop-step-sand"))[:-9]):
        (tmp_path / "bad.json").write_text(text, encoding="utf-8")
        with pytest.raises(BadInput, match=r"bad\.json"):
            keep_plan(book, tmp_path / "bad.json")


# --- corrections ----------------------------------------------------------------------------------


def test_a_correction_keeps_the_earlier_value(book: Book) -> None:
    number = jumped(book, "2.16", "4.80")
    done = correct(book, number, {"readings": ("2.61", "4.80"), "wind": "0.4", "note": "wet"})
    assert {c.field: (c.before, c.after) for c in done} == {
        "lengths": ("'[2.16, 2.64]'", "'[2.61, 2.19]'"),
        "readings": ("'2.16 ; 4.80'", "'2.61 ; 4.80'"),
        "wind": ("NULL", "0.4"),
        "note": ("NULL", "'wet'"),
    }
    again = correct(book, number, {"note": "it's dry"})
    assert [(c.before, c.after) for c in again] == [("'wet'", "'it''s dry'")]
    assert [c.field for c in changes(book, "attempt", number)].count("note") == 2
    kept = attempt(book, number)
    assert kept is not None
    assert (kept.lengths, kept.note) == ((2.61, 2.19), "it's dry")


def test_struck_out_is_kept_but_counted_nowhere(book: Book) -> None:
    number = jumped(book, "2.61", "4.80")
    correct(book, number, {"struck": True})
    assert attempts(book) == []
    assert weeks(book) == []
    assert sums(book) == []
    (kept,) = attempts(book, struck=True)
    assert kept.struck
    correct(book, number, {"struck": False})
    assert len(attempts(book)) == 1


def test_who_when_where_and_what_can_be_corrected(book: Book) -> None:
    number = jumped(book, "3.07", "0.46", "1.73", zero="pit")
    correct(book, number, {"athlete": "imka", "day": "2026-05-03", "place": "hall"})
    kept = attempt(book, number)
    assert kept is not None
    assert (kept.athlete, kept.day, kept.place, kept.plan) == ("Imka", "2026-05-03", "hall", None)
    correct(book, number, {"athlete": "runa", "day": DAY})
    assert attempt(book, number).plan == 1  # type: ignore[union-attr]
    with pytest.raises(BadInput, match="has other phases: give the readings again"):
        correct(book, number, {"drill": "standing-triple-jump"})
    correct(
        book,
        number,
        {"drill": "standing-triple-jump", "readings": ("2", "4", "6"), "zero": "board"},
    )
    kept = attempt(book, number)
    assert kept is not None
    assert (kept.drill, kept.lengths, kept.contacts) == ("standing-triple-jump", (2.0, 2.0, 2.0), 3)


@pytest.mark.parametrize(
    ("number", "given_", "rule"),
    [
        (99, {"note": "x"}, "attempt: no attempt of this number"),
        (1, {"note": "cold"}, "correct: nothing to change"),
        (1, {"readings": ("4.80", "2.61")}, "step: each landing"),
        (1, {"zero": "start"}, "hop: each landing"),
        (1, {"zero": "each", "behind": "7 cm"}, "behind: has no meaning"),
        (1, {"wind": "x"}, "wind: must be a number"),
        (1, {"athlete": "nobody"}, "athlete: is not"),
    ],
)
def test_a_correction_that_cannot_be_changes_nothing(
    number: int, given_: dict[str, Any], rule: str, book: Book
) -> None:
    jumped(book, "2.61", "4.80", fields={"note": "cold"})
    before = attempts(book)
    with pytest.raises(BadInput, match=rule):
        correct(book, number, given_)
    assert attempts(book) == before
    assert changes(book) == []


# --- asked for ------------------------------------------------------------------------------------


def test_weeks_begin_on_mondays_and_hold_every_contact(book: Book) -> None:
    for day in ("2026-05-03", "2026-05-04", "2026-05-10", "2026-05-11"):
        jumped(book, "2.61", "4.80", day=day)
        jumped(book, "2.61", "4.80", day=day, who="imka")
    jumped(book, fields={"runs": "5"}, day="2026-05-10")
    assert [(w.monday, w.sessions, w.runs, w.contacts, w.hardest) for w in weeks(book)] == [
        ("2026-04-27", 1, 2, 6, 3), ("2026-05-04", 2, 9, 27, 18), ("2026-05-11", 1, 2, 6, 3),
    ]  # fmt: skip
    imka = find_member(book, "imka").id
    assert [w.contacts for w in weeks(book, imka)] == [3, 6, 3]
    runa, other = sums(book)[1], sums(book)[0]
    assert (other.athlete, other.attempts, runa.attempts, runa.measured) == ("Imka", 4, 9, 4)
    assert runa.best == runa.mean == 4.8


def test_sessions_and_their_notes(book: Book) -> None:
    jumped(book, "2.61", "4.80", place="club", session_note="headwind")
    jumped(book, "2.61", "4.80", place="club", session_note="headwind, cold", who="imka")
    jumped(book, "2.61", "4.80", place="hall", day="2026-05-04")
    found = [(s.day, s.place, s.athletes, s.runs, s.contacts, s.note) for s in sessions(book)]
    assert found == [
        (DAY, "club", 2, 2, 6, "headwind, cold"),
        ("2026-05-04", "hall", 1, 1, 3, None),
    ]
    assert [s.place for s in sessions(book, find_member(book, "imka").id)] == ["club"]
    assert [(c.room, c.before) for c in changes(book)] == [
        ("session", "NULL"), ("session", "'headwind'")
    ]  # fmt: skip


def test_filters_and_order(book: Book) -> None:
    for day in ("2026-05-03", "2026-04-01", "2026-05-10"):
        jumped(book, "2.61", "4.80", day=day)
    jumped(book, "2.0", "4.0", who="imka", day="2026-05-10", drill="hop-step-hold")
    assert [a.day for a in attempts(book)] == sorted(a.day for a in attempts(book))
    assert [a.id for a in attempts(book, last=2)] == [3, 4]
    assert [a.id for a in attempts(book, since="2026-05-01", until="2026-05-03")] == [1]
    assert [a.id for a in attempts(book, drill="hop-step-hold")] == [4]
    assert json.loads(json.dumps(attempts(book)[0]._asdict()))["lengths"] == [2.61, 2.19]
