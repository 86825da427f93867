"""Messages from phones, whole and damaged: for the tests of what waits."""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from layout.book.inbox import Received, hand_out, receive
from layout.book.message import Said, found_in, new_key, written
from layout.book.store import Book
from layout.book.waits import one, waiting
from layout.words.faults import BadInput
from layout.words.table import read_table
from tests.layout.book.book_cases import DAY

RUNS: Final = (
    Said(("2.61", "2.19")),
    Said(("2.70", "2.20", "loud")),
    Said(("x", "2.1", "foul")),
    Said(("pain",)),
)
SIGNS: Final = "0123456789abcdefxpm|*.- \n\u00a0\u20ac\0"


def phone_of(book: Book) -> str:
    """A key of Runa's plan and a phone's letters."""
    return f"{hand_out(book, 1)}-{new_key(6)}"


def text(book: Book, *runs: Said, phone: str = "", day: str = DAY, zero: str = "each") -> str:
    """A message of some runs."""
    return written(phone or phone_of(book), day, zero, runs or RUNS)


def faults(got: Received) -> list[str]:
    """What is told of a text, line by line."""
    return [str(f) for f in got.faults]


def damaged(sent: str, draw: random.Random) -> str:
    """A text as a bad copy leaves it: cut, mistyped, in another order, doubled, or nonsense."""
    at, to = sorted(draw.sample(range(len(sent) + 1), 2))
    words, lines = sent.split(" "), sent.split("\n")
    return draw.choice((
        lambda: sent[:at],
        lambda: sent[to:],
        lambda: sent[:at] + sent[to:],
        lambda: sent[:at] + draw.choice(SIGNS) + sent[at + 1 :],
        lambda: sent[:at] + draw.choice(SIGNS) + sent[at:],
        lambda: " ".join(draw.sample(words, len(words))),
        lambda: "\n".join(draw.sample(lines, len(lines))),
        lambda: sent[:at] + sent[at:to] * 2 + sent[to:],
        lambda: sent[:at] + sent[:to] + sent[at:],
        lambda: f"{sent}\n{sent}",
        lambda: sent[::-1],
        lambda: "".join(draw.choice(SIGNS) for _ in range(draw.randrange(120))),
    ))()  # fmt: skip


def spoilt(sent: str, draw: random.Random) -> bytes:
    """A file as a bad copy leaves it."""
    data = bytearray(sent.encode(draw.choice(("utf-8", "utf-8-sig", "utf-16", "cp1252"))))
    for _ in range(draw.randrange(4)):
        at = draw.randrange(len(data))
        data[at : at + draw.randrange(2)] = bytes(
            draw.randrange(256) for _ in range(draw.randrange(3))
        )
    return bytes(data[: draw.randrange(len(data) + 1)] if draw.random() < 0.2 else data)


@dataclass
class Told:
    """How many texts of a fuzz were refused in whole or part, and brought runs."""

    refused: int = 0
    taken: int = 0


def fuzz(book: Book, rounds: int, seed: int, folder: Path) -> Told:
    """Damaged messages and files bring nothing that was not sent, and each says so in one line."""
    draw, told = random.Random(seed), Told()
    phones = [phone_of(book) for _ in range(5)]
    sent: set[tuple[str, int, str]] = set()
    file = folder / "sent.txt"
    for _ in range(rounds):
        allowed: set[tuple[str | None, int | None, str]] = set()
        lines = []
        for _ in range(draw.choice((1, 1, 1, 2, 3))):
            runs = [
                Said(
                    (f"{draw.uniform(1, 4):.2f}", f"{draw.uniform(1, 4):.2f}"), draw.random() < 0.1
                )
                for _ in range(draw.randrange(1, 6))
            ]
            phone = draw.choice(phones)
            lines.append(text(book, *runs, phone=phone))
            rows = {(phone, i, " ".join(r.words)) for i, r in enumerate(runs, 1)}
            allowed |= rows
            sent |= rows
        bad = "\n".join(lines)
        try:
            if draw.random() < 0.3:
                file.write_bytes(spoilt(bad, draw))
                bad = read_table(file)[0]
            else:
                bad = damaged(bad, draw)
            got = receive(book, bad)
        except BadInput as error:  # no text, or none that can be read
            got = Received(faults=error.faults)
        for number in got.new:
            run = one(book, number)
            assert (run.phone, run.run, run.words) in allowed, bad
        there = any(f.message for f in found_in(bad))
        rest = "".join(line for line in bad.splitlines() if not line.strip().startswith("#"))
        assert there or got.faults or not rest.strip(" \0\ufeff\u00a0"), bad
        assert all("\n" not in str(f) and len(str(f)) < 400 for f in got.faults)
        told.refused += bool(got.faults)
        told.taken += bool(got.new)
    assert {(w.phone, w.run, w.words) for w in waiting(book)} <= sent
    return told
