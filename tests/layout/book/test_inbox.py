"""Runs from phones: read only where they are whole, kept once, put down only when a coach says so."""

from __future__ import annotations

import datetime
import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from layout.book.erase import erase
from layout.book.exchange import back, out
from layout.book.inbox import hand_out, leave, looked_at, receive, take
from layout.book.message import LETTERS, Said, new_key, written
from layout.book.people import find_member
from layout.book.rows import attempts
from layout.book.sound import check
from layout.book.store import Book, open_book
from layout.book.waits import count, one, waiting
from layout.words.faults import BadInput
from tests.layout.book.book_cases import DAY, club_book, empty_book, every_byte
from tests.layout.book.messages import RUNS, faults, fuzz, phone_of, text


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with open_book(club_book(tmp_path)) as made:
        yield made


def test_a_message_names_nobody_and_brings_its_runs_once(book: Book) -> None:
    sent = text(book)
    assert "runa" not in sent.lower()
    assert "hop" not in sent
    got = receive(book, sent)
    assert (len(got.new), got.had, got.faults) == (4, 0, ())
    assert attempts(book) == []  # nothing enters by itself
    again = receive(book, f"{sent}\n\n{sent.upper()}")
    assert (again.new, again.had, again.faults) == ((), 8, ())
    found = waiting(book)
    assert [(w.athlete, w.drill, w.day, w.run, w.words) for w in found] == [
        ("Runa", "hop-step-sand", DAY, 1, "2.61 2.19"),
        ("Runa", "hop-step-sand", DAY, 2, "2.70 2.20 loud"),
        ("Runa", "hop-step-sand", DAY, 3, "x 2.1 foul"),
        ("Runa", "hop-step-sand", DAY, 4, "pain"),
    ]


def test_more_runs_later_and_in_any_order_come_once_each(book: Book) -> None:
    phone = phone_of(book)
    parts = [text(book, *RUNS[:n], phone=phone) for n in (1, 2, 3, 4)]
    for sent in random.Random(4).sample(parts * 3, 12):
        receive(book, sent)
    assert [w.run for w in waiting(book)] == [1, 2, 3, 4]


def test_two_phones_with_one_page_are_two(book: Book) -> None:
    receive(book, text(book) + "\n" + text(book))
    assert len(waiting(book)) == 8
    assert len({w.phone for w in waiting(book)}) == 2


@pytest.mark.parametrize("struck_first", [True, False])
def test_a_run_struck_out_on_the_phone_stays_so(book: Book, struck_first: bool) -> None:
    phone = phone_of(book)
    both = [text(book, Said(("2.61", "2.19"), s), phone=phone) for s in (True, False)]
    for sent in both if struck_first else reversed(both):
        receive(book, sent)
    (run,) = waiting(book)
    assert run.struck


def test_struck_out_on_the_phone_after_it_was_taken_in_is_told_until_it_is_dealt_with(
    book: Book,
) -> None:
    phone = phone_of(book)
    (number,) = receive(book, text(book, RUNS[0], phone=phone)).new
    take(book, number)
    assert count(book) == 0
    struck = text(book, Said(RUNS[0].words, True), phone=phone)
    assert receive(book, struck).struck == 1
    assert [(w.id, w.state, w.struck) for w in waiting(book)] == [(number, "taken", True)]
    leave(book, number)
    assert receive(book, struck).had == 1
    assert count(book) == 0


def test_what_is_taken_in_stands_in_the_book_as_typed(book: Book) -> None:
    ids = receive(book, text(book)).new
    for number in ids:
        take(book, number)
    first, loud, foul, pain = attempts(book)
    assert first.lengths == (2.61, 2.19)
    assert first.total == pytest.approx(4.80)
    assert (first.plan, first.day, first.note, first.foul) == (1, DAY, None, False)
    assert loud.note == "loud landing"
    assert (foul.lengths, foul.foul) == ((None, 2.1), True)
    assert (pain.note, pain.total, pain.contacts) == ("pain", None, 3)
    assert waiting(book) == []
    assert [w.attempt for w in waiting(book, every=True)] == [a.id for a in attempts(book)]
    with pytest.raises(BadInput, match="was taken in already, as attempt 1"):
        take(book, ids[0])
    with pytest.raises(BadInput, match="was taken in already"):
        leave(book, ids[0])
    assert check(book)[0] == []


def test_any_zero_and_feet_tell_the_same_run(book: Book) -> None:
    for zero, readings in (("each", ("8-7", "7-2.25")), ("board", ("8-7", "15-9.25"))):
        (number,) = receive(book, text(book, Said(readings), zero=zero)).new
        assert take(book, number).lengths == pytest.approx((2.6162, 2.1908), abs=1e-4), zero


def test_what_cannot_be_waits_with_its_fault_until_it_is_changed(book: Book) -> None:
    (number,) = receive(book, text(book, Said(("26.1", "2.19")))).new
    with pytest.raises(BadInput, match="hop"):
        looked_at(book, one(book, number))
    with pytest.raises(BadInput, match="hop"):
        take(book, number)
    assert count(book) == 1
    assert take(book, number, {"readings": ("2.61", "2.19")}).lengths == (2.61, 2.19)


def test_a_clock_wrong_by_a_year_waits_and_is_changed(book: Book) -> None:
    later = (datetime.date.today() + datetime.timedelta(days=300)).isoformat()
    (number,) = receive(book, text(book, RUNS[0], day=later)).new
    with pytest.raises(BadInput, match="must be a day from 1900 to today"):
        take(book, number)
    assert take(book, number, {"day": DAY}).day == DAY


def test_what_is_left_out_can_be_taken_in_later(book: Book) -> None:
    (number,) = receive(book, text(book, RUNS[0])).new
    leave(book, number)
    assert (count(book), attempts(book)) == (0, [])
    take(book, number)
    assert len(attempts(book)) == 1


@pytest.mark.parametrize(
    ("line", "lengths", "more"),
    [
        ("runa hop-step-sand 2.61 4.80", (2.61, 2.19), {}),
        ("Runa: hop step sand 2,61 / 4,80 loud", (2.61, 2.19), {"note": "loud landing"}),
        ("runa hop-step-s 261 480 foul", (2.61, 2.19), {"foul": True}),
        ("RUNA hop-step-sand 8-6 3/4 15-9 pain", (2.60985, 2.19075), {"note": "pain"}),
        ("runa hop-step-sand 2.61 2.19 each 2026-05-03", (2.61, 2.19), {"day": "2026-05-03"}),
        ("runa hop-step-sand x 4.80", (None, None), {}),
        ("runa hop-step-sand pain", (None, None), {"note": "pain"}),
    ],
)
def test_lines_as_a_coach_sends_them(
    book: Book, line: str, lengths: tuple[float, ...], more: dict[str, object]
) -> None:
    got = receive(book, line)
    assert faults(got) == []
    saved = take(book, got.new[0])
    assert saved.lengths == pytest.approx(lengths)
    (kept,) = attempts(book)
    assert {k: getattr(kept, k) for k in more} == more


def test_the_same_typed_line_counts_once_and_twice_in_one_text_is_two_runs(book: Book) -> None:
    line = "runa hop-step-sand 2.61 4.80"
    assert len(receive(book, f"{line}\n{line}").new) == 2
    got = receive(book, f"\n# from today\n{line} \nRuna: hop step sand 2.61 4.80")
    assert (got.new, got.had) == ((), 2)
    assert len(receive(book, "\n".join([line] * 3)).new) == 1


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("hello coach", "line 1: line: a name, a drill and readings needed"),
        ("nobody hop-step-sand 2.61 4.80", "line 1: athlete: is not in this book"),
        ("runa jumping 2.61 4.80", "line 1: drill: is not known"),
        ("runa hop-step-sand 2.61 48.0", "line 1: step:"),
        ("runa hop-step-sand 2.61 4.80 1.1 1.1", "line 1: readings: 2 needed"),
        ("runa 2.61 4.80", "line 1: drill: needed with the first attempt"),
        ("2.61 4.80", "line 1: line: a name, a drill"),
        ("pm1 2.61 4.80", "line 1: message: is not whole"),
    ],
)
def test_a_line_that_cannot_be_used_has_its_sentence(book: Book, line: str, told: str) -> None:
    got = receive(book, line)
    (said,) = faults(got)
    assert said.startswith(told)
    assert count(book) == 0


def test_a_page_of_another_book_or_of_nobody_is_refused(book: Book) -> None:
    sent = written(f"{new_key()}-{new_key(6)}", DAY, "each", RUNS)
    (said,) = faults(receive(book, sent))
    assert "a page that this book does not know" in said


def test_keys_are_of_one_page_and_cannot_be_guessed(book: Book) -> None:
    key = hand_out(book, 1)
    assert hand_out(book, 1) == key
    assert len(key) == 16
    assert set(key) <= set(LETTERS)
    assert len({new_key() for _ in range(1000)}) == 1000


def test_what_a_phone_sends_by_itself_is_of_its_own_page(book: Book) -> None:
    sent = text(book)
    own = sent.split()[1][:16]
    (said,) = faults(receive(book, sent, only="a" * 16))
    assert "is not one of this page's" in said
    assert "is not one" in faults(receive(book, "runa hop-step-sand 2.61 4.80", only=own))[0]
    assert count(book) == 0
    assert len(receive(book, sent, only=own).new) == 4


def test_a_message_among_other_words_or_over_lines(book: Book) -> None:
    sent = text(book)
    half = len(sent) // 2
    for shape in (
        f"[27/11, 15:02] Coach: {sent}",
        sent.replace(" ", "\u00a0").replace("-", "\u2013"),
        sent.replace("|", " | ").replace(" *", "\n*"),
        f"\ufeff{sent[:half].rpartition(' ')[0]}\r\n{sent[:half].rpartition(' ')[2]}{sent[half:]}\r\n",
        sent.replace("pm1", "Pm1"),
    ):
        got = receive(book, shape)
        assert faults(got) == []
        assert len(got.new) + got.had == 4
    assert len(waiting(book)) == 4


def test_an_erased_athletes_keys_and_waiting_runs_are_gone(tmp_path: Path) -> None:
    path = club_book(tmp_path)
    with open_book(path) as book:
        sent = text(book)
        taken, *_ = receive(book, sent).new
        take(book, taken)
        receive(book, "imka hop-step-sand 2.61 4.80")
        erase(book, find_member(book, "Runa"))
        assert [w.athlete for w in waiting(book, every=True)] == ["Imka"]
        assert book.rows("SELECT count(*) FROM handed") == [(0,)]
        assert "does not know" in faults(receive(book, sent))[0]
        assert check(book)[0] == []
    left = every_byte(tmp_path)
    assert sent.split()[1][:16].encode() not in left
    assert b"2.70 2.20" not in left


def test_a_row_of_the_inbox_cannot_be_lost(book: Book) -> None:
    receive(book, text(book))
    with pytest.raises(BadInput, match="rows of waiting are kept"), book.writing() as db:
        db.execute("DELETE FROM waiting")


def test_too_much_is_refused_with_a_sentence(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "characters allowed" in faults(receive(book, "x" * 60_001))[0]
    assert "at most 200 runs" in faults(receive(book, text(book, *([RUNS[0]] * 201))))[0]
    monkeypatch.setattr("layout.book.inbox.MOST_WAITING", 3)
    assert "wait already" in faults(receive(book, text(book)))[0]
    assert count(book) == 0


def test_damaged_messages_bring_nothing_wrong(book: Book, tmp_path: Path) -> None:
    """Twenty thousand by hand: python -m tests.bench.fuzz_messages 20000."""
    told = fuzz(book, 400, 7, tmp_path)
    assert told.refused > 200
    assert told.taken > 20


def test_what_waits_goes_out_with_the_tables_and_comes_back(tmp_path: Path) -> None:
    with open_book(club_book(tmp_path)) as book:
        taken, *_ = receive(book, text(book)).new
        take(book, taken)
        out(book, tmp_path / "tables")
        before = waiting(book, every=True)
        sent = text(book)
    with open_book(empty_book(tmp_path)) as other:
        back(other, tmp_path / "tables")
        assert waiting(other, every=True) == before
        assert len(receive(other, sent).new) == 4
        assert check(other)[0] == []
