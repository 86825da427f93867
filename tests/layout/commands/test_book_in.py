"""phasemark book in: messages and typed lines wait, and are taken in or left out, each once."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest

from layout.book.inbox import hand_out
from layout.book.message import Said, new_key, written
from layout.book.rows import attempts
from layout.book.store import open_book
from layout.book.waits import waiting
from layout.cli import main
from layout.rules.cautions import PAIN
from tests.layout.book.book_cases import DAY, club_book
from tests.strategies import CLUB_FOLDER

LINE = "imka hop-step-sand 2.61 4.80"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return club_book(tmp_path)


def message(path: Path, *runs: Said) -> str:
    with open_book(path) as book:
        return written(f"{hand_out(book, 1)}-{new_key(6)}", DAY, "each", runs)


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["book", "in", *words])
    out, fault = capsys.readouterr()
    return code, " ".join(out.split()), fault


def test_a_message_waits_is_taken_in_once_and_left_out(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sent = tmp_path / "sent.txt"
    sent.write_text(message(path, Said(("2.61", "2.19")), Said(("2.71", "2.19")), Said(("pain",))))
    code, out, _ = told(capsys, str(path), str(sent))
    assert code == 0
    assert "new: 3 runs" in out
    assert "1 Runa, hop-step-sand, 2026-05-02, run 1: 2.61 2.19" in out
    assert PAIN in out
    assert "here already: 3" in told(capsys, str(path), str(sent))[1]
    code, out, _ = told(
        capsys, str(path), "--take", "1,3", "--leave", "2", "--place", "Marram Point"
    )
    assert code == 0
    assert "taken in as attempt 1: Runa, hop-step-sand, 2026-05-02, Marram Point: hop 2.61 m" in out
    assert "left out: 1 run" in out
    assert "nothing waits" in out
    code, _, fault = told(capsys, str(path), "--take", "1")
    assert (code, fault) == (
        2, "phasemark: run 1: run: was taken in already, as attempt 1, got 1\n"
    )  # fmt: skip
    with open_book(path) as book:
        assert len(attempts(book)) == 2


def test_typed_lines_from_a_file_and_from_the_keyboard(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    sent = tmp_path / "sent.txt"
    sent.write_text(f"# Thursday\n{LINE}\nhello coach\n", "utf-16")
    code, out, fault = told(capsys, str(path), str(sent), "--take", "all")
    assert code == 2
    assert "taken in as attempt 1: Imka" in out
    assert fault == (
        f"phasemark: {sent}:3: line: a name, a drill and readings needed, such as: {LINE}, "
        "got 'hello coach'\n"
    )
    monkeypatch.setattr("layout.commands.book_in.sys.stdin", _Typed([f"{LINE} loud\n"]))
    code, out, fault = told(capsys, str(path), "-")
    assert (code, fault) == (0, "")
    assert "2.61 4.80 loud (board)" in out


class _Typed(list[str]):
    def isatty(self) -> bool:
        return False


def test_a_table_stays_a_table(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "filled.txt"
    table.write_text("athlete;drill;date;hop;step\nRuna;hop-step-sand;2026-05-02;2,61;2,19\n")
    code, out, _ = told(capsys, str(path), str(table))
    assert code == 0
    assert "taken in: 1 attempt" in out
    with open_book(path) as book:
        assert waiting(book, every=True) == []


@pytest.mark.parametrize(
    ("more", "rule"),
    [
        (("--zero", "pit"), "--zero: goes with a filled table"),
        (("--athlete", "runa"), "--athlete: goes with a filled table"),
        (("--again",), "--again: goes with a filled table"),
        (("--place", "hall"), "--place: goes with --take here"),
        (("--take", "new"), "--take: must be a whole number"),
        (("--leave", "0"), "--leave: must be"),
        (("--leave", "7"), "run 7: run: is not among those from phones"),
        (("nowhere.txt",), "nowhere.txt: file: cannot be read"),
    ],
)
def test_what_cannot_be_used_is_refused(
    path: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...], rule: str
) -> None:
    code, _, fault = told(capsys, str(path), *more)
    assert code == 2
    assert fault.startswith(f"phasemark: {rule}")
    assert fault.count("\n") == 1


def test_leave_is_no_word_for_tables(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "filled.csv"
    table.write_text("athlete,drill,hop\nRuna,hop-step-sand,2.61\n")
    code, _, fault = told(capsys, str(path), str(table), "--leave", "1")
    assert code == 2
    assert "not for a table" in fault


def test_a_page_made_with_the_book_sends_lines_that_name_nobody(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page, words = (
        tmp_path / "runa.html",
        ["handout", str(CLUB_FOLDER / "runa.toml"), "hop-step-sand"],
    )
    words += ["--no-figure", "--book", str(path)]
    assert main([*words, "--to", str(page)]) == 0
    (key,) = re.findall(r"key&quot;: &quot;([a-z2-7]{16})&quot;", page.read_text("utf-8"))
    sent = tmp_path / "sent.txt"
    today = str(datetime.date.today())
    sent.write_text(written(f"{key}-{new_key(6)}", today, "each", [Said(("2.61", "2.19"))]))
    capsys.readouterr()
    code, out, _ = told(capsys, str(path), str(sent), "--take", "all")
    assert code == 0
    assert "taken in as attempt 1: Runa, hop-step-sand" in out
    assert main([*words, "--to", str(tmp_path / "runa.pdf")]) == 2
    assert "--book: goes with a phone page" in capsys.readouterr().err
