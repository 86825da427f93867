"""Lines that bring runs home from a phone and name nobody: written, read, damage found.

    pm1 KEY DATE each 2.71 2.44|2.80 2.51 loud|x *CHECK

KEY is the page's, known only to the book, and the phone's; DATE is the phone's; then where the tape was
read from, and every run from the first, with what was said of it. CHECK is the CRC-32 of all before it.
"""

from __future__ import annotations

import re
import secrets
import unicodedata
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from layout.book.marks import UNKNOWN, ZEROS, is_reading
from layout.book.waits import SAID, STRUCK
from layout.words.dates import read_day
from layout.words.faults import BadInput, Fault, refuse
from layout.words.reading import one_of
from layout.words.units import tidy

NAME: Final = "pm1"
LETTERS: Final = "abcdefghijklmnopqrstuvwxyz234567"
"""Of a key: each worth five bits, none in two cases, no digit that is taken for a letter."""
KEY: Final = 16
PHONE: Final = 6
"""Letters of a page's key, and of what a phone adds so that two phones with one page stay two."""
MOST_RUNS: Final = 200
"""Of one line (ours)."""
_START: Final = re.compile(rf"(?<![a-z0-9]){NAME}(?=[ \n])")
_END: Final = re.compile(r"\*[ \n]?([0-9a-f]{8})(?![0-9a-z])")
_KEY: Final = re.compile(rf"[a-z2-7]{{{KEY}}}-[a-z2-7]{{{PHONE}}}")
_READING: Final = re.compile(
    r"[+-]?[0-9]{1,4}(?:[.,][0-9]{1,3})?|[0-9]{1,2}-[0-9]{1,2}(?:\.[0-9]{1,3})?"
)
_CUT: Final = "is not whole; copy it again from its first letter to its last"


@dataclass(frozen=True)
class Said:
    """One run as it was put down on a phone: its readings and what was said of it; `struck` there."""

    words: tuple[str, ...]
    struck: bool = False


@dataclass(frozen=True)
class Message:
    """One line that was read."""

    key: str  # of the page
    phone: str  # the page's key and the phone's letters
    day: str
    zero: str
    runs: tuple[Said, ...]


def new_key(length: int = KEY) -> str:
    """Letters that nobody can guess."""
    return "".join(secrets.choice(LETTERS) for _ in range(length))


def readings_in(words: Sequence[str]) -> tuple[str, ...]:
    """The readings among a run's words; none where nothing was measured."""
    found = tuple(w for w in words if w not in SAID)
    return () if all(w in UNKNOWN for w in found) else found


def check_of(text: str) -> str:
    """The eight letters that tell damage.

    >>> check_of("pm1 and so on")
    'fefd8adf'
    """
    return f"{zlib.crc32(text.encode()):08x}"


def written(phone: str, day: str, zero: str, runs: Sequence[Said]) -> str:
    """The line of some runs, as a phone writes it."""
    said = "|".join(" ".join((*r.words, STRUCK) if r.struck else r.words) for r in runs)
    body = f"{NAME} {phone} {day} {zero} {said}"
    return f"{body} *{check_of(body)}"


def plain(text: str) -> str:
    """What was pasted, in small letters and signs of one kind, without what messengers put between."""
    seen = "".join(c for c in text if unicodedata.category(c) != "Cf")
    return "\n".join(tidy(line) for line in seen.splitlines())


@dataclass(frozen=True)
class Found:
    """One thing in a text: a message, a line that a coach typed, or why it is neither."""

    line: int
    message: Message | None = None
    typed: str = ""
    fault: Fault | None = None


def found_in(text: str) -> Iterator[Found]:
    """What is in a text, in its order; a message may stand after other words or over several lines."""
    spelt, small = text.splitlines(), plain(text)
    at = 0
    starts = [m.start() for m in _START.finditer(small)]
    for start, until in pairwise((*starts, len(small))):
        lines, _, front = small[at:start].rpartition("\n")
        yield from _typed(spelt, small, at, at + len(lines))
        line = small.count("\n", 0, start) + 1
        if _END.search(front):  # the rest of a message whose beginning is gone
            yield _cut(line)
        end = _END.search(small, start, until)
        if end is None:
            gap = small.find("\n\n", start, until)
            at = until if gap < 0 else gap
            yield _cut(line)
            continue
        try:
            yield Found(line, _message(small[start : end.start()], end[1]))
        except BadInput as error:
            yield Found(line, fault=error.at("", line).faults[0])
        at = small.find("\n", end.end(), until)
        at = until if at < 0 else at
        if rest := small[end.end() : at].strip():
            rule = "what stands behind the message was not read"
            yield Found(line, fault=Fault("message", rule, rest, "", line))
    yield from _typed(spelt, small, at, len(small))


def _cut(line: int) -> Found:
    return Found(line, fault=Fault("message", _CUT, None, "", line))


def _typed(spelt: Sequence[str], small: str, start: int, end: int) -> Iterator[Found]:
    """The lines between two places that a coach may have typed."""
    first = small.count("\n", 0, start)
    for number, line in enumerate(small[start:end].split("\n"), first + 1):
        if line and not line.startswith("#"):
            yield Found(number, typed=spelt[number - 1].strip())


def _message(body: str, check: str) -> Message:
    """A message without its check, read; refused with one sentence."""
    body = re.sub(r" ?\| ?", "|", " ".join(body.split()))
    if check_of(body) != check:
        raise refuse("message", _CUT)
    parts = body.split(" ", 4)
    if len(parts) < 5 or not _KEY.fullmatch(parts[1]):
        raise refuse("message", "cannot be read by this version")
    _, phone, day, zero, runs = parts
    said = runs.split("|")
    if len(said) > MOST_RUNS:
        raise refuse("message", f"at most {MOST_RUNS} runs allowed", len(said))
    return Message(
        phone[:KEY], phone, read_day("message", day).isoformat(), one_of("message", zero, ZEROS),
        tuple(_run(text) for text in said),
    )  # fmt: skip


def _run(text: str) -> Said:
    words = text.split()
    wrong = next((w for w in words if not (w in SAID or w in UNKNOWN or _is_reading(w))), None)
    if not words or wrong is not None:
        raise refuse("message", "cannot be read by this version", wrong)
    return Said(tuple(w for w in words if w != STRUCK), STRUCK in words)


def _is_reading(word: str) -> bool:
    return bool(_READING.fullmatch(word)) and is_reading(word)
