"""Names of people and drills: found however they are typed, and as parts of file names."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from typing import Final

from layout.words.faults import refuse

_RESERVED: Final = r"(?i:con|prn|aux|nul|(?:com|lpt)[0-9\u00b9\u00b2\u00b3])"
_PUNCTUATION: Final = frozenset("-_.' \u2019")
# Letters and marks by category that draw nothing.
_UNSEEN: Final = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u3164\uffa0")
_PLAIN: Final = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae",
                               "œ": "oe", "ı": "i", "ħ": "h"})  # fmt: skip
"""Letters that no decomposition makes plain."""


def counted(number: int, noun: str) -> str:
    """A number of things: "1 run", "3 runs"."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def some_of(names: Sequence[str], most: int, between: str = ", ") -> str:
    """The first of a few names, and how many more there are."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return between.join(names[:most]) + more


def same(name: str) -> str:
    """A name as it is told apart from others: composed letters, no case, single spaces."""
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())


def plain(name: str) -> str:
    """A name as it is looked for: no case, no accents, nothing unseen, single spaces.

    >>> plain("Zoë  Łucja"), plain("STRAẞE")
    ('zoe lucja', 'strasse')
    """
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", name).casefold())
    letters = (c for c in apart if unicodedata.category(c) not in ("Mn", "Me", "Cf"))
    return " ".join("".join(letters).translate(_PLAIN).split())


def find_named(wanted: str, names: Sequence[str], whole: bool = False) -> list[int]:
    """Places of the names that are meant: one, none, or all that it may be.

    The name itself wins; then the name in plain letters; then, unless a whole name is wanted, the
    beginning of one in plain letters.

    >>> find_named("zoe", ["Runa", "Zoë"]), find_named("r", ["R", "Runa", "Runar"])
    ([1], [0])
    """
    key = same(wanted)
    found = [i for i, name in enumerate(names) if same(name) == key]
    if found or not (key := plain(wanted)):
        return found
    plains = [plain(name) for name in names]
    found = [i for i, name in enumerate(plains) if name == key]
    if found or whole:
        return found
    return [i for i, name in enumerate(plains) if name.startswith(key)]


def _kept(char: str) -> bool:
    if char in _PUNCTUATION:
        return True
    if unicodedata.category(char)[0] not in "LMN" or char in _UNSEEN:
        return False
    return not ("\ufe00" <= char <= "\ufe0f" or "\U000e0100" <= char <= "\U000e01ef")


def safe_name(text: str, longest: int = 80) -> str:
    """Any name as part of a file name, safe on every common file system.

    Letters of every script, digits, inner spaces, - _ . and apostrophes stay; all else becomes _.
    A name that had to be altered ends in ~ and ten figures of its hash; ~ never stays from the
    name itself, so two names meet only if their 40-bit hashes do. Two spellings of the same
    letters (composed or not) are one name. Names that differ only in case stay apart here but
    meet on a file system that ignores case: whoever writes must not overwrite.

    >>> safe_name("Łucja Hénin"), safe_name("../Runa")
    ('Łucja Hénin', '_._Runa~aa4ba79f0d')
    """
    if not 20 <= longest <= 200:
        raise refuse("longest", "must be 20 to 200 bytes", longest)
    name = unicodedata.normalize("NFC", text)
    safe = "".join(c if _kept(c) else "_" for c in name)
    # A leading dot hides, a leading dash is an option, Windows drops a trailing dot or space.
    if safe[:1] in ("", ".", "-", " ") or unicodedata.category(safe[0])[0] == "M":
        safe = "_" + safe[1:]
    if safe[-1] in ". ":
        safe = safe[:-1] + "_"
    if re.fullmatch(_RESERVED, safe.split(".")[0].rstrip(" ")):
        safe = "_" + safe
    if safe == name and len(safe.encode()) <= longest:
        return safe
    from hashlib import blake2b  # only altered names pay for it

    tail = "~" + blake2b(name.encode("utf-8", "surrogatepass"), digest_size=5).hexdigest()
    head = safe.encode()[: longest - len(tail)].decode(errors="ignore")
    return head + tail
